//! Loads what a checklist's rules look back on, and nothing when they do not.

use chrono::{DateTime, TimeDelta, Utc};

use super::Result;
use crate::domain::checklist::{Checklist, Condition};
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::ids::MachineId;
use crate::domain::trend::MOST_POINTS;
use crate::storage::{LookBack, MOST_HISTORY_ITEMS, ReleasedRow, SeriesRow, Tx};

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
    let series = if back.items.is_empty() { Vec::new() } else { tx.looked_back_on(machine, &back).await? };
    Ok(understood(released, series, now))
}

/// What was read, as judgement takes it.
pub fn understood(mut released: Vec<ReleasedRow>, series: Vec<SeriesRow>, now: DateTime<Utc>) -> History {
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
    for row in series {
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
    history
}
