//! What one may is looked up when it is asked for: a change of rights counts at once, another yard's things are out of reach,
//! and what gives rights away or makes a secret takes the password.

use std::future::poll_fn;
use std::pin::pin;
use std::time::Duration;

use actix_web::App;
use actix_web::body::MessageBody;
use actix_web::cookie::Cookie;
use actix_web::test::{TestRequest, call_service, init_service};
use chock::domain::import::ImportKind;
use chock::domain::person::Role;
use chock::domain::standing::Standing;
use chock::http::routes as site_routes;
use chock::workflow::{self, Credentials, NewPerson, WhoIsIn, Workshop};
use reqwest::header::HeaderMap;
use serde_json::{Value, json};

use crate::routes::world::World;
use crate::routes::{api, pages};
use crate::support::browser::Browser;
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    a_change_of_roles_counts_at_once,
    a_release_takes_the_password_again_after_a_while,
    disabling_ends_every_way_in_at_once,
    nothing_of_another_yard_is_changed,
    rights_and_secrets_take_the_password,
);

async fn token(b: &Bench, email: &str) -> Value {
    let given = Credentials { email, password: PASSWORD };
    let grant = workflow::sign_in_api(&b.workshop, given, None).await.unwrap();
    let key = [7; 32];
    let now = b.workshop.ambient.now();
    let id = b.workshop.ambient.id();
    json!(chock::http::token::sign(&key, grant.actor.id, grant.family, id, now).unwrap())
}

async fn by_token(site: &Browser, token: &Value, path: &str) -> u16 {
    let bearer = format!("Bearer {}", token.as_str().unwrap());
    let request = TestRequest::get().uri(path).insert_header(("authorization", bearer));
    site.with_secret("").ask(request).await.status.as_u16()
}

async fn change(w: &Workshop, b: &Bench, roles: Vec<Role>, yards: Vec<chock::domain::ids::YardId>) {
    let to = NewPerson {
        name: "Sara Supervisor".into(),
        email: "sara@yard.example".into(),
        roles,
        yards,
        rate_minor: 0,
    };
    workflow::change_person(w, &b.owner, b.supervisor.id, to).await.unwrap();
}

/// Pages, API, PIN and calendar: each as it is now, and no wider than that.
async fn a_change_of_roles_counts_at_once(b: Bench) {
    let w = &b.workshop;
    let stranger = b.somebody_elsewhere().await;
    let sara = Browser::of(w, &b.supervisor).await;
    let token = token(&b, "sara@yard.example").await;
    let pin = [("pin", "2580"), ("again", "2580"), ("password", PASSWORD)];
    let tablet = sara.after(sara.send("/pin", &pin).await.is(303));
    let by_pin = [("person", b.supervisor.id.to_string()), ("pin", "2580".to_owned())];
    let by_pin: Vec<(&str, &str)> = by_pin.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let mut on_tablet = tablet.with_secret("");
    on_tablet = on_tablet.after(on_tablet.send("/change-person", &by_pin).await.is(303));
    let machine = format!("/machines/{}", b.machine);
    for browser in [&sara, &on_tablet] {
        browser.get("/audit").await.is(200);
        browser.get(&machine).await.is(200);
    }
    assert_eq!(by_token(&sara, &token, "/api/v1/audit").await, 200);

    // No supervisor any more, and then of another yard.
    workflow::change_person(
        w,
        &b.owner,
        b.other_mechanic.id,
        NewPerson {
            name: "Mia Mechanic".into(),
            email: "mia@yard.example".into(),
            roles: vec![Role::Mechanic, Role::Supervisor],
            yards: vec![b.yard],
            rate_minor: 4_500,
        },
    )
    .await
    .unwrap();
    change(w, &b, vec![Role::Operator], vec![b.yard]).await;
    for browser in [&sara, &on_tablet] {
        browser.get("/audit").await.is(403);
        browser.get(&machine).await.is(200);
    }
    assert_eq!(by_token(&sara, &token, "/api/v1/audit").await, 403);
    change(w, &b, vec![Role::Supervisor], stranger.yards.clone()).await;
    for browser in [&sara, &on_tablet] {
        browser.get("/audit").await.is(200);
        browser.get(&machine).await.is(404);
    }
    assert_eq!(by_token(&sara, &token, &format!("/api/v1/machines/{}", b.machine)).await, 404);
    b.assert_sound().await;
}

