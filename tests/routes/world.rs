//! A workshop with one of everything, served, and one person of each role at its door.

use std::io::Cursor;
use std::sync::Mutex;

use chock::domain::ids::{DeviceId, WorkOrderId};
use chock::domain::person::{Actor, Role};
use chock::workflow::{self, NewPerson};
use reqwest::Method;
use reqwest::header::{AUTHORIZATION, CONTENT_TYPE, COOKIE, HeaderMap, SET_COOKIE};
use reqwest::redirect::Policy;
use serde_json::{Value, json};

use super::api::Names;
use super::{Answer, Route};
use crate::support::served::Served;
use crate::support::{Bench, PASSWORD};

pub struct World {
    pub bench: Bench,
    pub served: Served,
    http: reqwest::Client,
    pub names: Names,
    /// One of each role, nobody, and last the stranger.
    people: Vec<Person>,
}

pub struct Person {
    pub letter: char,
    email: String,
    token: String,
    cookie: Mutex<String>,
}

impl Person {
    pub fn is_nobody(&self) -> bool {
        self.letter == 'n'
    }
}

impl World {
    pub async fn new(bench: Bench) -> Self {
        let stranger = a_stranger(&bench).await;
        let served = Served::start(&bench.workshop).await;
        let http = crate::support::client().redirect(Policy::none()).build().expect("a client");
        let mut names = one_of_everything(&bench).await;
        let mut world = Self { http, served, people: Vec::new(), names: Names::default(), bench };
        let b = &world.bench;
        let known =
            [('o', &b.operator), ('m', &b.mechanic), ('s', &b.supervisor), ('w', &b.owner), ('x', &stranger)];
        let mut people = Vec::new();
        for (letter, actor) in known {
            people.push(world.signed_in(letter, actor).await);
        }
        let nobody =
            Person { letter: 'n', email: String::new(), token: String::new(), cookie: Mutex::default() };
        people.insert(4, nobody);
        world.people = people;
        names.photo = world.a_photo(&names).await;
        world.names = names;
        world
    }

    pub async fn close(self) {
        self.bench.assert_sound().await;
        self.served.stop().await;
    }

    /// One of each role, and nobody.
    pub fn everybody(&self) -> impl Iterator<Item = &Person> {
        self.people.iter().filter(|p| p.letter != 'x')
    }

    /// Operator, mechanic and supervisor of another yard.
    pub fn stranger(&self) -> &Person {
        self.people.last().expect("somebody")
    }

    /// Of somebody who may do everything in the yard.
    pub async fn token_of_every_role(&self, name: &str) -> String {
        let (w, b) = (&self.bench.workshop, &self.bench);
        let new = NewPerson {
            name: name.to_owned(),
            email: format!("{name}@yard.example"),
            roles: Role::ALL.to_vec(),
            yards: vec![b.yard],
            rate_minor: 0,
        };
        let (person, _) = workflow::add_person(w, &b.owner, new).await.unwrap();
        let actor = crate::support::actor(w, person).await;
        self.signed_in('a', &actor).await.token
    }

    /// Brings the work order to where the step may be asked for.
    pub async fn ready_for(&self, route: &Route) {
        let (w, order) = (&self.bench.workshop, WorkOrderId(self.names.order));
        if route.path.contains("/devices/{id}") {
            let (device, secret) = (DeviceId(self.names.device), w.ambient.secret());
            let mut tx = w.db.begin().await.expect("the database");
            if tx.insert_device(device, &secret, self.bench.supervisor.id, w.ambient.now()).await.is_ok() {
                tx.commit().await.expect("a device");
            }
        }
        let Some(step) = route.path.split("/work-orders/{id}/").nth(1) else { return };
        let mechanic = &self.bench.mechanic;
        // Whichever of these has been done already is refused, and nothing is different.
        let _ = workflow::stop_labour(w, mechanic, order).await;
        let _ = if step == "claim" {
            workflow::hand_back(w, mechanic, order).await
        } else {
            workflow::claim(w, mechanic, order).await
        };
        if step.ends_with("stop") {
            workflow::start_labour(w, mechanic, order).await.expect("the mechanic has it");
        }
    }

