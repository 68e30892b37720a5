//! What the pages can do, done over the API: the record of a machine, severities, people, the second step, the store's
//! settings, heads of the trail, and how long records are kept.

use std::future::poll_fn;
use std::pin::pin;
use std::time::Duration;

use actix_web::body::MessageBody;
use actix_web::test::TestRequest;
use chock::domain::second_step::{code_at, from_base32};
use chock::workflow;
use serde_json::{Value, json};

use super::{Api, fail};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    the_record_of_a_machine,
    severities_are_changed_by_people,
    people_are_looked_after,
    the_second_step_from_first_code_to_last,
    the_store_is_set_up,
    the_site_is_looked_after,
    a_picture_is_seen_by_those_who_see_its_machine,
    a_program_hears_of_changes_until_it_signs_out,
    a_work_order_is_looked_after,
    what_is_there_to_see_and_to_set,
);

async fn the_record_of_a_machine(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, supervisor) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.supervisor).await);
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let order = operator.ground(b.machine).await;
    mechanic.post(&format!("/work-orders/{order}/claim"), Value::Null).await.with(200);
    mechanic.post(&format!("/work-orders/{order}/labour/start"), Value::Null).await.with(200);
    b.wait(9);
    let mechanic = mechanic.renewed().await;
    let (operator, supervisor) = (operator.renewed().await, supervisor.renewed().await);
    mechanic.post(&format!("/work-orders/{order}/labour/stop"), Value::Null).await.with(200);
    let here = format!("/machines/{}", b.machine);
    let seen = mechanic.get(&format!("{here}/record")).await.with(200);
    assert_eq!(seen["checks"][0]["verdict"], "out of service");
    assert_eq!(seen["defects"][0]["state"], "held");
    // Nine minutes at 60.00 an hour.
    assert_eq!(seen["work_orders"][0]["cost"]["minor"], 900);
    assert_eq!((&seen["work_orders"][0]["id"], &seen["releases"]), (&json!(order), &json!([])));
    // What it costs is for those who see work orders.
    let seen = operator.get(&format!("{here}/record?limit=1")).await.with(200);
    assert_eq!(seen["work_orders"][0]["cost"], Value::Null);
    operator.get(&format!("{here}/archive")).await.problem(403);
    let whole = supervisor.get(&format!("{here}/archive")).await.with(200);
    assert_eq!(whole["work_orders"][0]["labour"][0]["cost"]["minor"], 900);
    assert_eq!(whole["holds"][0]["defect"], whole["defects"][0]["id"]);
    let chain = whole["chain"].as_array().unwrap();
    assert_eq!(chain.last().unwrap()["hash"], whole["head"]["hash"], "the chain is whole");

    let wear = operator.get(&format!("{here}/wear")).await.with(200);
    assert_eq!(wear["series"], json!([]), "nothing was read three times");
    assert_eq!(supervisor.get("/work-orders/away").await.with(200)["away"], json!([]));
    let week = mechanic.get("/me/time").await.with(200);
    assert_eq!((&week["zone"], &week["entries"][0]["work_order"]), (&json!("Europe/Oslo"), &json!(order)));
    operator.get("/me/time").await.problem(403);
    let numbers = supervisor.get("/numbers/down").await.with(200);
    assert_eq!(
        (&numbers["down"][0]["unit_number"], &numbers["down"][0]["to"]),
        (&json!("U-07"), &Value::Null)
    );
    let found = supervisor.get("/numbers/defects?class=utility%20vehicle").await.with(200);
    assert_eq!(found["defects"][0]["severity"], "out of service");
    assert_eq!(supervisor.get("/numbers/work-orders").await.with(200)["work_orders"], json!([]));
    let asked = supervisor.get("/numbers/holds-acknowledged").await.with(200);
    // Whoever takes the work has seen it.
    assert_eq!(asked["holds"][0]["acknowledged_by"], "Mats Mechanic");
    supervisor.get("/numbers/unchecked").await.with(200);
    assert_eq!(
        supervisor.get("/numbers/down?from=2026-11-25T00:00:00Z&to=2026-11-24T00:00:00Z").await.pointers(422),
        ["/from"]
    );

    let retire = format!("/machines/{}/retire", b.second_machine);
    operator.post(&retire, json!({ "reason": "Sold" })).await.problem(403);
    assert_eq!(supervisor.post(&retire, json!({ "reason": " " })).await.pointers(422), ["/reason"]);
    let gone = supervisor.post(&retire, json!({ "reason": "Sold to a farm" })).await.with(200);
    assert_eq!(gone["retired_at"], json!(b.now()));
    supervisor.post(&retire, json!({ "reason": "Again" })).await.problem(409);
    operator.get(&format!("/machines/{}/checklist", b.second_machine)).await.problem(409);
    b.assert_sound().await;
    api.was_as_promised();
}

