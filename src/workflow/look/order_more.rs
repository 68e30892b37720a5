//! What a work order's page gathers beside the order itself: earlier repairs of the same items, notes and photos, what is
//! away, what is foreseen, and the machine's other orders.

use std::collections::BTreeSet;

use super::super::Result;
use super::super::foresee::MOST_FORESEEN;
use super::super::skilled::{SkillAsked, skill_asked};
use crate::domain::ids::DefectId;
use crate::domain::person::Actor;
use crate::storage::{
    DefectRow, EarlierRow, FixedByRow, ForecastRow, MachineRow, OrderNoteRow, OrderRow, OutsideRow, PhotoRow,
    ShortageRow, Tx, UsedPartRow,
};
use crate::words::Text;

pub struct OrderMore {
    pub notes: Vec<OrderNoteRow>,
    pub photos: Vec<PhotoRow>,
    pub outside: Vec<OutsideRow>,
    pub forecast: Option<ForecastRow>,
    /// So many are open that nothing is said of this one: it stands too far back in the queue.
    pub too_far_back: bool,
    /// None where it asks for no skill.
    pub skill: Option<SkillAsked>,
    /// What was asked for and is not there.
    pub lacking: Vec<ShortageRow>,
    /// Of the same machine, and not ended.
    pub others: Vec<OrderRow>,
    /// One for each item that failed.
    pub earlier: Vec<Earlier>,
}

/// What is known of an item from earlier repairs.
pub struct Earlier {
    pub defect: DefectId,
    pub what: Text,
    pub on_machine: Vec<EarlierRow>,
    pub on_class: Vec<EarlierRow>,
    pub fixed_by: Vec<FixedByRow>,
    pub parts: Vec<UsedPartRow>,
}

/// Of each list: more than that nobody reads at a machine.
const MOST: i64 = 5;

pub async fn gather<'a>(
    tx: &mut Tx,
    viewer: &Actor,
    order: &OrderRow,
    machine: &MachineRow,
    defects: impl Iterator<Item = &'a DefectRow>,
) -> Result<OrderMore> {
    let mut earlier = Vec::new();
    let mut seen = BTreeSet::new();
    for defect in defects {
        let Some(item) = defect.item.as_deref().filter(|i| seen.insert((*i).to_owned())) else { continue };
        let one = Earlier {
            defect: defect.id,
            what: defect.what.clone(),
            on_machine: tx.earlier_on_machine(machine.id, item, MOST).await?,
            on_class: tx.earlier_on_class(&machine.class, item, machine.id, MOST).await?,
            fixed_by: tx.fixed_before(&machine.class, item, MOST).await?,
            parts: tx.parts_used_before(&machine.class, item, MOST).await?,
        };
        if !(one.on_machine.is_empty() && one.on_class.is_empty()) {
            earlier.push(one);
        }
    }
    let mut others = tx.open_orders_of(machine.id).await?;
    others.retain(|o| o.id != order.id);
    let state = order.state()?;
    let forecast = tx.forecast_of(order.id).await?;
    let too_far_back = forecast.is_none() && state.is_taking() && tx.more_open_than(MOST_FORESEEN).await?;
    Ok(OrderMore {
        notes: tx.order_notes(order.id).await?,
        photos: tx.photos_of_order(order.id).await?,
        outside: tx.outside_of_order(order.id).await?,
        too_far_back,
        forecast,
        skill: if state.is_taking() {
            skill_asked(tx, viewer.id, order.id, state.claimant()).await?
        } else {
            None
        },
        lacking: tx.shortages_of_order(order.id).await?,
        others,
        earlier,
    })
}
