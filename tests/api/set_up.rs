//! Lists, and setting up yards, people, machines, checklists and parts.

use actix_web::test::TestRequest;
use chock::workflow;
use serde_json::json;

use super::Api;
use crate::support::{Bench, PASSWORD, on_both};

on_both!(the_list_of_machines_is_read_page_by_page, setting_up_by_api);

async fn the_list_of_machines_is_read_page_by_page(b: Bench) {
    let api = Api::new(&b).await;
    let owner = api.sign_in(&b, &b.owner).await;
    for n in [9, 10, 11] {
        let machine = json!({ "yard": b.yard, "unit_number": format!("U-{n:02}"), "class": "Quad", "engine_hours": 12 });
        let made = owner.post("/machines", machine).await;
        let place = made.header("location").to_owned();
        let id = made.with(201)["id"].as_str().unwrap().to_owned();
        assert_eq!(place, format!("/api/v1/machines/{id}"));
    }
    let again = json!({ "yard": b.yard, "unit_number": "u 9", "class": "quad" });
    owner.post("/machines", again).await.problem(409);
    let (mut path, mut seen, mut pages) = ("/machines?limit=2".to_owned(), Vec::new(), 0);
    loop {
        let page = owner.get(&path).await;
        let next = page.header("link").to_owned();
        let page = page.with(200);
        seen.extend(
            page["machines"]
                .as_array()
                .unwrap()
                .iter()
                .map(|m| m["unit_number"].as_str().unwrap().to_owned()),
        );
        pages += 1;
        if next.is_empty() {
            break;
        }
        let (target, relation) = next.split_once("; ").unwrap();
        assert_eq!(relation, r#"rel="next""#);
        path = target.trim_matches(['<', '>']).strip_prefix("/api/v1").unwrap().to_owned();
    }
    assert_eq!(pages, 3);
    let mut expected = vec!["U-07", "U-08", "U-09", "U-10", "U-11"];
    seen.sort();
    expected.sort_unstable();
    assert_eq!(seen, expected);
    assert_eq!(owner.get("/machines?unit=Z-99").await.with(200)["machines"], json!([]));
    owner.get("/machines?limit=many").await.problem(400);
    owner.get("/machines?colour=red").await.problem(400);
    owner.get("/machines/seven").await.problem(404);
    api.was_as_promised();
}

async fn setting_up_by_api(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, operator) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.operator).await);
    let yard = json!({ "name": "West yard", "zone": "Europe/Lisbon" });
    operator.post("/yards", yard.clone()).await.problem(403);
    let yard = owner.post("/yards", yard).await.with(201)["id"].clone();
    assert_eq!(owner.post("/yards", json!({ "name": "X", "zone": "Lisbon" })).await.pointers(422), ["/zone"]);
    assert_eq!(owner.get("/yards").await.with(200)["yards"].as_array().unwrap().len(), 2);
    assert_eq!(operator.get("/yards").await.with(200)["yards"].as_array().unwrap().len(), 1);

    let person = json!({ "name": "Nils New", "email": "Nils@yard.example", "roles": ["mechanic"], "yards": [yard], "rate": "45.50",
        "password": PASSWORD });
    operator.post("/people", person.clone()).await.problem(403);
    let invited = owner.post("/people", person.clone()).await.with(201);
    let secret = invited["link"].as_str().unwrap().strip_prefix("/welcome/").unwrap().to_owned();
    owner.post("/people", person).await.problem(409);
    let wrong =
        json!({ "name": "N", "email": "n@yard.example", "roles": ["captain"], "yards": [], "password": "" });
    assert_eq!(owner.post("/people", wrong).await.pointers(422), ["/roles/0"]);
    let wrong = json!({ "name": "N", "email": "n@yard.example", "roles": ["owner"], "rate": "much", "password": PASSWORD });
    assert_eq!(owner.post("/people", wrong).await.pointers(422), ["/rate"]);
    let people = owner.get("/people").await.with(200);
    let nils = people["people"].as_array().unwrap().iter().find(|p| p["name"] == "Nils New").unwrap().clone();
    assert_eq!(
        (&nils["rate"]["minor"], &nils["invited"], &nils["yards"]),
        (&json!(4550), &json!(true), &json!([yard]))
    );
    assert!(!people.to_string().contains("argon2"), "no hash leaves the server");
    workflow::accept_invitation(&b.workshop, &secret, "", "", PASSWORD).await.unwrap();
    let session = json!({ "email": "nils@yard.example", "password": PASSWORD });
    assert_eq!(api.post_open("/sessions", session).await.with(201)["person"]["name"], "Nils New");

    let upload = async |kind: &str, text: &str| {
        let request =
            TestRequest::post().insert_header(("Content-Type", kind.to_owned())).set_payload(text.to_owned());
        owner.send(request, "/checklists").await
    };
    let shipped = chock::domain::shipped::SHIPPED[0].1;
    let made = upload("application/toml", shipped).await.with(201);
    assert_eq!(made["version"], 2);
    upload("text/plain; charset=utf-8", shipped).await.with(201);
    upload("application/json", "{}").await.problem(415);
    let refused = upload(
        "application/toml",
        &shipped.replacen("severity = \"out of service\"", "severity = \"bad\"", 1),
    )
    .await;
    let problem = refused.problem(422);
    assert_eq!(problem["errors"][0]["pointer"], "");
    assert!(problem["errors"][0]["detail"].as_str().unwrap().starts_with("Line "), "{problem}");
    let listed = owner.get("/checklists").await.with(200);
    assert_eq!(listed["checklists"].as_array().unwrap().len(), 3);
    let one = owner.get(&format!("/checklists/{}", made["id"].as_str().unwrap())).await.with(200);
    assert_eq!((&one["source"], &one["version"]), (&json!(shipped), &json!(2)));

    let part = json!({ "number": "H-1", "name": "Fuel hose", "unit": "m" });
    let part = owner.post("/parts", part).await.with(201)["id"].as_str().unwrap().to_owned();
    let receipt = json!({ "quantity": 2.5, "value": 10 });
    // Without an id a second try would be another receipt.
    assert_eq!(owner.post(&format!("/parts/{part}/receive"), receipt.clone()).await.pointers(422), ["/id"]);
    let receipt = json!({ "id": b.workshop.ambient.id::<uuid::Uuid>(), "quantity": 2.5, "value": 10 });
    let ledger = owner.post(&format!("/parts/{part}/receive"), receipt).await.with(200);
    assert_eq!((&ledger["on_hand"], &ledger["worth"]["minor"]), (&json!("2.5"), &json!(1000)));
    assert_eq!(
        (&ledger["movements"][0]["kind"], &ledger["movements"][0]["quantity"]),
        (&json!("receipt"), &json!("2.5"))
    );
    operator.get("/parts").await.problem(403);
    // Two parts, as each of two yards has them.
    assert_eq!(owner.get("/parts").await.with(200)["parts"].as_array().unwrap().len(), 4);
    operator.get("/audit").await.problem(403);
    operator.get("/outbox").await.problem(403);
    api.was_as_promised();
}
