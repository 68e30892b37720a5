//! Anybody reports a defect at any time. In doubt the machine is out of service.

use serde::{Deserialize, Serialize};

use super::raise::{Found, Source, raise};
use super::trail::Trail;
use super::{Put, Result, Workshop, machine_for, yard_of};
use crate::domain::checklist::{Load, System};
use crate::domain::ids::{DefectId, MachineId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::reading::Context;
use crate::domain::refusal::{Refusal, plain_text};
use crate::domain::standing::Severity;

#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ReportDefect {
    /// Made by the client, so that sending again is harmless.
    pub id: DefectId,
    pub machine: MachineId,
    pub what: String,
    pub system: System,
    /// Whether the reporter is sure that the machine can be used meanwhile. Anything but a clear yes holds it.
    pub safe_to_use: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reported {
    pub defect: DefectId,
    pub severity: Severity,
    pub instruction: String,
    pub work_order: Option<WorkOrderId>,
}

const GOOD_FOR_DAYS: u32 = 14;

pub async fn report_defect(workshop: &Workshop, actor: &Actor, command: ReportDefect) -> Result<Reported> {
    Ok(put_report(workshop, actor, command).await?.answer)
}

/// As [`report_defect`], and says whether it was recorded only now.
pub async fn put_report(workshop: &Workshop, actor: &Actor, command: ReportDefect) -> Result<Put<Reported>> {
    let now = workshop.ambient.now();
    let what = plain_text("/what", "what is wrong", &command.what, 300)?;
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::ReportDefect, command.machine).await?;
    if let Some(kept) = tx.defect(command.id).await? {
        // Sent again: the same answer.
        if kept.machine_id == machine.id && kept.reported_by == actor.id && kept.what == what {
            let answer = Reported {
                defect: kept.id,
                severity: kept.severity,
                instruction: kept.instruction,
                work_order: kept.work_order_id,
            };
            return Ok(Put { answer, first: false });
        }
        return Err(Refusal::conflict("Another defect was already reported under this id.").into());
    }
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict("The machine is retired.").into());
    }
    let found = judge_report(&command, &what);
    let (severity, instruction) = (found.severity, found.instruction.clone());
    let yard = yard_of(&mut tx, &machine).await?;
    let mut trail = Trail::new(actor, now);
    let source = Source {
        check: None,
        checklist: None,
        rules: None,
        engine_hours: machine.engine_hours,
        event_key: format!("report {}", command.id),
    };
    let raised =
        raise(workshop, &mut tx, actor, &machine, &yard, &source, vec![found], &mut trail, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    let answer = Reported { defect: command.id, severity, instruction, work_order: raised.work_order };
    Ok(Put { answer, first: true })
}

/// A doubt, or anything about brakes, steering, restraint or fuel, holds the machine whatever the reporter hopes.
fn judge_report(command: &ReportDefect, what: &str) -> Found {
    let always =
        matches!(command.system, System::Brakes | System::Steering | System::Restraint | System::Fuel);
    let held = always || !command.safe_to_use;
    let (severity, rule, why) = if always {
        let why = format!("Reported on {}: always out of service until it is looked at.", command.system);
        (Severity::OutOfService, "reported on a system that can injure", why)
    } else if held {
        (
            Severity::OutOfService,
            "reported in doubt",
            "The reporter is not sure that it is safe to use.".to_owned(),
        )
    } else {
        (
            Severity::Monitor,
            "reported as safe to use",
            "The reporter is sure that it is safe to use meanwhile.".to_owned(),
        )
    };
    Found {
        id: Some(command.id),
        what: what.to_owned(),
        system: command.system,
        at: None,
        severity,
        rule: rule.to_owned(),
        is_final: always,
        why,
        instruction: if held {
            "Do not use the machine. Park it out of the way, fit the tag, take the key.".to_owned()
        } else {
            "You may use the machine. Watch the defect, and stop if it gets worse.".to_owned()
        },
        good_for_days: (!held).then_some(GOOD_FOR_DAYS),
        good_for_hours: None,
        supporting: Vec::new(),
        failed: Vec::new(),
        context: Context::of(Load::Unladen),
        came_back: false,
        said: None,
        prior: None,
    }
}
