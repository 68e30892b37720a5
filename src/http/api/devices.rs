//! Devices that several people share, for whoever answers for them.

use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::problem::ApiResult;
use crate::domain::ids::DeviceId;
use crate::http::Site;
use crate::workflow::{self, TrustedDevice};

#[derive(Serialize, ToSchema)]
pub struct Devices {
    devices: Vec<SharedDevice>,
}

/// A device on which people sign in by PIN.
#[derive(Serialize, ToSchema)]
pub struct SharedDevice {
    id: Uuid,
    trusted_by: String,
    trusted_at: DateTime<Utc>,
    /// When somebody came in by PIN last.
    last_used_at: Option<DateTime<Utc>>,
    /// Whoever has a PIN on it.
    people: Vec<String>,
    /// Whoever is signed in on it at this moment.
    signed_in: Vec<String>,
}

/// List the shared devices of people of your yards
#[utoipa::path(tag = "devices", responses((status = 200, body = Devices)))]
#[get("/devices")]
pub async fn list_devices(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let known = workflow::trusted_devices(&site.workshop, &asks.0, None).await?;
    Ok(HttpResponse::Ok().json(Devices { devices: known.into_iter().map(Into::into).collect() }))
}

/// Forget a device that is lost: whoever is signed in on it is signed out, and no PIN works there
#[utoipa::path(tag = "devices", responses((status = 204)))]
#[post("/devices/{id}/forget")]
pub async fn forget_device(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    workflow::forget_lost_device(&site.workshop, &asks.0, DeviceId(*id)).await?;
    Ok(HttpResponse::NoContent().finish())
}

impl From<TrustedDevice> for SharedDevice {
    fn from(d: TrustedDevice) -> Self {
        Self {
            id: d.id.0,
            trusted_by: d.trusted_by,
            trusted_at: d.trusted_at,
            last_used_at: d.last_used_at,
            people: d.people,
            signed_in: d.signed_in,
        }
    }
}
