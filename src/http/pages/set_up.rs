//! Setting up: yards with their zones and needs, and machines.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::typed::{Typed, refused};
use super::{Page, markup, page, page_with, see_other};
use crate::domain::ids::{MachineId, YardId};
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::standing::Standing;
use crate::domain::unit::Hours;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, ClassCount, NewMachine, NewYard, WorkflowError, YardRow};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up", web::get().to(links));
    cfg.route("/set-up/yards", web::get().to(yards));
    cfg.route("/set-up/yards", web::post().to(add_yard));
    cfg.route("/set-up/yards/{id}/need", web::post().to(need));
    cfg.route("/set-up/yards/{id}/altitude", web::post().to(altitude));
    cfg.route("/set-up/yards/{id}/one-person", web::post().to(one_person));
    cfg.route("/set-up/machines", web::get().to(machines));
    cfg.route("/set-up/machines", web::post().to(add_machine));
    cfg.route("/set-up/machines/{id}/retire", web::get().to(retiring));
    cfg.route("/set-up/machines/{id}/retire", web::post().to(retire));
}

/// Machines on one page of the list.
const MOST: i64 = 200;

#[derive(Template)]
#[template(path = "set_up.html", config = ".askama.toml")]
struct LinksPage {
    page: Frame,
    may_machines: bool,
    may_people: bool,
    may_checklists: bool,
    may_devices: bool,
}

struct Yard {
    id: String,
    name: String,
    zone: String,
    one_person: bool,
    /// Empty when it is not known.
    altitude: String,
    needs: Vec<ClassCount>,
}

#[derive(Template)]
#[template(path = "set_up_yards.html", config = ".askama.toml")]
struct YardsPage {
    page: Frame,
    t: Typed,
    yards: Vec<Yard>,
    classes: Vec<String>,
    zones: Vec<&'static str>,
    may_people: bool,
}

struct Machine {
    href: String,
    retire_href: String,
    unit_number: String,
    class: String,
    description: String,
    yard: String,
    hours: String,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "set_up_machines.html", config = ".askama.toml")]
struct MachinesPage {
    page: Frame,
    t: Typed,
    machines: Vec<Machine>,
    next: String,
    yards: Vec<YardRow>,
    classes: Vec<String>,
    /// Of machines in use that no checklist covers.
    not_covered: Vec<String>,
    may_checklists: bool,
}

#[derive(Template)]
#[template(path = "set_up_retire.html", config = ".askama.toml")]
struct RetirePage {
    page: Frame,
    t: Typed,
    unit_number: String,
    action: String,
    standing: Standing,
}

async fn links(Signed(actor): Signed, req: HttpRequest) -> Page {
    actor.must(Act::SetUpMachines)?;
    page(&LinksPage {
        page: Frame::new(&req, Some(&actor)),
        may_machines: actor.may(Act::SetUpMachines),
        may_people: actor.may(Act::SetUpPeople),
        may_checklists: actor.may(Act::SetUpChecklists),
        may_devices: actor.may(Act::SetUpDevices),
    })
}

async fn yards(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show_yards(&site, &req, &actor, Typed::nothing()).await
}

async fn show_yards(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    actor.must(Act::SetUpMachines)?;
    let counts = workflow::board(&site.workshop, actor, "", 1).await?.classes;
    let yards = workflow::yards(&site.workshop, actor).await?;
    let view = YardsPage {
        page: Frame::new(req, Some(actor)),
        classes: classes(site, actor).await?,
        yards: yards
            .into_iter()
            .map(|y| Yard {
                id: y.id.to_string(),
                needs: counts.iter().filter(|c| c.yard_name == y.name).cloned().collect(),
                name: y.name,
                zone: y.zone,
                one_person: y.one_person,
                altitude: y.altitude_m.map(|m| m.to_string()).unwrap_or_default(),
            })
            .collect(),
        zones: chrono_tz::TZ_VARIANTS.iter().map(|z| z.name()).collect(),
        may_people: actor.may(Act::SetUpPeople),
        t,
    };
    page_with(view.t.status, &view)
}

/// Classes that have a machine or a checklist, for choosing from.
async fn classes(site: &Site, actor: &Actor) -> Result<Vec<String>, WorkflowError> {
    let mut classes: Vec<String> =
        workflow::board(&site.workshop, actor, "", 1).await?.classes.into_iter().map(|c| c.class).collect();
    for row in
        workflow::checklists(&site.workshop, actor).await?.into_iter().filter(|c| c.retired_at.is_none())
    {
        let (_, checklist) = workflow::uploaded_checklist(&site.workshop, actor, row.id).await?;
        classes.extend(checklist.classes.iter().cloned());
    }
    classes.sort();
    classes.dedup();
    Ok(classes)
}

async fn add_yard(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let outcome = match metres(form.text("altitude_m")) {
        Ok(altitude_m) => {
            let new = NewYard {
                name: form.text("name").to_owned(),
                zone: form.text("zone").to_owned(),
                one_person: form.has("one_person"),
                altitude_m,
            };
            workflow::add_yard(&site.workshop, &actor, new).await.map(|_| ())
        }
        Err(e) => Err(e),
    };
    yards_after(&site, &req, &actor, ("yard", form), outcome).await
}

