//! Defects reported outside a check, and holds placed by hand.

use actix_web::{HttpResponse, post, put, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::checks::{client_made, created};
use super::problem::ApiResult;
use super::words;
use crate::domain::checklist::System;
use crate::domain::ids::{DefectId, HoldId};
use crate::domain::risk::{
    Answers, Assessment, Category, Certain, Harm, Probability, RiskLevel, YesOrNo, code,
};
use crate::domain::standing::Severity;
use crate::http::Site;
use crate::workflow::{self, ReportDefect};

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Report {
    machine: Uuid,
    /// What is wrong, in your own words.
    what: String,
    /// What is affected. Left out: not sure.
    #[schema(value_type = Option<words::System>)]
    affects: Option<System>,
    /// Whether it burns, smoulders, or fuel or oil can reach something hot. Left out: not sure.
    #[schema(value_type = Option<words::YesOrNo>)]
    fire: Option<YesOrNo>,
    /// The worst it can do to somebody. Left out: not sure.
    #[schema(value_type = Option<words::Harm>)]
    harm: Option<Harm>,
    /// Whether it is getting worse. Left out: not sure.
    #[schema(value_type = Option<words::YesOrNo>)]
    worse: Option<YesOrNo>,
    /// How the reporter knows. Left out: not sure.
    #[schema(value_type = Option<words::Certain>)]
    certain: Option<Certain>,
}

#[derive(Serialize, ToSchema)]
pub struct ReportAnswer {
    defect: Uuid,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    /// One sentence: what decided, with the row and column of the table and the threshold.
    why: String,
    /// What to do now.
    instruction: String,
    risk: Risk,
    work_order: Option<Uuid>,
}

/// What the answers amount to, after MIL-STD-882E Tables I to III. "Not sure" counts as the worst answer.
#[derive(Serialize, ToSchema)]
pub struct Risk {
    #[schema(value_type = words::Category)]
    category: Category,
    #[schema(value_type = words::Probability)]
    probability: Probability,
    #[schema(value_type = words::RiskLevel)]
    level: RiskLevel,
    /// Short form of category and probability.
    #[schema(example = "2C")]
    code: String,
    /// From this level on the machine is out of service.
    #[schema(value_type = words::RiskLevel)]
    out_of_service_from: RiskLevel,
    /// Nobody may lower it.
    #[serde(rename = "final")]
    is_final: bool,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceHold {
    machine: Uuid,
    reason: String,
}

#[derive(Serialize, ToSchema)]
pub struct PlacedHold {
    id: Uuid,
    machine: Uuid,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Lift {
    reason: String,
}

#[derive(Serialize, ToSchema)]
pub struct Lifted {
    machine: Uuid,
}

/// Report a defect under an id of your own (UUIDv7). A question left open counts as not sure, which is the worst
#[utoipa::path(tag = "defects", request_body = Report, responses(
    (status = 201, body = ReportAnswer),
    (status = 200, body = ReportAnswer, description = "The same report was recorded before"),
    (status = 409, description = "Another defect is recorded under this id, or the machine is retired")))]
#[put("/defects/{id}")]
pub async fn report_defect(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Report>,
) -> ApiResult {
    let report = sent.0;
    let unsure = Answers::default();
    let command = ReportDefect {
        id: DefectId(client_made(*id)?),
        machine: report.machine.into(),
        what: report.what,
        answers: Answers {
            affects: report.affects,
            fire: report.fire.unwrap_or(unsure.fire),
            harm: report.harm.unwrap_or(unsure.harm),
            worse: report.worse.unwrap_or(unsure.worse),
            certain: report.certain.unwrap_or(unsure.certain),
        },
    };
    let done = workflow::put_report(&site.workshop, &asks.0, command).await?;
    Ok(HttpResponse::build(created(done.first)).json(ReportAnswer {
        defect: done.answer.defect.0,
        severity: done.answer.severity,
        why: done.answer.why.to_string(),
        instruction: done.answer.instruction.to_string(),
        risk: done.answer.risk.into(),
        work_order: done.answer.work_order.map(|o| o.0),
    }))
}

/// Place a hold by hand under an id of your own (UUIDv7). It is a record; it isolates no energy
#[utoipa::path(tag = "holds", request_body = PlaceHold, responses(
    (status = 201, body = PlacedHold),
    (status = 200, body = PlacedHold, description = "The same hold was placed before"),
    (status = 409, description = "Another hold is recorded under this id, or the machine is retired")))]
#[put("/holds/{id}")]
pub async fn place_hold(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<PlaceHold>,
) -> ApiResult {
    let id = HoldId(client_made(*id)?);
    let machine = sent.0.machine;
    let done = workflow::put_hold(&site.workshop, &asks.0, id, machine.into(), &sent.0.reason).await?;
    Ok(HttpResponse::build(created(done.first)).json(PlacedHold { id: done.answer.0, machine }))
}

/// Lift a hold that was placed by hand. One that came from a defect ends with its release
#[utoipa::path(tag = "holds", request_body = Lift, responses(
    (status = 200, body = Lifted),
    (status = 409, description = "Lifted already, or it came from a defect")))]
#[post("/holds/{id}/lift")]
pub async fn lift_hold(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Lift>,
) -> ApiResult {
    let machine = workflow::lift_hold(&site.workshop, &asks.0, HoldId(*id), &sent.0.reason).await?;
    Ok(HttpResponse::Ok().json(Lifted { machine: machine.0 }))
}

impl From<Assessment> for Risk {
    fn from(a: Assessment) -> Self {
        Self {
            category: a.category,
            probability: a.probability,
            level: a.level,
            code: code(a.category, a.probability),
            out_of_service_from: a.out_of_service_from,
            is_final: a.final_,
        }
    }
}
