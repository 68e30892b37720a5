//! A repair that somebody outside does: sent, promised, asked after, back, invoiced. The machine stays held throughout.

use chrono::{DateTime, Utc};

use super::order_of_defect::order_subject;
use super::trail::Trail;
use super::{Result, Workshop, log_labour, machine_seen, not_found_order, order_for, tell, yard_of};
use crate::domain::alert::Event;
use crate::domain::currency::{Amount, Currency};
use crate::domain::hearing::AlertKind;
use crate::domain::ids::{OutsideId, WorkOrderId};
use crate::domain::outside::{OutsideCommand, OutsideRepair};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, optional_text, plain_text};
use crate::domain::trail::TrailAct;
use crate::domain::work_order::{OrderState, Wait, WaitingFor};
use crate::storage::{MachineRow, OrderRow, OutsideRow, OutsideWordRow, StorageError, Tx, YardRow};
use crate::words::Text;

/// What is sent away, to whom, and until when it was promised.
#[derive(Clone, Debug, Default)]
pub struct SendOutside {
    pub vendor: String,
    pub what: String,
    /// Which licence the work asks for; empty for none.
    pub licensed: String,
    pub back_by: Option<DateTime<Utc>>,
}

/// What is told of it later.
#[derive(Clone, Debug)]
pub enum OutsideNews {
    Promised {
        back_by: DateTime<Utc>,
    },
    /// Somebody asked, and perhaps was promised another day.
    AskedAfter {
        note: String,
        back_by: Option<DateTime<Utc>>,
    },
    Back {
        licence: String,
    },
    Invoiced {
        number: String,
        amount: String,
        /// Of the invoice; empty for that of the books.
        currency: String,
    },
}

pub async fn send_outside(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    sent: SendOutside,
) -> Result<OutsideId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, order).await?;
    actor.must(Act::SeeQueue)?;
    let vendor = plain_text("/vendor", said!("outside-the-vendor"), &sent.vendor, 80)?;
    let what = plain_text("/what", said!("outside-what-is-done"), &sent.what, 300)?;
    let licensed = optional_text("/licensed", said!("outside-the-licence"), &sent.licensed, 80)?;
    let state = order.state()?;
    let by = may_change(&order, &state, actor)?;
    let repair = OutsideRepair::send(&vendor, Some(licensed).filter(|l| !l.is_empty()), now, now)
        .map_err(|fault| fault.refusal())?;
    if tx.outside_of_order(order.id).await?.iter().any(OutsideRow::is_away) {
        return Err(Refusal::conflict(said!("outside-away-already")).into());
    }
    let promised = match sent.back_by {
        Some(back_by) => Some(told(workshop, &repair, OutsideCommand::Promise { back_by }, now)?),
        None => None,
    };
    let id: OutsideId = workshop.ambient.id();
    tx.insert_outside(id, order.id, &repair, &what, actor.id).await?;
    if let Some(promised) = &promised {
        let row = tx.outside(id).await?.ok_or_else(not_found_order)?;
        tx.insert_outside_word(id, actor.id, now, "", sent.back_by).await?;
        tx.save_outside(&row, promised, now).await?;
    }
    log_labour::stop_on_order(workshop, &mut tx, &order, now).await?;
    let wait =
        Wait { waiting_for: WaitingFor::OutsideRepair, until: sent.back_by, note: repair.vendor.clone() };
    let to = OrderState::Waiting { by, wait };
    tx.save_order_state(&order, &to, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::SentOutside,
        order_subject(&order),
        state.word(),
        to.word(),
        format!("{vendor}: {what}"),
    );
    finish(tx, trail, &order, &machine).await?;
    Ok(id)
}

