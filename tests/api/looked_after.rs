//! What an owner and a supervisor look after on pages, done over the API: people, the second step, the store's settings, the heads of
//! the trail, and how long records are kept.

use actix_web::test::TestRequest;
use chock::domain::second_step::{code_at, from_base32};
use serde_json::{Value, json};

use super::{Api, fail};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    people_are_looked_after,
    the_second_step_from_first_code_to_last,
    the_store_is_set_up,
    the_site_is_looked_after,
);

async fn people_are_looked_after(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, supervisor) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.supervisor).await);
    let operator = api.sign_in(&b, &b.operator).await;
    let otto = format!("/people/{}", b.operator.id);
    supervisor.get(&otto).await.problem(403);
    assert_eq!(owner.get(&otto).await.with(200)["roles"], json!(["operator"]));
    let to = |roles: Value, password: &str| json!({ "name": "Otto Operator", "email": "otto@yard.example", "roles": roles, "yards": [b.yard], "password": password });
    supervisor.put(&otto, to(json!(["owner"]), PASSWORD)).await.problem(403);
    assert_eq!(owner.put(&otto, to(json!(["owner"]), "guessed")).await.pointers(422), ["/password"]);
    let changed = owner.put(&otto, to(json!(["mechanic", "operator"]), PASSWORD)).await.with(200);
    assert_eq!(changed["roles"], json!(["mechanic", "operator"]));
    // It counts with the next request.
    operator.get("/work-orders").await.with(200);
    let me = operator.get("/me").await.with(200);
    assert_eq!((&me["roles"], &me["email"]), (&json!(["mechanic", "operator"]), &json!("otto@yard.example")));
    let shut = json!({ "disabled": true });
    supervisor.post(&format!("{otto}/disable"), shut.clone()).await.problem(403);
    assert_eq!(owner.post(&format!("{otto}/disable"), shut.clone()).await.with(200)["disabled"], true);
    operator.get("/me").await.problem(401);
    let open = json!({ "disabled": false });
    assert_eq!(owner.post(&format!("{otto}/disable"), open.clone()).await.pointers(422), ["/password"]);
    let open = json!({ "disabled": false, "password": PASSWORD });
    assert_eq!(owner.post(&format!("{otto}/disable"), open).await.with(200)["disabled"], false);
    let myself = format!("/people/{}/disable", b.owner.id);
    owner.post(&myself, shut).await.problem(409);
    let invite = format!("{otto}/invite");
    assert_eq!(owner.post(&invite, json!({ "password": "" })).await.pointers(422), ["/password"]);
    let link = owner.post(&invite, json!({ "password": PASSWORD })).await.with(201);
    assert!(link["link"].as_str().unwrap().starts_with("/welcome/"), "{link}");
    let nobody = format!("/people/{}", b.machine);
    owner.get(&nobody).await.problem(404);
    owner.put(&nobody, to(json!(["operator"]), PASSWORD)).await.problem(404);

    let operator = api.sign_in(&b, &b.operator).await;
    let own = json!({ "language": "es", "units": "US customary" });
    assert_eq!(operator.put("/me", own).await.with(200)["units"], "US customary");
    operator.put("/me", json!({ "language": "es" })).await.with(200);
    assert_eq!(operator.get("/me").await.with(200)["units"], Value::Null);
    assert_eq!(operator.get("/me").await.with(200)["language"], "es");
    operator.put("/me", json!({ "language": "en" })).await.with(200);
    assert_eq!(operator.put("/me", json!({ "language": "xx" })).await.pointers(422), ["/language"]);
    b.assert_sound().await;
    api.was_as_promised();
}

