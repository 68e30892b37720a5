//! What a mechanic's time costs. Overtime depends on everything else of the day and the week, so a change is reckoned with
//! the whole weeks it touches; what it makes dearer or cheaper elsewhere is added there, in the same transaction.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use chrono::NaiveDate;

use super::working_time::zone_of;
use super::{Result, Workshop};
use crate::domain::currency::{Amount, Currency};
use crate::domain::ids::{LabourId, PersonId, WorkOrderId, YardId};
use crate::domain::labour::cost::{Cost, Grade, Rate, Rates, costs};
use crate::domain::labour::overtime::{OvertimeRule, weeks_around};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::shift::Span;
use crate::storage::{LabourRow, StorageError, Tx};

/// Reckons anew what the mechanic's time costs in the weeks that `changed` touches. The mechanic's labour is locked.
pub(super) async fn reckon(
    workshop: &Workshop,
    tx: &mut Tx,
    mechanic: PersonId,
    own_rate_minor: i64,
    changed: Span,
) -> Result<()> {
    let yards = yards_of(tx).await?;
    // Those whose day or week is touched, and everything that their own weeks are made of.
    let touched = tx.labour_around(mechanic, weeks(&yards, changed)).await?;
    let whole = touched.iter().filter_map(LabourRow::span).fold(changed, around);
    let entries = tx.labour_around(mechanic, weeks(&yards, whole)).await?;
    let spans: Vec<(LabourId, Span)> =
        entries.iter().filter_map(|e| e.span().map(|span| (e.id, span))).collect();
    let (grade, rates) = rates_of(workshop, tx, mechanic, own_rate_minor).await?;
    let mut by_yard: BTreeMap<YardId, BTreeMap<LabourId, Cost>> = BTreeMap::new();
    let mut more: BTreeMap<WorkOrderId, i64> = BTreeMap::new();
    for entry in &touched {
        if let Entry::Vacant(vacant) = by_yard.entry(entry.yard_id) {
            let (rule, zone) = yards.get(&entry.yard_id).ok_or(Refusal::NotFound(Thing::Yard))?;
            let costs = costs(&spans, &grade, &rates, rule, *zone).map_err(|fault| {
                StorageError::Unreadable(format!("the rates of {mechanic} do not cover it: {fault:?}"))
            })?;
            vacant.insert(costs.into_iter().map(|c| (c.entry, c)).collect());
        }
        let Some(cost) = by_yard.get(&entry.yard_id).and_then(|of| of.get(&entry.id)) else { continue };
        if (cost.minor, cost.overtime_seconds) != (entry.cost_minor, entry.overtime_seconds) {
            tx.set_labour_cost(entry.id, cost.minor, cost.overtime_seconds).await?;
            *more.entry(entry.work_order_id).or_default() += cost.minor - entry.cost_minor;
        }
    }
    // In the order of their ids, so that two mechanics who change the same orders never wait for one another.
    for (order, difference) in more.into_iter().filter(|(_, d)| *d != 0) {
        tx.add_order_cost(order, difference).await?;
    }
    Ok(())
}

type Yards = BTreeMap<YardId, (OvertimeRule, chrono_tz::Tz)>;

async fn yards_of(tx: &mut Tx) -> Result<Yards> {
    let mut yards = Yards::new();
    for yard in tx.yards().await? {
        yards.insert(yard.id, (tx.overtime_of(yard.id).await?, zone_of(&yard)));
    }
    Ok(yards)
}

/// Whole weeks by the clock of every yard.
fn weeks(yards: &Yards, span: Span) -> Span {
    yards.values().map(|(rule, zone)| weeks_around(span, rule, *zone)).fold(span, around)
}

fn around(a: Span, b: Span) -> Span {
    Span::new(a.from.min(b.from), a.to.max(b.to))
}

/// The dated rates of the mechanic's grade; before the first of them, and without a grade, the mechanic's own rate.
async fn rates_of(
    workshop: &Workshop,
    tx: &mut Tx,
    mechanic: PersonId,
    own_rate_minor: i64,
) -> Result<(Grade, Rates)> {
    let currency = Currency::parse(&workshop.currency)
        .map_err(|e| StorageError::Unreadable(format!("currency {}: {e}", workshop.currency)))?;
    let grade = Grade(tx.grade_of(mechanic).await?.unwrap_or_default());
    let rate = |from, minor| Rate { grade: grade.clone(), from, an_hour: Amount { minor, currency } };
    let mut rates = vec![rate(NaiveDate::MIN, own_rate_minor)];
    if !grade.0.is_empty() {
        let dated = tx.labour_rates().await?;
        rates
            .extend(dated.iter().filter(|(g, ..)| *g == grade.0).map(|(_, from, minor)| rate(*from, *minor)));
    }
    let rates = Rates::new(currency, rates)
        .map_err(|fault| StorageError::Unreadable(format!("rates of {}: {fault:?}", grade.0)))?;
    Ok((grade, rates))
}
