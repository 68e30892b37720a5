//! What should be ordered, and why: looked at anew each time, from the ledger and what is on its way.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::super::part_supply::{books, policy, terms};
use super::super::{Result, Workshop};
use crate::domain::currency::{Amount, Currency};
use crate::domain::ids::{PartId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::store::reorder::{LeadTimes, Policy, Position, Proposal, Usage, propose};
use crate::domain::store::supply::Supply;
use crate::storage::{PartRow, SupplyRow};

pub struct Reorder {
    pub proposed: Vec<Proposed>,
    pub policy: Policy,
}

/// One part that one yard should order.
pub struct Proposed {
    pub part: PartRow,
    /// None where nobody entered how it is bought.
    pub supply: Option<SupplyRow>,
    pub proposal: Proposal,
    /// What it costs by the supplier's price.
    pub cost_minor: Option<i64>,
    pub lead_days: u32,
}

/// What was used longer ago says little of today's machines: our own choice.
const LOOKED_AT: TimeDelta = TimeDelta::days(365);
/// Where nobody entered how long a part takes: our own cautious guess, shown as one.
const GUESSED_LEAD_DAYS: u32 = 14;

/// Proposals for the yards of whoever looks, in the order of yards and suppliers.
pub async fn reorder(workshop: &Workshop, actor: &Actor) -> Result<Reorder> {
    actor.must(Act::SeeStore)?;
    let now = workshop.ambient.now();
    let since = now - LOOKED_AT;
    let books = books(workshop)?;
    let mut tx = workshop.db.read().await?;
    let parts = tx.parts(actor.id, actor.has(Role::Owner)).await?;
    let supplies: BTreeMap<PartId, SupplyRow> =
        tx.supplies().await?.into_iter().map(|s| (s.part_id, s)).collect();
    let policy = policy(&mut tx).await?;
    let used = daily(&tx.first_movements().await?, &tx.used_since(since).await?, since, now);
    let mut leads: BTreeMap<PartId, LeadTimes> = BTreeMap::new();
    for (part, ordered, came) in tx.deliveries(since).await? {
        leads.entry(part).or_default().taken.push(days(came - ordered));
    }
    let (nothing, never) = (Usage::default(), LeadTimes::default());
    let mut proposed: Vec<Proposed> = Vec::new();
    for part in parts {
        let supply = supplies.get(&part.id);
        let terms = supply.map_or_else(|| unknown_terms(&part, books), |row| terms(row, books));
        let position = Position { bin: part.balance(), on_order: part.on_order, lacking: part.lacking };
        let usage = used.get(&(part.id, part.yard_id)).unwrap_or(&nothing);
        let lead = leads.get(&part.id).unwrap_or(&never);
        let Some(proposal) = propose(position, usage, lead, part.level, &terms, policy) else { continue };
        let cost_minor =
            supply.map(|row| crate::domain::money::share(row.price_minor, proposal.quantity, 1000));
        proposed.push(Proposed {
            supply: supply.cloned(),
            lead_days: terms.lead_days,
            cost_minor,
            proposal,
            part,
        });
    }
    let from = |p: &Proposed| p.supply.as_ref().map(|s| s.supplier.clone()).unwrap_or_default();
    proposed.sort_by_cached_key(|p| (p.part.yard_name.clone(), from(p), p.part.name.clone()));
    Ok(Reorder { proposed, policy })
}

fn unknown_terms(part: &PartRow, books: Currency) -> Supply {
    let price = if part.on_hand > 0 { part.worth_minor * 1000 / part.on_hand } else { 0 };
    Supply {
        supplier: String::new(),
        price: Amount { minor: price, currency: books },
        minimum_order: 0,
        pack: 0,
        lead_days: GUESSED_LEAD_DAYS,
    }
}

/// Use of each day from a part's first movement on; days without use count as such.
fn daily(
    first: &[(PartId, YardId, DateTime<Utc>)],
    used: &[(PartId, YardId, DateTime<Utc>, i64)],
    since: DateTime<Utc>,
    now: DateTime<Utc>,
) -> BTreeMap<(PartId, YardId), Usage> {
    let mut all = BTreeMap::new();
    for (part, yard, at) in first {
        let whole_days = usize::try_from((now - (*at).max(since)).num_days()).unwrap_or(0);
        all.insert((*part, *yard), Usage { daily: vec![0.0; whole_days + 1] });
    }
    for (part, yard, at, quantity) in used {
        let Some(usage) = all.get_mut(&(*part, *yard)) else { continue };
        let days_ago = usize::try_from((now - *at).num_days()).unwrap_or(0);
        // What came back was not used on the day it was issued: it is taken off the day it came back, never below nothing.
        if let Some(day) = usage.daily.iter_mut().rev().nth(days_ago) {
            #[expect(clippy::cast_precision_loss, reason = "quantities are far below 2^53")]
            let units = *quantity as f64 / 1000.0;
            *day = (*day + units).max(0.0);
        }
    }
    all
}

fn days(length: TimeDelta) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "minutes of at most some years")]
    let minutes = length.num_minutes() as f64;
    minutes / 1440.0
}
