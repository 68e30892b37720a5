//! What keeps a work order from being begun: parts that are not there, and skills that somebody lacks. And that whatever is
//! given up goes to whoever lacks it in the same transaction.

use std::collections::BTreeSet;

use chock::domain::checklist::System;
use chock::domain::ids::WorkOrderId;
use chock::domain::person::Actor;
use chock::domain::work_order::OrderWord;
use chock::workflow::{self, WorkflowError};
use chrono::TimeDelta;
use sqlx::{Connection, PgConnection};

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(
    what_lacks_parts_is_said_to_wait_and_is_not_offered,
    whoever_lacks_a_skill_helps_only_under_somebody_who_has_it,
    what_is_given_up_is_shared_out_in_the_same_transaction,
);

async fn offered(b: &Bench) -> Vec<WorkOrderId> {
    let found = workflow::queue(&b.workshop, &b.mechanic, 1).await.unwrap();
    found.next.iter().map(|e| e.order.id).collect()
}

fn sentence<T: std::fmt::Debug>(outcome: Result<T, WorkflowError>) -> String {
    match outcome {
        Err(WorkflowError::Refused(refusal)) => refusal.to_string(),
        other => panic!("{other:?}"),
    }
}

async fn word(b: &Bench, order: WorkOrderId) -> OrderWord {
    workflow::order_page(&b.workshop, &b.owner, order).await.unwrap().order.word()
}

async fn what_lacks_parts_is_said_to_wait_and_is_not_offered(b: Bench) {
    let w = &b.workshop;
    let one = b.ground(b.machine).await;
    b.wait(10);
    let two = b.ground(b.second_machine).await;
    assert_eq!(offered(&b).await, [one, two]);
    // Three sets are there. The mechanic asks for five, and gives the order back.
    workflow::claim(w, &b.mechanic, one).await.unwrap();
    workflow::reserve_part(w, &b.mechanic, one, b.part, "5").await.unwrap();
    assert_eq!(word(&b, one).await, OrderWord::Waiting);
    workflow::hand_back(w, &b.mechanic, one).await.unwrap();
    assert_eq!(word(&b, one).await, OrderWord::Queued);
    assert_eq!(offered(&b).await, [two], "nobody can begin it");
    let (mats, mia) = (Browser::of(w, &b.mechanic).await, Browser::of(w, &b.other_mechanic).await);
    let says = "Waiting for parts: Brake pad set (BP-1): 2 set";
    mats.get("/queue").await.is(200).says(says).says("Nobody has it yet").says(&format!("{one}/claim"));
    mats.get("/board").await.is(200).says("parts, then a mechanic");
    let until = b.now() + TimeDelta::days(2);
    workflow::order_part(w, &b.owner, w.ambient.id(), b.part, b.yard, "2", Some(until)).await.unwrap();
    mats.get("/queue").await.says(&format!("{says}, expected Fri 27 Nov"));
    let found = workflow::queue(w, &b.mechanic, 1).await.unwrap();
    let waiting = found.taken.iter().find(|e| e.order.id == one).expect("it is shown");
    assert_eq!(waiting.parts.as_ref().unwrap().until, Some(until));
    b.assert_sound().await;

    // Claimed to look closer, it says what it lacks.
    mia.send(&format!("/work-orders/{one}/claim"), &[]).await.leads_to("?done=claimed");
    let page = mia.get(&format!("/work-orders/{one}")).await;
    page.is(200)
        .says("Parts are lacking: Brake pad set (BP-1): 2 set, expected Fri 27 Nov. If they are needed");
    workflow::hand_back(w, &b.other_mechanic, one).await.unwrap();

    // A supervisor's word stands before it, and says so.
    workflow::pin_order(w, &b.supervisor, one).await.unwrap();
    assert_eq!(offered(&b).await, [one, two]);
    mats.get("/queue").await.says("Pinned by Sara Supervisor").says(says);
    workflow::unpin_order(w, &b.supervisor, one).await.unwrap();
    assert_eq!(offered(&b).await, [two]);

    // The parts come: it stands where it stood.
    workflow::receive_part(w, &b.owner, b.part, b.yard, "2", "60.00", "").await.unwrap();
    assert_eq!(offered(&b).await, [one, two]);
    mats.get("/queue").await.says_not(says);
    b.assert_sound().await;
}

async fn skilled_in_fuel(b: &Bench, who: &[&Actor]) {
    let skilled: Vec<_> = who.iter().map(|a| (a.id, System::Fuel)).collect();
    workflow::set_skills(&b.workshop, &b.owner, &BTreeSet::from([System::Fuel]), &skilled).await.unwrap();
}

