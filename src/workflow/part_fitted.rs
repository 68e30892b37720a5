//! Which issued part was fitted for which defect, by serial and batch number. A part that is fitted begins its item's series
//! of readings anew.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};

use super::engine_hours::MeterReading;
use super::finish_work::{DefectDone, finish};
use super::order_of_defect::order_subject;
use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::batch::{Fitted, Mark, Place, fit};
use crate::domain::ids::{DefectId, PartId, WorkOrderId};
use crate::domain::person::Actor;
use crate::domain::refusal::{Problem, Refusal};
use crate::domain::store::Quantity;
use crate::domain::trail::TrailAct;
use crate::storage::{DefectRow, FittedRow, MachineRow, OrderRow, Tx};

/// What a mechanic says of one part, as typed. Serial and batch may be left empty.
#[derive(Clone, Debug)]
pub struct Fitting {
    pub defect: DefectId,
    pub part: PartId,
    pub quantity: String,
    pub serial: String,
    pub batch: String,
}

/// Work done, and which of the issued parts were fitted for which defect.
pub async fn finish_work_fitting(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    done: Vec<DefectDone>,
    fitted: Vec<Fitting>,
    meter: Option<MeterReading>,
) -> Result<()> {
    finish(workshop, actor, id, done, fitted, meter).await
}

/// Records what was fitted, inside the caller's transaction. Answers with the defects it was fitted for; what is wrong with
/// the lines is added to the problems.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
pub(super) async fn fit_parts(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    order: &OrderRow,
    machine: &MachineRow,
    defects: &[DefectRow],
    fittings: Vec<Fitting>,
    trail: &mut Trail<'_>,
    problems: &mut Vec<Problem>,
    now: DateTime<Utc>,
) -> Result<BTreeSet<DefectId>> {
    let mut for_defects = BTreeSet::new();
    if fittings.is_empty() {
        return Ok(for_defects);
    }
    // What was issued and is not fitted yet.
    let mut left: BTreeMap<PartId, i64> = BTreeMap::new();
    let lines = tx.lines_of_order(order.id).await?;
    for line in &lines {
        left.insert(line.part_id, line.issued);
    }
    for row in tx.fitted_by_order(order.id).await?.iter().filter(|f| f.removed_at.is_none()) {
        *left.entry(row.part_id).or_default() -= row.quantity;
    }
    let on_machine = tx.fitted_to_machine(machine.id).await?;
    for f in fittings {
        let at = |field: &str| format!("/fitted/{}/{}/{field}", f.defect, f.part);
        let Some(defect) = defects.iter().find(|d| d.id == f.defect) else {
            problems.push(Problem::new(at("part"), said!("work-not-of-this-order")));
            continue;
        };
        let Some(line) = lines.iter().find(|l| l.part_id == f.part) else {
            problems.push(Problem::new(at("part"), said!("fitted-not-issued")));
            continue;
        };
        let read = read_line(&f, &at);
        let (quantity, serial, batch) = match read {
            Ok(read) => read,
            Err(Refusal::Invalid { problems: of_it }) => {
                problems.extend(of_it);
                continue;
            }
            Err(other) => return Err(other.into()),
        };
        let free = left.entry(f.part).or_default();
        if quantity.0 > *free {
            let most = Quantity((*free).max(0));
            let sentence = said!("fitted-more-than-issued", most = most, part = line.name);
            problems.push(Problem::new(at("quantity"), sentence));
            continue;
        }
        *free -= quantity.0;
        let row = FittedRow {
            id: workshop.ambient.id(),
            machine_id: machine.id,
            yard_id: machine.yard_id,
            unit_number: machine.unit_number.clone(),
            part_id: f.part,
            part_name: line.name.clone(),
            work_order_id: order.id,
            order_number: order.number,
            defect_id: Some(defect.id),
            what: Some(defect.what.clone()),
            item: defect.item.clone().unwrap_or_default(),
            position: defect.position.clone(),
            quantity: quantity.0,
            serial,
            batch,
            fitted_at: now,
            by_name: actor.name.clone(),
            removed_at: None,
        };
        for old in takes_the_place_of(&row, &on_machine, now) {
            tx.remove_fitted(old.id, now).await?;
        }
        tx.insert_fitted(&row, actor.id).await?;
        for_defects.insert(defect.id);
        let marks: Vec<&str> =
            [row.serial.as_str(), row.batch.as_str()].into_iter().filter(|m| !m.is_empty()).collect();
        trail.add(
            TrailAct::PartFitted,
            order_subject(order),
            "",
            format!("{} × {} ({})", Quantity(row.quantity), line.name, line.number),
            marks.join(", "),
        );
    }
    Ok(for_defects)
}

