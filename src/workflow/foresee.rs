//! When each machine is foreseen to be back: loads the workshop as it is, plays it through, and keeps what was said.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};

use super::look::queue::{candidate, demand_of, first_queued, skill, skills_for};
use super::working_time::calendar_of;
use super::{Result, Workshop, from_json, to_json};
use crate::domain::forecast::arrival::Lateness;
use crate::domain::forecast::levels::{Levels, Spread};
use crate::domain::forecast::score::{Scored, as_last_time, score};
use crate::domain::forecast::{
    self, Arrival, Awaited, DAYS_AHEAD, Forecast, Job, Mechanic, RUNS, WhatIf, When, sooner,
};
use crate::domain::ids::{PartId, WorkOrderId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::queue::order::{Hands, Ranked, Taken, rank};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::shift::Span;
use crate::domain::work_order::{OrderWord, WaitingFor};
use crate::storage::{ForecastRow, PlacedRow, QueueRow, StorageError, Tx, YardRow};

/// The same workshop is foreseen the same way, whoever asks.
const SEED: u64 = 7;
/// So many open orders are played through: what somebody has, and the first in the queue. Of the others nothing is said.
pub const MOST_FORESEEN: i64 = 1_000;
/// As often at most, unless an order has opened of which nothing is said yet.
const NOT_SOONER: TimeDelta = TimeDelta::minutes(3);
const NOT_SOONER_FOR_NEW: TimeDelta = TimeDelta::seconds(10);
/// What is kept for ever is a change that somebody would plan by.
const WORTH_KEEPING: TimeDelta = TimeDelta::hours(1);
const DELIVERIES: i64 = 500;
/// Of a workshop that changes, the newest say most.
const LEARNED_FROM: i64 = 200;

/// How good forecasts were, and what is foreseen now.
pub struct ForecastsPage {
    pub scored: Scored,
    /// In the actor's yards, the soonest first.
    pub open: Vec<QueueRow>,
    /// Those of them that wait for something with a date: number and unit number.
    pub dated: Vec<(i64, String)>,
    /// Open orders in the actor's yards of which nothing is said: opened a moment ago, or too far back in the queue.
    pub not_foreseen: i64,
    pub yards: Vec<YardRow>,
}

/// What somebody wants to know before deciding. Nothing is saved.
#[derive(Clone, Debug)]
pub enum Asked {
    OneMoreMechanic {
        yard: YardId,
    },
    /// What the order waits for comes so many days earlier.
    Earlier {
        order: i64,
        days: i64,
    },
}

/// How an order's return would change.
#[derive(Clone, Debug)]
pub struct Difference {
    pub order: QueueRow,
    pub before: Option<DateTime<Utc>>,
    pub after: Option<DateTime<Utc>>,
    pub surely_before: Option<DateTime<Utc>>,
    pub surely_after: Option<DateTime<Utc>>,
    /// Of "likely by": negative when later.
    pub sooner: TimeDelta,
}

/// Foresees anew if it is time: something changed and the last time is minutes ago, or an order has just opened.
pub async fn foresee_when_due(
    workshop: &Workshop,
    last: Option<DateTime<Utc>>,
    changed: bool,
) -> Result<Option<DateTime<Utc>>> {
    let now = workshop.ambient.now();
    let since = last.map_or(TimeDelta::MAX, |at| (now - at).abs());
    let mut due = last.is_none() || changed && since >= NOT_SOONER;
    if let Some(last) = last.filter(|_| !due && changed && since >= NOT_SOONER_FOR_NEW) {
        due = workshop.db.read().await?.not_foreseen(last).await?;
    }
    if !due {
        return Ok(None);
    }
    foresee(workshop).await?;
    Ok(Some(now))
}

/// Foresees every open order, or the first of very many, and keeps what is said. Answers how many.
pub async fn foresee(workshop: &Workshop) -> Result<usize> {
    foresee_first(workshop, MOST_FORESEEN).await
}

/// As [`foresee`], for so many at most.
pub async fn foresee_first(workshop: &Workshop, most: i64) -> Result<usize> {
    let now = workshop.ambient.now();
    let (shop, levels) = {
        let mut tx = workshop.db.read().await?;
        (load(workshop, &mut tx, now, most).await?, learned(&mut tx).await?)
    };
    let orders = shop.jobs.len();
    let found = play(shop, levels).await?;
    let mut tx = workshop.db.begin().await?;
    tx.drop_forecasts_of_ended().await?;
    let shown: BTreeMap<WorkOrderId, ForecastRow> =
        tx.forecasts_now().await?.into_iter().map(|f| (f.work_order_id, f)).collect();
    // What fell behind the first ones is not foreseen any more: what was said of it gets old.
    let played: BTreeSet<WorkOrderId> = found.iter().map(|f| f.order).collect();
    for behind in shown.keys().filter(|id| !played.contains(id)) {
        tx.drop_forecast(*behind).await?;
    }
    for forecast in found {
        keep(&mut tx, &forecast, shown.get(&forecast.order), now).await?;
    }
    tx.commit().await?;
    Ok(orders)
}

async fn keep(
    tx: &mut Tx,
    forecast: &Forecast,
    shown: Option<&ForecastRow>,
    now: DateTime<Utc>,
) -> Result<()> {
    let Some(order) = tx.order(forecast.order).await? else { return Ok(()) };
    if !order.state()?.is_taking() {
        return Ok(());
    }
    let (likely_by, almost_surely_by) = moments(&forecast.when);
    let row = ForecastRow {
        work_order_id: forecast.order,
        made_at: now,
        likely_by,
        almost_surely_by,
        said: to_json(&forecast.when)?,
    };
    let same = shown.is_some_and(|s| {
        s.likely_by == row.likely_by && s.almost_surely_by == row.almost_surely_by && s.said == row.said
    });
    if !same {
        tx.set_forecast(&row).await?;
    }
    if shown.is_none() {
        tx.announce(order.yard_id);
    }
    let Some(likely_by) = likely_by else { return Ok(()) };
    let last = tx.last_kept(order.id).await?;
    if last.is_none_or(|last| (last - likely_by).abs() >= WORTH_KEEPING) {
        let class = tx.class_of(order.machine_id).await?;
        let item = tx.chief_item(order.id).await?;
        let took = tx.last_time(&class, &item).await?.map(|(from, to)| to - from);
        let spread = to_json(&forecast.spread)?;
        tx.keep_forecast(&row, likely_by, as_last_time(order.opened_at, took), &spread).await?;
    }
    Ok(())
}

pub async fn forecasts(workshop: &Workshop, actor: &Actor) -> Result<ForecastsPage> {
    const SHOWN: usize = 100;
    actor.must(Act::SeeQueue)?;
    let mut tx = workshop.db.read().await?;
    let scored = score(&tx.first_forecasts(5_000).await?);
    let yards: Vec<YardRow> = tx.yards().await?.into_iter().filter(|y| actor.in_yard(y.id)).collect();
    let mut now = tx.forecasts_now().await?;
    now.sort_by_key(|f| (f.likely_by.is_none(), f.likely_by, f.work_order_id));
    let mut open = Vec::new();
    for f in now {
        if open.len() == SHOWN {
            break;
        }
        open.extend(tx.queue_row(f.work_order_id).await?.filter(|o| actor.in_yard(o.yard_id)));
    }
    let not_foreseen = tx.open_and_not_foreseen(actor.id, actor.has(Role::Owner)).await?;
    let parts: BTreeSet<WorkOrderId> = tx
        .parts_awaited()
        .await?
        .into_iter()
        .filter(|(.., at)| at.is_some())
        .map(|(order, ..)| order)
        .collect();
    let is_dated = |o: &QueueRow| {
        let said = o.state == OrderWord::Waiting && o.waiting_until.is_some();
        said || o.away_until.is_some() || parts.contains(&o.id)
    };
    let dated = open.iter().filter(|o| is_dated(o)).map(|o| (o.number, o.unit_number.clone())).collect();
    Ok(ForecastsPage { scored, open, dated, not_foreseen, yards })
}

/// What would change if it were so. Computed and shown, never saved.
pub async fn what_if(workshop: &Workshop, actor: &Actor, asked: Asked) -> Result<Vec<Difference>> {
    actor.must(Act::SeeQueue)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let shop = load(workshop, &mut tx, now, MOST_FORESEEN).await?;
    let would_be = match asked {
        Asked::OneMoreMechanic { yard } => {
            let yard = tx.yard(yard).await?.filter(|y| actor.in_yard(y.id));
            let yard = yard.ok_or(Refusal::NotFound(Thing::Yard))?;
            let calendar = calendar_of(&mut tx, &yard, None, ahead(now)).await?;
            let skills = tx.skills_needed().await?.iter().map(skill).collect();
            let hands = Hands { person: workshop.ambient.id(), yards: BTreeSet::from([yard.id]), skills };
            shop.with(&WhatIf::OneMoreMechanic(Mechanic { hands, calendar }))
        }
        Asked::Earlier { order, days } => {
            if !(1..=400).contains(&days) {
                return Err(Refusal::invalid("/days", said!("forecast-days")).into());
            }
            let mut job = None;
            for j in &shop.jobs {
                let row = tx.order(j.order).await?;
                if row.is_some_and(|o| o.number == order && actor.in_yard(o.yard_id)) {
                    job = Some(j);
                }
            }
            let job = job.ok_or_else(|| Refusal::invalid("/order", said!("forecast-no-such-order")))?;
            let dated: Vec<(Awaited, DateTime<Utc>)> =
                job.waits_for.iter().filter_map(|a| Some((a.what, a.expected?))).collect();
            if dated.is_empty() {
                return Err(Refusal::invalid("/order", said!("forecast-waits-for-nothing")).into());
            }
            let order = job.order;
            dated.into_iter().fold(shop.clone(), |shop, (what, expected)| {
                let expected = (expected - TimeDelta::days(days)).max(now + TimeDelta::minutes(1));
                shop.with(&WhatIf::ComesEarlier { order, what, expected })
            })
        }
    };
    let levels = learned(&mut tx).await?;
    let (as_is, as_would_be) = (play(shop, levels).await?, play(would_be, levels).await?);
    let mut found = Vec::new();
    for change in sooner(&as_is, &as_would_be) {
        let Some(by) = change.likely.filter(|by| by.num_minutes() != 0) else { continue };
        let Some(order) = tx.queue_row(change.order).await?.filter(|o| actor.in_yard(o.yard_id)) else {
            continue;
        };
        let of = |all: &[Forecast]| {
            all.iter().find(|f| f.order == change.order).map_or((None, None), |f| moments(&f.when))
        };
        let ((before, surely_before), (after, surely_after)) = (of(&as_is), of(&as_would_be));
        found.push(Difference { order, before, after, surely_before, surely_after, sooner: by });
    }
    found.sort_by_key(|d| std::cmp::Reverse(d.sooner));
    Ok(found)
}

/// The workshop as it is now, whoever's its work orders are.
async fn load(workshop: &Workshop, tx: &mut Tx, now: DateTime<Utc>, most: i64) -> Result<forecast::Workshop> {
    let yards = tx.yards().await?;
    let needed = tx.skills_needed().await?;
    let demand = demand_of(tx, &yards).await?;
    let placed = placed_first(tx, &yards, most).await?;
    let mut candidates = Vec::with_capacity(placed.len());
    for row in placed.values() {
        let mut one = candidate(row);
        one.skills = skills_for(tx, row.id, &needed).await?;
        candidates.push(one);
    }
    let zone_of = |id: YardId| yards.iter().find(|y| y.id == id).map_or(chrono_tz::Tz::UTC, YardRow::zone);
    let mut queue = rank(candidates, &demand, now, |yard, at| at.with_timezone(&zone_of(yard)).date_naive());
    keep_first(&mut queue, most);
    let waits = Waits::load(tx).await?;
    let times = workshop.repair_times(tx, now).await?;
    let mut jobs = Vec::with_capacity(queue.len());
    for ranked in queue {
        let row = &placed[&ranked.candidate.order];
        let item = tx.chief_item(row.id).await?;
        let worked = tx.seconds_worked(row.id, now).await?;
        jobs.push(Job {
            order: row.id,
            yard: row.yard_id,
            skills: ranked.candidate.skills,
            time: times.of(&row.class, &item),
            done: TimeDelta::seconds(worked),
            claimed_by: row.mechanic_id,
            in_work: row.state == OrderWord::InWork,
            waits_for: waits.of(row),
            needs_hands: true,
        });
    }
    Ok(forecast::Workshop { now, mechanics: mechanics(tx, &yards, now).await?, jobs })
}

/// The open orders, or where they are more than can be played through those that somebody has and the first few of the queue.
async fn placed_first(tx: &mut Tx, yards: &[YardRow], most: i64) -> Result<BTreeMap<WorkOrderId, PlacedRow>> {
    let mut placed = tx.orders_to_foresee(most).await?;
    if tx.more_open_than(most).await? {
        placed.retain(|o| o.state != OrderWord::Queued);
        placed.extend(tx.pinned_orders().await?.into_iter().filter(|o| o.state == OrderWord::Queued));
        placed.extend(first_queued(tx, yards, most).await?.0);
    }
    Ok(placed.into_iter().map(|o| (o.id, o)).collect())
}

/// In their order still: what somebody has, and then the first that nobody has.
fn keep_first(queue: &mut Vec<Ranked>, most: i64) {
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let taken = queue.iter().filter(|r| r.candidate.taken != Taken::Free).count();
    let mut free = most.saturating_sub(taken);
    queue.retain(|r| {
        if r.candidate.taken != Taken::Free {
            return true;
        }
        let fits = free > 0;
        free = free.saturating_sub(1);
        fits
    });
}

async fn mechanics(tx: &mut Tx, yards: &[YardRow], now: DateTime<Utc>) -> Result<Vec<Mechanic>> {
    let skills = tx.skills_of_people().await?;
    let mut in_yards: BTreeMap<_, BTreeSet<YardId>> = BTreeMap::new();
    for (person, yard) in tx.mechanics_in_yards().await? {
        in_yards.entry(person).or_default().insert(yard);
    }
    let mut found = Vec::new();
    for (person, theirs) in in_yards {
        // Whoever works in several yards keeps the hours of the first that has any.
        let mut calendar = None;
        for yard in yards.iter().filter(|y| theirs.contains(&y.id)) {
            let kept = calendar_of(tx, yard, Some(person), ahead(now)).await?;
            if calendar.is_none() || !kept.week.is_empty() {
                let enough = !kept.week.is_empty();
                calendar = Some(kept);
                if enough {
                    break;
                }
            }
        }
        let Some(calendar) = calendar else { continue };
        let skills = skills.get(&person).map(|s| s.iter().map(skill).collect()).unwrap_or_default();
        found.push(Mechanic { hands: Hands { person, yards: theirs, skills }, calendar });
    }
    Ok(found)
}

fn ahead(now: DateTime<Utc>) -> Span {
    Span::new(now, now + TimeDelta::days(DAYS_AHEAD))
}

/// A part, and when it is expected.
type Dated = (PartId, Option<DateTime<Utc>>);

/// What orders wait for, and how punctual that is.
struct Waits {
    parts: BTreeMap<WorkOrderId, Vec<Dated>>,
    outside: BTreeMap<WorkOrderId, Option<DateTime<Utc>>>,
    part_lateness: Lateness,
    vendor_lateness: Lateness,
}

impl Waits {
    async fn load(tx: &mut Tx) -> Result<Self> {
        let mut parts: BTreeMap<WorkOrderId, Vec<Dated>> = BTreeMap::new();
        for (order, part, expected) in tx.parts_awaited().await? {
            parts.entry(order).or_default().push((part, expected));
        }
        let outside = tx.away_anywhere().await?.into_iter().collect();
        let days = |came: Vec<(DateTime<Utc>, DateTime<Utc>)>| -> Vec<f64> {
            came.into_iter().map(|(expected, at)| (at - expected).as_seconds_f64() / 86_400.0).collect()
        };
        Ok(Self {
            parts,
            outside,
            part_lateness: Lateness::from_history(&days(tx.parts_that_came(DELIVERIES).await?)),
            vendor_lateness: Lateness::from_history(&days(tx.outside_that_came(DELIVERIES).await?)),
        })
    }

    fn of(&self, row: &PlacedRow) -> Vec<Arrival> {
        let mut found = Vec::new();
        if let Some(expected) = self.outside.get(&row.id) {
            let lateness = self.vendor_lateness;
            found.push(Arrival { what: Awaited::OutsideRepair, expected: *expected, lateness });
        }
        for (part, expected) in self.parts.get(&row.id).into_iter().flatten() {
            let expected = expected.or(row.waiting_until);
            found.push(Arrival { what: Awaited::Part(*part), expected, lateness: self.part_lateness });
        }
        if row.state == OrderWord::Waiting && found.is_empty() {
            let (what, lateness) = match row.waiting_for {
                Some(WaitingFor::Parts) => (Awaited::Part(PartId(uuid::Uuid::nil())), self.part_lateness),
                Some(WaitingFor::OutsideRepair) => (Awaited::OutsideRepair, self.vendor_lateness),
                Some(WaitingFor::Access) => (Awaited::Access, Lateness::default()),
                Some(WaitingFor::Information) | None => (Awaited::Information, Lateness::default()),
            };
            found.push(Arrival { what, expected: row.waiting_until, lateness });
        }
        found
    }
}

/// Where the newest repairs ended among the runs of their first forecasts.
async fn learned(tx: &mut Tx) -> Result<Levels> {
    let mut places = Vec::new();
    for (made_at, spread, done_at) in tx.spreads_and_ends(LEARNED_FROM).await? {
        let spread: Option<Spread> = from_json(&spread)?;
        places.extend(spread.map(|s| s.place(done_at - made_at)));
    }
    Ok(Levels::learned(&places))
}

async fn play(shop: forecast::Workshop, levels: Levels) -> Result<Vec<Forecast>> {
    // Up to a second of a core: not on a thread that answers.
    tokio::task::spawn_blocking(move || shop.forecast_at(levels, SEED, RUNS))
        .await
        .map_err(|e| StorageError::Unreadable(e.to_string()).into())
}

fn moments(when: &When) -> (Option<DateTime<Utc>>, Option<DateTime<Utc>>) {
    match when {
        When::Known { likely_by, almost_surely_by, .. } => (Some(*likely_by), *almost_surely_by),
        When::Unknown(_) => (None, None),
    }
}
