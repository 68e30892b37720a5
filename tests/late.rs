//! A check that was recorded where there was no signal and arrives hours later: it holds the machine from when it was
//! recorded, everybody is told of both times, and nothing that arrives late puts a machine back to use.

use chock::domain::alert::Event;
use chock::domain::standing::Standing;
use chock::domain::watched::{Said, Watched};
use chock::workflow::{self, Answered, SubmitCheck};
use chrono::{DateTime, TimeDelta, Utc};

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(
    its_hold_counts_from_when_it_was_recorded_and_everybody_is_told_of_both,
    a_late_pass_releases_nothing,
    a_meter_that_was_read_before_others_is_neither_asked_about_nor_set_back,
    what_was_signed_for_meanwhile_stands_and_the_doubt_begins_with_the_arrival,
    an_open_hold_counts_from_the_earlier_check,
    a_watch_runs_from_when_the_defect_was_found,
    a_late_word_that_it_is_gone_does_not_unsay_what_was_seen_since,
    a_clock_that_cannot_be_right_is_not_believed,
);

/// The same check, recorded then and sent now.
fn recorded(at: DateTime<Utc>, check: SubmitCheck) -> SubmitCheck {
    SubmitCheck { recorded_at: Some(at), ..check }
}

async fn hold_of(b: &Bench) -> (DateTime<Utc>, DateTime<Utc>) {
    let gate = workflow::gate(&b.workshop, &b.owner, b.machine).await.unwrap();
    let [hold] = gate.holds.as_slice() else { panic!("{:?}", gate.holds) };
    (hold.since, hold.placed_at)
}

async fn told_of(b: &Bench, answered: &Answered) -> Option<DateTime<Utc>> {
    let told = workflow::verdict(&b.workshop, &b.operator, answered.check).await.unwrap().told;
    let (_, alert) = workflow::alert_of(&b.workshop, &b.owner, told[0].id).await.unwrap();
    match alert.event {
        Event::MachineHeld { recorded_at, .. } => recorded_at,
        other => panic!("{other:?}"),
    }
}

async fn its_hold_counts_from_when_it_was_recorded_and_everybody_is_told_of_both(b: Bench) {
    let w = &b.workshop;
    // 07:00 in the yard's zone.
    let found = b.now();
    let check = recorded(found, b.failed_check(b.machine, 12_010, "fuel-leak", "left-side"));
    b.wait(4 * 60);
    let arrived = b.now();
    let answered = b.submit(check.clone()).await;
    assert_eq!(answered.standing, Standing::OutOfService);
    assert_eq!(hold_of(&b).await, (found, arrived));
    assert_eq!(told_of(&b, &answered).await, Some(found));
    // Sent again, it says and changes nothing new.
    assert_eq!(b.submit(check).await, answered);

    let olga = Browser::of(w, &b.owner).await;
    let arrived_words = "It reached Chock today 11:00.";
    olga.get(&format!("/checks/{}", answered.check)).await.says("today 07:00").says(arrived_words);
    olga.get(&format!("/machines/{}/record", b.machine)).await.says("today 07:00").says(arrived_words);
    olga.get(&format!("/machines/{}", b.machine)).await.says("Held since today 07:00").says(arrived_words);
    olga.get(&format!("/defects/{}", answered.findings[0].defect)).await.says("07:00").says(arrived_words);
    olga.get("/board").await.says("today 07:00").says("4 h 0 min").says(arrived_words);
    olga.get("/board.csv").await.says("2026-11-25T06:00:00Z,2026-11-25T10:00:00Z");
    olga.get(&format!("/machines/{}/tag", b.machine)).await.says("25 November 2026, 07:00");
    let board = workflow::board(w, &b.owner, "", 50).await.unwrap();
    assert_eq!((board.grounded[0].since, board.grounded[0].placed_at), (found, arrived));

    // The trail has its own time, and says the other.
    let stream = format!("machine {}", b.machine);
    let rows = workflow::audit_trail(w, &b.owner, &stream, "", 50).await.unwrap();
    for act in ["check submitted", "hold placed"] {
        let row = rows.iter().find(|r| r.act == act).unwrap();
        assert_eq!(row.at, arrived);
        assert!(row.why.contains("2026-11-25 06:00:00 UTC"), "{}", row.why);
    }
    // One that arrives at once says nothing of it.
    let at_once = b.submit(b.failed_check(b.second_machine, 3_010, "fuel-leak", "left-side")).await;
    olga.get(&format!("/checks/{}", at_once.check)).await.says_not("reached Chock");
    assert_eq!(told_of(&b, &at_once).await, None);
    b.assert_sound().await;
}

