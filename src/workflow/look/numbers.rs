//! The numbers of a fleet over a period, and of the period before: how much could be used, what down time went on, what
//! fails, what it costs, whether machines are checked, and whether forecasts held.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, TimeDelta, Utc};

use super::super::checked_days::coverage_in;
use super::super::working_time::calendar_of;
use super::super::{Result, Workshop};
use super::careless::careless_count;
use super::named::{class_named, yards_named};
use super::reliability::{add_up, held, spells_of};
use crate::domain::checklist::System;
use crate::domain::forecast::score::{Scored, score};
use crate::domain::ids::{MachineId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::reliability::Ended;
use crate::domain::reliability::acknowledged::{Acknowledged, acknowledged};
use crate::domain::reliability::availability::{Availability, WorkingHours, by_calendar, by_working_hours};
use crate::domain::reliability::coverage::{Coverage, Gap, gaps};
use crate::domain::reliability::mtbf::{CONFIDENCE, Mtbf, mtbf};
use crate::domain::reliability::pareto::{Ranked, pareto};
use crate::domain::reliability::restoration::{Down, Held, Phase, Spell, split, times_down};
use crate::domain::shift::Span;
use crate::storage::{
    AgainRow, AskedRow, CostRow, EndedRow, FleetRow, FoundRow, Scope, SystemCount, Tx, YardRow,
};

/// What somebody looks at; empty narrows nothing.
#[derive(Clone, Debug)]
pub struct Looking {
    pub yard: String,
    pub class: String,
    pub period: Span,
}

pub struct Numbers {
    pub now: DateTime<Utc>,
    /// Of when they are, where they come from a replica that is behind.
    pub behind: Option<DateTime<Utc>>,
    pub yards: Vec<YardRow>,
    /// Of the machines there are.
    pub classes: Vec<String>,
    pub this: PeriodNumbers,
    /// Of the period before, as long; None where no machine was there yet.
    pub before: Option<PeriodNumbers>,
    /// In order, with when each begins.
    pub steps: Vec<(DateTime<Utc>, Availability)>,
    pub systems: Vec<Ranked<System>>,
    pub grounding: HashMap<System, i64>,
    pub again: Vec<AgainRow>,
    pub costs: Vec<CostRow>,
    /// Checks that look careless, of the last four weeks whatever the period; None for a great fleet.
    pub careless: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct PeriodNumbers {
    pub machines: usize,
    pub calendar: Availability,
    /// None where no yard has shifts; then only of those that have.
    pub working: Option<Availability>,
    pub downs: usize,
    pub failures: u32,
    pub split: BTreeMap<Phase, TimeDelta>,
    /// Back in the period: how many, and how long it took them altogether.
    pub restored: i32,
    pub restoring: TimeDelta,
    /// By the calendar, while not out of service.
    pub mtbf: Option<Mtbf>,
    /// Of orders that ended in the period, by machine, the dearest first.
    pub costs: Vec<CostRow>,
    pub cost: i64,
    pub coverage: Coverage,
    pub acknowledged: Acknowledged,
    pub honesty: Scored,
}

/// A time out of service, in the period.
pub struct DownRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub zone: String,
    pub down: Down,
    pub split: BTreeMap<Phase, TimeDelta>,
}

/// A machine that ran on a day without a check.
pub struct GapRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub zone: String,
    pub gap: Gap,
}

/// How long one point of the chart is, at most: a period has at most so many.
const MOST_STEPS: i32 = 60;
const MOST_AGAIN: i64 = 10;

