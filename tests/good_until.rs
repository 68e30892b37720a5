//! The end of a watch: by the yard's calendar through both changes of the clocks, after a stop that slept past it, and by
//! engine hours from whatever says them. And use while held, shown by the same readings.

use chock::domain::ids::{DefectId, MachineId, WorkOrderId};
use chock::domain::refusal::Refusal;
use chock::domain::standing::{Severity, Standing};
use chock::domain::unit::Hours;
use chock::storage::Db;
use chock::workflow::{self, MeterReading, NewMachine, NewYard, SubmitCheck, WorkflowError, Workshop};
use chrono::{DateTime, TimeDelta, Utc};

use crate::support::browser::Browser;
use crate::support::process::DEADLINE;
use crate::support::served::Served;
use crate::support::{Bench, at, on_both};

on_both!(
    a_watch_ends_at_its_hour_through_both_changes_of_the_clocks,
    a_watch_that_ended_while_nobody_ran_ends_at_the_start,
    engine_hours_from_any_source_end_a_watch_at_once,
    a_watch_that_ends_after_its_repair_waits_for_the_retest,
    a_watch_that_is_renewed_ends_again_and_is_told_again,
    use_while_held_is_told_whatever_says_the_hours,
    hours_that_do_not_follow_are_asked_again_everywhere,
    the_meter_is_read_on_the_machines_page,
);

/// The moments the clocks change in 2027: IANA time zone database, computed with Python's zoneinfo. Each machine is
/// checked at 07:00 local time on the day before; a failed horn is good for one day.
const CHANGES: [(&str, &str, &str); 6] = [
    ("America/Chicago", "2027-03-13T13:00:00Z", "2027-03-14T12:00:00Z"),
    ("Europe/Oslo", "2027-03-27T06:00:00Z", "2027-03-28T05:00:00Z"),
    ("Australia/Lord_Howe", "2027-04-02T20:00:00Z", "2027-04-03T20:30:00Z"),
    ("Australia/Lord_Howe", "2027-10-01T20:30:00Z", "2027-10-02T20:00:00Z"),
    ("Europe/Oslo", "2027-10-30T05:00:00Z", "2027-10-31T06:00:00Z"),
    ("America/Chicago", "2027-11-06T12:00:00Z", "2027-11-07T13:00:00Z"),
];

async fn a_watch_ends_at_its_hour_through_both_changes_of_the_clocks(b: Bench) {
    let w = &b.workshop;
    for (n, (zone, checked, ends)) in CHANGES.into_iter().enumerate() {
        let (checked, ends): (DateTime<Utc>, DateTime<Utc>) =
            (checked.parse().unwrap(), ends.parse().unwrap());
        b.time.set(checked);
        let machine = machine_in(&b, n, zone).await;
        let defect = monitored(&b, machine, "horn", 10).await;
        assert_eq!(good_until(&b, defect).await.0, Some(ends), "{zone}, checked {checked}");
        b.time.set(ends - TimeDelta::seconds(1));
        assert_eq!(workflow::end_watches(w).await.unwrap(), 0, "{zone}: a second before");
        assert_eq!(standing(w, &b, machine).await, Standing::Monitored, "{zone}");
        assert_eq!(workflow::until_next_watch_end(w).await.unwrap(), Some(TimeDelta::seconds(1)));
        b.time.set(ends);
        assert_eq!(workflow::end_watches(w).await.unwrap(), 1, "{zone}: at that instant");
        assert_eq!(standing(w, &b, machine).await, Standing::OutOfService, "{zone}");
        assert_eq!(workflow::until_next_watch_end(w).await.unwrap(), None);
        let told = workflow::outbox(w, &b.owner, 200).await.unwrap();
        assert!(
            told.iter().any(|o| o.machine_id == Some(machine) && o.kind.as_str() == "machine held"),
            "{zone}"
        );
    }
    b.assert_sound().await;
}