/// What is heard of it, under the rules of [`crate::domain::outside`].
pub async fn tell_of_outside(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    id: OutsideId,
    news: OutsideNews,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, order).await?;
    actor.must(Act::SeeQueue)?;
    let row = tx.outside(id).await?.filter(|o| o.work_order_id == order.id).ok_or_else(not_found_order)?;
    let mut state = order.state()?;
    // An invoice may come when the order has long ended.
    if !matches!(news, OutsideNews::Invoiced { .. }) {
        may_change(&order, &state, actor)?;
    } else if !actor.may(Act::CancelWorkOrder) && order.mechanic_id != Some(actor.id) {
        return Err(Refusal::not_allowed(Act::CancelWorkOrder).into());
    }
    if row.called_off_at.is_some() {
        return Err(Refusal::conflict(said!("outside-called-off")).into());
    }
    let repair = row.repair(&tx.outside_words(id).await?);
    let mut trail = Trail::new(actor, now);
    let subject = order_subject(&order);
    let mut until = None;
    let next = match news {
        OutsideNews::Promised { back_by } => {
            let next = told(workshop, &repair, OutsideCommand::Promise { back_by }, now)?;
            tx.insert_outside_word(id, actor.id, now, "", Some(back_by)).await?;
            trail.add(TrailAct::PromisedOutside, subject, "", moment(back_by), row.vendor.clone());
            until = Some(back_by);
            next
        }
        OutsideNews::AskedAfter { note, back_by } => {
            let note = plain_text("/note", said!("outside-what-they-said"), &note, 500)?;
            let asked = OutsideCommand::Chase { by: actor.id, note: note.clone() };
            let mut next = told(workshop, &repair, asked, now)?;
            tx.insert_outside_word(id, actor.id, now, &note, None).await?;
            if let Some(back_by) = back_by {
                next = told(workshop, &next, OutsideCommand::Promise { back_by }, now)?;
                tx.insert_outside_word(id, actor.id, now, "", Some(back_by)).await?;
                until = Some(back_by);
            }
            trail.add(TrailAct::ChasedOutside, subject, "", back_by.map_or(Text::default(), moment), note);
            next
        }
        OutsideNews::Back { licence } => {
            let licence = optional_text("/licence", said!("outside-the-licence"), &licence, 80)?;
            let next = told(workshop, &repair, OutsideCommand::Return { licence: Some(licence) }, now)?;
            trail.add(
                TrailAct::BackFromOutside,
                subject,
                "",
                row.vendor.clone(),
                next.licence.clone().unwrap_or_default(),
            );
            if let OrderState::Waiting { by, wait } = &state
                && wait.waiting_for == WaitingFor::OutsideRepair
            {
                let to = OrderState::Claimed { by: *by };
                tx.save_order_state(&order, &to, now).await?;
                state = to;
            }
            next
        }
        OutsideNews::Invoiced { number, amount, currency } => {
            let number = optional_text("/number", said!("outside-the-invoice-number"), &number, 60)?;
            let amount = amount_of(workshop, &amount, &currency)?;
            let next =
                told(workshop, &repair, OutsideCommand::Invoice { number: number.clone(), amount }, now)?;
            // A line of the order's cost, in the same transaction (invariant 5).
            tx.add_order_cost(order.id, amount.minor).await?;
            let shown = crate::domain::money::shown(amount.minor, &workshop.currency);
            trail.add(TrailAct::InvoicedOutside, subject, "", shown, number);
            next
        }
    };
    tx.save_outside(&row, &next, now).await?;
    if let (Some(until), OrderState::Waiting { by, wait }) = (until, &state) {
        let order = tx.order(order.id).await?.ok_or_else(not_found_order)?;
        let wait = Wait { until: Some(until), ..wait.clone() };
        tx.save_order_state(&order, &OrderState::Waiting { by: *by, wait }, now).await?;
    }
    finish(tx, trail, &order, &machine).await
}

/// The repairs outside of one work order, with what was said of each.
pub struct OutsidePage {
    pub order: OrderRow,
    pub machine: MachineRow,
    pub yard: YardRow,
    pub repairs: Vec<(OutsideRow, OutsideRepair, Vec<OutsideWordRow>)>,
}

pub async fn outside_page(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<OutsidePage> {
    let mut tx = workshop.db.read().await?;
    let order = tx.order(id).await?.ok_or_else(not_found_order)?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, order.machine_id)
        .await
        .map_err(|_| not_found_order())?;
    actor.must(Act::SeeQueue)?;
    let yard = yard_of(&mut tx, &machine).await?;
    let mut repairs = Vec::new();
    for row in tx.outside_of_order(id).await? {
        let words = tx.outside_words(row.id).await?;
        repairs.push((row.clone(), row.repair(&words), words));
    }
    Ok(OutsidePage { order, machine, yard, repairs })
}

/// What is away, the latest first; it rises in the queue page by itself.
pub async fn away(workshop: &Workshop, actor: &Actor) -> Result<Vec<OutsideRow>> {
    const MOST: i64 = 50;
    actor.must(Act::SeeQueue)?;
    let mut tx = workshop.db.read().await?;
    // Promises in the order of their days: those that have passed come first, then what has no promise at the end.
    Ok(tx.away_now(actor.id, actor.has(Role::Owner), MOST).await?)
}

/// Tells the supervisors of every promise that has passed, once; answers how many.
pub async fn tell_of_late_outside(workshop: &Workshop) -> Result<usize> {
    let now = workshop.ambient.now();
    let late = workshop.db.read().await?.late_untold(now).await?;
    let mut told = 0;
    for id in late {
        told += usize::from(tell_of_one(workshop, id, now).await?);
    }
    Ok(told)
}