pub async fn numbers(workshop: &Workshop, actor: &Actor, looking: &Looking) -> Result<Numbers> {
    actor.must(Act::SeeNumbers)?;
    let now = workshop.ambient.now();
    let (mut tx, behind) = workshop.db.read_behind(now).await?;
    let yards = yards_named(&mut tx, actor, "").await?;
    let (scope, here) = scope_of(&mut tx, actor, looking).await?;
    let fleet = Fleet::load(&mut tx, &scope, &here, now).await?;
    let classes: BTreeSet<String> = tx
        .fleet(&Scope { class: String::new(), ..scope.clone() })
        .await?
        .into_iter()
        .map(|m| m.class)
        .collect();
    let this = fleet.numbers(&mut tx, &scope, &here).await?;
    let length = scope.to - scope.from;
    let earlier = Scope { from: scope.from - length, to: scope.from, ..scope.clone() };
    let earlier_fleet = Fleet::load(&mut tx, &earlier, &here, now).await?;
    let before = if earlier_fleet.machines.is_empty() {
        None
    } else {
        Some(earlier_fleet.numbers(&mut tx, &earlier, &here).await?)
    };
    let counts = tx.found_by_system(&scope).await?;
    let machines = fleet.machines.iter().map(|m| m.row.id).collect();
    Ok(Numbers {
        careless: careless_count(workshop, &mut tx, &here, &machines).await?,
        now,
        behind,
        classes: classes.into_iter().collect(),
        steps: fleet.steps(),
        systems: pareto(counts.iter().map(|c: &SystemCount| (c.system, c.defects))),
        grounding: counts.iter().map(|c| (c.system, c.grounding)).collect(),
        again: tx.found_again(&scope, MOST_AGAIN).await?,
        costs: this.costs.clone(),
        this,
        before,
        yards,
    })
}

/// The times out of service behind the numbers, the longest first.
pub async fn numbers_downs(workshop: &Workshop, actor: &Actor, looking: &Looking) -> Result<Vec<DownRow>> {
    actor.must(Act::SeeNumbers)?;
    let now = workshop.ambient.now();
    let (mut tx, _) = workshop.db.read_behind(now).await?;
    let (scope, here) = scope_of(&mut tx, actor, looking).await?;
    let fleet = Fleet::load(&mut tx, &scope, &here, now).await?;
    let zones: HashMap<YardId, &str> = here.iter().map(|y| (y.id, y.zone.as_str())).collect();
    let mut found = Vec::new();
    for machine in &fleet.machines {
        for (down, split) in fleet.downs_of(machine.row.id) {
            let zone = zones.get(&machine.row.yard_id).copied().unwrap_or("UTC").to_owned();
            let unit_number = machine.row.unit_number.clone();
            found.push(DownRow { machine_id: machine.row.id, unit_number, zone, down, split });
        }
    }
    found.sort_by_key(|d| std::cmp::Reverse(d.down.span.length()));
    Ok(found)
}

pub async fn numbers_defects(
    workshop: &Workshop,
    actor: &Actor,
    looking: &Looking,
    system: Option<System>,
    most: i64,
) -> Result<Vec<FoundRow>> {
    let (mut tx, scope, _) = looked_at(workshop, actor, looking).await?;
    Ok(tx.found_in(&scope, system.map_or("", System::as_str), most).await?)
}

/// Orders that ended in the period, the dearest first.
pub async fn numbers_orders(
    workshop: &Workshop,
    actor: &Actor,
    looking: &Looking,
    most: i64,
) -> Result<Vec<EndedRow>> {
    let (mut tx, scope, _) = looked_at(workshop, actor, looking).await?;
    Ok(tx.ended_in(&scope, most).await?)
}

/// Holds that somebody was asked to acknowledge, the newest first.
pub async fn numbers_asked(
    workshop: &Workshop,
    actor: &Actor,
    looking: &Looking,
    most: i64,
) -> Result<Vec<AskedRow>> {
    let (mut tx, scope, _) = looked_at(workshop, actor, looking).await?;
    Ok(tx.asked_in(&scope, most).await?)
}

