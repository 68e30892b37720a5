//! How parts are bought and what is on its way: no ledger of purchases, only what the store must know.

use chrono::{DateTime, TimeDelta, Utc};

use super::part_shortage::{lock_lacking, renew_waits};
use super::part_store::{stream_of, subject_of};
use super::stock_put_right::part_for;
use super::trail::Trail;
use super::{Result, Workshop, own_yard};
use crate::domain::currency::{Amount, Currency};
use crate::domain::ids::{OnOrderId, PartId, YardId};
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, optional_text};
use crate::domain::store::Quantity;
use crate::domain::store::faults::typed_amount;
use crate::domain::store::put_right::{MOST, StockFault};
use crate::domain::store::reorder::Policy;
use crate::domain::store::supply::Supply;
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{OnOrderRow, SupplyRow, Tx};
use crate::words::Text;

/// As typed.
#[derive(Clone, Debug, Default)]
pub struct NewSupply {
    pub supplier: String,
    /// Of one whole unit.
    pub price: String,
    pub minimum_order: String,
    pub pack: String,
    pub lead_days: String,
}

/// What decides when to order and how much, as typed.
#[derive(Clone, Debug, Default)]
pub struct StorePolicy {
    /// A percentage.
    pub service_level: String,
    pub order_cost: String,
    /// A percentage of the price, a year.
    pub holding: String,
}

const SERVICE_LEVEL: &str = "store service level";
const ORDER_COST: &str = "store order cost";
const HOLDING: &str = "store holding share";
/// Where nobody decided.
const USUAL_SERVICE_LEVEL: f64 = 0.95;
/// Nobody waits longer for what was ordered.
const LONGEST: TimeDelta = TimeDelta::days(730);

pub async fn set_supply(workshop: &Workshop, actor: &Actor, part: PartId, new: NewSupply) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let figure = |pointer: &str, text: &str| match text.trim() {
        "" => Ok(0),
        text => money::scaled(text, 3).ok_or_else(|| Refusal::invalid(pointer, said!("supply-quantity"))),
    };
    let supply = Supply {
        supplier: optional_text("/supplier", said!("what-supplier"), &new.supplier, 120)?,
        price: typed_amount("/price", &new.price, &workshop.currency)?,
        minimum_order: figure("/minimum_order", &new.minimum_order)?,
        pack: figure("/pack", &new.pack)?,
        lead_days: new
            .lead_days
            .trim()
            .parse()
            .map_err(|_| Refusal::invalid("/lead_days", said!("supply-lead-days")))?,
    };
    let supply = supply.checked(books(workshop)?).map_err(|f| f.refusal())?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let of_yards = tx.part(part).await?;
    let row = of_yards.first().ok_or(Refusal::NotFound(Thing::Part))?;
    let before = tx.supply(part).await?;
    let to = SupplyRow {
        part_id: part,
        supplier: supply.supplier,
        price_minor: supply.price.minor,
        minimum_order: supply.minimum_order,
        pack: supply.pack,
        lead_days: i64::from(supply.lead_days),
    };
    tx.set_supply(&to).await?;
    let words = |s: &SupplyRow| {
        let (price, least, pack) = (s.price_minor, Quantity(s.minimum_order), Quantity(s.pack));
        format!(
            "{}; {}; {least}; {pack}; {} d",
            s.supplier,
            money::shown(price, &workshop.currency),
            s.lead_days
        )
    };
    let mut trail = Trail::new(actor, now);
    let before = before.as_ref().map(words).unwrap_or_default();
    trail.add(TrailAct::PartBought, subject_of(row), before, words(&to), "");
    trail.write(&mut tx, &stream_of(part)).await?;
    Ok(tx.commit().await?)
}

/// Notes that so much was ordered, under an id that the form carries. Whoever waits for the part sees the day.
pub async fn order_part(
    workshop: &Workshop,
    actor: &Actor,
    id: OnOrderId,
    part: PartId,
    yard: YardId,
    quantity: &str,
    expected: Option<DateTime<Utc>>,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let quantity = Quantity::parse("/quantity", quantity)?;
    if quantity.0 > MOST {
        return Err(StockFault::Absurd.refusal("/quantity").into());
    }
    again_when_changed!({
        let now = workshop.ambient.now();
        sane_day(expected, now)?;
        let mut tx = workshop.db.begin().await?;
        let yard = own_yard(&mut tx, actor, yard).await?;
        let locked = lock_lacking(&mut tx, part, yard.id).await?;
        let row = part_for(&mut tx, part, yard.id).await?;
        if let Some(before) = tx.on_order_by_id(id).await? {
            let same = (before.part_id, before.yard_id, before.quantity) == (row.id, yard.id, quantity.0);
            return if same { Ok(()) } else { Err(Refusal::conflict(said!("part-form-sent-before")).into()) };
        }
        let new = OnOrderRow {
            id,
            part_id: row.id,
            yard_id: yard.id,
            yard_name: yard.name.clone(),
            quantity: quantity.0,
            came: 0,
            ordered_at: now,
            expected_at: expected,
            by_name: actor.name.clone(),
        };
        tx.insert_on_order(&new, actor.id).await?;
        renew_waits(workshop, &mut tx, actor, row.id, yard.id, &locked, now).await?;
        let mut trail = Trail::new(actor, now);
        trail.add(TrailAct::PartOrdered, subject_of(&row), "", quantity, yard.name.clone());
        trail.write(&mut tx, &stream_of(row.id)).await?;
        tx.announce(yard.id);
        Ok(tx.commit().await?)
    })
}