async fn a_late_pass_releases_nothing(b: Bench) {
    let well = b.check(b.machine, 12_005);
    let before = b.now();
    b.wait(30);
    b.submit(b.failed_check(b.machine, 12_010, "fuel-leak", "left-side")).await;
    let after = b.now() + TimeDelta::minutes(30);
    b.wait(4 * 60);
    // Recorded before the leak was found, and after it.
    for at in [before, after] {
        let pass = recorded(at, SubmitCheck { id: b.workshop.ambient.id(), ..well.clone() });
        let answered = b.submit(SubmitCheck { engine_hours: None, ..pass }).await;
        assert_eq!((answered.standing, answered.held_already), (Standing::OutOfService, true));
        let otto = Browser::of(&b.workshop, &b.operator).await;
        otto.get(&format!("/checks/{}", answered.check))
            .await
            .says("a check that arrives late puts nothing back to use")
            .says_not("You may use");
    }
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let (since, placed_at) = hold_of(&b).await;
    assert_eq!(since, placed_at, "what passes moves no hold");
    b.assert_sound().await;
}

async fn a_meter_that_was_read_before_others_is_neither_asked_about_nor_set_back(b: Bench) {
    let first = recorded(b.now(), b.check(b.machine, 12_010));
    b.wait(120);
    b.submit(b.check(b.machine, 12_050)).await;
    b.wait(120);
    b.submit(first).await;
    let gate = workflow::gate(&b.workshop, &b.owner, b.machine).await.unwrap();
    assert_eq!(gate.machine.engine_hours.map(|h| h.0), Some(12_050));
    // What went before it is still asked about: 1201.0 h were on the meter by then.
    let slip = recorded(b.now() - TimeDelta::minutes(90), b.check(b.machine, 1_205));
    let refused = workflow::submit_check(&b.workshop, &b.operator, slip).await.unwrap_err();
    assert!(format!("{refused:?}").contains("it showed 1205.0 before"), "{refused:?}");
    b.assert_sound().await;
}

async fn what_was_signed_for_meanwhile_stands_and_the_doubt_begins_with_the_arrival(b: Bench) {
    let w = &b.workshop;
    let late = recorded(b.now(), b.failed_check(b.machine, 12_010, "fuel-leak", "left-side"));
    b.wait(30);
    let order = b.ground(b.machine).await;
    b.wait(60);
    b.repair(order).await;
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    b.wait(60);
    let answered = b.submit(late).await;
    assert_eq!(answered.standing, Standing::OutOfService, "in doubt");
    assert_eq!(
        hold_of(&b).await,
        (b.now(), b.now()),
        "the machine was rightly in use between release and arrival"
    );
    let page = workflow::defect_page(w, &b.owner, answered.findings[0].defect).await.unwrap();
    assert!(page.defect.prior_defect_id.is_some(), "whoever looks at it sees what was repaired meanwhile");
    b.assert_sound().await;
}

async fn an_open_hold_counts_from_the_earlier_check(b: Bench) {
    let found = b.now();
    let late = recorded(found, b.failed_check(b.machine, 12_010, "fuel-leak", "left-side"));
    b.wait(60);
    b.submit(b.failed_check(b.machine, 12_020, "fuel-leak", "left-side")).await;
    let placed = b.now();
    b.wait(60);
    let answered = b.submit(late).await;
    assert!(answered.findings[0].seen_before);
    assert_eq!(hold_of(&b).await, (found, placed));
    let stream = format!("machine {}", b.machine);
    let rows = workflow::audit_trail(&b.workshop, &b.owner, &stream, "", 50).await.unwrap();
    assert!(rows.iter().any(|r| r.act == "hold counts from earlier"));
    b.assert_sound().await;
}

/// A silent horn is watched for one day.
async fn a_watch_runs_from_when_the_defect_was_found(b: Bench) {
    let late = recorded(b.now(), b.failed_check(b.machine, 12_010, "horn", ""));
    b.wait(3 * 24 * 60);
    assert_eq!(b.submit(late).await.standing, Standing::Monitored);
    assert_eq!(workflow::end_watches(&b.workshop).await.unwrap(), 1, "its day was over before it arrived");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    b.assert_sound().await;
}

async fn a_late_word_that_it_is_gone_does_not_unsay_what_was_seen_since(b: Bench) {
    let horn = b.submit(b.failed_check(b.machine, 12_010, "horn", "")).await.findings[0].defect;
    b.wait(30);
    let said = |now| vec![Said { defect: horn, now: Some(now), note: String::new() }];
    let gone = recorded(b.now(), SubmitCheck { watched: said(Watched::Gone), ..b.check(b.machine, 12_020) });
    b.wait(30);
    b.submit(SubmitCheck { watched: said(Watched::Same), ..b.check(b.machine, 12_030) }).await;
    b.wait(30);
    b.submit(gone).await;
    let page = workflow::defect_page(&b.workshop, &b.owner, horn).await.unwrap();
    assert_eq!(page.defect.said_gone_at, None);
    assert_eq!(page.sightings.len(), 3, "it is on record all the same");
    b.assert_sound().await;
}

async fn a_clock_that_cannot_be_right_is_not_believed(b: Bench) {
    let check = b.failed_check(b.machine, 12_010, "fuel-leak", "left-side");
    let answered = b.submit(recorded("1970-01-01T00:00:00Z".parse().unwrap(), check)).await;
    assert_eq!(hold_of(&b).await, (b.now(), b.now()));
    assert_eq!(told_of(&b, &answered).await, None);
    b.assert_sound().await;
}
