//! What a checklist would say of readings that nobody took: for whoever writes its rules. Nothing is written.

use std::sync::Arc;

use super::super::checklist_drafts::own;
use super::super::{Result, Workshop};
use crate::domain::answers::read;
use crate::domain::checklist::Checklist;
use crate::domain::history::History;
use crate::domain::ids::{ChecklistId, DraftId};
use crate::domain::judge::{Judgement, judge};
use crate::domain::person::{Act, Actor};
use crate::domain::reading::{Before, Context, RawAnswer, Reading};
use crate::domain::refusal::{Problem, Refusal, Thing};
use crate::words::Text;

#[derive(Clone, Copy, Debug)]
pub enum TriedOut {
    Version(ChecklistId),
    /// One's own, if nothing is wrong with it.
    Draft(DraftId),
}

/// Readings, under what they are taken, and what was before.
#[derive(Clone, Debug)]
pub struct Attempt {
    pub context: Context,
    /// Only the items that were answered.
    pub answers: Vec<RawAnswer>,
    pub history: History,
    /// Whether an item left open counts as not answered, rather than as it should be.
    pub open_is_unanswered: bool,
}

/// The checklist to try.
pub async fn tried_out(workshop: &Workshop, actor: &Actor, what: TriedOut) -> Result<Arc<Checklist>> {
    actor.must(Act::SetUpChecklists)?;
    let mut tx = workshop.db.read().await?;
    match what {
        TriedOut::Version(id) => {
            tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
            workshop.checklist(&mut tx, id).await
        }
        TriedOut::Draft(id) => {
            let (_, draft) = own(&mut tx, actor, id).await?;
            let ready = draft.ready().map_err(|faults| {
                Refusal::conflict(said!(
                    "draft-mend-first",
                    part = Text::each(|lang| draft.called(faults[0].part, lang))
                ))
            })?;
            Ok(Arc::new(ready.checklist))
        }
    }
}

pub async fn try_out(
    workshop: &Workshop,
    actor: &Actor,
    what: TriedOut,
    attempt: &Attempt,
) -> Result<(Arc<Checklist>, Judgement)> {
    let checklist = tried_out(workshop, actor, what).await?;
    let readings = understand(&checklist, attempt)?;
    let judgement = judge(&checklist, &attempt.context, &readings, &attempt.history);
    Ok((checklist, judgement))
}

/// As a check is read, but for what was left open: that is well, or not there at all.
fn understand(checklist: &Checklist, attempt: &Attempt) -> Result<Vec<Reading>> {
    let mut part = checklist.clone();
    let walk = checklist.walk();
    let answered: Vec<_> = walk
        .iter()
        .filter(|s| {
            let position = s.position.map(|p| p.key.as_str());
            attempt
                .answers
                .iter()
                .any(|a| a.item.as_deref() == Some(&s.item.key) && a.position.as_deref() == position)
        })
        .collect();
    // Only what was answered is asked for, and each at its own positions.
    for zone in &mut part.zones {
        for item in &mut zone.items {
            item.positions.retain(|p| answered.iter().any(|s| s.is(&item.key, Some(&p.key))));
        }
        zone.items.retain(|i| answered.iter().any(|s| s.item.key == i.key));
    }
    let mut readings =
        read(&part, &attempt.context, &attempt.answers, &Before::default()).map_err(|questions| {
            // Back from the answers that were given to their place in the walk.
            let problems = questions.into_iter().map(|q| {
                let stop = walk.iter().find(|s| {
                    q.item.as_deref() == Some(&s.item.key)
                        && q.position.as_deref() == s.position.map(|p| p.key.as_str())
                });
                let member = q.pointer.split('/').nth(3).unwrap_or("outcome");
                let pointer = stop.map_or(q.pointer.clone(), |s| format!("/answers/{}/{member}", s.index));
                Problem { pointer, sentence: q.sentence }
            });
            Refusal::Invalid { problems: problems.collect() }
        })?;
    if !attempt.open_is_unanswered {
        let open = walk.iter().filter(|s| !answered.iter().any(|a| a.index == s.index));
        readings.extend(open.map(|s| {
            let place = s.place();
            Reading {
                item: place.item,
                position: place.position,
                outcome: crate::domain::reading::Outcome::Ok,
                level: None,
                value: None,
                correction: None,
                note: None,
            }
        }));
    }
    Ok(readings)
}
