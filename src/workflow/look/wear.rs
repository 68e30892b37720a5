//! What is measured on a machine, as series that can be drawn: readings since the part was replaced or put right, the
//! limits they are held against, and where they run to.

use super::super::history::{LOOK_BACK, understood};
use super::super::{Result, Workshop, machine_seen};
use crate::domain::checklist::{Load, Measure};
use crate::domain::history::{Point, Since};
use crate::domain::ids::MachineId;
use crate::domain::person::{Act, Actor};
use crate::domain::trend::{Edge, Line};
use crate::domain::unit::Unit;
use crate::storage::{LookBack, LookedBack, MOST_HISTORY_ITEMS};
use crate::words::Text;

pub struct Wear {
    pub title: Text,
    /// In which the figures below are given.
    pub unit: Unit,
    /// How its figures are written.
    pub measure: Measure,
    /// Oldest first.
    pub readings: Vec<Point>,
    pub since: Since,
    pub at_least: Option<f64>,
    pub at_most: Option<f64>,
    /// What the trend runs to, where there is one.
    pub line: Option<Line>,
    pub edge: Option<Edge>,
}

/// The picture shows all of them; the line through them goes by the newest.
const EVERY_READING: i64 = i64::MAX;
/// Fewer make no picture.
const FEWEST: usize = 3;

/// Unladen limits, for most readings are taken so. The order is that of the walk.
pub async fn machine_wear(workshop: &Workshop, actor: &Actor, id: MachineId) -> Result<Vec<Wear>> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, id).await?;
    let Some(row) = tx.checklist_for_class(&machine.class).await? else { return Ok(Vec::new()) };
    let list = workshop.checklist(&mut tx, row.id).await?;
    let mut items: Vec<String> = Vec::new();
    for item in list.items().filter(|i| i.measure().is_some()) {
        items.push(item.key.clone());
    }
    let released = tx.released_items(id, now - LOOK_BACK).await?;
    let mut readings = LookedBack::default();
    for chunk in items.chunks(MOST_HISTORY_ITEMS) {
        let back = LookBack { items: chunk.to_vec(), from: now - LOOK_BACK, until: now, most: EVERY_READING };
        let of_these = tx.looked_back_on(id, &back).await?;
        readings.values.extend(of_these.values);
        readings.put_right.extend(of_these.put_right);
    }
    let history = understood(released, readings, now);
    let mut found = Vec::new();
    for stop in list.walk() {
        let Some(measure) = stop.item.measure() else { continue };
        let position = stop.position.map(|p| p.key.as_str());
        let (readings, since) = history.newest_series(&stop.item.key, position);
        if readings.len() < FEWEST {
            continue;
        }
        let bounds = measure.bounds(Load::Unladen);
        let edges = [bounds.at_least.map(Edge::AtLeast), bounds.at_most.map(Edge::AtMost)];
        // Towards the limit that it runs to.
        let trend = history.trend(&stop.item.key, position, edges.into_iter().flatten().next());
        let line = trend.line().cloned();
        let edge = line.as_ref().and_then(|l| edges.into_iter().flatten().find(|e| l.runs_towards(*e)));
        found.push(Wear {
            title: stop.title(),
            measure: measure.clone(),
            unit: measure.units.first().copied().unwrap_or(measure.base),
            readings,
            since,
            at_least: bounds.at_least,
            at_most: bounds.at_most,
            line,
            edge,
        });
    }
    Ok(found)
}
