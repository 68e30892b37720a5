//! What happens without anybody asking: delivering alerts, ending watches, tidying. Each is a `run_once` that a test can
//! call, and a loop around it.

mod deliver;
mod supervisor;

pub use deliver::{Post, deliver_once};
pub use supervisor::{Tasks, start};
