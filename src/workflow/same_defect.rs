//! The same defect, to be inspected on every machine of a class or on every one that a batch is fitted to. One transaction a
//! machine: what is done stays done, and the rest is done when it is sent again.

use super::part_fitted::as_fitted;
use super::raise::{Found, Source, raise};
use super::trail::Trail;
use super::{Result, Workshop, machine_for, machine_seen, yard_of};
use crate::domain::batch::{FOUND_ON_ANOTHER, Fitted, Inspect, Machine, Mark, Target, to_inspect};
use crate::domain::defect::FailedItem;
use crate::domain::ids::{DefectId, MachineId, PartId, RoundId};
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::standing::Severity;
use crate::storage::{DefectRow, FittedRow, MachineStanding, Tx};
use crate::words::Text;

/// On which machines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OnWhich {
    /// Of the class of the machine it was found on.
    Class,
    Batch {
        part: PartId,
        batch: String,
    },
}

/// A machine that is to be inspected, and what becomes of it.
#[derive(Clone, Debug)]
pub struct ToInspect {
    pub machine: MachineStanding,
    pub inspect: Inspect,
}

/// Before it is done: what was found where, and which machines there are.
pub struct RoundPage {
    pub defect: DefectRow,
    pub unit_number: String,
    pub class: String,
    pub machines: Vec<ToInspect>,
    /// Batches of parts on the machine that it may lie at: part, its name, batch.
    pub batches: Vec<(PartId, String, String)>,
}

/// What was done.
#[derive(Debug)]
pub struct Round {
    pub raised: Vec<(MachineId, String, DefectId)>,
}

/// Most machines of one round.
const MOST: i64 = 5_000;
const GOOD_FOR_DAYS: u32 = 14;

pub async fn same_defect(
    workshop: &Workshop,
    actor: &Actor,
    defect: DefectId,
    on: &OnWhich,
) -> Result<RoundPage> {
    actor.must(Act::InspectMany)?;
    let mut tx = workshop.db.read().await?;
    let row = tx.defect(defect).await?.ok_or(Refusal::NotFound(Thing::Defect))?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, row.machine_id)
        .await
        .map_err(|_| Refusal::NotFound(Thing::Defect))?;
    let mut batches: Vec<(PartId, String, String)> = Vec::new();
    for f in tx.fitted_to_machine(machine.id).await?.into_iter().rev() {
        let known = batches.iter().any(|(part, _, batch)| *part == f.part_id && *batch == f.batch);
        if !f.batch.is_empty() && !known {
            batches.push((f.part_id, f.part_name, f.batch));
        }
    }
    let machines = whose_turn(&mut tx, actor, &row, &machine.class, on).await?;
    Ok(RoundPage { defect: row, unit_number: machine.unit_number, class: machine.class, machines, batches })
}

/// Raises it. Sent again under the same id, machines that have it already are left alone.
pub async fn raise_same(
    workshop: &Workshop,
    actor: &Actor,
    round: RoundId,
    defect: DefectId,
    on: &OnWhich,
) -> Result<Round> {
    let page = same_defect(workshop, actor, defect, on).await?;
    let batch = match on {
        OnWhich::Class => None,
        OnWhich::Batch { batch, .. } => Some(batch.trim().to_owned()),
    };
    let mut raised = Vec::new();
    for one in &page.machines {
        let id = one.machine.id;
        let found = again_when_changed!({
            raise_on(workshop, actor, round, &page, id, one.inspect, batch.as_deref()).await
        })?;
        raised.push((id, one.machine.unit_number.clone(), found));
    }
    // Those of an earlier try have an open defect of it by now, or had it put right: they are of the round all the same.
    let mut tx = workshop.db.read().await?;
    for (machine, unit_number, defect) in tx.round(round).await? {
        if !raised.iter().any(|(m, ..)| *m == machine) {
            raised.push((machine, unit_number, defect));
        }
    }
    Ok(Round { raised })
}

