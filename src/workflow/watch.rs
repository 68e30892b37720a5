//! The end of a monitored defect's watch: past its date it is out of service at that instant, without anybody opening a
//! page. Also after a stop that slept past it. Past its engine hours, with the reading that shows it.

use chrono::{DateTime, TimeDelta, Utc};

use super::order_of_defect::{in_progress, open_order};
use super::raise::{Source, hold_for, subject, with_version};
use super::trail::Trail;
use super::{Result, Workshop, tell, yard_of};
use crate::domain::alert::{Because, Event};
use crate::domain::defect::DefectState;
use crate::domain::ids::{DefectId, PersonId};
use crate::domain::person::Actor;
use crate::domain::standing::Severity;
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::unit::Hours;
use crate::storage::{DefectRow, MachineRow, StorageError, Tx, YardRow};

/// What decided, in an answer, beside the rules of the checklists.
pub const GOOD_UNTIL: &str = "good until";

/// Puts out of service every monitored defect whose good-until has passed, each in its own transaction; answers how
/// many.
pub async fn end_watches(workshop: &Workshop) -> Result<usize> {
    let now = workshop.ambient.now();
    let due = workshop.db.read().await?.ended_watches(now).await?;
    let mut ended = 0;
    for id in due {
        ended += usize::from(end_one(workshop, id).await?);
    }
    Ok(ended)
}

/// How long until the next watch ends by its date; None when none is kept.
pub async fn until_next_watch_end(workshop: &Workshop) -> Result<Option<TimeDelta>> {
    let next = workshop.db.read().await?.next_watch_end().await?;
    Ok(next.map(|at| at - workshop.ambient.now()))
}

async fn end_one(workshop: &Workshop, id: DefectId) -> Result<bool> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let Some(seen) = tx.defect(id).await? else { return Ok(false) };
    let Some(machine) = tx.machine_for_change(seen.machine_id).await? else { return Ok(false) };
    let Some(defect) = tx.defect(id).await? else { return Ok(false) };
    let past_hours = defect.good_until_hours.is_some_and(|h| machine.engine_hours.is_some_and(|at| at >= h));
    let over = past_hours || is_past(&defect, now);
    if defect.closed_at.is_some() || defect.severity != Severity::Monitor || !over {
        return Ok(false);
    }
    let yard = yard_of(&mut tx, &machine).await?;
    let actor = rule_itself(defect.reported_by);
    let mut trail = Trail::new(&actor, now);
    end_watch(workshop, &mut tx, &machine, &yard, machine.engine_hours, defect, &mut trail, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(true)
}

/// Ends one watch inside the caller's transaction, with the machine locked; `hours` are what the meter shows now.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
pub async fn end_watch(
    workshop: &Workshop,
    tx: &mut Tx,
    machine: &MachineRow,
    yard: &YardRow,
    hours: Option<Hours>,
    mut defect: DefectRow,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<DefectRow> {
    // Nobody did this: it is put down to the reporter's watch, in the name of the rule.
    let reporter = tx
        .person(defect.reported_by)
        .await?
        .ok_or_else(|| StorageError::Unreadable(format!("the reporter of defect {} is gone", defect.id)))?;
    let actor = rule_itself(reporter.id);
    let before = defect.state;
    defect.severity = Severity::OutOfService;
    // What was repaired already stays so: it waits for its retest and its release.
    if defect.state == DefectState::Monitored {
        defect.state = DefectState::raised(Severity::OutOfService);
    }
    defect.why = match (defect.good_until_hours, hours) {
        (Some(end), Some(at)) if at >= end && !is_past(&defect, now) => {
            said!("watch-hours-passed", end = end, at = at, why = defect.why)
        }
        _ => said!("watch-date-passed", why = defect.why),
    };
    defect.instruction = said!("watch-is-over");
    if !in_progress(tx, &defect).await? {
        defect.work_order_id = Some(match tx.taking_order(machine.id).await? {
            Some(order) => order.id,
            None => open_order(workshop, tx, machine, trail, now).await?,
        });
    }
    tx.update_defect(&defect).await?;
    defect.version += 1;
    let rules = workshop.rules_of(tx, &defect).await?;
    let why = with_version(&defect.why, rules.as_ref());
    trail.add(TrailAct::GoodUntilPassed, subject(defect.id), before, defect.state, why.clone());
    let source = Source {
        check: None,
        checklist: defect.checklist_id,
        rules: None,
        engine_hours: hours,
        found_at: now,
        // It may be lowered again, and its next watch may end too.
        event_key: format!("watch {} {}", defect.id, defect.version),
    };
    let hold = hold_for(workshop, &actor, machine, &defect, &source, now, now);
    trail.add(TrailAct::HoldPlaced, format!("hold {}", hold.id), "", TrailState::Open, hold.reason.clone());
    tx.insert_holds(&[hold]).await?;
    let event = Event::MachineHeld {
        why: vec![Because::new(&said!("watch-passed-short", what = defect.what), &why)],
        instruction: defect.instruction.clone(),
        work_order: defect.work_order_id,
        recorded_at: None,
    };
    tell::tell(workshop, tx, &actor, machine, yard, &source.event_key, event, &[reporter.id], now).await?;
    Ok(defect)
}

fn is_past(defect: &DefectRow, now: DateTime<Utc>) -> bool {
    defect.good_until_at.is_some_and(|at| at <= now)
}

/// The hold's placer must be a person; the name says that nobody did it.
fn rule_itself(reporter: PersonId) -> Actor {
    Actor {
        id: reporter,
        name: "Chock".to_owned(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    }
}
