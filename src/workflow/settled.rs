//! What somebody is told is kept. Changes that share a commit see one another before it, so whoever was refused by what another
//! has just done, or sent the same again, could hear of it too early.

use super::{Result, Workshop};

/// Taken before something is done, and asked before its outcome is told.
pub struct Settling<'a> {
    workshop: &'a Workshop,
    lost: u64,
}

pub fn settling(workshop: &Workshop) -> Settling<'_> {
    Settling { workshop, lost: workshop.db.lost() }
}

impl Settling<'_> {
    /// Waits until everything that may have been seen is kept; an error where some of it was lost meanwhile.
    pub async fn settled(self) -> Result<()> {
        Ok(self.workshop.db.settled(self.lost).await?)
    }
}
