//! A person changes what a rule or a report decided: anybody may raise, with a reason; only a supervisor may lower, with a
//! reason and a good-until, and never below what a final rule decided.

use chrono::{DateTime, TimeDelta, Utc};

use super::order_of_defect::{join_unassigned, open_order};
use super::raise::{Source, hold_for, subject};
use super::trail::Trail;
use super::{Result, Workshop, machine_for, tell, yard_of};
use crate::domain::alert::{Because, Event};
use crate::domain::defect::{DefectState, may_lower};
use crate::domain::ids::{DefectId, MachineId, ReleaseId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, plain_text};
use crate::domain::standing::Severity;
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{DefectRow, ReleaseRow, Tx};

/// Where a person decided and not a rule of a checklist.
const RAISED: &str = "raised by a person";
const LOWERED: &str = "lowered by a supervisor";

/// Puts a monitored defect out of service.
pub async fn raise_severity(
    workshop: &Workshop,
    actor: &Actor,
    id: DefectId,
    reason: &str,
) -> Result<MachineId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (mut defect, machine) = open_defect(&mut tx, actor, Act::RaiseSeverity, id).await?;
    let reason = plain_text("/reason", said!("what-reason"), reason, 300)?;
    if defect.severity == Severity::OutOfService {
        return Err(Refusal::conflict(said!("severity-out-of-service-already")).into());
    }
    let yard = yard_of(&mut tx, &machine).await?;
    let mut trail = Trail::new(actor, now);
    let before = defect.state;
    defect.severity = Severity::OutOfService;
    defect.state = DefectState::raised(Severity::OutOfService);
    defect.rule = RAISED.to_owned();
    defect.why = said!("severity-raised-by", who = actor.name, reason = reason);
    defect.instruction = said!("severity-stop");
    defect.good_until_at = None;
    defect.good_until_hours = None;
    tx.update_defect(&defect).await?;
    defect.version += 1;
    let order = match tx.taking_order(machine.id).await? {
        Some(order) => order.id,
        None => open_order(workshop, &mut tx, &machine, &mut trail, now).await?,
    };
    join_unassigned(&mut tx, std::slice::from_ref(&defect), order).await?;
    let source = Source {
        check: None,
        checklist: defect.checklist_id,
        rules: None,
        engine_hours: machine.engine_hours,
        found_at: now,
        event_key: format!("raise {id} {}", defect.version),
    };
    let hold = hold_for(workshop, actor, &machine, &defect, &source, now, now);
    trail.add(TrailAct::SeverityRaised, subject(id), before, defect.state, reason.clone());
    trail.add(TrailAct::HoldPlaced, format!("hold {}", hold.id), "", TrailState::Open, hold.reason.clone());
    tx.insert_holds(&[hold]).await?;
    let event = Event::MachineHeld {
        why: vec![Because::new(
            &said!("severity-raised-short", what = defect.what, reason = reason),
            &said!("severity-raised-why", what = defect.what, why = defect.why),
        )],
        instruction: defect.instruction.clone(),
        work_order: Some(order),
        recorded_at: None,
    };
    let also = [actor.id, defect.reported_by];
    tell::tell(workshop, &mut tx, actor, &machine, &yard, &source.event_key, event, &also, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(machine.id)
}

/// Lets a machine go on with a defect under watch. The hold is lifted by this signed act, on record as a release that
/// repairs nothing.
pub async fn lower_severity(
    workshop: &Workshop,
    actor: &Actor,
    id: DefectId,
    reason: &str,
    good_until: DateTime<Utc>,
) -> Result<MachineId> {
    const LONGEST_WATCH: TimeDelta = TimeDelta::days(90);
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (mut defect, machine) = open_defect(&mut tx, actor, Act::LowerSeverity, id).await?;
    let reason = plain_text("/reason", said!("what-reason"), reason, 300)?;
    may_lower(defect.severity, defect.state, defect.is_final)?;
    if good_until <= now || good_until > now + LONGEST_WATCH {
        let sentence = said!("severity-good-until", most = LONGEST_WATCH.num_days());
        return Err(Refusal::invalid("/good_until", sentence).into());
    }
    let order = defect.work_order_id.ok_or_else(|| Refusal::conflict(said!("severity-open-an-order")))?;
    let before = defect.state;
    defect.severity = Severity::Monitor;
    defect.state = DefectState::raised(Severity::Monitor);
    defect.rule = LOWERED.to_owned();
    defect.why = said!("severity-lowered-by", who = actor.name, reason = reason);
    defect.instruction = said!("defect-use-and-watch");
    defect.good_until_at = Some(good_until);
    // The end of an earlier watch is none of this one.
    defect.good_until_hours = None;
    tx.update_defect(&defect).await?;
    let release: ReleaseId = workshop.ambient.id();
    tx.insert_release(&ReleaseRow {
        id: release,
        machine_id: machine.id,
        work_order_id: order,
        by_id: actor.id,
        by_name: actor.name.clone(),
        at: now,
        note: said!("severity-lowered-note", what = defect.what, reason = reason),
        released_by_repairer: false,
    })
    .await?;
    tx.lift_hold_of_defect(id, release, actor.id, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::SeverityLowered,
        subject(id),
        before,
        defect.state,
        said!("trail-lowered", reason = reason, until = good_until.to_string()),
    );
    let fit_for_use = tx.count_open_holds(machine.id).await? == 0;
    let yard = yard_of(&mut tx, &machine).await?;
    let event = Event::HoldLifted {
        placed_by: tx.person(defect.reported_by).await?.map(|p| p.name).unwrap_or_default(),
        hold_reason: defect.what.clone(),
        lift_reason: reason,
        fit_for_use,
    };
    let key = format!("lower {release}");
    tell::tell(workshop, &mut tx, actor, &machine, &yard, &key, event, &[defect.reported_by], now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(machine.id)
}

async fn open_defect(
    tx: &mut Tx,
    actor: &Actor,
    act: Act,
    id: DefectId,
) -> Result<(DefectRow, crate::storage::MachineRow)> {
    let seen = tx.defect(id).await?.ok_or(Refusal::NotFound(Thing::Defect))?;
    let machine = machine_for(tx, actor, act, seen.machine_id).await?;
    let defect = tx.defect(id).await?.ok_or(Refusal::NotFound(Thing::Defect))?;
    if defect.closed_at.is_some() {
        return Err(Refusal::conflict(said!("severity-defect-closed")).into());
    }
    Ok((defect, machine))
}
