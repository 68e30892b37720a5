//! Chock: from a failed pre-use check to a signed return to service.
//!
//! The rooms and the direction of their arrows are in DEVELOPERS.md; `tests/layering.rs` enforces them.

#[macro_use]
pub mod words;

pub mod app;
pub mod clock;
pub mod config;
pub mod demo;
pub mod domain;
pub mod http;
pub mod notify;
pub mod storage;
pub mod tasks;
pub mod workflow;
