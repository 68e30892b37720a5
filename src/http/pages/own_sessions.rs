//! Where a person is signed in, for themselves: each sign-in and each device with their PIN, and ending them.

use actix_web::{HttpRequest, web};
use askama::Template;
use uuid::Uuid;

use super::form::Form;
use super::frame::Frame;
use super::local_time::zone_of;
use super::markup;
use super::shown::{When, when};
use super::typed::Typed;
use super::{Page, page_with, see_other};
use crate::domain::caller::SignInKind;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::{Signed, here_of};
use crate::workflow::{self, Ending};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me/sessions", web::get().to(sessions));
    cfg.route("/me/sessions", web::post().to(end));
}

struct SignIn {
    id: String,
    what: String,
    network: String,
    since: When,
    last_used: Option<When>,
    is_device: bool,
    here: bool,
}

#[derive(Template)]
#[template(path = "own_sessions.html", config = ".askama.toml")]
struct SessionsPage {
    page: Frame,
    t: Typed,
    email: String,
    sign_ins: Vec<SignIn>,
    others: usize,
}

async fn sessions(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let known = workflow::own_sessions(&site.workshop, actor, &here_of(req)).await?;
    let (zone, now) = (zone_of(site, actor).await?, site.workshop.ambient.now());
    let sign_ins: Vec<SignIn> = known
        .into_iter()
        .map(|s| SignIn {
            id: s.id.to_string(),
            what: match (s.kind, s.trusted_by) {
                (SignInKind::Device, by) => t!("sessions-device", by = by.unwrap_or_default()),
                (SignInKind::Pin, _) => t!("sessions-by-pin", program = program(s.program)),
                (SignInKind::Api, _) => t!("sessions-api", program = program(s.program)),
                (SignInKind::Pages, _) => program(s.program),
            },
            network: s.place,
            since: when(s.since, &zone, now),
            last_used: s.last_used_at.map(|at| when(at, &zone, now)),
            is_device: s.kind == SignInKind::Device,
            here: s.here,
        })
        .collect();
    let view = SessionsPage {
        page: Frame::new(req, Some(actor)),
        email: workflow::my_email(&site.workshop, actor).await?,
        others: sign_ins.iter().filter(|s| !s.here).count(),
        sign_ins,
        t,
    };
    page_with(view.t.status, &view)
}

fn program(known: String) -> String {
    if known.is_empty() { t!("sessions-unknown-program") } else { known }
}

async fn end(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let ending = if form.text("all") == "yes" {
        Ending::AllOthers
    } else {
        Ending::These(form.all("which").filter_map(|id| id.parse::<Uuid>().ok()).collect())
    };
    let here = here_of(&req);
    match workflow::end_own_sessions(&site.workshop, &actor, &here, ending, form.text("password")).await {
        Ok(_) => see_other("/me/sessions?done=sign-ins-ended"),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("end", form, e)?).await,
    }
}
