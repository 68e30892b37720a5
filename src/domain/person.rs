//! People, their roles, and what each role may do.

use serde::{Deserialize, Serialize};

use super::ids::{PersonId, YardId};
use super::words::words;

words! {
    Role {
        Operator = "operator",
        Mechanic = "mechanic",
        Supervisor = "supervisor",
        Owner = "owner",
    }
}

/// The person on whose behalf something is done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Actor {
    pub id: PersonId,
    pub name: String,
    pub roles: Vec<Role>,
    /// Yards the person works in. An owner sees every yard whether listed or not.
    pub yards: Vec<YardId>,
    /// Came in by the PIN of a shared device: enough for a day's work, not for what [`Act::asks_for_password`].
    #[serde(default)]
    pub by_pin: bool,
}

/// Everything somebody may ask of the workshop. The table in [`Act::roles`] is the only place that says who may.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Act {
    SeeMachines,
    SubmitCheck,
    ReportDefect,
    PlaceHold,
    LiftOwnHold,
    LiftOthersHold,
    RaiseSeverity,
    LowerSeverity,
    SeeQueue,
    ClaimWorkOrder,
    WorkOnOrder,
    CancelWorkOrder,
    Retest,
    Release,
    SeeStore,
    ReceiveParts,
    SeeBoard,
    SeeOutbox,
    SeeAudit,
    SeeCareless,
    SetUpMachines,
    SetUpPeople,
    SetUpChecklists,
    SetUpDevices,
}

impl Act {
    pub const ALL: &'static [Act] = &[
        Act::SeeMachines,
        Act::SubmitCheck,
        Act::ReportDefect,
        Act::PlaceHold,
        Act::LiftOwnHold,
        Act::LiftOthersHold,
        Act::RaiseSeverity,
        Act::LowerSeverity,
        Act::SeeQueue,
        Act::ClaimWorkOrder,
        Act::WorkOnOrder,
        Act::CancelWorkOrder,
        Act::Retest,
        Act::Release,
        Act::SeeStore,
        Act::ReceiveParts,
        Act::SeeBoard,
        Act::SeeOutbox,
        Act::SeeAudit,
        Act::SeeCareless,
        Act::SetUpMachines,
        Act::SetUpPeople,
        Act::SetUpChecklists,
        Act::SetUpDevices,
    ];

    /// Who may. Placing a hold, reporting and raising a severity are open to everybody on purpose: nobody needs
    /// leave to stop a machine.
    pub const fn roles(self) -> &'static [Role] {
        use Role::{Mechanic, Operator, Owner, Supervisor};
        match self {
            Act::SeeMachines
            | Act::SubmitCheck
            | Act::ReportDefect
            | Act::PlaceHold
            | Act::LiftOwnHold
            | Act::RaiseSeverity
            | Act::SeeBoard => &[Operator, Mechanic, Supervisor, Owner],
            Act::LiftOthersHold
            | Act::LowerSeverity
            | Act::CancelWorkOrder
            | Act::Release
            | Act::SetUpMachines
            | Act::SetUpChecklists
            | Act::SetUpDevices
            | Act::SeeOutbox
            | Act::SeeAudit
            | Act::SeeCareless => &[Supervisor, Owner],
            Act::SeeQueue | Act::Retest | Act::SeeStore | Act::ReceiveParts => &[Mechanic, Supervisor, Owner],
            Act::ClaimWorkOrder | Act::WorkOnOrder => &[Mechanic],
            Act::SetUpPeople => &[Owner],
        }
    }

    /// Whoever came in by PIN gives the password first: what puts back into use a machine that somebody else stopped, and
    /// what decides who may do so, or by which rules.
    pub const fn asks_for_password(self) -> bool {
        matches!(
            self,
            Act::Release | Act::LiftOthersHold | Act::LowerSeverity | Act::SetUpPeople | Act::SetUpChecklists
        )
    }

    pub const fn in_words(self) -> &'static str {
        match self {
            Act::SeeMachines => "see machines",
            Act::SubmitCheck => "submit a check",
            Act::ReportDefect => "report a defect",
            Act::PlaceHold => "place a hold",
            Act::LiftOwnHold => "lift a hold you placed",
            Act::LiftOthersHold => "lift a hold that somebody else placed",
            Act::RaiseSeverity => "raise a severity",
            Act::LowerSeverity => "lower a severity",
            Act::SeeQueue => "see the mechanic queue",
            Act::ClaimWorkOrder => "claim a work order",
            Act::WorkOnOrder => "work on a work order",
            Act::CancelWorkOrder => "cancel a work order",
            Act::Retest => "retest a failed item",
            Act::Release => "release a machine",
            Act::SeeStore => "see the store",
            Act::ReceiveParts => "receive parts",
            Act::SeeBoard => "see the yard board",
            Act::SeeOutbox => "see the outbox",
            Act::SeeAudit => "see the audit trail",
            Act::SeeCareless => "see which checks look careless",
            Act::SetUpMachines => "set up machines and yards",
            Act::SetUpPeople => "set up people",
            Act::SetUpChecklists => "set up checklists",
            Act::SetUpDevices => "look after shared devices",
        }
    }
}

impl Actor {
    pub fn has(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    pub fn may(&self, act: Act) -> bool {
        act.roles().iter().any(|r| self.has(*r))
    }

    /// Yard membership; an owner belongs to every yard.
    pub fn in_yard(&self, yard: YardId) -> bool {
        self.has(Role::Owner) || self.yards.contains(&yard)
    }

    pub fn may_in(&self, act: Act, yard: YardId) -> bool {
        self.may(act) && self.in_yard(yard)
    }
}
