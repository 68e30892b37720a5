//! Changing one's own password.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::typed::{Typed, refused};
use super::{Page, page_with, see_other};
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::{Signed, here_of};
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me/password", web::get().to(form));
    cfg.route("/me/password", web::post().to(change));
}

#[derive(Template)]
#[template(path = "password.html", config = ".askama.toml")]
struct PasswordPage {
    page: Frame,
    t: Typed,
    email: String,
}

async fn form(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let page = Frame::new(req, Some(actor));
    page_with(t.status, &PasswordPage { page, email: workflow::my_email(&site.workshop, actor).await?, t })
}

async fn change(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let (present, new) = (form.text("password"), form.text("new"));
    let changed = if new == form.text("again") {
        workflow::change_password(&site.workshop, &actor, &here_of(&req), present, new).await
    } else {
        Err(refused("again", said!("welcome-not-the-same")))
    };
    match changed {
        Ok(()) => see_other("/me?done=password-changed"),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("change", form, e)?).await,
    }
}
