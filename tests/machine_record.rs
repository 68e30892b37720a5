//! What a machine's record says of it, and the whole of it in one file that can be checked without Chock.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use actix_web::http::header::CONTENT_TYPE;
use actix_web::test::TestRequest;
use chock::domain::reliability::failing::Course;
use chock::domain::reliability::restoration::Phase;
use chock::domain::standing::Standing;
use chock::domain::work_order::WaitingFor;
use chock::workflow;
use chrono::TimeDelta;

use crate::reliability::python;
use crate::support::browser::{Browser, picture};
use crate::support::{Bench, on_both};

on_both!(
    what_the_time_until_it_was_back_went_on,
    a_hold_by_hand_and_a_fault_that_was_not_found_are_no_failures,
    readings_are_drawn_with_their_limit_and_where_they_run_to,
    keep_or_replace_is_a_sum_and_no_more,
    the_whole_record_in_one_file_proves_itself,
);

/// By hand: 30 min in the queue, 10 min claimed, 60 min work, 240 min for parts, 20 min work, 15 min until the release.
async fn what_the_time_until_it_was_back_went_on(b: Bench) {
    let w = &b.workshop;
    b.submit(b.check(b.machine, 12_010)).await;
    b.wait(60);
    let check = b.failed_check(b.machine, 12_030, "fuel-leak", "left-side");
    let order = b.submit(check).await.work_order.unwrap();
    b.wait(30);
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    b.wait(10);
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    b.wait(60);
    workflow::wait_for(w, &b.mechanic, order, WaitingFor::Parts, None, "hose").await.unwrap();
    b.wait(240);
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    b.wait(20);
    b.finish(order).await.unwrap();
    b.pass_retests(order).await;
    b.wait(15);
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    b.wait(60);

    let f = workflow::machine_figures(w, &b.operator, b.machine).await.unwrap();
    let minutes: Vec<(Phase, i64)> = f.restoring.iter().map(|(p, t)| (*p, t.num_minutes())).collect();
    assert_eq!(
        minutes,
        [(Phase::Mechanic, 40), (Phase::Parts, 240), (Phase::Work, 80), (Phase::Release, 15)]
    );
    assert_eq!(f.restored, 1);
    // 60 up, 375 down, 60 up.
    assert_eq!((f.calendar.wanted, f.calendar.down), (TimeDelta::minutes(495), TimeDelta::minutes(375)));
    assert!((f.calendar.share().unwrap() - 120.0 / 495.0).abs() < 1e-9);
    assert_eq!(f.working, None, "the yard has no shifts yet");
    // The meter ran from 1201.0 to 1203.0 h, and one failure was seen: 2 h, by the chi-square bounds of NIST 8.4.5.1.
    let mtbf = f.mtbf.unwrap();
    assert!(f.by_engine && mtbf.failures == 1 && (mtbf.total - 2.0).abs() < 1e-9, "{mtbf:?}");
    assert!((mtbf.low / 2.0 - 0.2108).abs() < 6e-5 && (mtbf.high.unwrap() / 2.0 - 19.4957).abs() < 6e-5);
    assert_eq!(f.course, Course::TooFew(1));

    // The same by the yard's shifts: 06:00 UTC is 07:00 in Oslo, so the day's work is 07:00 to 15:00.
    let day = |n| if n < 5 { "07:00-15:00".to_owned() } else { String::new() };
    workflow::set_week(w, &b.owner, b.yard, &std::array::from_fn(day)).await.unwrap();
    let f = workflow::machine_figures(w, &b.operator, b.machine).await.unwrap();
    let working = f.working.unwrap();
    assert_eq!((working.wanted, working.down), (TimeDelta::minutes(480), TimeDelta::minutes(375)));

    let sara = Browser::of(w, &b.supervisor).await;
    let page = sara.get(&format!("/machines/{}/record", b.machine)).await;
    page.is(200).says("24.24 % of the time since today; out of service for 6 h 15 min");
    page.says("21.88 % of the yard’s working hours; out of service for 6 h of 8 h");
    page.says("2.0 engine hours on average: 1 failure in 2.0 engine hours");
    page.says("not known: 1 failure so far, and a trend needs 5").says("after 6 h 15 min, once");
    page.says("waiting for parts")
        .says("64 %")
        .says("IEC 60050-192")
        .says("EN 15341:2007")
        .says("NIST e-Handbook");
    // What repairs cost is not for everybody, and the archive is for whoever may read the trail.
    let otto = sara.with_secret(Browser::of(w, &b.operator).await.secret);
    let page = otto.get(&format!("/machines/{}/record", b.machine)).await;
    page.is(200)
        .says("24.24 %")
        .says_not("What it costs")
        .says_not("/archive\"")
        .says_not("Keep it or replace it?");
    b.assert_sound().await;
}

