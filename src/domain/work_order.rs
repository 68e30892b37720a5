//! The job of repairing one or more defects of one machine: its states, and who may move it between them.

use chrono::{DateTime, Utc};

use super::ids::PersonId;
use super::person::{Act, Actor, Role};
use super::refusal::{Refusal, plain_text};
use super::words::words;
use crate::words::Text;

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
    Cancelled { reason: Text },
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
    /// Somebody else than the claimant works on it too.
    Help,
    /// A part that was asked for is not there. The store decides, not a person.
    LackParts(Wait),
    /// Nothing is lacking any more.
    PartsCame,
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
                    Err(taken_by(claimant_name))
                }
                S::Closed | S::Cancelled { .. } => Err(ended(state)),
            }
        }
        C::HandBack => {
            mine_or_supervised(state, actor, claimant_name)?;
            match state {
                S::Claimed { .. } | S::InWork { .. } | S::Waiting { .. } => Ok(S::Queued),
                _ => Err(Refusal::conflict(said!("order-not-handed-back", state = state.word()))),
            }
        }
        C::Start => {
            mine(state, actor, claimant_name)?;
            match state {
                S::Claimed { by } | S::InWork { by } | S::Waiting { by, .. } => Ok(S::InWork { by: *by }),
                _ => Err(Refusal::conflict(said!("order-not-started", state = state.word()))),
            }
        }
        C::Help => {
            actor.must(Act::WorkOnOrder)?;
            match state {
                S::Claimed { by } | S::InWork { by } => Ok(S::InWork { by: *by }),
                S::Waiting { wait, .. } => {
                    Err(Refusal::conflict(said!("order-still-waits", what = wait.waiting_for)))
                }
                S::Queued => Err(Refusal::conflict(said!("order-claim-first"))),
                _ => Err(Refusal::conflict(said!("order-not-started", state = state.word()))),
            }
        }
        C::Wait(mut wait) => {
            mine(state, actor, claimant_name)?;
            wait.note = plain_text("/note", said!("what-it-waits-for"), &wait.note, 500)?;
            match state {
                S::Claimed { by } | S::InWork { by } | S::Waiting { by, .. } => {
                    Ok(S::Waiting { by: *by, wait })
                }
                _ => Err(Refusal::conflict(said!("order-not-to-waiting", state = state.word()))),
            }
        }
        // Whoever can go on with something else meanwhile starts the clock again.
        C::LackParts(wait) => match state {
            S::Claimed { by } | S::InWork { by } => Ok(S::Waiting { by: *by, wait }),
            S::Waiting { by, wait: now } if now.waiting_for == WaitingFor::Parts => {
                Ok(S::Waiting { by: *by, wait })
            }
            _ => Ok(state.clone()),
        },
        C::PartsCame => match state {
            S::Waiting { by, wait } if wait.waiting_for == WaitingFor::Parts => Ok(S::Claimed { by: *by }),
            _ => Ok(state.clone()),
        },
        C::FinishWork => {
            mine(state, actor, claimant_name)?;
            match state {
                S::Claimed { by } | S::InWork { by } => Ok(S::WorkDone { by: *by }),
                S::Waiting { wait, .. } => {
                    Err(Refusal::conflict(said!("order-still-waits", what = wait.waiting_for)))
                }
                _ => Err(Refusal::conflict(said!("order-not-finished", state = state.word()))),
            }
        }
        C::BackToWork => match state {
            S::WorkDone { by } => Ok(S::InWork { by: *by }),
            S::Closed | S::Cancelled { .. } => Err(ended(state)),
            _ => Ok(state.clone()),
        },
        C::Cancel { reason } => {
            actor.must(Act::CancelWorkOrder)?;
            let reason = plain_text("/reason", said!("what-reason-for-cancelling"), &reason, 500)?;
            match state {
                S::Closed | S::Cancelled { .. } => Err(ended(state)),
                _ => Ok(S::Cancelled { reason: Text::typed(reason) }),
            }
        }
        C::Close => {
            actor.must(Act::Release)?;
            match state {
                S::WorkDone { .. } => Ok(S::Closed),
                S::Closed | S::Cancelled { .. } => Err(ended(state)),
                _ => Err(Refusal::conflict(said!("order-work-not-done"))),
            }
        }
    }
}

fn mine(state: &OrderState, actor: &Actor, claimant_name: &str) -> Result<(), Refusal> {
    actor.must(Act::WorkOnOrder)?;
    match state.claimant() {
        Some(by) if by == actor.id => Ok(()),
        Some(_) => Err(taken_by(claimant_name)),
        None if state.is_taking() => Err(Refusal::conflict(said!("order-claim-first"))),
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
    Refusal::conflict(said!("order-has-ended", state = state.word()))
}

fn taken_by(mechanic: &str) -> Refusal {
    Refusal::conflict(said!("order-somebody-has-it", mechanic = mechanic))
}

#[cfg(test)]
#[path = "work_order_tests.rs"]
mod tests;