    /// What the trail says of everything but people, how the machines stand, and what the bins hold.
    pub async fn what_is_kept(&self) -> Vec<String> {
        let (w, owner) = (&self.bench.workshop, &self.bench.owner);
        let trail = workflow::audit_trail(w, owner, "", "", 10_000).await.expect("the trail");
        let trail =
            trail.iter().filter(|e| !e.stream.starts_with("person ") && !e.stream.starts_with("device "));
        let mut kept: Vec<String> = trail.map(|e| format!("{} {} {}", e.stream, e.act, e.subject)).collect();
        for machine in [self.bench.machine, self.bench.second_machine] {
            kept.push(format!("{machine} {}", self.bench.standing(machine).await));
        }
        let parts = workflow::store_parts(w, owner).await.expect("the store");
        kept.push(format!("{} parts", parts.len()));
        kept.push(format!("{} yards", workflow::yards(w, owner).await.expect("yards").len()));
        kept
    }

    /// What somebody of the machine's yard could do, each with a body that is right.
    pub fn would_be_taken(&self) -> Vec<(&'static str, String, Value)> {
        let n = &self.names;
        let new = || self.bench.workshop.ambient.id::<uuid::Uuid>();
        let (machine, order) = (n.machine, format!("/api/v1/work-orders/{}", n.order));
        vec![
            ("PUT", format!("/api/v1/holds/{}", new()), json!({"machine": machine, "reason": "Looks odd"})),
            ("POST", format!("/api/v1/holds/{}/lift", n.hold), json!({"reason": "Looks well"})),
            ("POST", "/api/v1/work-orders".to_owned(), json!({"machine": machine})),
            ("POST", format!("{order}/claim"), json!({})),
            ("POST", format!("{order}/cancel"), json!({"reason": "Not worth it"})),
            ("POST", format!("{order}/pin"), json!({})),
            ("POST", format!("{order}/notes"), json!({"id": new(), "note": "Read me"})),
            ("POST", format!("{order}/release"), json!({})),
            ("POST", format!("{order}/parts/{}/reserve", n.part), json!({"id": new(), "quantity": "1"})),
            ("POST", format!("{order}/parts/{}/issue", n.part), json!({"id": new(), "quantity": "1"})),
            ("POST", format!("{order}/split"), json!({"defect": n.defect})),
            ("POST", format!("/api/v1/machines/{machine}/engine-hours"), json!({"engine_hours": "2001.0"})),
            (
                "POST",
                format!("/api/v1/yards/{}/working-time/holidays", n.yard),
                json!({"day": "2026-12-26", "name": "Boxing Day"}),
            ),
            (
                "POST",
                "/api/v1/machines".to_owned(),
                json!({"yard": n.yard, "unit_number": "U-99", "class": "quad"}),
            ),
            (
                "POST",
                format!("/api/v1/parts/{}/adjust", n.part),
                json!({"id": new(), "yard": n.yard, "change": "1", "reason": "found"}),
            ),
            (
                "POST",
                format!("/api/v1/parts/{}/receive", n.part),
                json!({"id": new(), "quantity": "1", "value": "1", "yard": n.yard}),
            ),
        ]
    }

    /// A call with a body of its own.
    pub async fn send(&self, method: &'static str, path: &str, person: &Person, body: Value) -> Answer {
        let path: &'static str = Box::leak(path.to_owned().into_boxed_str());
        self.call(&Route { method, path, who: "", status: 0, body: Some(body) }, person, HeaderMap::new())
            .await
    }

    /// By its id, its work order's or anything that happened to it.
    pub fn tells_of_the_machine(&self, answer: &Answer) -> bool {
        let n = &self.names;
        [n.machine, n.order, n.check, n.hold, n.defect].iter().any(|id| answer.text.contains(&id.to_string()))
    }

    pub async fn get(&self, path: &str, person: &Person) -> Answer {
        let route = Route { method: "GET", path: "", who: "", status: 0, body: None };
        self.request(&route, path, person, HeaderMap::new()).await
    }

    /// A page, or a form sent empty.
    pub async fn ask(&self, route: &Route, person: &Person, headers: HeaderMap) -> Answer {
        self.request(route, &self.path(route.path), person, headers).await
    }

    /// An operation of the API.
    pub async fn call(&self, route: &Route, person: &Person, headers: HeaderMap) -> Answer {
        let method: Method = route.method.parse().expect("a method");
        let url = format!("{}{}", self.served.url, self.path(route.path));
        let mut request = self.http.request(method, url).headers(headers);
        if !person.is_nobody() {
            request = request.header(AUTHORIZATION, format!("Bearer {}", person.token));
        }
        request = match &route.body {
            Some(Value::String(text)) => request.header(CONTENT_TYPE, "text/plain").body(text.clone()),
            Some(body) => request.json(body),
            None => request,
        };
        Answer::of(request.send().await.expect("an answer"), false).await
    }

