//! Other programs that are told: their addresses, secrets, and what was sent.

use actix_web::{HttpResponse, delete, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::every_answer::made;
use super::own_sessions::Proof;
use super::problem::ApiResult;
use super::words;
use crate::domain::hearing::AlertKind;
use crate::domain::ids::{WebhookId, WebhookMessageId};
use crate::domain::person::Act;
use crate::http::Site;
use crate::workflow::{self, NewWebhook, OutboxState, WebhookMessageRow, WebhookRow};

#[derive(Serialize, ToSchema)]
pub struct Webhooks {
    webhooks: Vec<Webhook>,
}

#[derive(Serialize, ToSchema)]
pub struct Webhook {
    id: Uuid,
    url: String,
    about: String,
    /// None for every yard.
    yard: Option<Uuid>,
    /// Everything that can be sent when empty.
    #[schema(value_type = Vec<words::AlertKind>)]
    kinds: Vec<AlertKind>,
    /// Has taken nothing since.
    failing_since: Option<DateTime<Utc>>,
    switched_off_at: Option<DateTime<Utc>>,
    switched_off_because: String,
    /// Until when the secret before also signs.
    both_secrets_until: Option<DateTime<Utc>>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddWebhook {
    #[schema(example = "https://hooks.example.org/yard")]
    url: String,
    #[serde(default)]
    about: String,
    yard: Option<Uuid>,
    #[serde(default)]
    #[schema(value_type = Vec<words::AlertKind>)]
    kinds: Vec<AlertKind>,
    /// Your password: what is added sends what happens here elsewhere, and makes a secret
    #[schema(format = Password)]
    password: String,
}

#[derive(Serialize, ToSchema)]
pub struct WebhookSecret {
    id: Uuid,
    /// Shown once. Signs as Standard Webhooks 1.0 has it.
    secret: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SwitchWebhook {
    on: bool,
}

#[derive(Serialize, ToSchema)]
pub struct WebhookMessages {
    /// Newest first.
    messages: Vec<WebhookMessage>,
}

#[derive(Serialize, ToSchema)]
pub struct WebhookMessage {
    /// What the header `webhook-id` carries, however often it is sent.
    id: Uuid,
    #[serde(rename = "type")]
    #[schema(example = "machine.held")]
    kind: String,
    #[schema(value_type = words::DeliveryState)]
    state: OutboxState,
    attempts: i64,
    next_at: DateTime<Utc>,
    last_answer: String,
    created_at: DateTime<Utc>,
    delivered_at: Option<DateTime<Utc>>,
}

/// List the webhooks
#[utoipa::path(tag = "webhooks", responses((status = 200, body = Webhooks)))]
#[get("/webhooks")]
pub async fn list_webhooks(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let rows = workflow::webhooks(&site.workshop, &asks.0).await?;
    Ok(HttpResponse::Ok().json(Webhooks { webhooks: rows.into_iter().map(Into::into).collect() }))
}

/// Add a webhook; answers with its secret
#[utoipa::path(tag = "webhooks", request_body = AddWebhook, responses((status = 201, body = WebhookSecret)))]
#[post("/webhooks")]
pub async fn add_webhook(site: web::Data<Site>, asks: Bearer, sent: Sent<AddWebhook>) -> ApiResult {
    workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &sent.0.password).await?;
    let new = NewWebhook {
        url: sent.0.url,
        about: sent.0.about,
        yard: sent.0.yard.map(Into::into),
        kinds: sent.0.kinds,
    };
    let (id, secret) = workflow::add_webhook(&site.workshop, &asks.0, new, site.webhooks_private).await?;
    Ok(made(&format!("/webhooks/{id}"), &WebhookSecret { id: id.0, secret }))
}

/// See one webhook
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path)), responses((status = 200, body = Webhook)))]
#[get("/webhooks/{id}")]
pub async fn see_webhook(site: web::Data<Site>, asks: Bearer, id: web::Path<WebhookId>) -> ApiResult {
    let (row, _) = workflow::webhook(&site.workshop, &asks.0, *id, 1).await?;
    Ok(HttpResponse::Ok().json(Webhook::from(row)))
}

/// See what was sent to a webhook
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path)), responses((status = 200, body = WebhookMessages)))]
#[get("/webhooks/{id}/messages")]
pub async fn see_webhook_messages(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<WebhookId>,
) -> ApiResult {
    let (_, rows) = workflow::webhook(&site.workshop, &asks.0, *id, 200).await?;
    Ok(HttpResponse::Ok().json(WebhookMessages { messages: rows.into_iter().map(Into::into).collect() }))
}

/// Make a new secret; the one before also signs for 24 hours
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path)), request_body = Proof,
    responses((status = 200, body = WebhookSecret)))]
#[post("/webhooks/{id}/secret")]
pub async fn rotate_webhook(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<WebhookId>,
    sent: Sent<Proof>,
) -> ApiResult {
    workflow::webhook(&site.workshop, &asks.0, *id, 1).await?;
    workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &sent.0.password).await?;
    let secret = workflow::rotate_webhook(&site.workshop, &asks.0, *id).await?;
    Ok(HttpResponse::Ok().json(WebhookSecret { id: id.0, secret }))
}

/// Send a test message
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path)), responses((status = 204)))]
#[post("/webhooks/{id}/try")]
pub async fn try_webhook(site: web::Data<Site>, asks: Bearer, id: web::Path<WebhookId>) -> ApiResult {
    workflow::try_webhook(&site.workshop, &asks.0, *id).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Switch a webhook on or off
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path)), request_body = SwitchWebhook, responses((status = 204)))]
#[post("/webhooks/{id}/switch")]
pub async fn switch_webhook(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<WebhookId>,
    sent: Sent<SwitchWebhook>,
) -> ApiResult {
    workflow::switch_webhook(&site.workshop, &asks.0, *id, sent.0.on).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Send a message again; it keeps its id
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path), ("message" = Uuid, Path)), responses((status = 204)))]
#[post("/webhooks/{id}/messages/{message}/resend")]
pub async fn resend_webhook_message(
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(WebhookId, WebhookMessageId)>,
) -> ApiResult {
    let (id, message) = path.into_inner();
    workflow::resend_webhook_message(&site.workshop, &asks.0, id, message).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Remove a webhook
#[utoipa::path(tag = "webhooks", params(("id" = Uuid, Path)), responses((status = 204)))]
#[delete("/webhooks/{id}")]
pub async fn remove_webhook(site: web::Data<Site>, asks: Bearer, id: web::Path<WebhookId>) -> ApiResult {
    workflow::remove_webhook(&site.workshop, &asks.0, *id).await?;
    Ok(HttpResponse::NoContent().finish())
}

impl From<WebhookRow> for Webhook {
    fn from(row: WebhookRow) -> Self {
        Self {
            id: row.id.0,
            url: row.url,
            about: row.about,
            yard: row.yard_id.map(|y| y.0),
            kinds: serde_json::from_str(&row.kinds).unwrap_or_default(),
            failing_since: row.failing_since,
            switched_off_at: row.disabled_at,
            switched_off_because: row.disabled_why,
            both_secrets_until: row.old_until,
        }
    }
}

impl From<WebhookMessageRow> for WebhookMessage {
    fn from(row: WebhookMessageRow) -> Self {
        Self {
            id: row.id.0,
            kind: row.kind,
            state: row.state,
            attempts: row.attempts,
            next_at: row.next_at,
            last_answer: row.last_answer,
            created_at: row.created_at,
            delivered_at: row.delivered_at,
        }
    }
}
