//! The job itself: a failed check grounds the machine, it is repaired, the retest passes, somebody authorised releases
//! it, and everybody who should be told is told.

use chock::domain::alert::Event;
use chock::domain::refusal::Refusal;
use chock::domain::standing::{Severity, Standing};
use chock::domain::unit::Hours;
use chock::domain::work_order::{OrderWord, WaitingFor};
use chock::workflow::{self, WorkflowError};

use crate::support::{Bench, at, on_both, slight};

on_both!(
    a_failed_check_grounds_and_a_release_brings_back,
    a_good_check_is_on_record_and_holds_nothing,
    a_failed_retest_sends_it_back_to_work,
    the_repairer_of_brakes_may_not_release_them,
    a_cancelled_order_leaves_the_machine_held,
    a_hold_by_hand_is_lifted_by_its_placer_or_with_word_to_them,
    a_second_failure_is_a_sighting_and_worse_news_raises,
    what_it_costs_adds_up,
    another_yard_does_not_exist,
    a_watch_ends_by_the_clock_and_by_the_meter,
    use_while_held_is_told,
    anybody_raises_and_only_a_supervisor_lowers_with_an_end,
    a_repair_that_fails_goes_on_with_the_next_order,
);

async fn a_failed_check_grounds_and_a_release_brings_back(b: Bench) {
    let w = &b.workshop;
    let mut check = b.check(b.machine, 12_010);
    at(&mut check.answers, "brake-pad", "front-left").value = Some("1.2".into());
    at(&mut check.answers, "brake-pad", "front-left").unit = Some("mm".into());
    let answered = b.submit(check).await;
    assert_eq!(answered.standing, Standing::OutOfService);
    assert_eq!(answered.findings.len(), 1);
    assert!(answered.findings[0].why.contains("1.2 mm"), "{}", answered.findings[0].why);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let verdict = workflow::verdict(w, &b.operator, answered.check).await.unwrap();
    let told: Vec<&str> = verdict.told.iter().map(|o| o.person_name.as_str()).collect();
    assert_eq!(told, ["Mats Mechanic", "Mia Mechanic", "Olga Owner", "Otto Operator", "Sara Supervisor"]);

    let order = answered.work_order.expect("a work order at once");
    let queue = workflow::queue(w, &b.mechanic, 1).await.unwrap().next;
    assert_eq!(queue[0].order.id, order);
    assert!(
        queue[0].because.to_string().starts_with("The machine is out of service"),
        "{}",
        queue[0].because
    );
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    b.wait(30);
    workflow::wait_for(w, &b.mechanic, order, WaitingFor::Parts, Some(b.now()), "pads ordered")
        .await
        .unwrap();
    b.wait(60);
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    workflow::issue_part(w, &b.mechanic, order, b.part, "1").await.unwrap();
    b.wait(15);
    b.finish(order).await.unwrap();

    // Not before the retest, and not by the one who did the work.
    let early = workflow::release(w, &b.supervisor, order, "").await;
    assert!(
        matches!(&early, Err(WorkflowError::Refused(Refusal::Conflict(s))) if s.contains("not been retested"))
    );
    b.pass_retests(order).await;
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "a retest alone lifts nothing");
    let released = workflow::release(w, &b.supervisor, order, "Test drive done").await.unwrap();
    assert!(released.fit_for_use && !released.released_by_repairer);
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);

    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert_eq!(page.order.word(), OrderWord::Closed);
    // 45 minutes at 60.00 an hour, and one of three pad sets worth 90.00 together.
    assert_eq!(page.order.cost_minor, 4_500 + 3_000);
    let outbox = workflow::outbox(w, &b.owner, 100).await.unwrap();
    let note = outbox.iter().find(|o| o.kind.as_str() == "released" && o.person_name == "Otto Operator");
    let (_, alert) =
        workflow::alert_of(w, &b.owner, note.expect("the reporter hears of it").id).await.unwrap();
    assert!(matches!(alert.event, Event::Released { fit_for_use: true, .. }));
    b.assert_sound().await;
}

async fn a_good_check_is_on_record_and_holds_nothing(b: Bench) {
    let answered = b.submit(b.check(b.machine, 12_010)).await;
    assert_eq!((answered.standing, answered.findings.len()), (Standing::FitForUse, 0));
    let record = workflow::machine_record(&b.workshop, &b.owner, b.machine, 10).await.unwrap();
    assert_eq!(record.checks.len(), 1);
    assert_eq!(record.machine.engine_hours, Some(Hours(12_010)));
    assert!(workflow::outbox(&b.workshop, &b.owner, 10).await.unwrap().is_empty());
    b.assert_sound().await;
}

