//! What an hour costs and who may do which work.

use std::collections::BTreeSet;

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::local_time::day_for_input;
use super::shown::date_in_words;
use super::typed::Typed;
use super::{Page, page_with, see_other};
use crate::domain::checklist::System;
use crate::domain::ids::{PersonId, YardId};
use crate::domain::labour::overtime::Step;
use crate::domain::money;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, LabourSetUp, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/labour", web::get().to(page));
    cfg.route("/set-up/labour/rates", web::post().to(rate));
    cfg.route("/set-up/labour/grades", web::post().to(grades));
    cfg.route("/set-up/labour/overtime/{id}", web::post().to(overtime));
    cfg.route("/set-up/labour/skills", web::post().to(skills));
}

#[derive(Template)]
#[template(path = "set_up_labour.html", config = ".askama.toml")]
struct LabourPage {
    page: Frame,
    t: Typed,
    rates: Vec<Rate>,
    grades: Vec<String>,
    mechanics: Vec<Mechanic>,
    yards: Vec<Yard>,
    systems: Vec<SystemRow>,
    today: String,
    currency: String,
}

struct Rate {
    grade: String,
    from: String,
    rate: String,
}

struct Mechanic {
    id: String,
    name: String,
    /// Empty for none.
    grade: String,
    own_rate: String,
}

struct Yard {
    id: String,
    form: String,
    name: String,
    day_hours: String,
    day_percent: String,
    week_hours: String,
    week_percent: String,
}

struct SystemRow {
    word: &'static str,
    words: String,
    needed: bool,
    skilled: Vec<Skilled>,
}

struct Skilled {
    id: String,
    name: String,
    has: bool,
}

async fn page(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let set_up = workflow::labour_set_up(&site.workshop, actor).await?;
    let zone = super::local_time::zone_of(site, actor).await?;
    let today = day_for_input(site.workshop.ambient.now(), &zone);
    let shown = view(&set_up, &site.workshop.currency, today, Frame::new(req, Some(actor)), t);
    page_with(shown.t.status, &shown)
}

fn view(s: &LabourSetUp, currency: &str, today: String, page: Frame, t: Typed) -> LabourPage {
    let amount = |minor| page.lang.figure(&money::shown(minor, currency));
    let grades: BTreeSet<String> = s.rates.iter().map(|(grade, ..)| grade.clone()).collect();
    let hours = |step: Option<&Step>| {
        step.map(|s| page.lang.figure(&format!("{}", f64::from(s.after_minutes) / 60.0))).unwrap_or_default()
    };
    let percent = |step: Option<&Step>| step.map(|s| s.percent.to_string()).unwrap_or_default();
    LabourPage {
        rates: s
            .rates
            .iter()
            .map(|(grade, from, minor)| Rate {
                grade: grade.clone(),
                from: date_in_words(*from),
                rate: amount(*minor),
            })
            .collect(),
        grades: grades.into_iter().collect(),
        mechanics: s
            .mechanics
            .iter()
            .map(|m| Mechanic {
                id: m.id.to_string(),
                name: m.name.clone(),
                grade: m.grade.clone().unwrap_or_default(),
                own_rate: amount(m.own_rate),
            })
            .collect(),
        yards: s
            .yards
            .iter()
            .map(|(yard, rule)| Yard {
                id: yard.id.to_string(),
                form: format!("overtime-{}", yard.id),
                name: yard.name.clone(),
                day_hours: hours(rule.day.first()),
                day_percent: percent(rule.day.first()),
                week_hours: hours(rule.week.first()),
                week_percent: percent(rule.week.first()),
            })
            .collect(),
        systems: System::ALL
            .iter()
            .map(|system| SystemRow {
                word: system.as_str(),
                words: system.here(),
                needed: s.skills_needed.contains(system),
                skilled: s
                    .mechanics
                    .iter()
                    .map(|m| Skilled {
                        id: m.id.to_string(),
                        name: m.name.clone(),
                        has: m.skills.contains(system),
                    })
                    .collect(),
            })
            .collect(),
        today,
        currency: currency.to_owned(),
        page,
        t,
    }
}

async fn rate(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let outcome =
        workflow::set_rate(&site.workshop, &actor, form.text("grade"), form.text("from"), form.text("rate"))
            .await;
    after(&site, &req, &actor, ("rate", form), outcome).await
}

async fn grades(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let set_up = workflow::labour_set_up(&site.workshop, &actor).await?;
    let chosen: Vec<(PersonId, Option<String>)> = set_up
        .mechanics
        .iter()
        .filter(|m| form.has(&format!("grade-{}", m.id)))
        .map(|m| (m.id, Some(form.text(&format!("grade-{}", m.id)).to_owned()).filter(|g| !g.is_empty())))
        .collect();
    let outcome = workflow::set_grades(&site.workshop, &actor, &chosen).await;
    after(&site, &req, &actor, ("grades-form", form), outcome).await
}

async fn overtime(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let day = (form.text("day-hours"), form.text("day-percent"));
    let week = (form.text("week-hours"), form.text("week-percent"));
    let outcome = workflow::set_overtime(&site.workshop, &actor, *id, day, week).await;
    after(&site, &req, &actor, (&format!("overtime-{id}"), form), outcome).await
}

async fn skills(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let needed: BTreeSet<System> = form.all("needed").filter_map(|word| word.parse().ok()).collect();
    let skilled: Vec<(PersonId, System)> = form
        .all("skilled")
        .filter_map(|pair| {
            let (person, system) = pair.split_once('/')?;
            Some((person.parse().ok()?, system.parse().ok()?))
        })
        .collect();
    let outcome = workflow::set_skills(&site.workshop, &actor, &needed, &skilled).await;
    after(&site, &req, &actor, ("skills", form), outcome).await
}

async fn after(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    (name, form): (&str, Form),
    outcome: Result<(), WorkflowError>,
) -> Page {
    match outcome {
        Ok(()) => see_other("/set-up/labour?done=saved"),
        Err(e) => show(site, req, actor, Typed::not_taken(name, form, e)?).await,
    }
}
