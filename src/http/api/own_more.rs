//! One's own ways in and out beside passwords: passkeys, and the link for a calendar program.

use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::own_sessions::Proof;
use super::problem::ApiResult;
use crate::http::Site;
use crate::workflow;

#[derive(Serialize, ToSchema)]
pub struct OwnPasskeys {
    passkeys: Vec<OwnPasskey>,
}

#[derive(Serialize, ToSchema)]
pub struct OwnPasskey {
    id: Uuid,
    /// As you called it.
    name: String,
    added_at: DateTime<Utc>,
    last_used_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct OwnCalendar {
    /// Since when a link of yours is there; null when there is none. The link itself was shown once.
    since: Option<DateTime<Utc>>,
}

/// See your passkeys
#[utoipa::path(tag = "me", responses((status = 200, body = OwnPasskeys)))]
#[get("/me/passkeys")]
pub async fn see_own_passkeys(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    passkeys(&site, &asks).await
}

/// Remove a passkey of yours, with your password
#[utoipa::path(tag = "me", request_body = Proof, responses((status = 200, body = OwnPasskeys)))]
#[post("/me/passkeys/{id}/remove")]
pub async fn remove_own_passkey(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Proof>,
) -> ApiResult {
    workflow::remove_passkey(&site.workshop, &asks.0, *id, &sent.0.password).await?;
    passkeys(&site, &asks).await
}

/// See whether a link for your calendar program is there
#[utoipa::path(tag = "alerts", responses((status = 200, body = OwnCalendar)))]
#[get("/me/calendar")]
pub async fn see_own_calendar(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let since = workflow::calendar_link_since(&site.workshop, &asks.0).await?;
    Ok(HttpResponse::Ok().json(OwnCalendar { since }))
}

async fn passkeys(site: &Site, asks: &Bearer) -> ApiResult {
    let known = workflow::my_passkeys(&site.workshop, &asks.0).await?.into_iter();
    let passkeys = known.map(|k| OwnPasskey {
        id: k.id,
        name: k.name,
        added_at: k.added_at,
        last_used_at: k.last_used_at,
    });
    Ok(HttpResponse::Ok().json(OwnPasskeys { passkeys: passkeys.collect() }))
}
