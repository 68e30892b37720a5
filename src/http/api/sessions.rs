//! Signing in and out. The refresh token changes with every use; one used twice ends all that came of the same sign-in.

use actix_web::{HttpRequest, HttpResponse, delete, post, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::body::Sent;
use super::every_answer::made;
use super::problem::{ApiError, ApiResult};
use crate::domain::refusal::Refusal;
use crate::http::{Site, token};
use crate::workflow::{self, Credentials, RefreshGrant, WorkflowError};

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignIn {
    email: String,
    #[schema(format = Password)]
    password: String,
    /// Of the second step, where this person has one: what their phone shows, or a recovery code.
    code: Option<String>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RefreshToken {
    refresh_token: String,
}

/// As RFC 6749, 5.1 names the members.
#[derive(Serialize, ToSchema)]
pub struct Session {
    /// Good for ten minutes; send it as `Authorization: Bearer …`.
    access_token: String,
    #[schema(example = "Bearer")]
    token_type: &'static str,
    /// Seconds.
    expires_in: i64,
    /// Good once, within 30 days.
    refresh_token: String,
    person: super::words::Person,
}

/// Sign in
#[utoipa::path(tag = "sessions", request_body = SignIn, security(()),
    responses((status = 201, body = Session), (status = 401, description = "Address and password do not fit together, or the code of the second step is needed: see `type`"),
        (status = 422, description = "The code is not the present one, or was used"),
        (status = 429, description = "Tried too often; Retry-After says how many seconds to wait")))]
#[post("/sessions")]
pub async fn sign_in(req: HttpRequest, site: web::Data<Site>, sent: Sent<SignIn>) -> ApiResult {
    let given = Credentials { email: &sent.0.email, password: &sent.0.password };
    let grant =
        workflow::sign_in_api_with(&site.workshop, given, sent.0.code.as_deref(), site.caller(&req)).await;
    let grant = grant.map_err(not_signed_in)?;
    Ok(made("/me/sessions", &session(&site, grant)?))
}

/// Trade a refresh token for a new access token and the next refresh token
#[utoipa::path(tag = "sessions", request_body = RefreshToken, security(()),
    responses((status = 200, body = Session), (status = 401, description = "Used already, run out or not ours")))]
#[post("/sessions/refresh")]
pub async fn refresh(site: web::Data<Site>, sent: Sent<RefreshToken>) -> ApiResult {
    let grant = workflow::refresh(&site.workshop, &sent.0.refresh_token).await.map_err(not_signed_in)?;
    Ok(HttpResponse::Ok().json(session(&site, grant)?))
}

/// Sign out: ends every token of this sign-in
#[utoipa::path(tag = "sessions", request_body = RefreshToken, security(()),
    responses((status = 204, description = "Signed out, or was not signed in")))]
#[delete("/sessions")]
pub async fn sign_out(site: web::Data<Site>, sent: Sent<RefreshToken>) -> ApiResult {
    workflow::sign_out_token(&site.workshop, &sent.0.refresh_token).await?;
    Ok(HttpResponse::NoContent().finish())
}

fn session(site: &Site, grant: RefreshGrant) -> ApiResult<Session> {
    let ambient = &site.workshop.ambient;
    let access_token =
        token::sign(&site.token_key, grant.actor.id, grant.family, ambient.id(), ambient.now())?;
    Ok(Session {
        access_token,
        token_type: "Bearer",
        expires_in: token::LIFETIME.num_seconds(),
        refresh_token: grant.refresh_token,
        person: super::words::Person::new(grant.actor.id, &grant.actor.name),
    })
}

/// Not knowing who asks is another thing than not allowing it.
fn not_signed_in(error: WorkflowError) -> ApiError {
    match error {
        WorkflowError::Refused(Refusal::Forbidden(sentence)) => ApiError::NotSignedIn(sentence),
        other => other.into(),
    }
}
