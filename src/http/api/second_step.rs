//! The second step of signing in: one's own, and whether the owner asks for it.

use actix_web::{HttpRequest, HttpResponse, get, post, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::{Bearer, SettingUp};
use super::body::Sent;
use super::etag::{Stated, still, tagged};
use super::every_answer::made;
use super::own_sessions::Proof;
use super::problem::ApiResult;
use crate::domain::person::Actor;
use crate::domain::second_step::address;
use crate::http::Site;
use crate::workflow;

#[derive(Serialize, ToSchema)]
pub struct OwnSecondStep {
    /// None while there is none.
    since: Option<DateTime<Utc>>,
    recovery_codes_left: i64,
    /// The owner asks supervisors and owners for it.
    asked_for: bool,
}

/// Of a second step that was begun. It counts when the first code of it was right.
#[derive(Serialize, ToSchema)]
pub struct SecondStepBegun {
    /// In base32 (RFC 4648). Shown once.
    secret: String,
    /// The same, as programs that make codes (RFC 6238) read it: a link that begins with `otpauth:`.
    address: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FirstCode {
    /// What the phone shows now.
    #[schema(example = "492039")]
    code: String,
}

#[derive(Serialize, ToSchema)]
pub struct RecoveryCodes {
    /// Each lets in once, when the phone is lost. Shown this once: keep them on paper.
    recovery_codes: Vec<String>,
}

#[derive(Serialize, ToSchema)]
pub struct SecondStepRule {
    /// Supervisors and owners must have it.
    asked_for: bool,
    /// Those who have it.
    people: Vec<Uuid>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetSecondStepRule {
    asked_for: bool,
    /// Yours.
    #[schema(format = Password)]
    password: String,
}

/// See your second step
#[utoipa::path(tag = "second step", responses((status = 200, body = OwnSecondStep)))]
#[get("/me/second-step")]
pub async fn see_own_second_step(site: web::Data<Site>, asks: SettingUp) -> ApiResult {
    own(&site, &asks.0).await
}

/// Begin to set up your second step; answers with the secret for your phone
#[utoipa::path(tag = "second step", request_body = Proof, responses(
    (status = 201, body = SecondStepBegun), (status = 409, description = "You have one already")))]
#[post("/me/second-step/begin")]
pub async fn begin_second_step(site: web::Data<Site>, asks: SettingUp, sent: Sent<Proof>) -> ApiResult {
    let secret = workflow::begin_second_step(&site.workshop, &asks.0, &sent.0.password).await?;
    let host = site.public_url.split_once("://").map_or(site.public_url.as_str(), |(_, host)| host);
    let email = workflow::my_email(&site.workshop, &asks.0).await?;
    let address = address(&secret, host, &email);
    Ok(made("/me/second-step", &SecondStepBegun { secret, address }))
}

/// Switch your second step on with its first code; answers with the recovery codes
#[utoipa::path(tag = "second step", request_body = FirstCode, responses(
    (status = 200, body = RecoveryCodes), (status = 409, description = "None was begun, or too long ago")))]
#[post("/me/second-step/confirm")]
pub async fn confirm_second_step(site: web::Data<Site>, asks: SettingUp, sent: Sent<FirstCode>) -> ApiResult {
    let codes = workflow::confirm_second_step(&site.workshop, &asks.0, &sent.0.code).await?;
    Ok(HttpResponse::Ok().json(RecoveryCodes { recovery_codes: codes }))
}

/// Make new recovery codes; those before end
#[utoipa::path(tag = "second step", request_body = Proof, responses(
    (status = 200, body = RecoveryCodes), (status = 409, description = "You have no second step")))]
#[post("/me/second-step/codes")]
pub async fn renew_recovery_codes(site: web::Data<Site>, asks: Bearer, sent: Sent<Proof>) -> ApiResult {
    let codes = workflow::renew_recovery_codes(&site.workshop, &asks.0, &sent.0.password).await?;
    Ok(HttpResponse::Ok().json(RecoveryCodes { recovery_codes: codes }))
}

/// Take your second step away
#[utoipa::path(tag = "second step", request_body = Proof, responses(
    (status = 200, body = OwnSecondStep), (status = 409, description = "You have no second step")))]
#[post("/me/second-step/remove")]
pub async fn remove_own_second_step(site: web::Data<Site>, asks: Bearer, sent: Sent<Proof>) -> ApiResult {
    workflow::remove_second_step(&site.workshop, &asks.0, &sent.0.password).await?;
    own(&site, &asks.0).await
}

/// See whether a second step is asked for, and who has one
#[utoipa::path(tag = "second step", responses((status = 200, body = SecondStepRule)))]
#[get("/second-step")]
pub async fn see_second_step_rule(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &rule(&site, &asks).await?))
}

/// Ask supervisors and owners for a second step, or no longer
#[utoipa::path(tag = "second step", request_body = SetSecondStepRule, responses(
    (status = 200, body = SecondStepRule), (status = 409, description = "Set up your own first")))]
#[put("/second-step")]
pub async fn set_second_step_rule(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<SetSecondStepRule>,
) -> ApiResult {
    still(&req, rule(&site, &asks)).await?;
    let SetSecondStepRule { asked_for, password } = sent.0;
    workflow::ask_for_second_step(&site.workshop, &asks.0, asked_for, &password).await?;
    Ok(tagged(&req, &rule(&site, &asks).await?))
}

async fn own(site: &Site, actor: &Actor) -> ApiResult {
    let known = workflow::second_step(&site.workshop, actor).await?;
    Ok(HttpResponse::Ok().json(OwnSecondStep {
        since: known.since,
        recovery_codes_left: known.recovery_codes_left,
        asked_for: known.asked_for,
    }))
}

impl Stated for SecondStepRule {
    fn state(&self) -> impl Serialize {
        self
    }
}

async fn rule(site: &Site, asks: &Bearer) -> ApiResult<SecondStepRule> {
    let (people, asked_for) = workflow::with_second_step(&site.workshop, &asks.0).await?;
    let people = people.into_iter().map(|p| p.0).collect();
    Ok(SecondStepRule { asked_for, people })
}
