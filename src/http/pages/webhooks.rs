//! Other programs that are told: their addresses, and what was sent to each.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, when};
use super::typed::{Typed, refused};
use super::{Page, local_time, markup, page_with, see_other};
use crate::domain::hearing::AlertKind;
use crate::domain::ids::{WebhookId, WebhookMessageId};
use crate::domain::person::{Act, Actor};
use crate::domain::webhook::SENT;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, NewWebhook, OutboxState, WebhookRow, WorkflowError, YardRow};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/webhooks", web::get().to(webhooks));
    cfg.route("/set-up/webhooks", web::post().to(add));
    cfg.route("/set-up/webhooks/{id}", web::get().to(webhook));
    cfg.route("/set-up/webhooks/{id}/try", web::post().to(try_out));
    cfg.route("/set-up/webhooks/{id}/secret", web::post().to(rotate));
    cfg.route("/set-up/webhooks/{id}/switch", web::post().to(switch));
    cfg.route("/set-up/webhooks/{id}/remove", web::post().to(remove));
    cfg.route("/set-up/webhooks/{id}/messages/{message}/resend", web::post().to(resend));
}

/// Messages on the page of one address.
const MOST: i64 = 100;

#[derive(Template)]
#[template(path = "webhooks.html", config = ".askama.toml")]
struct WebhooksPage {
    page: Frame,
    t: Typed,
    hooks: Vec<Hook>,
    kinds: Vec<(&'static str, String, bool)>,
    yards: Vec<YardRow>,
    private_too: bool,
    /// Of the person themselves, for what keeps their passwords.
    email: String,
}

struct Hook {
    href: String,
    url: String,
    about: String,
    yard: String,
    state: String,
    failing: bool,
}

#[derive(Template)]
#[template(path = "webhook.html", config = ".askama.toml")]
struct WebhookPage {
    page: Frame,
    hook: Hook,
    /// Nothing of it comes back.
    t: Typed,
    email: String,
    kinds: String,
    off: bool,
    off_because: String,
    /// Until when the secret before also signs.
    both_until: Option<When>,
    messages: Vec<Message>,
}

struct Message {
    id: String,
    kind: String,
    created: When,
    state: String,
    failing: bool,
    tries: i64,
    answer: String,
    next: Option<When>,
    may_resend: bool,
}

#[derive(Template)]
#[template(path = "webhook_secret.html", config = ".askama.toml")]
struct SecretPage {
    page: Frame,
    secret: String,
    href: String,
}

async fn webhooks(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let rows = workflow::webhooks(&site.workshop, actor).await?;
    let shown = WebhooksPage {
        page: Frame::new(req, Some(actor)),
        hooks: rows.iter().map(hook).collect(),
        kinds: SENT.iter().map(|k| (k.as_str(), k.here(), t.ticked("webhook", "kind", k.as_str()))).collect(),
        yards: workflow::yards(&site.workshop, actor).await?,
        private_too: site.webhooks_private,
        email: workflow::my_email(&site.workshop, actor).await?,
        t,
    };
    page_with(shown.t.status, &shown)
}

fn hook(row: &WebhookRow) -> Hook {
    let failing = row.disabled_at.is_some() || row.failing_since.is_some();
    Hook {
        href: format!("/set-up/webhooks/{}", row.id),
        url: row.url.clone(),
        about: row.about.clone(),
        yard: if row.yard_id.is_some() { row.yard_name.clone() } else { t!("webhook-every-yard") },
        state: match (row.disabled_at, row.failing_since) {
            (Some(_), _) => t!("webhook-off"),
            (None, Some(_)) => t!("webhook-failing"),
            (None, None) => t!("webhook-on"),
        },
        failing,
    }
}

async fn add(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let proved = workflow::prove_for(&site.workshop, &actor, Act::SetUpPeople, form.text("password")).await;
    let outcome = match proved.and_then(|()| read(&form)) {
        Ok(new) => workflow::add_webhook(&site.workshop, &actor, new, site.webhooks_private).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok((id, secret)) => show_secret(&req, &actor, id, secret),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("webhook", form, e)?).await,
    }
}