async fn tell_of_one(workshop: &Workshop, id: OutsideId, now: DateTime<Utc>) -> Result<bool> {
    let mut tx = workshop.db.begin().await?;
    let Some(seen) = tx.outside(id).await? else { return Ok(false) };
    let Some(machine) = tx.machine_for_change(seen.machine_id).await? else { return Ok(false) };
    let Some(row) = tx.outside(id).await? else { return Ok(false) };
    let Some(promised_at) = row.promised_at.filter(|at| *at < now && row.told_of != Some(*at)) else {
        return Ok(false);
    };
    if !row.is_away() {
        return Ok(false);
    }
    let yard = yard_of(&mut tx, &machine).await?;
    let order = tx.order(row.work_order_id).await?.ok_or_else(not_found_order)?;
    // Nobody did this: it is put down to the vendor's own promise, on behalf of who has the order.
    let people = tell::hearers(&mut tx, yard.id, AlertKind::OutsideLate, &machine.class).await?;
    let by = order.mechanic_id.or(people.first().copied());
    let by = by.ok_or_else(|| StorageError::Unreadable(format!("work order {} has nobody", order.number)))?;
    let actor = Actor {
        id: by,
        name: row.vendor.clone(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    };
    let mut told = people;
    told.extend(order.mechanic_id.filter(|m| !told.contains(m)).into_iter().collect::<Vec<_>>());
    let event = Event::OutsideLate { vendor: row.vendor.clone(), what: row.what.clone(), promised_at };
    let key = format!("outside {id} {}", promised_at.timestamp_micros());
    tell::write(workshop, &mut tx, &actor, &machine, &yard, &key, event, &told, now).await?;
    tx.told_of_late(&row).await?;
    // The mail is about the vendor; what is written down was done by nobody but the clock.
    let clock = Actor { name: "Chock".to_owned(), ..actor };
    let mut trail = Trail::new(&clock, now);
    trail.add(TrailAct::OutsideLate, order_subject(&order), "", moment(promised_at), row.vendor.clone());
    finish(tx, trail, &order, &machine).await?;
    Ok(true)
}

/// Called off with its order.
pub(super) async fn call_off(
    tx: &mut Tx,
    order: &OrderRow,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<()> {
    for row in tx.outside_of_order(order.id).await?.into_iter().filter(OutsideRow::is_away) {
        tx.call_off_outside(row.id, now).await?;
        trail.add(TrailAct::OutsideCalledOff, order_subject(order), "", "", row.vendor);
    }
    Ok(())
}

/// While it is away nothing is finished here.
pub(super) async fn must_be_here(tx: &mut Tx, order: WorkOrderId) -> Result<()> {
    match tx.outside_of_order(order).await?.into_iter().find(OutsideRow::is_away) {
        Some(row) => Err(Refusal::conflict(said!("outside-still-away", vendor = row.vendor)).into()),
        None => Ok(()),
    }
}

/// Whoever has the order, or supervises; answers who has it.
pub(super) fn may_change(
    order: &OrderRow,
    state: &OrderState,
    actor: &Actor,
) -> Result<crate::domain::ids::PersonId> {
    actor.must(Act::SeeQueue)?;
    if !state.is_taking() {
        return Err(Refusal::conflict(said!("order-has-ended", state = order.word())).into());
    }
    let Some(by) = state.claimant() else {
        let sentence = if actor.may(Act::CancelWorkOrder) {
            said!("order-nobody-has-it")
        } else {
            said!("order-claim-first")
        };
        return Err(Refusal::conflict(sentence).into());
    };
    if by != actor.id && !actor.may(Act::CancelWorkOrder) {
        return Err(Refusal::conflict(said!("order-somebody-has-it", mechanic = order.mechanic_name)).into());
    }
    Ok(by)
}

fn told(
    workshop: &Workshop,
    repair: &OutsideRepair,
    command: OutsideCommand,
    now: DateTime<Utc>,
) -> Result<OutsideRepair> {
    Ok(repair.told(command, books(workshop)?, now).map_err(|fault| fault.refusal())?)
}

fn books(workshop: &Workshop) -> Result<Currency> {
    Ok(Currency::parse(&workshop.currency).map_err(|e| StorageError::Unreadable(e.to_string()))?)
}

fn amount_of(workshop: &Workshop, amount: &str, currency: &str) -> Result<Amount> {
    let currency = match currency.trim() {
        "" => books(workshop)?,
        given => Currency::parse(given)
            .map_err(|_| Refusal::invalid("/currency", said!("outside-currency-unknown")))?,
    };
    let amount = Amount::parse(amount, currency);
    Ok(amount.ok_or_else(|| Refusal::invalid("/amount", said!("outside-amount-unclear")))?)
}

fn moment(at: DateTime<Utc>) -> Text {
    Text::typed(at.format("%Y-%m-%d %H:%M UTC").to_string())
}

async fn finish(mut tx: Tx, trail: Trail<'_>, order: &OrderRow, machine: &MachineRow) -> Result<()> {
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(order.yard_id);
    Ok(tx.commit().await?)
}
