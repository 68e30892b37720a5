//! Checks that look careless, by the machine's own history.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::problem::ApiResult;
use super::words;
use crate::domain::careless::{LOOK_AT, Sign};
use crate::domain::refusal::{Refusal, Thing};
use crate::http::Site;
use crate::workflow::{self, CarelessMachine};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CarelessQuery {
    /// The yard; your first one by name when left out.
    yard: Option<Uuid>,
    /// Where the page before ended (its `next`).
    #[serde(default)]
    after: String,
}

/// Checks of one yard that are worth a second look. They are shown, never punished.
#[derive(Serialize, ToSchema)]
pub struct CarelessChecks {
    yard: Uuid,
    yard_name: String,
    /// Checks since then are looked at.
    since: DateTime<Utc>,
    machines: Vec<LookedAt>,
    /// For `after`, when there are more machines.
    next: Option<String>,
    judged: Vec<HowJudged>,
}

#[derive(Serialize, ToSchema)]
pub struct LookedAt {
    machine: Uuid,
    unit_number: String,
    checks: Vec<OddCheck>,
    /// Of what too little is known to say anything.
    unsaid: Vec<UnsaidSign>,
}

#[derive(Serialize, ToSchema)]
pub struct OddCheck {
    check: Uuid,
    recorded_at: DateTime<Utc>,
    #[schema(value_type = words::CarelessSign)]
    sign: Sign,
    sentence: String,
}

#[derive(Serialize, ToSchema)]
pub struct UnsaidSign {
    #[schema(value_type = words::CarelessSign)]
    sign: Sign,
    sentence: String,
}

/// How one sign is judged.
#[derive(Serialize, ToSchema)]
pub struct HowJudged {
    #[schema(value_type = words::CarelessSign)]
    sign: Sign,
    how: String,
}

/// See which checks look careless
#[utoipa::path(tag = "checks", params(CarelessQuery), responses((status = 200, body = CarelessChecks)))]
#[get("/checks/careless")]
pub async fn see_careless_checks(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<CarelessQuery>,
) -> ApiResult {
    let CarelessQuery { yard, after } = query.into_inner();
    let yard = match yard {
        Some(yard) => yard.into(),
        None => {
            let yards = workflow::yards(&site.workshop, &asks.0).await?;
            yards.first().ok_or(Refusal::NotFound(Thing::Yard))?.id
        }
    };
    let found = workflow::careless_checks(&site.workshop, &asks.0, yard, &after).await?;
    Ok(HttpResponse::Ok().json(CarelessChecks {
        yard: found.yard.id.0,
        yard_name: found.yard.name,
        since: site.workshop.ambient.now() - LOOK_AT,
        machines: found.machines.into_iter().map(Into::into).collect(),
        next: found.next,
        judged: Sign::ALL.iter().map(|s| HowJudged { sign: *s, how: s.how().to_string() }).collect(),
    }))
}

impl From<CarelessMachine> for LookedAt {
    fn from(m: CarelessMachine) -> Self {
        let odd = |o: crate::domain::careless::Odd| OddCheck {
            check: o.check.0,
            recorded_at: o.at,
            sign: o.sign,
            sentence: o.sentence.to_string(),
        };
        Self {
            machine: m.id.0,
            unit_number: m.unit_number,
            checks: m.looked.odd.into_iter().map(odd).collect(),
            unsaid: m
                .looked
                .unsaid
                .into_iter()
                .map(|u| UnsaidSign { sign: u.sign, sentence: u.sentence.to_string() })
                .collect(),
        }
    }
}
