//! Checks that look careless: shown to supervisors and owners, by machine, with the numbers; never mailed, never of a
//! person.

use chock::domain::careless::Sign;
use chock::domain::ids::CheckId;
use chock::domain::refusal::Refusal;
use chock::workflow::{self, WorkflowError};
use chrono::TimeDelta;

use crate::support::browser::{Browser, hidden};
use crate::support::{Bench, at, on_both};

on_both!(
    a_quick_check_is_shown_and_nobody_is_told,
    the_same_figures_and_odd_hours_are_shown,
    a_beginning_that_cannot_be_is_not_kept,
    the_page_says_when_it_was_made,
);

/// A check a day, each begun so many seconds before it ends.
async fn daily(b: &Bench, seconds: &[i64]) -> Vec<CheckId> {
    let mut made = Vec::new();
    for (day, seconds) in (1..).zip(seconds) {
        let mut check = b.check(b.machine, 12_000 + 30 * day);
        check.begun_at = Some(b.now() - TimeDelta::seconds(*seconds));
        // Tyres as they are: each morning a little other than the last.
        for wheel in ["front-left", "front-right", "rear-left", "rear-right"] {
            at(&mut check.answers, "tyre-pressure", wheel).value = Some(format!("{}", 120 + day % 7));
        }
        made.push(check.id);
        b.submit(check).await;
        b.wait(60 * 24);
    }
    made
}

async fn a_quick_check_is_shown_and_nobody_is_told(b: Bench) {
    let w = &b.workshop;
    let made = daily(&b, &[600, 640, 580, 610, 590, 600, 620, 630, 60]).await;
    let quick = made[8];
    let found = workflow::careless_checks(w, &b.supervisor, b.yard, "").await.unwrap();
    assert_eq!((found.looked_at, found.next.as_deref()), (2, None));
    let [machine] = &found.machines[..] else { panic!("{}", found.machines.len()) };
    let [odd] = &machine.looked.odd[..] else { panic!("{:?}", machine.looked) };
    assert_eq!((odd.check, odd.sign, machine.unit_number.as_str()), (quick, Sign::Quick, "U-07"));
    let items = b.checklist.walk().len();
    assert!(odd.sentence.contains(&format!("for {items} answers")), "{}", odd.sentence);
    assert!(odd.sentence.contains("median of 8 checks"), "{}", odd.sentence);

    // On the page and on the record of the machine; with the way to the check, and how it was judged.
    let sara = Browser::of(w, &b.supervisor).await;
    let page = sara.get("/checks/careless").await;
    let said = odd.sentence.here().split_once(";").expect("two halves").0;
    page.is(200).says(said).says(&format!("/checks/{quick}")).says("How it is judged");
    page.says("Nobody is scored").says_not(&b.operator.name);
    let record = sara.get(&format!("/machines/{}/record", b.machine)).await;
    record.is(200).says("1 sign in the last 28 days");
    record.says(&format!("/checks/careless?yard={}#m{}", b.yard, b.machine));
    let otto = Browser::of(w, &b.operator).await;
    otto.get("/checks/careless").await.is(403);
    otto.get(&format!("/machines/{}/record", b.machine)).await.is(200).says_not("sign in the last");
    let refused = workflow::careless_checks(w, &b.mechanic, b.yard, "").await;
    assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::Forbidden(_)))));
    let stranger = b.somebody_elsewhere().await;
    let refused = workflow::careless_checks(w, &stranger, b.yard, "").await;
    assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::NotFound(_)))));

    // Nobody was mailed, and nothing was done to the machine.
    assert!(workflow::outbox(w, &b.owner, 50).await.unwrap().is_empty());
    // Four weeks later it is history.
    b.wait(60 * 24 * 28);
    let found = workflow::careless_checks(w, &b.supervisor, b.yard, "").await.unwrap();
    assert!(found.machines.iter().all(|m| m.looked.odd.is_empty()));
    b.assert_sound().await;
}

async fn the_same_figures_and_odd_hours_are_shown(b: Bench) {
    let w = &b.workshop;
    daily(&b, &[600; 12]).await;
    // From here on the same pressures, and a meter that ran longer than the clock.
    let mut last = None;
    for day in 13..20 {
        let mut check = b.check(b.machine, 12_000 + 30 * day + if day == 19 { 300 } else { 0 });
        for wheel in ["front-left", "front-right", "rear-left", "rear-right"] {
            at(&mut check.answers, "tyre-pressure", wheel).value = Some("131".into());
        }
        last = Some(check.id);
        b.submit(check).await;
        b.wait(60 * 24);
    }
    let looked = workflow::careless_checks_of(w, &b.owner, b.machine).await.unwrap();
    let of = |sign| looked.odd.iter().filter(|o| o.sign == sign).collect::<Vec<_>>();
    let [same] = of(Sign::Same)[..] else { panic!("{looked:?}") };
    assert_eq!(Some(same.check), last);
    assert!(same.sentence.contains("7 checks running"), "{}", same.sentence);
    assert!(same.sentence.contains("3 other places the same way"), "{}", same.sentence);
    let [hours] = of(Sign::Hours)[..] else { panic!("{looked:?}") };
    assert_eq!(Some(hours.check), last);
    assert!(hours.sentence.contains("ran 33.0 h in 24.0 h by the clock"), "{}", hours.sentence);

    // A new meter is shown once, where it was confirmed.
    let mut check = b.check(b.machine, 10);
    check.hours_confirmed = true;
    let id = check.id;
    b.submit(check).await;
    let looked = workflow::careless_checks_of(w, &b.owner, b.machine).await.unwrap();
    let back = looked.odd.iter().find(|o| o.check == id && o.sign == Sign::Hours).expect("shown");
    assert!(back.sentence.contains("went back from 1287.0 h to 1.0 h"), "{}", back.sentence);
    b.assert_sound().await;
}

async fn a_beginning_that_cannot_be_is_not_kept(b: Bench) {
    for (begun, kept) in [
        (Some(TimeDelta::seconds(-5)), false),
        (Some(TimeDelta::days(8)), false),
        (Some(TimeDelta::minutes(9)), true),
        (Some(TimeDelta::zero()), true),
        (None, false),
    ] {
        b.wait(60);
        let mut check = b.check(b.machine, 12_010);
        check.begun_at = begun.map(|ago| b.now() - ago);
        let id = check.id;
        b.submit(check).await;
        let mut tx = b.workshop.db.read().await.unwrap();
        let (at,): (Option<chrono::DateTime<chrono::Utc>>,) =
            tx.one("SELECT begun_at FROM pre_use_check WHERE id = $1", &[&id]).await.unwrap();
        assert_eq!(at, begun.filter(|_| kept).map(|ago| b.now() - ago), "{begun:?}");
    }
}

/// The time comes with the page itself, so that it works without scripts, and stays when the form comes back.
async fn the_page_says_when_it_was_made(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let href = format!("/machines/{}/check", b.machine);
    let page = otto.get(&href).await;
    let begun = hidden(&page, "begun");
    assert_eq!(begun.parse::<chrono::DateTime<chrono::Utc>>().unwrap(), b.now());
    b.wait(7);
    let fields: Vec<(String, String)> = ["check", "checklist", "begun"]
        .map(|name| (name.to_owned(), hidden(&page, name)))
        .into_iter()
        .chain([("hours".to_owned(), "lots".to_owned())])
        .collect();
    let back = otto.send_files(&href, &fields, &[]).await;
    assert_eq!(hidden(back.is(422), "begun"), begun, "counted from the first page");
}
