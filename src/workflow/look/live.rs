//! What changes, as it is committed: the board and the queue look again, and the tasks wake up.

use std::sync::Arc;

use tokio::sync::broadcast;

use super::super::{Result, Workshop};

/// The topic of what ends somebody's being in, or changes what they may do.
pub const WHO_IS_IN: &str = "who is in";

/// One message per commit and topic: a yard's id, or a word such as `outbox`. A receiver that falls behind misses some;
/// it looks again at everything anyway.
pub fn changes(workshop: &Workshop) -> broadcast::Receiver<Arc<str>> {
    workshop.db.listen()
}

/// A number that stays the same as long as nothing is changed by this process; None when that cannot be said.
pub fn unchanged(workshop: &Workshop) -> Option<u64> {
    workshop.db.changes()
}

/// Passes on what other processes commit, for as long as the database lets us listen.
pub async fn relay_changes(workshop: &Workshop) -> Result<()> {
    Ok(workshop.db.relay_announcements().await?)
}
