//! Where a part, or a batch of it, is fitted; and the same defect raised on every machine that may have it.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, quantity, when};
use super::typed::{Typed, refused};
use super::{Page, local_time, page_with, see_other};
use crate::domain::batch::Inspect;
use crate::domain::ids::{DefectId, PartId, RoundId};
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::standing::{Severity, Standing};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, FittedRow, OnWhich, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/parts/{id}/fitted", web::get().to(fitted));
    cfg.route("/defects/{id}/same", web::get().to(same));
    cfg.route("/defects/{id}/same", web::post().to(raise));
}

#[derive(Template)]
#[template(path = "fitted.html", config = ".askama.toml")]
struct FittedPage {
    page: Frame,
    t: Typed,
    part: String,
    part_href: String,
    here: String,
    batch: String,
    on_now: Vec<Fitted>,
    unmarked: Vec<Fitted>,
    was_on: Vec<Fitted>,
    /// Of the machines named: where it goes to raise it on all of them.
    defects: Vec<(String, String)>,
}

struct Fitted {
    unit_number: String,
    machine_href: String,
    order: i64,
    order_href: String,
    place: String,
    quantity: String,
    marks: String,
    when: When,
    by: String,
    removed: Option<When>,
}

#[derive(Template)]
#[template(path = "same_defect.html", config = ".askama.toml")]
struct SamePage {
    page: Frame,
    t: Typed,
    here: String,
    defect_href: String,
    what: String,
    severity: Severity,
    unit_number: String,
    /// What was chosen: "class", or part and batch.
    on: String,
    /// Its word, what it says, and where it is shown.
    choices: Vec<(String, String, String)>,
    machines: Vec<Machine>,
}

struct Machine {
    unit_number: String,
    href: String,
    yard: String,
    standing: Standing,
    what: String,
}

#[derive(serde::Deserialize)]
struct Batch {
    #[serde(default)]
    batch: String,
}

#[derive(serde::Deserialize)]
struct Which {
    #[serde(default)]
    on: String,
    part: Option<PartId>,
    #[serde(default)]
    batch: String,
}

async fn fitted(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PartId>,
    asked: web::Query<Batch>,
    site: web::Data<Site>,
) -> Page {
    let batch = asked.batch.trim().to_owned();
    let (found, t) = match workflow::part_fitted(&site.workshop, &actor, *id, &batch).await {
        Ok(found) => (found, Typed::nothing()),
        Err(e) => {
            let t = Typed::not_taken("fitted", Form::default(), e)?;
            (workflow::part_fitted(&site.workshop, &actor, *id, "").await?, t)
        }
    };
    let zone = local_time::zone_of(&site, &actor).await?;
    let now = site.workshop.ambient.now();
    let shown = |rows: &[FittedRow]| -> Vec<Fitted> {
        rows.iter()
            .map(|f| Fitted {
                unit_number: f.unit_number.clone(),
                machine_href: format!("/machines/{}", f.machine_id),
                order: f.order_number,
                order_href: format!("/work-orders/{}", f.work_order_id),
                place: f.what.as_ref().map(ToString::to_string).unwrap_or_default(),
                quantity: quantity(f.quantity, &found.part.unit),
                marks: marks(f),
                when: when(f.fitted_at, &zone, now),
                by: f.by_name.clone(),
                removed: f.removed_at.map(|at| when(at, &zone, now)),
            })
            .collect()
    };
    let may = actor.may(Act::InspectMany) && !batch.is_empty();
    let query = query_of(&OnWhich::Batch { part: *id, batch: batch.clone() });
    let page = FittedPage {
        page: Frame::new(&req, Some(&actor)),
        part: found.part.name.clone(),
        part_href: format!("/store/{id}"),
        here: format!("/parts/{id}/fitted"),
        on_now: shown(&found.on_now),
        unmarked: shown(&found.unmarked),
        was_on: shown(&found.was_on),
        defects: found
            .defects
            .iter()
            .filter(|_| may)
            .map(|d| (format!("/defects/{}/same?{query}", d.id), d.what.to_string()))
            .collect(),
        batch,
        t,
    };
    page_with(page.t.status, &page)
}

fn marks(f: &FittedRow) -> String {
    match (f.serial.is_empty(), f.batch.is_empty()) {
        (true, true) => String::new(),
        (false, true) => t!("fitted-serial-is", serial = f.serial),
        (true, false) => t!("fitted-batch-is", batch = f.batch),
        (false, false) => t!("fitted-both-are", serial = f.serial, batch = f.batch),
    }
}