/// Machines that ran on a day without a check, the newest first.
pub async fn numbers_gaps(workshop: &Workshop, actor: &Actor, looking: &Looking) -> Result<Vec<GapRow>> {
    let (mut tx, scope, here) = looked_at(workshop, actor, looking).await?;
    let machines: HashMap<MachineId, FleetRow> =
        tx.fleet(&scope).await?.into_iter().map(|m| (m.id, m)).collect();
    let mut found = Vec::new();
    let checks = tx.checked_in(&Scope { from: scope.from - TimeDelta::days(60), ..scope.clone() }).await?;
    for of_machine in checks.chunk_by(|a, b| a.machine_id == b.machine_id) {
        let Some(machine) = of_machine.first().and_then(|c| machines.get(&c.machine_id)) else { continue };
        let Some(yard) = here.iter().find(|y| y.id == machine.yard_id) else { continue };
        let checks: Vec<_> = of_machine.iter().map(|c| (c.recorded_at, c.engine_hours)).collect();
        for gap in gaps(&checks, yard.zone()).into_iter().filter(|g| g.after >= scope.from) {
            found.push(GapRow {
                machine_id: machine.id,
                unit_number: machine.unit_number.clone(),
                zone: yard.zone.clone(),
                gap,
            });
        }
    }
    found.sort_by_key(|g| std::cmp::Reverse(g.gap.after));
    Ok(found)
}

/// What is behind a number: whoever may see it, and where they look.
async fn looked_at(
    workshop: &Workshop,
    actor: &Actor,
    looking: &Looking,
) -> Result<(Tx, Scope, Vec<YardRow>)> {
    actor.must(Act::SeeNumbers)?;
    let (mut tx, _) = workshop.db.read_behind(workshop.ambient.now()).await?;
    let (scope, here) = scope_of(&mut tx, actor, looking).await?;
    Ok((tx, scope, here))
}

/// And the yards that are looked at.
async fn scope_of(tx: &mut Tx, actor: &Actor, looking: &Looking) -> Result<(Scope, Vec<YardRow>)> {
    let here = yards_named(tx, actor, &looking.yard).await?;
    class_named(tx, actor, &looking.class).await?;
    let scope = Scope {
        viewer: actor.id,
        all_yards: actor.has(Role::Owner),
        yard: looking.yard.clone(),
        class: looking.class.clone(),
        from: looking.period.from,
        to: looking.period.to,
    };
    Ok((scope, here))
}

/// The machines of a scope, and when they were out of service.
struct Fleet {
    period: Span,
    machines: Vec<Machine>,
    downs: HashMap<MachineId, Vec<Down>>,
    spells: HashMap<MachineId, Vec<Spell>>,
    hours: HashMap<YardId, WorkingHours>,
}

struct Machine {
    row: FleetRow,
    /// As much of the period as it was there.
    window: Span,
}

impl Fleet {
    async fn load(tx: &mut Tx, scope: &Scope, yards: &[YardRow], now: DateTime<Utc>) -> Result<Self> {
        let period = Span::new(scope.from, scope.to.min(now));
        let mut holds: HashMap<MachineId, Vec<Held>> = HashMap::new();
        for row in tx.held_in(scope).await? {
            holds.entry(row.machine_id).or_default().push(held(&row));
        }
        let rows = tx.fleet(scope).await?;
        let mut hours = HashMap::new();
        for yard in yards {
            let calendar = calendar_of(tx, yard, None, period).await?;
            if let Some(working) = WorkingHours::of(&calendar, period) {
                hours.insert(yard.id, working);
            }
        }
        let mut downs = HashMap::new();
        let mut machines = Vec::with_capacity(rows.len());
        for row in rows {
            let end = row.retired_at.map_or(period.to, |at| at.min(period.to));
            let found = holds.remove(&row.id).map(|h| times_down(h, end)).unwrap_or_default();
            // It was there when it was found unfit, where that reached Chock late.
            let since = found.first().map_or(row.created_at, |d| row.created_at.min(d.span.from));
            let window = Span::new(since.max(period.from), end.max(since.max(period.from)));
            downs.insert(row.id, found);
            machines.push(Machine { row, window });
        }
        Ok(Self { period, machines, downs, spells: spells_of(tx.spells_in(scope).await?), hours })
    }

