//! A machine's record, and what became of what one reported oneself.

use std::collections::{BTreeMap, BTreeSet};

use super::super::release::newest_retests;
use super::super::{Answered, AnsweredTrend, Result, Workshop, from_json, machine_seen, yard_of};
use crate::domain::defect::DefectState;
use crate::domain::ids::{MachineId, PersonId};
use crate::domain::person::{Act, Actor};
use crate::storage::{CheckRow, DefectRow, MachineRow, OrderRow, ReleaseRow, YardRow};

pub struct MachineRecord {
    pub machine: MachineRow,
    pub yard: YardRow,
    pub checks: Vec<CheckRow>,
    pub defects: Vec<DefectRow>,
    pub orders: Vec<OrderRow>,
    pub releases: Vec<ReleaseRow>,
    /// What the trends say as of the newest check.
    pub trends: Vec<AnsweredTrend>,
    /// Names of those who reported the defects.
    pub reporters: BTreeMap<PersonId, String>,
}

pub async fn machine_record(
    workshop: &Workshop,
    actor: &Actor,
    id: MachineId,
    most: i64,
) -> Result<MachineRecord> {
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, id).await?;
    let yard = yard_of(&mut tx, &machine).await?;
    let defects = tx.defects_of(id, most).await?;
    let mut reporters = BTreeMap::new();
    for person in defects.iter().map(|d| d.reported_by).collect::<BTreeSet<_>>() {
        reporters.extend(tx.person(person).await?.map(|p| (person, p.name)));
    }
    let checks = tx.checks_of(id, most).await?;
    let trends = match checks.first() {
        Some(newest) => from_json::<Answered>(&newest.answered)?.trends,
        None => Vec::new(),
    };
    Ok(MachineRecord {
        checks,
        trends,
        defects,
        reporters,
        orders: tx.orders_of(id, most).await?,
        releases: tx.releases_of(id, most).await?,
        machine,
        yard,
    })
}

/// “I reported that last week, what happened?” Each defect with its machine's unit number.
/// A defect that somebody reported.
pub struct ReportedDefect {
    pub unit_number: String,
    pub defect: DefectRow,
    /// The retest passed since the work was last said to be done.
    pub retested: bool,
}

pub async fn my_reports(workshop: &Workshop, actor: &Actor, most: i64) -> Result<Vec<ReportedDefect>> {
    actor.must(Act::ReportDefect)?;
    let mut tx = workshop.db.read().await?;
    let mut reports = Vec::new();
    for defect in tx.defects_reported_by(actor.id, most).await? {
        let unit_number = tx.machine(defect.machine_id).await?.map(|m| m.unit_number).unwrap_or_default();
        let order = match (defect.state, defect.work_order_id) {
            (DefectState::Repaired | DefectState::NoFaultFound, Some(order)) => tx.order(order).await?,
            _ => None,
        };
        let retested = match &order {
            Some(order) => newest_retests(&mut tx, order).await?.get(&defect.id).is_some_and(|r| r.passed),
            None => false,
        };
        reports.push(ReportedDefect { unit_number, defect, retested });
    }
    Ok(reports)
}