async fn a_failed_retest_sends_it_back_to_work(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    b.repair(order).await;
    let (defect, mut given) = b.passing_retests(order).await.remove(0);
    given.answers[0].outcome = Some("defect".into());
    b.wait(1);
    let retested = workflow::retest(w, &b.mechanic, order, defect, given).await.unwrap();
    assert!(!retested.passed && !retested.why.is_empty());
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert_eq!(page.order.word(), OrderWord::InWork);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    // The old retest counts for nothing once the work is done again.
    b.wait(5);
    b.finish(order).await.unwrap();
    assert!(workflow::release(w, &b.supervisor, order, "").await.is_err());
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    b.assert_sound().await;
}

async fn the_repairer_of_brakes_may_not_release_them(mut b: Bench) {
    use chock::domain::person::Role;
    // One person, every role: what a small business has.
    b.mechanic.roles = vec![Role::Mechanic, Role::Supervisor];
    let w = &b.workshop;
    let check = b.failed_check(b.machine, 12_010, "brake-leak", "");
    let order = b.submit(check).await.work_order.unwrap();
    b.repair(order).await;
    b.pass_retests(order).await;
    let refused = workflow::release(w, &b.mechanic, order, "").await;
    let Err(WorkflowError::Refused(Refusal::Forbidden(sentence))) = refused else { panic!("{refused:?}") };
    assert!(sentence.contains("somebody other"), "{sentence}");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    // Where there is nobody else the yard says so, and the record does too.
    workflow::set_one_person(w, &b.owner, b.yard, true).await.unwrap();
    let released = workflow::release(w, &b.mechanic, order, "").await.unwrap();
    assert!(released.released_by_repairer);
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert!(page.release.unwrap().released_by_repairer);
    b.assert_sound().await;
}

async fn a_cancelled_order_leaves_the_machine_held(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    workflow::reserve_part(w, &b.mechanic, order, b.part, "2").await.unwrap();
    b.wait(10);
    assert!(workflow::cancel_order(w, &b.mechanic, order, "no").await.is_err(), "a mechanic may not cancel");
    workflow::cancel_order(w, &b.supervisor, order, "Sent to the maker instead").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let parts = workflow::store_parts(w, &b.owner).await.unwrap();
    assert_eq!(parts[0].reserved, 0, "reserved parts are free again");
    // The defect is picked up by the next order.
    let next = workflow::open_order(w, &b.supervisor, b.machine).await.unwrap();
    assert_ne!(next, order);
    b.repair(next).await;
    b.pass_retests(next).await;
    workflow::release(w, &b.supervisor, next, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    b.assert_sound().await;
}

async fn a_hold_by_hand_is_lifted_by_its_placer_or_with_word_to_them(b: Bench) {
    let w = &b.workshop;
    let id = w.ambient.id();
    workflow::place_hold(w, &b.operator, id, b.machine, "Smells of fuel").await.unwrap();
    workflow::place_hold(w, &b.operator, id, b.machine, "Smells of fuel").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    assert!(
        workflow::lift_hold(w, &b.mechanic, id, "Fine now").await.is_err(),
        "neither placer nor supervisor"
    );
    assert!(workflow::lift_hold(w, &b.supervisor, id, "  ").await.is_err(), "no reason");
    workflow::lift_hold(w, &b.supervisor, id, "Spilt at filling, cleaned up").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    let told = workflow::outbox(w, &b.owner, 50).await.unwrap();
    let lifted: Vec<_> = told.iter().filter(|o| o.kind.as_str() == "hold lifted").collect();
    assert_eq!(lifted.len(), 1);
    assert_eq!(lifted[0].person_name, "Otto Operator");
    // One's own needs no telling.
    let own = w.ambient.id();
    workflow::place_hold(w, &b.operator, own, b.machine, "Looks odd").await.unwrap();
    workflow::lift_hold(w, &b.operator, own, "It was mud").await.unwrap();
    assert_eq!(
        workflow::outbox(w, &b.owner, 50)
            .await
            .unwrap()
            .iter()
            .filter(|o| o.kind.as_str() == "hold lifted")
            .count(),
        1
    );
    // A hold from a defect is lifted by nobody's hand.
    let order = b.ground(b.machine).await;
    let gate = workflow::gate(w, &b.owner, b.machine).await.unwrap();
    let refused = workflow::lift_hold(w, &b.owner, gate.holds[0].id, "I say so").await;
    assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::Conflict(_)))));
    assert!(workflow::claim(w, &b.mechanic, order).await.is_ok());
    b.assert_sound().await;
}

