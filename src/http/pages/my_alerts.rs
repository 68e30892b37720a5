//! What somebody gets mail about, and when they want to be left alone.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::NaiveTime;

use super::form::Form;
use super::frame::Frame;
use super::typed::{Typed, refused};
use super::{Page, page_with, see_other};
use crate::domain::hearing::{AlertKind, QuietHours};
use crate::domain::machine::class_said;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::Text;
use crate::workflow::{self, OwnAlerts, OwnChoice, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me/alerts", web::get().to(my_alerts));
    cfg.route("/me/alerts", web::post().to(choose));
}

#[derive(Template)]
#[template(path = "my_alerts.html", config = ".askama.toml")]
struct MyAlertsPage {
    page: Frame,
    t: Typed,
    from: String,
    to: String,
    yards: Vec<Yard>,
}

struct Yard {
    id: String,
    name: String,
    kinds: Vec<Kind>,
    classes: Vec<Class>,
}

struct Kind {
    value: String,
    words: String,
    heard: bool,
    required: bool,
}

struct Class {
    value: String,
    name: String,
    chosen: bool,
}

async fn my_alerts(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let own = workflow::own_alerts(&site.workshop, actor).await?;
    let clock = |at: Option<NaiveTime>| at.map(|at| at.format("%H:%M").to_string()).unwrap_or_default();
    let yards = own.yards.into_iter().map(|y| Yard {
        id: y.yard.to_string(),
        kinds: y
            .kinds
            .iter()
            .map(|(kind, heard, required)| {
                let value = format!("{}/{kind}", y.yard);
                let heard = *required || t.ticked_or("alerts", "hear", &value, heard);
                Kind { words: kind.here(), heard, required: *required, value }
            })
            .collect(),
        classes: y
            .all_classes
            .iter()
            .map(|class| {
                let value = format!("{}/{class}", y.yard);
                let chosen = t.ticked_or("alerts", "class", &value, &y.classes.contains(class));
                Class { chosen, name: class_said(class).to_string(), value }
            })
            .collect(),
        name: y.name,
    });
    let shown = MyAlertsPage {
        page: Frame::new(req, Some(actor)),
        from: clock(own.quiet.map(|q| q.from)),
        to: clock(own.quiet.map(|q| q.to)),
        yards: yards.collect(),
        t,
    };
    page_with(shown.t.status, &shown)
}

async fn choose(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let own = workflow::own_alerts(&site.workshop, &actor).await?;
    let outcome = match quiet(&form) {
        Ok(quiet) => workflow::choose_alerts(&site.workshop, &actor, quiet, choices(&form, &own)).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok(()) => see_other("/me/alerts?done=saved"),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("alerts", form, e)?).await,
    }
}

/// Of the yards that were on the form: one that was not there is left as it is.
fn choices(form: &Form, own: &OwnAlerts) -> Vec<OwnChoice> {
    let ticked = |name: &str, value: String| form.all(name).any(|v| v == value);
    own.yards
        .iter()
        .filter(|y| ticked("yard", y.yard.to_string()))
        .map(|y| OwnChoice {
            yard: y.yard,
            heard: y
                .kinds
                .iter()
                .map(|(kind, _, required)| (*kind, *required || ticked("hear", format!("{}/{kind}", y.yard))))
                .collect::<Vec<(AlertKind, bool)>>(),
            classes: y
                .all_classes
                .iter()
                .filter(|class| ticked("class", format!("{}/{class}", y.yard)))
                .cloned()
                .collect(),
        })
        .collect()
}

fn quiet(form: &Form) -> Result<Option<QuietHours>, WorkflowError> {
    match (clock(form.text("quiet_from")), clock(form.text("quiet_to"))) {
        (Ok(None), Ok(None)) => Ok(None),
        (Ok(Some(from)), Ok(Some(to))) => Ok(Some(QuietHours { from, to })),
        (Err(sentence), _) => Err(refused("quiet_from", sentence)),
        (_, Err(sentence)) => Err(refused("quiet_to", sentence)),
        (Ok(None), _) => Err(refused("quiet_from", said!("hearing-both"))),
        (_, Ok(None)) => Err(refused("quiet_to", said!("hearing-both"))),
    }
}

/// A time of day; empty is none.
pub fn clock(text: &str) -> Result<Option<NaiveTime>, Text> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    ["%H:%M", "%H.%M", "%H:%M:%S"]
        .iter()
        .find_map(|form| NaiveTime::parse_from_str(text, form).ok())
        .map(Some)
        .ok_or_else(|| said!("hearing-give-clock"))
}
