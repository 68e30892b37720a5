//! What a check says first: of each monitored defect of the machine, whether it is the same, worse or gone.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::defect::DefectState;
use super::ids::DefectId;
use super::refusal::{Problem, optional_text};
use super::standing::Severity;
use super::words::words;
use crate::words::Text;

words! {
    Watched {
        Same = "same",
        Worse = "worse",
        /// Only a mechanic's eye closes it.
        Gone = "gone",
    }
}

/// What was said of one defect.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    pub defect: DefectId,
    /// None when the question was shown and left open.
    pub now: Option<Watched>,
    pub note: String,
}

/// A defect of the machine, as far as the watch needs it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Defect {
    pub id: DefectId,
    pub what: Text,
    pub severity: Severity,
    pub state: DefectState,
    pub raised_at: DateTime<Utc>,
}

/// What follows from what was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Consequence {
    /// One more sighting.
    SeenAgain,
    /// Out of service at this instant.
    OutOfService,
    /// Kept open, and a mechanic looks.
    SaidGone,
    /// The defect was closed while the check was made: it never reopens. Worse is a new one.
    ClosedMeanwhile,
}

pub const MOST_NOTE: usize = 300;
/// The name under which a person's word stands where otherwise a rule decides.
pub const SAID_TO_BE_WORSE: &str = "said to be worse";

/// Whether a check asks about the defect. One that is repaired and waits for its release is the workshop's to judge.
pub const fn is_asked(severity: Severity, state: DefectState) -> bool {
    matches!((severity, state), (Severity::Monitor, DefectState::Monitored))
}

/// What is missing from the answers, each by the defect's name. `finished_at` is when the check was finished: a defect
/// that was raised later was not there to be looked at, so a check that is sent hours afterwards is not refused for it.
/// One that somebody else raised while the operator walked round is asked for: the machine is about to be taken with it.
pub fn questions(open: &[Defect], said: &[Said], finished_at: DateTime<Utc>) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (n, answer) in said.iter().enumerate() {
        let what = open.iter().find(|d| d.id == answer.defect).map(|d| d.what.clone());
        let what = what.unwrap_or_else(|| said!("watched-a-defect"));
        let pointer = |member: &str| format!("/watched/{n}/{member}");
        if said[..n].iter().any(|earlier| earlier.defect == answer.defect) {
            let sentence = said!("watched-twice", what = what);
            problems.push(Problem { pointer: pointer("defect"), sentence });
            continue;
        }
        match answer.now {
            None => problems.push(Problem { pointer: pointer("now"), sentence: question(&what) }),
            Some(Watched::Worse) if answer.note.trim().is_empty() => {
                let sentence = said!("watched-say-what-is-worse", what = what);
                problems.push(Problem { pointer: pointer("note"), sentence });
            }
            Some(_) => {
                let note = optional_text(&pointer("note"), said!("what-note"), &answer.note, MOST_NOTE);
                if let Err(super::refusal::Refusal::Invalid { problems: about_note }) = note {
                    problems.extend(about_note);
                }
            }
        }
    }
    let answered = |d: &Defect| said.iter().any(|s| s.defect == d.id);
    for defect in open {
        if is_asked(defect.severity, defect.state) && defect.raised_at <= finished_at && !answered(defect) {
            problems.push(Problem { pointer: "/watched".to_owned(), sentence: question(&defect.what) });
        }
    }
    problems
}

/// `seen` is whether the same check found the defect by one of its items: what was read goes before what was said.
pub const fn consequence(now: Watched, state: DefectState, seen: bool) -> Consequence {
    match (now, state) {
        (_, DefectState::Closed) => Consequence::ClosedMeanwhile,
        (Watched::Worse, _) => Consequence::OutOfService,
        (Watched::Gone, _) if !seen => Consequence::SaidGone,
        (Watched::Gone | Watched::Same, _) => Consequence::SeenAgain,
    }
}

fn question(what: &Text) -> Text {
    said!("watched-open", what = what)
}

#[cfg(test)]
mod tests;
