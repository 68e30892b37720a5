//! Photos of a check, of a reported defect or of the work, sent apart from it: a picture must never keep a check from arriving.

use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use actix_web::web::Bytes;
use actix_web::{HttpMessage, HttpRequest, HttpResponse, get, put, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::checks::created;
use super::orders::asked_of;
use super::problem::{ApiError, ApiResult};
use super::words;
use crate::domain::ids::{CheckId, DefectId, PhotoId};
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::http::photo_store::PhotoError;
use crate::workflow::{self, PhotoOf};

/// As a camera makes them; what is kept is much smaller.
const MOST_BYTES: usize = 16 * 1024 * 1024;

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// The item of the checklist it shows.
    item: String,
    /// The item's position, where it has some.
    #[serde(default)]
    position: String,
}

#[derive(Serialize, ToSchema)]
pub struct KeptPhoto {
    photo: Uuid,
}

/// See a picture
#[utoipa::path(tag = "checks", responses((status = 200, content_type = "image/jpeg", body = words::Bytes)))]
#[get("/photos/{id}")]
pub async fn see_photo(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    let row = workflow::photo(&site.workshop, &asks.0, PhotoId(*id)).await?;
    let bytes = site.photos.read(&row.sha256).await.map_err(ApiError::Photo)?;
    // It never changes under its id, but only those who may see the machine may keep it.
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "image/jpeg"))
        .insert_header((CACHE_CONTROL, "private, max-age=86400, immutable"))
        .body(bytes))
}

/// Send a photo of an item of a check. The same one again changes nothing. It is kept without place and camera
#[utoipa::path(tag = "checks", params(Place), request_body(content = words::Bytes, content_type = "image/jpeg"), responses(
    (status = 201, body = KeptPhoto),
    (status = 200, body = KeptPhoto, description = "The same photo was there before")))]
#[put("/checks/{id}/photos")]
pub async fn photo_of_check(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    place: web::Query<Place>,
    req: HttpRequest,
    body: web::Payload,
) -> ApiResult {
    let Place { item, position } = place.into_inner();
    keep(&site, &asks, PhotoOf::Check { check: CheckId(*id), item, position }, &req, body).await
}

/// Send a photo of a reported defect. The same one again changes nothing. It is kept without place and camera
#[utoipa::path(tag = "defects", request_body(content = words::Bytes, content_type = "image/jpeg"), responses(
    (status = 201, body = KeptPhoto),
    (status = 200, body = KeptPhoto, description = "The same photo was there before")))]
#[put("/defects/{id}/photos")]
pub async fn photo_of_defect(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    req: HttpRequest,
    body: web::Payload,
) -> ApiResult {
    keep(&site, &asks, PhotoOf::Defect(DefectId(*id)), &req, body).await
}

/// Send a photo taken at the work. The same one again changes nothing. It is kept without place and camera
#[utoipa::path(tag = "work orders", request_body(content = words::Bytes, content_type = "image/jpeg"), responses(
    (status = 201, body = KeptPhoto),
    (status = 200, body = KeptPhoto, description = "The same photo was there before")))]
#[put("/work-orders/{id}/photos")]
pub async fn photo_of_order(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    req: HttpRequest,
    body: web::Payload,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    keep(&site, &asks, PhotoOf::Order(id), &req, body).await
}

async fn keep(site: &Site, asks: &Bearer, of: PhotoOf, req: &HttpRequest, body: web::Payload) -> ApiResult {
    if !matches!(req.content_type().to_ascii_lowercase().as_str(), "image/jpeg" | "image/png") {
        return Err(ApiError::WrongType(said!("problem-send-picture")));
    }
    let bytes: Bytes = body
        .to_bytes_limited(MOST_BYTES)
        .await
        .map_err(|_| ApiError::TooLarge)?
        .map_err(|_| ApiError::Unreadable(said!("problem-picture-cut-short")))?;
    let stored = site.photos.keep(bytes).await.map_err(|e| match e {
        PhotoError::Unreadable(_) | PhotoError::UnknownFormat | PhotoError::TooLarge => {
            Refusal::invalid("", e.why_not_kept()).into()
        }
        e => ApiError::Photo(e),
    })?;
    let kept = workflow::attach_photo(&site.workshop, &asks.0, of, stored).await?;
    Ok(HttpResponse::build(created(kept.first)).json(KeptPhoto { photo: kept.answer.0 }))
}
