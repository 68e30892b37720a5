//! Who is asking: the page session's cookie, looked up with every request so that a change of rights or a disabling takes
//! effect at once. A second cookie says which device it is, for PINs; by itself it lets nobody in.

use std::future::Future;
use std::pin::Pin;

use actix_web::cookie::time::Duration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};

use super::Site;
use super::pages::error::PageError;
use crate::domain::person::Actor;
use crate::workflow::{self, Here, WhoIsIn};

/// A signed-in person. Extracting it answers with the sign-in page when there is none. The request keeps who it was, for a
/// page that says what went wrong.
pub struct Signed(pub Actor);

impl FromRequest for Signed {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move {
            let site = site_of(&req);
            let back_to = if req.method().is_safe() { req.uri().to_string() } else { "/".to_owned() };
            let Some(secret) = secret_of(&req) else { return Err(PageError::SignIn { back_to }) };
            match workflow::who_is_in(&site.workshop, &secret).await? {
                WhoIsIn::In(actor) => {
                    req.extensions_mut().insert(actor.clone());
                    Ok(Self(actor))
                }
                WhoIsIn::SecondStepFirst(_) => Err(PageError::SecondStepFirst),
                WhoIsIn::Nobody => Err(PageError::SignIn { back_to }),
            }
        })
    }
}

/// As [`Signed`], also of somebody who has a second step to set up first: for the pages on which that is done.
pub struct SettingUp(pub Actor);

impl FromRequest for SettingUp {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move {
            let back_to = "/".to_owned();
            let Some(secret) = secret_of(&req) else { return Err(PageError::SignIn { back_to }) };
            match workflow::who_is_in(&site_of(&req).workshop, &secret).await? {
                WhoIsIn::In(actor) | WhoIsIn::SecondStepFirst(actor) => Ok(Self(actor)),
                WhoIsIn::Nobody => Err(PageError::SignIn { back_to }),
            }
        })
    }
}

/// By what whoever asks for a page came in.
pub fn here_of(req: &HttpRequest) -> Here {
    Here { session: secret_of(req), device: device_of(req), family: None }
}

/// The site's shared state.
pub fn site_of(req: &HttpRequest) -> web::Data<Site> {
    req.app_data::<web::Data<Site>>().expect("the site is registered with the app").clone()
}

/// The session's secret from its cookie.
pub fn secret_of(req: &HttpRequest) -> Option<String> {
    req.cookie(name(site_of(req).over_tls())).map(|c| c.value().to_owned())
}

/// The cookie that carries a new session. `__Host-` ties it to this host and to TLS; over plain HTTP on a yard's own
/// network browsers refuse that prefix, so the name is plain there.
pub fn cookie(site: &Site, secret: String) -> Cookie<'static> {
    build(site, name(site.over_tls()), secret, Duration::days(14))
}

/// The secret of a device that several people use, from its cookie. Whether it is trusted, the workflow says.
pub fn device_of(req: &HttpRequest) -> Option<String> {
    let cookie = req.cookie(device_name(site_of(req).over_tls()))?;
    Some(cookie.value().to_owned()).filter(|secret| !secret.is_empty())
}

/// Renewed with every change of person: a year without one and the device is no longer known.
pub fn device_cookie(site: &Site, secret: String) -> Cookie<'static> {
    build(site, device_name(site.over_tls()), secret, Duration::days(365))
}

pub fn no_device_cookie(site: &Site) -> Cookie<'static> {
    build(site, device_name(site.over_tls()), String::new(), Duration::ZERO)
}

/// Takes the cookie away.
pub fn no_cookie(site: &Site) -> Cookie<'static> {
    build(site, name(site.over_tls()), String::new(), Duration::ZERO)
}

fn build(site: &Site, name: &'static str, secret: String, age: Duration) -> Cookie<'static> {
    Cookie::build(name, secret)
        .path("/")
        .http_only(true)
        .secure(site.over_tls())
        .same_site(SameSite::Lax)
        .max_age(age)
        .finish()
}

const fn name(over_tls: bool) -> &'static str {
    if over_tls { "__Host-chock" } else { "chock" }
}

const fn device_name(over_tls: bool) -> &'static str {
    if over_tls { "__Host-chock-device" } else { "chock-device" }
}
