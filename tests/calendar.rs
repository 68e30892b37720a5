//! The calendar feed, read back by Python's icalendar (installed by `tests/run`).

use std::io::Write as _;
use std::process::{Command, Stdio};

use chock::domain::checklist::System;
use chock::words::Lang;
use chock::workflow::{self, ReportDefect, SendOutside};
use chrono::TimeDelta;
use serde_json::Value;

use crate::support::served::Served;
use crate::support::{Bench, on_both, slight};

on_both!(what_is_due_stands_in_the_calendar, a_link_that_was_ended_leads_nowhere);

async fn a_watched_defect(b: &Bench) {
    let report = ReportDefect {
        id: b.workshop.ambient.id(),
        machine: b.machine,
        what: "Side panel; hangs, loose\nat the front".into(),
        answers: slight(System::BodyAndFrame),
    };
    workflow::report_defect(&b.workshop, &b.operator, report).await.unwrap();
}

async fn what_is_due_stands_in_the_calendar(b: Bench) {
    let w = &b.workshop;
    a_watched_defect(&b).await;
    let order = b.ground(b.second_machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let send = SendOutside {
        vendor: "Fen & Sons".into(),
        what: "Welding".into(),
        licensed: String::new(),
        back_by: Some(b.now() + TimeDelta::days(3)),
    };
    workflow::send_outside(w, &b.mechanic, order, send).await.unwrap();
    workflow::choose_language(w, &b.supervisor, Lang::Es).await.unwrap();
    let secret = workflow::make_calendar_link(w, &b.supervisor).await.unwrap();
    let served = Served::start(w).await;
    let http = crate::support::client().build().unwrap();
    let answer = http.get(format!("{}/calendar/{secret}.ics", served.url)).send().await.unwrap();
    assert_eq!(answer.status(), 200);
    assert_eq!(answer.headers()["content-type"], "text/calendar; charset=utf-8");
    assert_eq!(answer.headers()["referrer-policy"], "no-referrer");
    assert_eq!(answer.headers()["cache-control"], "no-store");
    let text = answer.text().await.unwrap();
    // RFC 5545, 3.1: lines end in CRLF and are no longer than 75 octets.
    for line in text.split("\r\n") {
        assert!(line.len() <= 75 && !line.contains('\n'), "{line:?}");
    }
    let read = read_by_another(&text);
    let events = read["events"].as_array().unwrap();
    let with = |start: &str| {
        let found = events.iter().find(|e| e["uid"].as_str().unwrap().starts_with(start));
        found.unwrap_or_else(|| panic!("no {start} in {read}"))
    };
    let watched = with("good-until-");
    assert_eq!(
        watched["start"],
        (b.now() + TimeDelta::days(14)).format("%Y-%m-%dT%H:%M:%S+00:00").to_string()
    );
    let summary = watched["summary"].as_str().unwrap();
    assert!(summary.starts_with("U-07: termina el plazo: Side panel; hangs, loose"), "{summary}");
    assert_eq!(watched["location"], "North yard");
    assert_eq!(watched["url"], format!("{}/machines/{}", served.url, b.machine));
    let promised = with("outside-");
    assert_eq!(
        promised["start"],
        (b.now() + TimeDelta::days(3)).format("%Y-%m-%dT%H:%M:%S+00:00").to_string()
    );
    assert!(promised["summary"].as_str().unwrap().contains("Fen & Sons"));
    // Read again, the same matter has the same id.
    let again = http.get(format!("{}/calendar/{secret}.ics", served.url)).send().await.unwrap();
    assert_eq!(read_by_another(&again.text().await.unwrap())["events"][0]["uid"], events[0]["uid"]);
    served.stop().await;
}

async fn a_link_that_was_ended_leads_nowhere(b: Bench) {
    let w = &b.workshop;
    a_watched_defect(&b).await;
    let served = Served::start(w).await;
    let http = crate::support::client().build().unwrap();
    let status = async |secret: &str| {
        let answer = http.get(format!("{}/calendar/{secret}.ics", served.url)).send().await.unwrap();
        answer.status().as_u16()
    };
    let first = workflow::make_calendar_link(w, &b.supervisor).await.unwrap();
    assert_eq!(status(&first).await, 200);
    let second = workflow::make_calendar_link(w, &b.supervisor).await.unwrap();
    assert_eq!((status(&first).await, status(&second).await), (404, 200), "a new link ends the old one");
    assert_eq!(status("guessed").await, 404);
    // Somebody of another yard sees nothing of this one.
    let stranger = b.somebody_elsewhere().await;
    let theirs = workflow::make_calendar_link(w, &stranger).await.unwrap();
    let text =
        http.get(format!("{}/calendar/{theirs}.ics", served.url)).send().await.unwrap().text().await.unwrap();
    assert_eq!(read_by_another(&text)["events"], Value::Array(Vec::new()));
    // Nobody who has left reads on.
    workflow::disable_person(w, &b.owner, stranger.id, true).await.unwrap();
    assert_eq!(status(&theirs).await, 404);
    workflow::end_calendar_link(w, &b.supervisor).await.unwrap();
    assert_eq!(status(&second).await, 404);
    served.stop().await;
    b.assert_sound().await;
}

/// As Python's icalendar reads it.
fn read_by_another(text: &str) -> Value {
    const SCRIPT: &str = r#"
import json, sys
from icalendar import Calendar
cal = Calendar.from_ical(sys.stdin.buffer.read())
assert not cal.errors, cal.errors
events = []
for e in cal.walk("VEVENT"):
    assert not e.errors, e.errors
    events.append({"uid": str(e["UID"]), "start": e.decoded("DTSTART").isoformat(), "summary": str(e["SUMMARY"]),
                   "location": str(e["LOCATION"]), "url": str(e["URL"]), "stamp": e.decoded("DTSTAMP").isoformat()})
assert cal["VERSION"] == "2.0" and cal["PRODID"]
print(json.dumps({"events": events}))
"#;
    let python = std::env::var_os("CHOCK_TEST_PYTHON").map_or_else(
        || std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/test-python/bin/python"),
        std::path::PathBuf::from,
    );
    let mut child = Command::new(python)
        .args(["-c", SCRIPT])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the Python that tests/run sets up");
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let done = child.wait_with_output().unwrap();
    assert!(done.status.success(), "it cannot be read:\n{text}");
    serde_json::from_slice(&done.stdout).unwrap()
}
