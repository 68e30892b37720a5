//! What happened that somebody must be told of. The facts are kept with the outbox row, so that a mail sent three
//! days late still says what was true when it happened.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::ids::{DefectId, MachineId, PersonId, WorkOrderId};
use super::labour::ForgottenBecause;
use crate::words::Text;

/// One alert-worthy event; it becomes one outbox row per recipient.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Alert {
    pub machine: MachineId,
    /// Unit number as people know it.
    pub unit_number: String,
    pub yard_name: String,
    pub at: DateTime<Utc>,
    /// IANA zone of the yard: the time is shown in it.
    pub zone: chrono_tz::Tz,
    pub by: String,
    pub by_id: PersonId,
    pub event: Event,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum Event {
    /// At least one hold was opened on the machine.
    MachineHeld {
        /// One per reason.
        why: Vec<Because>,
        /// What the person at the machine was told to do.
        instruction: Text,
        work_order: Option<WorkOrderId>,
        /// When it was found, where that reached the server later.
        #[serde(default)]
        recorded_at: Option<DateTime<Utc>>,
    },
    /// Every hold behind the release was lifted: the return-to-service note.
    Released {
        defects: Vec<ReleasedDefect>,
        repaired_by: Vec<String>,
        released_by_repairer: bool,
        /// False when another hold still keeps the machine out of service.
        fit_for_use: bool,
    },
    /// A hold was lifted by another than the person who placed it.
    HoldLifted { placed_by: String, hold_reason: Text, lift_reason: String, fit_for_use: bool },
    /// The meter ran while the machine was held.
    UsedWhileHeld { held_at_hours: String, now_hours: String },
    /// A clock that its mechanic forgot was ended.
    TimerClosed {
        work_order: WorkOrderId,
        number: i64,
        started_at: DateTime<Utc>,
        closed_at: DateTime<Utc>,
        because: ForgottenBecause,
    },
    /// What somebody outside promised is not back.
    OutsideLate { vendor: String, what: String, promised_at: DateTime<Utc> },
    /// Defects that were back too soon after their release: what was done about them last time did not last.
    CameBack {
        defects: Vec<CameBack>,
        /// When it was found, where that reached the server later.
        #[serde(default)]
        recorded_at: Option<DateTime<Utc>>,
    },
    /// A part that a work order waited for is there and reserved for it.
    PartArrived {
        work_order: WorkOrderId,
        number: i64,
        part: ArrivedPart,
        /// Nothing else is lacking: work can go on.
        all_there: bool,
    },
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ArrivedPart {
    pub name: String,
    pub number: String,
    pub quantity: String,
    pub unit: String,
    /// Where it lies.
    pub bin: String,
}

/// Why a machine is held: short for the subject of a mail, and in a sentence with the figures and the rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Because {
    pub what: Text,
    pub why: Text,
}

impl Because {
    /// The sentence says by itself what it is about, also where it is only a person's word.
    pub fn new(what: &Text, why: &Text) -> Self {
        let told = Text::each(|lang| {
            let (what, why) = (what.in_lang(lang), why.in_lang(lang));
            let about = what.split(':').next().unwrap_or(what);
            if why.contains(about) {
                why.to_owned()
            } else if why.is_empty() {
                what.to_owned()
            } else {
                format!("{}. {why}", what.trim_end_matches('.'))
            }
        });
        Self { what: what.clone(), why: told }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CameBack {
    pub defect: DefectId,
    pub what: Text,
    pub why: Text,
    pub out_of_service: bool,
    pub prior: Option<DefectId>,
    /// What was done last time.
    pub cause: String,
    pub remedy: Text,
    pub released_at: Option<DateTime<Utc>>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReleasedDefect {
    pub defect: DefectId,
    pub what: Text,
    pub cause: String,
    pub remedy: String,
    pub retested_by: String,
    /// True where the defect could not be reproduced.
    pub no_fault_found: bool,
}

impl Event {
    /// The spelling kept in the outbox table.
    pub const fn kind(&self) -> &'static str {
        match self {
            Event::MachineHeld { .. } => "machine held",
            Event::Released { .. } => "released",
            Event::HoldLifted { .. } => "hold lifted",
            Event::UsedWhileHeld { .. } => "used while out of service",
            Event::CameBack { .. } => "defect came back",
            Event::TimerClosed { .. } => "timer closed",
            Event::PartArrived { .. } => "part arrived",
            Event::OutsideLate { .. } => "repair outside late",
        }
    }
}