async fn severities_are_changed_by_people(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, supervisor) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.supervisor).await);
    let id: uuid::Uuid = b.workshop.ambient.id();
    let report = json!({ "machine": b.machine, "what": "Mirror cracked", "affects": "body and frame", "fire": "no",
        "harm": "cannot hurt anybody", "worse": "no", "certain": "seen or felt" });
    operator.put(&format!("/defects/{id}"), report).await.with(201);
    let here = format!("/defects/{id}");
    let seen = operator.get(&here).await;
    assert!(seen.header("etag").starts_with('"'));
    let seen = seen.with(200);
    assert_eq!((&seen["severity"], &seen["may_raise"]), (&json!("monitor"), &json!(true)));
    assert_eq!(
        (&seen["risk"]["code"], &seen["reported_by"]["name"]),
        (&json!("4B"), &json!("Otto Operator"))
    );
    // Anybody stops a machine.
    assert_eq!(
        operator.post(&format!("{here}/raise"), json!({ "reason": "" })).await.pointers(422),
        ["/reason"]
    );
    let raised =
        operator.post(&format!("{here}/raise"), json!({ "reason": "It is loose now" })).await.with(200);
    assert_eq!((&raised["severity"], &raised["state"]), (&json!("out of service"), &json!("held")));
    operator.post(&format!("{here}/raise"), json!({ "reason": "Again" })).await.problem(409);
    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    assert_eq!(gate["standing"], "out of service");
    // Only some let it go on, and not for ever.
    let lower = |until: &str| json!({ "reason": "Taped, and looked at", "good_until": until });
    operator.post(&format!("{here}/lower"), lower("2026-12-01T00:00:00Z")).await.problem(403);
    let never = supervisor.post(&format!("{here}/lower"), lower("2027-12-01T00:00:00Z")).await;
    assert_eq!(never.pointers(422), ["/good_until"]);
    let lowered = supervisor.post(&format!("{here}/lower"), lower("2026-12-01T00:00:00Z")).await.with(200);
    assert_eq!(lowered["severity"], "monitor");
    assert_eq!(lowered["good_until"]["at"], "2026-12-01T00:00:00Z");
    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    assert_eq!(gate["standing"], "monitored");
    let mine = operator.get("/me/reports").await.with(200);
    assert_eq!((&mine["reports"][0]["id"], &mine["reports"][0]["unit_number"]), (&json!(id), &json!("U-07")));
    assert_eq!(supervisor.get("/me/reports").await.with(200)["reports"], json!([]));
    b.assert_sound().await;
    api.was_as_promised();
}

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

async fn a_picture_is_seen_by_those_who_see_its_machine(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let (id, mut check) = operator.check(b.machine).await;
    fail(&mut check, "fuel-leak");
    operator.put(&format!("/checks/{id}"), check).await.with(201);
    let mut png = std::io::Cursor::new(Vec::new());
    image::RgbImage::new(8, 8).write_to(&mut png, image::ImageFormat::Png).unwrap();
    let sent = TestRequest::put().insert_header(("Content-Type", "image/png")).set_payload(png.into_inner());
    let kept = operator.send(sent, &format!("/checks/{id}/photos?item=fuel-leak&position=left-side")).await;
    let photo = kept.with(201)["photo"].as_str().unwrap().to_owned();
    let look = async |token: &str| {
        let request = TestRequest::get()
            .uri(&format!("/api/v1/photos/{photo}"))
            .insert_header(("Authorization", format!("Bearer {token}")));
        let (_, _, answer) = (api.call)(request).await;
        let kind = answer.headers().get("content-type").map(|k| k.to_str().unwrap().to_owned());
        let bytes = actix_web::body::to_bytes(answer.into_body()).await.unwrap();
        (kind.unwrap_or_default(), bytes)
    };
    let (kind, bytes) = look(&operator.token).await;
    assert_eq!(kind, "image/jpeg");
    assert_eq!(image::load_from_memory(&bytes).unwrap().width(), 8);
    let stranger = b.somebody_elsewhere().await;
    let stranger = api.sign_in(&b, &stranger).await;
    assert_eq!(look(&stranger.token).await.0, "application/problem+json");
    stranger.get(&format!("/photos/{photo}")).await.problem(404);
    api.was_as_promised();
}

