//! The API as a program sees it: JSON in, JSON out, nothing but what the OpenAPI document says.

use std::future::Future;
use std::pin::Pin;
use std::rc::Rc;
use std::sync::Arc;

use actix_web::body::to_bytes;
use actix_web::dev::ServiceResponse;
use actix_web::http::header::HeaderMap;
use actix_web::test::{TestRequest, call_service, init_service};
use actix_web::{App, web};
use chock::domain::ids::{MachineId, PersonId};
use chock::domain::person::Actor;
use chock::http::{Site, routes, token};
use chock::workflow;
use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    the_life_of_a_failed_check,
    a_check_sent_again_is_the_same_check,
    only_one_mechanic_gets_a_work_order,
    what_was_not_taken_is_pointed_at,
    a_refresh_token_used_twice_ends_the_sign_in,
    a_disabled_person_is_nobody_at_once,
    an_access_token_runs_out,
    without_a_token_there_is_nothing,
    a_step_on_a_stale_work_order_is_refused,
    the_list_of_machines_is_read_page_by_page,
    another_yards_machine_does_not_exist,
    holds_and_reports_by_hand,
    setting_up_by_api,
    bodies_of_the_wrong_kind_are_refused,
);

type Calling = Pin<Box<dyn Future<Output = ServiceResponse>>>;

struct Api {
    call: Box<dyn Fn(TestRequest) -> Calling>,
}

struct Answer {
    status: u16,
    headers: HeaderMap,
    body: Value,
}

impl Answer {
    fn header(&self, name: &str) -> &str {
        self.headers.get(name).map(|v| v.to_str().unwrap()).unwrap_or_default()
    }

    /// The body, when the status is as expected.
    #[track_caller]
    fn with(self, status: u16) -> Value {
        assert_eq!(self.status, status, "{}", self.body);
        self.body
    }

    /// A problem of this status; its shape is RFC 9457's.
    #[track_caller]
    fn problem(self, status: u16) -> Value {
        assert_eq!(self.status, status, "{}", self.body);
        assert_eq!(self.header("content-type"), "application/problem+json");
        assert_eq!(self.body["status"], status);
        assert!(self.body["detail"].as_str().is_some_and(|d| d.ends_with('.')), "{}", self.body);
        self.body
    }

    #[track_caller]
    fn pointers(self, status: u16) -> Vec<String> {
        let problem = self.problem(status);
        let errors = problem["errors"].as_array().unwrap_or_else(|| panic!("{problem}"));
        errors.iter().map(|e| e["pointer"].as_str().unwrap().to_owned()).collect()
    }
}

impl Api {
    async fn new(b: &Bench) -> Self {
        let site = web::Data::new(Site {
            workshop: b.workshop.clone(),
            public_url: "http://chock.example".into(),
            token_key: workflow::token_key(&b.workshop).await.unwrap(),
            photo_folder: std::path::PathBuf::new(),
            compose: Arc::new(|_, _, _, _| None),
        });
        let app = Rc::new(init_service(App::new().app_data(site).configure(routes::configure)).await);
        Self {
            call: Box::new(move |request| {
                let app = app.clone();
                Box::pin(async move {
                    let answer = call_service(&*app, request.to_request()).await;
                    answer.map_into_boxed_body()
                })
            }),
        }
    }

    async fn send(&self, request: TestRequest) -> Answer {
        let answer = (self.call)(request).await;
        let (status, headers) = (answer.status().as_u16(), answer.headers().clone());
        let bytes = to_bytes(answer.into_body()).await.unwrap();
        let body = if bytes.is_empty() { Value::Null } else { serde_json::from_slice(&bytes).expect("JSON") };
        Answer { status, headers, body }
    }

    async fn sign_in(&self, b: &Bench, who: &Actor) -> Client<'_> {
        workflow::set_password(&b.workshop, who.id, PASSWORD).await.unwrap();
        let session =
            self.post_open("/sessions", json!({ "email": email(who), "password": PASSWORD })).await.with(201);
        assert_eq!((&session["token_type"], &session["expires_in"]), (&json!("Bearer"), &json!(600)));
        Client { api: self, token: session["access_token"].as_str().unwrap().to_owned(), session }
    }

    async fn post_open(&self, path: &str, body: Value) -> Answer {
        self.send(TestRequest::post().uri(&format!("/api/v1{path}")).set_json(body)).await
    }
}

