//! One tablet, several people: setting a PIN for this device, and changing person by it.

use actix_web::http::header::LOCATION;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::typed::Typed;
use super::{Page, page_with, see_other};
use crate::domain::person::Actor;
use crate::http::session::{self, Signed};
use crate::http::{Site, language};
use crate::words::Lang;
use crate::workflow::{self, ByPin, NewPin};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/pin", web::get().to(pin));
    cfg.route("/pin", web::post().to(set));
    cfg.route("/pin/remove", web::post().to(remove));
    cfg.route("/pin/forget", web::post().to(forget));
    cfg.route("/change-person", web::get().to(people));
    cfg.route("/change-person", web::post().to(change));
}

#[derive(Template)]
#[template(path = "pin.html", config = ".askama.toml")]
struct PinPage {
    page: Frame,
    t: Typed,
    /// Names of those who have a PIN here; none while the device is not trusted.
    people: Vec<String>,
    trusted: bool,
    mine: bool,
    email: String,
}

struct Choice {
    id: String,
    name: String,
}

#[derive(Template)]
#[template(path = "change_person.html", config = ".askama.toml")]
struct ChangePage {
    page: Frame,
    t: Typed,
    people: Vec<Choice>,
    trusted: bool,
}

async fn pin(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show_pin(&site, &req, &actor, Typed::nothing()).await
}

async fn show_pin(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let device = session::device_of(req);
    let known = workflow::people_on_device(&site.workshop, device.as_deref()).await?;
    let trusted = known.is_some();
    let people = known.unwrap_or_default();
    let view = PinPage {
        page: Frame::new(req, Some(actor)),
        mine: people.iter().any(|(id, _)| *id == actor.id),
        people: people.into_iter().map(|(_, name)| name).collect(),
        trusted,
        email: workflow::my_email(&site.workshop, actor).await?,
        t,
    };
    page_with(view.t.status, &view)
}

async fn set(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let session = session::secret_of(&req);
    let new = NewPin {
        pin: form.text("pin"),
        again: form.text("again"),
        password: form.text("password"),
        session: session.as_deref(),
    };
    let device = session::device_of(&req);
    match workflow::set_pin(&site.workshop, &actor, device.as_deref(), new).await {
        Ok(secret) => Ok(HttpResponse::SeeOther()
            .cookie(session::device_cookie(&site, secret))
            .insert_header((LOCATION, "/pin?done=pin-set"))
            .finish()),
        Err(e) => show_pin(&site, &req, &actor, Typed::not_taken("pin", form, e)?).await,
    }
}

async fn remove(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    workflow::end_my_pin(&site.workshop, &actor, session::device_of(&req).as_deref()).await?;
    see_other("/pin?done=pin-ended")
}

async fn forget(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    workflow::forget_device(&site.workshop, &actor, session::device_of(&req).as_deref()).await?;
    let mut answer = HttpResponse::SeeOther();
    answer.cookie(session::no_device_cookie(&site));
    // Whoever came in by PIN is signed out with it.
    let to = if actor.by_pin {
        answer.cookie(session::no_cookie(&site));
        "/sign-in?done=device-forgotten"
    } else {
        "/pin?done=device-forgotten"
    };
    Ok(answer.insert_header((LOCATION, to)).finish())
}

async fn people(req: HttpRequest, site: web::Data<Site>) -> Page {
    show_people(&site, &req, Typed::nothing()).await
}

/// For whoever holds the tablet, signed in or not.
async fn show_people(site: &Site, req: &HttpRequest, t: Typed) -> Page {
    let actor = signed_in(site, req).await?;
    let device = session::device_of(req);
    let known = workflow::people_on_device(&site.workshop, device.as_deref()).await?;
    let trusted = known.is_some();
    let me = actor.as_ref().map(|a| a.id);
    let mut page = Frame::new(req, actor.as_ref());
    page.change_person = trusted;
    let others = known.unwrap_or_default().into_iter().filter(|(id, _)| Some(*id) != me);
    let people = others.map(|(id, name)| Choice { id: id.to_string(), name }).collect();
    page_with(t.status, &ChangePage { page, t, people, trusted })
}

async fn signed_in(site: &Site, req: &HttpRequest) -> Result<Option<Actor>, PageError> {
    match session::secret_of(req) {
        Some(secret) => Ok(workflow::actor_of_session(&site.workshop, &secret).await?),
        None => Ok(None),
    }
}

async fn change(req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let (device, before) = (session::device_of(&req), session::secret_of(&req));
    let given = ByPin {
        device: device.as_deref(),
        person: form.text("person").parse().ok(),
        pin: form.text("pin"),
        before: before.as_deref(),
        from: site.caller(&req),
    };
    match workflow::sign_in_by_pin(&site.workshop, given).await {
        Ok(secret) => Ok(HttpResponse::SeeOther()
            // The one before may have read another language; who never chose one goes on in that.
            .cookie(language::cookie_of_person(
                &site,
                language_of_session(&site, &secret).await?.or(language::chosen(&req)),
            ))
            .cookie(session::cookie(&site, secret))
            .cookie(session::device_cookie(&site, device.unwrap_or_default()))
            .insert_header((LOCATION, "/"))
            .finish()),
        Err(e) => show_people(&site, &req, Typed::not_taken("change", form, e)?).await,
    }
}

async fn language_of_session(site: &Site, secret: &str) -> Result<Option<Lang>, PageError> {
    match workflow::actor_of_session(&site.workshop, secret).await? {
        Some(actor) => Ok(workflow::language_of(&site.workshop, actor.id).await?),
        None => Ok(None),
    }
}
