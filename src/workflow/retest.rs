//! The failed item performed again: same limits, same context, after the repair.

use serde::{Deserialize, Serialize};

use super::order_of_defect::back_to_work;
use super::raise::subject;
use super::trail::Trail;
use super::{Result, Workshop, from_json, order_for, to_json};
use crate::domain::answers::{ItemAt, read_air, read_retest};
use crate::domain::defect::{DefectState, FailedItem};
use crate::domain::ids::{DefectId, WorkOrderId};
use crate::domain::judge::retest_in_its_context;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::{Context, Question, RawAnswer};
use crate::domain::refusal::{Problem, Refusal, Thing, plain_text};
use crate::domain::trail::TrailAct;
use crate::domain::unit::Measured;
use crate::domain::work_order::OrderWord;
use crate::storage::{DefectRow, RetestRow, Tx};
use crate::words::Text;

#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct RetestAnswers {
    /// One per failed item of the checklist.
    #[serde(default)]
    pub answers: Vec<RawAnswer>,
    /// For a defect reported outside a check: whether the fault is gone, and what was tried.
    pub fault_gone: Option<bool>,
    #[serde(default)]
    pub tried: String,
    /// The temperature of the air now, asked where the failure was judged at one; °C when it has no unit.
    #[serde(default)]
    pub air_temperature: Option<String>,
    #[serde(default)]
    pub air_unit: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Retested {
    pub passed: bool,
    /// Why it did not pass; empty when it did.
    pub why: Text,
}

/// Records the retest of one defect. A failed one sends the defect and its work order back to work; the hold stays.
pub async fn retest(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    defect: DefectId,
    given: RetestAnswers,
) -> Result<Retested> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, order).await?;
    actor.must(Act::Retest)?;
    let mut defect = tx
        .defect(defect)
        .await?
        .filter(|d| d.work_order_id == Some(order.id))
        .ok_or(Refusal::NotFound(Thing::Defect))?;
    let worked_on = matches!(defect.state, DefectState::Repaired | DefectState::NoFaultFound);
    if order.word() != OrderWord::WorkDone || !worked_on {
        return Err(Refusal::conflict(said!("retest-after-work-done")).into());
    }
    let (outcome, air) = judge(workshop, &mut tx, &defect, &given).await?;
    tx.insert_retest(&RetestRow {
        id: workshop.ambient.id(),
        work_order_id: order.id,
        defect_id: defect.id,
        by_id: actor.id,
        by_name: actor.name.clone(),
        at: now,
        load: defect.load,
        air,
        answers: to_json(&given)?,
        passed: outcome.passed,
        why: outcome.why.clone(),
    })
    .await?;
    let mut trail = Trail::new(actor, now);
    if outcome.passed {
        trail.add(TrailAct::RetestPassed, subject(defect.id), defect.state, defect.state, given.tried);
    } else {
        let before = defect.state;
        defect.state = defect.state.back_to_work(defect.severity)?;
        tx.update_defect(&defect).await?;
        let seen = said!("retest-failed-because", why = outcome.why);
        tx.insert_sighting(defect.id, None, actor.id, now, &seen, None).await?;
        trail.add(TrailAct::RetestFailed, subject(defect.id), before, defect.state, outcome.why.clone());
        defect.version += 1;
        back_to_work(&mut tx, actor, &mut defect, &mut trail, now).await?;
    }
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(outcome)
}

async fn judge(
    workshop: &Workshop,
    tx: &mut Tx,
    defect: &DefectRow,
    given: &RetestAnswers,
) -> Result<(Retested, Option<Measured>)> {
    let failed: Vec<FailedItem> = from_json(&defect.failed)?;
    let Some(checklist) = defect.checklist_id.filter(|_| !failed.is_empty()) else {
        return Ok((by_hand(given)?, None));
    };
    let checklist = workshop.checklist(tx, checklist).await?;
    let places: Vec<ItemAt> =
        failed.into_iter().map(|f| (f.item, Some(f.position).filter(|p| !p.is_empty()))).collect();
    // The context of the failure, not of today: a tyre that failed laden is retested laden.
    let failed_in = defect.context();
    let mut questions = Vec::new();
    let air = read_air(given.air_temperature.as_deref(), given.air_unit.as_deref()).unwrap_or_else(|q| {
        questions.push(q);
        None
    });
    if let (Some(then), None, true) = (&failed_in.air, &air, questions.is_empty()) {
        questions.push(air_now(then));
    }
    let today = Context { air: air.clone(), ..failed_in.clone() };
    let readings = read_retest(&checklist, &today, &given.answers, &places).unwrap_or_else(|asked| {
        questions.extend(asked);
        Vec::new()
    });
    if !questions.is_empty() {
        let problems = questions.into_iter().map(|q| Problem { pointer: q.pointer, sentence: q.sentence });
        return Err(Refusal::Invalid { problems: problems.collect() }.into());
    }
    let result = retest_in_its_context(&checklist, &failed_in, air.as_ref(), &readings, &places);
    let mut why: Vec<Text> = result.findings.iter().map(|f| f.why.clone()).collect();
    if why.is_empty() && !result.passes() {
        why.push(said!("retest-every-item-ok"));
    }
    Ok((Retested { passed: result.passes(), why: Text::joined(&why, " ") }, air))
}

/// A pressure means nothing beside the one that failed unless the air of both is known.
fn air_now(then: &Measured) -> Question {
    Question {
        pointer: "/air_temperature".to_owned(),
        item: None,
        position: None,
        sentence: said!("retest-air-now", then = then),
    }
}

fn by_hand(given: &RetestAnswers) -> Result<Retested> {
    let tried = plain_text("/tried", said!("what-tried"), &given.tried, 500)?;
    match given.fault_gone {
        Some(true) => Ok(Retested { passed: true, why: Text::default() }),
        Some(false) => Ok(Retested { passed: false, why: Text::typed(tried) }),
        None => Err(Refusal::invalid("/fault_gone", said!("retest-is-it-gone")).into()),
    }
}