struct Client<'a> {
    api: &'a Api,
    token: String,
    session: Value,
}

impl<'a> Client<'a> {
    /// The same sign-in with a new access token.
    async fn renewed(&self) -> Client<'a> {
        let body = json!({ "refresh_token": self.session["refresh_token"] });
        let session = self.api.post_open("/sessions/refresh", body).await.with(200);
        Client { api: self.api, token: session["access_token"].as_str().unwrap().to_owned(), session }
    }

    async fn send(&self, request: TestRequest, path: &str) -> Answer {
        let bearer = format!("Bearer {}", self.token);
        self.api.send(request.uri(&format!("/api/v1{path}")).insert_header(("Authorization", bearer))).await
    }

    async fn get(&self, path: &str) -> Answer {
        self.send(TestRequest::get(), path).await
    }

    async fn post(&self, path: &str, body: Value) -> Answer {
        let request = if body.is_null() { TestRequest::post() } else { TestRequest::post().set_json(body) };
        self.send(request, path).await
    }

    async fn put(&self, path: &str, body: Value) -> Answer {
        self.send(TestRequest::put().set_json(body), path).await
    }

    /// A check as a client makes it of the checklist alone, with everything well.
    async fn check(&self, machine: MachineId) -> (Uuid, Value) {
        let form = self.get(&format!("/machines/{machine}/checklist")).await.with(200);
        let mut answers = Vec::new();
        for item in form["zones"].as_array().unwrap().iter().flat_map(|z| z["items"].as_array().unwrap()) {
            let positions: Vec<Value> = match item["positions"].as_array().unwrap().as_slice() {
                [] => vec![Value::Null],
                positions => positions.iter().map(|p| p["key"].clone()).collect(),
            };
            for position in positions {
                let mut answer = json!({ "item": item["key"], "position": position });
                match item["asks"].as_str().unwrap() {
                    "level" => answer["level"] = json!("between"),
                    "measure" => {
                        let least = item["measure"]["unladen"]["at_least"].as_f64().unwrap();
                        answer["value"] = json!(least * 2.0);
                        answer["unit"] = item["measure"]["base"].clone();
                    }
                    _ => answer["outcome"] = json!("ok"),
                }
                answers.push(answer);
            }
        }
        let id = form["check"].as_str().unwrap().parse().unwrap();
        (
            id,
            json!({ "machine": machine, "checklist": form["checklist"], "load": "unladen", "answers": answers }),
        )
    }

    /// Grounds the machine by a fuel leak; answers the work order.
    async fn ground(&self, machine: MachineId) -> String {
        let (id, mut check) = self.check(machine).await;
        fail(&mut check, "fuel-leak");
        let verdict = self.put(&format!("/checks/{id}"), check).await.with(201);
        verdict["work_order"].as_str().expect("a work order").to_owned()
    }
}

fn email(who: &Actor) -> String {
    format!("{}@yard.example", who.name.split(' ').next().unwrap_or_default().to_lowercase())
}

/// Fails an item at its first position.
fn fail(check: &mut Value, item: &str) {
    let answers = check["answers"].as_array_mut().unwrap();
    let answer =
        answers.iter_mut().find(|a| a["item"] == item).unwrap_or_else(|| panic!("{item} is not asked"));
    answer["outcome"] = json!("defect");
    answer["note"] = json!("Drips under the seat");
}

fn place_of(check: &Value, item: &str) -> usize {
    check["answers"].as_array().unwrap().iter().position(|a| a["item"] == item).unwrap()
}

