use chrono::TimeDelta;
use proptest::prelude::*;
use uuid::Uuid;

use super::*;

fn day(n: i64) -> DateTime<Utc> {
    DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(n)
}

fn machine(n: u128) -> MachineId {
    MachineId(Uuid::from_u128(n))
}

fn part(n: u128) -> PartId {
    PartId(Uuid::from_u128(n))
}

fn place(n: u128, position: &str) -> Place {
    Place { machine: machine(n), item: "brake pad".into(), position: position.into() }
}

fn fitted(on: u128, position: &str, of: u128, mark: Option<&str>, at: i64) -> Fitted {
    Fitted {
        place: place(on, position),
        part: part(of),
        mark: mark.map(|m| Mark::parse(m).expect("a mark")),
        order: WorkOrderId(Uuid::from_u128(1)),
        at: day(at),
        removed_at: None,
    }
}

fn recorded(all: Vec<Fitted>) -> Vec<Fitted> {
    let mut history = Vec::new();
    for one in all {
        fit(&mut history, one, day(99)).expect("in order");
    }
    history
}

#[test]
fn marks_as_people_copy_them() {
    let key = |text| Mark::parse(text).map(|m| m.key);
    assert_eq!(key("B-0042 / a"), key("b 42a"));
    assert_ne!(key("B-420"), key("B-42"));
    assert_eq!(key(" -/ "), Err(MarkFault::Empty));
    assert_eq!(key(&"x".repeat(61)), Err(MarkFault::TooLong { most: 60 }));
}

#[test]
fn a_new_part_takes_the_place_of_the_old_and_begins_the_series() {
    let mut history = recorded(vec![
        fitted(1, "front left", 1, Some("B42"), 1),
        fitted(1, "front right", 1, Some("B42"), 1),
        fitted(1, "front left", 1, Some("B43"), 5),
    ]);
    assert_eq!(history[0].removed_at, Some(day(5)));
    assert_eq!(history[1].removed_at, None, "another position");
    assert_eq!(series_begins(&history, &place(1, "front left")), Some(day(5)));
    assert_eq!(series_begins(&history, &place(2, "front left")), None);
    let early = fit(&mut history, fitted(1, "front left", 1, None, 4), day(99));
    assert_eq!(early, Err(FittingFault::BeforeTheLast { last: day(5) }));
    assert_eq!(
        fit(&mut history, fitted(1, "front left", 1, None, 9), day(8)),
        Err(FittingFault::InTheFuture)
    );
    assert_eq!(history.len(), 3, "nothing was changed");
}

#[test]
fn where_else_is_this_batch() {
    let history = recorded(vec![
        fitted(1, "", 1, Some("B 42"), 1),
        fitted(2, "", 1, Some("b042"), 1),
        fitted(2, "", 1, Some("B43"), 2),
        fitted(3, "", 1, None, 1),
        fitted(4, "", 2, Some("B42"), 1),
    ]);
    let found = where_fitted(&history, part(1), &Mark::parse("B-42").expect("a mark"));
    let on = |list: &[&Fitted]| list.iter().map(|f| f.place.machine).collect::<Vec<_>>();
    assert_eq!(
        (on(&found.on_now), on(&found.was_on), on(&found.unmarked)),
        (vec![machine(1)], vec![machine(2)], vec![machine(3)])
    );
}

#[test]
fn which_machines_are_inspected() {
    let one = |n: u128, class: &str| Machine {
        id: machine(n),
        yard: YardId(Uuid::from_u128(1)),
        class: class.into(),
        retired: n == 5,
        open: if n == 2 { ["brake pad".to_owned()].into() } else { BTreeSet::new() },
    };
    let machines = [one(1, "quad"), one(2, "quad"), one(3, "tractor"), one(4, "quad"), one(5, "quad")];
    let history = recorded(vec![
        fitted(1, "front", 1, Some("B42"), 1),
        fitted(1, "rear", 1, Some("B42"), 1),
        fitted(2, "front", 1, Some("B42"), 1),
        fitted(3, "front", 1, None, 1),
        fitted(4, "front", 1, Some("B41"), 1),
        fitted(5, "front", 1, Some("B42"), 1),
    ]);
    let batch = Target::Batch { part: part(1), mark: Mark::parse("B42").expect("a mark") };
    assert_eq!(
        to_inspect(&machines, &history, &batch, "brake pad"),
        [(machine(1), Inspect::Raise), (machine(2), Inspect::AddTo), (machine(3), Inspect::RaiseInDoubt)]
    );
    assert_eq!(
        to_inspect(&machines, &history, &Target::Class("quad".into()), "brake pad"),
        [(machine(1), Inspect::Raise), (machine(2), Inspect::AddTo), (machine(4), Inspect::Raise)]
    );
}

proptest! {
    /// At most one part at a place at a time, and every part that was fitted is found again.
    #[test]
    fn one_part_at_a_place(steps in prop::collection::vec((0..3_u128, 0..2_u128, 0..3_u8, 0..40_i64), 1..40)) {
        let mut history = Vec::new();
        for (on, of, mark, at) in steps {
            let before = history.clone();
            let new = fitted(on, "", of, Some(&format!("B{mark}")), at);
            if fit(&mut history, new, day(30)).is_err() {
                prop_assert_eq!(&history, &before, "nothing lost, nothing changed");
            }
        }
        for on in 0..3 {
            let here = history.iter().filter(|f| f.place == place(on, ""));
            prop_assert!(here.clone().filter(|f| f.removed_at.is_none()).count() == usize::from(here.count() > 0));
        }
        let found = |of, mark: &str| { let f = where_fitted(&history, part(of), &Mark::parse(mark).expect("a mark")); f.on_now.len() + f.was_on.len() };
        let all: usize = (0..2).flat_map(|of| ["B0", "B1", "B2"].map(|m| found(of, m))).sum();
        prop_assert_eq!(all, history.len());
    }
}