    pub async fn sign_in_again(&self, person: &Person) {
        let cookie = self.cookie_for(&person.email).await;
        *person.cookie.lock().expect("nobody panicked") = cookie;
    }

    async fn request(&self, route: &Route, path: &str, person: &Person, headers: HeaderMap) -> Answer {
        let url = format!("{}{path}", self.served.url);
        let mut request = self.http.request(route.method.parse().expect("a method"), url).headers(headers);
        let cookie = person.cookie.lock().expect("nobody panicked").clone();
        if !cookie.is_empty() {
            request = request.header(COOKIE, cookie);
        }
        request = match &route.body {
            Some(Value::String(form)) => {
                request.header(CONTENT_TYPE, "application/x-www-form-urlencoded").body(form.clone())
            }
            Some(form) => request.multipart(fields(form)),
            None => request,
        };
        Answer::of(request.send().await.expect("an answer"), path == "/live").await
    }

    /// The address with what it names filled in.
    pub fn path(&self, path: &str) -> String {
        let n = &self.names;
        let id = match path.trim_start_matches("/api/v1").trim_start_matches("/set-up") {
            p if p.starts_with("/machines") => n.machine,
            p if p.starts_with("/checks") => n.check,
            p if p.ends_with("/note") => n.released_order,
            p if p.starts_with("/work-orders") => n.order,
            p if p.starts_with("/holds") => n.hold,
            p if p.starts_with("/photos") => n.photo,
            p if p.starts_with("/store") || p.starts_with("/parts") => n.part,
            p if p.starts_with("/outbox") || p.starts_with("/told") => n.alert,
            p if p.starts_with("/webhooks") => n.webhook,
            p if p.starts_with("/yards") || path.starts_with("/api/v1/labour/overtime") => n.yard,
            p if p.starts_with("/people") => n.person,
            p if p.starts_with("/checklists") => n.checklist,
            p if p.starts_with("/drafts") => n.draft,
            p if p.starts_with("/devices") => n.device,
            _ => n.defect,
        };
        path.replace("{kind}/{part}", "rules/new")
            .replace("{kind}", "machines")
            .replace("{id}", &id.to_string())
            .replace("{defect}", &n.defect.to_string())
            .replace("{part}", &n.part.to_string())
            .replace("{absence}", &id.to_string())
            .replace("{entry}", &id.to_string())
            .replace("{day}", "2026-12-25")
            .replace("{outside}", &id.to_string())
            .replace("{on_order}", &id.to_string())
            .replace("{secret}", &n.secret)
            .replace("{unit}", "u7")
            .replace("{mark}", "guessed")
            .replace("{message}", &n.webhook_message.to_string())
            .replace("{build}", "any")
            .replace("{name}", "chock.css")
            .replace("{group}", "work-orders")
    }

    async fn signed_in(&self, letter: char, actor: &Actor) -> Person {
        crate::support::has_password(&self.bench.workshop, actor.id).await;
        let first = actor.name.split(' ').next().unwrap_or_default().to_lowercase();
        let email = format!("{first}@yard.example");
        let url = format!("{}/api/v1/sessions", self.served.url);
        let given = json!({"email": email, "password": PASSWORD});
        let session: Value = self.http.post(url).json(&given).send().await.unwrap().json().await.unwrap();
        let token = session["access_token"].as_str().expect("a token").to_owned();
        let cookie = Mutex::new(self.cookie_for(&email).await);
        Person { letter, email, token, cookie }
    }

    async fn cookie_for(&self, email: &str) -> String {
        let form = [("email", email), ("password", PASSWORD)];
        let answer = self.http.post(format!("{}/sign-in", self.served.url)).form(&form).send().await.unwrap();
        let set = answer.headers()[SET_COOKIE].to_str().expect("text").to_owned();
        for attribute in ["HttpOnly", "SameSite=Lax", "Path=/"] {
            assert!(set.split("; ").any(|a| a == attribute), "{attribute} is not in {set}");
        }
        set.split(';').next().unwrap_or_default().to_owned()
    }

