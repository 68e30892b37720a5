//! Return to service: what must be so before somebody may sign.

use super::checklist::System;
use super::defect::DefectState;
use super::ids::PersonId;
use super::person::{Act, Actor};
use super::refusal::Refusal;
use crate::words::Text;

/// One defect of the work order, as far as a release looks at it.
#[derive(Clone, Debug)]
pub struct Candidate {
    pub what: Text,
    pub system: System,
    pub state: DefectState,
    /// The outcome of its newest retest, if it had one since it was last worked on.
    pub retest_passed: Option<bool>,
    pub repaired_by: Option<PersonId>,
}

/// Whether the record must say "released by the repairer".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Signed {
    pub by_the_repairer: bool,
}

/// `one_person`: the yard's setting that there is nobody else to sign. `worked_on_it`: everybody with labour on the
/// order. A person who only turned a spanner on an independent system is as much its repairer as the claimant.
pub fn may_release(
    defects: &[Candidate],
    actor: &Actor,
    worked_on_it: &[PersonId],
    one_person: bool,
) -> Result<Signed, Refusal> {
    actor.must(Act::Release)?;
    for d in defects {
        if !matches!(d.state, DefectState::Repaired | DefectState::NoFaultFound) {
            return Err(Refusal::conflict(said!("release-nothing-done", what = d.what)));
        }
        match d.retest_passed {
            Some(true) => {}
            Some(false) => {
                return Err(Refusal::conflict(said!("release-retest-failed", what = d.what)));
            }
            None => {
                return Err(Refusal::conflict(said!("release-not-retested", what = d.what)));
            }
        }
    }
    let repaired = |d: &Candidate| d.repaired_by == Some(actor.id) || worked_on_it.contains(&actor.id);
    let by_the_repairer = defects.iter().any(repaired);
    if !one_person && let Some(d) = defects.iter().find(|d| d.system.independent() && repaired(d)) {
        let sentence = said!("release-by-another", what = d.what, system = d.system);
        return Err(Refusal::Forbidden(sentence));
    }
    Ok(Signed { by_the_repairer })
}
