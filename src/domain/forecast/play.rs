//! One run of the workshop, many times: whoever is free takes the first work order of the queue that is theirs to take and
//! has all it waits for.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use chrono::{DateTime, TimeDelta, Utc};
use rand::rngs::Xoshiro256PlusPlus;
use rand::{Rng, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};

use super::chance::{normal, uniform};
use super::driver::{Spent, driver};
use super::levels::{Levels, Spread, rank};
use super::{DAYS_AHEAD, Forecast, Unknown, When, Workshop};
use crate::domain::shift::Span;
use crate::domain::shift::table::{Cursor, NEVER, Table};

/// The workshop with everything looked up that does not change from run to run. Times are seconds from now.
pub struct Laid {
    tables: Vec<Table>,
    /// What each mechanic may take, in the order of the queue; what is already theirs comes first.
    for_mechanic: Vec<Vec<usize>>,
    /// What each is at now.
    at_work: Vec<Option<usize>>,
    pub able: Vec<Vec<usize>>,
    unknown: Vec<Option<Unknown>>,
    /// The forecasts are drawn from equal laws in common: two work orders of the same item are long together.
    law_of: Vec<usize>,
    laws: Vec<super::RepairTime>,
}

/// What one run needs and leaves, kept from run to run.
pub struct Run {
    /// Seconds of work, and when all is there that a job waits for.
    pub work: Vec<i64>,
    pub ready: Vec<i64>,
    pub started: Vec<i64>,
    pub done: Vec<i64>,
    taken: Vec<bool>,
    head: Vec<usize>,
    cursors: Vec<Cursor>,
    free: BinaryHeap<Reverse<(i64, usize)>>,
}

impl Laid {
    pub fn out(shop: &Workshop) -> Self {
        let window = Span::new(shop.now, shop.now + TimeDelta::days(DAYS_AHEAD));
        let tables: Vec<Table> = shop.mechanics.iter().map(|m| Table::new(&m.calendar, window)).collect();
        let mut laid = Self {
            for_mechanic: vec![Vec::new(); tables.len()],
            at_work: vec![None; tables.len()],
            able: vec![Vec::new(); shop.jobs.len()],
            unknown: vec![None; shop.jobs.len()],
            law_of: Vec::new(),
            laws: Vec::new(),
            tables,
        };
        for n in 0..shop.jobs.len() {
            laid.lay_job(shop, n);
        }
        for (m, list) in laid.for_mechanic.iter_mut().enumerate() {
            let id = shop.mechanics[m].hands.person;
            list.sort_by_key(|n| (shop.jobs[*n].claimed_by != Some(id), *n));
        }
        laid
    }

    fn lay_job(&mut self, shop: &Workshop, n: usize) {
        let job = &shop.jobs[n];
        let law = self.laws.iter().position(|l| *l == job.time).unwrap_or_else(|| {
            self.laws.push(job.time);
            self.laws.len() - 1
        });
        self.law_of.push(law);
        if let Some(undated) = job.waits_for.iter().find(|a| a.expected.is_none()) {
            self.unknown[n] = Some(Unknown::NoDateFor(undated.what));
            return;
        }
        if !job.needs_hands {
            return;
        }
        let claimant = shop.mechanics.iter().position(|m| Some(m.hands.person) == job.claimed_by);
        if let Some(m) = claimant {
            self.able[n].push(m);
        } else {
            let here = |m: &&usize| shop.mechanics[**m].hands.yards.contains(&job.yard);
            let all: Vec<usize> = (0..shop.mechanics.len()).collect();
            let at_yard: Vec<usize> = all.iter().filter(here).copied().collect();
            let can = |m: &&usize| job.skills.is_subset(&shop.mechanics[**m].hands.skills);
            self.able[n] = at_yard.iter().filter(can).copied().collect();
            if self.able[n].is_empty() {
                let lacking = if at_yard.is_empty() { Default::default() } else { job.skills.clone() };
                self.unknown[n] = Some(Unknown::NobodyCan(lacking));
                return;
            }
        }
        let works = |m: &usize| self.tables[*m].next_work(&mut Cursor::default(), 0) != NEVER;
        if !self.able[n].iter().any(works) {
            self.unknown[n] = Some(Unknown::NoShift);
            return;
        }
        for m in &self.able[n] {
            self.for_mechanic[*m].push(n);
        }
        if let Some(m) = claimant.filter(|m| job.in_work && self.at_work[*m].is_none()) {
            self.at_work[m] = Some(n);
        }
    }

    pub fn forecast(&self, shop: &Workshop, levels: Levels, seed: u64, runs: usize) -> Vec<Forecast> {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut run = Run::new(shop.jobs.len(), self.tables.len());
        let mut ends = vec![vec![NEVER; runs]; shop.jobs.len()];
        let mut spent = vec![Spent::default(); shop.jobs.len()];
        for k in 0..runs {
            self.draw(shop, &mut rng, &mut run);
            self.play(shop, &mut run);
            for (n, ends) in ends.iter_mut().enumerate() {
                ends[k] = run.done[n];
                spent[n].add(run.ready[n], run.started[n], run.done[n]);
            }
        }
        let mut found = Vec::with_capacity(shop.jobs.len());
        for (n, ends) in ends.iter_mut().enumerate() {
            let (when, spread) = match &self.unknown[n] {
                Some(why) => (When::Unknown(why.clone()), None),
                None => {
                    let spread = Spread::of(ends);
                    (self.known(shop, n, (ends, levels), &spent[n]), Some(spread))
                }
            };
            found.push(Forecast { order: shop.jobs[n].order, when, spread });
        }
        found
    }

