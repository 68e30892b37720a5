//! What a check says of the machine's monitored defects, and what follows: a further sighting, out of service at once,
//! or a mechanic who looks. Runs inside the transaction of the check.

use chrono::{DateTime, Utc};

use super::order_of_defect::{in_progress, join_unassigned, open_order};
use super::raise::{Found, subject};
use super::trail::Trail;
use super::{Result, Workshop, from_json};
use crate::domain::defect::FailedItem;
use crate::domain::ids::{CheckId, DefectId, MachineId, WorkOrderId};
use crate::domain::person::Actor;
use crate::domain::refusal::Problem;
use crate::domain::standing::Severity;
use crate::domain::trail::TrailAct;
use crate::domain::watched::{Consequence, Defect, SAID_TO_BE_WORSE, Said, Watched, consequence, questions};
use crate::storage::{DefectRow, MachineRow, Tx};
use crate::words::Text;

/// One answer with the defect it is about, and what follows from it.
pub struct Heard {
    pub defect: DefectRow,
    pub now: Watched,
    pub note: String,
    pub follows: Consequence,
}

/// The defects that answers are about: those open on the machine, and those that were closed while the operator walked
/// round it. What is not the machine's is a question.
pub async fn known(
    tx: &mut Tx,
    machine: MachineId,
    open: &[DefectRow],
    said: &[Said],
) -> Result<(Vec<DefectRow>, Vec<Problem>)> {
    let (mut known, mut problems) = (open.to_vec(), Vec::new());
    for (n, answer) in said.iter().enumerate() {
        if known.iter().any(|d| d.id == answer.defect) {
            continue;
        }
        match tx.defect(answer.defect).await?.filter(|d| d.machine_id == machine) {
            Some(closed) => known.push(closed),
            None => problems.push(Problem {
                pointer: format!("/watched/{n}/defect"),
                sentence: said!("watched-not-of-this-machine"),
            }),
        }
    }
    Ok((known, problems))
}

/// What is missing from the answers, by name.
pub fn asked(known: &[DefectRow], said: &[Said], finished_at: DateTime<Utc>) -> Vec<Problem> {
    let known: Vec<Defect> = known
        .iter()
        .map(|d| Defect {
            id: d.id,
            what: d.what.clone(),
            severity: d.severity,
            state: d.state,
            raised_at: d.raised_at,
        })
        .collect();
    questions(&known, said, finished_at)
}

/// The answers with their consequences. `found` is what the same check found by its items.
pub fn heard(known: &[DefectRow], said: &[Said], found: &[Found]) -> Vec<Heard> {
    said.iter()
        .filter_map(|answer| {
            let defect = known.iter().find(|d| d.id == answer.defect)?.clone();
            let now = answer.now?;
            let here = |f: &Found| {
                f.at.as_ref().is_some_and(|at| {
                    defect.item.as_deref() == Some(&at.item) && defect.position == at.position
                })
            };
            let follows = consequence(now, defect.state, found.iter().any(here));
            Some(Heard { follows, now, note: answer.note.trim().to_owned(), defect })
        })
        .collect()
}

impl Heard {
    /// What has to be raised because it is said to be worse: the defect itself, or a new one that points to it when it
    /// was closed meanwhile. In doubt, out of service.
    pub fn worse(&self, actor: &Actor) -> Result<Option<Found>> {
        if self.now != Watched::Worse {
            return Ok(None);
        }
        let d = &self.defect;
        let closed = self.follows == Consequence::ClosedMeanwhile;
        let failed: Vec<FailedItem> = from_json(&d.failed)?;
        let place = |item: &String| FailedItem { item: item.clone(), position: d.position.clone() };
        Ok(Some(Found {
            id: None,
            what: d.what.clone(),
            system: d.system,
            at: d.item.as_ref().map(place),
            severity: Severity::OutOfService,
            rule: SAID_TO_BE_WORSE.to_owned(),
            is_final: false,
            why: said!("watched-worse-says", who = actor.name, note = self.note),
            instruction: said!("watched-stop"),
            good_for_days: None,
            good_for_hours: None,
            supporting: Vec::new(),
            failed,
            context: d.context(),
            came_back: false,
            said: (!closed).then(|| (d.id, Watched::Worse, said!("watched-seen-worse", note = self.note))),
            prior: closed.then_some(d.id),
            risk: None,
        }))
    }

