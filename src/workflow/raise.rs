//! From findings to defects, holds and a work order: the step that a check, a report, a failed retest and an ended watch
//! have in common. Runs inside the caller's transaction, with the machine locked.

use chrono::{DateTime, Utc};

use super::order_of_defect::{assign, back_to_work};
use super::trail::Trail;
use super::{Result, Workshop, tell, to_json};
use crate::domain::alert::{Because, CameBack, Event};
use crate::domain::checklist::{Checklist, System};
use crate::domain::defect::{DefectState, FailedItem};
use crate::domain::good_until::after_days;
use crate::domain::ids::{CheckId, ChecklistId, DefectId, WorkOrderId};
use crate::domain::judge::{Finding, Reason, what_mattered};
use crate::domain::person::Actor;
use crate::domain::reading::Context;
use crate::domain::risk::Assessment;
use crate::domain::standing::Severity;
use crate::domain::trail::{TrailAct, TrailState, subject_said};
use crate::domain::unit::Hours;
use crate::domain::watched::Watched;
use crate::storage::{DefectRow, HoldRow, MachineRow, Tx, YardRow};
use crate::words::Text;

/// Something found wrong, whether by a rule or by a person.
#[derive(Clone, Debug)]
pub struct Found {
    /// The client's id for the defect, when it made one.
    pub id: Option<DefectId>,
    pub what: Text,
    pub system: System,
    /// Item and position of the checklist; `None` when reported outside a check.
    pub at: Option<FailedItem>,
    pub severity: Severity,
    pub rule: String,
    pub is_final: bool,
    pub why: Text,
    pub instruction: Text,
    pub good_for_days: Option<u32>,
    pub good_for_hours: Option<u32>,
    pub supporting: Vec<Reason>,
    pub failed: Vec<FailedItem>,
    /// What it failed in, as far as it mattered.
    pub context: Context,
    /// A rule says that it is back too soon after its release.
    pub came_back: bool,
    /// What an operator said of an open defect under watch, where that is all there is.
    pub said: Option<(DefectId, Watched, Text)>,
    /// The closed defect that this one follows, where it is known without looking for it.
    pub prior: Option<DefectId>,
    /// Of a guided report.
    pub risk: Option<Assessment>,
}

impl Found {
    pub fn by_rule(f: Finding, checklist: &Checklist, context: &Context) -> Self {
        let at = |item: String, position: Option<String>| FailedItem {
            item,
            position: position.unwrap_or_default(),
        };
        Self {
            id: None,
            context: what_mattered(checklist, context, &f.failed),
            came_back: f.escalated,
            said: None,
            prior: None,
            what: f.what,
            system: f.system,
            at: Some(at(f.item, f.position)),
            severity: f.severity,
            rule: f.rule,
            is_final: f.final_,
            why: f.why,
            instruction: f.instruction,
            good_for_days: f.good_for_days,
            good_for_hours: f.good_for_hours,
            supporting: f.supporting,
            failed: f.failed.into_iter().map(|(item, position)| at(item, position)).collect(),
            risk: None,
        }
    }
}

/// Where the findings come from.
pub struct Source {
    pub check: Option<CheckId>,
    pub checklist: Option<ChecklistId>,
    /// Name and version of that checklist, for saying whose rule decided.
    pub rules: Option<Text>,
    pub engine_hours: Option<Hours>,
    /// When it was found: before now, where a check arrived late.
    pub found_at: DateTime<Utc>,
    /// One alert per key and recipient, whatever is sent again.
    pub event_key: String,
}

/// What became of the findings.
#[derive(Debug, Default)]
pub struct Raised {
    /// In the order of the findings: the defect each led to, and whether it was there already.
    pub defects: Vec<(DefectId, bool)>,
    pub holds_placed: usize,
    pub work_order: Option<WorkOrderId>,
}