/// The main job, over the API alone: operator, mechanic, supervisor, owner.
async fn the_life_of_a_failed_check(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, mechanic) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.mechanic).await);
    let (supervisor, owner) = (api.sign_in(&b, &b.supervisor).await, api.sign_in(&b, &b.owner).await);

    // The operator finds the machine however the number is typed, and checks it.
    let found = operator.get("/machines?unit=u%207").await.with(200);
    assert_eq!(found["machines"][0]["standing"], "fit for use");
    assert_eq!(found["machines"][0]["id"], json!(b.machine));
    let (id, mut check) = operator.check(b.machine).await;
    check["engine_hours"] = json!(1234.5);
    fail(&mut check, "fuel-leak");
    let verdict = operator.put(&format!("/checks/{id}"), check).await.with(201);
    assert_eq!(verdict["standing"], "out of service");
    assert_eq!(verdict["findings"][0]["severity"], "out of service");
    assert!(verdict["findings"][0]["instruction"].as_str().is_some_and(|i| !i.is_empty()), "{verdict}");
    let order = verdict["work_order"].as_str().unwrap().to_owned();
    let defect = verdict["findings"][0]["defect"].as_str().unwrap().to_owned();

    let gate = operator.get(&format!("/machines/{}", b.machine)).await;
    assert!(gate.header("etag").starts_with('"'), "strong");
    let gate = gate.with(200);
    assert_eq!(gate["standing"], "out of service");
    assert_eq!(gate["engine_hours"], "1234.5");
    assert_eq!(gate["holds"][0]["defect"], json!(defect));
    assert_eq!(gate["last_check"]["id"], json!(id));
    let record = operator.get(&format!("/checks/{id}")).await.with(200);
    assert_eq!(record["verdict"], verdict);
    assert!(!record["told"].as_array().unwrap().is_empty(), "somebody is told");
    // Not the operator's to repair.
    operator.post(&format!("/work-orders/{order}/claim"), Value::Null).await.problem(403);

    // The mechanic takes it from the queue and works on it.
    let queue = mechanic.get("/work-orders").await.with(200);
    assert_eq!(queue["work_orders"][0]["id"], json!(order));
    assert!(queue["work_orders"][0]["because"].as_str().is_some_and(|why| !why.is_empty()), "{queue}");
    let step = |step: &str| format!("/work-orders/{order}/{step}");
    let mine = mechanic.post(&step("claim"), Value::Null).await.with(200);
    assert_eq!((&mine["state"], &mine["mine"]), (&json!("claimed"), &json!(true)));
    assert!(mine["defects"][0]["failed"][0]["todo"].as_str().is_some_and(|t| !t.is_empty()), "{mine}");
    let started = mechanic.post(&step("labour/start"), Value::Null).await.with(200);
    assert_eq!((&started["state"], &started["my_clock_runs"]), (&json!("in work"), &json!(true)));
    b.wait(30);
    // The access tokens have run out meanwhile; the work has not.
    let operator = operator.renewed().await;
    let (mechanic, supervisor, owner) =
        (mechanic.renewed().await, supervisor.renewed().await, owner.renewed().await);
    // 30 minutes at 60.00 an hour.
    let stopped = mechanic.post(&step("labour/stop"), Value::Null).await.with(200);
    assert_eq!(stopped["cost"], json!({ "minor": 3000, "currency": "EUR" }));
    let part = format!("parts/{}", b.part);
    mechanic.post(&step(&format!("{part}/reserve")), json!({ "quantity": 2 })).await.with(200);
    let issued = mechanic.post(&step(&format!("{part}/issue")), json!({ "quantity": "2" })).await.with(200);
    // Two of three that cost 90.00 together.
    assert_eq!(issued["cost"]["minor"], 3000 + 6000);
    let returned = mechanic.post(&step(&format!("{part}/return")), json!({ "quantity": 1 })).await.with(200);
    assert_eq!((&returned["cost"]["minor"], &returned["parts"][0]["issued"]), (&json!(6000), &json!("1")));

    let wait =
        json!({ "waiting_for": "parts", "until": "2026-11-27T08:00:00Z", "note": "The hose is on its way" });
    assert_eq!(mechanic.post(&step("wait"), wait).await.with(200)["state"], "waiting");
    let board = owner.get("/board").await.with(200);
    assert_eq!(board["grounded"][0]["unit_number"], "U-07");
    assert_eq!(board["grounded"][0]["waiting"]["waiting_for"], "parts");
    assert_eq!(board["grounded"][0]["cost"]["minor"], 6000);
    mechanic.post(&step("labour/start"), Value::Null).await.with(200);
    b.wait(1);
    mechanic.post(&step(&format!("defects/{defect}/retest")), json!({})).await.problem(409);
    let work = json!({ "defects": { &defect: { "cause": "The hose chafed", "remedy": "New hose" } } });
    assert_eq!(mechanic.post(&step("finish"), work).await.with(200)["state"], "work done");

    // Repaired is not released: the failed item again first, then a signature.
    supervisor.post(&step("release"), json!({})).await.problem(409);
    let failed = &issued["defects"][0]["failed"][0];
    let answer = |outcome: &str| json!({ "answers": [{ "item": failed["item"], "position": failed["position"], "outcome": outcome }] });
    let retest = step(&format!("defects/{defect}/retest"));
    let no = mechanic.post(&retest, answer("defect")).await.with(200);
    assert_eq!((&no["passed"], &no["work_order"]["state"]), (&json!(false), &json!("in work")));
    b.wait(1);
    let work =
        json!({ "defects": { &defect: { "cause": "The clamp was loose too", "remedy": "New clamp" } } });
    mechanic.post(&step("finish"), work).await.with(200);
    assert_eq!(mechanic.post(&retest, answer("ok")).await.with(200)["passed"], true);
    mechanic.post(&step("release"), json!({})).await.problem(403);
    let released =
        supervisor.post(&step("release"), json!({ "note": "Looked at it myself" })).await.with(200);
    assert_eq!((&released["fit_for_use"], &released["released_by_repairer"]), (&json!(true), &json!(false)));

    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    assert_eq!(
        (&gate["standing"], &gate["holds"], &gate["open_defects"]),
        (&json!("fit for use"), &json!([]), &json!([]))
    );
    assert_eq!(owner.get("/board").await.with(200)["grounded"], json!([]));
    let alerts = owner.get("/outbox").await.with(200);
    let kinds: Vec<_> =
        alerts["alerts"].as_array().unwrap().iter().map(|a| a["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"machine held") && kinds.contains(&"released"), "{kinds:?}");
    let trail = owner.get("/audit?query=released&limit=5").await.with(200);
    assert!(
        trail["entries"].as_array().unwrap().iter().any(|e| e["by_name"] == "Sara Supervisor"),
        "{trail}"
    );
    b.assert_sound().await;
}

/// Invariant 8, and RFC 9110, 9.3.4: PUT twice is PUT once.
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
}

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
    let receipt = json!({ "quantity": 0, "value": "1" });
    assert_eq!(owner.post(&format!("/parts/{}/receive", b.part), receipt).await.pointers(422), ["/quantity"]);
    let order = operator.ground(b.machine).await;
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let seen = mechanic.post(&format!("/work-orders/{order}/claim"), Value::Null).await.with(200);
    let defect = seen["defects"][0]["id"].as_str().unwrap().to_owned();
    let work = json!({ "defects": { &defect: { "cause": "Chafed" } } });
    let pointers = mechanic.post(&format!("/work-orders/{order}/finish"), work).await.pointers(422);
    assert_eq!(pointers, [format!("/defects/{defect}/remedy")]);
}

