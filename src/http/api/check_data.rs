//! What a client takes along to check machines without a signal.

use actix_web::{HttpRequest, get, web};
use uuid::Uuid;

use super::bearer::Bearer;
use super::problem::ApiResult;
use crate::domain::ids::MachineId;
use crate::http::Site;
use crate::http::check_data::{CheckData, answer};
use crate::workflow;

/// Take along what is needed to check every machine of your yards without a signal
#[utoipa::path(tag = "checks", responses(
    (status = 200, body = CheckData, headers(("ETag" = String, description = "strong"))),
    (status = 304, description = "`If-None-Match` names what you have", headers(("ETag" = String, description = "strong")))))]
#[get("/check-data")]
pub async fn see_check_data(site: web::Data<Site>, asks: Bearer, req: HttpRequest) -> ApiResult {
    Ok(answer(&req, workflow::check_data(&site.workshop, &asks.0).await?))
}

/// Take along what is needed to check one machine without a signal
#[utoipa::path(tag = "checks", responses(
    (status = 200, body = CheckData, headers(("ETag" = String, description = "strong"))),
    (status = 304, description = "`If-None-Match` names what you have", headers(("ETag" = String, description = "strong")))))]
#[get("/machines/{id}/check-data")]
pub async fn see_check_data_of(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    req: HttpRequest,
) -> ApiResult {
    Ok(answer(&req, workflow::check_data_of(&site.workshop, &asks.0, MachineId(*id)).await?))
}
