//! The main job over the API alone.

use serde_json::{Value, json};
use uuid::Uuid;

use super::{Api, fail};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    the_life_of_a_failed_check,
    holds_and_reports_by_hand,
    a_monitored_machine_gets_a_work_order_when_asked,
    a_check_that_arrives_late_says_so
);

async fn the_life_of_a_failed_check(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, mechanic) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.mechanic).await);
    let (supervisor, owner) = (api.sign_in(&b, &b.supervisor).await, api.sign_in(&b, &b.owner).await);

    // The operator finds the machine however the number is typed, and checks it.
    let found = operator.get("/machines?unit=u%207").await.with(200);
    assert_eq!(found["machines"][0]["standing"], "fit for use");
    assert_eq!(found["machines"][0]["id"], json!(b.machine));
    let (id, mut check) = operator.check(b.machine).await;
    check["engine_hours"] = json!(1234.5);
    fail(&mut check, "fuel-leak");
    let verdict = operator.put(&format!("/checks/{id}"), check).await.with(201);
    assert_eq!(verdict["standing"], "out of service");
    assert_eq!(verdict["findings"][0]["severity"], "out of service");
    assert!(verdict["findings"][0]["instruction"].as_str().is_some_and(|i| !i.is_empty()), "{verdict}");
    let order = verdict["work_order"].as_str().unwrap().to_owned();
    let defect = verdict["findings"][0]["defect"].as_str().unwrap().to_owned();

    let gate = operator.get(&format!("/machines/{}", b.machine)).await;
    assert!(gate.header("etag").starts_with('"'), "strong");
    let gate = gate.with(200);
    assert_eq!(gate["standing"], "out of service");
    assert_eq!(gate["engine_hours"], "1234.5");
    assert_eq!(gate["holds"][0]["defect"], json!(defect));
    assert_eq!(gate["last_check"]["id"], json!(id));
    let record = operator.get(&format!("/checks/{id}")).await.with(200);
    assert_eq!(record["verdict"], verdict);
    assert!(!record["told"].as_array().unwrap().is_empty(), "somebody is told");
    // Not the operator's to repair.
    operator.post(&format!("/work-orders/{order}/claim"), Value::Null).await.problem(403);

    // The mechanic takes it from the queue and works on it.
    let queue = mechanic.get("/work-orders").await.with(200);
    assert_eq!(queue["work_orders"][0]["id"], json!(order));
    assert!(queue["work_orders"][0]["because"].as_str().is_some_and(|why| !why.is_empty()), "{queue}");
    let step = |step: &str| format!("/work-orders/{order}/{step}");
    let mine = mechanic.post(&step("claim"), Value::Null).await.with(200);
    assert_eq!((&mine["state"], &mine["mine"]), (&json!("claimed"), &json!(true)));
    assert!(mine["defects"][0]["failed"][0]["todo"].as_str().is_some_and(|t| !t.is_empty()), "{mine}");
    let started = mechanic.post(&step("labour/start"), Value::Null).await.with(200);
    assert_eq!((&started["state"], &started["my_clock_runs"]), (&json!("in work"), &json!(true)));
    b.wait(30);
    // The access tokens have run out meanwhile; the work has not.
    let operator = operator.renewed().await;
    let (mechanic, supervisor, owner) =
        (mechanic.renewed().await, supervisor.renewed().await, owner.renewed().await);
    // 30 minutes at 60.00 an hour.
    let stopped = mechanic.post(&step("labour/stop"), Value::Null).await.with(200);
    assert_eq!(stopped["cost"], json!({ "minor": 3000, "currency": "EUR" }));
    let part = format!("parts/{}", b.part);
    let some = |quantity: u8| json!({ "id": b.workshop.ambient.id::<Uuid>(), "quantity": quantity });
    mechanic.post(&step(&format!("{part}/reserve")), some(2)).await.with(200);
    let issued = mechanic.post(&step(&format!("{part}/issue")), some(2)).await.with(200);
    // Two of three that cost 90.00 together.
    assert_eq!(issued["cost"]["minor"], 3000 + 6000);
    let returned = mechanic.post(&step(&format!("{part}/return")), some(1)).await.with(200);
    assert_eq!((&returned["cost"]["minor"], &returned["parts"][0]["issued"]), (&json!(6000), &json!("1")));

    let wait =
        json!({ "waiting_for": "parts", "until": "2026-11-27T08:00:00Z", "note": "The hose is on its way" });
    assert_eq!(mechanic.post(&step("wait"), wait).await.with(200)["state"], "waiting");
    let board = owner.get("/board").await.with(200);
    assert_eq!(board["grounded"][0]["unit_number"], "U-07");
    assert_eq!(board["grounded"][0]["waiting"]["waiting_for"], "parts");
    assert_eq!(board["grounded"][0]["cost"]["minor"], 6000);
    mechanic.post(&step("labour/start"), Value::Null).await.with(200);
    b.wait(1);
    mechanic.post(&step(&format!("defects/{defect}/retest")), json!({})).await.problem(409);
    let work = json!({ "defects": { &defect: { "cause": "The hose chafed", "remedy": "New hose" } } });
    assert_eq!(mechanic.post(&step("finish"), work).await.with(200)["state"], "work done");

    // Repaired is not released: the failed item again first, then a signature.
    // Signing takes the password again: they have been here for half an hour.
    supervisor.post(&step("release"), json!({})).await.problem(403);
    supervisor.post(&step("release"), json!({ "password": PASSWORD })).await.problem(409);
    let failed = &issued["defects"][0]["failed"][0];
    let answer = |outcome: &str| json!({ "answers": [{ "item": failed["item"], "position": failed["position"], "outcome": outcome }] });
    let retest = step(&format!("defects/{defect}/retest"));
    let no = mechanic.post(&retest, answer("defect")).await.with(200);
    assert_eq!((&no["passed"], &no["work_order"]["state"]), (&json!(false), &json!("in work")));
    b.wait(1);
    let work = json!({ "defects": { &defect: { "cause": "The clamp was loose too", "remedy": "New clamp", "part_replaced": true } } });
    mechanic.post(&step("finish"), work).await.with(200);
    assert_eq!(mechanic.post(&retest, answer("ok")).await.with(200)["passed"], true);
    mechanic.post(&step("release"), json!({})).await.problem(403);
    let signed = json!({ "note": "Looked at it myself", "password": PASSWORD });
    let released = supervisor.post(&step("release"), signed).await.with(200);
    assert_eq!((&released["fit_for_use"], &released["released_by_repairer"]), (&json!(true), &json!(false)));

    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    assert_eq!(
        (&gate["standing"], &gate["holds"], &gate["open_defects"]),
        (&json!("fit for use"), &json!([]), &json!([]))
    );
    assert_eq!(owner.get("/board").await.with(200)["grounded"], json!([]));
    let alerts = owner.get("/outbox").await.with(200);
    let kinds: Vec<_> =
        alerts["alerts"].as_array().unwrap().iter().map(|a| a["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"machine held") && kinds.contains(&"released"), "{kinds:?}");
    let trail = owner.get("/audit?query=released&limit=5").await.with(200);
    assert!(
        trail["entries"].as_array().unwrap().iter().any(|e| e["by_name"] == "Sara Supervisor"),
        "{trail}"
    );
    b.assert_sound().await;
    api.was_as_promised();
}

async fn holds_and_reports_by_hand(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, supervisor) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.supervisor).await);
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let id: Uuid = b.workshop.ambient.id();
    let path = format!("/holds/{id}");
    let hold = json!({ "machine": b.machine, "reason": "Stood in the flood" });
    operator.put(&path, hold.clone()).await.with(201);
    operator.put(&path, hold).await.with(200);
    let other = json!({ "machine": b.second_machine, "reason": "Stood in the flood" });
    operator.put(&path, other).await.problem(409);
    mechanic.post(&format!("{path}/lift"), json!({ "reason": "Dry" })).await.problem(403);
    assert_eq!(
        supervisor.post(&format!("{path}/lift"), json!({ "reason": "" })).await.pointers(422),
        ["/reason"]
    );
    supervisor.post(&format!("{path}/lift"), json!({ "reason": "Dried and looked at" })).await.with(200);
    supervisor.post(&format!("{path}/lift"), json!({ "reason": "Again" })).await.problem(409);

    let id: Uuid = b.workshop.ambient.id();
    let path = format!("/defects/{id}");
    let sure = json!({ "machine": b.machine, "what": "Mirror cracked", "affects": "body and frame",
        "fire": "no", "harm": "cannot hurt anybody", "worse": "no", "certain": "seen or felt" });
    let first = operator.put(&path, sure.clone()).await.with(201);
    assert_eq!(first["severity"], "monitor");
    assert_eq!(
        first["why"],
        "Negligible × probable = medium (MIL-STD-882E Table III); this checklist grounds from serious."
    );
    let risk = json!({ "category": "negligible", "probability": "probable", "level": "medium", "code": "4B",
        "out_of_service_from": "serious", "final": false });
    assert_eq!(first["risk"], risk);
    let mut other = sure.clone();
    other["harm"] = json!("could cost a day off work");
    operator.put(&path, other).await.problem(409);
    assert_eq!(operator.put(&path, sure).await.with(200)["severity"], "monitor");
    // What is not answered is a doubt, and a doubt holds.
    let doubt = json!({ "machine": b.machine, "what": "A knock from below", "affects": "suspension" });
    let id: Uuid = b.workshop.ambient.id();
    let held = operator.put(&format!("/defects/{id}"), doubt).await.with(201);
    assert_eq!((&held["severity"], &held["risk"]["final"]), (&json!("out of service"), &json!(false)));
    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    let hold = gate["holds"][0]["id"].as_str().unwrap().to_owned();
    // A hold that came from a defect ends by release only.
    supervisor.post(&format!("/holds/{hold}/lift"), json!({ "reason": "In a hurry" })).await.problem(409);
    b.assert_sound().await;
    api.was_as_promised();
}