async fn a_hold_by_hand_and_a_fault_that_was_not_found_are_no_failures(b: Bench) {
    let w = &b.workshop;
    let hold = w.ambient.id();
    workflow::place_hold(w, &b.supervisor, hold, b.machine, "Looked odd").await.unwrap();
    b.wait(120);
    workflow::lift_hold(w, &b.supervisor, hold, "Only dirt").await.unwrap();
    b.wait(60);
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    let done = page.defects.iter().map(|d| workflow::DefectDone {
        defect: d.defect.id,
        cause: String::new(),
        remedy: "Dry after washing".into(),
        no_fault_found: true,
        part_replaced: false,
    });
    workflow::finish_work(w, &b.mechanic, order, done.collect(), None).await.unwrap();
    b.pass_retests(order).await;
    b.wait(30);
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    let f = workflow::machine_figures(w, &b.owner, b.machine).await.unwrap();
    let found: Vec<(i64, bool, bool)> =
        f.downs.iter().map(|(d, _)| (d.span.length().num_minutes(), d.failure, d.back)).collect();
    assert_eq!(found, [(30, false, true), (120, false, true)], "the newest first");
    assert_eq!(f.mtbf.unwrap().failures, 0);
    // Nobody had an order for the hold by hand.
    assert_eq!(f.downs[1].1.get(&Phase::Undecided), Some(&TimeDelta::minutes(120)));
    // In another yard there is no such machine.
    let stranger = b.somebody_elsewhere().await;
    assert!(workflow::machine_figures(w, &stranger, b.machine).await.is_err());
    assert!(workflow::machine_archive(w, &stranger, b.machine).await.is_err());
    assert!(workflow::machine_archive(w, &b.operator, b.machine).await.is_err());
}

/// The invented pad wear of the check values: 10.0 to 5.4 mm over 500 h. Its line and bounds are tested in `domain::trend`.
async fn readings_are_drawn_with_their_limit_and_where_they_run_to(b: Bench) {
    for (n, mm) in (0..).zip(["10.0", "9.1", "8.3", "7.2", "6.4", "5.4"]) {
        let mut check = b.check(b.machine, 12_000 + n * 1_000);
        check.hours_confirmed = true;
        // All four alike: one that is thinner than its neighbours is a defect by itself.
        for pad in check.answers.iter_mut().filter(|a| a.item.as_deref() == Some("brake-pad")) {
            (pad.value, pad.unit) = (Some(mm.into()), Some("mm".into()));
        }
        b.submit(check).await;
        b.wait(24 * 60 * 10);
    }
    let wear = workflow::machine_wear(&b.workshop, &b.operator, b.machine).await.unwrap();
    let pad = wear.iter().find(|w| w.title == "Brake pad, front left").expect("a series");
    assert_eq!((pad.readings.len(), pad.at_least), (6, Some(1.5)));
    let crossing = pad.line.as_ref().unwrap().crossing_of(pad.edge.unwrap()).unwrap();
    // (10.033333 − 1.5) ÷ 0.0092, from 1200 h on the meter.
    assert!((crossing.expected - 1_200.0 - (10.033_333_333 - 1.5) / 0.009_2).abs() < 0.01, "{crossing:?}");
    let page =
        Browser::of(&b.workshop, &b.operator).await.get(&format!("/machines/{}/record", b.machine)).await;
    page.is(200).says("Reaches 1.5 mm at about 2128 engine hours").says("Brake pad, front left: 6 readings");
    page.says("stroke-dasharray").says("at least 1.5 mm").says("engine hours on the meter");
}

/// 12,000 less 2,000 over 5 years is 2,000 a year, and 300 of repairs: 2,300. This one cost nothing yet.
async fn keep_or_replace_is_a_sum_and_no_more(b: Bench) {
    let olga = Browser::of(&b.workshop, &b.owner).await;
    let here = format!("/machines/{}/record", b.machine);
    let page = olga.get(&format!("{here}?price=12000&brings=2000&years=5&repairs=300")).await;
    page.is(200)
        .says("10\u{202f}000.00 EUR")
        .says("over 5 years, a year")
        .says("2000.00 EUR")
        .says("2300.00 EUR");
    page.says("Keeping it costs 2300.00 EUR a year less").says("A sum and no advice");
    page.says("Only 0 days of the last 12 months are on record here");
    for odd in ["price=x&years=5", "price=1&years=0", "price=1&years=", "price=1&years=5&brings=-1"] {
        olga.get(&format!("{here}?{odd}")).await.is(200).says("Give amounts such as");
    }
    let otto = olga.with_secret(Browser::of(&b.workshop, &b.operator).await.secret);
    otto.get(&format!("{here}?price=12000&years=5")).await.is(200).says_not("2400.00");
}

