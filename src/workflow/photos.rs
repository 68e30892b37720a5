//! Photos of what was found. Where the picture itself is kept is the caller's business; here is what is known of it.

use super::{Result, Workshop, machine_for, machine_seen};
use crate::domain::ids::{CheckId, DefectId, MachineId, PhotoId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::Refusal;
use crate::storage::PhotoRow;

/// A picture that has been made safe and stored under its content hash.
#[derive(Clone, Debug)]
pub struct StoredPhoto {
    pub sha256: String,
    pub bytes: i64,
}

/// Where a photo belongs.
#[derive(Clone, Debug)]
pub enum PhotoOf {
    Check { check: CheckId, item: String, position: String },
    Defect(DefectId),
}

/// The same picture of the same thing, sent again, is the one that is there.
pub async fn attach_photo(
    workshop: &Workshop,
    actor: &Actor,
    machine: MachineId,
    of: PhotoOf,
    stored: StoredPhoto,
) -> Result<PhotoId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::ReportDefect, machine).await?;
    let (check_id, defect_id, item, position) = match of {
        PhotoOf::Check { check, item, position } => {
            tx.check(check)
                .await?
                .filter(|c| c.machine_id == machine.id)
                .ok_or(Refusal::NotFound("check"))?;
            (Some(check), None, Some(item), position)
        }
        PhotoOf::Defect(defect) => {
            tx.defect(defect)
                .await?
                .filter(|d| d.machine_id == machine.id)
                .ok_or(Refusal::NotFound("defect"))?;
            (None, Some(defect), None, String::new())
        }
    };
    let there = match (check_id, defect_id) {
        (Some(check), _) => tx.photos_of_check(check).await?,
        (None, Some(defect)) => tx.photos_of_defect(defect).await?,
        (None, None) => Vec::new(),
    };
    let again = |p: &&PhotoRow| {
        p.sha256 == stored.sha256 && p.defect_id == defect_id && p.item == item && p.position == position
    };
    if let Some(same) = there.iter().find(again) {
        return Ok(same.id);
    }
    let row = PhotoRow {
        id: workshop.ambient.id(),
        machine_id: machine.id,
        check_id,
        defect_id,
        item,
        position,
        sha256: stored.sha256,
        bytes: stored.bytes,
        by_id: actor.id,
        at: now,
    };
    tx.insert_photo(&row).await?;
    tx.commit().await?;
    Ok(row.id)
}

/// A photo's row, for somebody who may see its machine.
pub async fn photo(workshop: &Workshop, actor: &Actor, id: PhotoId) -> Result<PhotoRow> {
    let mut tx = workshop.db.read().await?;
    let row = tx.photo(id).await?.ok_or(Refusal::NotFound("photo"))?;
    machine_seen(&mut tx, actor, Act::SeeMachines, row.machine_id)
        .await
        .map_err(|_| Refusal::NotFound("photo"))?;
    Ok(row)
}
