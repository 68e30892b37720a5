//! An operator submits a pre-use check; the answer is the verdict. Sending the same check again changes nothing and
//! answers the same (invariant 8).

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::engine_hours::Meter;
use super::history::history;
use super::raise::{Raised, Source, raise};
use super::trail::Trail;
use super::{Put, Result, WorkflowError, Workshop, from_json, machine_for, to_json, yard_of};
use crate::domain::answers::read;
use crate::domain::checklist::{Checklist, Load};
use crate::domain::ids::{CheckId, ChecklistId, DefectId, MachineId, WorkOrderId};
use crate::domain::judge::{Finding, Reason, judge};
use crate::domain::person::{Act, Actor};
use crate::domain::reading::{Before, Context, Outcome, RawAnswer, Reading};
use crate::domain::refusal::{Problem, Refusal, optional_text};
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::Hours;
use crate::storage::{DefectRow, HoldRow, MachineRow, NewCheck, NewReading, StorageError, Tx};

/// A check as it arrives. `id` is made by the client.
#[derive(Clone, Debug, Serialize)]
pub struct SubmitCheck {
    #[serde(skip)]
    pub id: CheckId,
    pub machine: MachineId,
    pub checklist: ChecklistId,
    pub load: Load,
    pub engine_hours: Option<Hours>,
    pub hours_confirmed: bool,
    pub answers: Vec<RawAnswer>,
    pub note: String,
    /// When the form was made; what lies after the end, or long before it, is not believed.
    pub begun_at: Option<DateTime<Utc>>,
    /// When the operator finished it; now when not said. Never later than now.
    pub recorded_at: Option<DateTime<Utc>>,
}

/// What the operator is told, kept as it was first said.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answered {
    pub check: CheckId,
    pub machine: MachineId,
    /// What the machine may be used for now, the check and whatever else is open taken together.
    pub standing: Standing,
    /// True when the check itself passed but the machine was held already.
    pub held_already: bool,
    pub findings: Vec<AnsweredFinding>,
    pub work_order: Option<WorkOrderId>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnsweredFinding {
    pub defect: DefectId,
    /// True when the defect was open before: this check saw it again.
    pub seen_before: bool,
    pub what: String,
    pub severity: Severity,
    pub rule: String,
    pub why: String,
    pub instruction: String,
    pub supporting: Vec<Reason>,
}

/// A form of last week says nothing of how long the walk took.
const OLDEST_FORM: TimeDelta = TimeDelta::days(7);
const LATEST_CLOCK_AHEAD: TimeDelta = TimeDelta::minutes(10);

/// Records the check, raises what it found, and answers with the verdict.
pub async fn submit_check(workshop: &Workshop, actor: &Actor, command: SubmitCheck) -> Result<Answered> {
    Ok(put_check(workshop, actor, command).await?.answer)
}

/// As [`submit_check`], and says whether it was recorded only now.
pub async fn put_check(workshop: &Workshop, actor: &Actor, command: SubmitCheck) -> Result<Put<Answered>> {
    let now = workshop.ambient.now();
    let fingerprint = fingerprint(&command)?;
    match submit(workshop, actor, &command, &fingerprint, now).await {
        // The same id arrived twice at once; the other one won.
        Err(WorkflowError::Storage(StorageError::Duplicate(e))) => {
            let mut tx = workshop.db.read().await?;
            match already(&mut tx, actor, &command, &fingerprint).await? {
                Some(answer) => Ok(Put { answer, first: false }),
                None => Err(StorageError::Duplicate(e).into()),
            }
        }
        done => done,
    }
}

async fn submit(
    workshop: &Workshop,
    actor: &Actor,
    command: &SubmitCheck,
    fingerprint: &str,
    now: DateTime<Utc>,
) -> Result<Put<Answered>> {
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::SubmitCheck, command.machine).await?;
    if let Some(answer) = already(&mut tx, actor, command, fingerprint).await? {
        return Ok(Put { answer, first: false });
    }
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict("The machine is retired. Take another one.").into());
    }
    let checklist = workshop.checklist(&mut tx, command.checklist).await?;
    if !checklist.classes.contains(&machine.class) {
        let sentence = format!("“{}” is no checklist for a {}.", checklist.title, machine.class);
        return Err(Refusal::invalid("/checklist", sentence).into());
    }
    let (context, readings) = understand(&checklist, command, &machine)?;
    let note = optional_text("/note", "the note", &command.note, 2000)?;
    let recorded_at =
        command.recorded_at.filter(|at| *at < now + LATEST_CLOCK_AHEAD).map_or(now, |at| at.min(now));

    let past = history(&mut tx, &checklist, machine.id, recorded_at).await?;
    let findings = judge(&checklist, &context, &readings, &past).findings;
    let yard = yard_of(&mut tx, &machine).await?;
    let holds = tx.open_holds(machine.id).await?;
    let mut trail = Trail::new(actor, now);

    // The check row comes first: defects refer to it. What it answers is known before anything is written.
    let open = tx.open_defects(machine.id).await?;
    let meter = context.engine_hours.map(|hours| Meter {
        machine: &machine,
        yard: &yard,
        holds: &holds,
        hours,
        event_key: format!("use {}", command.id),
    });
    let ends = meter.as_ref().is_some_and(|m| m.ending(&open).next().is_some());
    let planned = plan(&findings, &holds, &open, ends);
    tx.insert_check(
        &NewCheck {
            id: command.id,
            machine_id: machine.id,
            checklist_id: command.checklist,
            operator_id: actor.id,
            load: context.load,
            engine_hours: context.engine_hours,
            note,
            answers: to_json(&readings)?,
            fingerprint: fingerprint.to_owned(),
            verdict: planned,
            begun_at: command
                .begun_at
                .filter(|at| (TimeDelta::zero()..=OLDEST_FORM).contains(&(recorded_at - *at))),
            recorded_at,
            received_at: now,
        },
        &worth_indexing(&readings),
    )
    .await?;
    trail.add("check submitted", format!("check {}", command.id), "", planned, "");
    let source = Source {
        check: Some(command.id),
        checklist: Some(command.checklist),
        load: context.load,
        engine_hours: context.engine_hours,
        event_key: format!("check {}", command.id),
    };
    let found = findings.iter().cloned().map(Into::into).collect();
    let raised = raise(workshop, &mut tx, actor, &machine, &yard, &source, found, &mut trail, now).await?;
    let mut answered = answer(command, planned, findings, &raised, !holds.is_empty());
    if let Some(meter) = meter {
        meter.moved(workshop, &mut tx, actor, &mut trail, now).await?;
        let ended = meter.end_watches(workshop, &mut tx, &open, &mut trail, now).await?;
        answered.tell_of(ended);
    }
    tx.insert_answer(command.id, &to_json(&answered)?).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(Put { answer: answered, first: true })
}

