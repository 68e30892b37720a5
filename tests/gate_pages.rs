//! The gate page is made once for whoever asks again at once, and never a moment longer than it is right.

use actix_web::test::TestRequest;
use chock::domain::ids::HoldId;
use chock::storage::Db;
use chock::workflow::{self, Workshop};

use crate::support::browser::Browser;
use crate::support::{Bench, Engine, on_both};

on_both!(what_anybody_does_shows_at_once, whoever_has_it_is_told_so, it_ends_with_the_session);

async fn hold(b: &Bench, w: &Workshop, reason: &str) {
    let id: HoldId = b.workshop.ambient.id();
    workflow::put_hold(w, &b.mechanic, id, b.machine, reason).await.unwrap();
}

async fn what_anybody_does_shows_at_once(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let sara = otto.with_secret(Browser::of(&b.workshop, &b.supervisor).await.secret);
    let gate = format!("/machines/{}", b.machine);
    for browser in [&otto, &sara, &otto, &sara] {
        browser.get(&gate).await.is(200).says("U-07").says_not("Cut hose");
    }
    hold(&b, &b.workshop, "Cut hose").await;
    for browser in [&otto, &sara, &otto, &sara] {
        browser.get(&gate).await.is(200).says("Cut hose");
    }
    // Each sees their own: who is signed in stands on it.
    otto.get(&gate).await.says("Otto Operator").says_not("Sara Supervisor");
    sara.get(&gate).await.says("Sara Supervisor").says_not("Otto Operator");
    // What is said once is not kept.
    otto.get(&format!("{gate}?done=held")).await.is(200).says("Fit the tag.");
    otto.get(&gate).await.is(200).says_not("Fit the tag.");
    // In the language that is asked for.
    let spanish = TestRequest::get().uri(&gate).insert_header(("accept-language", "es"));
    otto.ask(spanish).await.is(200);
}

async fn whoever_has_it_is_told_so(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let gate = format!("/machines/{}", b.machine);
    let first = otto.get(&gate).await;
    let tag = first.is(200).headers.get("etag").expect("a tag").to_str().unwrap().to_owned();
    let again =
        async || otto.ask(TestRequest::get().uri(&gate).insert_header(("if-none-match", tag.clone()))).await;
    let known = again().await;
    assert!(known.is(304).bytes.is_empty() && known.headers.get("etag").unwrap().to_str().unwrap() == tag);
    hold(&b, &b.workshop, "Cut hose").await;
    again().await.is(200).says("Cut hose");
    // Nobody who is signed out is told anything.
    let nobody = otto.with_secret("");
    nobody.ask(TestRequest::get().uri(&gate).insert_header(("if-none-match", tag.clone()))).await.is(303);
}

async fn it_ends_with_the_session(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let gate = format!("/machines/{}", b.machine);
    for _ in 0..2 {
        otto.get(&gate).await.is(200);
    }
    workflow::sign_out_page(&b.workshop, &otto.secret).await.unwrap();
    otto.get(&gate).await.is(303);
    let otto = Browser::of(&b.workshop, &b.operator).await;
    for _ in 0..2 {
        otto.get(&gate).await.is(200);
    }
    workflow::disable_person(&b.workshop, &b.owner, b.operator.id, true).await.unwrap();
    otto.get(&gate).await.is(303);
}

/// A command beside the server opens the same file: what it changes is seen after a second.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_another_process_does_shows_after_a_second() {
    let b = Bench::new(Engine::Sqlite).await;
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let gate = format!("/machines/{}", b.machine);
    otto.get(&gate).await.is(200).says_not("Cut hose");
    let beside = Workshop::new(Db::open(&b.database_url).await.unwrap(), b.workshop.ambient.clone(), "EUR");
    hold(&b, &beside, "Cut hose").await;
    b.time.set(b.now() + chrono::TimeDelta::seconds(1));
    otto.get(&gate).await.is(200).says("Cut hose");
}