async fn the_whole_record_in_one_file_proves_itself(b: Bench) {
    let w = &b.workshop;
    let olga = Browser::of(w, &b.owner).await;
    let check = b.failed_check(b.machine, 12_010, "fuel-leak", "left-side");
    let id = check.id;
    let order = b.submit(check).await.work_order.unwrap();
    let request = TestRequest::put()
        .uri(&format!("/api/v1/checks/{id}/photos?item=fuel-leak&position=left-side"))
        .insert_header((CONTENT_TYPE, "image/png"))
        .insert_header(("sec-fetch-site", "same-origin"))
        .set_payload(picture());
    olga.ask(request).await.is(201);
    b.wait(30);
    b.repair(order).await;
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "Tight").await.unwrap();

    let answer = olga.get(&format!("/machines/{}/archive", b.machine)).await;
    answer.is(200);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("record.zip"), &answer.bytes).unwrap();
    // Another hand's unpacking; it checks every CRC.
    let script = "import sys, zipfile; z = zipfile.ZipFile('record.zip'); assert z.testzip() is None; z.extractall('.')";
    let unpacked = Command::new(python()).args(["-c", script]).current_dir(&folder).output().unwrap();
    assert!(unpacked.status.success(), "{}", String::from_utf8_lossy(&unpacked.stderr));
    let here = folder.path().join("record-U07-2026-11-25");
    let data = |name: &str| fs::read_to_string(here.join(name)).unwrap();
    let json = |name: &str| serde_json::from_str::<serde_json::Value>(&data(name)).unwrap();
    assert_eq!(json("machine.json")["unit_number"], "U-07");
    assert_eq!(json("checks.json")[0]["id"], id.to_string());
    assert_eq!(json("defects.json")[0]["cause"], "Chafed");
    assert_eq!(json("holds.json")[0]["lifted_at"], json("releases.json")[0]["at"]);
    assert_eq!(json("work-orders.json")[0]["retests"][0]["passed"], true);
    assert!(
        data("record.html").contains("chock.css")
            && data("record.html").contains("Availability and failures")
    );
    assert!(!data("record.html").contains(" href=\"/"), "a link that leads nowhere");
    assert!(data("READ-ME.txt").contains("python3 verify_chain.py"));
    let chain = data("audit.jsonl");
    assert_eq!(
        chain.lines().count(),
        usize::try_from(json("audit-head.json")["number"].as_i64().unwrap()).unwrap()
    );

    let verified = verify(&here);
    assert!(verified.status.success(), "{}", String::from_utf8_lossy(&verified.stderr));
    assert!(String::from_utf8_lossy(&verified.stdout).starts_with("all well: "));
    // Changed, left out, cut off, or another picture: each is seen.
    let lines: Vec<&str> = chain.lines().collect();
    let changed = chain.replacen("Otto Operator", "Mats Mechanic", 1);
    assert_ne!(changed, chain);
    let without = [&lines[..1], &lines[2..]].concat().join("\n");
    let shorter = lines[..lines.len() - 1].join("\n");
    for (altered, seen) in
        [(changed, "its hash is not"), (without, "does not follow"), (shorter, "does not end where")]
    {
        fs::write(here.join("audit.jsonl"), altered).unwrap();
        let refused = verify(&here);
        assert!(!refused.status.success());
        assert!(String::from_utf8_lossy(&refused.stderr).contains(seen), "{refused:?}");
    }
    fs::write(here.join("audit.jsonl"), &chain).unwrap();
    let photo = json("photos.json")[0]["file"].as_str().unwrap().to_owned();
    fs::write(here.join(photo), "another").unwrap();
    assert!(String::from_utf8_lossy(&verify(&here).stderr).contains("not the picture"));
}

/// With the system's own Python and nothing of the tests'.
fn verify(folder: &Path) -> Output {
    Command::new("python3").arg("-I").arg(folder.join("verify_chain.py")).output().expect("Python 3")
}
