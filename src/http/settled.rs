//! No change is answered before what it may have seen is kept (`workflow/settled.rs`).

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::StatusCode;
use actix_web::middleware::Next;
use actix_web::{Error, ResponseError, web};

use super::Site;
use super::api::problem::ApiError;
use super::pages::error::PageError;
use crate::workflow;

pub async fn settled<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let site = req.app_data::<web::Data<Site>>().cloned();
    let (Some(site), false) = (site, req.method().is_safe()) else {
        return Ok(next.call(req).await?.map_into_left_body());
    };
    let is_api = req.path().starts_with("/api/");
    let settling = workflow::settling(&site.workshop);
    let res = next.call(req).await?;
    match settling.settled().await {
        // A fault of its own is told as it is.
        Err(e) if !res.status().is_server_error() && res.status() != StatusCode::CONFLICT => {
            let answer =
                if is_api { ApiError::from(e).error_response() } else { PageError::from(e).error_response() };
            Ok(res.into_response(answer).map_into_right_body())
        }
        _ => Ok(res.map_into_left_body()),
    }
}