/// Typed answers become readings, or every question at once.
fn understand(
    checklist: &Checklist,
    command: &SubmitCheck,
    machine: &MachineRow,
) -> Result<(Context, Vec<Reading>)> {
    let context = Context {
        engine_hours: command.engine_hours,
        hours_confirmed: command.hours_confirmed,
        ..Context::of(command.load)
    };
    let before = Before { engine_hours: machine.engine_hours };
    let readings = read(checklist, &context, &command.answers, &before).map_err(|questions| {
        let problems =
            questions.into_iter().map(|q| Problem { pointer: q.pointer, sentence: q.sentence }).collect();
        Refusal::Invalid { problems }
    })?;
    Ok((context, readings))
}

/// The machine's standing once this check is in; `ends` when its engine hours end a watch.
fn plan(findings: &[Finding], holds: &[HoldRow], open: &[DefectRow], ends: bool) -> Standing {
    let held = ends || !holds.is_empty() || findings.iter().any(|f| f.severity == Severity::OutOfService);
    let watched = !findings.is_empty() || open.iter().any(|d| d.severity == Severity::Monitor);
    Standing::derive(false, i64::from(held), i64::from(watched))
}

fn answer(
    command: &SubmitCheck,
    standing: Standing,
    findings: Vec<Finding>,
    raised: &Raised,
    held_before: bool,
) -> Answered {
    let grounds = findings.iter().any(|f| f.severity == Severity::OutOfService);
    let findings =
        findings.into_iter().zip(&raised.defects).map(|(f, (defect, seen_before))| AnsweredFinding {
            defect: *defect,
            seen_before: *seen_before,
            what: f.what,
            severity: f.severity,
            rule: f.rule,
            why: f.why,
            instruction: f.instruction,
            supporting: f.supporting,
        });
    Answered {
        check: command.id,
        machine: command.machine,
        standing,
        held_already: held_before && !grounds,
        findings: findings.collect(),
        work_order: raised.work_order,
    }
}

impl Answered {
    /// Defects whose watch ended with this check's engine hours: as much a reason as what the check itself found.
    fn tell_of(&mut self, ended: Vec<DefectRow>) {
        for d in ended {
            self.held_already = false;
            self.work_order = self.work_order.or(d.work_order_id);
            self.findings.push(AnsweredFinding {
                defect: d.id,
                seen_before: true,
                what: d.what,
                severity: d.severity,
                rule: d.rule,
                why: d.why,
                instruction: d.instruction,
                supporting: Vec::new(),
            });
        }
        // Most severe first, otherwise as they were found.
        self.findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    }
}

/// The same check sent before: its answer. Another check under the same id is refused.
async fn already(
    tx: &mut Tx,
    actor: &Actor,
    command: &SubmitCheck,
    fingerprint: &str,
) -> Result<Option<Answered>> {
    let Some(kept) = tx.check(command.id).await? else { return Ok(None) };
    if kept.operator_id != actor.id || kept.fingerprint != fingerprint {
        return Err(Refusal::conflict(
            "Another check was already recorded under this id. It was not changed.",
        )
        .into());
    }
    from_json(&kept.answered).map(Some)
}

/// Of everything that was sent, so that a check sent again is known from another one under the same id.
fn fingerprint(command: &SubmitCheck) -> Result<String> {
    let digest = Sha256::digest(to_json(command)?.as_bytes());
    Ok(digest.iter().map(|b| format!("{b:02x}")).collect())
}

/// Readings with a number or with trouble go into the series; a plain "ok" is in the check's answers only.
fn worth_indexing(readings: &[Reading]) -> Vec<NewReading> {
    (1..)
        .zip(readings)
        .filter(|(_, r)| r.value.is_some() || !matches!(r.outcome, Outcome::Ok | Outcome::NotApplicable))
        .map(|(seq, r)| NewReading {
            seq,
            item: r.item.clone(),
            position: r.position.clone().unwrap_or_default(),
            outcome: r.outcome,
            level: r.level.map(|l| l.to_string()),
            value_base: r.value.as_ref().map(|v| v.base),
            value_read: r.value.as_ref().map(|v| v.as_read.clone()),
            unit: r.value.as_ref().map(|v| v.unit.to_string()),
            corrected_what: r.correction.as_ref().map(|c| c.what.clone()),
            corrected_base: r.correction.as_ref().and_then(|c| c.amount.as_ref()).map(|a| a.base),
        })
        .collect()
}
