//! A check as it is judged, before anything of it is kept: what it is judged by is read, and what it means is decided. By a
//! connection that only reads, or inside the transaction that will keep it.

use chrono::{DateTime, Utc};

use super::checklists::not_retired;
use super::history::{look_back, understood};
use super::raise::Found;
use super::submit_check::{Answered, SubmitCheck};
use super::trail::machine_chain;
use super::{Result, Rulebook, Workshop, from_json, seen_by, watched};
use crate::domain::answers::{read, read_air};
use crate::domain::checklist::Checklist;
use crate::domain::judge::{TrendAt, judge};
use crate::domain::late;
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::{Before, Context, Question, Reading};
use crate::domain::refusal::{Problem, Refusal, Thing, optional_text};
use crate::domain::unit::Hours;
use crate::storage::{CheckRow, DefectRow, Grounds, HoldRow, MachineRow, Tx, YardRow};

pub enum Looked {
    /// It was sent before: what was answered.
    Already(Answered),
    Judged(Box<Judged>),
}

/// What is true as long as nobody changes anything of the machine.
pub struct Judged {
    pub machine: MachineRow,
    pub yard: YardRow,
    pub rulebook: Rulebook,
    pub recorded_at: DateTime<Utc>,
    pub found_at: DateTime<Utc>,
    pub context: Context,
    pub readings: Vec<Reading>,
    pub note: String,
    pub open: Vec<DefectRow>,
    pub holds: Vec<HoldRow>,
    pub found: Vec<Found>,
    pub heard: Vec<watched::Heard>,
    pub trends: Vec<TrendAt>,
    /// Where the machine's chain of the audit trail ends: its last entry's number and hash.
    pub head: Option<(i64, String)>,
}

impl Judged {
    /// What the machine's meter shows after this check. One that was read before others only says what it showed then.
    pub fn meter(&self, now: DateTime<Utc>) -> Option<Hours> {
        let late = late::arrived_late(self.recorded_at, now);
        let overtaken = |hours: &Hours| late && self.machine.engine_hours.is_some_and(|now| *hours < now);
        self.context.engine_hours.filter(|hours| !overtaken(hours))
    }
}

/// Refuses what cannot be kept, with every question at once.
pub async fn look(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    command: &SubmitCheck,
    fingerprint: &str,
    now: DateTime<Utc>,
) -> Result<Looked> {
    actor.must(Act::SubmitCheck)?;
    let rulebook = workshop.rulebook(tx, command.checklist).await?;
    let checklist = rulebook.checklist.clone();
    let recorded_at = late::recorded_at(command.recorded_at, rulebook.since, now);
    let back = look_back(&checklist, recorded_at);
    let chain = machine_chain(command.machine);
    let Grounds { machine, kept, checklist_retired_at, yard, open, holds, released, series, head } =
        tx.grounds(command.id, command.checklist, command.machine, &back, &chain).await?;
    let machine = seen_by(actor, machine)?;
    if let Some(kept) = kept {
        return Ok(Looked::Already(answered_before(&kept, actor, fingerprint)?));
    }
    if let Some(retired_at) = machine.retired_at {
        if command.recorded_at.is_some_and(|at| at < retired_at) {
            return Err(
                Refusal::conflict(said!("check-retired-meanwhile", unit = machine.unit_number)).into()
            );
        }
        return Err(Refusal::conflict(said!("machine-retired-take-another")).into());
    }
    if !checklist.classes.contains(&machine.class) {
        let sentence =
            said!("check-no-checklist-for", title = checklist.title, class = class_said(&machine.class));
        return Err(Refusal::invalid("/checklist", sentence).into());
    }
    let arrived_late = late::arrived_late(recorded_at, now);
    let found_at = if arrived_late { recorded_at } else { now };
    not_retired(checklist_retired_at, recorded_at)?;
    let yard = yard.ok_or(Refusal::NotFound(Thing::Yard))?;
    let (known, mut problems) = watched::known(tx, machine.id, &open, &command.watched).await?;
    problems.extend(watched::asked(&known, &command.watched, recorded_at));
    let hours_before = match arrived_late {
        true => tx.engine_hours_at(machine.id, recorded_at).await?,
        false => machine.engine_hours,
    };
    let (context, readings) = understand(&checklist, command, hours_before, &yard, problems)?;
    let note = optional_text("/note", said!("what-note"), &command.note, 2000)?;

    let past = understood(released, series, recorded_at);
    let judgement = judge(&checklist, &context, &readings, &past);
    let findings = judgement.findings.into_iter();
    let mut found: Vec<Found> = findings.map(|f| Found::by_rule(f, &checklist, &context)).collect();
    let heard = watched::heard(&known, &command.watched, &found);
    for h in &heard {
        found.extend(h.worse(actor)?);
    }

    let trends = judgement.trends;
    Ok(Looked::Judged(Box::new(Judged {
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
    })))
}

/// Typed answers become readings, or every question at once.
fn understand(
    checklist: &Checklist,
    command: &SubmitCheck,
    hours_before: Option<Hours>,
    yard: &YardRow,
    mut problems: Vec<Problem>,
) -> Result<(Context, Vec<Reading>)> {
    let problem = |q: Question| Problem { pointer: q.pointer, sentence: q.sentence };
    let air = read_air(command.air_temperature.as_deref(), command.air_unit.as_deref());
    let air = air.unwrap_or_else(|question| {
        problems.push(problem(question));
        None
    });
    let context = Context {
        engine_hours: command.engine_hours,
        hours_confirmed: command.hours_confirmed,
        warmth: command.warmth,
        air,
        altitude_m: yard.altitude_m.and_then(|m| i32::try_from(m).ok()),
        ..Context::of(command.load)
    };
    let before = Before { engine_hours: hours_before };
    let readings = read(checklist, &context, &command.answers, &before).unwrap_or_else(|questions| {
        problems.extend(questions.into_iter().map(problem));
        Vec::new()
    });
    if problems.is_empty() { Ok((context, readings)) } else { Err(Refusal::Invalid { problems }.into()) }
}

/// The same check sent before: its answer. Another check under the same id is refused.
pub async fn already(
    tx: &mut Tx,
    actor: &Actor,
    command: &SubmitCheck,
    fingerprint: &str,
) -> Result<Option<Answered>> {
    let kept = tx.check(command.id).await?;
    kept.map(|kept| answered_before(&kept, actor, fingerprint)).transpose()
}

fn answered_before(kept: &CheckRow, actor: &Actor, fingerprint: &str) -> Result<Answered> {
    if kept.operator_id != actor.id || kept.fingerprint != fingerprint {
        return Err(Refusal::conflict(said!("check-id-taken")).into());
    }
    from_json(&kept.answered)
}
