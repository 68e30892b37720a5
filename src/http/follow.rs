//! Follows a request from its first line to its answer: gives it an id that its log lines and its answer carry, and counts
//! it. What is written down names the route and not the address, which may carry a one-time link's secret.

use std::time::Instant;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{Error, web};
use tracing::Instrument;
use uuid::Uuid;

use super::Site;
use super::client::client_of;

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

pub async fn follow<B: MessageBody>(req: ServiceRequest, next: Next<B>) -> Result<ServiceResponse<B>, Error> {
    let Some(site) = req.app_data::<web::Data<Site>>().cloned() else { return next.call(req).await };
    let began = Instant::now();
    let client = client_of(req.request(), &site.operation.proxies);
    let id = client.request_id.unwrap_or_else(|| site.workshop.ambient.id::<Uuid>().to_string());
    let method = known(req.method());
    let route = req.match_pattern().unwrap_or_else(|| "none".to_owned());
    let span = tracing::info_span!("request", id, method, route);
    let answer = async {
        let answer = next.call(req).await;
        let status = match &answer {
            Ok(res) => res.status(),
            Err(e) => e.as_response_error().status_code(),
        };
        let took = began.elapsed();
        let address = client.address.map(tracing::field::display);
        let ms = took.as_secs_f64() * 1000.0;
        tracing::info!(status = status.as_u16(), ms, address, "answered");
        site.operation.metrics.answered(method, &route, status.as_u16(), took);
        answer
    };
    let mut answer = answer.instrument(span).await?;
    if let Ok(id) = HeaderValue::from_str(&id) {
        answer.headers_mut().insert(REQUEST_ID, id);
    }
    Ok(answer)
}

/// What somebody makes up is not counted apart.
fn known(method: &Method) -> &'static str {
    match *method {
        Method::GET => "GET",
        Method::HEAD => "HEAD",
        Method::POST => "POST",
        Method::PUT => "PUT",
        Method::PATCH => "PATCH",
        Method::DELETE => "DELETE",
        _ => "other",
    }
}