async fn need(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome = match form.text("needed").trim().parse::<i64>() {
        Ok(needed) => workflow::set_need(&site.workshop, &actor, *id, form.text("class"), needed).await,
        Err(_) => Err(refused("needed", said!("set-up-refuse-number"))),
    };
    yards_after(&site, &req, &actor, (&format!("need-{id}"), form), outcome).await
}

async fn altitude(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome = match metres(form.text("altitude_m")) {
        Ok(altitude_m) => workflow::set_altitude(&site.workshop, &actor, *id, altitude_m).await,
        Err(e) => Err(e),
    };
    yards_after(&site, &req, &actor, (&format!("altitude-{id}"), form), outcome).await
}

/// Whole metres above sea level; empty is not known.
fn metres(typed: &str) -> Result<Option<i64>, WorkflowError> {
    match typed.trim() {
        "" => Ok(None),
        text => {
            let metres = text.parse().map_err(|_| refused("altitude_m", said!("set-up-refuse-metres")))?;
            Ok(Some(metres))
        }
    }
}

async fn one_person(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let set = form.text("one_person") == "yes";
    let outcome = workflow::set_one_person(&site.workshop, &actor, *id, set).await;
    yards_after(&site, &req, &actor, (&format!("yard-{id}"), form), outcome).await
}

async fn yards_after(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    (form, values): (&str, Form),
    outcome: Result<(), WorkflowError>,
) -> Page {
    match outcome {
        Ok(()) => see_other("/set-up/yards?done=saved"),
        Err(e) => show_yards(site, req, actor, Typed::not_taken(form, values, e)?).await,
    }
}

#[derive(serde::Deserialize)]
struct After {
    #[serde(default)]
    after: String,
}

async fn machines(
    Signed(actor): Signed,
    req: HttpRequest,
    after: web::Query<After>,
    site: web::Data<Site>,
) -> Page {
    show_machines(&site, &req, &actor, &after.after, Typed::nothing()).await
}

async fn show_machines(site: &Site, req: &HttpRequest, actor: &Actor, after: &str, t: Typed) -> Page {
    actor.must(Act::SetUpMachines)?;
    let machines = workflow::machines(&site.workshop, actor, after, MOST).await?;
    let next = match machines.last() {
        Some((key, _)) if machines.len() as i64 == MOST => {
            format!("/set-up/machines?{}", serde_urlencoded::to_string([("after", key)]).unwrap_or_default())
        }
        _ => String::new(),
    };
    let view = MachinesPage {
        page: Frame::new(req, Some(actor)),
        yards: workflow::yards(&site.workshop, actor).await?,
        classes: classes(site, actor).await?,
        not_covered: workflow::not_covered(&site.workshop, actor)
            .await?
            .into_iter()
            .map(|m| t!("set-up-no-checklist", class = class_said(&m.class), unit = m.unit_number))
            .collect(),
        may_checklists: actor.may(Act::SetUpChecklists),
        machines: machines
            .into_iter()
            .map(|(_, m)| Machine {
                href: format!("/machines/{}", m.id),
                retire_href: format!("/set-up/machines/{}/retire", m.id),
                standing: m.standing(),
                hours: m.engine_hours.map(|h| t!("set-up-hours-of", hours = h)).unwrap_or_default(),
                unit_number: m.unit_number,
                class: class_said(&m.class).to_string(),
                description: m.description,
                yard: m.yard_name,
            })
            .collect(),
        next,
        t,
    };
    page_with(view.t.status, &view)
}

async fn add_machine(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let outcome = match new_machine(&form) {
        Ok(new) => workflow::add_machine(&site.workshop, &actor, new).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok(_) => see_other("/set-up/machines?done=saved"),
        Err(e) => show_machines(&site, &req, &actor, "", Typed::not_taken("machine", form, e)?).await,
    }
}

fn new_machine(form: &Form) -> Result<NewMachine, WorkflowError> {
    let hours = form.text("engine_hours").trim();
    let engine_hours: Option<Hours> = match hours {
        "" => None,
        text => Some(
            text.parse().map_err(|e: crate::domain::unit::MeasureError| refused("engine_hours", e.said()))?,
        ),
    };
    Ok(NewMachine {
        yard: form.text("yard").parse().map_err(|_| refused("yard", said!("set-up-refuse-yard")))?,
        unit_number: form.text("unit_number").to_owned(),
        class: form.text("class").to_owned(),
        description: form.text("description").to_owned(),
        serial: form.text("serial").to_owned(),
        engine_hours,
    })
}

async fn retiring(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    show_retire(&site, &req, &actor, *id, Typed::nothing()).await
}

async fn show_retire(site: &Site, req: &HttpRequest, actor: &Actor, id: MachineId, t: Typed) -> Page {
    actor.must(Act::SetUpMachines)?;
    let gate = workflow::gate(&site.workshop, actor, id).await?;
    let view = RetirePage {
        page: Frame::new(req, Some(actor)),
        unit_number: gate.machine.unit_number,
        action: format!("/set-up/machines/{id}/retire"),
        standing: gate.standing,
        t,
    };
    page_with(view.t.status, &view)
}

async fn retire(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    match workflow::retire_machine(&site.workshop, &actor, *id, form.text("reason")).await {
        Ok(()) => see_other("/set-up/machines?done=saved"),
        Err(e) => show_retire(&site, &req, &actor, *id, Typed::not_taken("retire", form, e)?).await,
    }
}
