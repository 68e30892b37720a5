//! Loads what a checklist's rules look back on, and nothing when they do not.

use chrono::{DateTime, TimeDelta, Utc};

use super::Result;
use crate::domain::checklist::{Checklist, Condition};
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::ids::MachineId;
use crate::domain::trend::MOST_POINTS;
use crate::storage::{LookBack, LookedBack, MOST_HISTORY_ITEMS, ReleasedRow, Tx};

/// Further back a trend of today says nothing.
pub const LOOK_BACK: TimeDelta = TimeDelta::days(730);

/// What this checklist's rules ask of a machine's history at a moment.
pub fn look_back(checklist: &Checklist, now: DateTime<Utc>) -> LookBack {
    let mut items = Vec::new();
    for condition in checklist.rules.iter().flat_map(|r| &r.when) {
        if let Condition::Trend { at, .. } | Condition::Corrected { at, .. } = condition
            && !items.contains(&at.item)
        {
            items.push(at.item.clone());
        }
    }
    items.truncate(MOST_HISTORY_ITEMS);
    let positions = items.iter().filter_map(|i| checklist.item(i)).map(|i| i.positions.len().max(1)).max();
    let most = i64::try_from(MOST_POINTS * positions.unwrap_or(1)).unwrap_or(i64::MAX);
    LookBack { items, from: now - LOOK_BACK, until: now, most }
}

/// The machine's history as far as this checklist asks for it.
pub async fn history(
    tx: &mut Tx,
    checklist: &Checklist,
    machine: MachineId,
    now: DateTime<Utc>,
) -> Result<History> {
    let back = look_back(checklist, now);
    let recurs = checklist.rules.iter().flat_map(|r| &r.when).any(|c| matches!(c, Condition::Recurs { .. }));
    if back.items.is_empty() && !recurs {
        return Ok(History { now: Some(now), ..History::default() });
    }
    let released = tx.released_items(machine, back.from).await?;
    let looked =
        if back.items.is_empty() { LookedBack::default() } else { tx.looked_back_on(machine, &back).await? };
    Ok(understood(released, looked, now))
}

/// What was read, as judgement takes it.
pub fn understood(mut released: Vec<ReleasedRow>, back: LookedBack, now: DateTime<Utc>) -> History {
    let mut history = History { now: Some(now), ..History::default() };
    // A check that arrives late is judged by what was known when it was made.
    released.retain(|r| r.closed_at <= now);
    let position = |p: &str| Some(p.to_owned()).filter(|p| !p.is_empty());
    history.released = released
        .iter()
        .map(|r| ReleasedAt { item: r.item.clone(), position: position(&r.position), at: r.closed_at })
        .collect();
    // A new part begins a new series.
    history.renewed = released
        .iter()
        .filter(|r| r.part_replaced)
        .map(|r| ReleasedAt { item: r.item.clone(), position: position(&r.position), at: r.closed_at })
        .collect();
    let renewed = |item: &str, place: &str| {
        let newest = released.iter().rev().find(|r| r.part_replaced && r.item == item && r.position == place);
        newest.map(|r| r.closed_at)
    };
    history.corrected = back
        .put_right
        .into_iter()
        .map(|r| CorrectedAt {
            position: position(&r.position),
            item: r.item,
            at: r.recorded_at,
            engine_hours: r.engine_hours,
            amount_base: r.corrected_base,
        })
        .collect();
    for of_it in back.values {
        let since = renewed(&of_it.item, &of_it.position);
        let points = of_it.values.into_iter().filter(|v| since.is_none_or(|at| v.recorded_at > at));
        let points: Vec<Point> =
            points.map(|v| Point { engine_hours: v.engine_hours, at: v.recorded_at, base: v.base }).collect();
        if !points.is_empty() {
            history.series.push(Series { position: position(&of_it.position), item: of_it.item, points });
        }
    }
    history
}
