//! What a machine's record says of it: how often it could be used, how often it fails, what the time until it is back
//! goes on, and what it costs.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, TimeDelta, Utc};

use super::super::working_time::calendar_of;
use super::super::{Result, Workshop, machine_seen, yard_of};
use crate::domain::ids::{MachineId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::reliability::Ended;
use crate::domain::reliability::availability::{Availability, WorkingHours, by_calendar, by_working_hours};
use crate::domain::reliability::clock::EngineClock;
use crate::domain::reliability::failing::{Course, Observed, PowerLaw, course, power_law_unbiased};
use crate::domain::reliability::mtbf::{CONFIDENCE, Mtbf, mtbf};
use crate::domain::reliability::restoration::{Down, Held, Phase, Spell, split, times_down};
use crate::domain::shift::Span;
use crate::domain::unit::Hours;
use crate::storage::{HeldRow, SpellRow};

/// A year, for what is said of the last one.
pub const YEAR: TimeDelta = TimeDelta::days(365);

pub struct MachineFigures {
    pub now: DateTime<Utc>,
    /// The last twelve months, or since the machine was added.
    pub window: Span,
    pub calendar: Availability,
    /// None where the yard has no shifts.
    pub working: Option<Availability>,
    /// Every time it was out of service, with what that went on; the newest first.
    pub downs: Vec<(Down, BTreeMap<Phase, TimeDelta>)>,
    /// Of those from which it came back: how many, and what they went on altogether.
    pub restored: usize,
    pub restoring: BTreeMap<Phase, TimeDelta>,
    /// Whether failures are counted in engine hours; else by the calendar.
    pub by_engine: bool,
    /// None while nothing was observed.
    pub mtbf: Option<Mtbf>,
    pub course: Course,
    pub law: Option<PowerLaw>,
    /// How many times the rate of failure of a year ago today's is, by that law.
    pub against_a_year_ago: Option<f64>,
    /// What orders cost that ended in the last twelve months, and in the twelve before; with the hours run in each.
    pub cost: i64,
    pub hours: Hours,
    pub cost_before: i64,
    pub hours_before: Hours,
}

pub async fn machine_figures(workshop: &Workshop, actor: &Actor, id: MachineId) -> Result<MachineFigures> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, id).await?;
    let yard = yard_of(&mut tx, &machine).await?;
    let end = machine.retired_at.unwrap_or(now);
    let since = tx.machine_since(id).await?;
    let holds = tx.holds_ever(id).await?;
    let spells = spells_of(tx.spells_ever(id).await?);
    let downs = times_down(holds.iter().map(held).collect(), end);
    // A machine may be younger here than its first hold, where a check arrived late.
    let since = downs.first().map_or(since, |d| since.min(d.span.from));
    let window = Span::new(since.max(end - YEAR), end);
    let spans: Vec<Span> = downs.iter().map(|d| d.span).collect();
    let calendar_hours = calendar_of(&mut tx, &yard, None, window).await?;
    let working = WorkingHours::of(&calendar_hours, window);
    let meter = tx.meter_at_checks(id).await?;
    let clock = EngineClock::of(meter.iter().filter_map(|m| Some((m.recorded_at, m.engine_hours?))));
    let on_clock = |at: DateTime<Utc>| match &clock {
        Some(clock) => clock.at(at),
        None => (at - since).as_seconds_f64() / 3600.0,
    };
    let seen = Observed {
        failures: downs.iter().filter(|d| d.failure).map(|d| on_clock(d.span.from)).collect(),
        observed: on_clock(end),
        ended: Ended::AtATime,
    };
    let law = power_law_unbiased(&seen);
    let failures = u32::try_from(seen.failures.len()).unwrap_or(u32::MAX);
    // Time that it stood does not count as operated; an engine's clock knows that by itself.
    let stood = if clock.is_some() {
        0.0
    } else {
        by_calendar(Span::new(since, end), &spans).down.as_seconds_f64() / 3600.0
    };
    let parts: Vec<_> =
        downs.into_iter().map(|d| (split(&d, spells.get(&id).map_or(&[], Vec::as_slice)), d)).collect();
    let mut restoring = BTreeMap::new();
    for (split, _) in parts.iter().filter(|(_, d)| d.back) {
        add_up(&mut restoring, split);
    }
    let a_year_ago = on_clock(end - YEAR);
    let hours = |from, to| clock.as_ref().map_or(Hours(0), |c| c.between(from, to));
    Ok(MachineFigures {
        now,
        calendar: by_calendar(window, &spans),
        working: working.map(|w| by_working_hours(&w, window, &spans)),
        window,
        restored: parts.iter().filter(|(_, d)| d.back).count(),
        restoring,
        by_engine: clock.is_some(),
        mtbf: mtbf(seen.observed - stood, failures, Ended::AtATime, CONFIDENCE),
        course: course(std::slice::from_ref(&seen)),
        // A law is not stretched over a time of which little is known.
        against_a_year_ago: law
            .filter(|_| a_year_ago > seen.observed / 10.0)
            .and_then(|l| l.rate_against(seen.observed, a_year_ago)),
        law,
        cost: tx.cost_between(id, end - YEAR, now).await?,
        hours: hours(end - YEAR, end),
        cost_before: tx.cost_between(id, end - YEAR * 2, end - YEAR).await?,
        hours_before: hours(end - YEAR * 2, end - YEAR),
        downs: parts.into_iter().rev().map(|(split, down)| (down, split)).collect(),
    })
}

pub fn held(row: &HeldRow) -> Held {
    Held { since: row.since, known_at: row.placed_at, lifted_at: row.lifted_at, failure: row.failure }
}

/// By machine. Rows come by order and time: each lasts until the next one of its order.
pub fn spells_of(rows: Vec<SpellRow>) -> HashMap<MachineId, Vec<Spell>> {
    let mut found: HashMap<MachineId, Vec<Spell>> = HashMap::new();
    let mut last: Option<WorkOrderId> = None;
    for row in rows {
        let spells = found.entry(row.machine_id).or_default();
        if last == Some(row.work_order_id)
            && let Some(before) = spells.last_mut().filter(|s| s.to.is_none())
        {
            before.to = Some(row.from_at);
        }
        last = Some(row.work_order_id);
        if let Some(phase) = Phase::of(row.state, row.waiting_for) {
            spells.push(Spell { from: row.from_at, to: None, phase });
        }
    }
    found
}

pub fn add_up(sum: &mut BTreeMap<Phase, TimeDelta>, more: &BTreeMap<Phase, TimeDelta>) {
    for (phase, time) in more {
        *sum.entry(*phase).or_insert_with(TimeDelta::zero) += *time;
    }
}
