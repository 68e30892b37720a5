//! What most of the time until a machine is back goes by with.

use chrono::TimeDelta;

use super::play::Laid;
use super::{Driver, Workshop};
use crate::domain::shift::table::NEVER;

/// Sums over the runs in which the work was done.
#[derive(Clone, Copy, Debug, Default)]
pub struct Spent {
    runs: i64,
    ready: i64,
    started: i64,
    done: i64,
}

impl Spent {
    pub fn add(&mut self, ready: i64, started: i64, done: i64) {
        if done != NEVER {
            self.runs += 1;
            self.ready += ready;
            self.started += started;
            self.done += done;
        }
    }
}

/// The longest of: until all is there, until somebody works who can do it, until it is its turn, and the repair itself.
pub fn driver(shop: &Workshop, laid: &Laid, n: usize, spent: &Spent) -> Driver {
    let runs = spent.runs.max(1);
    let (ready, started, done) = (spent.ready / runs, spent.started / runs, spent.done / runs);
    let job = &shop.jobs[n];
    let works =
        if job.needs_hands { laid.hands_from(n, ready).clamp(ready, started.max(ready)) } else { ready };
    let spans = [ready, works - ready, (started - works).max(0), done - started.max(ready)];
    let longest = (0..4).max_by_key(|k| (spans[*k], *k)).unwrap_or(3);
    let last = job.waits_for.iter().max_by_key(|a| a.expected);
    match (longest, last.and_then(|a| Some((a.what, a.expected?)))) {
        (0, Some((what, expected))) => {
            Driver::Arrival { what, expected, overdue: shop.seconds_to(expected) <= 0 }
        }
        (1, _) => Driver::Shift { works_from: shop.now + TimeDelta::seconds(works) },
        (2, _) => {
            let shares = |other: &usize| laid.able[*other].iter().any(|m| laid.able[n].contains(m));
            Driver::Queue { ahead: (0..n).filter(shares).count(), able: laid.able[n].len() }
        }
        _ => Driver::Repair { hours: job.time.expected_left(job.done.as_seconds_f64() / 3600.0) },
    }
}
