//! The yard board: what is grounded, why, since when, who has it, what it costs; and what is being watched.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::machines::{GoodUntil, OrderRef};
use super::order_shapes::Waiting;
use super::problem::ApiResult;
use super::words::{self, Money, cut};
use crate::domain::alert::AlertState;
use crate::domain::outlook::DAYS;
use crate::domain::unit::Hours;
use crate::domain::work_order::OrderWord;
use crate::http::Site;
use crate::workflow::{self, AlertCount, ClassCount, GroundedRow, MonitoredRow, MovedRow};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct BoardQuery {
    /// The name of one yard; all of yours when left out.
    #[serde(default)]
    yard: String,
    /// At most this many of each, up to 500.
    limit: Option<i64>,
}

#[derive(Serialize, ToSchema)]
pub struct Board {
    at: DateTime<Utc>,
    grounded: Vec<Grounded>,
    monitored: Vec<Monitored>,
    classes: Vec<Class>,
    moved: Vec<Moved>,
    /// Whether there is more of something than `limit` asked for.
    more: bool,
}

/// A machine that is out of service.
#[derive(Serialize, ToSchema)]
pub struct Grounded {
    machine: Uuid,
    unit_number: String,
    class: String,
    yard: Uuid,
    yard_name: String,
    /// Since when the machine was found unfit; its downtime counts from here.
    since: DateTime<Utc>,
    /// When that became known here: later, where a check arrived late.
    known_since: DateTime<Utc>,
    holds: i64,
    why: String,
    work_order: Option<OrderRef>,
    #[schema(value_type = Option<words::OrderState>)]
    state: Option<OrderWord>,
    /// Who has the work order; empty when nobody has.
    mechanic_name: String,
    waiting: Option<Waiting>,
    cost: Money,
    /// Alerts about it that could not be delivered.
    undelivered: i64,
    /// What became of all alerts about it since it was found unfit.
    alerts: Alerts,
}

#[derive(Serialize, ToSchema)]
pub struct Alerts {
    delivered: i64,
    /// Owed, or on their way.
    under_way: i64,
    /// Given up on, or tried in vain so far.
    not_delivered: i64,
    /// Holds of which nobody has said that they have seen them.
    not_acknowledged: i64,
    #[schema(value_type = words::AlertState)]
    state: AlertState,
}

/// A machine whose hour meter moved today though nobody checked it today.
#[derive(Serialize, ToSchema)]
pub struct Moved {
    machine: Uuid,
    unit_number: String,
    class: String,
    yard_name: String,
    at: DateTime<Utc>,
    #[schema(value_type = String)]
    before: Hours,
    #[schema(value_type = String)]
    engine_hours: Hours,
    last_check_at: Option<DateTime<Utc>>,
}

/// A monitored defect with the end of its watch.
#[derive(Serialize, ToSchema)]
pub struct Monitored {
    defect: Uuid,
    machine: Uuid,
    unit_number: String,
    class: String,
    yard: Uuid,
    yard_name: String,
    what: String,
    found_at: DateTime<Utc>,
    good_until: GoodUntil,
    #[schema(value_type = Option<String>)]
    engine_hours: Option<Hours>,
}

/// How many of a class a yard has, needs, and cannot use.
#[derive(Serialize, ToSchema)]
pub struct Class {
    yard_name: String,
    class: String,
    machines: i64,
    out_of_service: i64,
    needed: i64,
    /// How many are likely available, today and on each of the next seven days.
    ahead: Vec<i64>,
}

/// See the yard board
#[utoipa::path(tag = "board", params(BoardQuery), responses((status = 200, body = Board)))]
#[get("/board")]
pub async fn see_board(site: web::Data<Site>, asks: Bearer, query: web::Query<BoardQuery>) -> ApiResult {
    let most = query.limit.unwrap_or(50).clamp(1, 500);
    let mut board = workflow::board(&site.workshop, &asks.0, &query.yard, most + 1).await?;
    // Each of them, whatever the others say.
    let more = [cut(&mut board.grounded, most), cut(&mut board.monitored, most), cut(&mut board.moved, most)];
    let currency = &site.workshop.currency;
    Ok(HttpResponse::Ok().json(Board {
        at: board.at,
        grounded: board
            .grounded
            .into_iter()
            .map(|g| {
                let alerts = board.alerts.get(&g.machine_id).copied();
                Grounded::of(g, alerts, currency)
            })
            .collect(),
        monitored: board.monitored.into_iter().map(Into::into).collect(),
        classes: board.classes.into_iter().zip(board.ahead).map(Into::into).collect(),
        moved: board.moved.into_iter().map(Into::into).collect(),
        more: more.contains(&true),
    }))
}

impl Grounded {
    fn of(g: GroundedRow, alerts: Option<AlertCount>, currency: &str) -> Self {
        let order = g.work_order_id.zip(g.work_order_number);
        Self {
            machine: g.machine_id.0,
            unit_number: g.unit_number,
            class: g.class,
            yard: g.yard_id.0,
            yard_name: g.yard_name,
            since: g.since,
            known_since: g.placed_at,
            holds: g.holds,
            why: g.why.to_string(),
            work_order: order.map(|(id, number)| OrderRef { id: id.0, number }),
            state: g.state,
            mechanic_name: g.mechanic_name,
            waiting: g.waiting_for.map(|waiting_for| Waiting {
                waiting_for,
                until: g.waiting_until,
                note: g.waiting_note,
            }),
            cost: Money::new(g.cost_minor, currency),
            undelivered: g.undelivered,
            alerts: Alerts {
                delivered: alerts.map_or(0, |a| a.told),
                under_way: alerts.map_or(0, |a| a.under_way),
                not_delivered: alerts.map_or(0, |a| a.failed + a.in_vain),
                not_acknowledged: alerts.map_or(0, |a| a.unacknowledged),
                state: alerts.as_ref().map_or(AlertState::Told, workflow::alert_state),
            },
        }
    }
}

impl From<MonitoredRow> for Monitored {
    fn from(m: MonitoredRow) -> Self {
        Self {
            defect: m.defect_id.0,
            machine: m.machine_id.0,
            unit_number: m.unit_number,
            class: m.class,
            yard: m.yard_id.0,
            yard_name: m.yard_name,
            what: m.what.to_string(),
            found_at: m.found_at,
            good_until: GoodUntil { at: m.good_until_at, engine_hours: m.good_until_hours },
            engine_hours: m.engine_hours,
        }
    }
}

impl From<MovedRow> for Moved {
    fn from(m: MovedRow) -> Self {
        Self {
            machine: m.machine_id.0,
            unit_number: m.unit_number,
            class: m.class,
            yard_name: m.yard_name,
            at: m.at,
            before: m.before,
            engine_hours: m.hours,
            last_check_at: m.last_check_at,
        }
    }
}

impl From<(ClassCount, [i64; DAYS])> for Class {
    fn from((c, ahead): (ClassCount, [i64; DAYS])) -> Self {
        Self {
            yard_name: c.yard_name,
            class: c.class,
            machines: c.machines,
            out_of_service: c.out_of_service,
            needed: c.needed,
            ahead: ahead.to_vec(),
        }
    }
}
