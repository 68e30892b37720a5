use proptest::prelude::*;
use uuid::Uuid;

use super::*;

fn now() -> DateTime<Utc> {
    "2026-03-02T08:00:00Z".parse().expect("a moment")
}

fn yard() -> YardId {
    YardId(Uuid::from_u128(1))
}

fn person(n: u128) -> PersonId {
    PersonId(Uuid::from_u128(n))
}

/// Held, of a class of its own by its number, opened a day ago.
fn order(number: i64, hours: i64) -> Candidate {
    Candidate {
        order: WorkOrderId(Uuid::from_u128(number.unsigned_abs().into())),
        number,
        yard: yard(),
        class: format!("class {number}"),
        out_of_service: true,
        good_until: None,
        opened_at: now() - TimeDelta::days(1),
        remaining: TimeDelta::hours(hours),
        skills: BTreeSet::new(),
        pin: None,
        taken: Taken::Free,
    }
}

fn utc(_: YardId, at: DateTime<Utc>) -> NaiveDate {
    at.date_naive()
}

/// Jobs as (hours, weight): numbers in the order of the queue, and the sum of weight × completion.
fn queue(jobs: &[(i64, i64)]) -> (Vec<i64>, i64) {
    let mut demand = Demand::default();
    let mut orders = Vec::new();
    for ((hours, weight), number) in jobs.iter().zip(1..) {
        demand.need(yard(), format!("class {number}"), Need { needed: *weight, available: 0 });
        orders.push(order(number, *hours));
    }
    let ranked = rank(orders, &demand, now(), utc);
    let numbers: Vec<i64> = ranked.iter().map(|r| r.candidate.number).collect();
    let sum = total(numbers.iter().map(|n| jobs[usize::try_from(n - 1).expect("small")]));
    (numbers, sum)
}

fn total(jobs: impl Iterator<Item = (i64, i64)>) -> i64 {
    let mut clock = 0;
    jobs.map(|(hours, weight)| {
        clock += hours;
        weight * clock
    })
    .sum()
}

/// Kleinberg and Tardos, Algorithm Design, chapter 4, exercise 13: (1, 10) and (3, 2) give 18, the other way round 46. The
/// five jobs are ours; every permutation was tried in Python: D, B, A, C, E is the least, 733.
#[test]
fn smiths_rule() {
    assert_eq!(queue(&[(1, 10), (3, 2)]), (vec![1, 2], 18));
    assert_eq!(queue(&[(3, 2), (1, 10)]), (vec![2, 1], 18));
    assert_eq!(total([(3, 2), (1, 10)].into_iter()), 46);
    assert_eq!(queue(&[(10, 12), (3, 9), (6, 6), (4, 20), (8, 8)]), (vec![4, 2, 1, 3, 5], 733));
}

#[test]
fn each_level_gives_way_only_to_the_one_before() {
    let mut demand = Demand::default();
    demand.need(yard(), "class 4", Need { needed: 5, available: 1 });
    let pinned = Candidate {
        pin: Some(Pin { rank: 1, by: person(9), at: now() }),
        out_of_service: false,
        ..order(1, 90)
    };
    let pinned_after = Candidate { pin: Some(Pin { rank: 2, by: person(9), at: now() }), ..order(2, 1) };
    let lacked = order(4, 50);
    let long_ago = Candidate { opened_at: now() - TimeDelta::days(99), ..order(3, 1) };
    let dated = Candidate { good_until: Some(now() + TimeDelta::days(3)), ..order(6, 9) };
    let usable = Candidate { out_of_service: false, opened_at: now() - TimeDelta::days(200), ..order(5, 1) };
    let all = vec![usable, long_ago, dated, lacked, pinned_after, pinned];
    let ranked = rank(all, &demand, now(), utc);
    let told: Vec<_> = ranked.iter().map(|r| (r.candidate.number, r.place, r.why.ahead_by)).collect();
    assert_eq!(
        told,
        [
            (1, 1, Some(Level::Pin)),
            (2, 2, Some(Level::Pin)),
            (4, 3, Some(Level::Demand)),
            (6, 4, Some(Level::GoodUntil)),
            (3, 5, Some(Level::Standing)),
            (5, 6, None),
        ]
    );
    assert_eq!(ranked[2].why.lacks, Some(4));
    assert_eq!(ranked[3].why.watch, Some(Watch::MoreDays(3)));
    assert_eq!(ranked[4].why.age, TimeDelta::days(99));
    assert!(ranked[0].why.pin.is_some() && !ranked[0].why.out_of_service);
}

#[test]
fn a_usable_machine_weighs_nothing_and_spare_ones_push_nobody_down() {
    let mut demand = Demand::default();
    demand.need(yard(), "class 1", Need { needed: 9, available: 0 });
    demand.need(yard(), "class 2", Need { needed: 0, available: 9 });
    let usable =
        |n, age| Candidate { out_of_service: false, opened_at: now() - TimeDelta::days(age), ..order(n, 1) };
    let ranked = rank(vec![usable(1, 1), usable(3, 2)], &demand, now(), utc);
    assert_eq!((ranked[0].candidate.number, ranked[0].why.ahead_by), (3, Some(Level::Age)));
    let held = |n, age| Candidate { opened_at: now() - TimeDelta::days(age), ..order(n, 1) };
    let ranked = rank(vec![held(3, 1), held(2, 2)], &demand, now(), utc);
    assert_eq!((ranked[0].candidate.number, ranked[0].why.lacks), (2, None));
}

