//! When people work in a yard: its week, its holidays, and who is away.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::local_time::{for_input, moment};
use super::shown::{When, date_in_words, when};
use super::typed::{Typed, refused};
use super::{Page, page_with, see_other};
use crate::domain::ids::{AbsenceId, YardId};
use crate::domain::person::Actor;
use crate::domain::shift::Span;
use crate::domain::shift::typed::{DAYS, key_of_day};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/yards/{id}/working-time", web::get().to(page));
    cfg.route("/set-up/yards/{id}/working-time/week", web::post().to(week));
    cfg.route("/set-up/yards/{id}/working-time/holidays", web::post().to(add_holiday));
    cfg.route("/set-up/yards/{id}/working-time/holidays/remove", web::post().to(remove_holiday));
    cfg.route("/set-up/yards/{id}/working-time/absences", web::post().to(add_absence));
    cfg.route("/set-up/yards/{id}/working-time/absences/{absence}/remove", web::post().to(remove_absence));
}

#[derive(Template)]
#[template(path = "working_time.html", config = ".askama.toml")]
struct WorkingTimePage {
    page: Frame,
    t: Typed,
    here: String,
    yard: String,
    zone: String,
    no_week: bool,
    days: Vec<Day>,
    holidays: Vec<Holiday>,
    absences: Vec<Absence>,
    people: Vec<Person>,
    now_for_input: String,
}

struct Day {
    field: String,
    name: String,
    shifts: String,
}

struct Holiday {
    day: String,
    shown: String,
    name: String,
}

struct Absence {
    id: String,
    name: String,
    from: When,
    to: When,
    note: String,
}

struct Person {
    id: String,
    name: String,
}

async fn page(Signed(actor): Signed, req: HttpRequest, id: web::Path<YardId>, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, *id, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, id: YardId, t: Typed) -> Page {
    let w = workflow::working_time(&site.workshop, actor, id).await?;
    let now = site.workshop.ambient.now();
    let zone = w.yard.zone;
    let days = DAYS
        .into_iter()
        .zip(w.week.as_typed())
        .enumerate()
        .map(|(n, (day, shifts))| Day { field: format!("shifts-{n}"), name: t!(key_of_day(day)), shifts })
        .collect();
    let absence = |a: &workflow::AbsenceRow| Absence {
        id: a.id.to_string(),
        name: a.person_name.clone(),
        from: when(a.from_at, &zone, now),
        to: when(a.to_at, &zone, now),
        note: a.note.clone(),
    };
    let shown = WorkingTimePage {
        page: Frame::new(req, Some(actor)),
        here: format!("/set-up/yards/{id}/working-time"),
        yard: w.yard.name,
        no_week: w.week.is_empty(),
        days,
        holidays: w
            .holidays
            .into_iter()
            .map(|h| Holiday { day: h.day.to_string(), shown: date_in_words(h.day), name: h.name })
            .collect(),
        absences: w.absences.iter().map(absence).collect(),
        people: w.people.into_iter().map(|(id, name)| Person { id: id.to_string(), name }).collect(),
        now_for_input: for_input(now, &zone),
        zone,
        t,
    };
    page_with(shown.t.status, &shown)
}

async fn week(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let days: [String; 7] = std::array::from_fn(|n| form.text(&format!("shifts-{n}")).to_owned());
    let outcome = workflow::set_week(&site.workshop, &actor, *id, &days).await;
    after(&site, &req, &actor, *id, ("week", form), outcome).await
}

async fn add_holiday(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome =
        workflow::add_holiday(&site.workshop, &actor, *id, form.text("day"), form.text("name")).await;
    after(&site, &req, &actor, *id, ("holiday", form), outcome).await
}

async fn remove_holiday(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome = workflow::remove_holiday(&site.workshop, &actor, *id, form.text("day")).await;
    after(&site, &req, &actor, *id, ("holiday", form), outcome).await
}

async fn add_absence(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let yard = workflow::working_time(&site.workshop, &actor, *id).await?.yard;
    let outcome = match read_absence(&form, &yard.zone) {
        Ok((person, span)) => {
            workflow::add_absence(&site.workshop, &actor, *id, person, span, form.text("note")).await
        }
        Err(e) => Err(e),
    };
    after(&site, &req, &actor, *id, ("absence", form), outcome).await
}

async fn remove_absence(
    Signed(actor): Signed,
    req: HttpRequest,
    path: web::Path<(YardId, AbsenceId)>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let (id, absence) = path.into_inner();
    let outcome = workflow::remove_absence(&site.workshop, &actor, id, absence).await;
    after(&site, &req, &actor, id, ("absence", form), outcome).await
}

fn read_absence(form: &Form, zone: &str) -> Result<(crate::domain::ids::PersonId, Span), WorkflowError> {
    let person =
        form.text("person").parse().map_err(|_| refused("person", said!("working-whose-absence")))?;
    let from = moment(form.text("from"), zone).map_err(|sentence| refused("from", sentence))?;
    let to = moment(form.text("to"), zone).map_err(|sentence| refused("to", sentence))?;
    Ok((person, Span::new(from, to)))
}

async fn after(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: YardId,
    (name, form): (&str, Form),
    outcome: Result<(), WorkflowError>,
) -> Page {
    match outcome {
        Ok(()) => see_other(&format!("/set-up/yards/{id}/working-time?done=saved")),
        Err(e) => show(site, req, actor, id, Typed::not_taken(name, form, e)?).await,
    }
}
