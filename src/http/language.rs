//! In which language somebody is answered: the one they chose (a cookie, set at sign-in and by the choice itself, so that
//! no request asks the database for it), else the one their browser prefers, else English.

use actix_web::body::MessageBody;
use actix_web::cookie::time::Duration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{ACCEPT_LANGUAGE, CONTENT_LANGUAGE, HeaderValue, VARY};
use actix_web::middleware::Next;
use actix_web::{Error, HttpRequest};

use super::Site;
use crate::words::{InLanguage, Lang};

const COOKIE: &str = "language";
/// At the end of a tag that is the choice of somebody who was signed in.
const OF_SOMEBODY: &str = ".somebody";

/// Answers in the language of whoever asks.
pub async fn speak<B: MessageBody>(req: ServiceRequest, next: Next<B>) -> Result<ServiceResponse<B>, Error> {
    let lang = asked_for(req.request());
    let mut res = InLanguage::new(lang, next.call(req)).await?;
    res.headers_mut().insert(CONTENT_LANGUAGE, HeaderValue::from_static(lang.tag()));
    res.headers_mut().append(VARY, HeaderValue::from_static("accept-language"));
    Ok(res)
}

/// The cookie that keeps a choice, or takes away that of somebody else who used this browser.
pub fn cookie(site: &Site, chosen: Option<Lang>) -> Cookie<'static> {
    Cookie::build(COOKIE, chosen.map_or("", Lang::tag))
        .path("/")
        .http_only(true)
        .secure(site.over_tls())
        .same_site(SameSite::Lax)
        .max_age(if chosen.is_some() { Duration::days(365) } else { Duration::ZERO })
        .finish()
}

/// As [`cookie`], of a choice that is a person's own: whoever comes next reads it and is not taken to have made it.
pub fn cookie_of_person(site: &Site, chosen: Option<Lang>) -> Cookie<'static> {
    let mut cookie = cookie(site, chosen);
    if let Some(lang) = chosen {
        cookie.set_value(format!("{}{OF_SOMEBODY}", lang.tag()));
    }
    cookie
}

/// What is read in this browser.
pub fn chosen(req: &HttpRequest) -> Option<Lang> {
    req.cookie(COOKIE).and_then(|c| Lang::of_tag(c.value().trim_end_matches(OF_SOMEBODY)))
}

/// What was chosen in it while nobody was signed in.
pub fn chosen_before_entry(req: &HttpRequest) -> Option<Lang> {
    req.cookie(COOKIE).and_then(|c| Lang::of_tag(c.value()))
}

fn asked_for(req: &HttpRequest) -> Lang {
    let preferred = || Lang::preferred(req.headers().get(ACCEPT_LANGUAGE)?.to_str().ok()?);
    chosen(req).or_else(preferred).unwrap_or_default()
}