/// When what is on its way is expected; nothing where nobody knows.
pub async fn expect_part(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    on_order: OnOrderId,
    at: Option<DateTime<Utc>>,
) -> Result<()> {
    change_on_order(workshop, actor, part, on_order, Change::Expect(at)).await
}

/// It will not come.
pub async fn drop_on_order(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    on_order: OnOrderId,
) -> Result<()> {
    change_on_order(workshop, actor, part, on_order, Change::Drop).await
}

#[derive(Clone, Copy)]
enum Change {
    Expect(Option<DateTime<Utc>>),
    Drop,
}

async fn change_on_order(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    on_order: OnOrderId,
    change: Change,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    again_when_changed!({
        let now = workshop.ambient.now();
        let mut tx = workshop.db.begin().await?;
        let row = tx.on_order_by_id(on_order).await?.filter(|o| o.part_id == part);
        let row = row.ok_or(Refusal::NotFound(Thing::Part))?;
        let yard = own_yard(&mut tx, actor, row.yard_id).await?;
        let locked = lock_lacking(&mut tx, part, yard.id).await?;
        let part = part_for(&mut tx, part, yard.id).await?;
        if !tx.on_order(part.id).await?.iter().any(|o| o.id == on_order) {
            return Err(Refusal::conflict(said!("stock-not-on-order")).into());
        }
        let mut trail = Trail::new(actor, now);
        let words = |at: Option<DateTime<Utc>>| {
            at.map_or_else(
                || Text::of(&TrailState::NoDate),
                |at| Text::typed(at.format("%Y-%m-%d %H:%M UTC").to_string()),
            )
        };
        match change {
            Change::Expect(at) => {
                sane_day(at, now)?;
                tx.set_on_order_expected(on_order, at).await?;
                trail.add(TrailAct::PartExpected, subject_of(&part), words(row.expected_at), words(at), "");
            }
            Change::Drop => {
                tx.drop_on_order(on_order, now).await?;
                let left = Quantity(row.quantity - row.came);
                trail.add(TrailAct::PartOrderDropped, subject_of(&part), left, "", "");
            }
        }
        renew_waits(workshop, &mut tx, actor, part.id, yard.id, &locked, now).await?;
        trail.write(&mut tx, &stream_of(part.id)).await?;
        tx.announce(yard.id);
        Ok(tx.commit().await?)
    })
}

pub async fn set_store_policy(workshop: &Workshop, actor: &Actor, new: StorePolicy) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    let level = percent(&new.service_level).filter(|p| (50.0..=99.99).contains(p));
    let level = level.ok_or_else(|| Refusal::invalid("/service_level", said!("policy-service-level")))?;
    let cost = match new.order_cost.trim() {
        "" => None,
        text => Some(typed_amount("/order_cost", text, &workshop.currency)?.minor),
    };
    let holding = match new.holding.trim() {
        "" => None,
        text => {
            let share = percent(text).filter(|p| *p > 0.0 && *p <= 100.0);
            Some(share.ok_or_else(|| Refusal::invalid("/holding", said!("policy-holding")))?)
        }
    };
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (before, kept) = (policy(&mut tx).await?, |share: f64| (share / 100.0).to_string());
    tx.set_setting(SERVICE_LEVEL, &kept(level)).await?;
    tx.set_setting(ORDER_COST, &cost.map(|c| c.to_string()).unwrap_or_default()).await?;
    tx.set_setting(HOLDING, &holding.map(kept).unwrap_or_default()).await?;
    let after = policy(&mut tx).await?;
    let mut trail = Trail::new(actor, now);
    let words = |p: &Policy| {
        format!("{:?}; {:?}; {:?}", p.service_level, p.order_cost_minor, p.holding_share).replace("Some", "")
    };
    trail.add(TrailAct::StorePolicySet, "store", words(&before), words(&after), "");
    trail.write(&mut tx, "store").await?;
    Ok(tx.commit().await?)
}

pub(super) async fn policy(tx: &mut Tx) -> Result<Policy> {
    let service_level = tx.setting(SERVICE_LEVEL).await?.and_then(|s| s.parse().ok());
    Ok(Policy {
        service_level: service_level.unwrap_or(USUAL_SERVICE_LEVEL),
        order_cost_minor: tx.setting(ORDER_COST).await?.and_then(|s| s.parse().ok()),
        holding_share: tx.setting(HOLDING).await?.and_then(|s| s.parse().ok()),
    })
}

pub(super) fn books(workshop: &Workshop) -> Result<Currency> {
    let unknown = |_| Refusal::conflict(said!("money-unclear", currency = workshop.currency.as_ref()));
    Ok(Currency::parse(&workshop.currency).map_err(unknown)?)
}

/// The terms of a part, where somebody entered them.
pub(super) fn terms(row: &SupplyRow, books: Currency) -> Supply {
    Supply {
        supplier: row.supplier.clone(),
        price: Amount { minor: row.price_minor, currency: books },
        minimum_order: row.minimum_order,
        pack: row.pack,
        lead_days: u32::try_from(row.lead_days).unwrap_or(0),
    }
}

fn sane_day(at: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Result<()> {
    match at {
        Some(at) if at > now + LONGEST => Err(Refusal::invalid("/at", said!("supply-absurd")).into()),
        _ => Ok(()),
    }
}

fn percent(text: &str) -> Option<f64> {
    let hundredths = money::scaled(text.trim().trim_end_matches('%').trim(), 2)?;
    #[expect(clippy::cast_precision_loss, reason = "at most a few thousand")]
    let percent = hundredths as f64 / 100.0;
    Some(percent)
}