    /// Reported by the operator, as a phone does it.
    async fn a_photo(&self, names: &Names) -> uuid::Uuid {
        let mut png = Cursor::new(Vec::new());
        image::RgbImage::new(8, 8).write_to(&mut png, image::ImageFormat::Png).expect("a picture");
        let photo = reqwest::multipart::Part::bytes(png.into_inner()).file_name("photo.png");
        let form = reqwest::multipart::Form::new()
            .text("id", uuid::Uuid::from_u128(7).to_string())
            .text("what", "Side panel hangs loose")
            .text("affects", "body and frame")
            .part("photo", photo);
        let url = format!("{}/machines/{}/report", self.served.url, names.machine);
        let operator = &self.people[0];
        let cookie = operator.cookie.lock().expect("nobody panicked").clone();
        let answer = self.http.post(url).header(COOKIE, cookie).multipart(form).send().await.unwrap();
        assert_eq!(answer.status(), 303, "{}", answer.text().await.unwrap());
        let page = self.get(&format!("/work-orders/{}", names.order), operator).await.text;
        let after = page.split("/photos/").nth(1).expect("the photo is on the work order");
        after[..36].parse().expect("its id")
    }
}

fn fields(form: &Value) -> reqwest::multipart::Form {
    let fields = form.as_object().expect("fields").clone();
    fields.into_iter().fold(reqwest::multipart::Form::new(), |form, (name, value)| {
        form.text(name, value.as_str().unwrap_or_default().to_owned())
    })
}

async fn one_of_everything(b: &Bench) -> Names {
    let w = &b.workshop;
    let released = b.ground(b.second_machine).await;
    b.repair(released).await;
    b.wait(1);
    b.pass_retests(released).await;
    workflow::release(w, &b.supervisor, released, "").await.unwrap();
    let check = b.failed_check(b.machine, 20_000, "fuel-leak", "left-side");
    let check_id = check.id;
    let mut check = check;
    check.hours_confirmed = true;
    let answered = b.submit(check).await;
    let hold = w.ambient.id();
    workflow::place_hold(w, &b.supervisor, hold, b.machine, "Looked odd").await.unwrap();
    let alerts = workflow::outbox(w, &b.owner, 100).await.unwrap();
    let alert = alerts
        .iter()
        .find(|a| a.machine_id == Some(b.machine) && a.person_id == b.supervisor.id)
        .expect("somebody was told");
    let spare = |name: &str| NewPerson {
        name: name.to_owned(),
        email: format!("{}@yard.example", name.to_lowercase()),
        roles: vec![Role::Operator],
        yards: vec![b.yard],
        rate_minor: 0,
    };
    let (person, _) = workflow::add_person(w, &b.owner, spare("Spare")).await.unwrap();
    let (_, secret) = workflow::add_person(w, &b.owner, spare("Invited")).await.unwrap();
    let new = workflow::NewWebhook { url: "https://hooks.example.org/yard".to_owned(), ..Default::default() };
    let (webhook, _) = workflow::add_webhook(w, &b.owner, new, false).await.unwrap();
    // Switched off, so that nothing leaves this computer.
    workflow::switch_webhook(w, &b.owner, webhook, false).await.unwrap();
    let webhook_message = workflow::try_webhook(w, &b.owner, webhook).await.unwrap();
    Names {
        webhook: webhook.0,
        webhook_message: webhook_message.0,
        yard: b.yard.0,
        machine: b.machine.0,
        check: check_id.0,
        order: answered.work_order.expect("a work order").0,
        defect: answered.findings[0].defect.0,
        hold: hold.0,
        part: b.part.0,
        checklist: b.checklist_id.0,
        draft: workflow::edit_checklist(w, &b.supervisor, b.checklist_id).await.unwrap().0,
        device: w.ambient.id::<DeviceId>().0,
        released_order: released.0,
        photo: uuid::Uuid::nil(),
        alert: alert.id.0,
        person: person.0,
        secret,
    }
}

/// Of another yard, with every role but the owner's.
async fn a_stranger(b: &Bench) -> Actor {
    let stranger = b.somebody_elsewhere().await;
    let people = workflow::people(&b.workshop, &b.owner).await.unwrap();
    let (row, mut roles, yards) = people.into_iter().find(|(p, ..)| p.id == stranger.id).expect("just added");
    roles.push(Role::Operator);
    let to = NewPerson { name: row.name, email: row.email, roles, yards, rate_minor: 0 };
    workflow::change_person(&b.workshop, &b.owner, stranger.id, to).await.unwrap();
    crate::support::actor(&b.workshop, stranger.id).await
}
