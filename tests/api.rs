//! The API as a program sees it: JSON in, JSON out, nothing but what the OpenAPI document says.

mod by_its_own_document;
mod complete;
mod generated_client;
mod hostile;
mod labour;
mod leaving;
mod life;
mod lists;
mod looked_after;
mod lost_answer;
mod promised;
mod refusals;
mod repeats;
mod sessions;
mod set_up;
mod stock;
mod watching;

use std::cell::RefCell;
use std::future::Future;
use std::pin::Pin;
use std::rc::Rc;
use std::sync::Arc;

use actix_web::body::to_bytes;
use actix_web::dev::ServiceResponse;
use actix_web::http::header::HeaderMap;
use actix_web::test::{TestRequest, call_service, init_service};
use actix_web::{App, web};
use chock::domain::ids::MachineId;
use chock::domain::person::Actor;
use chock::http::api::leaving::{LEAVING, Leaving, Table};
use chock::http::photo_store::PhotoStore;
use chock::http::{Site, routes};
use chock::workflow;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::support::{Bench, PASSWORD};

type Calling = Pin<Box<dyn Future<Output = (String, String, ServiceResponse)>>>;

struct Api {
    /// Method, path without its query, and the answer.
    call: Box<dyn Fn(TestRequest) -> Calling>,
    /// The JSON of the request that is about to be sent.
    sending: RefCell<Value>,
    exchanges: RefCell<Vec<Exchange>>,
}

/// One request and its answer, to be held against the OpenAPI document.
#[derive(serde::Serialize)]
struct Exchange {
    method: String,
    path: String,
    sent: Value,
    status: u16,
    content_type: String,
    got: Value,
}

struct Answer {
    status: u16,
    headers: HeaderMap,
    body: Value,
}

impl Answer {
    /// RFC 9110, 15.3.2 and 15.5.2; RFC 6585, 4.
    #[track_caller]
    fn carries_what_its_status_asks_for(&self, method: &str) {
        match self.status {
            201 if method == "POST" => {
                assert!(self.header("location").starts_with("/api/v1/"), "{}", self.body)
            }
            401 => assert!(self.header("www-authenticate").starts_with("Bearer"), "{}", self.body),
            429 | 503 | 507 => assert!(self.header("retry-after").parse::<u32>().is_ok(), "{}", self.body),
            _ => {}
        }
    }

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
        Self::with(b, LEAVING).await
    }

    /// With other operations on their way out than there are.
    async fn with(b: &Bench, leaving: &'static [Leaving]) -> Self {
        let site = web::Data::new(Site {
            webhooks_private: false,
            workshop: b.workshop.clone(),
            public_url: "http://chock.example".into(),
            token_key: workflow::token_key(&b.workshop).await.unwrap(),
            photos: PhotoStore::folder(b.folder.path()).unwrap(),
            operation: Arc::default(),
            compose: Arc::new(|_, _, _, _, _| None),
        });
        let leaving = web::Data::new(Table(leaving));
        let app = App::new().app_data(site).app_data(leaving).configure(routes::configure);
        let app = Rc::new(init_service(app).await);
        Self {
            call: Box::new(move |request| {
                let app = app.clone();
                Box::pin(async move {
                    let request = request.to_request();
                    let (method, path) = (request.method().to_string(), request.path().to_owned());
                    let answer = call_service(&*app, request).await;
                    (method, path, answer.map_into_boxed_body())
                })
            }),
            sending: RefCell::default(),
            exchanges: RefCell::default(),
        }
    }

    async fn send(&self, request: TestRequest) -> Answer {
        let sent = self.sending.take();
        let (method, path, answer) = (self.call)(request).await;
        let (status, headers) = (answer.status().as_u16(), answer.headers().clone());
        let bytes = to_bytes(answer.into_body()).await.unwrap();
        let body = if bytes.is_empty() { Value::Null } else { serde_json::from_slice(&bytes).expect("JSON") };
        let answer = Answer { status, headers, body };
        answer.carries_what_its_status_asks_for(&method);
        self.exchanges.borrow_mut().push(Exchange {
            method,
            path,
            sent,
            status,
            content_type: answer.header("content-type").to_owned(),
            got: answer.body.clone(),
        });
        answer
    }

    async fn sign_in(&self, b: &Bench, who: &Actor) -> Client<'_> {
        crate::support::has_password(&b.workshop, who.id).await;
        let session =
            self.post_open("/sessions", json!({ "email": email(who), "password": PASSWORD })).await.with(201);
        assert_eq!((&session["token_type"], &session["expires_in"]), (&json!("Bearer"), &json!(600)));
        Client { api: self, token: session["access_token"].as_str().unwrap().to_owned(), session }
    }

    async fn post_open(&self, path: &str, body: Value) -> Answer {
        self.sending.replace(body.clone());
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
        self.api.sending.replace(body.clone());
        let request = if body.is_null() { TestRequest::post() } else { TestRequest::post().set_json(body) };
        self.send(request, path).await
    }

    async fn put(&self, path: &str, body: Value) -> Answer {
        self.api.sending.replace(body.clone());
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
