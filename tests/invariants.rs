//! Invariants 1 to 7 under random sequences of commands by random people, on both engines.

use chock::domain::ids::{DefectId, HoldId, WorkOrderId};
use chock::domain::person::Actor;
use chock::domain::standing::Standing;
use chock::domain::unit::Hours;
use chock::domain::watched::Watched;
use chock::domain::work_order::{OrderWord, WaitingFor};
use chock::workflow::{self, WorkflowError};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use crate::support::{Bench, Engine, fail, slight};

/// One step by somebody; refusals are fine, failures of the server are not.
async fn step(b: &Bench, random: &mut StdRng, hours: &mut i64) -> &'static str {
    let w = &b.workshop;
    let people = [&b.operator, &b.mechanic, &b.other_mechanic, &b.supervisor, &b.owner];
    let machine = if random.random_bool(0.5) { b.machine } else { b.second_machine };
    let orders: Vec<WorkOrderId> = {
        let record = workflow::machine_record(w, &b.owner, machine, 6).await.unwrap();
        record.orders.iter().map(|o| o.id).collect()
    };
    let order = orders.first().copied();
    b.wait(random.random_range(1..400));
    let walk = b.checklist.walk();
    let mut chosen = random.random_range(0..15);
    if let Some(order) = order
        && random.random_bool(0.5)
    {
        // What would come next on this order.
        let page = workflow::order_page(w, &b.owner, order).await.unwrap();
        let retested = page.defects.iter().all(|d| d.defect.closed_at.is_some() || !d.retests.is_empty());
        chosen = match page.order.word() {
            OrderWord::Queued => 5,
            OrderWord::Claimed | OrderWord::Waiting => 6,
            OrderWord::InWork if random.random_bool(0.5) => 9,
            OrderWord::InWork => 10,
            OrderWord::WorkDone if retested => 13,
            OrderWord::WorkDone => 12,
            OrderWord::Closed | OrderWord::Cancelled => chosen,
        };
    }
    if order.is_none() && chosen > 4 {
        // Nothing to work on yet: find something first.
        chosen %= 5;
    }
    // Mostly whoever would do it, so that the sequences get through the whole job; else anybody.
    let fitting = match chosen {
        0..=4 => &b.operator,
        13 | 14 => &b.supervisor,
        _ => &b.mechanic,
    };
    let who: &Actor =
        if random.random_bool(0.7) { fitting } else { people[random.random_range(0..people.len())] };
    let (what, done): (_, Result<(), WorkflowError>) = match chosen {
        0 | 1 => {
            *hours += random.random_range(0..60);
            let mut check = b.check(machine, *hours);
            check.hours_confirmed = true;
            check.engine_hours = Some(Hours(*hours));
            for _ in 0..random.random_range(0..2) {
                let stop = &walk[random.random_range(0..walk.len())];
                if stop.item.measure().is_none() {
                    let position = stop.position.map(|p| p.key.clone()).unwrap_or_default();
                    fail(&mut check.answers, &stop.item.key, &position);
                }
            }
            check.watched = b.all_the_same(machine).await;
            for said in &mut check.watched {
                let now = [Watched::Same, Watched::Same, Watched::Gone, Watched::Worse];
                said.now = Some(now[random.random_range(0..now.len())]);
                said.note = "Louder".into();
            }
            let of_the_watch = !check.watched.is_empty();
            let done = workflow::submit_check(w, who, check).await.map(|_| ());
            (if of_the_watch { "watched" } else { "check" }, done)
        }
        2 => {
            let report = workflow::ReportDefect {
                id: w.ambient.id::<DefectId>(),
                machine,
                what: "Rattles".into(),
                answers: if random.random_bool(0.5) {
                    slight(chock::domain::checklist::System::BodyAndFrame)
                } else {
                    chock::domain::risk::Answers::default()
                },
            };
            ("report", workflow::report_defect(w, who, report).await.map(|_| ()))
        }
        3 => ("hold", workflow::place_hold(w, who, w.ambient.id(), machine, "Odd noise").await.map(|_| ())),
        4 => {
            let gate = workflow::gate(w, &b.owner, machine).await.unwrap();
            let hold: Option<HoldId> = gate.holds.first().map(|h| h.id);
            match hold {
                Some(hold) => ("lift", workflow::lift_hold(w, who, hold, "Looked at it").await.map(|_| ())),
                None => ("lift", Ok(())),
            }
        }
        n => {
            let Some(order) = order else { return "nothing" };
            match n {
                5 => ("claim", workflow::claim(w, who, order).await),
                6 => ("start", workflow::start_labour(w, who, order).await),
                7 => ("stop", workflow::stop_labour(w, who, order).await),
                8 => (
                    "wait",
                    workflow::wait_for(w, who, order, WaitingFor::Access, None, "in the field").await,
                ),
                9 => {
                    let quantity = ["0.4", "1", "2"][random.random_range(0..3)];
                    match random.random_range(0..4) {
                        0 => (
                            "reserve",
                            workflow::reserve_part(w, who, order, b.part, quantity).await.map(|_| ()),
                        ),
                        1 => ("issue", workflow::issue_part(w, who, order, b.part, quantity).await),
                        2 => ("return", workflow::return_part(w, who, order, b.part, quantity).await),
                        _ => (
                            "receive",
                            workflow::receive_part(w, who, b.part, b.yard, quantity, "30.01", "").await,
                        ),
                    }
                }
                10 | 11 => ("finish", b.finish(order).await),
                12 => {
                    let mut last = Ok(());
                    for (defect, mut given) in b.passing_retests(order).await {
                        if random.random_bool(0.2) {
                            given.fault_gone = Some(false);
                            if let Some(a) = given.answers.first_mut() {
                                a.outcome = Some("defect".into());
                            }
                        }
                        last = workflow::retest(w, who, order, defect, given).await.map(|_| ());
                    }
                    ("retest", last)
                }
                13 => ("release", workflow::release(w, who, order, "").await.map(|_| ())),
                _ => match random.random_range(0..6) {
                    0 | 4 => ("cancel", workflow::cancel_order(w, who, order, "changed our mind").await),
                    1 => ("hand back", workflow::hand_back(w, who, order).await),
                    2 => ("open order", workflow::open_order(w, who, machine).await.map(|_| ())),
                    _ => ("watch", workflow::end_watches(w).await.map(|_| ())),
                },
            }
        }
    };
    match done {
        Ok(()) => what,
        Err(WorkflowError::Refused(_)) => "refused",
        Err(e) => panic!("{what}: {e:?}"),
    }
}

