//! The pure rules: what a reading means, what a defect does to a machine, who may do what. No clock, no database, no
//! network, no async; time, history and randomness come in as arguments.

pub mod alert;
pub mod ids;
pub mod person;
pub mod standing;
pub mod words;
