//! What happens without anybody asking: delivering alerts, ending watches, tidying. Each is a `run_once` that a test can
//! call, and a loop around it.

mod deliver;
mod post_webhooks;
mod supervisor;

pub use deliver::{Post, deliver_once};
pub use post_webhooks::post_webhooks_once;
pub use supervisor::{Tasks, start};
