//! Anybody may ground a machine by hand, with a reason. It is lifted by whoever placed it, or by a supervisor with a
//! reason, and then the placer is told.

use super::trail::Trail;
use super::{Put, Result, Workshop, machine_for, tell, yard_of};
use crate::domain::alert::{Because, Event};
use crate::domain::ids::{HoldId, MachineId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, plain_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{HoldRow, MachineRow, Tx};
use crate::words::Text;

/// `id` is made by the client: placing the same hold again changes nothing.
pub async fn place_hold(
    workshop: &Workshop,
    actor: &Actor,
    id: HoldId,
    machine: MachineId,
    reason: &str,
) -> Result<HoldId> {
    Ok(put_hold(workshop, actor, id, machine, reason).await?.answer)
}

/// As [`place_hold`], and says whether it was placed only now.
pub async fn put_hold(
    workshop: &Workshop,
    actor: &Actor,
    id: HoldId,
    machine: MachineId,
    reason: &str,
) -> Result<Put<HoldId>> {
    let reason = plain_text("/reason", said!("what-reason-for-hold"), reason, 300)?;
    let reason = Text::typed(reason);
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::PlaceHold, machine).await?;
    if let Some(kept) = tx.hold(id).await? {
        if kept.machine_id == machine.id && kept.placed_by == actor.id && kept.reason == reason {
            return Ok(Put { answer: id, first: false });
        }
        return Err(Refusal::conflict(said!("hold-id-taken")).into());
    }
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict(said!("machine-retired")).into());
    }
    place(workshop, &mut tx, actor, id, &machine, reason).await?;
    tx.commit().await?;
    Ok(Put { answer: id, first: true })
}

/// Within a transaction that has the machine locked.
pub(super) async fn place(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    id: HoldId,
    machine: &MachineRow,
    reason: Text,
) -> Result<()> {
    let now = workshop.ambient.now();
    let yard = yard_of(tx, machine).await?;
    let hold = HoldRow {
        id,
        machine_id: machine.id,
        yard_id: machine.yard_id,
        defect_id: None,
        reason: reason.clone(),
        placed_by: actor.id,
        placed_by_name: actor.name.clone(),
        since: now,
        placed_at: now,
        hours_at: machine.engine_hours,
        lifted_at: None,
        lift_reason: None,
    };
    tx.insert_holds(&[hold]).await?;
    let event = Event::MachineHeld {
        why: vec![Because::new(&reason, &reason)],
        instruction: said!("hold-instruction"),
        work_order: None,
        recorded_at: None,
    };
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::HoldPlaced, format!("hold {id}"), "", TrailState::Open, reason);
    tell::tell(workshop, tx, actor, machine, &yard, &format!("hold {id}"), event, &[actor.id], now).await?;
    trail.write_for_machine(tx, machine.id).await?;
    tx.announce(machine.yard_id);
    Ok(())
}

/// Lifts a hold placed by hand. One that came from a defect is lifted by its release and by nothing else.
pub async fn lift_hold(workshop: &Workshop, actor: &Actor, id: HoldId, reason: &str) -> Result<MachineId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let seen = tx.hold(id).await?.ok_or(Refusal::NotFound(Thing::Hold))?;
    let machine = machine_for(&mut tx, actor, Act::LiftOwnHold, seen.machine_id).await?;
    let hold = tx.hold(id).await?.ok_or(Refusal::NotFound(Thing::Hold))?;
    if hold.lifted_at.is_some() {
        return Err(Refusal::conflict(said!("hold-lifted-already")).into());
    }
    if hold.defect_id.is_some() {
        return Err(Refusal::conflict(said!("hold-of-a-defect")).into());
    }
    let own = hold.placed_by == actor.id;
    if !own {
        actor.must(Act::LiftOthersHold)?;
    }
    let reason = plain_text("/reason", said!("what-reason-for-lifting"), reason, 300)?;
    tx.lift_hand_hold(id, actor.id, now, &reason).await?;
    let fit_for_use = tx.count_open_holds(machine.id).await? == 0;
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::HoldLifted,
        format!("hold {id}"),
        TrailState::Open,
        TrailState::Lifted,
        reason.clone(),
    );
    if !own {
        let yard = yard_of(&mut tx, &machine).await?;
        let event = Event::HoldLifted {
            placed_by: hold.placed_by_name,
            hold_reason: hold.reason,
            lift_reason: reason,
            fit_for_use,
        };
        let key = format!("lift {id}");
        tell::write(workshop, &mut tx, actor, &machine, &yard, &key, event, &[hold.placed_by], now).await?;
    }
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(machine.id)
}
