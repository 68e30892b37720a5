//! Anybody reports a defect at any time, by answering a few questions. In doubt the machine is out of service.

use super::raise::{Found, Source, raise};
use super::trail::Trail;
use super::{Put, Result, Workshop, from_json, machine_for, machine_seen, tell, yard_of};
use crate::domain::alert::Event;
use crate::domain::checklist::{Load, System};
use crate::domain::ids::{DefectId, MachineId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::reading::Context;
use crate::domain::refusal::{Refusal, plain_text};
use crate::domain::risk::{Answers, Assessment, BY_RISK_LEVEL, RiskLevel, assess};
use crate::domain::standing::Severity;
use crate::words::Text;

#[derive(Clone, Debug)]
pub struct ReportDefect {
    /// Made by the client, so that sending again is harmless.
    pub id: DefectId,
    pub machine: MachineId,
    pub what: String,
    /// A question left open is "not sure", which counts as the worst.
    pub answers: Answers,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Reported {
    pub defect: DefectId,
    pub severity: Severity,
    pub why: Text,
    pub instruction: Text,
    pub risk: Assessment,
    pub work_order: Option<WorkOrderId>,
}

const GOOD_FOR_DAYS: u32 = 14;

pub async fn report_defect(workshop: &Workshop, actor: &Actor, command: ReportDefect) -> Result<Reported> {
    Ok(put_report(workshop, actor, command).await?.answer)
}

/// As [`report_defect`], and says whether it was recorded only now.
pub async fn put_report(workshop: &Workshop, actor: &Actor, command: ReportDefect) -> Result<Put<Reported>> {
    let now = workshop.ambient.now();
    if command.what.trim().is_empty() {
        return Err(Refusal::invalid("/what", said!("script-say-what")).into());
    }
    let what = plain_text("/what", said!("what-is-wrong"), &command.what, 300)?;
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::ReportDefect, command.machine).await?;
    if let Some(kept) = tx.defect(command.id).await? {
        // Sent again: the same answer.
        let risk: Option<Assessment> = kept.risk.as_deref().map(from_json).transpose()?;
        let same = kept.machine_id == machine.id && kept.reported_by == actor.id && kept.what == what;
        if let Some(risk) = risk.filter(|r| same && r.answers == command.answers) {
            let answer = Reported {
                defect: kept.id,
                severity: kept.severity,
                why: kept.why,
                instruction: kept.instruction,
                risk,
                work_order: kept.work_order_id,
            };
            return Ok(Put { answer, first: false });
        }
        return Err(Refusal::conflict(said!("report-id-taken")).into());
    }
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict(said!("machine-retired")).into());
    }
    let in_use = tx.checklist_for_class(&machine.class).await?;
    let threshold = match &in_use {
        Some(row) => Some(workshop.checklist(&mut tx, row.id).await?.out_of_service_from),
        None => None,
    };
    let risk = assess(command.answers, threshold);
    let found = found(&command, &what, risk.clone());
    let (severity, instruction) = (found.severity, found.instruction.clone());
    let yard = yard_of(&mut tx, &machine).await?;
    let mut trail = Trail::new(actor, now);
    let source = Source {
        check: None,
        checklist: in_use.as_ref().map(|row| row.id),
        rules: match &in_use {
            Some(row) if risk.rule == BY_RISK_LEVEL => {
                Some(workshop.rulebook(&mut tx, row.id).await?.named())
            }
            _ => None,
        },
        engine_hours: machine.engine_hours,
        found_at: now,
        event_key: format!("report {}", command.id),
    };
    let raised =
        raise(workshop, &mut tx, actor, &machine, &yard, &source, vec![found], &mut trail, now).await?;
    // Whoever stopped the machine is told so with everybody else.
    if severity == Severity::Monitor {
        let good_until = tx.defect(command.id).await?.and_then(|d| d.good_until_at);
        let (what, why) = (Text::typed(what), risk.in_plain_words(in_use.is_some()));
        let event = Event::ReportReceived { defect: command.id, what, why, good_until };
        let key = format!("received {}", command.id);
        tell::write(workshop, &mut tx, actor, &machine, &yard, &key, event, &[actor.id], now).await?;
    }
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    let why = risk.why.clone();
    let work_order = raised.work_order;
    let answer = Reported { defect: command.id, severity, why, instruction, risk, work_order };
    Ok(Put { answer, first: true })
}

/// From which risk level a report takes this machine out of service, and the title of the checklist that says so.
pub async fn report_threshold(
    workshop: &Workshop,
    actor: &Actor,
    machine: MachineId,
) -> Result<(RiskLevel, Option<Text>)> {
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::ReportDefect, machine).await?;
    Ok(match tx.checklist_for_class(&machine.class).await? {
        Some(row) => (workshop.checklist(&mut tx, row.id).await?.out_of_service_from, Some(row.title)),
        None => (RiskLevel::default(), None),
    })
}

fn found(command: &ReportDefect, what: &str, risk: Assessment) -> Found {
    let held = risk.severity == Severity::OutOfService;
    Found {
        id: Some(command.id),
        what: Text::typed(what),
        // What nobody can tell yet is looked at as a whole.
        system: command.answers.affects.unwrap_or(System::General),
        at: None,
        severity: risk.severity,
        rule: risk.rule.clone(),
        is_final: risk.final_,
        why: risk.why.clone(),
        instruction: if held { said!("report-stop") } else { said!("defect-use-and-watch") },
        good_for_days: (!held).then_some(GOOD_FOR_DAYS),
        good_for_hours: None,
        supporting: Vec::new(),
        failed: Vec::new(),
        context: Context::of(Load::Unladen),
        came_back: false,
        said: None,
        prior: None,
        risk: Some(risk),
    }
}