/// RFC 6819, 5.2.2.3 (number from memory): of two who show the same refresh token one has stolen it.
async fn a_refresh_token_used_twice_ends_the_sign_in(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let other_phone = api.sign_in(&b, &b.operator).await;
    let trade =
        async |token: &Value| api.post_open("/sessions/refresh", json!({ "refresh_token": token })).await;
    let first = &operator.session["refresh_token"];
    // Setting the password for the second sign-in ended the first.
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
}

async fn an_access_token_runs_out(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    b.wait(10);
    operator.get("/machines").await.with(200);
    b.wait(1);
    operator.get("/machines").await.problem(401);
    // Somebody else's signature is none.
    let forged = token::sign(&[7; 32], b.owner.id, Uuid::nil(), b.now()).unwrap();
    Client { api: &api, token: forged, session: Value::Null }.get("/machines").await.problem(401);
    // Ours, for a person who is not here.
    let key = workflow::token_key(&b.workshop).await.unwrap();
    let nobody = token::sign(&key, PersonId(Uuid::nil()), Uuid::nil(), b.now()).unwrap();
    Client { api: &api, token: nobody, session: Value::Null }.get("/machines").await.problem(401);
}

/// Every operation of the document but signing in and out.
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
}

/// RFC 9110, 13.1.1.
async fn a_step_on_a_stale_work_order_is_refused(b: Bench) {
    let api = Api::new(&b).await;
    let operator = api.sign_in(&b, &b.operator).await;
    let (mechanic, supervisor) = (api.sign_in(&b, &b.mechanic).await, api.sign_in(&b, &b.supervisor).await);
    let order = format!("/work-orders/{}", operator.ground(b.machine).await);
    let seen = mechanic.get(&order).await.header("etag").to_owned();
    assert_eq!(mechanic.get(&order).await.header("etag"), seen, "looking changes nothing");
    // A second defect joins the order while the mechanic reads.
    let report = json!({ "machine": b.machine, "what": "Mirror cracked", "system": "general" });
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
}