/// The server was off; the one that starts ends the watch by itself, without a page opened.
async fn a_watch_that_ended_while_nobody_ran_ends_at_the_start(b: Bench) {
    let defect = monitored(&b, b.machine, "horn", 12_010).await;
    let by_hours = monitored(&b, b.second_machine, "oil-leak", 3_010).await;
    // The reading that ends this one arrived, and the process was killed before anything else: as it was kept by an
    // earlier version, which ended watches by hours in the task alone.
    let mut tx = b.workshop.db.begin().await.unwrap();
    tx.set_engine_hours(b.second_machine, Hours(3_300)).await.unwrap();
    tx.commit().await.unwrap();
    b.workshop.db.close().await;

    b.wait(60 * 24 * 40);
    let again = Workshop::new(Db::open(&b.database_url).await.unwrap(), b.time.ambient(), "EUR");
    assert_eq!(standing(&again, &b, b.machine).await, Standing::Monitored, "nobody ran");
    let served = Served::start(&again).await;
    let start = std::time::Instant::now();
    for machine in [b.machine, b.second_machine] {
        while standing(&again, &b, machine).await != Standing::OutOfService {
            assert!(start.elapsed() < DEADLINE, "the watch has not ended");
            tokio::time::sleep(std::time::Duration::from_millis(20)).await;
        }
    }
    served.stop().await;
    for id in [defect, by_hours] {
        let page = workflow::defect_page(&again, &b.owner, id).await.unwrap();
        assert!(page.defect.why.contains("good-until"), "{}", page.defect.why);
    }
    let report = workflow::verify(&again).await.unwrap();
    assert!(report.sound(), "{:?}", report.breaches);
    again.db.close().await;
}

/// A monitored oil leak is good for 20 engine hours. Nothing but the reading itself may end it here: no task runs.
async fn engine_hours_from_any_source_end_a_watch_at_once(b: Bench) {
    let w = &b.workshop;
    // By a check, which says so in its own answer.
    let defect = monitored(&b, b.machine, "oil-leak", 12_010).await;
    let end = good_until(&b, defect).await.1.expect("engine hours");
    assert_eq!(end, Hours(12_210));
    b.wait(60);
    let watched = b.all_the_same(b.machine).await;
    let just_before = SubmitCheck { watched: watched.clone(), ..b.check(b.machine, end.0 - 1) };
    let just_before = b.submit(just_before).await;
    assert_eq!(just_before.standing, Standing::Monitored);
    b.wait(60);
    let check = SubmitCheck { watched, ..b.check(b.machine, end.0) };
    let answered = workflow::submit_check(w, &b.operator, check.clone()).await.unwrap();
    assert_eq!(answered.standing, Standing::OutOfService, "{answered:?}");
    let finding = answered.findings.iter().find(|f| f.defect == defect).expect("told in the answer");
    assert_eq!((finding.severity, finding.seen_before), (Severity::OutOfService, true));
    assert!(finding.why.contains("1221.0 h"), "{}", finding.why);
    assert!(answered.work_order.is_some() && !answered.held_already);
    assert_eq!(b.standing(b.machine).await, answered.standing, "as it was answered");
    assert_eq!(b.submit(check).await, answered, "sent again, the same");
    b.assert_sound().await;

    // By somebody who just reads the meter.
    let machine = machine_in(&b, 1, "Europe/Oslo").await;
    let defect = monitored(&b, machine, "oil-leak", 10).await;
    let reading = |hours| MeterReading { hours: Hours(hours), confirmed: false };
    assert!(!workflow::read_meter(w, &b.owner, machine, reading(209)).await.unwrap());
    assert_eq!(b.standing(machine).await, Standing::Monitored);
    b.wait(1);
    assert!(workflow::read_meter(w, &b.owner, machine, reading(210)).await.unwrap());
    assert_eq!(b.standing(machine).await, Standing::OutOfService);
    assert!(held_alert(&b, machine).await);
    let page = workflow::defect_page(w, &b.owner, defect).await.unwrap();
    assert_eq!(page.defect.severity, Severity::OutOfService);

    // By the mechanic who says what the meter shows when something else is done.
    let defect = monitored(&b, b.second_machine, "oil-leak", 3_010).await;
    b.wait(1);
    let mut both = b.failed_check(b.second_machine, 3_020, "belt-latch", "driver");
    at(&mut both.answers, "oil-leak", "").outcome = Some("defect".into());
    both.watched = b.all_the_same(b.second_machine).await;
    let order = b.submit(both).await.work_order.unwrap();
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    b.wait(30);
    finish_with(&b, order, reading(3_300)).await.unwrap();
    let page = workflow::defect_page(w, &b.owner, defect).await.unwrap();
    assert_eq!(page.defect.severity, Severity::OutOfService);
    assert_eq!(workflow::end_watches(w).await.unwrap(), 0, "nothing is left for the task");
    b.assert_sound().await;
}