fn read(form: &Form) -> Result<NewWebhook, WorkflowError> {
    let yard = match form.text("yard") {
        "" => None,
        id => Some(id.parse().map_err(|_| refused("yard", said!("set-up-refuse-yard")))?),
    };
    let kinds: Result<Vec<AlertKind>, _> = form.all("kind").map(str::parse).collect();
    let kinds = kinds.map_err(|_| refused("kind", said!("yard-alerts-which")))?;
    Ok(NewWebhook { url: form.text("url").to_owned(), about: form.text("about").to_owned(), yard, kinds })
}

/// Once: it cannot be read again.
fn show_secret(req: &HttpRequest, actor: &Actor, id: WebhookId, secret: String) -> Page {
    let href = format!("/set-up/webhooks/{id}");
    let shown = SecretPage { page: Frame::new(req, Some(actor)), secret, href };
    page_with(StatusCode::OK, &shown)
}

async fn webhook(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<WebhookId>,
    site: web::Data<Site>,
) -> Page {
    let (row, messages) = workflow::webhook(&site.workshop, &actor, *id, MOST).await?;
    let now = site.workshop.ambient.now();
    let zone = local_time::zone_of(&site, &actor).await?;
    let kinds: Vec<AlertKind> = serde_json::from_str(&row.kinds).unwrap_or_default();
    let kinds = if kinds.is_empty() { SENT.to_vec() } else { kinds };
    let message = |m: workflow::WebhookMessageRow| Message {
        id: m.id.to_string(),
        created: when(m.created_at, &zone, now),
        failing: m.state == OutboxState::Failed || (m.state == OutboxState::Owed && m.attempts > 0),
        state: match m.state {
            OutboxState::Owed if m.attempts > 0 => t!("outbox-tried"),
            OutboxState::Owed => t!("outbox-to-be-sent"),
            OutboxState::Sending => t!("outbox-being-sent"),
            OutboxState::Delivered => t!("outbox-delivered"),
            OutboxState::Failed => t!("outbox-given-up"),
        },
        tries: m.attempts,
        next: (m.state == OutboxState::Owed && m.attempts > 0).then(|| when(m.next_at, &zone, now)),
        may_resend: m.state != OutboxState::Sending,
        answer: m.last_answer,
        kind: m.kind,
    };
    let shown = WebhookPage {
        page: Frame::new(&req, Some(&actor)),
        hook: hook(&row),
        t: Typed::nothing(),
        email: workflow::my_email(&site.workshop, &actor).await?,
        kinds: kinds.iter().map(|k| k.here()).collect::<Vec<_>>().join("; "),
        off: row.disabled_at.is_some(),
        off_because: row.disabled_why.clone(),
        both_until: row
            .old_until
            .filter(|until| row.old_secret.is_some() && *until > now)
            .map(|u| when(u, &zone, now)),
        messages: messages.into_iter().map(message).collect(),
    };
    super::page(&shown)
}

async fn try_out(Signed(actor): Signed, id: web::Path<WebhookId>, site: web::Data<Site>) -> Page {
    workflow::try_webhook(&site.workshop, &actor, *id).await?;
    see_other(&format!("/set-up/webhooks/{id}?done=webhook-tried"))
}

async fn rotate(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<WebhookId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    workflow::webhook(&site.workshop, &actor, *id, 1).await?;
    workflow::prove_for(&site.workshop, &actor, Act::SetUpPeople, form.text("password")).await?;
    let secret = workflow::rotate_webhook(&site.workshop, &actor, *id).await?;
    show_secret(&req, &actor, *id, secret)
}

async fn switch(Signed(actor): Signed, id: web::Path<WebhookId>, site: web::Data<Site>, form: Form) -> Page {
    workflow::switch_webhook(&site.workshop, &actor, *id, form.text("on") == "yes").await?;
    see_other(&format!("/set-up/webhooks/{id}?done=saved"))
}

async fn remove(Signed(actor): Signed, id: web::Path<WebhookId>, site: web::Data<Site>) -> Page {
    workflow::remove_webhook(&site.workshop, &actor, *id).await?;
    see_other("/set-up/webhooks?done=removed")
}

async fn resend(
    Signed(actor): Signed,
    path: web::Path<(WebhookId, WebhookMessageId)>,
    site: web::Data<Site>,
) -> Page {
    let (id, message) = path.into_inner();
    workflow::resend_webhook_message(&site.workshop, &actor, id, message).await?;
    see_other(&format!("/set-up/webhooks/{id}?done=webhook-tried"))
}