/// A signature is given by whoever is there now: on a page and over the API.
async fn a_release_takes_the_password_again_after_a_while(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    b.repair(order).await;
    b.pass_retests(order).await;
    let sara = Browser::of(w, &b.supervisor).await;
    let here = format!("/work-orders/{order}");
    b.wait(15);
    sara.get(&here).await.is(200).says_not("release-password");
    b.wait(1);
    sara.get(&here).await.is(200).says("id=\"release-password\"").says("more than a quarter of an hour ago");
    let release = format!("{here}/release");
    for (password, sentence) in [("", "Give your password"), ("not hers", "This is not your password")] {
        let sent = [("confirm", "yes"), ("note", "Drove it"), ("password", password)];
        sara.send(&release, &sent).await.is(422).says(sentence).says("value=\"Drove it\"");
    }
    // The use case itself refuses, whoever asks it.
    let long_ago = workflow::actor_of_session(w, &sara.secret).await.unwrap().unwrap();
    assert!(long_ago.long_ago && workflow::release(w, &long_ago, order, "").await.is_err());
    let api = sara.send_json(&format!("/api/v1{here}/release"), "{}").await;
    api.is(403).says("takes it again");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let sent = [("confirm", "yes"), ("note", "Drove it"), ("password", PASSWORD)];
    sara.send(&release, &sent).await.leads_to("?done=released");

    // That was a proof for a while, of this session alone.
    let second = b.ground(b.second_machine).await;
    workflow::claim(w, &b.mechanic, second).await.unwrap();
    b.finish(second).await.unwrap();
    b.pass_retests(second).await;
    let here = format!("/work-orders/{second}");
    sara.get(&here).await.is(200).says("U-08</span> to service?").says_not("release-password");
    b.wait(16);
    let with_password = format!(r#"{{"password":"{PASSWORD}"}}"#).leak();
    sara.send_json(&format!("/api/v1{here}/release"), r#"{"password":"guessed"}"#).await.is(422);
    sara.send_json(&format!("/api/v1{here}/release"), with_password).await.is(200);
    b.assert_sound().await;
}

async fn disabling_ends_every_way_in_at_once(b: Bench) {
    let w = &b.workshop;
    let sara = Browser::of(w, &b.supervisor).await;
    let token = token(&b, "sara@yard.example").await;
    let pin = [("pin", "2580"), ("again", "2580"), ("password", PASSWORD)];
    let tablet = sara.after(sara.send("/pin", &pin).await.is(303));
    let by_pin = [("person", b.supervisor.id.to_string()), ("pin", "2580".to_owned())];
    let by_pin: Vec<(&str, &str)> = by_pin.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let secret = workflow::make_calendar_link(w, &b.supervisor).await.unwrap();
    let calendar = format!("/calendar/{secret}.ics");
    sara.get(&calendar).await.is(200);

    // An open board.
    let app = init_service(App::new().app_data(sara.site.clone()).configure(site_routes::configure)).await;
    let live = TestRequest::get().uri("/live").cookie(Cookie::new("chock", sara.secret.clone()));
    let mut live = pin!(call_service(&app, live.to_request()).await.into_body());
    let relay = tokio::spawn({
        let workshop = w.clone();
        async move { workflow::relay_changes(&workshop).await }
    });
    tokio::time::sleep(Duration::from_millis(300)).await;

    workflow::disable_person(w, &b.owner, b.supervisor.id, true).await.unwrap();
    // Sooner than the heartbeat of fifteen seconds.
    let ends = async { while poll_fn(|cx| live.as_mut().poll_next(cx)).await.is_some() {} };
    tokio::time::timeout(Duration::from_secs(8), ends).await.expect("the open board is told no more");
    relay.abort();
    sara.get("/machines").await.leads_to("/sign-in?to=/machines");
    sara.get("/live").await.is(303);
    sara.get("/api/v1/machines").await.is(401);
    assert_eq!(by_token(&sara, &token, "/api/v1/machines").await, 401);
    tablet.with_secret("").send("/change-person", &by_pin).await.is(403);
    sara.get(&calendar).await.is(404);
    assert!(
        workflow::sign_in_page(w, Credentials { email: "sara@yard.example", password: PASSWORD })
            .await
            .is_err()
    );
    assert_eq!(workflow::who_is_in(w, &sara.secret).await.unwrap(), WhoIsIn::Nobody);
    b.assert_sound().await;
}

/// Each page, form and call that names something, asked by somebody of another yard with every role but the owner's: not
/// there, or not allowed. Nothing of it is changed, by the trail and by what the board says.
async fn nothing_of_another_yard_is_changed(b: Bench) {
    let world = World::new(b).await;
    let stranger = world.stranger();
    let before = world.what_is_kept().await;
    let mut wrong = Vec::new();
    let mut asked = 0;
    let tables = [pages::table(&world.names), api::table(&world.names)];
    for route in tables.iter().flatten().filter(|r| r.path.contains('{') && !is_everybodys(r.path)) {
        let answer = if route.path.starts_with("/api/") {
            world.call(route, stranger, HeaderMap::new()).await
        } else {
            world.ask(route, stranger, HeaderMap::new()).await
        };
        asked += 1;
        if !matches!(answer.status(), 403 | 404) && !is_refused_before(route.path, answer.status()) {
            wrong.push(format!("{} {}: {}", route.method, route.path, answer.status()));
        }
        if world.tells_of_the_machine(&answer) {
            wrong.push(format!("{} {} shows it", route.method, route.path));
        }
    }
    // With bodies that would be taken of somebody of the yard.
    for (method, path, body) in world.would_be_taken() {
        let answer = world.send(method, &path, stranger, body).await;
        asked += 1;
        if !matches!(answer.status(), 403 | 404) {
            wrong.push(format!("{method} {path}: {}", answer.status()));
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(asked > 120, "only {asked} were asked");
    assert_eq!(world.what_is_kept().await, before, "something was changed");
    world.close().await;
}

/// Of the whole business, or of nobody: a part, a checklist, a file of the site, a one-time link.
fn is_everybodys(path: &str) -> bool {
    ["/assets/", "/welcome/", "/told/", "/calendar/", "/for-programs/", "/set-up/import/", "/api/v1/import/"]
        .iter()
        .any(|p| path.starts_with(p))
        || path.contains("/checklists/")
        || (path.contains("/store/{") || path.contains("/parts/{")) && !path.contains("work-orders")
}

/// What is no picture or names no machine is refused before anything is looked up.
fn is_refused_before(path: &str, status: u16) -> bool {
    let by_its_own_id =
        ["/api/v1/checks/{id}", "/api/v1/defects/{id}", "/api/v1/holds/{id}", "/api/v1/labour/{entry}"];
    (path.ends_with("/photos") && matches!(status, 400 | 415 | 422))
        || (by_its_own_id.contains(&path) && status == 422)
}

/// Address, form, and what it is answered once the password is right.
type Asked<'a> = (String, &'a [(&'a str, &'a str)], u16);

async fn rights_and_secrets_take_the_password(b: Bench) {
    let w = &b.workshop;
    let olga = Browser::of(w, &b.owner).await;
    let yard = b.yard.to_string();
    let otto = format!("/set-up/people/{}", b.operator.id);
    let person =
        [("name", "Otto Operator"), ("email", "otto@yard.example"), ("roles", "owner"), ("yards", &*yard)];
    let webhook =
        workflow::NewWebhook { url: "https://hooks.example.org/x".to_owned(), ..Default::default() };
    let (webhook, _) = workflow::add_webhook(w, &b.owner, webhook, false).await.unwrap();
    let new = [("name", "Nils"), ("email", "nils@yard.example"), ("roles", "owner"), ("yards", &*yard)];
    workflow::disable_person(w, &b.owner, b.mechanic.id, true).await.unwrap();
    let mats = format!("/set-up/people/{}/disable", b.mechanic.id);
    let hook = [("url", "https://hooks.example.org/y"), ("about", "The landlord's program")];
    let asked: [Asked<'_>; 8] = [
        ("/set-up/people".to_owned(), &new, 200),
        (otto.clone(), &person, 303),
        (format!("{otto}/invite"), &[], 200),
        (mats, &[("disabled", "no")], 303),
        ("/set-up/webhooks".to_owned(), &hook, 200),
        (format!("/set-up/webhooks/{webhook}/secret"), &[], 200),
        ("/me/calendar".to_owned(), &[], 200),
        ("/set-up/records/export".to_owned(), &[], 200),
    ];
    for (path, form, taken) in asked {
        let with = |password: &'static str| [form, &[("password", password)]].concat();
        olga.send(&path, form).await.is(422);
        let guessed = olga.send(&path, &with("guessed at random")).await;
        guessed.is(422).says("not your password");
        if path == "/me/calendar" || path == "/set-up/records/export" {
            guessed.says("One answer needs your attention").says("aria-invalid=\"true\"");
        }
        olga.send(&path, &with(PASSWORD)).await.is(taken);
    }
    // By the API alike.
    let token = token(&b, "olga@yard.example").await;
    let call = async |path: &str, body: Value| {
        let bearer = format!("Bearer {}", token.as_str().unwrap());
        let request = TestRequest::post().uri(path).insert_header(("authorization", bearer)).set_json(body);
        olga.with_secret("").ask(request).await
    };
    for path in [
        format!("/api/v1/webhooks/{webhook}/secret"),
        "/api/v1/me/calendar".to_owned(),
        "/api/v1/export".to_owned(),
        format!("/api/v1/people/{}/invite", b.operator.id),
        // Only once: then one is begun.
        "/api/v1/me/second-step/begin".to_owned(),
    ] {
        call(&path, json!({})).await.is(422).says("/password");
        call(&path, json!({"password": "guessed at random"})).await.is(422).says("/password");
        let taken = call(&path, json!({"password": PASSWORD})).await;
        assert!(taken.status.is_success(), "{path}: {}", taken.status);
    }
    let ada = json!({"name": "Ada", "email": "ada@yard.example", "roles": ["owner"], "password": "guessed at random"});
    call("/api/v1/people", ada).await.is(422).says("/password");
    let hook = json!({"url": "https://hooks.example.org/z", "password": "guessed at random"});
    call("/api/v1/webhooks", hook).await.is(422).says("/password");

    // A file of people gives rights to many at once: looked at by anybody who may, taken with a password given lately.
    let file = "name,mail address,roles,yards\nPer,per@yard.example,operator,North yard\n";
    let take = async |password: &str| {
        let fields = [("text", file), ("do", "take"), ("password", password)];
        let fields = fields.map(|(k, v)| (k.to_owned(), v.to_owned()));
        olga.send_files("/set-up/import/people", &fields, &[]).await
    };
    b.wait(16);
    for (password, sentence) in [("", "Give your password"), ("not hers", "This is not your password")] {
        take(password).await.is(422).says(sentence).says("id=\"import-password\"").says("Per");
    }
    let long_ago = workflow::actor_of_session(w, &olga.secret).await.unwrap().unwrap();
    let behind = workflow::take_import(w, &long_ago, ImportKind::People, file.as_bytes()).await;
    assert!(behind.unwrap_err().to_string().contains("takes it again"));
    take(PASSWORD).await.is(200).says("/welcome/");
    b.assert_sound().await;
}
