//! Everything on record about one machine, for somebody who inspects it: complete, with the chain of its audit trail.

use super::super::{Result, Workshop, machine_seen, yard_of};
use crate::domain::ids::MachineId;
use crate::domain::person::{Act, Actor};
use crate::storage::{
    AuditRow, CheckRow, DefectRow, HoldRow, LabourRow, LineRow, MachineRow, OrderRow, OutsideRow, PhotoRow,
    ReleaseRow, RetestRow, YardRow,
};

pub struct MachineArchive {
    pub machine: MachineRow,
    pub yard: YardRow,
    /// Newest first.
    pub checks: Vec<CheckRow>,
    pub defects: Vec<DefectRow>,
    pub holds: Vec<HoldRow>,
    pub orders: Vec<ArchivedOrder>,
    pub releases: Vec<ReleaseRow>,
    pub photos: Vec<PhotoRow>,
    /// The machine's own chain, oldest first.
    pub chain: Vec<AuditRow>,
    /// Number and hash of its last entry, kept beside it.
    pub head: Option<(i64, String)>,
}

pub struct ArchivedOrder {
    pub order: OrderRow,
    pub labour: Vec<LabourRow>,
    pub parts: Vec<LineRow>,
    pub outside: Vec<OutsideRow>,
    pub retests: Vec<RetestRow>,
}

pub async fn machine_archive(workshop: &Workshop, actor: &Actor, id: MachineId) -> Result<MachineArchive> {
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SeeAudit, id).await?;
    let yard = yard_of(&mut tx, &machine).await?;
    let stream = format!("machine {id}");
    let mut orders = Vec::new();
    for order in tx.orders_of(id, i64::MAX).await? {
        orders.push(ArchivedOrder {
            labour: tx.labour_of_order(order.id).await?,
            parts: tx.lines_of_order(order.id).await?,
            outside: tx.outside_of_order(order.id).await?,
            retests: tx.retests_of_order(order.id).await?,
            order,
        });
    }
    Ok(MachineArchive {
        checks: tx.checks_of(id, i64::MAX).await?,
        defects: tx.defects_of(id, i64::MAX).await?,
        holds: tx.holds_of(id).await?,
        orders,
        releases: tx.releases_of(id, i64::MAX).await?,
        photos: tx.photos_of_machine(id).await?,
        // Read before the head: what is added meanwhile is in neither, or seen to be missing.
        chain: tx.chain_of(&stream).await?,
        head: tx.chain_head(&stream).await?,
        machine,
        yard,
    })
}
