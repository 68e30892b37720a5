//! Who works here, in which roles and yards. For the owner; whatever gives rights away takes the owner's password.

use actix_web::{HttpRequest, HttpResponse, get, post, put, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::etag::{Stated, still, tagged};
use super::every_answer::made;
use super::own_sessions::Proof;
use super::problem::ApiResult;
use super::words::{self, Money};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::money;
use crate::domain::person::{Act, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::http::Site;
use crate::workflow::{self, NewPerson, PersonRow};

#[derive(Serialize, ToSchema)]
pub struct People {
    people: Vec<PersonSetUp>,
}

#[derive(Serialize, ToSchema)]
pub struct PersonSetUp {
    id: Uuid,
    name: String,
    email: String,
    #[schema(value_type = Vec<words::Role>)]
    roles: Vec<Role>,
    yards: Vec<Uuid>,
    /// An hour of labour.
    rate: Money,
    /// The password is not set yet: the one-time link has not been used.
    invited: bool,
    disabled: bool,
    /// Signs in with a second step.
    second_step: bool,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetUpPerson {
    name: String,
    email: String,
    #[schema(value_type = Vec<words::Role>)]
    roles: Vec<Role>,
    #[serde(default)]
    yards: Vec<Uuid>,
    /// An hour of labour, such as 45.00; nothing when left out.
    rate: Option<Figure>,
    /// Yours: rights are given with it.
    #[schema(format = Password)]
    password: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DisablePerson {
    disabled: bool,
    /// Yours, to let somebody in again. Shutting out needs none.
    #[schema(format = Password)]
    password: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub struct Invited {
    id: Uuid,
    /// The path of the one-time link with which the person sets a password. Shown once, good for seven days.
    link: String,
}

/// List everybody
#[utoipa::path(tag = "people", responses((status = 200, body = People)))]
#[get("/people")]
pub async fn list_people(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(HttpResponse::Ok().json(People { people: everybody(&site, &asks).await? }))
}

/// Add a person; answers with the one-time link for their password
#[utoipa::path(tag = "people", request_body = SetUpPerson, responses(
    (status = 201, body = Invited), (status = 409, description = "Somebody with this mail address is here already")))]
#[post("/people")]
pub async fn add_person(site: web::Data<Site>, asks: Bearer, sent: Sent<SetUpPerson>) -> ApiResult {
    workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &sent.0.password).await?;
    let (id, secret) = workflow::add_person(&site.workshop, &asks.0, wanted(sent.0)?).await?;
    let at = format!("/people/{id}");
    Ok(made(&at, &Invited { id: id.0, link: format!("{LINK}{secret}") }))
}

/// See one person
#[utoipa::path(tag = "people", responses((status = 200, body = PersonSetUp)))]
#[get("/people/{id}")]
pub async fn see_person(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    Ok(tagged(&req, &one(&site, &asks, *id).await?))
}

/// Change name, address, rate, roles and yards of a person. It counts with their next request
#[utoipa::path(tag = "people", request_body = SetUpPerson, responses(
    (status = 200, body = PersonSetUp),
    (status = 409, description = "Somebody else has this mail address, it is your own right to do this, or nobody would hear of a hold")))]
#[put("/people/{id}")]
pub async fn change_person(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<SetUpPerson>,
) -> ApiResult {
    one(&site, &asks, *id).await?;
    still(&req, one(&site, &asks, *id)).await?;
    workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &sent.0.password).await?;
    workflow::change_person(&site.workshop, &asks.0, PersonId(*id), wanted(sent.0)?).await?;
    Ok(tagged(&req, &one(&site, &asks, *id).await?))
}

/// Shut a person out, which ends everything they are signed in with; or let them in again
#[utoipa::path(tag = "people", request_body = DisablePerson, responses(
    (status = 200, body = PersonSetUp),
    (status = 409, description = "It is yourself, or nobody would hear of a hold")))]
#[post("/people/{id}/disable")]
pub async fn disable_person(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<DisablePerson>,
) -> ApiResult {
    one(&site, &asks, *id).await?;
    still(&req, one(&site, &asks, *id)).await?;
    let DisablePerson { disabled, password } = sent.0;
    if !disabled {
        let password = password.unwrap_or_default();
        workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &password).await?;
    }
    workflow::disable_person(&site.workshop, &asks.0, PersonId(*id), disabled).await?;
    Ok(tagged(&req, &one(&site, &asks, *id).await?))
}

/// Make a new one-time link for somebody's password; the links before end
#[utoipa::path(tag = "people", request_body = Proof, responses((status = 201, body = Invited)))]
#[post("/people/{id}/invite")]
pub async fn invite_person(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Proof>,
) -> ApiResult {
    one(&site, &asks, *id).await?;
    still(&req, one(&site, &asks, *id)).await?;
    workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &sent.0.password).await?;
    let secret = workflow::invite_again(&site.workshop, &asks.0, PersonId(*id)).await?;
    Ok(made(&format!("/people/{id}"), &Invited { id: *id, link: format!("{LINK}{secret}") }))
}

/// Take away the second step of somebody whose phone and codes are lost. Make sure first who asks you for it
#[utoipa::path(tag = "people", request_body = Proof, responses(
    (status = 200, body = PersonSetUp), (status = 409, description = "There is none")))]
#[post("/people/{id}/second-step/remove")]
pub async fn remove_second_step_of_person(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Proof>,
) -> ApiResult {
    one(&site, &asks, *id).await?;
    still(&req, one(&site, &asks, *id)).await?;
    workflow::remove_second_step_of(&site.workshop, &asks.0, PersonId(*id), &sent.0.password).await?;
    Ok(tagged(&req, &one(&site, &asks, *id).await?))
}

impl Stated for PersonSetUp {
    fn state(&self) -> impl Serialize {
        self
    }
}

/// Where the pages take a one-time link.
const LINK: &str = "/welcome/";

async fn everybody(site: &Site, asks: &Bearer) -> ApiResult<Vec<PersonSetUp>> {
    let rows = workflow::people(&site.workshop, &asks.0).await?;
    let (with_one, _) = workflow::with_second_step(&site.workshop, &asks.0).await?;
    let currency = &site.workshop.currency;
    let shown = |(p, roles, yards): (PersonRow, Vec<Role>, Vec<YardId>)| PersonSetUp {
        id: p.id.0,
        second_step: with_one.contains(&p.id),
        name: p.name,
        email: p.email,
        roles,
        yards: yards.into_iter().map(|y| y.0).collect(),
        rate: Money::new(p.rate_minor, currency),
        invited: p.password_hash.is_none(),
        disabled: p.disabled_at.is_some(),
    };
    Ok(rows.into_iter().map(shown).collect())
}

async fn one(site: &Site, asks: &Bearer, id: Uuid) -> ApiResult<PersonSetUp> {
    let found = everybody(site, asks).await?.into_iter().find(|p| p.id == id);
    Ok(found.ok_or(Refusal::NotFound(Thing::Person))?)
}

fn wanted(sent: SetUpPerson) -> Result<NewPerson, Refusal> {
    Ok(NewPerson {
        name: sent.name,
        email: sent.email,
        roles: sent.roles,
        yards: sent.yards.into_iter().map(Into::into).collect(),
        rate_minor: rate(sent.rate)?,
    })
}

fn rate(sent: Option<Figure>) -> Result<i64, Refusal> {
    sent.map_or(Ok(0), |figure| {
        money::parse(&figure.0).ok_or_else(|| Refusal::invalid("/rate", said!("person-rate-such-as")))
    })
}
