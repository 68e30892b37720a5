//! The order of the queue, and how each place is told.

pub mod order;
mod telling;
