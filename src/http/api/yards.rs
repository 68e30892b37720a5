//! Yards: where they are, and what they need.

use actix_web::{HttpResponse, get, post, put, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::every_answer::made;
use super::problem::ApiResult;
use super::words::Made;
use crate::domain::ids::YardId;
use crate::domain::refusal::{Refusal, Thing};
use crate::http::Site;
use crate::workflow::{self, NewYard, YardRow};

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

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct YardNeed {
    #[schema(example = "utility vehicle")]
    class: String,
    /// How many of the class the yard needs on a day.
    needed: i64,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct YardAltitude {
    /// Metres above sea level; not known when null.
    altitude_m: Option<i64>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OnePersonYard {
    one_person: bool,
}

/// List your yards
#[utoipa::path(tag = "yards", responses((status = 200, body = Yards)))]
#[get("/yards")]
pub async fn list_yards(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let rows = workflow::yards(&site.workshop, &asks.0).await?;
    Ok(HttpResponse::Ok().json(Yards { yards: rows.into_iter().map(Into::into).collect() }))
}

/// See one yard
#[utoipa::path(tag = "yards", responses((status = 200, body = Yard)))]
#[get("/yards/{id}")]
pub async fn see_yard(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    shown(&site, &asks, *id).await
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
    Ok(made(&format!("/yards/{id}"), &Made { id }))
}

/// Say how many of a class a yard needs on a day. The queue and the board go by it
#[utoipa::path(tag = "yards", request_body = YardNeed, responses((status = 200, body = Yard)))]
#[put("/yards/{id}/need")]
pub async fn set_yard_need(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<YardNeed>,
) -> ApiResult {
    let YardNeed { class, needed } = sent.0;
    workflow::set_need(&site.workshop, &asks.0, YardId(*id), &class, needed).await?;
    shown(&site, &asks, *id).await
}

/// Say how high a yard lies. It tells how much a tyre reads in the cold
#[utoipa::path(tag = "yards", request_body = YardAltitude, responses((status = 200, body = Yard)))]
#[put("/yards/{id}/altitude")]
pub async fn set_yard_altitude(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<YardAltitude>,
) -> ApiResult {
    workflow::set_altitude(&site.workshop, &asks.0, YardId(*id), sent.0.altitude_m).await?;
    shown(&site, &asks, *id).await
}

/// Say whether there is nobody else in a yard to sign. Where somebody is, a second pair of eyes looks before a machine is
/// used again: say yes only where there is really nobody
#[utoipa::path(tag = "yards", request_body = OnePersonYard, responses((status = 200, body = Yard)))]
#[put("/yards/{id}/one-person")]
pub async fn set_one_person_yard(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<OnePersonYard>,
) -> ApiResult {
    workflow::set_one_person(&site.workshop, &asks.0, YardId(*id), sent.0.one_person).await?;
    shown(&site, &asks, *id).await
}

async fn shown(site: &Site, asks: &Bearer, id: Uuid) -> ApiResult {
    let rows = workflow::yards(&site.workshop, &asks.0).await?;
    let row = rows.into_iter().find(|y| y.id.0 == id).ok_or(Refusal::NotFound(Thing::Yard))?;
    Ok(HttpResponse::Ok().json(Yard::from(row)))
}

impl From<YardRow> for Yard {
    fn from(y: YardRow) -> Self {
        Self { id: y.id.0, name: y.name, zone: y.zone, one_person: y.one_person, altitude_m: y.altitude_m }
    }
}
