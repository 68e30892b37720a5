//! The second step of signing in: one's own, and what the owner asks of everybody.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::local_time::zone_of;
use super::markup;
use super::qr::{self, Symbol};
use super::shown::{When, when};
use super::typed::Typed;
use super::{Page, page_with, see_other};
use crate::domain::ids::PersonId;
use crate::domain::person::Actor;
use crate::domain::second_step::{address, in_groups, must_have};
use crate::http::Site;
use crate::http::session::{SettingUp, Signed};
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me/second-step", web::get().to(own));
    cfg.route("/me/second-step/begin", web::post().to(begin));
    cfg.route("/me/second-step/confirm", web::post().to(confirm));
    cfg.route("/me/second-step/codes", web::post().to(renew_codes));
    cfg.route("/me/second-step/remove", web::post().to(remove));
    cfg.route("/set-up/second-step", web::get().to(everybody));
    cfg.route("/set-up/second-step", web::post().to(ask_for));
    cfg.route("/set-up/people/{id}/second-step", web::post().to(remove_of));
}

#[derive(Template)]
#[template(path = "second_step.html", config = ".askama.toml")]
struct SecondStepPage {
    page: Frame,
    t: Typed,
    email: String,
    since: Option<When>,
    codes_left: i64,
    /// The owner asks this person for it, and there is none yet.
    first: bool,
}

#[derive(Template)]
#[template(path = "second_step_begun.html", config = ".askama.toml")]
struct BegunPage {
    page: Frame,
    t: Typed,
    symbol: Symbol,
    secret: String,
    address: String,
}

#[derive(Template)]
#[template(path = "recovery_codes.html", config = ".askama.toml")]
struct CodesPage {
    page: Frame,
    codes: Vec<String>,
}

#[derive(Template)]
#[template(path = "set_up_second_step.html", config = ".askama.toml")]
struct EverybodyPage {
    page: Frame,
    t: Typed,
    email: String,
    asked_for: bool,
    people: Vec<Person>,
}

struct Person {
    href: String,
    name: String,
    has_one: bool,
}

async fn own(SettingUp(actor): SettingUp, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let known = workflow::second_step(&site.workshop, actor).await?;
    let (zone, now) = (zone_of(site, actor).await?, site.workshop.ambient.now());
    let first = known.asked_for && known.since.is_none() && must_have(&actor.roles);
    let view = SecondStepPage {
        page: frame(req, actor, first),
        email: workflow::my_email(&site.workshop, actor).await?,
        since: known.since.map(|at| when(at, &zone, now)),
        codes_left: known.recovery_codes_left,
        first,
        t,
    };
    page_with(view.t.status, &view)
}

/// Without the links that lead nowhere until it is set up.
fn frame(req: &HttpRequest, actor: &Actor, first: bool) -> Frame {
    let mut page = Frame::new(req, Some(actor));
    if first {
        page.links.clear();
    }
    page
}

async fn begin(SettingUp(actor): SettingUp, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    match workflow::begin_second_step(&site.workshop, &actor, form.text("password")).await {
        Ok(secret) => show_begun(&site, &req, &actor, &secret, Typed::nothing()).await,
        Err(e) => show(&site, &req, &actor, Typed::not_taken("begin", form, e)?).await,
    }
}

/// The only page with the secret on it.
async fn show_begun(site: &Site, req: &HttpRequest, actor: &Actor, secret: &str, t: Typed) -> Page {
    let host = site.public_url.split_once("://").map_or(site.public_url.as_str(), |(_, host)| host);
    let email = workflow::my_email(&site.workshop, actor).await?;
    let known = workflow::second_step(&site.workshop, actor).await?;
    let address = address(secret, host, &email);
    let view = BegunPage {
        page: frame(req, actor, known.asked_for && must_have(&actor.roles)),
        symbol: qr::symbol(&address),
        secret: in_groups(secret),
        address,
        t,
    };
    page_with(view.t.status, &view)
}

async fn confirm(SettingUp(actor): SettingUp, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let e = match workflow::confirm_second_step(&site.workshop, &actor, form.text("code")).await {
        Ok(codes) => return show_codes(&req, &actor, &codes),
        Err(e) => e,
    };
    let t = Typed::not_taken("confirm", form, e)?;
    match workflow::begun_second_step(&site.workshop, &actor).await? {
        Some(secret) => show_begun(&site, &req, &actor, &secret, t).await,
        None => show(&site, &req, &actor, t).await,
    }
}

async fn renew_codes(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    match workflow::renew_recovery_codes(&site.workshop, &actor, form.text("password")).await {
        Ok(codes) => show_codes(&req, &actor, &codes),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("codes", form, e)?).await,
    }
}

fn show_codes(req: &HttpRequest, actor: &Actor, codes: &[String]) -> Page {
    let page = Frame::new(req, Some(actor));
    let codes = codes.iter().map(|code| in_groups(code)).collect();
    page_with(StatusCode::OK, &CodesPage { page, codes })
}

async fn remove(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    match workflow::remove_second_step(&site.workshop, &actor, form.text("password")).await {
        Ok(()) => see_other("/me?done=second-step-removed"),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("remove", form, e)?).await,
    }
}

async fn everybody(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show_everybody(&site, &req, &actor, Typed::nothing()).await
}

async fn show_everybody(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let (with_one, asked_for) = workflow::with_second_step(&site.workshop, actor).await?;
    let people = workflow::people(&site.workshop, actor).await?.into_iter();
    let asked_of = people
        .filter(|(p, roles, _)| p.disabled_at.is_none() && (must_have(roles) || with_one.contains(&p.id)));
    let view = EverybodyPage {
        page: Frame::new(req, Some(actor)),
        email: workflow::my_email(&site.workshop, actor).await?,
        asked_for,
        people: asked_of
            .map(|(p, ..)| Person {
                href: format!("/set-up/people/{}", p.id),
                has_one: with_one.contains(&p.id),
                name: p.name,
            })
            .collect(),
        t,
    };
    page_with(view.t.status, &view)
}

async fn ask_for(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let on = form.text("asked_for") == "yes";
    match workflow::ask_for_second_step(&site.workshop, &actor, on, form.text("password")).await {
        Ok(()) => see_other("/set-up/second-step?done=saved"),
        Err(e) => show_everybody(&site, &req, &actor, Typed::not_taken("ask", form, e)?).await,
    }
}

async fn remove_of(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PersonId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    match workflow::remove_second_step_of(&site.workshop, &actor, *id, form.text("password")).await {
        Ok(()) => see_other(&format!("/set-up/people/{id}?done=second-step-removed")),
        Err(e) => {
            let t = Typed::not_taken("second-step", form, e)?;
            super::people::show_person(&site, &req, &actor, *id, t).await
        }
    }
}
