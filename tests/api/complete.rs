//! What the pages can do, done over the API: the record of a machine, severities, work orders, pictures, and what changes while a
//! program listens.

use std::future::poll_fn;
use std::pin::pin;
use std::time::Duration;

use actix_web::body::MessageBody;
use actix_web::test::TestRequest;
use chock::workflow;
use serde_json::{Value, json};

use super::{Api, fail};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    the_record_of_a_machine,
    severities_are_changed_by_people,
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