async fn same(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<DefectId>,
    asked: web::Query<Which>,
    site: web::Data<Site>,
) -> Page {
    let on = match asked.part {
        Some(part) if asked.on == "batch" => OnWhich::Batch { part, batch: asked.batch.clone() },
        _ => OnWhich::Class,
    };
    show(&site, &req, &actor, *id, &on, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, id: DefectId, on: &OnWhich, t: Typed) -> Page {
    let (found, on, t) = match workflow::same_defect(&site.workshop, actor, id, on).await {
        Ok(found) => (found, on.clone(), t),
        Err(e) => {
            let t = Typed::not_taken("same", Form::default(), e)?;
            (workflow::same_defect(&site.workshop, actor, id, &OnWhich::Class).await?, OnWhich::Class, t)
        }
    };
    let here = format!("/defects/{id}/same");
    let choice =
        |which: &OnWhich, words: String| (word_of(which), words, format!("{here}?{}", query_of(which)));
    let mut choices = vec![choice(&OnWhich::Class, t!("same-of-class", class = class_said(&found.class)))];
    for (part, name, batch) in &found.batches {
        let which = OnWhich::Batch { part: *part, batch: batch.clone() };
        choices.push(choice(&which, t!("same-of-batch", part = name, batch = batch)));
    }
    // Asked for from the part's page: not a batch of this very machine.
    if !choices.iter().any(|(word, ..)| *word == word_of(&on))
        && let OnWhich::Batch { part, batch } = &on
    {
        let fitted = workflow::part_fitted(&site.workshop, actor, *part, "").await?;
        choices.push(choice(&on, t!("same-of-batch", part = fitted.part.name, batch = batch)));
    }
    let page = SamePage {
        page: Frame::new(req, Some(actor)),
        defect_href: format!("/defects/{id}"),
        what: found.defect.what.to_string(),
        severity: found.defect.severity,
        unit_number: found.unit_number,
        on: word_of(&on),
        choices,
        machines: found
            .machines
            .iter()
            .map(|m| Machine {
                unit_number: m.machine.unit_number.clone(),
                href: format!("/machines/{}", m.machine.id),
                yard: m.machine.yard_name.clone(),
                standing: m.machine.standing(),
                what: match (m.inspect, found.defect.severity) {
                    (Inspect::Raise, Severity::OutOfService) => t!("same-grounds"),
                    (Inspect::RaiseInDoubt, Severity::OutOfService) => t!("same-grounds-in-doubt"),
                    (Inspect::Raise, Severity::Monitor) => t!("same-raise"),
                    (Inspect::RaiseInDoubt, Severity::Monitor) => t!("same-raise-in-doubt"),
                    (Inspect::AddTo, _) => t!("same-add-to"),
                },
            })
            .collect(),
        here,
        t,
    };
    page_with(page.t.status, &page)
}

async fn raise(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<DefectId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    actor.must(Act::InspectMany)?;
    let on = which_of(form.text("on"));
    let outcome = match (&on, form.has("confirm")) {
        (None, _) => Err(refused("on", said!("same-which"))),
        (Some(_), false) => Err(refused("confirm", said!("same-confirm-first"))),
        (Some(on), true) => {
            let round = form.text("once").parse().unwrap_or_else(|_| site.workshop.ambient.id());
            workflow::raise_same(&site.workshop, &actor, RoundId(round), *id, on).await
        }
    };
    match outcome {
        Ok(_) => see_other(&format!("/defects/{id}?done=raised-on-others")),
        Err(e) => {
            let t = not_taken(form, e)?;
            show(&site, &req, &actor, *id, &on.unwrap_or(OnWhich::Class), t).await
        }
    }
}

fn not_taken(form: Form, e: WorkflowError) -> Result<Typed, super::error::PageError> {
    Typed::not_taken("same", form, e)
}

/// As it stands in a form: the part's id, then the batch.
fn word_of(on: &OnWhich) -> String {
    match on {
        OnWhich::Class => "class".to_owned(),
        OnWhich::Batch { part, batch } => format!("{part} {batch}"),
    }
}

fn query_of(on: &OnWhich) -> String {
    match on {
        OnWhich::Class => "on=class".to_owned(),
        OnWhich::Batch { part, batch } => {
            let query = [("on", "batch"), ("part", &part.to_string()), ("batch", batch)];
            serde_urlencoded::to_string(query).unwrap_or_default()
        }
    }
}

fn which_of(word: &str) -> Option<OnWhich> {
    if word == "class" {
        return Some(OnWhich::Class);
    }
    let (part, batch) = word.split_once(' ')?;
    Some(OnWhich::Batch { part: part.parse().ok()?, batch: batch.to_owned() })
}
