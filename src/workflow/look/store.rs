//! The store, for those who may see it: what each yard has, the ledger, and where parts were fitted.

use super::super::part_fitted::as_fitted;
use super::super::same_defect::history_of;
use super::super::{Result, Workshop, part_supply};
use super::trail::no_such_place;
use crate::domain::batch::{Mark, where_fitted};
use crate::domain::ids::{MovementId, PartId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::store::reorder::Policy;
use crate::storage::{DefectRow, FittedRow, MovementRow, OnOrderRow, PartRow, SupplyRow, YardRow};

/// One part, with what the yards of whoever looks have of it.
pub struct StorePart {
    /// Never empty.
    pub yards: Vec<PartRow>,
    pub supply: Option<SupplyRow>,
    pub on_order: Vec<OnOrderRow>,
    pub movements: Vec<MovementRow>,
    pub policy: Policy,
}

/// Where a batch is, or was.
pub struct FittedPage {
    pub part: PartRow,
    pub on_now: Vec<FittedRow>,
    pub was_on: Vec<FittedRow>,
    /// Fitted without a number: they may be of the batch.
    pub unmarked: Vec<FittedRow>,
    /// Open ones of the machines that are named.
    pub defects: Vec<DefectRow>,
}

/// The yards whose stock somebody works with.
pub async fn store_yards(workshop: &Workshop, actor: &Actor) -> Result<Vec<YardRow>> {
    actor.must(Act::SeeStore)?;
    let yards = workshop.db.read().await?.yards().await?;
    Ok(yards.into_iter().filter(|y| actor.in_yard(y.id)).collect())
}

/// Every part, as each of the viewer's yards has it.
pub async fn store_parts(workshop: &Workshop, actor: &Actor) -> Result<Vec<PartRow>> {
    actor.must(Act::SeeStore)?;
    Ok(workshop.db.read().await?.parts(actor.id, actor.has(Role::Owner)).await?)
}

/// One part with the newest lines of its ledger.
pub async fn store_part(workshop: &Workshop, actor: &Actor, id: PartId, most: i64) -> Result<StorePart> {
    actor.must(Act::SeeStore)?;
    let mut tx = workshop.db.read().await?;
    let of_all = tx.part(id).await?;
    let yards: Vec<PartRow> = of_all.into_iter().filter(|p| actor.in_yard(p.yard_id)).collect();
    if yards.is_empty() {
        return Err(Refusal::NotFound(Thing::Part).into());
    }
    let on_order = tx.on_order(id).await?.into_iter().filter(|o| actor.in_yard(o.yard_id)).collect();
    Ok(StorePart {
        supply: tx.supply(id).await?,
        movements: tx.movements_of(id, actor.id, actor.has(Role::Owner), most).await?,
        policy: part_supply::policy(&mut tx).await?,
        yards,
        on_order,
    })
}

/// The whole ledger of the viewer's yards, the newest first.
/// Of the actor's yards, the newest first; what stands in it after a line where one is named.
pub async fn stock_ledger(
    workshop: &Workshop,
    actor: &Actor,
    before: Option<MovementId>,
    most: i64,
) -> Result<Vec<MovementRow>> {
    actor.must(Act::SeeStore)?;
    let mut tx = workshop.db.read().await?;
    let before = match before {
        Some(id) => Some((tx.movement_at(id).await?.ok_or_else(no_such_place)?, id)),
        None => None,
    };
    Ok(tx.movements(actor.id, actor.has(Role::Owner), before, most).await?)
}

/// Where a part was fitted; of one batch (or serial number) where one is asked for. Machines of other yards are left out.
pub async fn part_fitted(workshop: &Workshop, actor: &Actor, id: PartId, batch: &str) -> Result<FittedPage> {
    actor.must(Act::SeeStore)?;
    let mut tx = workshop.db.read().await?;
    let part = tx.part(id).await?.into_iter().find(|p| actor.in_yard(p.yard_id));
    let part = part.ok_or(Refusal::NotFound(Thing::Part))?;
    let rows: Vec<FittedRow> =
        tx.fitted_of_part(id).await?.into_iter().filter(|f| actor.in_yard(f.yard_id)).collect();
    let (mut on_now, mut was_on, mut unmarked) = (Vec::new(), Vec::new(), Vec::new());
    if batch.trim().is_empty() {
        for row in rows {
            if row.removed_at.is_none() { on_now.push(row) } else { was_on.push(row) }
        }
    } else {
        let mark = Mark::parse(batch).map_err(|fault| fault.refusal("/batch"))?;
        let history = history_of(&rows, &mark);
        let found = where_fitted(&history, id, &mark);
        for (row, fitted) in rows.iter().zip(&history) {
            let is = |list: &[&_]| list.iter().any(|f| std::ptr::eq(*f, fitted));
            if is(&found.on_now) {
                on_now.push(row.clone());
            } else if is(&found.was_on) {
                was_on.push(row.clone());
            } else if is(&found.unmarked) && as_fitted(row).mark.is_none() {
                unmarked.push(row.clone());
            }
        }
    }
    let open = tx.open_defects_seen_by(actor.id, actor.has(Role::Owner)).await?;
    let named = |d: &DefectRow| on_now.iter().chain(&unmarked).any(|f| f.machine_id == d.machine_id);
    let defects = open.into_iter().filter(|d| named(d)).collect();
    Ok(FittedPage { part, on_now, was_on, unmarked, defects })
}