async fn a_program_hears_of_changes_until_it_signs_out(b: Bench) {
    let api = Api::new(&b).await;
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let live = |token: &str| {
        TestRequest::get().uri("/live").insert_header(("Authorization", format!("Bearer {token}")))
    };
    let (_, _, refused) = (api.call)(live("guessed")).await;
    assert_eq!(refused.status().as_u16(), 401);
    let (_, _, answer) = (api.call)(live(&mechanic.token)).await;
    assert_eq!(answer.headers().get("content-type").unwrap(), "text/event-stream; charset=utf-8");
    let mut body = pin!(answer.into_body());
    // SQLite tells within the process; PostgreSQL through its own channel, which must be listened to first.
    let relay = tokio::spawn({
        let workshop = b.workshop.clone();
        async move { workflow::relay_changes(&workshop).await }
    });
    tokio::time::sleep(Duration::from_millis(300)).await;
    let hold =
        workflow::place_hold(&b.workshop, &b.operator, b.workshop.ambient.id(), b.machine, "It rattles");
    hold.await.unwrap();
    let mut sent = String::new();
    let event = format!("event: changed\ndata: {}\n\n", b.yard);
    let told = async {
        while let Some(Ok(bytes)) = poll_fn(|cx| body.as_mut().poll_next(cx)).await {
            sent.push_str(std::str::from_utf8(&bytes).unwrap());
            if sent.contains(&event) {
                break;
            }
        }
    };
    tokio::time::timeout(Duration::from_secs(8), told).await.expect("a change is told");
    let refresh = json!({ "refresh_token": mechanic.session["refresh_token"] });
    let out = TestRequest::delete().uri("/api/v1/sessions").set_json(refresh);
    assert_eq!((api.call)(out).await.2.status().as_u16(), 204);
    // Sooner than the heartbeat of fifteen seconds.
    let ends = async { while poll_fn(|cx| body.as_mut().poll_next(cx)).await.is_some() {} };
    tokio::time::timeout(Duration::from_secs(8), ends).await.expect("whoever is out hears no more");
    relay.abort();
}

async fn a_work_order_is_looked_after(b: Bench) {
    let api = Api::new(&b).await;
    let (supervisor, mechanic) = (api.sign_in(&b, &b.supervisor).await, api.sign_in(&b, &b.mechanic).await);
    let new = || b.workshop.ambient.id::<uuid::Uuid>();
    let order = mechanic.ground(b.machine).await;
    let step = |step: &str| format!("/work-orders/{order}/{step}");
    let note = json!({ "id": new(), "note": "The hose is a special one" });
    assert_eq!(
        mechanic.post(&step("notes"), note.clone()).await.with(200)["notes"][0]["by"]["name"],
        "Mats Mechanic"
    );
    assert_eq!(mechanic.post(&step("notes"), note).await.with(200)["notes"].as_array().unwrap().len(), 1);
    assert_eq!(supervisor.post(&step("pin"), Value::Null).await.with(200)["pinned"], true);
    assert_eq!(supervisor.post(&step("unpin"), Value::Null).await.with(200)["pinned"], false);
    // A second defect joins, is split off, and taken in again.
    let second = new();
    let report = json!({ "machine": b.machine, "what": "A knock from below", "affects": "suspension" });
    mechanic.put(&format!("/defects/{second}"), report).await.with(201);
    let side = supervisor.post(&step("split"), json!({ "defect": second })).await.with(200);
    assert_eq!((&side["split_off"], &side["defects"][0]["id"]), (&json!(true), &json!(second)));
    let whole = supervisor.post(&step("merge"), json!({ "work_order": side["id"] })).await.with(200);
    assert_eq!(whole["defects"].as_array().unwrap().len(), 2);
    mechanic.post(&step("claim"), Value::Null).await.with(200);
    let sent = json!({ "vendor": "Hill Street Garage", "what": "Press in a new bush", "back_by": "2026-11-27T15:00:00Z" });
    let away = mechanic.post(&step("outside"), sent).await.with(200);
    let outside = away["outside"][0]["id"].as_str().unwrap().to_owned();
    let heard = json!({ "note": "A day later", "back_by": "2026-11-28T15:00:00Z" });
    let heard = mechanic.post(&step(&format!("outside/{outside}/asked")), heard).await.with(200);
    assert_eq!(heard["outside"][0]["promised_at"], "2026-11-28T15:00:00Z");
    let back = mechanic.post(&step(&format!("outside/{outside}/back")), json!({})).await.with(200);
    assert_eq!(back["outside"][0]["returned_at"], json!(b.now()));
    let invoice = json!({ "number": "HS-2041", "amount": "120.00" });
    let paid = mechanic.post(&step(&format!("outside/{outside}/invoice")), invoice).await.with(200);
    assert_eq!(paid["cost"]["minor"], 12_000);

    // Of a monitored machine, opened and not worth it.
    let small = new();
    let report = json!({ "machine": b.second_machine, "what": "Mirror cracked", "affects": "body and frame",
        "fire": "no", "harm": "cannot hurt anybody", "worse": "no", "certain": "likely" });
    mechanic.put(&format!("/defects/{small}"), report).await.with(201);
    let open = json!({ "machine": b.second_machine });
    let opened = mechanic.post("/work-orders", open).await.with(200)["id"].as_str().unwrap().to_owned();
    let cancel = json!({ "reason": "Done with the next service" });
    let ended = supervisor.post(&format!("/work-orders/{opened}/cancel"), cancel).await.with(200);
    assert_eq!(ended["state"], "cancelled");
    let meter = json!({ "engine_hours": "1300.5", "hours_confirmed": true });
    let read = mechanic.post(&format!("/machines/{}/engine-hours", b.second_machine), meter).await.with(200);
    assert_eq!(read["engine_hours"], "1300.5");
    for path in ["/forecasts".to_owned(), format!("/forecasts/one-more-mechanic?yard={}", b.yard)] {
        mechanic.get(&path).await.with(200);
    }
    b.assert_sound().await;
    api.was_as_promised();
}