fn read_line(
    f: &Fitting,
    at: &impl Fn(&str) -> String,
) -> std::result::Result<(Quantity, String, String), Refusal> {
    let quantity = Quantity::parse(&at("quantity"), &f.quantity)?;
    let mark = |field: &str, text: &str| {
        if text.trim().is_empty() {
            return Ok(String::new());
        }
        Mark::parse(text).map(|m| m.shown).map_err(|fault| fault.refusal(&at(field)))
    };
    Ok((quantity, mark("serial", &f.serial)?, mark("batch", &f.batch)?))
}

/// Older ones of the same part at the same place. Another part there may still be on the machine: it stays on record, for in
/// doubt a machine is inspected.
fn takes_the_place_of<'a>(
    new: &FittedRow,
    on_machine: &'a [FittedRow],
    now: DateTime<Utc>,
) -> Vec<&'a FittedRow> {
    if new.item.is_empty() {
        return Vec::new();
    }
    let place = Place { machine: new.machine_id, item: new.item.clone(), position: new.position.clone() };
    let old: Vec<&FittedRow> = on_machine
        .iter()
        .filter(|f| f.removed_at.is_none() && f.part_id == new.part_id && f.fitted_at < now)
        .filter(|f| f.item == place.item && f.position == place.position)
        .collect();
    let mut history: Vec<Fitted> = old.iter().map(|f| as_fitted(f)).collect();
    let fitted = Fitted { place, at: now, ..as_fitted(new) };
    match fit(&mut history, fitted, now) {
        Ok(()) => {
            old.into_iter().zip(history).filter(|(_, h)| h.removed_at.is_some()).map(|(f, _)| f).collect()
        }
        Err(_) => Vec::new(),
    }
}

/// As the domain knows it, by its batch.
pub(super) fn as_fitted(row: &FittedRow) -> Fitted {
    Fitted {
        place: Place { machine: row.machine_id, item: row.item.clone(), position: row.position.clone() },
        part: row.part_id,
        mark: Mark::parse(&row.batch).ok(),
        order: row.work_order_id,
        at: row.fitted_at,
        removed_at: row.removed_at,
    }
}

/// What came back to the store is not on the machine: the newest of it first.
pub(super) async fn take_off(
    tx: &mut Tx,
    actor: &Actor,
    order: &OrderRow,
    machine: &MachineRow,
    part: PartId,
    issued: i64,
    now: DateTime<Utc>,
) -> Result<()> {
    let rows = tx.fitted_by_order(order.id).await?;
    let on: Vec<&FittedRow> = rows.iter().filter(|f| f.part_id == part && f.removed_at.is_none()).collect();
    let mut over = on.iter().map(|f| f.quantity).sum::<i64>() - issued;
    let mut trail = Trail::new(actor, now);
    let mut changed = false;
    for row in on.into_iter().rev() {
        if over <= 0 {
            break;
        }
        let off = over.min(row.quantity);
        if off == row.quantity {
            tx.remove_fitted(row.id, now).await?;
        } else {
            tx.set_fitted_quantity(row.id, row.quantity - off).await?;
        }
        let what = format!("{} × {}", Quantity(off), row.part_name);
        trail.add(TrailAct::PartTakenOff, order_subject(order), what, "", "");
        over -= off;
        changed = true;
    }
    if changed { trail.write_for_machine(tx, machine.id).await } else { Ok(()) }
}
