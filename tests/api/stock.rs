//! The store over the API: yards, shortages, counts, what to order, and where a batch is.

use serde_json::{Value, json};
use uuid::Uuid;

use super::Api;
use crate::support::{Bench, on_both};

on_both!(the_store_over_the_api);

async fn the_store_over_the_api(b: Bench) {
    let w = &b.workshop;
    let api = Api::new(&b).await;
    let (owner, mechanic) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.mechanic).await);
    let operator = api.sign_in(&b, &b.operator).await;
    let south = json!({ "name": "South yard", "zone": "Europe/Oslo" });
    let south = owner.post("/yards", south).await.with(201)["id"].as_str().unwrap().to_owned();
    let part = format!("/parts/{}", b.part);
    let id = || -> Uuid { w.ambient.id() };

    let receipt = json!({ "id": id(), "yard": b.yard, "quantity": "1", "value": "30.00" });
    for _ in 0..2 {
        let ledger = owner.post(&format!("{part}/receive"), receipt.clone()).await.with(200);
        assert_eq!(ledger["movements"].as_array().unwrap().len(), 2, "sent twice, received once");
    }
    let way = json!({ "id": id(), "from": b.yard, "to": south, "quantity": "1" });
    let ledger = owner.post(&format!("{part}/transfer"), way).await.with(200);
    let of = |yard: &str| {
        let all = std::iter::once(&ledger).chain(ledger["elsewhere"].as_array().unwrap());
        all.clone().find(|p| p["yard_name"] == yard).map(|p| p["on_hand"].clone()).unwrap()
    };
    assert_eq!((of("North yard"), of("South yard")), (json!("3"), json!("1")));
    let wrong = json!({ "id": id(), "yard": b.yard, "change": -4, "reason": "lost" });
    assert_eq!(owner.post(&format!("{part}/adjust"), wrong).await.pointers(422), ["/change"]);
    b.wait(1);
    let right = json!({ "id": id(), "yard": b.yard, "change": "-0.5", "reason": "damaged", "note": "wet" });
    let ledger = owner.post(&format!("{part}/adjust"), right).await.with(200);
    assert_eq!(ledger["movements"][0]["quantity"], "-0.5");

    // More than there is: the rest is lacking, and the order waits until it is expected.
    let order = operator.ground(b.machine).await;
    let here = format!("/work-orders/{order}");
    mechanic.post(&format!("{here}/claim"), Value::Null).await.with(200);
    let ask = json!({ "id": id(), "quantity": "4" });
    for _ in 0..2 {
        let seen = mechanic.post(&format!("{here}{part}/reserve"), ask.clone()).await.with(200);
        let line = &seen["parts"][0];
        assert_eq!((&line["reserved"], &line["lacking"]), (&json!("2.5"), &json!("1.5")));
        assert_eq!((&seen["state"], &seen["waiting"]["waiting_for"]), (&json!("waiting"), &json!("parts")));
    }
    let proposal = owner.get("/reorder").await.with(200)["proposals"][0].clone();
    // Whole units.
    assert_eq!((&proposal["quantity"], &proposal["yard_name"]), (&json!("2"), &json!("North yard")));
    assert!(proposal["why"].as_str().unwrap().contains("Work orders lack 1.5"), "{proposal}");
    let ordered =
        json!({ "id": id(), "yard": b.yard, "quantity": "2", "expected_at": "2026-11-27T12:00:00Z" });
    let ledger = owner.post(&format!("{part}/order"), ordered).await.with(200);
    let north = std::iter::once(&ledger).chain(ledger["elsewhere"].as_array().unwrap());
    assert_eq!(north.clone().find(|p| p["yard"] == json!(b.yard)).unwrap()["on_order"], "2");
    let seen = mechanic.get(&here).await.with(200);
    assert_eq!(seen["waiting"]["until"], "2026-11-27T12:00:00Z");
    // It was there all along.
    let counts = json!([{ "part": b.part, "booked": "2.5", "counted": "5" }]);
    let sheet = json!({ "id": id(), "yard": b.yard, "counts": counts });
    assert_eq!(owner.post("/stock-takes", sheet).await.with(200)["parts"], 1);
    let seen = mechanic.get(&here).await.with(200);
    assert_eq!((&seen["state"], &seen["parts"][0]["lacking"]), (&json!("claimed"), &json!("0")));

    mechanic.post(&format!("{here}{part}/issue"), json!({ "id": id(), "quantity": "1" })).await.with(200);
    let defect = seen["defects"][0]["id"].as_str().unwrap().to_owned();
    let fitted = |quantity: &str| {
        let fitted = json!([{ "part": b.part, "quantity": quantity, "batch": "26-041" }]);
        let work = json!({ "cause": "Worn", "remedy": "New pads", "fitted": fitted });
        json!({ "defects": { &defect: work } })
    };
    let refused = mechanic.post(&format!("{here}/finish"), fitted("2")).await.pointers(422);
    assert_eq!(refused, [format!("/fitted/{defect}/{}/quantity", b.part)]);
    mechanic.post(&format!("{here}/finish"), fitted("1")).await.with(200);
    let found = mechanic.get(&format!("{part}/fitted?batch=26041")).await.with(200);
    assert_eq!(found["on_now"][0]["unit_number"], "U-07");
    let supervisor = api.sign_in(&b, &b.supervisor).await;
    let round = json!({ "id": id() });
    for _ in 0..2 {
        let raised = supervisor.post(&format!("/defects/{defect}/same"), round.clone()).await.with(200);
        let raised = raised["raised"].as_array().unwrap();
        assert_eq!((raised.len(), &raised[0]["unit_number"]), (1, &json!("U-08")));
    }
    mechanic.post(&format!("/defects/{defect}/same"), round).await.problem(403);
    b.assert_sound().await;
    api.was_as_promised();
}