async fn whoever_lacks_a_skill_helps_only_under_somebody_who_has_it(b: Bench) {
    const LACKS: &str = "This work asks for somebody skilled in: fuel.";
    const MAY_HELP: &str = "You may help while somebody skilled has the order.";
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    let here = format!("/work-orders/{order}");
    skilled_in_fuel(&b, &[&b.mechanic]).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    // Under the claimant, who has the skill.
    let mia = Browser::of(w, &b.other_mechanic).await;
    let page = mia.get(&here).await;
    page.is(200).says("Skilled work (fuel)").says(&format!("action=\"{here}/start\""));
    mia.send(&format!("{here}/start"), &[]).await.leads_to("?done=started");
    b.wait(30);
    workflow::stop_labour(w, &b.other_mechanic, order).await.unwrap();
    let (from, to) = (b.now() - TimeDelta::hours(2), b.now() - TimeDelta::hours(1));
    workflow::enter_labour(w, &b.other_mechanic, order, from, to).await.unwrap();
    // And never alone: the claimant has lost it, and so has nobody who answers for the work.
    skilled_in_fuel(&b, &[]).await;
    for who in [&b.mechanic, &b.other_mechanic] {
        let started = sentence(workflow::start_labour(w, who, order).await);
        assert!(started.contains(LACKS) && started.contains(MAY_HELP), "{started}");
        let (from, to) = (b.now() - TimeDelta::minutes(20), b.now() - TimeDelta::minutes(10));
        let entered = sentence(workflow::enter_labour(w, who, order, from, to).await);
        assert!(entered.contains(LACKS), "{entered}");
        let browser = Browser::of(w, who).await;
        browser.get(&here).await.says("lacks a skill").says_not(&format!("action=\"{here}/start\""));
    }
    assert!(sentence(b.finish(order).await).contains(LACKS), "nobody unskilled says that it is done");
    // What was worked stays, and the order goes to somebody who has the skill.
    skilled_in_fuel(&b, &[&b.other_mechanic]).await;
    workflow::hand_back(w, &b.mechanic, order).await.unwrap();
    assert!(sentence(workflow::claim(w, &b.mechanic, order).await).contains(LACKS));
    workflow::claim(w, &b.other_mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    b.wait(10);
    workflow::stop_labour(w, &b.mechanic, order).await.unwrap();
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert_eq!(page.labour.len(), 3);
    b.assert_sound().await;
}

/// Which transaction last wrote the order's row (PostgreSQL's system column `xmin`); SQLite does not say.
async fn written_by(b: &Bench, order: WorkOrderId) -> Option<String> {
    if !b.database_url.starts_with("postgres") {
        return None;
    }
    let mut connection = PgConnection::connect(&b.database_url).await.unwrap();
    let (xmin,): (String,) = sqlx::query_as("SELECT CAST(xmin AS TEXT) FROM work_order WHERE id = $1")
        .bind(order.0)
        .fetch_one(&mut connection)
        .await
        .unwrap();
    connection.close().await.unwrap();
    Some(xmin)
}

async fn what_is_given_up_is_shared_out_in_the_same_transaction(b: Bench) {
    let w = &b.workshop;
    for (act, left) in [("cancel", 3), ("finish", 3), ("return", 3)] {
        let one = b.ground(b.machine).await;
        b.wait(10);
        let two = b.ground(b.second_machine).await;
        workflow::claim(w, &b.mechanic, one).await.unwrap();
        workflow::claim(w, &b.other_mechanic, two).await.unwrap();
        match act {
            "return" => workflow::issue_part(w, &b.mechanic, one, b.part, "3").await.unwrap(),
            _ => {
                workflow::reserve_part(w, &b.mechanic, one, b.part, "3").await.unwrap();
            }
        }
        workflow::reserve_part(w, &b.other_mechanic, two, b.part, "2").await.unwrap();
        assert_eq!(word(&b, two).await, OrderWord::Waiting, "{act}");
        b.assert_sound().await;
        match act {
            "cancel" => workflow::cancel_order(w, &b.supervisor, one, "written off").await.unwrap(),
            "finish" => b.finish(one).await.unwrap(),
            _ => workflow::return_part(w, &b.mechanic, one, b.part, "3").await.unwrap(),
        }
        assert_eq!(word(&b, two).await, OrderWord::Claimed, "{act}: what it waited for is there");
        // The giver's row is written by the same transaction as the taker's.
        assert_eq!(written_by(&b, one).await, written_by(&b, two).await, "{act}");
        let page = workflow::order_page(w, &b.owner, two).await.unwrap();
        assert_eq!((page.lines[0].reserved, page.lines[0].lacking), (2_000, 0), "{act}");
        b.assert_sound().await;
        // As it was before.
        if word(&b, one).await != OrderWord::Cancelled {
            workflow::cancel_order(w, &b.supervisor, one, "next round").await.unwrap();
        }
        workflow::cancel_order(w, &b.supervisor, two, "next round").await.unwrap();
        let rows = workflow::store_parts(w, &b.owner).await.unwrap();
        let row = rows.iter().find(|p| p.id == b.part).unwrap();
        assert_eq!((row.on_hand, row.reserved), (left * 1_000, 0), "{act}");
        b.assert_sound().await;
    }
}
