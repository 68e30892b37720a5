//! The watch, the context and the trends over the API.

use serde_json::json;

use super::{Api, fail};
use crate::support::{Bench, on_both};

on_both!(the_watch_the_context_and_what_wears);

async fn the_watch_the_context_and_what_wears(b: Bench) {
    let api = Api::new(&b).await;
    let otto = api.sign_in(&b, &b.operator).await;
    let (id, mut check) = otto.check(b.machine).await;
    fail(&mut check, "horn");
    check["air_temperature"] = json!(23);
    check["air_unit"] = json!("°F");
    let verdict = otto.put(&format!("/checks/{id}"), check).await.with(201);
    assert_eq!(verdict["standing"], "monitored");
    assert_eq!(verdict["rules"], json!({ "checklist": "utility-vehicle-daily", "version": 1 }));
    assert_eq!(verdict["trends"][0]["words"], "unknown: no earlier readings");
    let record = otto.get(&format!("/checks/{id}")).await.with(200);
    assert_eq!((&record["air_temperature"]["as_read"], &record["warmth"]), (&json!("23"), &json!(null)));
    let horn = verdict["findings"][0]["defect"].clone();
    b.wait(5);

    let form = otto.get(&format!("/machines/{}/checklist", b.machine)).await.with(200);
    assert_eq!((&form["asks_air"], &form["asks_warmth"]), (&json!(true), &json!(false)));
    assert_eq!(form["open_defects"][0]["id"], horn);
    assert_eq!(form["open_defects"][0]["watched"], true);
    let (id, mut check) = otto.check(b.machine).await;
    let put = format!("/checks/{id}");
    assert_eq!(otto.put(&put, check.clone()).await.pointers(422), ["/watched"]);
    check["watched"] = json!([{ "defect": horn, "now": "better" }]);
    assert_eq!(otto.put(&put, check.clone()).await.pointers(422), ["/watched/0/now"]);
    check["watched"] = json!([{ "defect": horn, "now": "worse" }]);
    assert_eq!(otto.put(&put, check.clone()).await.pointers(422), ["/watched/0/note"]);
    check["air_temperature"] = json!("warm");
    check["watched"] = json!([{ "defect": horn, "now": "gone" }]);
    assert_eq!(otto.put(&put, check.clone()).await.pointers(422), ["/air_temperature"]);
    check["air_temperature"] = json!(9);
    let gone = otto.put(&put, check.clone()).await.with(201);
    assert_eq!((&gone["watched"][0]["now"], &gone["standing"]), (&json!("gone"), &json!("monitored")));
    assert_eq!(otto.put(&put, check.clone()).await.with(200), gone, "sent again");
    let gate = otto.get(&format!("/machines/{}", b.machine)).await.with(200);
    assert!(gate["open_defects"][0]["said_gone_at"].is_string(), "{gate}");
    assert_eq!(gate["open_defects"][0]["rules"], "Daily check, utility vehicle, version 1");
    assert!(gate["last_check"]["trends"][0]["words"].is_string(), "{gate}");
    let mats = api.sign_in(&b, &b.mechanic).await;
    let order = format!("/work-orders/{}", gone["work_order"].as_str().expect("somebody looks"));
    let seen = mats.get(&order).await.with(200);
    assert_eq!(seen["defects"][0]["sightings"][1]["said"], "gone");
    assert!(seen["defects"][0]["said_gone_at"].is_string());
    api.was_as_promised();
}
