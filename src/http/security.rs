//! What every answer carries, and where a change may come from.

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HeaderName, HeaderValue, ORIGIN, REFERRER_POLICY,
    STRICT_TRANSPORT_SECURITY, X_CONTENT_TYPE_OPTIONS,
};
use actix_web::middleware::Next;
use actix_web::{Error, HttpResponse, web};

use super::Site;

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; \
    manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; \
    require-trusted-types-for 'script'; trusted-types chock chock-worker";

/// Adds the security headers, and keeps answers to signed-in people out of shared caches.
pub async fn headers<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, Error> {
    let only_part_of_a_page = only_part_of_a_page(req.path());
    let over_tls = req.app_data::<web::Data<Site>>().is_some_and(|s| s.over_tls());
    let mut res = next.call(req).await?;
    let headers = res.headers_mut();
    if over_tls {
        headers.insert(STRICT_TRANSPORT_SECURITY, HeaderValue::from_static("max-age=31536000"));
    }
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    if !only_part_of_a_page {
        headers.insert(CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
        // An address that is itself a secret says more strictly where it may go.
        if !headers.contains_key(REFERRER_POLICY) {
            headers.insert(REFERRER_POLICY, HeaderValue::from_static("same-origin"));
        }
        headers.insert(
            HeaderName::from_static("cross-origin-opener-policy"),
            HeaderValue::from_static("same-origin"),
        );
    }
    if !headers.contains_key(CACHE_CONTROL) {
        headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    Ok(res)
}

/// Modules, style and words that a page loads: what they may do is settled by the page, so a policy of their own would be
/// half a kilobyte each on a weak signal for nothing. A drawing can be opened as a page, so it has one.
fn only_part_of_a_page(path: &str) -> bool {
    path.starts_with("/assets/") && !path.ends_with(".svg")
}

/// A change asked for by another site's page is refused. Browsers say where a request comes from; a client that sends
/// neither header is no browser and has no cookie to be abused.
pub async fn same_origin<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    if req.method().is_safe() || from_here(&req) {
        return Ok(next.call(req).await?.map_into_left_body());
    }
    let refusal = HttpResponse::Forbidden().body(t!("problem-another-site"));
    Ok(req.into_response(refusal).map_into_right_body())
}

fn from_here(req: &ServiceRequest) -> bool {
    let header = |name: &HeaderName| req.headers().get(name).and_then(|v| v.to_str().ok());
    match header(&HeaderName::from_static("sec-fetch-site")) {
        Some(site) => site == "same-origin" || site == "none",
        None => match header(&ORIGIN) {
            Some(origin) => {
                let host = req.connection_info().host().to_owned();
                let public = req.app_data::<web::Data<Site>>().map(|s| s.public_url.clone());
                origin.split_once("://").is_some_and(|(_, h)| h == host) || public.as_deref() == Some(origin)
            }
            None => true,
        },
    }
}
