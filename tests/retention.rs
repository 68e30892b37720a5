//! What has been kept long enough goes, a little at a time; what is open, and what anything still speaks of, stays.

use chock::domain::retention::{RecordKind, Retention};
use chock::workflow;
use chrono::{Months, TimeDelta};

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(
    nothing_goes_by_itself,
    what_is_old_goes_and_what_is_open_stays,
    repairs_go_when_a_machine_has_left,
    the_page_says_what_would_go
);

fn keep(checks: &'static str, repairs: &'static str, alerts: &'static str) -> Retention {
    Retention::parse(|kind| match kind {
        RecordKind::Checks => checks,
        RecordKind::Repairs => repairs,
        RecordKind::Alerts => alerts,
        RecordKind::Messages => "",
    })
    .unwrap()
}

async fn remove_all(b: &Bench) -> i64 {
    let mut removed = 0;
    loop {
        match workflow::remove_once(&b.workshop).await.unwrap() {
            0 => return removed,
            n => removed += n,
        }
    }
}

fn later(b: &Bench, months: u32) {
    b.time.set(b.now().checked_add_months(Months::new(months)).unwrap() + TimeDelta::days(1));
}

async fn checks_kept(b: &Bench) -> usize {
    let one = workflow::machine_record(&b.workshop, &b.owner, b.machine, 500).await.unwrap().checks.len();
    one + workflow::machine_record(&b.workshop, &b.owner, b.second_machine, 500).await.unwrap().checks.len()
}

async fn nothing_goes_by_itself(b: Bench) {
    b.submit(b.check(b.machine, 12_010)).await;
    b.wait(60);
    b.submit(b.check(b.machine, 12_020)).await;
    later(&b, 600);
    assert_eq!(remove_all(&b).await, 0);
    assert_eq!(checks_kept(&b).await, 2);
    // The owner alone decides.
    assert!(workflow::set_retention(&b.workshop, &b.supervisor, &keep("3", "", "")).await.is_err());
}

async fn what_is_old_goes_and_what_is_open_stays(b: Bench) {
    let w = &b.workshop;
    for n in 0..3 {
        b.submit(b.check(b.machine, 12_010 + n)).await;
        b.submit(b.check(b.second_machine, 3_010 + n)).await;
        b.wait(60);
    }
    // A check that failed, whose defect is open: the whole machine keeps what it has.
    b.ground(b.second_machine).await;
    workflow::set_retention(w, &b.owner, &keep("3", "", "")).await.unwrap();
    later(&b, 2);
    assert_eq!(remove_all(&b).await, 0, "younger than three months");
    later(&b, 1);
    // Each has figures in it, and rules look back two years on those.
    assert_eq!(remove_all(&b).await, 0, "rules look back on it");
    later(&b, 24);
    let before = workflow::audit_trail(w, &b.owner, "", "", 500).await.unwrap().len();
    let preview = workflow::kept_kinds(w, &b.owner, None).await.unwrap();
    assert_eq!((preview[0].kind, preview[0].would_go.count), (RecordKind::Checks, 2));
    assert_eq!(remove_all(&b).await, 2);
    // The last of the one machine, and all four of the other.
    assert_eq!(checks_kept(&b).await, 5);
    let trail = workflow::audit_trail(w, &b.owner, "", "", 500).await.unwrap();
    assert_eq!(trail.len(), before + 1);
    let entry = trail.iter().find(|e| e.act == "records removed").expect("it is on record");
    assert_eq!(entry.said_before().to_string(), "2 from 2026-11-25 to 2026-11-25");
    assert_eq!(remove_all(&b).await, 0);
    // Chains and invariants hold.
    b.assert_sound().await;
    // Nobody deletes a check in another way.
    let by_hand = w.db.begin().await.unwrap().run("DELETE FROM pre_use_check", &[]).await;
    let why = format!("{:?}", by_hand.unwrap_err());
    assert!(why.contains("immutable") || why.contains("append-only"), "{why}");
}

async fn repairs_go_when_a_machine_has_left(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.second_machine).await;
    b.wait(60);
    b.repair(order).await;
    b.wait(60);
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    let other = b.ground(b.machine).await;
    b.wait(60);
    workflow::set_retention(w, &b.owner, &keep("3", "12", "3")).await.unwrap();
    workflow::retire_machine(w, &b.owner, b.second_machine, "Sold").await.unwrap();
    for delivery in workflow::lease_deliveries(w, 500).await.unwrap() {
        workflow::delivered(w, &delivery, "250 taken").await.unwrap();
    }
    later(&b, 11);
    let left = async |b: &Bench| workflow::machine_record(w, &b.owner, b.second_machine, 500).await.unwrap();
    remove_all(&b).await;
    assert_eq!(left(&b).await.defects.len(), 1, "younger than a year");
    later(&b, 1);
    remove_all(&b).await;
    assert_eq!(left(&b).await.defects.len(), 0);
    // The grounded one keeps everything, and its order can be gone on with.
    assert_eq!(workflow::machine_record(w, &b.owner, b.machine, 500).await.unwrap().defects.len(), 1);
    b.repair(other).await;
    // The books stay whole, and so do the chains.
    b.assert_sound().await;
    // One in use: two years.
    b.wait(60);
    b.pass_retests(other).await;
    workflow::release(w, &b.supervisor, other, "").await.unwrap();
    later(&b, 13);
    remove_all(&b).await;
    assert_eq!(workflow::machine_record(w, &b.owner, b.machine, 500).await.unwrap().defects.len(), 1);
    later(&b, 12);
    remove_all(&b).await;
    assert_eq!(workflow::machine_record(w, &b.owner, b.machine, 500).await.unwrap().defects.len(), 0);
    b.assert_sound().await;
}

async fn the_page_says_what_would_go(b: Bench) {
    let olga = Browser::of(&b.workshop, &b.owner).await;
    let page = olga.get("/set-up/records").await;
    page.is(200)
        .says("Nothing is set")
        .says("49 CFR 396.11(a)(4)")
        .says("30 CFR 56.14100(d)")
        .says("local law");
    let refused = olga.send("/set-up/records", &[("checks", "2"), ("repairs", "x")]).await;
    refused.is(422).says("href=\"#keep-checks\"").says("href=\"#keep-repairs\"").says("value=\"2\"");
    let look = [("checks", "3"), ("do", "look")];
    olga.send("/set-up/records", &look).await.is(200).says("Nothing is set yet").says("value=\"3\"");
    olga.get("/set-up/records").await.is(200).says_not("value=\"3\"");
    olga.send("/set-up/records", &[("checks", "3")]).await.leads_to("?done=saved");
    olga.get("/set-up/records")
        .await
        .is(200)
        .says("Nothing goes as of today: no record is from before")
        .says("value=\"3\"");
    Browser::of(&b.workshop, &b.supervisor).await.get("/set-up/records").await.is(403);
}
