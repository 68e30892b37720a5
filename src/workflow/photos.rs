//! Photos of what was found. Where the picture itself is kept is the caller's business; here is what is known of it.

use super::{Put, Result, WorkflowError, Workshop, machine_for, machine_seen, order_for};
use crate::domain::ids::{CheckId, DefectId, PhotoId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
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
    Check {
        check: CheckId,
        item: String,
        position: String,
    },
    Defect(DefectId),
    /// Taken at the work itself.
    Order(WorkOrderId),
}

/// The same picture of the same thing, sent again, is the one that is there: then `first` is false.
pub async fn attach_photo(
    workshop: &Workshop,
    actor: &Actor,
    of: PhotoOf,
    stored: StoredPhoto,
) -> Result<Put<PhotoId>> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let unseen = |what: Thing| {
        move |e| match e {
            // Whatever is in another yard does not exist for the actor.
            WorkflowError::Refused(Refusal::NotFound(_)) => Refusal::NotFound(what).into(),
            e => e,
        }
    };
    let mut work_order_id = None;
    let (machine, check_id, defect_id, item, position) = match of {
        PhotoOf::Check { check, item, position } => {
            let row = tx.check(check).await?.ok_or(Refusal::NotFound(Thing::Check))?;
            let machine = machine_for(&mut tx, actor, Act::ReportDefect, row.machine_id)
                .await
                .map_err(unseen(Thing::Check))?;
            let checklist = workshop.checklist(&mut tx, row.checklist_id).await?;
            let place = Some(position.as_str()).filter(|p| !p.is_empty());
            if !checklist.walk().iter().any(|stop| stop.is(&item, place)) {
                return Err(Refusal::NotFound(Thing::Item).into());
            }
            (machine, Some(check), None, Some(item), position)
        }
        PhotoOf::Defect(defect) => {
            let row = tx.defect(defect).await?.ok_or(Refusal::NotFound(Thing::Defect))?;
            let machine = machine_for(&mut tx, actor, Act::ReportDefect, row.machine_id)
                .await
                .map_err(unseen(Thing::Defect))?;
            (machine, None, Some(defect), None, String::new())
        }
        PhotoOf::Order(order) => {
            let (_, machine) = order_for(&mut tx, actor, order).await?;
            actor.must(Act::SeeQueue)?;
            work_order_id = Some(order);
            (machine, None, None, None, String::new())
        }
    };
    let there = match (check_id, defect_id) {
        (Some(check), _) => tx.photos_of_check(check).await?,
        (None, Some(defect)) => tx.photos_of_defect(defect).await?,
        (None, None) => match work_order_id {
            Some(order) => tx.photos_of_order(order).await?,
            None => Vec::new(),
        },
    };
    let again = |p: &&PhotoRow| {
        p.sha256 == stored.sha256 && p.defect_id == defect_id && p.item == item && p.position == position
    };
    if let Some(same) = there.iter().find(again) {
        return Ok(Put { answer: same.id, first: false });
    }
    let row = PhotoRow {
        id: workshop.ambient.id(),
        machine_id: machine.id,
        check_id,
        defect_id,
        work_order_id,
        item,
        position,
        sha256: stored.sha256,
        bytes: stored.bytes,
        by_id: actor.id,
        at: now,
    };
    tx.insert_photo(&row).await?;
    tx.commit().await?;
    Ok(Put { answer: row.id, first: true })
}

/// A photo's row, for somebody who may see its machine.
pub async fn photo(workshop: &Workshop, actor: &Actor, id: PhotoId) -> Result<PhotoRow> {
    let mut tx = workshop.db.read().await?;
    let row = tx.photo(id).await?.ok_or(Refusal::NotFound(Thing::Photo))?;
    machine_seen(&mut tx, actor, Act::SeeMachines, row.machine_id)
        .await
        .map_err(|_| Refusal::NotFound(Thing::Photo))?;
    Ok(row)
}