async fn a_watch_that_ends_after_its_repair_waits_for_the_retest(b: Bench) {
    let w = &b.workshop;
    let defect = monitored(&b, b.machine, "horn", 12_010).await;
    let order = workflow::open_order(w, &b.supervisor, b.machine).await.unwrap();
    b.repair(order).await;
    b.wait(60 * 24 * 2);
    assert_eq!(workflow::end_watches(w).await.unwrap(), 1);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let page = workflow::defect_page(w, &b.owner, defect).await.unwrap();
    assert_eq!(page.defect.state.to_string(), "repaired", "what was done is not undone");
    b.assert_sound().await;
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    b.assert_sound().await;
}

async fn a_watch_that_is_renewed_ends_again_and_is_told_again(b: Bench) {
    let w = &b.workshop;
    let defect = monitored(&b, b.machine, "oil-leak", 12_010).await;
    let mut told = Vec::new();
    for _ in 0..2 {
        b.wait(60 * 24 * 4);
        assert_eq!(workflow::end_watches(w).await.unwrap(), 1);
        let rows = workflow::outbox(w, &b.owner, 200).await.unwrap();
        told.push(rows.iter().filter(|o| o.kind.as_str() == "machine held").count());
        let until = b.now() + TimeDelta::days(3);
        workflow::lower_severity(w, &b.supervisor, defect, "Drip tray under it", until).await.unwrap();
        assert_eq!(
            good_until(&b, defect).await,
            (Some(until), None),
            "the old hours do not end the new watch"
        );
        assert_eq!(workflow::end_watches(w).await.unwrap(), 0);
    }
    assert_eq!(told[1], 2 * told[0], "each end is told");
    b.assert_sound().await;
}

async fn use_while_held_is_told_whatever_says_the_hours(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    let told = || async {
        let rows = workflow::outbox(w, &b.owner, 300).await.unwrap();
        rows.iter().filter(|o| o.kind.as_str() == "used while out of service").count()
    };
    let each = {
        b.wait(60);
        b.submit(b.check(b.machine, 20_040)).await;
        told().await
    };
    assert!(each > 0, "by a check");
    b.wait(60);
    let reading = |hours| MeterReading { hours: Hours(hours), confirmed: false };
    workflow::read_meter(w, &b.operator, b.machine, reading(20_060)).await.unwrap();
    assert_eq!(told().await, 2 * each, "by a reading of the meter");
    workflow::read_meter(w, &b.operator, b.machine, reading(20_060)).await.unwrap();
    workflow::read_meter(w, &b.operator, b.machine, reading(20_063)).await.unwrap();
    assert_eq!(told().await, 2 * each, "no more than the workshop moves it about");
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    b.wait(60);
    finish_with(&b, order, reading(20_080)).await.unwrap();
    assert_eq!(told().await, 3 * each, "by a work order");
    // Also of a machine that somebody holds by hand.
    workflow::place_hold(w, &b.operator, w.ambient.id(), b.second_machine, "Keep it here").await.unwrap();
    b.wait(60);
    workflow::read_meter(w, &b.operator, b.second_machine, reading(3_010)).await.unwrap();
    assert_eq!(told().await, 4 * each, "held by hand");
    let trail = workflow::audit_trail(w, &b.owner, "", "used while out of service", 50).await.unwrap();
    assert_eq!(trail.len(), 4);
    // A machine that nobody holds is used as it pleases.
    let free = machine_in(&b, 3, "Europe/Oslo").await;
    workflow::read_meter(w, &b.owner, free, reading(500)).await.unwrap();
    assert_eq!(told().await, 4 * each);
    b.assert_sound().await;
}

