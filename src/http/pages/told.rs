//! What the link in the mail about a hold leads to: a page that asks, and a button that acts. Nobody has to sign in for it;
//! the address itself is the proof, so it is neither kept nor passed on.

use actix_web::http::header::{HeaderValue, REFERRER_POLICY};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use super::frame::Frame;
use super::shown::{When, when};
use super::{Page, markup, see_other};
use crate::domain::alert::Event;
use crate::domain::ids::AlertId;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, AskedToAcknowledge};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/told/{id}/{mark}", web::get().to(asked));
    cfg.route("/told/{id}/{mark}", web::post().to(acknowledge));
    cfg.route("/outbox/{id}/acknowledge", web::post().to(signed_in));
}

#[derive(Template)]
#[template(path = "told.html", config = ".askama.toml")]
struct ToldPage {
    page: Frame,
    unit_number: String,
    why: Vec<String>,
    stopped_by: String,
    stopped: When,
    for_whom: String,
    /// Who acknowledged, and when.
    done: Option<(String, When)>,
    over: bool,
    machine_href: String,
}

async fn asked(req: HttpRequest, path: web::Path<(AlertId, String)>, site: web::Data<Site>) -> Page {
    let (id, mark) = path.into_inner();
    let asked = workflow::asked_by_link(&site.workshop, id, &mark).await?;
    show(&req, &site, asked)
}

async fn acknowledge(req: HttpRequest, path: web::Path<(AlertId, String)>, site: web::Data<Site>) -> Page {
    let (id, mark) = path.into_inner();
    workflow::acknowledge_by_link(&site.workshop, id, &mark).await?;
    let asked = workflow::asked_by_link(&site.workshop, id, &mark).await?;
    show(&req, &site, asked)
}

async fn signed_in(Signed(actor): Signed, id: web::Path<AlertId>, site: web::Data<Site>) -> Page {
    workflow::acknowledge(&site.workshop, &actor, *id).await?;
    see_other(&format!("/outbox/{id}?done=acknowledged"))
}

fn show(req: &HttpRequest, site: &Site, asked: AskedToAcknowledge) -> Page {
    let now = site.workshop.ambient.now();
    let zone = asked.alert.zone.name();
    let (why, stopped_by, stopped_at) = match asked.alert.event {
        Event::MachineHeld { why, .. } => (why, asked.alert.by, asked.alert.at),
        Event::NotAcknowledged { why, held_at, held_by } => (why, held_by, held_at),
        _ => (Vec::new(), asked.alert.by, asked.alert.at),
    };
    let mut page = Frame::new(req, None);
    // The address is a secret: it is not put into a form to come back to.
    page.other_languages = Vec::new();
    let shown = ToldPage {
        page,
        unit_number: asked.alert.unit_number,
        why: why.iter().map(|w| w.why.to_string()).collect(),
        stopped_by,
        stopped: when(stopped_at, zone, now),
        for_whom: asked.person_name,
        done: asked.acknowledged_at.map(|at| (asked.acknowledged_by, when(at, zone, now))),
        over: asked.over,
        machine_href: asked.alert.machine.map(|m| format!("/machines/{m}")).unwrap_or_default(),
    };
    Ok(by_secret_address(super::page(&shown)?))
}

/// An answer at an address that is itself the proof: no other site learns it.
pub fn by_secret_address(mut answer: HttpResponse) -> HttpResponse {
    answer.headers_mut().insert(REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    answer
}
