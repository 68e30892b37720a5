//! What a forecast costs: 500 open work orders in three yards, 20 mechanics, parts on their way, 1,000 runs. One thread.

use std::collections::BTreeSet;
use std::time::Instant;

use chock::domain::forecast::arrival::Lateness;
use chock::domain::forecast::times::{PastRepair, Times};
use chock::domain::forecast::{Arrival, Awaited, Job, Mechanic, RUNS, When, Workshop};
use chock::domain::ids::{PartId, PersonId, WorkOrderId, YardId};
use chock::domain::queue::order::{Hands, Skill};
use chock::domain::shift::{Calendar, Shift, Week};
use chrono::{DateTime, NaiveTime, TimeDelta, Utc, Weekday};
use uuid::Uuid;

use crate::report::{Aim, Report};
use crate::{Outcome, Plan};

const JOBS: u128 = 500;
const MECHANICS: u128 = 20;

pub fn measure(plan: &Plan, report: &mut Report) -> Outcome {
    let shop = shop()?;
    let found = shop.forecast(1, RUNS);
    let known = found.iter().filter(|f| matches!(f.when, When::Known { .. })).count();
    println!(
        "\nforecasting {} work orders with {} mechanics: {known} known",
        found.len(),
        shop.mechanics.len()
    );
    if known < 450 {
        return Err("hardly anything was foreseen".into());
    }
    let mut samples = Vec::new();
    for round in 0..plan.rounds.max(1) {
        let start = Instant::now();
        let again = std::hint::black_box(shop.forecast(u64::try_from(round)?, RUNS));
        samples.push(start.elapsed().as_secs_f64());
        if again.len() != found.len() {
            return Err("a forecast got lost".into());
        }
    }
    report.add("forecast of 500 orders, 20 mechanics, 1,000 runs", "s", Some(Aim::AtMost(1.0)), samples);
    Ok(())
}

fn shop() -> Outcome<Workshop> {
    let now: DateTime<Utc> = "2026-03-02T07:00:00Z".parse()?;
    let yards: Vec<YardId> = (0..3).map(|n| YardId(Uuid::from_u128(n))).collect();
    let yard = |n: u128| yards.iter().copied().filter(move |y| y.0.as_u128() == n % 3);
    let skill = |n: u128| Skill(format!("skill {n}"));
    let calendar = Calendar::new(chrono_tz::Europe::Oslo, week()?);
    let mechanics = (0..MECHANICS).map(|n| {
        let yards = if n % 4 == 0 { yards.iter().copied().collect() } else { yard(n).collect() };
        let skills = (0..4).filter(|k| (n + k) % 3 != 0).map(skill).collect();
        let hands = Hands { person: PersonId(Uuid::from_u128(n)), yards, skills };
        Mechanic { hands, calendar: calendar.clone() }
    });
    let of = |n: u32| (format!("class {}", n % 8), format!("item {}", n % 41));
    let past: Vec<PastRepair> = (0..3000)
        .map(|n| {
            let (class, item) = of(n);
            PastRepair { class, item, hours: 0.5 + 0.4 * f64::from(n % 17) }
        })
        .collect();
    let times = Times::learn(&past);
    let mut jobs = Vec::new();
    for n in 0..JOBS {
        let (class, item) = of(u32::try_from(n)?);
        let expected = Some(now + TimeDelta::days(i64::try_from(n % 9)?));
        let what = Awaited::Part(PartId(Uuid::from_u128(n)));
        let part = Arrival { what, expected, lateness: Lateness::default() };
        jobs.push(Job {
            order: WorkOrderId(Uuid::from_u128(n)),
            yard: yards[usize::try_from(n % 3)?],
            skills: if n % 4 == 0 { [skill(n / 4 % 4)].into() } else { BTreeSet::new() },
            time: times.of(&class, &item),
            done: TimeDelta::minutes(if n < MECHANICS { 30 } else { 0 }),
            claimed_by: None,
            in_work: false,
            waits_for: if n % 5 == 0 { vec![part] } else { Vec::new() },
            needs_hands: true,
        });
    }
    Ok(Workshop { now, mechanics: mechanics.collect(), jobs })
}

fn week() -> Outcome<Week> {
    let time = |h, m| NaiveTime::from_hms_opt(h, m, 0).ok_or("no such time");
    let (early, noon) = ((time(7, 0)?, time(11, 30)?), (time(12, 0)?, time(15, 30)?));
    let days = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];
    let shifts = days.iter().flat_map(|day| [early, noon].map(|(from, to)| Shift { day: *day, from, to }));
    Week::new(shifts.collect()).map_err(|fault| format!("{fault:?}").into())
}
