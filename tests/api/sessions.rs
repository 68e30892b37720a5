//! Signing in and out, and tokens that are none.

use actix_web::test::TestRequest;
use chock::domain::ids::PersonId;
use chock::http::token;
use chock::workflow;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Api, Client, email};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    a_refresh_token_used_twice_ends_the_sign_in,
    a_disabled_person_is_nobody_at_once,
    an_access_token_runs_out,
    without_a_token_there_is_nothing
);

async fn a_refresh_token_used_twice_ends_the_sign_in(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    // Who gets another password is signed in nowhere any more.
    workflow::set_password(&b.workshop, b.operator.id, PASSWORD).await.unwrap();
    let other_phone = api.sign_in(&b, &b.operator).await;
    let trade =
        async |token: &Value| api.post_open("/sessions/refresh", json!({ "refresh_token": token })).await;
    let first = &operator.session["refresh_token"];
    trade(first).await.problem(401);

    let first = other_phone.session["refresh_token"].clone();
    let second = trade(&first).await.with(200);
    assert_ne!(second["refresh_token"], first);
    let client =
        Client { api: &api, token: second["access_token"].as_str().unwrap().into(), session: Value::Null };
    client.get("/machines").await.with(200);
    let reused = trade(&first).await;
    assert!(reused.header("www-authenticate").starts_with("Bearer"));
    reused.problem(401);
    trade(&second["refresh_token"]).await.problem(401);

    // Signing out ends it as well.
    let session = api
        .post_open("/sessions", json!({ "email": email(&b.operator), "password": PASSWORD }))
        .await
        .with(201);
    let body = json!({ "refresh_token": session["refresh_token"] });
    let out = api.send(TestRequest::delete().uri("/api/v1/sessions").set_json(body)).await;
    assert_eq!(out.status, 204);
    trade(&session["refresh_token"]).await.problem(401);
    api.was_as_promised();
}

async fn a_disabled_person_is_nobody_at_once(b: Bench) {
    let api = Api::new(&b).await;
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    mechanic.get("/work-orders").await.with(200);
    workflow::disable_person(&b.workshop, &b.owner, b.mechanic.id, true).await.unwrap();
    let refused = mechanic.get("/work-orders").await;
    assert!(refused.header("www-authenticate").contains("invalid_token"));
    refused.problem(401);
    let token = json!({ "refresh_token": mechanic.session["refresh_token"] });
    api.post_open("/sessions/refresh", token).await.problem(401);
    let password = json!({ "email": email(&b.mechanic), "password": PASSWORD });
    api.post_open("/sessions", password).await.problem(401);
    api.was_as_promised();
}

async fn an_access_token_runs_out(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    b.wait(10);
    operator.get("/machines").await.with(200);
    b.wait(1);
    operator.get("/machines").await.problem(401);
    // Somebody else's signature is none.
    let forged = token::sign(&[7; 32], b.owner.id, Uuid::nil(), Uuid::nil(), b.now()).unwrap();
    Client { api: &api, token: forged, session: Value::Null }.get("/machines").await.problem(401);
    // Ours, for a person who is not here.
    let key = workflow::token_key(&b.workshop).await.unwrap();
    let nobody = token::sign(&key, PersonId(Uuid::nil()), Uuid::nil(), Uuid::nil(), b.now()).unwrap();
    Client { api: &api, token: nobody, session: Value::Null }.get("/machines").await.problem(401);
    api.was_as_promised();
}

async fn without_a_token_there_is_nothing(b: Bench) {
    let api = Api::new(&b).await;
    let document = serde_json::to_value(chock::http::api::openapi()).unwrap();
    let mut asked = 0;
    for (path, item) in document["paths"].as_object().unwrap() {
        for method in item.as_object().unwrap().keys() {
            if path.starts_with("/api/v1/sessions") {
                continue;
            }
            let request = match method.as_str() {
                "get" => TestRequest::get(),
                "put" => TestRequest::put(),
                "post" => TestRequest::post(),
                "delete" => TestRequest::delete(),
                other => panic!("{other} {path}"),
            };
            let id = b.workshop.ambient.id::<Uuid>().to_string();
            let path = path.split('/').map(|part| if part.starts_with('{') { &id } else { part });
            let path = path.collect::<Vec<_>>().join("/");
            let refused = api.send(request.uri(&path)).await;
            assert_eq!(refused.header("www-authenticate"), r#"Bearer realm="chock""#, "{method} {path}");
            refused.problem(401);
            asked += 1;
        }
    }
    assert!(asked > 35, "{asked}");
    let wrong = json!({ "email": email(&b.owner), "password": "something else" });
    api.post_open("/sessions", wrong).await.problem(401);
    let unknown = json!({ "email": "nobody@yard.example", "password": PASSWORD });
    api.post_open("/sessions", unknown).await.problem(401);
    api.was_as_promised();
}