async fn a_monitored_machine_gets_a_work_order_when_asked(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, mechanic) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.mechanic).await);
    let open = json!({ "machine": b.machine });
    mechanic.post("/work-orders", open.clone()).await.problem(409);
    let report = json!({
        "machine": b.machine, "what": "Mirror cracked", "affects": "body and frame",
        "fire": "no", "harm": "cannot hurt anybody", "worse": "no", "certain": "likely"
    });
    let id: Uuid = b.workshop.ambient.id();
    operator.put(&format!("/defects/{id}"), report).await.with(201);
    operator.post("/work-orders", open.clone()).await.problem(403);
    let order = mechanic.post("/work-orders", open.clone()).await.with(200);
    assert_eq!((&order["state"], &order["defects"][0]["id"]), (&json!("queued"), &json!(id)));
    // Asked again: the same one.
    assert_eq!(mechanic.post("/work-orders", open).await.with(200)["id"], order["id"]);
    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    assert_eq!((&gate["standing"], &gate["work_order"]["id"]), (&json!("monitored"), &order["id"]));
    b.assert_sound().await;
    api.was_as_promised();
}

async fn a_check_that_arrives_late_says_so(b: Bench) {
    let api = Api::new(&b).await;
    let owner = api.sign_in(&b, &b.owner).await;
    let recorded_at = b.now();
    let (id, mut check) = owner.check(b.machine).await;
    check["recorded_at"] = json!(recorded_at);
    fail(&mut check, "fuel-leak");
    b.wait(240);
    let owner = api.sign_in(&b, &b.owner).await;
    owner.put(&format!("/checks/{id}"), check).await.with(201);
    let record = owner.get(&format!("/checks/{id}")).await.with(200);
    assert_eq!((&record["recorded_at"], &record["received_at"]), (&json!(recorded_at), &json!(b.now())));
    assert_eq!(record["arrived_late"], true);
    let hold = owner.get(&format!("/machines/{}", b.machine)).await.with(200)["holds"][0].clone();
    assert_eq!((&hold["since"], &hold["placed_at"]), (&json!(recorded_at), &json!(b.now())));
    let grounded = owner.get("/board").await.with(200)["grounded"][0].clone();
    assert_eq!((&grounded["since"], &grounded["known_since"]), (&json!(recorded_at), &json!(b.now())));
    let (id, check) = owner.check(b.second_machine).await;
    owner.put(&format!("/checks/{id}"), check).await.with(201);
    assert_eq!(owner.get(&format!("/checks/{id}")).await.with(200)["arrived_late"], false);
}
