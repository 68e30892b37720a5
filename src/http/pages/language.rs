//! Choosing a language, from the foot of any page, signed in or not.

use actix_web::http::header::LOCATION;
use actix_web::{HttpRequest, HttpResponse, web};

use super::Page;
use super::form::Form;
use super::sign_in::local_path;
use crate::http::session::secret_of;
use crate::http::{Site, language};
use crate::words::Lang;
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/language", web::post().to(choose));
}

async fn choose(req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let lang = Lang::of_tag(form.text("language")).unwrap_or_default();
    let mut cookie = language::cookie(&site, Some(lang));
    if let Some(secret) = secret_of(&req)
        && let Some(actor) = workflow::actor_of_session(&site.workshop, &secret).await?
    {
        workflow::choose_language(&site.workshop, &actor, lang).await?;
        cookie = language::cookie_of_person(&site, Some(lang));
    }
    Ok(HttpResponse::SeeOther()
        .cookie(cookie)
        .insert_header((LOCATION, local_path(form.text("to"))))
        .finish())
}
