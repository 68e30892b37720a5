//! What machines' records say: of one machine, and of a fleet over a period.

use std::collections::BTreeMap;

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::number_rows::period;
use super::problem::ApiResult;
use super::words::{self, Money};
use crate::domain::checklist::System;
use crate::domain::forecast::score::Scored;
use crate::domain::ids::MachineId;
use crate::domain::person::Act;
use crate::domain::reliability::availability::Availability;
use crate::domain::reliability::failing::{Course, Way};
use crate::domain::reliability::mtbf::Mtbf;
use crate::domain::reliability::restoration::Phase;
use crate::domain::shift::Span;
use crate::http::Site;
use crate::workflow::{self, Looking, MachineFigures, Numbers, PeriodNumbers};

/// Up time ÷ (up time + down time).
#[derive(Serialize, ToSchema)]
pub struct Share {
    wanted_hours: f64,
    down_hours: f64,
    /// Between 0 and 1; none where no time was wanted.
    available: Option<f64>,
}

/// Mean time between failures, with chi-square bounds.
#[derive(Serialize, ToSchema)]
pub struct BetweenFailures {
    /// In engine hours; else by the calendar.
    by_engine_hours: bool,
    total_hours: f64,
    failures: u32,
    /// None without a failure.
    mean_hours: Option<f64>,
    /// Without a failure the one bound, else the lower of two.
    low_hours: f64,
    high_hours: Option<f64>,
    confidence: f64,
}

#[derive(Serialize, ToSchema)]
pub struct WentOn {
    #[schema(value_type = words::Phase)]
    phase: Phase,
    hours: f64,
}

/// One time out of service.
#[derive(Serialize, ToSchema)]
pub struct TimeDown {
    from: DateTime<Utc>,
    /// None while it goes on.
    to: Option<DateTime<Utc>>,
    known_at: DateTime<Utc>,
    failure: bool,
    went_on: Vec<WentOn>,
}

/// Whether it fails more often than it did.
#[derive(Serialize, ToSchema)]
pub struct FailureTrend {
    /// `too few`, `no trend`, `perhaps more`, `perhaps less`, `more` or `less`.
    course: &'static str,
    /// How many times the rate of a year ago, where that can be said.
    times_a_year_ago: Option<f64>,
}

#[derive(Serialize, ToSchema)]
pub struct Figures {
    machine: Uuid,
    /// Of the availability: the last twelve months, or since the machine was added.
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    by_calendar: Share,
    /// None where the yard has no shifts.
    by_working_hours: Option<Share>,
    between_failures: Option<BetweenFailures>,
    trend: FailureTrend,
    /// How often it came back, and what that went on altogether.
    restored: usize,
    went_on: Vec<WentOn>,
    /// The newest first.
    down: Vec<TimeDown>,
    /// Of the last twelve months and the twelve before; for those who see work orders.
    cost: Option<Money>,
    cost_before: Option<Money>,
    engine_hours: String,
    engine_hours_before: String,
}

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct NumbersQuery {
    /// The name of one yard; all of yours when left out.
    #[serde(default)]
    yard: String,
    #[serde(default)]
    class: String,
    /// The last 91 days when left out.
    from: Option<DateTime<Utc>>,
    /// Now when left out.
    to: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct FleetNumbers {
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    this: Period,
    /// As long, and just before; none where no machine was there.
    before: Option<Period>,
    /// Most first.
    systems: Vec<OfSystem>,
    /// Dearest first.
    costs: Vec<OfMachine>,
    /// Checks of the last four weeks that look careless, whatever the period; none for a great fleet: see them by machine.
    careless_checks: Option<usize>,
}

#[derive(Serialize, ToSchema)]
pub struct Period {
    machines: usize,
    by_calendar: Share,
    by_working_hours: Option<Share>,
    down: usize,
    failures: u32,
    between_failures: Option<BetweenFailures>,
    went_on: Vec<WentOn>,
    restored: i32,
    mean_hours_to_restoration: Option<f64>,
    cost: Money,
    machine_days_checked: i64,
    machine_days_unchecked: i64,
    /// Holds that somebody was asked to acknowledge, how many somebody did, and how long half of those took.
    holds_asked: usize,
    holds_acknowledged: usize,
    median_minutes_to_acknowledge: Option<f64>,
    forecasts_counted: usize,
    /// Shares; none where too few orders are done.
    likely_held: Option<f64>,
    almost_surely_held: Option<f64>,
}

#[derive(Serialize, ToSchema)]
pub struct OfSystem {
    #[schema(value_type = words::System)]
    system: System,
    defects: i64,
    out_of_service: i64,
    up_to_here: f64,
}

#[derive(Serialize, ToSchema)]
pub struct OfMachine {
    machine: Uuid,
    unit_number: String,
    work_orders: i64,
    cost: Money,
}

/// See what a machine's record says of it
#[utoipa::path(tag = "machines", params(("id" = Uuid, Path)), responses((status = 200, body = Figures)))]
#[get("/machines/{id}/figures")]
pub async fn see_figures(site: web::Data<Site>, asks: Bearer, id: web::Path<MachineId>) -> ApiResult {
    let f = workflow::machine_figures(&site.workshop, &asks.0, *id).await?;
    let sees_cost = asks.0.may(Act::SeeQueue);
    Ok(HttpResponse::Ok().json(figures(*id, f, sees_cost.then_some(&*site.workshop.currency))))
}

/// See the numbers of a fleet
#[utoipa::path(tag = "board", params(NumbersQuery), responses((status = 200, body = FleetNumbers)))]
#[get("/numbers")]
pub async fn see_numbers(site: web::Data<Site>, asks: Bearer, query: web::Query<NumbersQuery>) -> ApiResult {
    let NumbersQuery { yard, class, from, to } = query.into_inner();
    let looking = Looking { yard, class, period: period(&site, from, to)? };
    let n = workflow::numbers(&site.workshop, &asks.0, &looking).await?;
    Ok(HttpResponse::Ok().json(fleet(n, looking.period, &site.workshop.currency)))
}

fn figures(machine: MachineId, f: MachineFigures, currency: Option<&str>) -> Figures {
    Figures {
        machine: machine.0,
        from: f.window.from,
        to: f.window.to,
        by_calendar: f.calendar.into(),
        by_working_hours: f.working.map(Into::into),
        between_failures: f.mtbf.map(|m| between(m, f.by_engine)),
        trend: FailureTrend { course: course(f.course), times_a_year_ago: f.against_a_year_ago },
        restored: f.restored,
        went_on: went_on(&f.restoring),
        down: f
            .downs
            .iter()
            .map(|(d, split)| TimeDown {
                from: d.span.from,
                to: d.back.then_some(d.span.to),
                known_at: d.known_at,
                failure: d.failure,
                went_on: went_on(split),
            })
            .collect(),
        cost: currency.map(|c| Money::new(f.cost, c)),
        cost_before: currency.map(|c| Money::new(f.cost_before, c)),
        engine_hours: f.hours.to_string(),
        engine_hours_before: f.hours_before.to_string(),
    }
}

const fn course(course: Course) -> &'static str {
    match course {
        Course::TooFew(_) => "too few",
        Course::NoTrend => "no trend",
        Course::Perhaps(Way::More) => "perhaps more",
        Course::Perhaps(Way::Less) => "perhaps less",
        Course::Trend(Way::More) => "more",
        Course::Trend(Way::Less) => "less",
    }
}

