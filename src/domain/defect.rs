//! Something wrong with a machine, and the ways it can go from raised to closed.

use serde::{Deserialize, Serialize};

use super::refusal::Refusal;
use super::standing::Severity;
use super::words::words;

words! {
    /// A closed defect never reopens: a recurrence is a new defect that points to the old one.
    DefectState {
        Monitored = "monitored",
        Held = "held",
        Repaired = "repaired",
        NoFaultFound = "no fault found",
        Closed = "closed",
    }
}

/// An item and position that failed, and that the retest must pass. Position is empty for an item without positions.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct FailedItem {
    pub item: String,
    pub position: String,
}

impl DefectState {
    /// Where a defect of this severity stands before anybody has worked on it.
    pub const fn raised(severity: Severity) -> Self {
        match severity {
            Severity::Monitor => Self::Monitored,
            Severity::OutOfService => Self::Held,
        }
    }

    pub const fn is_open(self) -> bool {
        !matches!(self, Self::Closed)
    }

    /// The mechanic says what was done, or that the fault does not show.
    pub fn worked_on(self, no_fault_found: bool) -> Result<Self, Refusal> {
        match self {
            Self::Closed => Err(closed()),
            _ if no_fault_found => Ok(Self::NoFaultFound),
            _ => Ok(Self::Repaired),
        }
    }

    /// The retest failed, or it was seen again before its release: the repair did not hold.
    pub fn back_to_work(self, severity: Severity) -> Result<Self, Refusal> {
        match self {
            Self::Closed => Err(closed()),
            _ => Ok(Self::raised(severity)),
        }
    }

    /// Only by a release.
    pub fn close(self) -> Result<Self, Refusal> {
        match self {
            Self::Repaired | Self::NoFaultFound => Ok(Self::Closed),
            Self::Closed => Err(closed()),
            Self::Monitored | Self::Held => Err(Refusal::conflict(said!("defect-say-what-was-done"))),
        }
    }
}

/// Whether a person may lower the severity: only of a defect that holds the machine and that no final rule decided.
pub fn may_lower(severity: Severity, state: DefectState, is_final: bool) -> Result<(), Refusal> {
    if severity == Severity::Monitor {
        return Err(Refusal::conflict(said!("defect-nothing-to-lower")));
    }
    if is_final {
        return Err(Refusal::conflict(said!("defect-decided-finally")));
    }
    if state != DefectState::Held {
        return Err(Refusal::conflict(said!("defect-go-on-to-retest", state = state)));
    }
    Ok(())
}

fn closed() -> Refusal {
    Refusal::conflict(said!("defect-closed-for-good"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_and_every_step() {
        use DefectState::*;
        for state in DefectState::ALL.iter().copied() {
            let open = state != Closed;
            assert_eq!(state.worked_on(false).is_ok(), open, "{state}");
            assert_eq!(state.worked_on(true).is_ok(), open, "{state}");
            assert_eq!(state.back_to_work(Severity::OutOfService).is_ok(), open, "{state}");
            assert_eq!(state.close().is_ok(), matches!(state, Repaired | NoFaultFound), "{state}");
        }
        assert_eq!(Repaired.back_to_work(Severity::OutOfService), Ok(Held));
        assert_eq!(NoFaultFound.back_to_work(Severity::Monitor), Ok(Monitored));
    }
}
