//! People, their roles, and what each role may do.

use serde::{Deserialize, Serialize};

use super::ids::{PersonId, YardId};
use super::words::words;
use crate::words::{Lang, Spoken, Value};

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
    /// The password was given too long ago to sign with ([`SIGNS_WITHIN_MINUTES`]).
    #[serde(default)]
    pub long_ago: bool,
}

/// Whoever signed in, or gave the password, within so many minutes signs a release without giving it again.
pub const SIGNS_WITHIN_MINUTES: i64 = 15;

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
    PinWorkOrder,
    Retest,
    Release,
    SeeStore,
    ReceiveParts,
    InspectMany,
    SeeBoard,
    SeeOutbox,
    SeeAudit,
    SeeCareless,
    SeeNumbers,
    SetUpMachines,
    SetUpPeople,
    SetUpChecklists,
    SetUpDevices,
    TakeEverythingOut,
    SetRetention,
    SignTrail,
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
        Act::PinWorkOrder,
        Act::Retest,
        Act::Release,
        Act::SeeStore,
        Act::ReceiveParts,
        Act::InspectMany,
        Act::SeeBoard,
        Act::SeeOutbox,
        Act::SeeAudit,
        Act::SeeCareless,
        Act::SeeNumbers,
        Act::SetUpMachines,
        Act::SetUpPeople,
        Act::SetUpChecklists,
        Act::SetUpDevices,
        Act::TakeEverythingOut,
        Act::SetRetention,
        Act::SignTrail,
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
            | Act::InspectMany
            | Act::PinWorkOrder
            | Act::Release
            | Act::SetUpMachines
            | Act::SetUpChecklists
            | Act::SetUpDevices
            | Act::SeeOutbox
            | Act::SeeAudit
            | Act::SeeCareless
            | Act::SeeNumbers => &[Supervisor, Owner],
            Act::SeeQueue | Act::Retest | Act::SeeStore | Act::ReceiveParts => &[Mechanic, Supervisor, Owner],
            Act::ClaimWorkOrder | Act::WorkOnOrder => &[Mechanic],
            Act::SetUpPeople | Act::TakeEverythingOut | Act::SetRetention | Act::SignTrail => &[Owner],
        }
    }

    /// Whoever came in by PIN gives the password first: what puts back into use a machine that somebody else stopped, and
    /// what decides who may do so, or by which rules.
    pub const fn asks_for_password(self) -> bool {
        matches!(
            self,
            Act::Release
                | Act::LiftOthersHold
                | Act::LowerSeverity
                | Act::SetUpPeople
                | Act::SetUpChecklists
                | Act::TakeEverythingOut
                | Act::SetRetention
                | Act::SignTrail
        )
    }

    /// Its key in the catalogues: what somebody does, as it follows "to".
    pub const fn key(self) -> &'static str {
        match self {
            Act::SeeMachines => "act-see-machines",
            Act::SubmitCheck => "act-submit-check",
            Act::ReportDefect => "act-report-defect",
            Act::PlaceHold => "act-place-hold",
            Act::LiftOwnHold => "act-lift-own-hold",
            Act::LiftOthersHold => "act-lift-others-hold",
            Act::RaiseSeverity => "act-raise-severity",
            Act::LowerSeverity => "act-lower-severity",
            Act::SeeQueue => "act-see-queue",
            Act::ClaimWorkOrder => "act-claim-work-order",
            Act::WorkOnOrder => "act-work-on-order",
            Act::CancelWorkOrder => "act-cancel-work-order",
            Act::PinWorkOrder => "act-pin-work-order",
            Act::Retest => "act-retest",
            Act::Release => "act-release",
            Act::SeeStore => "act-see-store",
            Act::ReceiveParts => "act-receive-parts",
            Act::InspectMany => "act-inspect-many",
            Act::SeeBoard => "act-see-board",
            Act::SeeOutbox => "act-see-outbox",
            Act::SeeAudit => "act-see-audit",
            Act::SeeCareless => "act-see-careless",
            Act::SeeNumbers => "act-see-numbers",
            Act::SetUpMachines => "act-set-up-machines",
            Act::SetUpPeople => "act-set-up-people",
            Act::SetUpChecklists => "act-set-up-checklists",
            Act::SetUpDevices => "act-set-up-devices",
            Act::TakeEverythingOut => "act-take-everything-out",
            Act::SetRetention => "act-set-retention",
            Act::SignTrail => "act-sign-trail",
        }
    }
}

impl Spoken for Act {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(t_in!(lang, self.key()))
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