async fn random_days(engine: Engine, seeds: std::ops::Range<u64>) {
    let mut taken = std::collections::BTreeMap::new();
    for seed in seeds {
        let b = Bench::new(engine).await;
        let mut random = StdRng::seed_from_u64(seed);
        let mut hours = 20_000;
        for n in 0..90 {
            let what = step(&b, &mut random, &mut hours).await;
            *taken.entry(what).or_insert(0) += 1;
            for machine in [b.machine, b.second_machine] {
                let gate = workflow::gate(&b.workshop, &b.owner, machine).await.unwrap();
                assert_eq!(gate.standing == Standing::OutOfService, !gate.holds.is_empty(), "invariant 1");
            }
            let report = workflow::verify(&b.workshop).await.unwrap();
            assert!(report.sound(), "seed {seed}, step {n} ({what}): {:?}", report.breaches);
        }
    }
    // The sequences must really have gone through the whole job.
    for needed in ["check", "watched", "claim", "finish", "retest", "release", "issue", "lift", "cancel"] {
        assert!(taken.contains_key(needed), "{needed} never succeeded: {taken:?}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn hold_under_random_commands_on_sqlite() {
    random_days(Engine::Sqlite, 0..8).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn hold_under_random_commands_on_postgres() {
    random_days(Engine::Postgres, 100..106).await;
}
