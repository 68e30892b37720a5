//! Setting up: yards, and the people who work in them.

use actix_web::{HttpResponse, get, post, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::problem::ApiResult;
use super::words::{self, Made, Money};
use crate::domain::money;
use crate::domain::person::{Act, Role};
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::workflow::{self, NewPerson, NewYard};

#[derive(Serialize, ToSchema)]
pub struct Yards {
    yards: Vec<Yard>,
}

#[derive(Serialize, ToSchema)]
pub struct Yard {
    id: Uuid,
    name: String,
    /// IANA name.
    #[schema(example = "Europe/Oslo")]
    zone: String,
    /// There is nobody else to sign: a release may be signed by the repairer, and says so.
    one_person: bool,
    /// Metres above sea level; not known when null, and then taken for sea level.
    altitude_m: Option<i64>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddYard {
    name: String,
    /// IANA name.
    #[schema(example = "Europe/Oslo")]
    zone: String,
    #[serde(default)]
    one_person: bool,
    /// Metres above sea level.
    altitude_m: Option<i64>,
}

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
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddPerson {
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

#[derive(Serialize, ToSchema)]
pub struct Invited {
    id: Uuid,
    /// The path of the one-time link with which the person sets a password. Shown once, good for seven days.
    link: String,
}

/// List your yards
#[utoipa::path(tag = "yards", responses((status = 200, body = Yards)))]
#[get("/yards")]
pub async fn list_yards(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let rows = workflow::yards(&site.workshop, &asks.0).await?;
    let yard = |y: workflow::YardRow| Yard {
        id: y.id.0,
        name: y.name,
        zone: y.zone,
        one_person: y.one_person,
        altitude_m: y.altitude_m,
    };
    Ok(HttpResponse::Ok().json(Yards { yards: rows.into_iter().map(yard).collect() }))
}

/// Add a yard
#[utoipa::path(tag = "yards", request_body = AddYard, responses(
    (status = 201, body = Made), (status = 409, description = "There is a yard of this name")))]
#[post("/yards")]
pub async fn add_yard(site: web::Data<Site>, asks: Bearer, sent: Sent<AddYard>) -> ApiResult {
    let sent = sent.0;
    let new = NewYard {
        name: sent.name,
        zone: sent.zone,
        one_person: sent.one_person,
        altitude_m: sent.altitude_m,
    };
    let id = workflow::add_yard(&site.workshop, &asks.0, new).await?.0;
    Ok(HttpResponse::Created().json(Made { id }))
}

/// List everybody
#[utoipa::path(tag = "people", responses((status = 200, body = People)))]
#[get("/people")]
pub async fn list_people(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let rows = workflow::people(&site.workshop, &asks.0).await?;
    let people = rows.into_iter().map(|(p, roles, yards)| PersonSetUp {
        id: p.id.0,
        name: p.name,
        email: p.email,
        roles,
        yards: yards.into_iter().map(|y| y.0).collect(),
        rate: Money::new(p.rate_minor, &site.workshop.currency),
        invited: p.password_hash.is_none(),
        disabled: p.disabled_at.is_some(),
    });
    Ok(HttpResponse::Ok().json(People { people: people.collect() }))
}

/// Add a person; answers with the one-time link for their password
#[utoipa::path(tag = "people", request_body = AddPerson, responses(
    (status = 201, body = Invited), (status = 409, description = "Somebody with this mail address is here already")))]
#[post("/people")]
pub async fn add_person(site: web::Data<Site>, asks: Bearer, sent: Sent<AddPerson>) -> ApiResult {
    workflow::prove_for(&site.workshop, &asks.0, Act::SetUpPeople, &sent.0.password).await?;
    let new = NewPerson {
        name: sent.0.name,
        email: sent.0.email,
        roles: sent.0.roles,
        yards: sent.0.yards.into_iter().map(Into::into).collect(),
        rate_minor: rate(sent.0.rate)?,
    };
    let (id, secret) = workflow::add_person(&site.workshop, &asks.0, new).await?;
    Ok(HttpResponse::Created().json(Invited { id: id.0, link: format!("{LINK}{secret}") }))
}

/// Where the pages take a one-time link.
const LINK: &str = "/welcome/";

fn rate(sent: Option<Figure>) -> Result<i64, Refusal> {
    sent.map_or(Ok(0), |figure| {
        money::parse(&figure.0).ok_or_else(|| Refusal::invalid("/rate", said!("person-rate-such-as")))
    })
}
