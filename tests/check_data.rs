//! What a phone takes along: enough to judge as the server does, nothing of other yards, and asked for again at no cost.

use actix_web::http::header::{ETAG, IF_NONE_MATCH};
use actix_web::test::TestRequest;
use chock::domain::answers::read;
use chock::domain::checklist::Checklist;
use chock::domain::history::History;
use chock::domain::judge::judge;
use chock::domain::reading::{Before, Context};
use chock::domain::standing::Standing;
use chock::domain::unit::Hours;
use chock::words::Lang;
use chock::workflow;
use serde_json::Value;

use crate::support::browser::Browser;
use crate::support::{Bench, at, on_both};

on_both!(it_is_enough_to_judge_by, it_is_of_ones_own_yards, it_is_asked_for_again_at_no_cost);

const ALL: &str = "/api/v1/check-data";

async fn taken(browser: &Browser, path: &str) -> Value {
    serde_json::from_str(&browser.get(path).await.is(200).html).expect("JSON")
}

fn machine<'a>(data: &'a Value, unit_number: &str) -> Option<&'a Value> {
    data["machines"].as_array().expect("machines").iter().find(|m| m["unit_number"] == unit_number)
}

/// A level that is topped up for the third time within 50 hours: the phone can know only by the history.
async fn it_is_enough_to_judge_by(b: Bench) {
    let topped_up = |hours: i64| {
        let mut check = b.check(b.machine, hours);
        let oil = at(&mut check.answers, "engine-oil-level", "");
        oil.outcome = Some("corrected".into());
        oil.correction = Some("topped up".into());
        oil.amount = Some("0.5".into());
        check
    };
    for hours in [12_100, 12_200] {
        let answered = b.submit(topped_up(hours)).await;
        assert_eq!(answered.standing, Standing::FitForUse);
        b.wait(24 * 60);
    }
    let browser = Browser::of(&b.workshop, &b.operator).await;
    let data = taken(&browser, ALL).await;
    let here = machine(&data, "U-07").expect("the machine");
    assert_eq!(here["engine_hours"], "1220.0");
    let checklists = data["checklists"].as_array().expect("checklists");
    assert_eq!(checklists.len(), 1, "the version that both machines are checked with, once");
    assert_eq!(here["checklist"], checklists[0]["id"]);
    let checklist: Checklist = serde_json::from_value(checklists[0]["body"].clone()).expect("a checklist");
    // As its reader reads it: other languages are not sent along.
    assert_eq!(checklist, b.checklist.in_lang(Lang::En));
    assert_ne!(b.checklist.in_lang(Lang::Es), checklist);
    let history: History = serde_json::from_value(here["history"].clone()).expect("a history");
    assert_eq!(history.now, None);

    let check = topped_up(12_300);
    let context = Context { engine_hours: check.engine_hours, ..Context::of(check.load) };
    let before = Before { engine_hours: Some(Hours(12_200)) };
    let readings = read(&checklist, &context, &check.answers, &before).expect("readings");
    let history = History { now: Some(b.now()), ..history };
    let on_the_phone = judge(&checklist, &context, &readings, &history);
    let on_the_server = b.submit(check).await;
    let told = |why: &str| why.contains("corrected 3 times within 50 h");
    assert!(on_the_server.findings.iter().any(|f| told(f.why.here())), "{on_the_server:?}");
    let phone: Vec<_> = on_the_phone.findings.iter().map(|f| (&f.rule, f.why.here())).collect();
    let server: Vec<_> = on_the_server.findings.iter().map(|f| (&f.rule, f.why.here())).collect();
    assert_eq!(phone, server);

    // What is open is known from then on, in the list and for the machine alone.
    let one = format!("/api/v1/machines/{}/check-data", b.machine);
    for path in [ALL, &one] {
        let data = taken(&browser, path).await;
        let here = machine(&data, "U-07").expect("the machine");
        assert_eq!(here["standing"], on_the_server.standing.to_string(), "{path}");
        assert_eq!(here["open_defects"][0]["item"], "engine-oil-level", "{path}");
    }
}

async fn it_is_of_ones_own_yards(b: Bench) {
    b.ground(b.machine).await;
    let browser = Browser::of(&b.workshop, &b.operator).await;
    let data = taken(&browser, ALL).await;
    let here = machine(&data, "U-07").expect("the machine");
    assert_eq!(here["standing"], "out of service");
    assert_eq!(here["holds"].as_array().map(Vec::len), Some(1));
    assert_eq!(machine(&data, "U-08").expect("the other machine")["holds"].as_array().map(Vec::len), Some(0));

    let stranger = Browser::of(&b.workshop, &b.somebody_elsewhere().await).await;
    let data = taken(&stranger, ALL).await;
    assert_eq!(data["machines"].as_array().map(Vec::len), Some(0));
    assert_eq!(data["checklists"].as_array().map(Vec::len), Some(0));
    stranger.get(&format!("/api/v1/machines/{}/check-data", b.machine)).await.is(404);

    workflow::retire_machine(&b.workshop, &b.owner, b.second_machine, "Sold").await.unwrap();
    assert!(machine(&taken(&browser, ALL).await, "U-08").is_none());
}

async fn it_is_asked_for_again_at_no_cost(b: Bench) {
    let browser = Browser::of(&b.workshop, &b.operator).await;
    let tag = browser.get(ALL).await.headers.get(ETAG).expect("a tag").clone();
    assert!(tag.to_str().expect("text").starts_with('"'), "{tag:?} is not strong");
    b.wait(60);
    let again = || TestRequest::get().uri(ALL).insert_header((IF_NONE_MATCH, tag.clone()));
    let same = browser.ask(again()).await;
    same.is(304);
    assert!(same.bytes.is_empty());
    b.submit(b.check(b.machine, 12_100)).await;
    assert_ne!(browser.ask(again()).await.is(200).headers.get(ETAG), Some(&tag));
}
