//! The signed act that lifts the holds of a work order's defects: return to service.

use std::collections::{BTreeSet, HashMap};

use super::order_of_defect::order_subject;
use super::raise::subject;
use super::trail::Trail;
use super::{Result, Workshop, order_for, tell, yard_of};
use crate::domain::alert::{Event, ReleasedDefect};
use crate::domain::ids::{DefectId, PersonId, ReleaseId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::optional_text;
use crate::domain::release::{Candidate, may_release};
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::work_order::{OrderCommand, decide};
use crate::storage::{DefectRow, OrderRow, ReleaseRow, RetestRow, Tx};
use crate::words::Text;

#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Released {
    pub release: ReleaseId,
    pub released_by_repairer: bool,
    /// False when another hold still keeps the machine out of service.
    pub fit_for_use: bool,
}

pub async fn release(workshop: &Workshop, actor: &Actor, id: WorkOrderId, note: &str) -> Result<Released> {
    let now = workshop.ambient.now();
    let note = optional_text("/note", said!("what-note"), note, 500)?;
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    actor.must(Act::Release)?;
    let yard = yard_of(&mut tx, &machine).await?;
    let state = order.state()?;
    let to = decide(&state, OrderCommand::Close, actor, &order.mechanic_name)?;
    let open: Vec<DefectRow> =
        tx.defects_of_order(id).await?.into_iter().filter(|d| d.closed_at.is_none()).collect();
    let retests = newest_retests(&mut tx, &order).await?;
    let worked_on_it: Vec<PersonId> = tx.labour_of_order(id).await?.iter().map(|l| l.mechanic_id).collect();
    let candidates: Vec<Candidate> = open.iter().map(|d| candidate(d, &retests)).collect();
    let signed = may_release(&candidates, actor, &worked_on_it, yard.one_person)?;

    let mut trail = Trail::new(actor, now);
    let release_id: ReleaseId = workshop.ambient.id();
    tx.insert_release(&ReleaseRow {
        id: release_id,
        machine_id: machine.id,
        work_order_id: id,
        by_id: actor.id,
        by_name: actor.name.clone(),
        at: now,
        note: Text::typed(note.clone()),
        released_by_repairer: signed.by_the_repairer,
    })
    .await?;
    let lifted = tx.lift_holds_by_release(id, release_id, actor.id, now).await?;
    for defect in &open {
        let mut closed = defect.clone();
        closed.state = defect.state.close()?;
        closed.closed_at = Some(now);
        tx.update_defect(&closed).await?;
        trail.add(
            TrailAct::DefectClosed,
            subject(defect.id),
            defect.state,
            closed.state,
            defect.remedy.clone(),
        );
    }
    tx.save_order_state(&order, &to, now).await?;
    let why = if signed.by_the_repairer {
        said!("trail-released-by-repairer", note = note)
    } else {
        Text::typed(note)
    };
    trail.add(TrailAct::Released, order_subject(&order), state.word(), to.word(), why);
    let fit_for_use = tx.count_open_holds(machine.id).await? == 0;

    let event = Event::Released {
        defects: released_defects(&open, &retests),
        repaired_by: repairers(&mut tx, &open, &worked_on_it).await?,
        released_by_repairer: signed.by_the_repairer,
        fit_for_use,
    };
    let reporters: Vec<PersonId> =
        open.iter().map(|d| d.reported_by).collect::<BTreeSet<_>>().into_iter().collect();
    let key = format!("release {release_id}");
    tell::tell(workshop, &mut tx, actor, &machine, &yard, &key, event, &reporters, now).await?;
    if lifted > 0 {
        trail.add(
            TrailAct::HoldsLifted,
            format!("machine {}", machine.unit_number),
            TrailState::Open,
            TrailState::Lifted,
            said!("trail-by-release", holds = lifted),
        );
    }
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(Released { release: release_id, released_by_repairer: signed.by_the_repairer, fit_for_use })
}

/// The newest retest of each defect since the work was last marked done.
pub async fn newest_retests(tx: &mut Tx, order: &OrderRow) -> Result<HashMap<DefectId, RetestRow>> {
    let since = order.done_at;
    let retests = tx.retests_of_order(order.id).await?;
    Ok(retests.into_iter().filter(|r| since.is_some_and(|s| r.at >= s)).map(|r| (r.defect_id, r)).collect())
}

pub fn candidate(defect: &DefectRow, retests: &HashMap<DefectId, RetestRow>) -> Candidate {
    Candidate {
        what: defect.what.clone(),
        system: defect.system,
        state: defect.state,
        retest_passed: retests.get(&defect.id).map(|r| r.passed),
        repaired_by: defect.repaired_by,
    }
}

fn released_defects(open: &[DefectRow], retests: &HashMap<DefectId, RetestRow>) -> Vec<ReleasedDefect> {
    open.iter()
        .map(|d| ReleasedDefect {
            defect: d.id,
            what: d.what.clone(),
            cause: d.cause.clone(),
            remedy: d.remedy.clone(),
            retested_by: retests.get(&d.id).map(|r| r.by_name.clone()).unwrap_or_default(),
            no_fault_found: d.no_fault_found,
        })
        .collect()
}

async fn repairers(tx: &mut Tx, open: &[DefectRow], worked_on_it: &[PersonId]) -> Result<Vec<String>> {
    let people: BTreeSet<PersonId> =
        open.iter().filter_map(|d| d.repaired_by).chain(worked_on_it.iter().copied()).collect();
    let mut names = Vec::new();
    for person in people {
        names.extend(tx.person(person).await?.map(|p| p.name));
    }
    Ok(names)
}
