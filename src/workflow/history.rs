//! Loads what a checklist's rules look back on, and nothing when they do not.

use chrono::{DateTime, TimeDelta, Utc};

use super::Result;
use crate::domain::checklist::{Checklist, Condition};
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::ids::MachineId;
use crate::domain::trend::MOST_POINTS;
use crate::storage::{MOST_HISTORY_ITEMS, Tx};

/// Further back a trend of today says nothing.
const LOOK_BACK: TimeDelta = TimeDelta::days(730);

/// The machine's history as far as this checklist asks for it.
pub async fn history(
    tx: &mut Tx,
    checklist: &Checklist,
    machine: MachineId,
    now: DateTime<Utc>,
) -> Result<History> {
    let (mut items, mut recurs) = (Vec::new(), false);
    for condition in checklist.rules.iter().flat_map(|r| &r.when) {
        match condition {
            Condition::Trend { at, .. } | Condition::Corrected { at, .. } if !items.contains(&at.item) => {
                items.push(at.item.clone());
            }
            Condition::Recurs { .. } => recurs = true,
            _ => {}
        }
    }
    items.truncate(MOST_HISTORY_ITEMS);
    let mut history = History { now: Some(now), ..History::default() };
    if items.is_empty() && !recurs {
        return Ok(history);
    }
    let from = now - LOOK_BACK;
    // A check that arrives late is judged by what was known when it was made.
    let mut released = tx.released_items(machine, from).await?;
    released.retain(|r| r.closed_at <= now);
    let position = |p: &str| Some(p.to_owned()).filter(|p| !p.is_empty());
    history.released = released
        .iter()
        .map(|r| ReleasedAt { item: r.item.clone(), position: position(&r.position), at: r.closed_at })
        .collect();
    if items.is_empty() {
        return Ok(history);
    }
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
    let positions = items.iter().filter_map(|i| checklist.item(i)).map(|i| i.positions.len().max(1)).max();
    let most = i64::try_from(MOST_POINTS * positions.unwrap_or(1)).unwrap_or(i64::MAX);
    for row in tx.looked_back_on(machine, &items, from, now, most).await? {
        if row.corrected_what.is_some() {
            history.corrected.push(CorrectedAt {
                item: row.item.clone(),
                position: position(&row.position),
                at: row.recorded_at,
                engine_hours: row.engine_hours,
                amount_base: row.corrected_base,
            });
        }
        let Some(base) = row.value_base else { continue };
        if renewed(&row.item, &row.position).is_some_and(|at| row.recorded_at <= at) {
            continue;
        }
        let point = Point { engine_hours: row.engine_hours, at: row.recorded_at, base };
        let place = position(&row.position);
        match history.series.iter_mut().find(|s| s.item == row.item && s.position == place) {
            Some(series) => series.points.push(point),
            None => history.series.push(Series { item: row.item, position: place, points: vec![point] }),
        }
    }
    Ok(history)
}
