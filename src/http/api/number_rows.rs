//! The rows behind the numbers of a fleet.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::figures::{WentOn, went_on};
use super::problem::ApiResult;
use super::words::{self, Money, cut};
use crate::domain::checklist::System;
use crate::domain::refusal::Refusal;
use crate::domain::shift::Span;
use crate::domain::standing::Severity;
use crate::domain::unit::Hours;
use crate::http::Site;
use crate::workflow::{self, Looking};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RowsQuery {
    /// The name of one yard; all of yours when left out.
    #[serde(default)]
    yard: String,
    #[serde(default)]
    class: String,
    /// The last 91 days when left out.
    from: Option<DateTime<Utc>>,
    /// Now when left out.
    to: Option<DateTime<Utc>>,
    /// At most this many rows, up to 10,000.
    limit: Option<i64>,
}

#[derive(Serialize, ToSchema)]
pub struct TimesDown {
    down: Vec<DownRow>,
    /// Whether there are more than `limit` asked for.
    more: bool,
}

/// A time out of service, in the period.
#[derive(Serialize, ToSchema)]
pub struct DownRow {
    machine: Uuid,
    unit_number: String,
    from: DateTime<Utc>,
    /// None while it goes on.
    to: Option<DateTime<Utc>>,
    known_at: DateTime<Utc>,
    /// A defect that was really there, and not a hold placed by hand alone.
    failure: bool,
    went_on: Vec<WentOn>,
}

#[derive(Serialize, ToSchema)]
pub struct DefectsFound {
    defects: Vec<FoundRow>,
    /// Whether there are more than `limit` asked for.
    more: bool,
}

