//! Histories are made up by a known law, part of them is held back, and what was held back is foreseen from the rest.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{Rng, SeedableRng};

use super::super::chance::{normal, uniform};
use super::super::levels::Levels;
use super::super::play::{Laid, Run};
use super::super::times::PastRepair;
use super::*;

/// A house as it truly is: classes about the house, items about their class, repairs about their item.
struct House {
    /// Mean and standard deviation of the logarithms, by class and item.
    items: Vec<(String, String, f64, f64)>,
    past: Vec<PastRepair>,
}

impl House {
    fn new(rng: &mut impl Rng) -> Self {
        let (mut items, mut past) = (Vec::new(), Vec::new());
        for class in 0..5 {
            let class_mean = 0.6 + 0.5 * normal(rng);
            for item in 0..12 {
                let (mean, sd) = (class_mean + 0.6 * normal(rng), 0.6 + 0.3 * uniform(rng));
                let (class, item) = (format!("class {class}"), format!("item {item}"));
                // Most items are repaired rarely, some never, a few often.
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few dozen")]
                let repairs = (-6.0 * uniform(rng).ln()) as usize;
                for _ in 0..repairs {
                    let hours = (mean + sd * normal(rng)).exp();
                    past.push(PastRepair { class: class.clone(), item: item.clone(), hours });
                }
                items.push((class, item, mean, sd));
            }
        }
        Self { items, past }
    }

    /// An item by chance, with the seconds that its next repair truly takes.
    fn next_repair(&self, times: &Times, rng: &mut impl Rng) -> (RepairTime, i64) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index")]
        let n = (uniform(rng) * self.items.len() as f64) as usize;
        let (class, item, mean, sd) = &self.items[n];
        #[expect(clippy::cast_possible_truncation, reason = "hours, in seconds")]
        let truly = ((mean + sd * normal(rng)).exp() * 3600.0).max(60.0) as i64;
        (times.of(class, item), truly)
    }
}

#[derive(Default)]
struct Held {
    likely: u32,
    surely: u32,
    of: u32,
}

impl Held {
    fn percent(&self) -> (f64, f64) {
        let of = f64::from(self.of) / 100.0;
        (f64::from(self.likely) / of, f64::from(self.surely) / of)
    }

    fn count(&mut self, forecast: &[Forecast], run: &Run) {
        for (f, done) in forecast.iter().zip(&run.done) {
            let When::Known { likely_by, almost_surely_by, .. } = &f.when else { panic!("{f:?}") };
            let done = now() + TimeDelta::seconds(*done);
            self.of += 1;
            self.likely += u32::from(done <= *likely_by);
            self.surely += u32::from(almost_surely_by.is_none_or(|by| done <= by));
        }
    }
}

/// Workshops of so many jobs and mechanics until so many repairs were held back; a third wait for a part that may be late.
fn held_back(seed: u64, repairs: u32, jobs: usize, mechanics: usize, runs: usize) -> Held {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut held = Held::default();
    while held.of < repairs {
        let house = House::new(&mut rng);
        let times = Times::learn(&house.past);
        let mut s = shop(mechanics, &vec![1.0; jobs]);
        let mut run = Run::new(jobs, mechanics);
        for (n, job) in s.jobs.iter_mut().enumerate() {
            (job.time, run.work[n]) = house.next_repair(&times, &mut rng);
            if n % 3 == 2 {
                let lateness = Lateness { late_share: 0.3, mean_days: 1.5 };
                let promised = 86_400 * (1 + i64::try_from(n % 4).expect("small"));
                let part = Awaited::Part(PartId(Uuid::from_u128(1)));
                let expected = Some(now() + TimeDelta::seconds(promised));
                job.waits_for = vec![Arrival { what: part, expected, lateness }];
                run.ready[n] = lateness.draw(&mut rng, promised);
            }
        }
        Laid::out(&s).play(&s, &mut run);
        held.count(&s.forecast(seed + u64::from(held.of), runs), &run);
    }
    held
}

/// The aim of the issue: of 500 repairs that were held back, 87 to 93 % are done by "almost surely by". By chance alone a
/// right forecast misses that once in forty times (±2.2 standard errors); the seed is the first that was tried.
#[test]
fn nine_in_ten_hold() {
    let held = held_back(1, 500, 5, 2, 300);
    let (likely, surely) = held.percent();
    assert_eq!(held.of, 500);
    assert!((87.0..=93.0).contains(&surely), "{surely} %");
    assert!((44.0..=56.0).contains(&likely), "{likely} %");
}

/// Four times as many repairs, and busier workshops: closer still.
#[test]
fn nine_in_ten_hold_over_many_histories() {
    for (jobs, mechanics, seed) in [(1, 1, 100), (12, 3, 200)] {
        let (likely, surely) = held_back(seed, 2_000, jobs, mechanics, 200).percent();
        assert!((88.0..=92.0).contains(&surely), "{jobs} jobs: {surely} %");
        assert!((47.0..=53.0).contains(&likely), "{jobs} jobs: {likely} %");
    }
}

/// The test can fail: forecasts that leave out what is not known of the means are too sure of themselves.
#[test]
fn overconfidence_is_found_out() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(1);
    let mut held = 0;
    for _ in 0..100 {
        let house = House::new(&mut rng);
        let times = Times::learn(&house.past);
        for _ in 0..5 {
            let (time, truly) = house.next_repair(&times, &mut rng);
            let too_sure = RepairTime { strength: 1e9, freedom: 1e6, ..time };
            held += u32::from(truly as f64 / 3600.0 <= too_sure.hours_within(0.9));
        }
    }
    assert!(held < 435, "{held} of 500");
}

/// A workshop in which everybody begins half an hour after the runs say, and every eighth repair has to wait for something
/// nobody could know of. Without learning hardly a third of "likely by" hold; from the repairs before, half of them do.
#[test]
fn a_workshop_learns_from_its_own_misses() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
    let house = House::new(&mut rng);
    let times = Times::learn(&house.past);
    let (mut places, mut usual, mut learned) = (Vec::new(), Held::default(), Held::default());
    for n in 0..700 {
        let mut s = shop(1, &[1.0]);
        let mut run = Run::new(1, 1);
        (s.jobs[0].time, run.work[0]) = house.next_repair(&times, &mut rng);
        Laid::out(&s).play(&s, &mut run);
        let waits = if uniform(&mut rng) < 0.125 { 86_400 } else { 0 };
        run.done[0] += 1_800 + waits;
        let newest = &places[places.len().saturating_sub(200)..];
        let found = s.forecast_at(Levels::learned(newest), n, 300);
        if n >= 200 {
            usual.count(&s.forecast(n, 300), &run);
            learned.count(&found, &run);
        }
        places.extend(found[0].spread.iter().map(|s| s.place(TimeDelta::seconds(run.done[0]))));
    }
    let (before, after) = (usual.percent(), learned.percent());
    assert!(before.0 < 44.0, "{before:?}");
    assert!((44.0..=56.0).contains(&after.0) && (87.0..=93.0).contains(&after.1), "{before:?} {after:?}");
}

#[test]
fn as_many_as_a_big_house_has() {
    let mut s = shop(20, &[1.0; 500]);
    let time = Times::learn(&[]).of("quad", "brake pad");
    s.jobs.iter_mut().for_each(|j| j.time = time);
    let found = s.forecast(1, 5);
    assert!(found.iter().all(|f| matches!(f.when, When::Known { .. })));
    let window = Span::new(now(), now() + TimeDelta::days(60));
    assert!(found.iter().all(|f| likely(f) < window.to), "500 jobs, 20 mechanics: well within two months");
}
