//! The machine at the gate: can I take it?

use chrono::{DateTime, Utc};

use super::super::{Answered, AnsweredTrend, Result, Workshop, from_json, machine_seen};
use crate::domain::checklist::System;
use crate::domain::ids::{DefectId, MachineId, WorkOrderId};
use crate::domain::machine::UnitNumber;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::standing::{Severity, Standing};
use crate::domain::work_order::OrderWord;
use crate::storage::{CheckRow, ForecastRow, HoldRow, MachineRow, MachineStanding, OrderRow, YardRow};
use crate::words::Text;

/// Everything the gate page says.
pub struct Gate {
    pub machine: MachineRow,
    pub yard: YardRow,
    pub standing: Standing,
    pub holds: Vec<HoldRow>,
    pub defects: Vec<OpenDefect>,
    pub last_check: Option<CheckRow>,
    /// What the trends said at it.
    pub trends: Vec<AnsweredTrend>,
    /// The machine's work order that still takes defects.
    pub order: Option<OrderRow>,
    /// Every work order that has not ended, oldest first, and when it is foreseen to be done.
    pub orders: Vec<(OrderRow, Option<ForecastRow>)>,
    /// Whether a checklist covers its class: without one it cannot be checked.
    pub covered: bool,
}

pub struct OpenDefect {
    pub id: DefectId,
    pub what: Text,
    pub system: System,
    pub severity: Severity,
    pub rule: String,
    /// Name and version of the checklist whose rule decided; None where a person did.
    pub rules: Option<Text>,
    pub why: Text,
    pub instruction: Text,
    pub said_gone_at: Option<DateTime<Utc>>,
    pub came_back: bool,
    pub found_at: DateTime<Utc>,
    pub raised_at: DateTime<Utc>,
    pub good_until_at: Option<DateTime<Utc>>,
    pub good_until_hours: Option<crate::domain::unit::Hours>,
    pub work_order: Option<WorkOrderId>,
}

/// A machine that cannot be checked.
#[derive(Clone, Debug)]
pub struct NotCovered {
    pub unit_number: String,
    pub class: String,
}

/// The rest is said once these have their checklist.
const MOST_NOT_COVERED: i64 = 20;

pub async fn gate(workshop: &Workshop, actor: &Actor, id: MachineId) -> Result<Gate> {
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, id).await?;
    let yard = super::super::yard_of(&mut tx, &machine).await?;
    let holds = tx.open_holds(id).await?;
    let mut defects: Vec<OpenDefect> = Vec::new();
    for d in tx.open_defects(id).await? {
        defects.push(OpenDefect {
            rules: workshop.rules_of(&mut tx, &d).await?,
            rule: d.rule,
            id: d.id,
            what: d.what,
            system: d.system,
            severity: d.severity,
            why: d.why,
            instruction: d.instruction,
            said_gone_at: d.said_gone_at,
            came_back: d.came_back,
            found_at: d.found_at,
            raised_at: d.raised_at,
            good_until_at: d.good_until_at,
            good_until_hours: d.good_until_hours,
            work_order: d.work_order_id,
        });
    }
    let monitored = defects.iter().filter(|d| d.severity == Severity::Monitor).count();
    let standing = Standing::derive(machine.retired_at.is_some(), holds.len() as i64, monitored as i64);
    let last_check = tx.last_check(id).await?;
    let mut orders = Vec::new();
    for order in tx.open_orders_of(id).await? {
        let forecast = tx.forecast_of(order.id).await?;
        orders.push((order, forecast));
    }
    let taking = |o: &OrderRow| !o.side && o.word() != OrderWord::WorkDone;
    let order = orders.iter().map(|(o, _)| o).find(|o| taking(o)).cloned();
    let trends = match &last_check {
        Some(check) => from_json::<Answered>(&check.answered)?.trends,
        None => Vec::new(),
    };
    let covered = tx.is_class_covered(&machine.class).await?;
    Ok(Gate { machine, yard, standing, holds, defects, last_check, trends, order, orders, covered })
}

/// Machines the actor may see, by unit number; `after` is the unit key of the page before.
pub async fn machines(
    workshop: &Workshop,
    actor: &Actor,
    after: &str,
    most: i64,
) -> Result<Vec<(String, MachineStanding)>> {
    actor.must(Act::SeeMachines)?;
    let mut tx = workshop.db.read().await?;
    Ok(tx.machines_seen_by(actor.id, actor.has(Role::Owner), after, most).await?)
}

/// Machines in use that the actor may see and no checklist covers, by unit number: nobody can check them before use.
pub async fn not_covered(workshop: &Workshop, actor: &Actor) -> Result<Vec<NotCovered>> {
    actor.must(Act::SeeMachines)?;
    let mut tx = workshop.db.read().await?;
    let rows = tx.machines_not_covered(actor.id, actor.has(Role::Owner), MOST_NOT_COVERED).await?;
    Ok(rows.into_iter().map(|(unit_number, class)| NotCovered { unit_number, class }).collect())
}

/// The machine by its unit number, however it is typed.
pub async fn find_machine(workshop: &Workshop, actor: &Actor, typed: &str) -> Result<MachineId> {
    actor.must(Act::SeeMachines)?;
    let mut tx = workshop.db.read().await?;
    let found = tx.machine_by_key(&UnitNumber::key_of(typed)).await?.filter(|m| actor.in_yard(m.yard_id));
    Ok(found.ok_or(Refusal::NotFound(Thing::Machine))?.id)
}
