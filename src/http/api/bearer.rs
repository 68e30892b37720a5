//! Who is asking: an access token, or the page session of our own pages (which a change needs to come from, see
//! `security`), and the person behind it looked up with every request, so that a disabled person is
//! nobody at once, a change of roles takes effect at once, and a token ends with the sign-in it came of.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header::AUTHORIZATION;
use actix_web::{FromRequest, HttpRequest};

use super::problem::ApiError;
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::http::session::{here_of, secret_of, site_of};
use crate::http::token;
use crate::workflow::{self, Here, WhoIsIn};

/// Sent by our own pages with what was recorded earlier: the person's id.
const RECORDED_BY: &str = "chock-recorded-by";

pub struct Bearer(pub Actor, pub Here);

/// As [`Bearer`], also of somebody who has a second step to set up first: for what sets it up.
pub struct SettingUp(pub Actor);

type Extracting<T> = Pin<Box<dyn Future<Output = Result<T, ApiError>>>>;

impl FromRequest for Bearer {
    type Error = ApiError;
    type Future = Extracting<Self>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move {
            match who_asks(&req).await? {
                (WhoIsIn::In(actor), here) => Ok(Self(actor, here)),
                _ => Err(Refusal::SecondStepFirst.into()),
            }
        })
    }
}

impl FromRequest for SettingUp {
    type Error = ApiError;
    type Future = Extracting<Self>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move {
            match who_asks(&req).await? {
                (WhoIsIn::In(actor) | WhoIsIn::SecondStepFirst(actor), _) => Ok(Self(actor)),
                _ => Err(ApiError::BadToken),
            }
        })
    }
}

/// Somebody: whoever is nobody is refused here.
async fn who_asks(req: &HttpRequest) -> Result<(WhoIsIn, Here), ApiError> {
    let site = site_of(req);
    let Some(token) = token_of(req) else {
        let Some(secret) = secret_of(req) else { return Err(ApiError::NoToken) };
        let who = workflow::who_is_in(&site.workshop, &secret).await?;
        // A phone is handed on: what one person recorded is never sent in another one's name.
        let by = req.headers().get(RECORDED_BY).map(|by| by.to_str().unwrap_or_default());
        return match &who {
            WhoIsIn::Nobody => Err(ApiError::SessionOver),
            WhoIsIn::In(actor) if by.is_some_and(|by| by != actor.id.to_string()) => {
                Err(ApiError::SomebodyElse)
            }
            _ => Ok((who, here_of(req))),
        };
    };
    let (person, family) =
        token::verify(&site.token_key, token, site.workshop.ambient.now()).map_err(|e| match e {
            token::TokenError::NotOurs | token::TokenError::Expired => ApiError::BadToken,
            key => ApiError::Token(key),
        })?;
    match workflow::who_has_token(&site.workshop, person, family).await? {
        WhoIsIn::Nobody => Err(ApiError::BadToken),
        who => Ok((who, Here { family: Some(family), ..Here::default() })),
    }
}

fn token_of(req: &HttpRequest) -> Option<&str> {
    let (scheme, token) = req.headers().get(AUTHORIZATION)?.to_str().ok()?.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}