async fn the_meter_is_read_on_the_machines_page(b: Bench) {
    let defect = monitored(&b, b.machine, "oil-leak", 12_010).await;
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let (page, here) = (format!("/machines/{}", b.machine), format!("/machines/{}/engine-hours", b.machine));
    otto.get(&page).await.is(200).says("Say what the hour meter shows").says("Last time 1201.0 h.");
    otto.send(&here, &[("engine_hours", "")]).await.is(422).says("No figure is given");
    let back = otto.send(&here, &[("engine_hours", "12,0")]).await;
    back.is(422)
        .says("it showed 1201.0 before")
        .says("The hours are right as I typed them")
        .says("value=\"12,0\"");
    otto.send(&here, &[("engine_hours", "1210")]).await.leads_to("?done=saved");
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);
    otto.send(&here, &[("engine_hours", "1221")]).await.leads_to("?done=watch-over");
    otto.get(&format!("{page}?done=watch-over")).await.says("The time to watch a defect is over");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let page = workflow::defect_page(&b.workshop, &b.owner, defect).await.unwrap();
    assert!(page.defect.why.contains("1221.0 h"), "{}", page.defect.why);
    b.assert_sound().await;
}

async fn hours_that_do_not_follow_are_asked_again_everywhere(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let asked = |r: Result<(), WorkflowError>| {
        let Err(WorkflowError::Refused(Refusal::Invalid { problems })) = r else { panic!("{r:?}") };
        assert!(problems.iter().any(|p| p.pointer == "/engine_hours"), "{problems:?}");
    };
    let back = MeterReading { hours: Hours(10), confirmed: false };
    asked(workflow::read_meter(w, &b.operator, b.machine, back).await.map(|_| ()));
    asked(finish_with(&b, order, back).await);
    let gate = workflow::gate(w, &b.owner, b.machine).await.unwrap();
    assert_eq!(gate.machine.engine_hours, Some(Hours(20_000)), "nothing was changed");
    finish_with(&b, order, MeterReading { confirmed: true, ..back }).await.unwrap();
    let gate = workflow::gate(w, &b.owner, b.machine).await.unwrap();
    assert_eq!(gate.machine.engine_hours, Some(Hours(10)), "a new meter");
    b.assert_sound().await;
}

/// A machine of its own in a yard of its own.
async fn machine_in(b: &Bench, n: usize, zone: &str) -> MachineId {
    let w = &b.workshop;
    let yard = NewYard { name: format!("Yard {n}"), zone: zone.into(), one_person: false, altitude_m: None };
    let yard = workflow::add_yard(w, &b.owner, yard).await.unwrap();
    let machine = NewMachine {
        yard,
        unit_number: format!("Z-{n}"),
        class: "utility vehicle".into(),
        description: "Two-seat".into(),
        serial: String::new(),
        engine_hours: Some(Hours(5)),
    };
    workflow::add_machine(w, &b.owner, machine).await.unwrap()
}

/// A check by the owner, who works in every yard, that fails an item which is watched.
async fn monitored(b: &Bench, machine: MachineId, item: &str, hours: i64) -> DefectId {
    let check = b.failed_check(machine, hours, item, "");
    let answered = workflow::submit_check(&b.workshop, &b.owner, check).await.expect("the check is taken");
    assert_eq!(answered.standing, Standing::Monitored, "{answered:?}");
    answered.findings[0].defect
}

async fn good_until(b: &Bench, defect: DefectId) -> (Option<DateTime<Utc>>, Option<Hours>) {
    let page = workflow::defect_page(&b.workshop, &b.owner, defect).await.unwrap();
    (page.defect.good_until_at, page.defect.good_until_hours)
}

async fn standing(w: &Workshop, b: &Bench, machine: MachineId) -> Standing {
    workflow::gate(w, &b.owner, machine).await.unwrap().standing
}

async fn held_alert(b: &Bench, machine: MachineId) -> bool {
    let told = workflow::outbox(&b.workshop, &b.owner, 200).await.unwrap();
    told.iter().any(|o| o.machine_id == Some(machine) && o.kind.as_str() == "machine held")
}

async fn finish_with(b: &Bench, order: WorkOrderId, meter: MeterReading) -> Result<(), WorkflowError> {
    let page = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap();
    let open = page.defects.iter().filter(|d| d.defect.closed_at.is_none());
    let done = open
        .map(|d| workflow::DefectDone {
            defect: d.defect.id,
            cause: "Chafed".into(),
            remedy: "Replaced".into(),
            no_fault_found: false,
            part_replaced: false,
        })
        .collect();
    workflow::finish_work(&b.workshop, &b.mechanic, order, done, Some(meter)).await
}
