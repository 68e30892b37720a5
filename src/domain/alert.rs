//! What happened that somebody must be told of. The facts are kept with the outbox row, so that a mail sent three
//! days late still says what was true when it happened.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::hearing::AlertKind;
use super::ids::{DefectId, MachineId, PersonId, WorkOrderId};
use super::labour::ForgottenBecause;
use super::words::words;
use crate::words::Text;

words! {
    /// How far those who should know of a grounded machine do.
    AlertState {
        Told = "told",
        NotAcknowledged = "not acknowledged",
        NotDelivered = "not delivered",
    }
}

impl AlertState {
    /// What did not arrive is the worse news.
    pub const fn of(something_undelivered: bool, something_unacknowledged: bool) -> Self {
        match (something_undelivered, something_unacknowledged) {
            (true, _) => AlertState::NotDelivered,
            (false, true) => AlertState::NotAcknowledged,
            (false, false) => AlertState::Told,
        }
    }
}

/// One alert-worthy event; it becomes one outbox row per recipient.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Alert {
    /// None for what is about no machine.
    #[serde(default)]
    pub machine: Option<MachineId>,
    /// Unit number as people know it; empty where it is about no machine.
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
    /// Nobody has said that they have seen a hold.
    NotAcknowledged {
        why: Vec<Because>,
        /// What the person at the machine was told to do: it holds for whoever is sent there now.
        #[serde(default)]
        instruction: Text,
        held_at: DateTime<Utc>,
        /// Who stopped the machine.
        held_by: String,
    },
    /// To whoever reported a defect with which the machine may go on.
    ReportReceived { defect: DefectId, what: Text, why: Text, good_until: Option<DateTime<Utc>> },
    /// How a yard stands in the morning.
    Digest { grounded: Vec<DigestGrounded>, watched: Vec<DigestWatched>, not_delivered: i64 },
    /// An address that did not take what it was sent for days.
    WebhookOff { host: String, since: DateTime<Utc>, last_answer: String },
    /// What all chains of the audit trail were, signed, as it is read back (`domain/trail_head.rs`).
    TrailHead { number: i64, written: String },
    /// Of whoever is told, by an owner.
    SecondStepRemoved,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DigestGrounded {
    pub unit_number: String,
    pub why: Text,
    pub since: DateTime<Utc>,
    pub acknowledged: bool,
    #[serde(default)]
    pub likely_by: Option<DateTime<Utc>>,
    /// "12.50 GBP"; empty where it was not said.
    #[serde(default)]
    pub cost: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DigestWatched {
    pub unit_number: String,
    pub what: Text,
    pub good_until: Option<DateTime<Utc>>,
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
    pub const fn kind(&self) -> AlertKind {
        match self {
            Event::MachineHeld { .. } => AlertKind::MachineHeld,
            Event::Released { .. } => AlertKind::Released,
            Event::HoldLifted { .. } => AlertKind::HoldLifted,
            Event::UsedWhileHeld { .. } => AlertKind::UsedWhileHeld,
            Event::NotAcknowledged { .. } => AlertKind::NotAcknowledged,
            Event::CameBack { .. } => AlertKind::CameBack,
            Event::TimerClosed { .. } => AlertKind::TimerClosed,
            Event::PartArrived { .. } => AlertKind::PartArrived,
            Event::OutsideLate { .. } => AlertKind::OutsideLate,
            Event::ReportReceived { .. } => AlertKind::ReportReceived,
            Event::Digest { .. } => AlertKind::Digest,
            Event::WebhookOff { .. } => AlertKind::WebhookOff,
            Event::TrailHead { .. } => AlertKind::TrailHead,
            Event::SecondStepRemoved => AlertKind::SecondStepRemoved,
        }
    }
}