/// The codes are those of RFC 6238, reckoned from the secret that was answered.
async fn the_second_step_from_first_code_to_last(b: Bench) {
    let api = Api::new(&b).await;
    let owner = api.sign_in(&b, &b.owner).await;
    let code = |secret: &str, ahead: i64| {
        code_at(&from_base32(secret).unwrap(), b.now().timestamp() / 30 + ahead, 6)
    };
    let given = json!({ "password": PASSWORD });
    assert_eq!(owner.get("/me/second-step").await.with(200)["since"], Value::Null);
    let asked = json!({ "asked_for": true, "password": PASSWORD });
    owner.put("/second-step", asked.clone()).await.problem(409);
    let begun = owner.post("/me/second-step/begin", given.clone()).await.with(201);
    let secret = begun["secret"].as_str().unwrap().to_owned();
    assert!(begun["address"].as_str().unwrap().starts_with("otpauth://totp/"), "{begun}");
    owner.post("/me/second-step/confirm", json!({ "code": "000000" })).await.problem(422);
    let first = json!({ "code": code(&secret, 0) });
    let codes = owner.post("/me/second-step/confirm", first).await.with(200)["recovery_codes"].clone();
    assert!(codes.as_array().is_some_and(|c| c.len() >= 8), "{codes}");
    owner.post("/me/second-step/begin", given.clone()).await.problem(409);
    // Signing in takes it now.
    let who = json!({ "email": "olga@yard.example", "password": PASSWORD });
    let needed = api.post_open("/sessions", who.clone()).await.problem(401);
    assert_eq!(needed["type"], "/for-programs#second-step-needed");
    let mut with_code = who.clone();
    with_code["code"] = codes[0].clone();
    api.post_open("/sessions", with_code.clone()).await.with(201);
    let renewed =
        owner.post("/me/second-step/codes", given.clone()).await.with(200)["recovery_codes"].clone();
    assert_ne!(renewed, codes);
    with_code["code"] = codes[1].clone();
    api.post_open("/sessions", with_code).await.problem(422);

    // The owner asks for it: a supervisor without gets nowhere but where it is set up.
    let supervisor = api.sign_in(&b, &b.supervisor).await;
    let rule = owner.put("/second-step", asked).await.with(200);
    assert_eq!((&rule["asked_for"], &rule["people"]), (&json!(true), &json!([b.owner.id])));
    let first = supervisor.get("/me").await.problem(403);
    assert_eq!(first["type"], "/for-programs#second-step-to-set-up");
    let begun = supervisor.post("/me/second-step/begin", given.clone()).await.with(201);
    let first = json!({ "code": code(begun["secret"].as_str().unwrap(), 0) });
    supervisor.post("/me/second-step/confirm", first).await.with(200);
    let supervisor_seen = owner.get(&format!("/people/{}", b.supervisor.id)).await.with(200);
    assert_eq!(supervisor_seen["second_step"], true);
    // Their phone is lost.
    let lost = format!("/people/{}/second-step/remove", b.supervisor.id);
    assert_eq!(owner.post(&lost, json!({ "password": "guessed" })).await.pointers(422), ["/password"]);
    assert_eq!(owner.post(&lost, given.clone()).await.with(200)["second_step"], false);
    supervisor.get("/me/second-step").await.problem(401);
    let off = json!({ "asked_for": false, "password": PASSWORD });
    assert_eq!(owner.put("/second-step", off).await.with(200)["asked_for"], false);
    assert_eq!(owner.post("/me/second-step/remove", given).await.with(200)["since"], Value::Null);
    api.was_as_promised();
}

async fn the_store_is_set_up(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, mechanic) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.mechanic).await);
    let part = format!("/parts/{}", b.part);
    let placed = mechanic.put(&format!("{part}/place"), json!({ "bin": "C3", "level": "2" })).await.with(200);
    assert_eq!((&placed["bin"], &placed["level"]), (&json!("C3"), &json!("2")));
    let supply = json!({ "supplier": "Hill Street Parts", "price": "12.50", "pack": 2, "lead_days": 5 });
    let supplied = mechanic.put(&format!("{part}/supply"), supply).await.with(200);
    assert_eq!(
        (&supplied["supply"]["price"]["minor"], &supplied["supply"]["pack"]),
        (&json!(1250), &json!("2"))
    );
    let once: uuid::Uuid = b.workshop.ambient.id();
    let ordered = json!({ "id": once, "quantity": "4" });
    let ordered = mechanic.post(&format!("{part}/order"), ordered).await.with(200);
    let on_its_way = ordered["on_its_way"][0]["id"].as_str().unwrap().to_owned();
    assert_eq!((&ordered["on_its_way"][0]["quantity"], &ordered["on_order"]), (&json!("4"), &json!("4")));
    let it = format!("{part}/on-order/{on_its_way}");
    let expected = mechanic.put(&it, json!({ "expected_at": "2026-12-01T09:00:00Z" })).await.with(200);
    assert_eq!(expected["on_its_way"][0]["expected_at"], "2026-12-01T09:00:00Z");
    let dropped = mechanic.send(TestRequest::delete(), &it).await.with(200);
    assert_eq!(dropped["on_its_way"], json!([]));
    mechanic.send(TestRequest::delete(), &it).await.problem(409);
    assert_eq!(mechanic.get("/reorder/rules").await.with(200)["service_level"], json!(95.0));
    let rules = json!({ "service_level": "98", "order_cost": "15", "holding": "20" });
    mechanic.put("/reorder/rules", rules.clone()).await.problem(403);
    let set = owner.put("/reorder/rules", rules).await.with(200);
    assert_eq!((&set["order_cost"]["minor"], &set["holding"]), (&json!(1500), &json!(20.0)));
    assert_eq!(
        owner.put("/reorder/rules", json!({ "service_level": "12" })).await.pointers(422),
        ["/service_level"]
    );
    let ledger = mechanic.get("/stock-ledger?limit=5").await.with(200);
    assert_eq!(ledger["movements"][0]["part"], json!(b.part));
    b.assert_sound().await;
    api.was_as_promised();
}