    /// What became of it, for the verdict.
    pub fn outcome(&self) -> Text {
        match (self.follows, self.now) {
            (Consequence::SeenAgain, Watched::Gone) => said!("watched-found-again"),
            (Consequence::SeenAgain, _) if self.defect.severity == Severity::OutOfService => {
                said!("watched-keeps-out-of-service")
            }
            (Consequence::SeenAgain, _) => said!("watched-watched-on"),
            (Consequence::OutOfService, _) => said!("watched-out-of-service-now"),
            (Consequence::SaidGone, _) => said!("watched-until-a-mechanic-looked"),
            (Consequence::ClosedMeanwhile, Watched::Worse) => said!("watched-released-and-worse"),
            (Consequence::ClosedMeanwhile, _) => said!("watched-released-meanwhile"),
        }
    }
}

/// Writes down what was said to be the same or gone; what is worse has been raised by now. Answers the work order in
/// which a mechanic looks at what is said to be gone.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
pub async fn write_down(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    check: CheckId,
    heard: &[Heard],
    seen: &[DefectId],
    trail: &mut Trail<'_>,
    found_at: DateTime<Utc>,
    now: DateTime<Utc>,
) -> Result<Option<WorkOrderId>> {
    let mut looked_at_in = None;
    for h in heard {
        let id = h.defect.id;
        match h.follows {
            Consequence::OutOfService => {}
            Consequence::ClosedMeanwhile => {
                trail.add(said(h.now), subject(id), h.defect.state, h.defect.state, h.note.clone());
            }
            // The reading is on record already.
            Consequence::SeenAgain if seen.contains(&id) => {
                trail.add(said(h.now), subject(id), h.defect.state, h.defect.state, h.note.clone());
            }
            Consequence::SeenAgain => {
                let words = match h.note.as_str() {
                    "" => said!("watched-sighting-same"),
                    note => said!("watched-seen-same", note = note),
                };
                tx.insert_sighting(id, Some(check), actor.id, found_at, &words, Some(h.now)).await?;
                let mut defect = fresh(tx, &h.defect).await?;
                if defect.said_gone_at.take().is_some() {
                    tx.update_defect(&defect).await?;
                }
                trail.add(said(h.now), subject(id), h.defect.state, h.defect.state, h.note.clone());
            }
            Consequence::SaidGone => {
                let words = match h.note.as_str() {
                    "" => said!("watched-sighting-gone"),
                    note => said!("watched-seen-gone", note = note),
                };
                tx.insert_sighting(id, Some(check), actor.id, found_at, &words, Some(h.now)).await?;
                let mut defect = fresh(tx, &h.defect).await?;
                if found_at < now && tx.seen_after(id, found_at).await? {
                    // Somebody has seen it since.
                    trail.add(said(h.now), subject(id), h.defect.state, h.defect.state, h.note.as_str());
                    continue;
                }
                defect.said_gone_at = Some(found_at);
                tx.update_defect(&defect).await?;
                defect.version += 1;
                trail.add(said(h.now), subject(id), h.defect.state, h.defect.state, h.note.clone());
                looked_at_in = Some(mechanic_looks(workshop, tx, machine, &defect, trail, now).await?);
            }
        }
    }
    Ok(looked_at_in)
}

/// Without a work order nobody would look, and the watch would ground the machine for a defect that is gone.
async fn mechanic_looks(
    workshop: &Workshop,
    tx: &mut Tx,
    machine: &MachineRow,
    defect: &DefectRow,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<WorkOrderId> {
    if let Some(order) = defect.work_order_id
        && in_progress(tx, defect).await?
    {
        return Ok(order);
    }
    let order = match tx.taking_order(machine.id).await? {
        Some(order) => order.id,
        None => open_order(workshop, tx, machine, trail, now).await?,
    };
    let open = tx.open_defects(machine.id).await?;
    join_unassigned(tx, &open, order).await?;
    Ok(order)
}

/// As it is after what the check itself has raised.
async fn fresh(tx: &mut Tx, defect: &DefectRow) -> Result<DefectRow> {
    Ok(tx.defect(defect.id).await?.unwrap_or_else(|| defect.clone()))
}

const fn said(now: Watched) -> TrailAct {
    match now {
        Watched::Same => TrailAct::DefectSaidSame,
        Watched::Worse => TrailAct::DefectSaidWorse,
        Watched::Gone => TrailAct::DefectSaidGone,
    }
}