    /// As far as they lie in the period, with what they went on.
    fn downs_of(&self, machine: MachineId) -> Vec<(Down, BTreeMap<Phase, TimeDelta>)> {
        let spells = self.spells.get(&machine).map_or(&[][..], Vec::as_slice);
        // What ended after the period had not ended in it.
        let back = |d: &Down| d.back && d.span.to < self.period.to;
        let within = |d: &Down| Some(Down { span: d.span.common(&self.period)?, back: back(d), ..d.clone() });
        let downs = self.downs.get(&machine).into_iter().flatten().filter_map(within);
        downs.map(|d| (d.clone(), split(&d, spells))).collect()
    }

    async fn numbers(&self, tx: &mut Tx, scope: &Scope, yards: &[YardRow]) -> Result<PeriodNumbers> {
        let (mut calendar, mut working) = (Availability::default(), None);
        let (mut downs, mut failures, mut restored, mut restoring) = (0, 0, 0, TimeDelta::zero());
        let mut parts = BTreeMap::new();
        for machine in &self.machines {
            let all = self.downs.get(&machine.row.id).map_or(&[][..], Vec::as_slice);
            let spans: Vec<Span> = all.iter().map(|d| d.span).collect();
            calendar = calendar.and(by_calendar(machine.window, &spans));
            if let Some(hours) = self.hours.get(&machine.row.yard_id) {
                let more = by_working_hours(hours, machine.window, &spans);
                working = Some(working.unwrap_or(Availability::default()).and(more));
            }
            for (down, split) in self.downs_of(machine.row.id) {
                downs += 1;
                add_up(&mut parts, &split);
                if down.back {
                    let whole = all.iter().find(|d| d.span.to == down.span.to);
                    restored += 1;
                    restoring += whole.map_or(down.span.length(), |d| d.span.length());
                }
            }
            let failed = all.iter().filter(|d| d.failure && self.period.holds(d.span.from)).count();
            failures += u32::try_from(failed).unwrap_or(u32::MAX);
        }
        let costs = tx.costs_in(scope).await?;
        let up = (calendar.wanted - calendar.down).as_seconds_f64() / 3600.0;
        Ok(PeriodNumbers {
            machines: self.machines.len(),
            calendar,
            working,
            downs,
            failures,
            split: parts,
            restored,
            restoring,
            mtbf: mtbf(up, failures, Ended::AtATime, CONFIDENCE),
            cost: costs.iter().map(|c| c.cost_minor).sum(),
            costs,
            coverage: coverage_in(tx, scope, yards).await?,
            acknowledged: acknowledged(
                tx.asked_in(scope, i64::MAX).await?.iter().map(|a| (a.asked_at, a.acknowledged_at)),
            ),
            honesty: score(&tx.foreseen_in(scope).await?),
        })
    }

    /// Availability by the calendar, step by step.
    fn steps(&self) -> Vec<(DateTime<Utc>, Availability)> {
        let length = self.period.length();
        let days = length.num_days().max(1);
        let step = match days {
            ..=35 => TimeDelta::days(1),
            36..=140 => TimeDelta::days(7),
            _ => (length / MOST_STEPS).max(TimeDelta::days(7)),
        };
        let mut found: Vec<(Span, Availability)> = Vec::new();
        let mut from = self.period.from;
        while from < self.period.to {
            let to = (from + step).min(self.period.to);
            // A last step that is only begun would jump about.
            if to - from >= step / 2 || found.is_empty() {
                found.push((Span::new(from, to), Availability::default()));
            }
            from = to;
        }
        for machine in &self.machines {
            let all = self.downs.get(&machine.row.id).map_or(&[][..], Vec::as_slice);
            for (span, sum) in &mut found {
                let Some(wanted) = span.common(&machine.window) else { continue };
                let down = all.iter().filter_map(|d| d.span.common(&wanted)).map(|s| s.length()).sum();
                *sum = sum.and(Availability { wanted: wanted.length(), down });
            }
        }
        found.retain(|(_, a)| a.wanted > TimeDelta::zero());
        found.into_iter().map(|(span, a)| (span.from, a)).collect()
    }
}
