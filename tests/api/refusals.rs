//! What is refused, and how a program learns why.

use actix_web::test::TestRequest;
use chock::http::token;
use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Api, place_of};
use crate::support::{Bench, on_both};

on_both!(
    what_was_not_taken_is_pointed_at,
    bodies_of_the_wrong_kind_are_refused,
    another_yards_machine_does_not_exist
);

async fn what_was_not_taken_is_pointed_at(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let (id, check) = operator.check(b.machine).await;
    let path = format!("/checks/{id}");
    let put = async |change: &dyn Fn(&mut Value)| {
        let mut check = check.clone();
        change(&mut check);
        operator.put(&path, check).await.pointers(422)
    };
    let pad = place_of(&check, "brake-pad");
    let at_pad = |member: &str| format!("/answers/{pad}/{member}");

    assert_eq!(
        put(&|c| {
            c.as_object_mut().unwrap().remove("load");
        })
        .await,
        ["/load"]
    );
    assert_eq!(put(&|c| c["load"] = json!("full")).await, ["/load"]);
    assert_eq!(put(&|c| c["machine"] = json!("U-07")).await, ["/machine"]);
    assert_eq!(put(&|c| c["colour"] = json!("red")).await, ["/colour"]);
    assert_eq!(put(&|c| c["answers"][pad]["vlaue"] = json!(3)).await, [at_pad("vlaue")]);
    assert_eq!(put(&|c| c["answers"][pad]["value"] = json!(-3)).await, [at_pad("value")]);
    assert_eq!(put(&|c| c["answers"][pad]["value"] = json!(10_000)).await, [at_pad("value")]);
    assert_eq!(put(&|c| c["answers"][pad]["value"] = json!([3])).await, [at_pad("value")]);
    assert_eq!(put(&|c| c["answers"][pad]["unit"] = json!("psi")).await, [at_pad("unit")]);
    // 1200.0 hours were on the meter.
    assert_eq!(put(&|c| c["engine_hours"] = json!("1199.9")).await, ["/engine_hours"]);
    assert_eq!(put(&|c| c["engine_hours"] = json!("soon")).await, ["/engine_hours"]);
    // A safety item left out is asked for by name.
    let mut open = check.clone();
    open["answers"].as_array_mut().unwrap().retain(|a| a["item"] != "horn");
    let problem = operator.put(&path, open).await.problem(422);
    assert_eq!(problem["errors"][0]["pointer"], "/answers");
    assert!(problem["errors"][0]["detail"].as_str().unwrap().contains("Horn"), "{problem}");
    // Nothing of all that was kept.
    operator.get(&path).await.problem(404);

    let owner = api.sign_in(&b, &b.owner).await;
    let machine = json!({ "yard": b.yard, "unit_number": " ", "class": "quad" });
    assert_eq!(owner.post("/machines", machine).await.pointers(422), ["/unit_number"]);
    let receipt = json!({ "id": b.workshop.ambient.id::<uuid::Uuid>(), "quantity": 0, "value": "1" });
    assert_eq!(owner.post(&format!("/parts/{}/receive", b.part), receipt).await.pointers(422), ["/quantity"]);
    let order = operator.ground(b.machine).await;
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let seen = mechanic.post(&format!("/work-orders/{order}/claim"), Value::Null).await.with(200);
    let defect = seen["defects"][0]["id"].as_str().unwrap().to_owned();
    let work = json!({ "defects": { &defect: { "cause": "Chafed" } } });
    let pointers = mechanic.post(&format!("/work-orders/{order}/finish"), work).await.pointers(422);
    assert_eq!(pointers, [format!("/defects/{defect}/remedy")]);
    api.was_as_promised();
}

async fn bodies_of_the_wrong_kind_are_refused(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let put = async |kind: &str, body: Vec<u8>| {
        let request = TestRequest::put().insert_header(("Content-Type", kind.to_owned())).set_payload(body);
        operator.send(request, &format!("/holds/{}", b.workshop.ambient.id::<Uuid>())).await
    };
    let hold = json!({ "machine": b.machine, "reason": "Stood in the flood" }).to_string().into_bytes();
    put("text/plain", hold.clone()).await.problem(415);
    put("application/x-www-form-urlencoded", b"machine=7".to_vec()).await.problem(415);
    put("application/json", b"{".to_vec()).await.problem(400);
    put("application/json", vec![0xff, 0xfe]).await.problem(400);
    put("application/json", Vec::new()).await.problem(400);
    put("application/json", vec![b' '; 256 * 1024 + 1]).await.problem(413);
    put("application/json; charset=utf-8", hold).await.with(201);
    // What cannot be read is not half done.
    assert_eq!(
        operator.get(&format!("/machines/{}", b.machine)).await.with(200)["holds"].as_array().unwrap().len(),
        1
    );
    assert!(TimeDelta::minutes(10) == token::LIFETIME);
    api.was_as_promised();
}

async fn another_yards_machine_does_not_exist(b: Bench) {
    let api = Api::new(&b).await;
    let stranger = b.somebody_elsewhere().await;
    let stranger = api.sign_in(&b, &stranger).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let order = operator.ground(b.machine).await;
    stranger.get(&format!("/machines/{}", b.machine)).await.problem(404);
    stranger.get(&format!("/machines/{}/checklist", b.machine)).await.problem(404);
    stranger.get(&format!("/work-orders/{order}")).await.problem(404);
    stranger.post(&format!("/work-orders/{order}/claim"), Value::Null).await.problem(404);
    assert_eq!(stranger.get("/machines").await.with(200)["machines"], json!([]));
    assert_eq!(stranger.get("/machines?unit=U-07").await.with(200)["machines"], json!([]));
    assert_eq!(stranger.get("/work-orders").await.with(200)["work_orders"], json!([]));
    assert_eq!(stranger.get("/board").await.with(200)["grounded"], json!([]));
    let hold = json!({ "machine": b.machine, "reason": "Just because" });
    stranger.put(&format!("/holds/{}", b.workshop.ambient.id::<Uuid>()), hold).await.problem(404);
    api.was_as_promised();
}