async fn what_is_there_to_see_and_to_set(b: Bench) {
    let api = Api::new(&b).await;
    let owner = api.sign_in(&b, &b.owner).await;
    let here = format!("/machines/{}", b.machine);
    let yard = format!("/yards/{}/alerts", b.yard);
    for path in [
        "/check-data",
        &format!("{here}/check-data"),
        &format!("{here}/figures"),
        "/checks/careless",
        "/numbers",
        &format!("/parts/{}", b.part),
        "/me/alerts",
        "/me",
        "/me/sessions",
        &yard,
        "/second-step",
    ] {
        owner.get(path).await.with(200);
    }
    owner
        .put("/me/alerts", json!({ "quiet_hours": { "from": "22:00", "to": "06:00" }, "yards": [] }))
        .await
        .with(204);
    let rules = json!({ "rules": [{ "kind": "machine held", "role": "mechanic", "wanted": "required" }],
        "chain": [{ "person": b.supervisor.id, "wait_minutes": 15 }], "digest_at": "06:00" });
    owner.put(&yard, rules).await.with(204);
    let set = owner.get(&yard).await.with(200);
    assert_eq!((&set["chain"][0]["wait_minutes"], &set["digest_at"]), (&json!(15), &json!("06:00")));
    let given = json!({ "password": PASSWORD });
    let link = owner.post("/me/calendar", given.clone()).await.with(201);
    assert!(link["link"].as_str().unwrap().ends_with(".ics"), "{link}");
    let hook = json!({ "url": "https://hooks.example.org/yard", "about": "The office", "kinds": ["machine held"], "password": PASSWORD });
    let hook = owner.post("/webhooks", hook).await.with(201)["id"].as_str().unwrap().to_owned();
    owner.post(&format!("/webhooks/{hook}/switch"), json!({ "on": false })).await.with(204);
    owner.post(&format!("/webhooks/{hook}/secret"), given.clone()).await.with(200);
    owner.post(&format!("/webhooks/{hook}/try"), Value::Null).await.with(204);
    assert_eq!(owner.get(&format!("/webhooks/{hook}")).await.with(200)["about"], "The office");
    assert_eq!(owner.get("/me/calendar").await.with(200)["since"], json!(b.now()));
    assert_eq!(owner.get("/me/passkeys").await.with(200)["passkeys"], json!([]));
    assert_eq!(owner.get(&format!("/yards/{}", b.yard)).await.with(200)["name"], "North yard");
    let columns = owner.get("/import/machines").await.with(200);
    assert_eq!(
        (&columns["columns"][0]["name"], &columns["columns"][0]["needed"]),
        (&json!("unit number"), &json!(true))
    );
    let sent = owner.get(&format!("/webhooks/{hook}/messages")).await.with(200);
    assert_eq!(sent["messages"].as_array().unwrap().len(), 1);
    assert_eq!(owner.get("/webhooks").await.with(200)["webhooks"][0]["about"], "The office");
    let file = "unit number,yard,class\nU-12,North yard,quad\n";
    let sent = TestRequest::post().insert_header(("Content-Type", "text/csv")).set_payload(file);
    let looked = owner.send(sent, "/import/machines?check=true").await.with(200);
    assert_eq!((&looked["taken"], &looked["rows"][0]["outcome"]), (&json!(false), &json!("added")));
    // Its own password last: it ends everything else.
    assert_eq!(owner.post("/me/sessions/end", given.clone()).await.with(200)["ended"], 0);
    let new = json!({ "password": PASSWORD, "new": "a yard of gravel and rain" });
    owner.put("/me/password", new).await.with(204);
    let refresh = json!({ "refresh_token": owner.session["refresh_token"] });
    api.sending.replace(refresh.clone());
    let out = TestRequest::delete().uri("/api/v1/sessions").set_json(refresh);
    assert_eq!(api.send(out).await.status, 204);
    owner.get("/me").await.problem(401);
    b.assert_sound().await;
    api.was_as_promised();
}
