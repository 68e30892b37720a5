//! What the record of a machine says of it: how much of the time it could be used, how often it fails, whether that
//! changes, how long it takes to be back and what that time goes on, and what it costs. Where the record is too thin, it
//! says so and does not guess.
//!
//! Terms are those of IEC 60050-192 and EN 13306; the indicators are named by EN 15341:2007, from memory.

pub mod acknowledged;
pub mod availability;
pub mod clock;
pub mod coverage;
pub mod failing;
pub mod keep;
pub mod mtbf;
pub mod pareto;
pub mod restoration;

/// How what was observed came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// At some moment, such as now.
    AtATime,
    /// With its last failure.
    AtAFailure,
}

/// What is less likely by chance than this is said to be no chance.
pub const BY_CHANCE: f64 = 0.05;
