//! Passkeys: one's own, and signing in with one. A browser speaks to its authenticator in a script (`passkey.js`), which sends
//! and gets JSON.

use actix_web::http::header::{CONTENT_TYPE, HeaderValue, LOCATION};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use uuid::Uuid;

use super::form::Form;
use super::frame::Frame;
use super::local_time::zone_of;
use super::markup;
use super::shown::{When, when};
use super::sign_in::{enter, local_path};
use super::typed::Typed;
use super::{Page, page_with, see_other};
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::http::session::{self, Signed};
use crate::http::status::status_of;
use crate::workflow::{self, PasskeySite, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me/passkeys", web::get().to(mine));
    cfg.route("/me/passkeys", web::post().to(add));
    cfg.route("/me/passkeys/begin", web::post().to(begin));
    cfg.route("/me/passkeys/{id}/remove", web::post().to(remove));
    cfg.route("/sign-in/passkey/begin", web::post().to(begin_entering));
    cfg.route("/sign-in/passkey", web::post().to(enter_with));
}

/// Whether a browser would take passkeys for this site.
pub fn offered(site: &Site) -> bool {
    PasskeySite::of(&site.public_url).is_some()
}

struct Passkey {
    id: String,
    name: String,
    added: When,
    last_used: Option<When>,
}

#[derive(Template)]
#[template(path = "passkeys.html", config = ".askama.toml")]
struct PasskeysPage {
    page: Frame,
    t: Typed,
    email: String,
    passkeys: Vec<Passkey>,
    offered: bool,
}

async fn mine(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let (zone, now) = (zone_of(site, actor).await?, site.workshop.ambient.now());
    let known = workflow::my_passkeys(&site.workshop, actor).await?.into_iter();
    let passkeys = known.map(|k| Passkey {
        id: k.id.to_string(),
        name: k.name,
        added: when(k.added_at, &zone, now),
        last_used: k.last_used_at.map(|at| when(at, &zone, now)),
    });
    let view = PasskeysPage {
        page: Frame::new(req, Some(actor)),
        email: workflow::my_email(&site.workshop, actor).await?,
        passkeys: passkeys.collect(),
        offered: offered(site),
        t,
    };
    page_with(view.t.status, &view)
}

#[derive(Deserialize)]
struct Beginning {
    password: String,
}

#[derive(Deserialize)]
struct Adding {
    begun: Uuid,
    name: String,
    answer: Value,
}

#[derive(Deserialize)]
struct Entering {
    begun: Uuid,
    answer: Value,
    #[serde(default)]
    to: String,
}

async fn begin(Signed(actor): Signed, site: web::Data<Site>, body: web::Bytes) -> HttpResponse {
    answered(async {
        let sent: Beginning = understood(&body)?;
        let challenge =
            workflow::begin_passkey(&site.workshop, &actor, &named(&site)?, &sent.password).await?;
        Ok(HttpResponse::Ok().json(json!({"begun": challenge.id, "options": challenge.options})))
    })
    .await
}

async fn add(Signed(actor): Signed, site: web::Data<Site>, body: web::Bytes) -> HttpResponse {
    answered(async {
        let sent: Adding = understood(&body)?;
        let here = named(&site)?;
        workflow::add_passkey(&site.workshop, &actor, &here, sent.begun, &sent.answer, &sent.name).await?;
        Ok(HttpResponse::Ok().json(json!({"to": "/me/passkeys?done=passkey-added"})))
    })
    .await
}

async fn remove(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<Uuid>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    match workflow::remove_passkey(&site.workshop, &actor, *id, form.text("password")).await {
        Ok(()) => see_other("/me/passkeys?done=passkey-removed"),
        Err(e) => show(&site, &req, &actor, Typed::not_taken(&format!("remove-{id}"), form, e)?).await,
    }
}

async fn begin_entering(site: web::Data<Site>) -> HttpResponse {
    answered(async {
        let challenge = workflow::begin_passkey_sign_in(&site.workshop, &named(&site)?).await?;
        Ok(HttpResponse::Ok().json(json!({"begun": challenge.id, "options": challenge.options})))
    })
    .await
}

async fn enter_with(req: HttpRequest, site: web::Data<Site>, body: web::Bytes) -> HttpResponse {
    answered(async {
        let sent: Entering = understood(&body)?;
        let (from, device) = (site.caller(&req), session::device_of(&req));
        let (actor, secret) = workflow::finish_passkey_sign_in(
            &site.workshop,
            &named(&site)?,
            sent.begun,
            &sent.answer,
            from,
            device.as_deref(),
        )
        .await?;
        let to = local_path(&sent.to).to_owned();
        let Ok(mut entered) = enter(&site, &req, &actor, secret, &to).await else {
            return Ok(HttpResponse::InternalServerError().finish());
        };
        // The script goes there itself.
        entered.headers_mut().remove(LOCATION);
        entered.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static("application/json"));
        *entered.status_mut() = actix_web::http::StatusCode::OK;
        Ok(entered.map_body(|_, _| actix_web::body::BoxBody::new(json!({"to": to}).to_string())))
    })
    .await
}

fn named(site: &Site) -> Result<PasskeySite, WorkflowError> {
    let named = PasskeySite::of(&site.public_url);
    named.ok_or_else(|| Refusal::conflict(said!("passkey-not-here")).into())
}

fn understood<T: DeserializeOwned>(body: &[u8]) -> Result<T, WorkflowError> {
    serde_json::from_slice(body).map_err(|_| Refusal::invalid("", said!("passkey-not-understood")).into())
}

/// A script shows the sentence as it is.
async fn answered(work: impl Future<Output = Result<HttpResponse, WorkflowError>>) -> HttpResponse {
    work.await.unwrap_or_else(|error| {
        let status = status_of(&error);
        let sentence = match &error {
            WorkflowError::Refused(refusal) => refusal.to_string(),
            WorkflowError::Storage(_) => {
                tracing::error!(error = ?error, "a passkey failed");
                t!("error-on-the-server")
            }
        };
        HttpResponse::build(status).json(json!({"sentence": sentence}))
    })
}
