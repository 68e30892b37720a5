//! What an hour of labour costs, who is skilled in what, and putting an entry of labour right.

use actix_web::{HttpRequest, get, post, put, web};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::etag::{Stated, still, tagged};
use super::orders::present;
use super::problem::ApiResult;
use super::words::{self, Money, Person};
use crate::domain::checklist::System;
use crate::domain::ids::{LabourId, PersonId, YardId};
use crate::domain::labour::overtime::{OvertimeRule, Step};
use crate::domain::shift::Span;
use crate::http::Site;
use crate::workflow::{self, LabourSetUp};

#[derive(Serialize, ToSchema)]
pub struct LabourSettings {
    /// By grade, the oldest first; of several the last that has begun holds.
    rates: Vec<GradeRate>,
    mechanics: Vec<MechanicLabour>,
    overtime: Vec<YardOvertime>,
    /// Systems on which only the skilled work.
    #[schema(value_type = Vec<words::System>)]
    skills_needed: Vec<System>,
}

#[derive(Serialize, ToSchema)]
pub struct GradeRate {
    grade: String,
    from: NaiveDate,
    /// An hour.
    rate: Money,
}

#[derive(Serialize, ToSchema)]
pub struct MechanicLabour {
    person: Person,
    grade: Option<String>,
    /// An hour, where no rate of a grade holds.
    own_rate: Money,
    #[schema(value_type = Vec<words::System>)]
    skills: Vec<System>,
}

#[derive(Serialize, ToSchema)]
pub struct YardOvertime {
    yard: Uuid,
    yard_name: String,
    a_day: Option<OvertimeStep>,
    a_week: Option<OvertimeStep>,
}

#[derive(Serialize, ToSchema)]
pub struct OvertimeStep {
    after_minutes: u32,
    /// On top of the rate.
    percent: u32,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewRate {
    grade: String,
    /// First day, such as 2027-01-01.
    from: String,
    /// An hour, such as 45.00.
    rate: Figure,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewOvertime {
    /// None when left out.
    a_day: Option<NewStep>,
    /// None when left out.
    a_week: Option<NewStep>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewStep {
    after_hours: Figure,
    percent: Figure,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SkillsNeeded {
    #[schema(value_type = Vec<words::System>)]
    systems: Vec<System>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LabourOfMechanic {
    /// One that has a rate; null for their own rate.
    grade: Option<String>,
    #[schema(value_type = Vec<words::System>)]
    skills: Vec<System>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LabourPutRight {
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    reason: String,
}

impl LabourSettings {
    fn of(s: LabourSetUp, currency: &str) -> Self {
        let rate = |(grade, from, minor)| GradeRate { grade, from, rate: Money::new(minor, currency) };
        let step =
            |s: Option<&Step>| s.map(|s| OvertimeStep { after_minutes: s.after_minutes, percent: s.percent });
        let overtime = |(yard, rule): (workflow::YardRow, OvertimeRule)| YardOvertime {
            yard: yard.id.0,
            yard_name: yard.name,
            a_day: step(rule.day.first()),
            a_week: step(rule.week.first()),
        };
        Self {
            rates: s.rates.into_iter().map(rate).collect(),
            mechanics: s
                .mechanics
                .into_iter()
                .map(|m| MechanicLabour {
                    person: Person::new(m.id, &m.name),
                    grade: m.grade,
                    own_rate: Money::new(m.own_rate, currency),
                    skills: m.skills.into_iter().collect(),
                })
                .collect(),
            overtime: s.yards.into_iter().map(overtime).collect(),
            skills_needed: s.skills_needed.into_iter().collect(),
        }
    }
}

/// See what an hour of labour costs, the overtime of each yard, and who is skilled in what
#[utoipa::path(tag = "labour", responses((status = 200, body = LabourSettings)))]
#[get("/labour")]
pub async fn see_labour_settings(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &settings(&site, &asks).await?))
}

/// Say what an hour of a grade costs from a day on
#[utoipa::path(tag = "labour", request_body = NewRate, responses((status = 200, body = LabourSettings)))]
#[post("/labour/rates")]
pub async fn set_rate(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<NewRate>,
) -> ApiResult {
    still(&req, settings(&site, &asks)).await?;
    let NewRate { grade, from, rate } = sent.0;
    workflow::set_rate(&site.workshop, &asks.0, &grade, &from, &rate.0).await?;
    Ok(tagged(&req, &settings(&site, &asks).await?))
}

/// Say what overtime costs in a yard
#[utoipa::path(tag = "labour", request_body = NewOvertime, responses((status = 200, body = LabourSettings)))]
#[put("/labour/overtime/{id}")]
pub async fn set_overtime(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<NewOvertime>,
) -> ApiResult {
    still(&req, settings(&site, &asks)).await?;
    let typed =
        |step: Option<NewStep>| step.map_or_else(Default::default, |s| (s.after_hours.0, s.percent.0));
    let (day, week) = (typed(sent.0.a_day), typed(sent.0.a_week));
    let (day, week) = ((day.0.as_str(), day.1.as_str()), (week.0.as_str(), week.1.as_str()));
    workflow::set_overtime(&site.workshop, &asks.0, YardId(*id), day, week).await?;
    Ok(tagged(&req, &settings(&site, &asks).await?))
}

/// Say on which systems only the skilled work
#[utoipa::path(tag = "labour", request_body = SkillsNeeded, responses((status = 200, body = LabourSettings)))]
#[put("/labour/skills-needed")]
pub async fn set_skills_needed(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<SkillsNeeded>,
) -> ApiResult {
    still(&req, settings(&site, &asks)).await?;
    workflow::set_skills_needed(&site.workshop, &asks.0, &sent.0.systems.into_iter().collect()).await?;
    Ok(tagged(&req, &settings(&site, &asks).await?))
}

/// Say which grade a mechanic has and what they are skilled in
#[utoipa::path(tag = "labour", request_body = LabourOfMechanic, responses(
    (status = 200, body = LabourSettings), (status = 404, description = "Nobody who works as a mechanic")))]
#[put("/labour/people/{id}")]
pub async fn set_labour_of(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<LabourOfMechanic>,
) -> ApiResult {
    still(&req, settings(&site, &asks)).await?;
    let LabourOfMechanic { grade, skills } = sent.0;
    let skills = skills.into_iter().collect();
    workflow::set_labour_of(&site.workshop, &asks.0, PersonId(*id), grade.as_deref(), &skills).await?;
    Ok(tagged(&req, &settings(&site, &asks).await?))
}

/// Put an entry of labour right: your own, or anybody's as a supervisor. Answers the work order with its new cost
#[utoipa::path(tag = "labour", request_body = LabourPutRight, responses(
    (status = 200, body = super::order_shapes::WorkOrder),
    (status = 409, description = "It overlaps other time, still runs, or the work order has ended")))]
#[put("/labour/{entry}")]
pub async fn put_labour_right(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    entry: web::Path<Uuid>,
    sent: Sent<LabourPutRight>,
) -> ApiResult {
    let to = Span::new(sent.0.from, sent.0.to);
    let order =
        workflow::put_labour_right(&site.workshop, &asks.0, LabourId(*entry), to, &sent.0.reason).await?;
    present(&req, &site, &asks, order).await
}

async fn settings(site: &Site, asks: &Bearer) -> ApiResult<LabourSettings> {
    let found = workflow::labour_set_up(&site.workshop, &asks.0).await?;
    Ok(LabourSettings::of(found, &site.workshop.currency))
}

impl Stated for LabourSettings {
    fn state(&self) -> impl Serialize {
        self
    }
}
