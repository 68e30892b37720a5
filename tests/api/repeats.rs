//! Sending again, two at once, and steps meant for a state that is gone.

use actix_web::test::TestRequest;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Api, Client, fail};
use crate::support::{Bench, on_both};

on_both!(
    a_check_sent_again_is_the_same_check,
    only_one_mechanic_gets_a_work_order,
    a_step_on_a_stale_work_order_is_refused
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
