//! Sending again, two at once, and steps meant for a state that is gone.

use actix_web::test::TestRequest;
use chock::workflow;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Api, Client, fail};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    a_check_sent_again_is_the_same_check,
    only_one_mechanic_gets_a_work_order,
    a_step_on_a_stale_work_order_is_refused,
    what_is_sent_twice_under_a_key_is_done_once
);

async fn a_check_sent_again_is_the_same_check(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let (id, mut check) = operator.check(b.machine).await;
    fail(&mut check, "fuel-leak");
    let path = format!("/checks/{id}");
    let first = operator.put(&path, check.clone()).await.with(201);
    b.wait(5);
    assert_eq!(operator.put(&path, check.clone()).await.with(200), first);
    let mut other = check.clone();
    fail(&mut other, "horn");
    let detail = operator.put(&path, other).await.problem(409);
    assert!(detail["detail"].as_str().unwrap().contains("under this id"), "{detail}");
    // Nor may somebody else send it.
    let supervisor = api.sign_in(&b, &b.supervisor).await;
    supervisor.put(&path, check.clone()).await.problem(409);
    // The verdict stands.
    assert_eq!(operator.get(&path).await.with(200)["verdict"], first);
    let not_seven = "/checks/d9428888-122b-41e1-b85c-61cd3cbb3210";
    operator.put(not_seven, check).await.problem(400);
    b.assert_sound().await;
    api.was_as_promised();
}

async fn only_one_mechanic_gets_a_work_order(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let (mats, mia) = (api.sign_in(&b, &b.mechanic).await, api.sign_in(&b, &b.other_mechanic).await);
    let claim = format!("/work-orders/{}/claim", operator.ground(b.machine).await);
    let (one, other) =
        futures_util::future::join(mats.post(&claim, Value::Null), mia.post(&claim, Value::Null)).await;
    let (won, lost, name) =
        if one.status == 200 { (one, other, "Mats Mechanic") } else { (other, one, "Mia Mechanic") };
    assert_eq!(won.with(200)["mechanic"]["name"], name);
    let problem = lost.problem(409);
    assert_eq!(problem["detail"], format!("{name} has this work order."));
    b.assert_sound().await;
    api.was_as_promised();
}

async fn a_step_on_a_stale_work_order_is_refused(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let (mechanic, supervisor) = (api.sign_in(&b, &b.mechanic).await, api.sign_in(&b, &b.supervisor).await);
    let order = format!("/work-orders/{}", operator.ground(b.machine).await);
    let seen = mechanic.get(&order).await.header("etag").to_owned();
    assert_eq!(mechanic.get(&order).await.header("etag"), seen, "looking changes nothing");
    // A second defect joins the order while the mechanic reads.
    let report = json!({ "machine": b.machine, "what": "Mirror cracked", "affects": "general" });
    operator.put(&format!("/defects/{}", b.workshop.ambient.id::<Uuid>()), report).await.with(201);
    let claim = async |client: &Client<'_>, tag: &str| {
        client.send(TestRequest::post().insert_header(("If-Match", tag)), &format!("{order}/claim")).await
    };
    claim(&mechanic, &seen).await.problem(412);
    claim(&mechanic, &format!("W/{seen}")).await.problem(412);
    let fresh = mechanic.get(&order).await.header("etag").to_owned();
    assert_ne!(fresh, seen);
    // When it is likely to be done is new to see, and no other state: it is claimed as it was seen.
    let days = std::array::from_fn(|_| "07:00-15:30".to_owned());
    workflow::set_week(&b.workshop, &b.owner, b.yard, &days).await.unwrap();
    b.wait(1);
    workflow::foresee(&b.workshop).await.unwrap();
    assert_ne!(mechanic.get(&order).await.header("etag"), fresh, "a forecast shows");
    let claimed = claim(&mechanic, &format!("\"something\", {fresh}")).await;
    let tag = claimed.header("etag").to_owned();
    claimed.with(200);
    assert_ne!(tag, fresh);
    // The answer of a step carries the tag of the next one.
    let back = TestRequest::post().insert_header(("If-Match", tag));
    mechanic.send(back, &format!("{order}/hand-back")).await.with(200);
    claim(&supervisor, "*").await.problem(403);
    claim(&mechanic, "*").await.with(200);
    // A tag that was never given out is not the present one.
    claim(&mechanic, "not quoted").await.problem(412);
    api.was_as_promised();
}

/// As draft-ietf-httpapi-idempotency-key-header-07 has it (from memory): 422 for a key of another request, 409 while it is
/// under way.
async fn what_is_sent_twice_under_a_key_is_done_once(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, supervisor) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.supervisor).await);
    let send = async |client: &Client<'_>, key: &str, path: &str, body: &Value| {
        client.api.sending.replace(body.clone());
        let request = TestRequest::post().insert_header(("Idempotency-Key", key));
        client.send(request.set_json(body), path).await
    };
    let times = format!("/yards/{}/working-time", b.yard);
    let (path, away) = (format!("{times}/absences"), |day: u8| {
        let from = format!("2026-12-{day:02}T00:00:00Z");
        json!({ "person": b.mechanic.id, "from": from, "to": "2026-12-24T00:00:00Z" })
    });
    let count = async || owner.get(&times).await.with(200)["absences"].as_array().unwrap().len();
    let first = send(&owner, "one", &path, &away(1)).await;
    let again = send(&owner, "one", &path, &away(1)).await;
    assert_eq!(first.with(200), again.with(200));
    assert_eq!(count().await, 1);
    // Without a key it is another one; and a key is each person's own.
    owner.post(&path, away(1)).await.with(200);
    send(&supervisor, "one", &path, &away(2)).await.with(200);
    assert_eq!(count().await, 3);
    let detail = send(&owner, "one", &path, &away(3)).await.problem(422);
    assert!(detail["detail"].as_str().unwrap().starts_with("Something else was sent"), "{detail}");
    // What was refused was not done: the key is free.
    send(&owner, "two", &path, &away(30)).await.problem(422);
    send(&owner, "two", &path, &away(4)).await.with(200);
    for odd in ["", " ", &"k".repeat(256)] {
        send(&owner, odd, &path, &away(5)).await.problem(400);
    }
    assert_eq!(count().await, 4);

    let hook = json!({ "url": "https://hooks.example.org/yard", "password": PASSWORD });
    let made = send(&owner, "hook", "/webhooks", &hook).await;
    assert!(made.header("location").starts_with("/api/v1/webhooks/"));
    let id = made.with(201)["id"].clone();
    // A secret is shown once, and kept nowhere.
    send(&owner, "hook", "/webhooks", &hook).await.problem(409);
    let hooks = owner.get("/webhooks").await.with(200);
    assert_eq!((hooks["webhooks"].as_array().unwrap().len(), &hooks["webhooks"][0]["id"]), (1, &id));
    owner.get(&format!("/webhooks/{}", id.as_str().unwrap())).await.with(200);

    let part = json!({ "number": "H-9", "name": "Hose", "unit": "m" });
    let made = send(&owner, "part", "/parts", &part).await;
    let location = made.header("location").to_owned();
    made.with(201);
    let again = send(&owner, "part", "/parts", &part).await;
    assert_eq!(again.header("location"), location);
    again.with(201);
    // A day later nobody remembers; what has a name of its own is refused by that.
    b.wait(25 * 60);
    workflow::tidy(&b.workshop).await.unwrap();
    let owner = owner.renewed().await;
    let request = TestRequest::post().insert_header(("Idempotency-Key", "part"));
    owner.send(request.set_json(&part), "/parts").await.problem(409);
    b.assert_sound().await;
    api.was_as_promised();
}
