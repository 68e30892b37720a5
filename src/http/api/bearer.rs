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

impl FromRequest for Bearer {
    type Error = ApiError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, ApiError>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move {
            let site = site_of(&req);
            let Some(token) = token_of(&req) else {
                let Some(secret) = secret_of(&req) else { return Err(ApiError::NoToken) };
                let actor = match workflow::who_is_in(&site.workshop, &secret).await? {
                    WhoIsIn::In(actor) => actor,
                    WhoIsIn::SecondStepFirst(_) => return Err(Refusal::SecondStepFirst.into()),
                    WhoIsIn::Nobody => return Err(ApiError::SessionOver),
                };
                // A phone is handed on: what one person recorded is never sent in another one's name.
                let by = req.headers().get(RECORDED_BY).map(|by| by.to_str().unwrap_or_default());
                if by.is_some_and(|by| by != actor.id.to_string()) {
                    return Err(ApiError::SomebodyElse);
                }
                return Ok(Self(actor, here_of(&req)));
            };
            let (person, family) = token::verify(&site.token_key, token, site.workshop.ambient.now())
                .map_err(|e| match e {
                    token::TokenError::NotOurs | token::TokenError::Expired => ApiError::BadToken,
                    key => ApiError::Token(key),
                })?;
            match workflow::who_has_token(&site.workshop, person, family).await? {
                WhoIsIn::In(actor) => Ok(Self(actor, Here { family: Some(family), ..Here::default() })),
                WhoIsIn::SecondStepFirst(_) => Err(Refusal::SecondStepFirst.into()),
                WhoIsIn::Nobody => Err(ApiError::BadToken),
            }
        })
    }
}

fn token_of(req: &HttpRequest) -> Option<&str> {
    let (scheme, token) = req.headers().get(AUTHORIZATION)?.to_str().ok()?.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}
