//! Chock: from a failed pre-use check to a signed return to service.

pub mod domain;
pub mod notify;
