//! The demo: an invented land trust with three yards, and 120 days of invented history made from a seed by the very
//! workflows that people use. What it leaves is an ordinary data folder.

mod faults;
mod history;
mod scenario;
mod simulated;
mod this_morning;
mod walk;

use chrono::{DateTime, Utc};

use crate::workflow::{WorkflowError, Workshop};

pub use scenario::{PASSWORD, SIGN_INS, TRUST};
pub use simulated::Simulated;

/// What was made.
#[derive(Clone, Copy, Debug, Default)]
pub struct Made {
    pub checks: usize,
    pub defects: usize,
    pub releases: usize,
}

/// Fills an empty database: the trust, then its history up to `until`.
pub async fn fill(
    workshop: &Workshop,
    time: &Simulated,
    seed: u64,
    until: DateTime<Utc>,
) -> Result<Made, WorkflowError> {
    let trust = scenario::set_up(workshop, time, until).await?;
    history::run(workshop, time, trust, seed, until).await
}
