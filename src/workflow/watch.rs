//! The end of a monitored defect's watch: past its date it is out of service at that instant, without anybody opening a
//! page. Also after a stop that slept past it.

use super::raise::{Source, hold_for, open_order, subject, with_version};
use super::trail::Trail;
use super::{Result, Workshop, tell, yard_of};
use crate::domain::alert::{Because, Event};
use crate::domain::defect::DefectState;
use crate::domain::ids::{DefectId, PersonId};
use crate::domain::person::Actor;
use crate::domain::standing::Severity;
use crate::storage::StorageError;

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

async fn end_one(workshop: &Workshop, id: DefectId) -> Result<bool> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let Some(seen) = tx.defect(id).await? else { return Ok(false) };
    let Some(machine) = tx.machine_for_change(seen.machine_id).await? else { return Ok(false) };
    let Some(mut defect) = tx.defect(id).await? else { return Ok(false) };
    let past_date = defect.good_until_at.is_some_and(|at| at <= now);
    let past_hours = defect.good_until_hours.is_some_and(|h| machine.engine_hours.is_some_and(|at| at >= h));
    if defect.closed_at.is_some() || defect.severity != Severity::Monitor || !(past_date || past_hours) {
        return Ok(false);
    }
    // Nobody did this: it is put down to the reporter's watch, in the name of the rule.
    let reporter = tx
        .person(defect.reported_by)
        .await?
        .ok_or_else(|| StorageError::Unreadable(format!("the reporter of defect {id} is gone")))?;
    let actor = rule_itself(reporter.id);
    let yard = yard_of(&mut tx, &machine).await?;
    let mut trail = Trail::new(&actor, now);
    let before = defect.state;
    let until = if past_date { "date" } else { "engine hours" };
    defect.severity = Severity::OutOfService;
    defect.state = DefectState::raised(Severity::OutOfService);
    defect.why = format!("Its good-until {until} has passed without a repair. {}", defect.why);
    defect.instruction = "Do not use the machine. The time to watch this defect is over.".to_owned();
    if defect.work_order_id.is_none() {
        defect.work_order_id = Some(match tx.taking_order(machine.id).await? {
            Some(order) => order.id,
            None => open_order(workshop, &mut tx, &machine, &mut trail, now).await?,
        });
    }
    tx.update_defect(&defect).await?;
    let rules = workshop.rules_of(&mut tx, &defect).await?;
    let why = with_version(&defect.why, rules.as_deref());
    trail.add("good-until passed", subject(id), before, defect.state, why.clone());
    let source = Source {
        check: None,
        checklist: defect.checklist_id,
        rules: None,
        engine_hours: machine.engine_hours,
        event_key: format!("watch {id}"),
    };
    let hold = hold_for(workshop, &actor, &machine, &defect, &source, now);
    trail.add("hold placed", format!("hold {}", hold.id), "", "open", hold.reason.clone());
    tx.insert_holds(&[hold]).await?;
    let event = Event::MachineHeld {
        why: vec![Because::new(&format!("{} (good until passed)", defect.what), &why)],
        instruction: defect.instruction.clone(),
        work_order: defect.work_order_id,
    };
    tell::tell(workshop, &mut tx, &actor, &machine, &yard, &source.event_key, event, &[reporter.id], now)
        .await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(true)
}

/// The hold's placer must be a person; the name says that it was the rule.
fn rule_itself(reporter: PersonId) -> Actor {
    Actor { id: reporter, name: "Chock (good until)".to_owned(), roles: Vec::new(), yards: Vec::new() }
}
