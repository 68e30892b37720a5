//! For tests: a database that fails at a chosen step, as one does whose disk or network fails. Only code can ask for it
//! ([`super::Db::that_fails`]), and `tests/layering.rs` sees to it that none of ours does.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use super::super::StorageError;

/// A step is a transaction's beginning, a statement, or a commit.
#[derive(Clone, Debug, Default)]
pub struct Failing(Arc<AtomicI64>);

impl Failing {
    /// The `step`th from now fails, and only that one.
    pub fn at(&self, step: i64) {
        self.0.store(step, Ordering::SeqCst);
    }

    /// Whether the step has come. Switches it off.
    pub fn has_failed(&self) -> bool {
        self.0.swap(0, Ordering::SeqCst) < 0
    }

    pub(super) fn step(&self) -> Result<(), StorageError> {
        // Past the step it stays below nothing, so that it fails once and is known to have.
        let left = self.0.load(Ordering::SeqCst);
        if left <= 0 {
            return Ok(());
        }
        if self.0.fetch_sub(1, Ordering::SeqCst) == 1 {
            self.0.store(-1, Ordering::SeqCst);
            let lost = std::io::Error::new(std::io::ErrorKind::BrokenPipe, "made to fail");
            return Err(StorageError::Unavailable(sqlx::Error::Io(lost)));
        }
        Ok(())
    }
}