#[test]
fn a_watch_in_the_days_of_the_yard() {
    let watch = |until: &str| {
        let until = until.parse().expect("a moment");
        let oslo = |_, at: DateTime<Utc>| at.with_timezone(&chrono_tz::Europe::Oslo).date_naive();
        rank(vec![Candidate { good_until: Some(until), ..order(1, 1) }], &Demand::default(), now(), oslo)[0]
            .why
            .watch
    };
    assert_eq!(watch("2026-03-02T08:00:00Z"), Some(Watch::Passed));
    assert_eq!(watch("2026-03-02T22:59:00Z"), Some(Watch::Today));
    assert_eq!(watch("2026-03-02T23:00:00Z"), Some(Watch::MoreDays(1)), "midnight in Oslo");
}

#[test]
fn what_is_for_whom() {
    let skills = |names: &[&str]| names.iter().map(|n| Skill((*n).into())).collect::<BTreeSet<_>>();
    let me = Hands { person: person(1), yards: [yard()].into(), skills: skills(&["brakes"]) };
    let gas = Candidate { skills: skills(&["brakes", "gas"]), ..order(1, 1) };
    assert_eq!(me.may_take(&gas), Err(NotForYou::Lacks(skills(&["gas"]))));
    let away = Candidate { yard: YardId(Uuid::from_u128(2)), ..order(2, 1) };
    assert_eq!(me.may_take(&away), Err(NotForYou::OtherYard));
    let taken = Candidate { taken: Taken::By(person(2)), ..order(3, 1) };
    assert_eq!(me.may_take(&taken), Err(NotForYou::TakenBy(person(2))));
    let waits = Taken::Waiting { by: None, waiting_for: WaitingFor::Parts, until: None };
    let waiting = Candidate { taken: waits, ..order(4, 1) };
    assert!(matches!(me.may_take(&waiting), Err(NotForYou::Waiting { .. })));
    let brakes = Candidate { skills: skills(&["brakes"]), ..order(5, 1) };
    let mut all = vec![gas, away, taken, waiting, brakes, order(6, 1)];
    let next = |all: &[Candidate]| {
        me.next(&rank(all.to_vec(), &Demand::default(), now(), utc)).map(|r| r.candidate.number)
    };
    assert_eq!(next(&all), Some(5), "the first that nothing stands in the way of");
    all[5].taken = Taken::By(me.person);
    assert_eq!(next(&all), Some(6), "one's own work is finished first");
    assert_eq!(next(&all[..4]), None);
}

fn any_candidates() -> impl Strategy<Value = Vec<Candidate>> {
    let one =
        (any::<bool>(), 0..4_i64, prop::option::of(0..5_i64), 0..4_i64, 0..3_i64, prop::option::of(0..2_i64));
    prop::collection::vec(one, 1..9).prop_map(|all| {
        all.into_iter()
            .zip(1..)
            .map(|((held, class, until, age, hours, pin), number)| Candidate {
                out_of_service: held,
                class: format!("class {class}"),
                good_until: until.map(|d| now() + TimeDelta::days(d)),
                opened_at: now() - TimeDelta::days(age),
                pin: pin.map(|rank| Pin { rank, by: person(9), at: now() }),
                ..order(number, hours)
            })
            .collect()
    })
}

proptest! {
    /// Smith's rule is optimal on one bench: no other order has a smaller sum.
    #[test]
    fn nothing_is_better_than_smiths_rule(jobs in prop::collection::vec((1..20_i64, 0..20_i64), 1..7)) {
        let (_, ours) = queue(&jobs);
        let mut least = i64::MAX;
        permutations(&mut jobs.clone(), 0, &mut |p| least = least.min(total(p.iter().copied())));
        prop_assert_eq!(ours, least);
    }

    /// The order does not depend on the order in which orders come, nobody gets lost, and the levels never go back.
    #[test]
    fn one_order_only(candidates in any_candidates(), turn in 0..8_usize) {
        let mut demand = Demand::default();
        for class in 0..3 {
            demand.need(yard(), format!("class {class}"), Need { needed: class, available: 0 });
        }
        let mut turned = candidates.clone();
        turned.rotate_left(turn % candidates.len());
        let ranked = rank(candidates.clone(), &demand, now(), utc);
        prop_assert_eq!(&rank(turned, &demand, now(), utc), &ranked);
        prop_assert_eq!(ranked.len(), candidates.len());
        for two in ranked.windows(2) {
            let (a, b) = (&two[0].candidate, &two[1].candidate);
            prop_assert!(a.pin.is_some() || b.pin.is_none());
            prop_assert!(a.pin.is_some() || a.out_of_service || !b.out_of_service);
        }
    }
}

fn permutations(jobs: &mut Vec<(i64, i64)>, from: usize, see: &mut impl FnMut(&[(i64, i64)])) {
    if from == jobs.len() {
        see(jobs);
    }
    for n in from..jobs.len() {
        jobs.swap(from, n);
        permutations(jobs, from + 1, see);
        jobs.swap(from, n);
    }
}
