//! The mechanic queue, in the order the work should be taken.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;

use super::super::part_shortage::{lacking_in_words, last_expected};
use super::super::{Result, Workshop};
use crate::domain::checklist::System;
use crate::domain::ids::{WorkOrderId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::queue::order::{
    Candidate, Demand, Hands, Need, NotForYou, Pin, Ranked, Skill, Taken, Why, rank,
};
use crate::domain::work_order::{OrderWord, WaitingFor};
use crate::storage::{PlacedRow, QueueRow, Tx, YardRow};
use crate::words::Text;

/// A work order and the reason for its place.
pub struct QueueEntry {
    pub order: QueueRow,
    pub because: Text,
    pub why: Why,
    /// Why whoever looks may not take it, where that is for want of skill.
    pub lacking: Option<Text>,
    /// What it waits for while nobody has it: it can be claimed to find out more, and not be repaired.
    pub parts: Option<PartsLacking>,
}

/// Parts that were asked for and are not there.
pub struct PartsLacking {
    pub note: String,
    /// When the last of them is expected; None when nobody knows.
    pub until: Option<DateTime<Utc>>,
}

pub struct QueuePage {
    /// What nobody has yet and somebody can begin, in the order it should be taken: this page of it.
    pub next: Vec<QueueEntry>,
    /// What somebody has, waits for parts or else, or only lacks its release; with what is one's own first.
    pub taken: Vec<QueueEntry>,
    /// From 1.
    pub page: usize,
    pub more: bool,
}

/// So many are on a page. A queue this long is not read to its end.
pub const ON_A_PAGE: usize = 50;
/// Nobody looks further; the order of what is there may have changed ten times until then.
pub const LAST_PAGE: usize = 40;

pub async fn queue(workshop: &Workshop, actor: &Actor, page: usize) -> Result<QueuePage> {
    actor.must(Act::SeeQueue)?;
    let now = workshop.ambient.now();
    let page = page.clamp(1, LAST_PAGE);
    let mut tx = workshop.db.read().await?;
    let yards: Vec<YardRow> = tx.yards().await?.into_iter().filter(|y| actor.in_yard(y.id)).collect();
    let upto = i64::try_from(page * ON_A_PAGE + 1).unwrap_or(i64::MAX);
    let (mut queued, mut taken, demand) = first_few(&mut tx, &yards, upto).await?;
    let pinned = tx.pinned_orders().await?;
    queued.extend(pinned.into_iter().filter(|o| o.state == OrderWord::Queued && actor.in_yard(o.yard_id)));
    if !actor.has(Role::Owner) {
        taken.extend(tx.orders_with(actor.id, upto).await?);
    }
    let lacking: BTreeSet<WorkOrderId> = queued
        .iter()
        .chain(&taken)
        .filter(|o| o.lacks_parts && o.state == OrderWord::Queued)
        .map(|o| o.id)
        .collect();
    let mut seen = BTreeSet::new();
    taken.retain(|o| seen.insert(o.id) && actor.in_yard(o.yard_id));

    let zones: HashMap<YardId, Tz> = yards.iter().map(|y| (y.id, y.zone())).collect();
    let eyes = Eyes {
        demand,
        zones,
        needed: tx.skills_needed().await?,
        hands: hands_of(&mut tx, actor).await?,
        lacking,
        now,
    };
    let mut next = eyes.rank(queued.iter().map(candidate).collect());
    let more = next.len() > page * ON_A_PAGE && page < LAST_PAGE;
    let next: Vec<Ranked> = next.drain(..).skip((page - 1) * ON_A_PAGE).take(ON_A_PAGE).collect();
    let mut mine_first = eyes.rank(taken.iter().map(candidate).collect());
    mine_first.sort_by_key(|r| r.candidate.taken != Taken::By(actor.id));
    Ok(QueuePage {
        next: eyes.entries(&mut tx, next).await?,
        taken: eyes.entries(&mut tx, mine_first).await?,
        page,
        more,
    })
}

/// The first few of each yard and class, what is taken or cannot be begun, and what the yards lack.
async fn first_few(
    tx: &mut Tx,
    yards: &[YardRow],
    upto: i64,
) -> Result<(Vec<PlacedRow>, Vec<PlacedRow>, Demand)> {
    let (queued, demand) = first_queued(tx, yards, upto).await?;
    let mut taken = Vec::new();
    let most = i64::try_from(ON_A_PAGE).unwrap_or(i64::MAX);
    for yard in yards {
        taken.extend(tx.queued_lacking(yard.id, most).await?);
        for state in [OrderWord::Claimed, OrderWord::InWork, OrderWord::Waiting, OrderWord::WorkDone] {
            taken.extend(tx.orders_in_state(yard.id, state, most).await?);
        }
    }
    Ok((queued, taken, demand))
}

/// What can be begun and nobody has: the first few of each yard and class, and what the yards lack.
pub(in crate::workflow) async fn first_queued(
    tx: &mut Tx,
    yards: &[YardRow],
    upto: i64,
) -> Result<(Vec<PlacedRow>, Demand)> {
    let mut queued = Vec::new();
    let mut demand = Demand::default();
    for yard in yards {
        let needs: BTreeMap<String, i64> = tx.needs_of(yard.id).await?.into_iter().collect();
        for class in tx.classes_in(yard.id).await? {
            if let Some(needed) = needs.get(&class).copied() {
                // Spare machines weigh nothing, so that counting ends at what is needed.
                let available = tx.fit_machines(yard.id, &class, needed).await?;
                demand.need(yard.id, class.clone(), Need { needed, available });
            }
            queued.extend(if demand.short(yard.id, &class) > 0 {
                tx.queued_shortest(yard.id, &class, upto).await?
            } else {
                tx.queued_held(yard.id, &class, upto).await?
            });
        }
        queued.extend(tx.queued_usable(yard.id, upto).await?);
    }
    Ok((queued, demand))
}

/// Everything that open work orders are ranked by, whoever's they are.
pub(in crate::workflow) async fn demand_of(tx: &mut Tx, yards: &[YardRow]) -> Result<Demand> {
    let mut demand = Demand::default();
    for yard in yards {
        for (class, needed) in tx.needs_of(yard.id).await? {
            let available = tx.fit_machines(yard.id, &class, needed).await?;
            demand.need(yard.id, class, Need { needed, available });
        }
    }
    Ok(demand)
}

pub(in crate::workflow) fn candidate(row: &PlacedRow) -> Candidate {
    let pin = match (row.pin_rank, row.pinned_by, row.pinned_at) {
        (Some(rank), Some(by), Some(at)) => Some(Pin { rank, by, at }),
        _ => None,
    };
    Candidate {
        order: row.id,
        number: row.number,
        yard: row.yard_id,
        class: row.class.clone(),
        out_of_service: row.held,
        good_until: row.good_until(),
        opened_at: row.opened_at,
        remaining: TimeDelta::minutes(row.remaining_minutes),
        skills: BTreeSet::new(),
        pin,
        taken: match (row.state, row.mechanic_id) {
            (OrderWord::Waiting, by) => Taken::Waiting {
                by,
                waiting_for: row.waiting_for.unwrap_or(WaitingFor::Information),
                until: row.waiting_until,
            },
            (OrderWord::Queued, _) | (_, None) => Taken::Free,
            (_, Some(by)) => Taken::By(by),
        },
    }
}

/// The skills that an order asks for: the systems of its open defects that only the skilled work on.
pub(in crate::workflow) async fn skills_for(
    tx: &mut Tx,
    order: WorkOrderId,
    needed: &BTreeSet<System>,
) -> Result<BTreeSet<Skill>> {
    if needed.is_empty() {
        return Ok(BTreeSet::new());
    }
    let systems = tx.systems_of_order(order).await?;
    Ok(systems.iter().filter(|s| needed.contains(s)).map(skill).collect())
}

pub(in crate::workflow) fn skill(system: &System) -> Skill {
    Skill(system.as_str().to_owned())
}

pub(in crate::workflow) async fn hands_of(tx: &mut Tx, actor: &Actor) -> Result<Hands> {
    Ok(Hands {
        person: actor.id,
        yards: actor.yards.iter().copied().collect(),
        skills: tx.skills_of(actor.id).await?.iter().map(skill).collect(),
    })
}

/// With what one looks at the queue.
struct Eyes {
    demand: Demand,
    zones: HashMap<YardId, Tz>,
    needed: BTreeSet<System>,
    hands: Hands,
    /// Queued, with parts that are not there.
    lacking: BTreeSet<WorkOrderId>,
    now: DateTime<Utc>,
}

impl Eyes {
    fn rank(&self, candidates: Vec<Candidate>) -> Vec<Ranked> {
        rank(candidates, &self.demand, self.now, |yard, at| self.day(yard, at))
    }

    fn day(&self, yard: YardId, at: DateTime<Utc>) -> NaiveDate {
        at.with_timezone(self.zones.get(&yard).unwrap_or(&Tz::UTC)).date_naive()
    }

    async fn entries(&self, tx: &mut Tx, ranked: Vec<Ranked>) -> Result<Vec<QueueEntry>> {
        let mut entries = Vec::with_capacity(ranked.len());
        for mut r in ranked {
            let Some(order) = tx.queue_row(r.candidate.order).await? else { continue };
            r.candidate.skills = skills_for(tx, order.id, &self.needed).await?;
            let lacking = match self.hands.may_take(&r.candidate) {
                Err(no @ NotForYou::Lacks(_)) => no.skills_lacking(),
                _ => None,
            };
            let because = r.why.because(&order.class, &order.pinned_by_name);
            let parts = if self.lacking.contains(&order.id) {
                let rows = tx.shortages_of_order(order.id).await?;
                Some(PartsLacking { note: lacking_in_words(&rows), until: last_expected(&rows) })
            } else {
                None
            };
            entries.push(QueueEntry { order, because, why: r.why, lacking, parts });
        }
        Ok(entries)
    }
}