fn fleet(n: Numbers, period: Span, currency: &str) -> FleetNumbers {
    FleetNumbers {
        from: period.from,
        to: period.to,
        careless_checks: n.careless,
        this: of_period(&n.this, currency),
        before: n.before.as_ref().map(|p| of_period(p, currency)),
        systems: n
            .systems
            .iter()
            .map(|s| OfSystem {
                system: s.kind,
                defects: s.count,
                out_of_service: n.grounding.get(&s.kind).copied().unwrap_or_default(),
                up_to_here: s.up_to_here,
            })
            .collect(),
        costs: n
            .costs
            .iter()
            .map(|c| OfMachine {
                machine: c.machine_id.0,
                unit_number: c.unit_number.clone(),
                work_orders: c.orders,
                cost: Money::new(c.cost_minor, currency),
            })
            .collect(),
    }
}

fn of_period(p: &PeriodNumbers, currency: &str) -> Period {
    let (counted, likely, surely) = match &p.honesty {
        Scored::TooFew { counted, .. } => (*counted, None, None),
        Scored::Score(s) => (s.counted, Some(s.likely_held), Some(s.almost_surely_held)),
    };
    Period {
        machines: p.machines,
        by_calendar: p.calendar.into(),
        by_working_hours: p.working.map(Into::into),
        down: p.downs,
        failures: p.failures,
        between_failures: p.mtbf.map(|m| between(m, false)),
        went_on: went_on(&p.split),
        restored: p.restored,
        mean_hours_to_restoration: (p.restored > 0).then(|| hours(p.restoring / p.restored.max(1))),
        cost: Money::new(p.cost, currency),
        machine_days_checked: p.coverage.checked,
        machine_days_unchecked: p.coverage.unchecked,
        holds_asked: p.acknowledged.asked,
        holds_acknowledged: p.acknowledged.acknowledged,
        median_minutes_to_acknowledge: p.acknowledged.median.map(|m| m.as_seconds_f64() / 60.0),
        forecasts_counted: counted,
        likely_held: likely,
        almost_surely_held: surely,
    }
}

fn between(m: Mtbf, by_engine_hours: bool) -> BetweenFailures {
    BetweenFailures {
        by_engine_hours,
        total_hours: m.total,
        failures: m.failures,
        mean_hours: m.mean,
        low_hours: m.low,
        high_hours: m.high,
        confidence: m.confidence,
    }
}

pub fn went_on(parts: &BTreeMap<Phase, TimeDelta>) -> Vec<WentOn> {
    parts.iter().map(|(phase, time)| WentOn { phase: *phase, hours: hours(*time) }).collect()
}

fn hours(time: TimeDelta) -> f64 {
    time.as_seconds_f64() / 3600.0
}

impl From<Availability> for Share {
    fn from(a: Availability) -> Self {
        Self { wanted_hours: hours(a.wanted), down_hours: hours(a.down), available: a.share() }
    }
}
