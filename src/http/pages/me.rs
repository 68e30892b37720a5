//! What a person chooses for themselves.

use actix_web::http::header::LOCATION;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::typed::{Typed, refused};
use super::{Page, page_with};
use crate::domain::person::Actor;
use crate::domain::unit::UnitSystem;
use crate::http::session::Signed;
use crate::http::{Site, language};
use crate::words::Lang;
use crate::workflow::{self, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me", web::get().to(me));
    cfg.route("/me", web::post().to(choose));
}

#[derive(Template)]
#[template(path = "me.html", config = ".askama.toml")]
struct MePage {
    page: Frame,
    t: Typed,
    name: String,
    languages: Vec<Language>,
    units: Vec<Units>,
}

struct Language {
    tag: &'static str,
    name: &'static str,
    chosen: bool,
}

struct Units {
    /// Empty for none in particular.
    value: &'static str,
    words: String,
    chosen: bool,
}

async fn me(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let page = Frame::new(req, Some(actor));
    let own = workflow::units_of(&site.workshop, actor.id).await?;
    let languages = Lang::ALL
        .iter()
        .map(|l| Language { tag: l.tag(), name: l.own_name(), chosen: *l == page.lang })
        .collect();
    let none = Units { value: "", words: t!("me-units-of-the-machine"), chosen: own.is_none() };
    let systems =
        UnitSystem::ALL.iter().map(|u| Units { value: u.as_str(), words: u.here(), chosen: own == Some(*u) });
    let units = std::iter::once(none).chain(systems).collect();
    page_with(t.status, &MePage { page, t, name: actor.name.clone(), languages, units })
}

async fn choose(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    match read(&form) {
        Ok((lang, units)) => {
            workflow::choose_language(&site.workshop, &actor, lang).await?;
            workflow::choose_units(&site.workshop, &actor, units).await?;
            Ok(HttpResponse::SeeOther()
                .cookie(language::cookie_of_person(&site, Some(lang)))
                .insert_header((LOCATION, "/me?done=saved"))
                .finish())
        }
        Err(e) => show(&site, &req, &actor, Typed::not_taken("me", form, e)?).await,
    }
}

fn read(form: &Form) -> Result<(Lang, Option<UnitSystem>), WorkflowError> {
    let lang =
        Lang::of_tag(form.text("language")).ok_or_else(|| refused("language", said!("me-which-language")))?;
    let units = match form.text("units") {
        "" => None,
        word => Some(word.parse().map_err(|_| refused("units", said!("me-which-units")))?),
    };
    Ok((lang, units))
}