async fn a_second_failure_is_a_sighting_and_worse_news_raises(b: Bench) {
    let w = &b.workshop;
    let mut check = b.check(b.machine, 12_010);
    at(&mut check.answers, "horn", "").outcome = Some("defect".into());
    let first = b.submit(check).await;
    let severity = first.findings[0].severity;
    b.wait(60 * 24);
    let mut check = b.check(b.machine, 12_050);
    at(&mut check.answers, "horn", "").outcome = Some("defect".into());
    check.watched = b.all_the_same(b.machine).await;
    let second = b.submit(check).await;
    assert!(second.findings[0].seen_before);
    assert_eq!(second.findings[0].defect, first.findings[0].defect);
    let record = workflow::machine_record(w, &b.owner, b.machine, 10).await.unwrap();
    assert_eq!(record.defects.len(), 1);
    // A tyre low unladen is watched; the same tyre low laden holds the machine.
    let mut low = b.check(b.second_machine, 3_010);
    at(&mut low.answers, "tyre-pressure", "rear-left").value = Some("90".into());
    let watched = b.submit(low).await;
    assert_eq!((watched.standing, watched.findings[0].severity), (Standing::Monitored, Severity::Monitor));
    let mut laden = b.check(b.second_machine, 3_020);
    laden.load = chock::domain::checklist::Load::Laden;
    laden.watched = b.all_the_same(b.second_machine).await;
    laden.answers = crate::support::all_well(&b.checklist, laden.load);
    at(&mut laden.answers, "tyre-pressure", "rear-left").value = Some("120".into());
    let held = b.submit(laden).await;
    assert_eq!(held.standing, Standing::OutOfService);
    assert_eq!(held.findings[0].defect, watched.findings[0].defect, "raised, not doubled");
    assert!(held.work_order.is_some());
    assert!(matches!(severity, Severity::Monitor | Severity::OutOfService));
    b.assert_sound().await;
}

async fn what_it_costs_adds_up(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let start = b.now();
    b.wait(600);
    let minutes = chrono::TimeDelta::minutes;
    workflow::enter_labour(w, &b.mechanic, order, start, start + minutes(20)).await.unwrap();
    let overlap =
        workflow::enter_labour(w, &b.mechanic, order, start + minutes(19), start + minutes(40)).await;
    assert!(matches!(overlap, Err(WorkflowError::Refused(Refusal::Conflict(_)))));
    workflow::enter_labour(w, &b.mechanic, order, start + minutes(20), start + minutes(30)).await.unwrap();
    assert!(
        workflow::enter_labour(w, &b.mechanic, order, b.now(), b.now() + minutes(5)).await.is_err(),
        "the future"
    );
    workflow::reserve_part(w, &b.mechanic, order, b.part, "2").await.unwrap();
    let greedy = workflow::reserve_part(w, &b.mechanic, order, b.part, "1.5").await.unwrap();
    assert_eq!((greedy.reserved.to_string(), greedy.lacking.to_string()), ("1".into(), "0.5".into()));
    workflow::issue_part(w, &b.mechanic, order, b.part, "2.5").await.unwrap();
    workflow::return_part(w, &b.mechanic, order, b.part, "0.5").await.unwrap();
    assert!(
        workflow::return_part(w, &b.mechanic, order, b.part, "2.5").await.is_err(),
        "more than was issued"
    );
    for absurd in ["-1", "0", "1e9", "99999999999", "x"] {
        assert!(workflow::issue_part(w, &b.mechanic, order, b.part, absurd).await.is_err(), "{absurd}");
    }
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    // Half an hour at 60.00, and two sets of three that cost 90.00.
    assert_eq!(page.order.cost_minor, 3_000 + 6_000);
    b.assert_sound().await;
}

async fn another_yard_does_not_exist(b: Bench) {
    let w = &b.workshop;
    let stranger = b.somebody_elsewhere().await;
    let order = b.ground(b.machine).await;
    let check = b.check(b.machine, 30_000);
    let not_found = |r: Result<(), WorkflowError>| {
        assert!(matches!(r, Err(WorkflowError::Refused(Refusal::NotFound(_)))), "{r:?}");
    };
    not_found(workflow::gate(w, &stranger, b.machine).await.map(|_| ()));
    not_found(workflow::submit_check(w, &stranger, check).await.map(|_| ()));
    not_found(workflow::order_page(w, &stranger, order).await.map(|_| ()));
    not_found(workflow::cancel_order(w, &stranger, order, "x").await);
    not_found(workflow::place_hold(w, &stranger, w.ambient.id(), b.machine, "x").await.map(|_| ()));
    assert!(workflow::board(w, &stranger, "", 50).await.unwrap().grounded.is_empty());
    let seen = workflow::queue(w, &stranger, 1).await.unwrap();
    assert!(seen.next.is_empty() && seen.taken.is_empty());
}

