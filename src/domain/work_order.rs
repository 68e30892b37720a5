//! The job of repairing one or more defects of one machine: its states, and who may move it between them.

use chrono::{DateTime, Utc};

use super::ids::PersonId;
use super::person::{Act, Actor, Role};
use super::refusal::{Refusal, plain_text};
use super::words::words;

words! {
    /// A state's word as kept in the table.
    OrderWord {
        Queued = "queued",
        Claimed = "claimed",
        InWork = "in work",
        Waiting = "waiting",
        WorkDone = "work done",
        Closed = "closed",
        Cancelled = "cancelled",
    }
}

words! {
    WaitingFor {
        Parts = "parts",
        OutsideRepair = "outside repair",
        Access = "access",
        Information = "information",
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrderState {
    Queued,
    Claimed { by: PersonId },
    InWork { by: PersonId },
    Waiting { by: PersonId, wait: Wait },
    WorkDone { by: PersonId },
    Closed,
    Cancelled { reason: String },
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wait {
    pub waiting_for: WaitingFor,
    /// When it is expected to go on; the queue shows it.
    pub until: Option<DateTime<Utc>>,
    pub note: String,
}

/// What somebody asks of a work order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrderCommand {
    Claim,
    HandBack,
    /// Labour begins; also what ends a wait.
    Start,
    Wait(Wait),
    /// Cause and remedy are recorded for every defect.
    FinishWork,
    /// The retest failed.
    BackToWork,
    Cancel {
        reason: String,
    },
    /// By a release only.
    Close,
}

impl OrderState {
    pub const fn word(&self) -> OrderWord {
        match self {
            Self::Queued => OrderWord::Queued,
            Self::Claimed { .. } => OrderWord::Claimed,
            Self::InWork { .. } => OrderWord::InWork,
            Self::Waiting { .. } => OrderWord::Waiting,
            Self::WorkDone { .. } => OrderWord::WorkDone,
            Self::Closed => OrderWord::Closed,
            Self::Cancelled { .. } => OrderWord::Cancelled,
        }
    }

    pub const fn claimant(&self) -> Option<PersonId> {
        match self {
            Self::Claimed { by } | Self::InWork { by } | Self::Waiting { by, .. } | Self::WorkDone { by } => {
                Some(*by)
            }
            Self::Queued | Self::Closed | Self::Cancelled { .. } => None,
        }
    }

    /// Still takes defects and parts.
    pub const fn is_taking(&self) -> bool {
        matches!(self, Self::Queued | Self::Claimed { .. } | Self::InWork { .. } | Self::Waiting { .. })
    }
}

/// The next state, or why not. `claimant_name` is shown to whoever comes second.
pub fn decide(
    state: &OrderState,
    command: OrderCommand,
    actor: &Actor,
    claimant_name: &str,
) -> Result<OrderState, Refusal> {
    use OrderCommand as C;
    use OrderState as S;
    match command {
        C::Claim => {
            actor.must(Act::ClaimWorkOrder)?;
            match state {
                S::Queued => Ok(S::Claimed { by: actor.id }),
                S::Claimed { by } | S::InWork { by } | S::Waiting { by, .. } if *by == actor.id => {
                    Ok(state.clone())
                }
                S::Claimed { .. } | S::InWork { .. } | S::Waiting { .. } | S::WorkDone { .. } => {
                    Err(Refusal::conflict(format!("{claimant_name} has this work order.")))
                }
                S::Closed | S::Cancelled { .. } => Err(ended(state)),
            }
        }
        C::HandBack => {
            mine_or_supervised(state, actor, claimant_name)?;
            match state {
                S::Claimed { .. } | S::InWork { .. } | S::Waiting { .. } => Ok(S::Queued),
                _ => Err(not_now(state, "handed back")),
            }
        }
        C::Start => {
            mine(state, actor, claimant_name)?;
            match state {
                S::Claimed { by } | S::InWork { by } | S::Waiting { by, .. } => Ok(S::InWork { by: *by }),
                _ => Err(not_now(state, "started")),
            }
        }
        C::Wait(mut wait) => {
            mine(state, actor, claimant_name)?;
            wait.note = plain_text("/note", "what it waits for", &wait.note, 500)?;
            match state {
                S::Claimed { by } | S::InWork { by } | S::Waiting { by, .. } => {
                    Ok(S::Waiting { by: *by, wait })
                }
                _ => Err(not_now(state, "set to waiting")),
            }
        }
        C::FinishWork => {
            mine(state, actor, claimant_name)?;
            match state {
                S::Claimed { by } | S::InWork { by } => Ok(S::WorkDone { by: *by }),
                S::Waiting { wait, .. } => Err(Refusal::conflict(format!(
                    "The work order waits for {}. Start work again before you finish it.",
                    wait.waiting_for
                ))),
                _ => Err(not_now(state, "finished")),
            }
        }
        C::BackToWork => match state {
            S::WorkDone { by } => Ok(S::InWork { by: *by }),
            S::Closed | S::Cancelled { .. } => Err(ended(state)),
            _ => Ok(state.clone()),
        },
        C::Cancel { reason } => {
            actor.must(Act::CancelWorkOrder)?;
            let reason = plain_text("/reason", "a reason for cancelling", &reason, 500)?;
            match state {
                S::Closed | S::Cancelled { .. } => Err(ended(state)),
                _ => Ok(S::Cancelled { reason }),
            }
        }
        C::Close => {
            actor.must(Act::Release)?;
            match state {
                S::WorkDone { .. } => Ok(S::Closed),
                S::Closed | S::Cancelled { .. } => Err(ended(state)),
                _ => Err(Refusal::conflict("The work is not done yet: the mechanic marks it so first.")),
            }
        }
    }
}

fn mine(state: &OrderState, actor: &Actor, claimant_name: &str) -> Result<(), Refusal> {
    actor.must(Act::WorkOnOrder)?;
    match state.claimant() {
        Some(by) if by == actor.id => Ok(()),
        Some(_) => Err(Refusal::conflict(format!("{claimant_name} has this work order."))),
        None if state.is_taking() => Err(Refusal::conflict("Claim the work order first.")),
        None => Err(ended(state)),
    }
}

fn mine_or_supervised(state: &OrderState, actor: &Actor, claimant_name: &str) -> Result<(), Refusal> {
    if actor.has(Role::Supervisor) || actor.has(Role::Owner) {
        Ok(())
    } else {
        mine(state, actor, claimant_name)
    }
}

fn ended(state: &OrderState) -> Refusal {
    Refusal::conflict(format!("The work order is {}.", state.word()))
}

fn not_now(state: &OrderState, what: &str) -> Refusal {
    Refusal::conflict(format!("The work order is {}; it cannot be {what} now.", state.word()))
}

#[cfg(test)]
#[path = "work_order_tests.rs"]
mod tests;