#[derive(Serialize, ToSchema)]
pub struct FoundRow {
    id: Uuid,
    machine: Uuid,
    unit_number: String,
    what: String,
    #[schema(value_type = words::System)]
    system: System,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    found_at: DateTime<Utc>,
    closed_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct OrdersEnded {
    /// Dearest first.
    work_orders: Vec<EndedRow>,
    /// Whether there are more than `limit` asked for.
    more: bool,
}

#[derive(Serialize, ToSchema)]
pub struct EndedRow {
    id: Uuid,
    number: i64,
    machine: Uuid,
    unit_number: String,
    cost: Money,
    opened_at: DateTime<Utc>,
    closed_at: DateTime<Utc>,
}

#[derive(Serialize, ToSchema)]
pub struct HoldsAcknowledged {
    /// Newest first.
    holds: Vec<AskedRow>,
    /// Whether there are more than `limit` asked for.
    more: bool,
}

/// A hold that somebody was asked to acknowledge.
#[derive(Serialize, ToSchema)]
pub struct AskedRow {
    machine: Uuid,
    unit_number: String,
    asked_at: DateTime<Utc>,
    /// How many of the yard's chain were told beside those who are always told.
    told_next: i64,
    acknowledged_at: Option<DateTime<Utc>>,
    /// Empty where nobody did.
    acknowledged_by: String,
}

#[derive(Serialize, ToSchema)]
pub struct UseUnchecked {
    /// Newest first.
    unchecked: Vec<GapRow>,
    /// Whether there are more than `limit` asked for.
    more: bool,
}

/// A machine whose hour meter moved between two checks, on a day without one.
#[derive(Serialize, ToSchema)]
pub struct GapRow {
    machine: Uuid,
    unit_number: String,
    before: DateTime<Utc>,
    after: DateTime<Utc>,
    #[schema(value_type = String)]
    engine_hours: Hours,
    /// At least so many.
    days: i64,
}

/// See the times out of service behind the numbers
#[utoipa::path(tag = "board", params(RowsQuery), responses((status = 200, body = TimesDown)))]
#[get("/numbers/down")]
pub async fn see_downs(site: web::Data<Site>, asks: Bearer, query: web::Query<RowsQuery>) -> ApiResult {
    let (looking, most) = looked_at(&site, query)?;
    let mut rows = workflow::numbers_downs(&site.workshop, &asks.0, &looking).await?;
    let row = |d: workflow::DownRow| DownRow {
        machine: d.machine_id.0,
        unit_number: d.unit_number,
        from: d.down.span.from,
        to: d.down.back.then_some(d.down.span.to),
        known_at: d.down.known_at,
        failure: d.down.failure,
        went_on: went_on(&d.split),
    };
    let more = cut(&mut rows, most);
    Ok(HttpResponse::Ok().json(TimesDown { down: rows.into_iter().map(row).collect(), more }))
}

/// See the defects behind the numbers
#[utoipa::path(tag = "board", params(RowsQuery), responses((status = 200, body = DefectsFound)))]
#[get("/numbers/defects")]
pub async fn see_defects_found(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<RowsQuery>,
) -> ApiResult {
    let (looking, most) = looked_at(&site, query)?;
    let mut rows = workflow::numbers_defects(&site.workshop, &asks.0, &looking, None, most + 1).await?;
    let more = cut(&mut rows, most);
    let row = |d: workflow::FoundRow| FoundRow {
        id: d.id.0,
        machine: d.machine_id.0,
        unit_number: d.unit_number,
        what: d.what.to_string(),
        system: d.system,
        severity: d.severity,
        found_at: d.found_at,
        closed_at: d.closed_at,
    };
    Ok(HttpResponse::Ok().json(DefectsFound { defects: rows.into_iter().map(row).collect(), more }))
}

/// See the work orders that ended, and what they cost
#[utoipa::path(tag = "board", params(RowsQuery), responses((status = 200, body = OrdersEnded)))]
#[get("/numbers/work-orders")]
pub async fn see_orders_ended(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<RowsQuery>,
) -> ApiResult {
    let (looking, most) = looked_at(&site, query)?;
    let mut rows = workflow::numbers_orders(&site.workshop, &asks.0, &looking, most + 1).await?;
    let more = cut(&mut rows, most);
    let row = |o: workflow::EndedRow| EndedRow {
        id: o.id.0,
        number: o.number,
        machine: o.machine_id.0,
        unit_number: o.unit_number,
        cost: Money::new(o.cost_minor, &site.workshop.currency),
        opened_at: o.opened_at,
        closed_at: o.closed_at,
    };
    Ok(HttpResponse::Ok().json(OrdersEnded { work_orders: rows.into_iter().map(row).collect(), more }))
}

/// See the holds that somebody was asked to acknowledge
#[utoipa::path(tag = "board", params(RowsQuery), responses((status = 200, body = HoldsAcknowledged)))]
#[get("/numbers/holds-acknowledged")]
pub async fn see_holds_acknowledged(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<RowsQuery>,
) -> ApiResult {
    let (looking, most) = looked_at(&site, query)?;
    let mut rows = workflow::numbers_asked(&site.workshop, &asks.0, &looking, most + 1).await?;
    let more = cut(&mut rows, most);
    let row = |a: workflow::AskedRow| AskedRow {
        machine: a.machine_id.0,
        unit_number: a.unit_number,
        asked_at: a.asked_at,
        told_next: a.step,
        acknowledged_at: a.acknowledged_at,
        acknowledged_by: a.acknowledged_by,
    };
    Ok(HttpResponse::Ok().json(HoldsAcknowledged { holds: rows.into_iter().map(row).collect(), more }))
}

/// See the machines that ran on a day without a check
#[utoipa::path(tag = "board", params(RowsQuery), responses((status = 200, body = UseUnchecked)))]
#[get("/numbers/unchecked")]
pub async fn see_unchecked(site: web::Data<Site>, asks: Bearer, query: web::Query<RowsQuery>) -> ApiResult {
    let (looking, most) = looked_at(&site, query)?;
    let mut rows = workflow::numbers_gaps(&site.workshop, &asks.0, &looking).await?;
    let row = |g: workflow::GapRow| GapRow {
        machine: g.machine_id.0,
        unit_number: g.unit_number,
        before: g.gap.before,
        after: g.gap.after,
        engine_hours: g.gap.gained,
        days: g.gap.days,
    };
    let more = cut(&mut rows, most);
    Ok(HttpResponse::Ok().json(UseUnchecked { unchecked: rows.into_iter().map(row).collect(), more }))
}

fn looked_at(site: &Site, query: web::Query<RowsQuery>) -> Result<(Looking, i64), Refusal> {
    let RowsQuery { yard, class, from, to, limit } = query.into_inner();
    let period = period(site, from, to)?;
    Ok((Looking { yard, class, period }, limit.unwrap_or(500).clamp(1, 10_000)))
}

/// As it was asked for, or the last thirteen weeks.
pub fn period(site: &Site, from: Option<DateTime<Utc>>, to: Option<DateTime<Utc>>) -> Result<Span, Refusal> {
    let to = to.unwrap_or_else(|| site.workshop.ambient.now());
    let from = from.unwrap_or(to - TimeDelta::days(91));
    if from >= to || to - from > TimeDelta::days(3_660) {
        return Err(Refusal::invalid("/from", said!("numbers-odd-period")));
    }
    Ok(Span::new(from, to))
}
