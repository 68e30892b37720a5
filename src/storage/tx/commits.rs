//! Counts what this process commits to an SQLite file, so that an answer made between two looks at the count is known to
//! be still right. What another process commits is not counted.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

#[derive(Clone, Debug, Default)]
pub struct Commits(Arc<Counts>);

#[derive(Debug, Default)]
struct Counts {
    under_way: AtomicU64,
    done: AtomicU64,
}

/// One commit, from before it can be seen until after it was. Dropped when it is over, however it went.
pub struct UnderWay(Commits);

impl Commits {
    pub fn begin(&self) -> UnderWay {
        self.0.under_way.fetch_add(1, Ordering::SeqCst);
        UnderWay(self.clone())
    }

    /// How many there were. None while one is under way: what is read then may be from before or after it.
    pub fn count(&self) -> Option<u64> {
        let done = self.0.done.load(Ordering::SeqCst);
        (self.0.under_way.load(Ordering::SeqCst) == 0).then_some(done)
    }
}

impl Drop for UnderWay {
    fn drop(&mut self) {
        // In this order: whoever finds none under way finds it counted.
        self.0.0.done.fetch_add(1, Ordering::SeqCst);
        self.0.0.under_way.fetch_sub(1, Ordering::SeqCst);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_said_while_one_is_under_way() {
        let commits = Commits::default();
        assert_eq!(commits.count(), Some(0));
        let (first, second) = (commits.begin(), commits.begin());
        assert_eq!(commits.count(), None);
        drop(second);
        assert_eq!(commits.count(), None);
        drop(first);
        assert_eq!(commits.count(), Some(2));
    }
}