/// Raises what was found. A finding at a place that already has an open defect is a sighting of it.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
pub async fn raise(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    yard: &YardRow,
    source: &Source,
    found: Vec<Found>,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<Raised> {
    let mut raised = Raised::default();
    if found.is_empty() {
        return Ok(raised);
    }
    let mut open = tx.open_defects(machine.id).await?;
    let (mut new, mut holds) = (Vec::new(), Vec::new());
    let (mut why_held, mut instruction, mut back) = (Vec::new(), Text::default(), Vec::new());
    for f in found {
        let is_it = |d: &DefectRow| match (&f.said, &f.at) {
            (Some((id, ..)), _) => d.id == *id,
            (None, Some(at)) => d.item.as_deref() == Some(&at.item) && d.position == at.position,
            (None, None) => false,
        };
        let same = open.iter_mut().find(|d| is_it(d));
        if f.severity == Severity::OutOfService {
            let why = with_version(&f.why, source.rules.as_ref().filter(|_| f.said.is_none()));
            why_held.push(Because::new(&f.what, &why));
            if instruction.is_empty() {
                instruction.clone_from(&f.instruction);
            }
        }
        match same {
            Some(defect) => {
                raised.defects.push((defect.id, true));
                if let Some(hold) =
                    see_again(workshop, tx, actor, machine, source, defect, f, trail, now).await?
                {
                    holds.push(hold);
                }
            }
            None => {
                let (defect, prior) = new_defect(workshop, tx, actor, machine, yard, source, f, now).await?;
                raised.defects.push((defect.id, false));
                let why = with_version(&defect.why, source.rules.as_ref());
                trail.add(TrailAct::DefectRaised, subject(defect.id), "", defect.state, why.clone());
                if defect.came_back {
                    back.push(came_back(&defect, prior, why));
                }
                if defect.severity == Severity::OutOfService {
                    let since = unfit_since(tx, &defect, source, now).await?;
                    holds.push(hold_for(workshop, actor, machine, &defect, source, since, now));
                }
                new.push(defect);
            }
        }
    }
    let seen: Vec<DefectId> = raised.defects.iter().filter(|(_, seen)| *seen).map(|(id, _)| *id).collect();
    raised.work_order = assign(workshop, tx, machine, &open, &seen, &mut new, trail, now).await?;
    tx.insert_defects(&new).await?;
    if !new.is_empty() {
        workshop.expect_work(tx, machine.id, now).await?;
    }
    for defect in &new {
        tx.insert_sighting(defect.id, source.check, actor.id, source.found_at, &defect.what, None).await?;
    }
    tx.insert_holds(&holds).await?;
    for hold in &holds {
        let hold_id = format!("hold {}", hold.id);
        trail.add(TrailAct::HoldPlaced, hold_id, "", TrailState::Open, placed_because(hold));
    }
    raised.holds_placed = holds.len();
    let recorded_at = Some(source.found_at).filter(|at| *at < now);
    if !holds.is_empty() {
        let work_order = raised.work_order;
        let event = Event::MachineHeld { why: why_held, instruction, work_order, recorded_at };
        tell::tell(workshop, tx, actor, machine, yard, &source.event_key, event, &[actor.id], now).await?;
    }
    if !back.is_empty() {
        for b in &back {
            let prior = b.prior.map(|id| subject_said(&subject(id))).unwrap_or_default();
            trail.add(
                TrailAct::DefectCameBack,
                subject(b.defect),
                prior,
                TrailState::SupervisorsTold,
                b.why.clone(),
            );
        }
        let key = came_back_key(&source.event_key);
        let event = Event::CameBack { defects: back, recorded_at };
        tell::tell(workshop, tx, actor, machine, yard, &key, event, &[], now).await?;
    }
    Ok(raised)
}

/// A sentence of a rule with the name and version of the checklist that has the rule.
pub fn with_version(why: &Text, rules: Option<&Text>) -> Text {
    match rules {
        Some(rules) => said!("raise-with-version", why = why, rules = rules),
        None => why.clone(),
    }
}

/// Under which the supervisors are told of what came back, beside the event itself.
pub fn came_back_key(event_key: &str) -> String {
    format!("{event_key} came back")
}

fn came_back(defect: &DefectRow, prior: Option<DefectRow>, why: Text) -> CameBack {
    let mut back = CameBack {
        defect: defect.id,
        what: defect.what.clone(),
        why,
        out_of_service: defect.severity == Severity::OutOfService,
        prior: defect.prior_defect_id,
        cause: String::new(),
        remedy: Text::default(),
        released_at: None,
    };
    if let Some(prior) = prior {
        back.released_at = prior.closed_at;
        back.remedy = match prior.no_fault_found {
            true => Text::of(&DefectState::NoFaultFound),
            false => Text::typed(prior.remedy),
        };
        back.cause = prior.cause;
    }
    back
}

/// The hold of an out-of-service defect.
pub fn hold_for(
    workshop: &Workshop,
    actor: &Actor,
    machine: &MachineRow,
    defect: &DefectRow,
    source: &Source,
    since: DateTime<Utc>,
    now: DateTime<Utc>,
) -> HoldRow {
    HoldRow {
        id: workshop.ambient.id(),
        machine_id: machine.id,
        yard_id: machine.yard_id,
        defect_id: Some(defect.id),
        reason: defect.what.clone(),
        placed_by: actor.id,
        placed_by_name: actor.name.clone(),
        since,
        placed_at: now,
        hours_at: source.engine_hours.or(machine.engine_hours),
        lifted_at: None,
        lift_reason: None,
    }
}

/// A further sighting. Worse news raises the severity; a repair that is seen to have failed goes back to work.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
async fn see_again(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    source: &Source,
    defect: &mut DefectRow,
    f: Found,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<Option<HoldRow>> {
    let (seen, said) = match &f.said {
        Some((_, said, note)) => (note, Some(*said)),
        None => (&f.what, None),
    };
    tx.insert_sighting(defect.id, source.check, actor.id, source.found_at, seen, said).await?;
    let worse = f.severity > defect.severity;
    let repair_failed = matches!(defect.state, DefectState::Repaired | DefectState::NoFaultFound);
    // It is there: whoever said that it was gone was mistaken, or it is back.
    let said_gone = defect.said_gone_at.take().is_some();
    let why = with_version(&f.why, source.rules.as_ref().filter(|_| said.is_none()));
    if !worse && !repair_failed {
        if said_gone {
            tx.update_defect(defect).await?;
            defect.version += 1;
        }
        trail.add(TrailAct::DefectSeenAgain, subject(defect.id), defect.state, defect.state, why);
        if f.severity == Severity::OutOfService {
            counts_from(tx, defect, source, trail, now).await?;
        }
        return Ok(None);
    }
    let before = defect.state;
    if worse {
        defect.severity = f.severity;
        defect.rule = f.rule;
        if said.is_none() {
            // Of what it failed in the retest is made, and by the checklist that decided.
            defect.failed_in(&f.context);
            defect.checklist_id = source.checklist.or(defect.checklist_id);
        }
        defect.is_final |= f.is_final;
        defect.why.clone_from(&f.why);
        defect.instruction = f.instruction;
        for place in f.failed {
            // What the retest must pass only ever grows.
            let mut failed: Vec<FailedItem> = super::from_json(&defect.failed)?;
            if !failed.contains(&place) {
                failed.push(place);
                defect.failed = to_json(&failed)?;
            }
        }
        defect.good_until_at = None;
        defect.good_until_hours = None;
    }
    defect.state = defect.state.back_to_work(defect.severity)?;
    tx.update_defect(defect).await?;
    defect.version += 1;
    let act = if worse { TrailAct::DefectWorse } else { TrailAct::RepairDidNotHold };
    trail.add(act, subject(defect.id), before, defect.state, why);
    if repair_failed {
        back_to_work(tx, actor, defect, trail, now).await?;
    }
    if !worse {
        counts_from(tx, defect, source, trail, now).await?;
        return Ok(None);
    }
    let since = unfit_since(tx, defect, source, now).await?;
    Ok(Some(hold_for(workshop, actor, machine, defect, source, since, now)))
}

/// From when a hold's downtime counts: from when the machine was found unfit, also where that reached the server later. What
/// somebody signed for since then stands: its time in use was none of this hold's, and the doubt begins with the arrival.
async fn unfit_since(
    tx: &mut Tx,
    defect: &DefectRow,
    source: &Source,
    now: DateTime<Utc>,
) -> Result<DateTime<Utc>> {
    if source.found_at >= now {
        return Ok(now);
    }
    let place = defect.item.as_deref().map(|item| (item, defect.position.as_str()));
    let put_right = tx.put_right_since(defect.machine_id, defect.id, place, source.found_at).await?;
    Ok(if put_right { now } else { source.found_at })
}

/// The open hold of a defect that a late check found before the one that placed it.
async fn counts_from(
    tx: &mut Tx,
    defect: &DefectRow,
    source: &Source,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<()> {
    let since = unfit_since(tx, defect, source, now).await?;
    if since < now && tx.hold_counts_from(defect.id, since).await? > 0 {
        let why = said!("trail-earlier-check-arrived-late");
        trail.add(TrailAct::HoldCountsFromEarlier, subject(defect.id), "", since.to_string(), why);
    }
    Ok(())
}

/// The trail says both: when the machine was found unfit, and by its own time when that became known.
fn placed_because(hold: &HoldRow) -> Text {
    if hold.since < hold.placed_at {
        let reason = hold.reason.map(|r| r.trim_end_matches('.').to_owned());
        said!("trail-hold-counts-from", reason = reason, since = hold.since.to_string())
    } else {
        hold.reason.clone()
    }
}

#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
async fn new_defect(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    yard: &YardRow,
    source: &Source,
    f: Found,
    now: DateTime<Utc>,
) -> Result<(DefectRow, Option<DefectRow>)> {
    let prior = match (&f.at, f.prior) {
        (_, Some(prior)) => tx.defect(prior).await?,
        (Some(at), None) => tx.last_closed_defect(machine.id, &at.item, &at.position).await?,
        (None, None) => None,
    };
    let monitored = f.severity == Severity::Monitor;
    let hours_now = source.engine_hours.or(machine.engine_hours);
    let defect = DefectRow {
        id: f.id.unwrap_or_else(|| workshop.ambient.id()),
        machine_id: machine.id,
        yard_id: machine.yard_id,
        what: f.what,
        system: f.system,
        item: f.at.as_ref().map(|at| at.item.clone()),
        position: f.at.map(|at| at.position).unwrap_or_default(),
        load: f.context.load,
        warmth: f.context.warmth,
        air: f.context.air,
        altitude_m: f.context.altitude_m.map(i64::from),
        severity: f.severity,
        state: DefectState::raised(f.severity),
        rule: f.rule,
        checklist_id: source.checklist,
        is_final: f.is_final,
        why: f.why,
        instruction: f.instruction,
        supporting: to_json(&f.supporting)?,
        failed: to_json(&f.failed)?,
        risk: f.risk.as_ref().map(to_json).transpose()?,
        good_until_at: f
            .good_for_days
            .filter(|_| monitored)
            .map(|days| after_days(source.found_at, days, yard.zone())),
        good_until_hours: f
            .good_for_hours
            .filter(|_| monitored)
            .and_then(|hours| hours_now.map(|now| Hours(now.0 + i64::from(hours) * 10))),
        reported_by: actor.id,
        check_id: source.check,
        work_order_id: None,
        prior_defect_id: prior.as_ref().map(|d| d.id),
        came_back: f.came_back,
        said_gone_at: None,
        cause: String::new(),
        remedy: String::new(),
        repaired_by: None,
        no_fault_found: false,
        part_replaced: false,
        found_at: source.found_at,
        raised_at: now,
        closed_at: None,
        version: 1,
    };
    Ok((defect, prior))
}

pub fn subject(defect: DefectId) -> String {
    format!("defect {defect}")
}
