//! What a machine may be used for now: always derived from open holds and defects, never set by hand.

use super::words::words;

words! {
    /// Nothing else exists between the two.
    Severity {
        Monitor = "monitor",
        OutOfService = "out of service",
    }
}

words! {
    Standing {
        FitForUse = "fit for use",
        Monitored = "monitored",
        OutOfService = "out of service",
        Retired = "retired",
    }
}

impl Standing {
    /// `2-rules`: retired, else out of service with at least one open hold, else monitored with at least one open
    /// monitored defect, else fit for use.
    pub const fn derive(retired: bool, open_holds: i64, open_monitored: i64) -> Self {
        if retired {
            Self::Retired
        } else if open_holds > 0 {
            Self::OutOfService
        } else if open_monitored > 0 {
            Self::Monitored
        } else {
            Self::FitForUse
        }
    }
}