async fn whose_turn(
    tx: &mut Tx,
    actor: &Actor,
    defect: &DefectRow,
    class: &str,
    on: &OnWhich,
) -> Result<Vec<ToInspect>> {
    let all_yards = actor.has(Role::Owner);
    let standings = tx.machines_in_use_seen_by(actor.id, all_yards, MOST).await?;
    let open = tx.open_defects_seen_by(actor.id, all_yards).await?;
    let machines: Vec<Machine> = standings
        .iter()
        .filter(|m| m.id != defect.machine_id)
        .map(|m| Machine {
            id: m.id,
            yard: m.yard_id,
            class: m.class.clone(),
            retired: m.retired,
            open: open.iter().filter(|d| d.machine_id == m.id).filter_map(|d| d.item.clone()).collect(),
        })
        .collect();
    let (target, history) = match on {
        OnWhich::Class => (Target::Class(class.to_owned()), Vec::new()),
        OnWhich::Batch { part, batch } => {
            let mark = Mark::parse(batch).map_err(|fault| fault.refusal("/batch"))?;
            let rows = tx.fitted_of_part(*part).await?;
            (Target::Batch { part: *part, mark: mark.clone() }, history_of(&rows, &mark))
        }
    };
    let item = defect.item.as_deref().unwrap_or_default();
    let wanted = to_inspect(&machines, &history, &target, item);
    Ok(standings
        .into_iter()
        .filter_map(|machine| {
            let inspect = wanted.iter().find(|(id, _)| *id == machine.id)?.1;
            Some(ToInspect { machine, inspect })
        })
        .collect())
}

/// By batch, and by serial where that is what was asked for.
pub(super) fn history_of(rows: &[FittedRow], mark: &Mark) -> Vec<Fitted> {
    rows.iter()
        .map(|row| {
            let by_serial = Mark::parse(&row.serial).is_ok_and(|serial| serial.key == mark.key);
            let by_batch = as_fitted(row);
            if by_serial { Fitted { mark: Some(mark.clone()), ..by_batch } } else { by_batch }
        })
        .collect()
}

async fn raise_on(
    workshop: &Workshop,
    actor: &Actor,
    round: RoundId,
    page: &RoundPage,
    machine: MachineId,
    inspect: Inspect,
    batch: Option<&str>,
) -> Result<DefectId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::InspectMany, machine).await?;
    if let Some(before) = tx.raised_in_round(round, machine.id).await? {
        return Ok(before);
    }
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict(said!("machine-retired")).into());
    }
    let yard = yard_of(&mut tx, &machine).await?;
    let in_use = tx.checklist_for_class(&machine.class).await?;
    let known_item = match (&in_use, &page.defect.item) {
        (Some(row), Some(item)) => workshop.checklist(&mut tx, row.id).await?.item(item).is_some(),
        _ => false,
    };
    let source = Source {
        check: None,
        checklist: in_use.as_ref().filter(|_| known_item).map(|row| row.id),
        rules: None,
        engine_hours: machine.engine_hours,
        found_at: now,
        event_key: format!("round {round} {}", machine.id),
    };
    let found = found(page, known_item, inspect, batch, &actor.name);
    let mut trail = Trail::new(actor, now);
    let raised =
        raise(workshop, &mut tx, actor, &machine, &yard, &source, vec![found], &mut trail, now).await?;
    let defect = raised.defects.first().map(|(id, _)| *id).ok_or(Refusal::NotFound(Thing::Defect))?;
    tx.insert_round(round, machine.id, defect, page.defect.id, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(defect)
}

/// As severe as where it was found: nobody knows better before somebody has looked.
fn found(page: &RoundPage, known_item: bool, inspect: Inspect, batch: Option<&str>, by: &str) -> Found {
    let defect = &page.defect;
    let held = defect.severity == Severity::OutOfService;
    let at = defect
        .item
        .as_ref()
        .filter(|_| known_item)
        .map(|item| FailedItem { item: item.clone(), position: defect.position.clone() });
    let unit = &page.unit_number;
    let why: Text = match (inspect, batch) {
        (_, None) => said!("round-why-class", by = by, unit = unit, class = class_said(&page.class)),
        (Inspect::RaiseInDoubt, Some(batch)) => said!("round-why-doubt", by = by, unit = unit, batch = batch),
        (_, Some(batch)) => said!("round-why-batch", by = by, unit = unit, batch = batch),
    };
    Found {
        id: None,
        what: said!("round-what", what = defect.what, unit = unit),
        system: defect.system,
        failed: at.iter().cloned().collect(),
        at,
        severity: defect.severity,
        rule: FOUND_ON_ANOTHER.to_owned(),
        is_final: false,
        why,
        instruction: if held { said!("round-held") } else { said!("round-watched") },
        good_for_days: (!held).then_some(GOOD_FOR_DAYS),
        good_for_hours: None,
        supporting: Vec::new(),
        context: defect.context(),
        came_back: false,
        said: None,
        prior: None,
        risk: None,
    }
}