    /// `ends` in their order.
    fn known(&self, shop: &Workshop, n: usize, (ends, levels): (&[i64], Levels), spent: &Spent) -> When {
        let at = |share: f64| {
            let seconds = ends[rank(ends.len(), share)];
            (seconds != NEVER).then(|| shop.now + TimeDelta::seconds(seconds))
        };
        match at(levels.likely) {
            None => When::Unknown(Unknown::Beyond { days: DAYS_AHEAD }),
            Some(likely_by) => When::Known {
                likely_by,
                almost_surely_by: at(levels.almost_surely),
                driver: driver(shop, self, n, spent),
            },
        }
    }

    /// Draws what this run will bring, in an order that does not depend on who takes what.
    fn draw(&self, shop: &Workshop, rng: &mut Xoshiro256PlusPlus, run: &mut Run) {
        let laws: Vec<(f64, f64)> = self.laws.iter().map(|l| l.draw_law(rng)).collect();
        for (n, job) in shop.jobs.iter().enumerate() {
            let (mean, sd) = laws[self.law_of[n]];
            run.work[n] = if job.needs_hands { left(rng, mean, sd, seconds(job.done)) } else { 0 };
            run.ready[n] = 0;
            for arrival in &job.waits_for {
                let promised = arrival.expected.map_or(0, |at| (at - shop.now).num_seconds());
                run.ready[n] = run.ready[n].max(arrival.lateness.draw(rng, promised));
            }
        }
    }

    /// Who takes what when, with the work and the arrivals as drawn.
    pub fn play(&self, shop: &Workshop, run: &mut Run) {
        run.started.fill(NEVER);
        run.done.fill(NEVER);
        run.taken.fill(false);
        run.head.fill(0);
        run.cursors.fill(Cursor::default());
        run.free.clear();
        for (n, job) in shop.jobs.iter().enumerate() {
            run.taken[n] = self.unknown[n].is_some();
            if !job.needs_hands && !run.taken[n] {
                (run.taken[n], run.started[n], run.done[n]) = (true, run.ready[n], run.ready[n]);
            }
        }
        for (m, table) in self.tables.iter().enumerate() {
            let begin = match self.at_work[m] {
                Some(n) => {
                    run.taken[n] = true;
                    run.started[n] = 0;
                    run.done[n] = table.done(&mut run.cursors[m], run.ready[n], run.work[n]);
                    run.done[n]
                }
                None => 0,
            };
            self.free_again(m, begin, run);
        }
        while let Some(Reverse((now, m))) = run.free.pop() {
            match self.pick(m, now, run) {
                Ok(n) => {
                    run.taken[n] = true;
                    run.started[n] = now;
                    run.done[n] = self.tables[m].done(&mut run.cursors[m], now, run.work[n]);
                    self.free_again(m, run.done[n], run);
                }
                Err(soonest) => self.free_again(m, soonest, run),
            }
        }
    }

    /// The first that is ready, or when the soonest of the others will be.
    fn pick(&self, m: usize, now: i64, run: &mut Run) -> Result<usize, i64> {
        let list = &self.for_mechanic[m];
        while list.get(run.head[m]).is_some_and(|n| run.taken[*n]) {
            run.head[m] += 1;
        }
        let mut soonest = NEVER;
        for n in &list[run.head[m]..] {
            if !run.taken[*n] {
                if run.ready[*n] <= now {
                    return Ok(*n);
                }
                soonest = soonest.min(run.ready[*n]);
            }
        }
        Err(soonest)
    }

    fn free_again(&self, m: usize, at: i64, run: &mut Run) {
        if at != NEVER {
            let begin = self.tables[m].next_work(&mut run.cursors[m], at);
            if begin != NEVER {
                run.free.push(Reverse((begin, m)));
            }
        }
    }

    /// The first moment at or after `at` when somebody works who can do it.
    pub fn hands_from(&self, n: usize, at: i64) -> i64 {
        let works = |m: &usize| self.tables[*m].next_work(&mut Cursor::default(), at);
        self.able[n].iter().map(works).min().unwrap_or(NEVER)
    }
}

impl Run {
    pub fn new(jobs: usize, mechanics: usize) -> Self {
        Self {
            work: vec![0; jobs],
            ready: vec![0; jobs],
            started: vec![NEVER; jobs],
            done: vec![NEVER; jobs],
            taken: vec![false; jobs],
            head: vec![0; mechanics],
            cursors: vec![Cursor::default(); mechanics],
            free: BinaryHeap::new(),
        }
    }
}

/// A repair's seconds that are left, given those that it has had: a long one is longer still.
fn left(rng: &mut impl Rng, mean: f64, sd: f64, done: f64) -> i64 {
    let log = if done > 0.0 {
        let gone = Normal::standard().cdf(((done / 3600.0).ln() - mean) / sd).min(0.999);
        mean + sd * Normal::standard().inverse_cdf(gone + (1.0 - gone) * uniform(rng))
    } else {
        mean + sd * normal(rng)
    };
    // A minute at least, a year at most.
    #[expect(clippy::cast_possible_truncation, reason = "held to a year")]
    let whole = (log.exp() * 3600.0 - done).clamp(60.0, 31_536_000.0) as i64;
    whole
}

fn seconds(delta: TimeDelta) -> f64 {
    delta.as_seconds_f64()
}

impl Workshop {
    /// A moment, in seconds from now.
    pub(super) fn seconds_to(&self, at: DateTime<Utc>) -> i64 {
        (at - self.now).num_seconds()
    }
}