async fn the_site_is_looked_after(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, supervisor) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.supervisor).await);
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let yard = format!("/yards/{}", b.yard);
    let high = supervisor.put(&format!("{yard}/altitude"), json!({ "altitude_m": 1200 })).await.with(200);
    assert_eq!(high["altitude_m"], 1200);
    let need = json!({ "class": "utility vehicle", "needed": 2 });
    mechanic.put(&format!("{yard}/need"), need.clone()).await.problem(403);
    supervisor.put(&format!("{yard}/need"), need).await.with(200);
    let board = supervisor.get("/board").await.with(200);
    assert_eq!(board["classes"][0]["needed"], 2);
    supervisor.put(&format!("{yard}/one-person"), json!({ "one_person": true })).await.problem(403);
    let alone = owner.put(&format!("{yard}/one-person"), json!({ "one_person": true })).await.with(200);
    assert_eq!(alone["one_person"], true);

    assert_eq!(supervisor.get("/devices").await.with(200)["devices"], json!([]));
    supervisor.post(&format!("/devices/{}/forget", b.machine), json!({})).await.problem(404);

    assert_eq!(supervisor.get("/audit/heads").await.with(200)["heads"], json!([]));
    supervisor.post("/audit/heads", Value::Null).await.problem(403);
    let head = owner.post("/audit/heads", Value::Null).await.with(201);
    assert_eq!(head["number"], 1);
    // What was answered is what `chock verify` reads.
    let read = chock::domain::trail_head::read_back(head["written"].as_str().unwrap()).unwrap();
    assert_eq!(read.len(), 1);
    let readers = owner.put("/audit/heads/readers", json!({ "people": [b.supervisor.id] })).await.with(200);
    let reads = |r: &&Value| r["reads"] == true;
    assert_eq!(readers["readers"].as_array().unwrap().iter().filter(reads).count(), 1);
    assert_eq!(readers["heads"][0]["hash"], head["hash"]);

    let kept = owner.get("/retention").await.with(200);
    assert!(kept["kinds"].as_array().unwrap().iter().all(|k| k["months"].is_null()), "{kept}");
    supervisor.get("/retention").await.problem(403);
    let months = json!({ "checks": 36, "alerts": 12 });
    let looked = owner.put("/retention?check=true", months.clone()).await.with(200);
    assert_eq!((&looked["kinds"][0]["kind"], &looked["kinds"][0]["months"]), (&json!("checks"), &json!(36)));
    let kept = owner.get("/retention").await.with(200);
    assert_eq!(kept["kinds"][0]["months"], Value::Null, "it was only looked at");
    owner.put("/retention", months).await.with(200);
    assert_eq!(owner.get("/retention").await.with(200)["kinds"][0]["months"], 36);
    assert_eq!(owner.put("/retention", json!({ "checks": 1 })).await.pointers(422), ["/checks"]);

    let (id, mut check) = mechanic.check(b.machine).await;
    fail(&mut check, "fuel-leak");
    mechanic.put(&format!("/checks/{id}"), check).await.with(201);
    let outbox = supervisor.get("/outbox").await.with(200);
    let alert = outbox["alerts"][0]["id"].as_str().unwrap();
    let mail = supervisor.get(&format!("/outbox/{alert}")).await.with(200);
    assert_eq!(
        (&mail["id"], &mail["subject"]),
        (&json!(alert), &Value::Null),
        "the tests write no mail here"
    );

    let checklist = format!("/checklists/{}", b.checklist_id);
    mechanic.post(&format!("{checklist}/retire"), json!({ "reason": "Old" })).await.problem(403);
    assert_eq!(
        supervisor.post(&format!("{checklist}/retire"), json!({ "reason": "" })).await.pointers(422),
        ["/reason"]
    );
    let retired = supervisor
        .post(&format!("{checklist}/retire"), json!({ "reason": "Another fits better" }))
        .await
        .with(200);
    assert_eq!(retired["left_without"], json!(["U-07", "U-08"]));
    supervisor.post(&format!("{checklist}/retire"), json!({ "reason": "Again" })).await.problem(409);
    mechanic.get(&format!("/machines/{}/checklist", b.machine)).await.problem(409);
    b.assert_sound().await;
    api.was_as_promised();
}