/// RFC 8288 link, keyset inside.
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
}

async fn holds_and_reports_by_hand(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, supervisor) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.supervisor).await);
    let mechanic = api.sign_in(&b, &b.mechanic).await;
    let id: Uuid = b.workshop.ambient.id();
    let path = format!("/holds/{id}");
    let hold = json!({ "machine": b.machine, "reason": "Stood in the flood" });
    operator.put(&path, hold.clone()).await.with(201);
    operator.put(&path, hold).await.with(200);
    let other = json!({ "machine": b.second_machine, "reason": "Stood in the flood" });
    operator.put(&path, other).await.problem(409);
    mechanic.post(&format!("{path}/lift"), json!({ "reason": "Dry" })).await.problem(403);
    assert_eq!(
        supervisor.post(&format!("{path}/lift"), json!({ "reason": "" })).await.pointers(422),
        ["/reason"]
    );
    supervisor.post(&format!("{path}/lift"), json!({ "reason": "Dried and looked at" })).await.with(200);
    supervisor.post(&format!("{path}/lift"), json!({ "reason": "Again" })).await.problem(409);

    let id: Uuid = b.workshop.ambient.id();
    let path = format!("/defects/{id}");
    let sure = json!({ "machine": b.machine, "what": "Mirror cracked", "system": "body and frame", "safe_to_use": true });
    assert_eq!(operator.put(&path, sure.clone()).await.with(201)["severity"], "monitor");
    assert_eq!(operator.put(&path, sure).await.with(200)["severity"], "monitor");
    // Not saying that it is safe is a doubt, and a doubt holds.
    let doubt = json!({ "machine": b.machine, "what": "A knock from below", "system": "suspension" });
    let id: Uuid = b.workshop.ambient.id();
    let held = operator.put(&format!("/defects/{id}"), doubt).await.with(201);
    assert_eq!(held["severity"], "out of service");
    let gate = operator.get(&format!("/machines/{}", b.machine)).await.with(200);
    let hold = gate["holds"][0]["id"].as_str().unwrap().to_owned();
    // A hold that came from a defect ends by release only.
    supervisor.post(&format!("/holds/{hold}/lift"), json!({ "reason": "In a hurry" })).await.problem(409);
    b.assert_sound().await;
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

    let person = json!({ "name": "Nils New", "email": "Nils@yard.example", "roles": ["mechanic"], "yards": [yard], "rate": "45.50" });
    operator.post("/people", person.clone()).await.problem(403);
    let invited = owner.post("/people", person.clone()).await.with(201);
    let secret = invited["link"].as_str().unwrap().strip_prefix("/welcome/").unwrap().to_owned();
    owner.post("/people", person).await.problem(409);
    let wrong = json!({ "name": "N", "email": "n@yard.example", "roles": ["captain"], "yards": [] });
    assert_eq!(owner.post("/people", wrong).await.pointers(422), ["/roles/0"]);
    let wrong = json!({ "name": "N", "email": "n@yard.example", "roles": ["owner"], "rate": "much" });
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
    let ledger = owner.post(&format!("/parts/{part}/receive"), receipt).await.with(200);
    assert_eq!((&ledger["on_hand"], &ledger["worth"]["minor"]), (&json!("2.5"), &json!(1000)));
    assert_eq!(
        (&ledger["movements"][0]["kind"], &ledger["movements"][0]["quantity"]),
        (&json!("receipt"), &json!("2.5"))
    );
    operator.get("/parts").await.problem(403);
    assert_eq!(owner.get("/parts").await.with(200)["parts"].as_array().unwrap().len(), 2);
    operator.get("/audit").await.problem(403);
    operator.get("/outbox").await.problem(403);
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
}