async fn a_watch_ends_by_the_clock_and_by_the_meter(b: Bench) {
    let w = &b.workshop;
    let report = |machine| workflow::ReportDefect {
        id: w.ambient.id(),
        machine,
        what: "Seat cover torn".into(),
        answers: slight(chock::domain::checklist::System::BodyAndFrame),
    };
    workflow::report_defect(w, &b.operator, report(b.machine)).await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);
    assert_eq!(workflow::end_watches(w).await.unwrap(), 0);
    // Nobody opens a page for two weeks.
    b.wait(60 * 24 * 14 + 1);
    assert_eq!(workflow::end_watches(w).await.unwrap(), 1);
    assert_eq!(workflow::end_watches(w).await.unwrap(), 0, "once");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let outbox = workflow::outbox(w, &b.owner, 50).await.unwrap();
    assert!(outbox.iter().any(|o| o.kind.as_str() == "machine held"));
    let gate = workflow::gate(w, &b.owner, b.machine).await.unwrap();
    assert!(gate.order.is_some(), "it has a work order");
    b.assert_sound().await;
}

async fn use_while_held_is_told(b: Bench) {
    let w = &b.workshop;
    b.ground(b.machine).await;
    b.wait(60);
    let mut check = b.check(b.machine, 20_040);
    let answered = workflow::submit_check(w, &b.operator, check.clone()).await.unwrap();
    assert_eq!(answered.standing, Standing::OutOfService, "whatever the check says");
    assert!(answered.held_already);
    let told = |rows: &[workflow::OutboxRow]| {
        rows.iter().filter(|o| o.kind.as_str() == "used while out of service").count()
    };
    let outbox = workflow::outbox(w, &b.owner, 100).await.unwrap();
    assert!(told(&outbox) > 0);
    // A tenth or two are the workshop's own moving about.
    check.id = w.ambient.id();
    check.engine_hours = Some(Hours(20_042));
    b.submit(check).await;
    assert_eq!(told(&workflow::outbox(w, &b.owner, 100).await.unwrap()), told(&outbox));
    b.assert_sound().await;
}

async fn anybody_raises_and_only_a_supervisor_lowers_with_an_end(b: Bench) {
    let w = &b.workshop;
    let mut check = b.check(b.machine, 12_010);
    at(&mut check.answers, "horn", "").outcome = Some("defect".into());
    let defect = b.submit(check).await.findings[0].defect;
    let until = b.now() + chrono::TimeDelta::days(3);
    assert!(
        workflow::lower_severity(w, &b.supervisor, defect, "fine", until).await.is_err(),
        "nothing to lower"
    );
    assert!(workflow::raise_severity(w, &b.operator, defect, " ").await.is_err(), "a reason");
    workflow::raise_severity(w, &b.operator, defect, "Blind corner on the job").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    assert!(workflow::lower_severity(w, &b.mechanic, defect, "fine", until).await.is_err(), "not a mechanic");
    let endless = b.now() + chrono::TimeDelta::days(400);
    assert!(
        workflow::lower_severity(w, &b.supervisor, defect, "fine", endless).await.is_err(),
        "an end to the watch"
    );
    workflow::lower_severity(w, &b.supervisor, defect, "Open field, banksman there", until).await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);
    b.assert_sound().await;
    // What a final rule decided is lowered by nobody.
    b.ground(b.second_machine).await;
    let page = workflow::gate(w, &b.owner, b.second_machine).await.unwrap();
    let refused = workflow::lower_severity(w, &b.owner, page.defects[0].id, "I say so", until).await;
    assert!(
        matches!(&refused, Err(WorkflowError::Refused(Refusal::Conflict(s))) if s.contains("final")),
        "{refused:?}"
    );
    b.wait(60 * 24 * 4);
    assert_eq!(workflow::end_watches(w).await.unwrap(), 1, "the watch has an end");
    b.assert_sound().await;
}

async fn a_repair_that_fails_goes_on_with_the_next_order(b: Bench) {
    let w = &b.workshop;
    let first = b.ground(b.machine).await;
    b.repair(first).await;
    // Something else fails before the release: a new order, since the first takes nothing any more.
    b.wait(5);
    let second =
        b.submit(b.failed_check(b.machine, 20_010, "belt-latch", "driver")).await.work_order.unwrap();
    assert_ne!(first, second);
    // And the repair turns out not to hold.
    b.wait(5);
    let (defect, mut given) = b.passing_retests(first).await.remove(0);
    given.answers[0].outcome = Some("defect".into());
    workflow::retest(w, &b.mechanic, first, defect, given).await.unwrap();
    let page = workflow::order_page(w, &b.owner, second).await.unwrap();
    assert_eq!(page.defects.len(), 2, "the next order has both");
    let page = workflow::order_page(w, &b.owner, first).await.unwrap();
    assert_eq!(page.order.word(), OrderWord::Cancelled);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    b.repair(second).await;
    b.pass_retests(second).await;
    workflow::release(w, &b.supervisor, second, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    b.assert_sound().await;
}
