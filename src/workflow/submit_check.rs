//! An operator submits a pre-use check; the answer is the verdict. Sending the same check again changes nothing and
//! answers the same (invariant 8).

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::engine_hours::Meter;
use super::judged_check::{Judged, Looked, already, look};
use super::raise::{Found, Raised, Source, raise};
use super::trail::Trail;
use super::watch::GOOD_UNTIL;
use super::{Put, Result, WorkflowError, Workshop, machine_for, to_json, watched};
use crate::domain::checklist::{Load, Warmth};
use crate::domain::ids::{CheckId, ChecklistId, DefectId, MachineId, WorkOrderId};
use crate::domain::judge::{Reason, TrendAt};
use crate::domain::late;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::{Outcome, RawAnswer, Reading};
use crate::domain::standing::{Severity, Standing};
use crate::domain::trail::TrailAct;
use crate::domain::unit::Hours;
use crate::domain::watched::{Said, Watched};
use crate::storage::{DefectRow, HoldRow, NewCheck, NewReading, StorageError, Tx};
use crate::words::Text;

/// A check as it arrives. `id` is made by the client.
#[derive(Clone, Debug, Serialize)]
pub struct SubmitCheck {
    #[serde(skip)]
    pub id: CheckId,
    pub machine: MachineId,
    pub checklist: ChecklistId,
    pub load: Load,
    /// Where a limit or a rule depends on it. Not said: those of cold and of warm both hold.
    pub warmth: Option<Warmth>,
    /// The temperature of the air, as typed; °C when it has no unit.
    pub air_temperature: Option<String>,
    pub air_unit: Option<String>,
    /// Of each monitored defect of the machine: same, worse or gone.
    pub watched: Vec<Said>,
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
    /// Whose rules judged it: the checklist's name and version.
    pub checklist: String,
    pub version: i64,
    /// What was said of the defects under watch, and what follows.
    pub watched: Vec<AnsweredWatch>,
    /// What the trends say of the hours to come, or why they say nothing.
    pub trends: Vec<AnsweredTrend>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnsweredFinding {
    pub defect: DefectId,
    /// True when the defect was open before: this check saw it again.
    pub seen_before: bool,
    pub what: Text,
    pub severity: Severity,
    pub rule: String,
    pub why: Text,
    pub instruction: Text,
    pub supporting: Vec<Reason>,
    /// A rule says that it is back too soon after its release; the supervisors were told.
    pub came_back: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnsweredWatch {
    pub defect: DefectId,
    pub what: Text,
    pub now: Watched,
    pub note: String,
    /// In a sentence.
    pub outcome: Text,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnsweredTrend {
    pub item: String,
    pub position: Option<String>,
    /// "Thinnest brake pad, front left".
    pub title: Text,
    /// "may be below 1.5 mm within 40 engine hours".
    pub words: Text,
    pub sentence: Text,
    /// Engine hours on the meter at which the limit is reached: on the line, and by its 95 % prediction bounds.
    pub expected_hours: Option<f64>,
    pub earliest_hours: Option<f64>,
    pub latest_hours: Option<f64>,
}

/// A form of last week says nothing of how long the walk took.
const OLDEST_FORM: TimeDelta = TimeDelta::days(7);

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

/// Looked at and judged first, without holding anybody up; then kept, if nothing of the machine has changed meanwhile. If
/// something has, both are done again with the machine locked.
async fn submit(
    workshop: &Workshop,
    actor: &Actor,
    command: &SubmitCheck,
    fingerprint: &str,
    now: DateTime<Utc>,
) -> Result<Put<Answered>> {
    let mut reading = workshop.db.read().await?;
    let looked = look(workshop, &mut reading, actor, command, fingerprint, now).await?;
    drop(reading);
    let judged = match looked {
        Looked::Already(answer) => return Ok(Put { answer, first: false }),
        Looked::Judged(judged) => judged,
    };
    let kept = async {
        let mut tx = workshop.db.begin().await?;
        tx.lock_unchanged(&judged.machine, judged.meter(now)).await?;
        keep(workshop, tx, actor, command, *judged, fingerprint, true, now).await
    };
    match kept.await {
        Err(WorkflowError::Storage(StorageError::Changed)) => {}
        done => return done,
    }
    let mut tx = workshop.db.begin().await?;
    machine_for(&mut tx, actor, Act::SubmitCheck, command.machine).await?;
    match look(workshop, &mut tx, actor, command, fingerprint, now).await? {
        Looked::Already(answer) => Ok(Put { answer, first: false }),
        Looked::Judged(judged) => keep(workshop, tx, actor, command, *judged, fingerprint, false, now).await,
    }
}

/// Writes down a check that was judged, with the machine locked since or unchanged; `metered` says that locking it wrote down
/// its hours.
#[expect(
    clippy::too_many_arguments,
    reason = "what was sent, what was made of it, and where it goes, each once"
)]
async fn keep(
    workshop: &Workshop,
    mut tx: Tx,
    actor: &Actor,
    command: &SubmitCheck,
    judged: Judged,
    fingerprint: &str,
    metered: bool,
    now: DateTime<Utc>,
) -> Result<Put<Answered>> {
    let hours = judged.meter(now);
    let Judged {
        machine,
        yard,
        rulebook,
        recorded_at,
        found_at,
        context,
        readings,
        note,
        open,
        holds,
        found,
        heard,
        trends,
        head,
    } = judged;
    let arrived_late = late::arrived_late(recorded_at, now);
    let mut trail = Trail::new(actor, now);
    // The check row comes first: defects refer to it. What it answers is known before anything is written.
    let meter = hours.map(|hours| Meter {
        machine: &machine,
        yard: &yard,
        holds: &holds,
        hours,
        kept: metered,
        event_key: format!("use {}", command.id),
    });
    let ends = meter.as_ref().is_some_and(|m| m.ending(&open).next().is_some());
    let planned = plan(&open, &found, &holds, ends);
    tx.insert_check(
        &NewCheck {
            id: command.id,
            machine_id: machine.id,
            checklist_id: command.checklist,
            operator_id: actor.id,
            context: context.clone(),
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
    let arrived = match arrived_late {
        true => said!("trail-arrived-late", at = recorded_at.to_string()),
        false => Text::default(),
    };
    trail.add(TrailAct::CheckSubmitted, format!("check {}", command.id), "", planned, arrived);
    let source = Source {
        check: Some(command.id),
        checklist: Some(command.checklist),
        rules: Some(rulebook.named()),
        engine_hours: context.engine_hours,
        found_at,
        event_key: format!("check {}", command.id),
    };
    let raised =
        raise(workshop, &mut tx, actor, &machine, &yard, &source, found.clone(), &mut trail, now).await?;
    let seen: Vec<DefectId> = raised.defects.iter().map(|(id, _)| *id).collect();
    let check = command.id;
    let looked_at_in = watched::write_down(
        workshop, &mut tx, actor, &machine, check, &heard, &seen, &mut trail, found_at, now,
    )
    .await?;
    let held_before = !holds.is_empty();
    let grounds = found.iter().any(|f| f.severity == Severity::OutOfService);
    let mut answered = Answered {
        check: command.id,
        machine: command.machine,
        standing: planned,
        held_already: held_before && !grounds,
        findings: answered_findings(found, &raised),
        work_order: raised.work_order.or(looked_at_in),
        checklist: rulebook.checklist.name.clone(),
        version: rulebook.version,
        watched: heard.into_iter().map(Into::into).collect(),
        trends: trends.into_iter().map(Into::into).collect(),
    };
    if let Some(meter) = meter {
        meter.moved(workshop, &mut tx, actor, &mut trail, now).await?;
        let ended = meter.end_watches(workshop, &mut tx, &open, &mut trail, now).await?;
        answered.tell_of(ended);
    }
    tx.insert_answer(command.id, &to_json(&answered)?).await?;
    trail.write_for_machine_after(&mut tx, machine.id, head).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(Put { answer: answered, first: true })
}

/// The machine's standing once this check is in; `ends` when its engine hours end a watch.
fn plan(open: &[DefectRow], found: &[Found], holds: &[HoldRow], ends: bool) -> Standing {
    let held = ends || !holds.is_empty() || found.iter().any(|f| f.severity == Severity::OutOfService);
    let watched = !found.is_empty() || open.iter().any(|d| d.severity == Severity::Monitor);
    Standing::derive(false, i64::from(held), i64::from(watched))
}

fn answered_findings(found: Vec<Found>, raised: &Raised) -> Vec<AnsweredFinding> {
    let with_defect = found.into_iter().zip(&raised.defects);
    with_defect
        .map(|(f, (defect, seen_before))| AnsweredFinding {
            defect: *defect,
            seen_before: *seen_before,
            what: f.what,
            severity: f.severity,
            rule: f.rule,
            why: f.why,
            instruction: f.instruction,
            supporting: f.supporting,
            came_back: f.came_back,
        })
        .collect()
}

impl From<watched::Heard> for AnsweredWatch {
    fn from(h: watched::Heard) -> Self {
        let outcome = h.outcome();
        Self { defect: h.defect.id, what: h.defect.what, now: h.now, note: h.note, outcome }
    }
}

impl From<TrendAt> for AnsweredTrend {
    fn from(t: TrendAt) -> Self {
        let crossing = t.trend.line().and_then(|line| line.crossing);
        Self {
            item: t.item,
            position: t.position,
            title: t.title,
            words: t.words,
            sentence: t.sentence,
            expected_hours: crossing.map(|c| c.expected),
            earliest_hours: crossing.map(|c| c.earliest),
            latest_hours: crossing.map(|c| c.latest),
        }
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
                rule: GOOD_UNTIL.to_owned(),
                why: d.why,
                instruction: d.instruction,
                supporting: Vec::new(),
                came_back: false,
            });
        }
        // Most severe first, otherwise as they were found.
        self.findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    }
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
