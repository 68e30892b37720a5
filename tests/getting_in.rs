//! Where somebody is signed in and ending it, changing one's own password, and the second step of signing in.

use actix_web::test::TestRequest;
use chock::domain::hearing::AlertKind;
use chock::domain::refusal::Refusal;
use chock::domain::second_step::{code_at, from_base32};
use chock::workflow::{self, Credentials, Ending, Entered, Here, WhoIsIn, WorkflowError};
use futures_util::future::join_all;
use serde_json::{Value, json};

use crate::support::browser::{Answer, Browser, hidden};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    one_sees_where_one_is_signed_in_and_ends_it,
    nothing_is_ended_without_the_password_or_of_somebody_else,
    a_changed_password_ends_everything_else,
    a_password_by_link_ends_everything,
    common_passwords_are_refused_wherever_one_is_set,
    the_second_step_from_first_code_to_last,
    many_wrong_codes_wait,
    recovery_codes_count_once,
    the_api_asks_for_the_code,
    who_must_have_a_second_step_gets_nowhere_without,
    an_owner_takes_a_lost_one_away_and_its_person_is_told,
    a_new_password_is_no_way_round_the_second_step,
    of_two_refreshes_at_once_one_wins,
);

const NEW: &str = "a wedge before every wheel";
const FIREFOX: &str = "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0";

/// Nobody's browser on the same site.
fn nobody(b: &Browser) -> Browser {
    let mut nobody = b.with_secret("");
    nobody.device = String::new();
    nobody
}

async fn sign_in(site: &Browser, email: &str, password: &str) -> (Browser, Answer) {
    let request = TestRequest::post().uri("/sign-in").insert_header(("user-agent", FIREFOX));
    let form = [("email", email), ("password", password)];
    let answer = nobody(site).ask(request.set_form(form)).await;
    (nobody(site).after(&answer), answer)
}

async fn api(site: &Browser, body: Value) -> (u16, Value) {
    let request = TestRequest::post().uri("/api/v1/sessions").insert_header(("user-agent", "yard-sync/2"));
    let answer = nobody(site).ask(request.set_json(body)).await;
    (answer.status.as_u16(), serde_json::from_str(&answer.html).unwrap())
}

async fn with_token(site: &Browser, session: &Value, request: TestRequest) -> Answer {
    let token = session["access_token"].as_str().expect("a token");
    nobody(site).ask(request.insert_header(("authorization", format!("Bearer {token}")))).await
}

async fn is_in(site: &Browser, session: &Value) -> bool {
    with_token(site, session, TestRequest::get().uri("/api/v1/machines")).await.status == 200
}

async fn is_in_pages(browser: &Browser) -> bool {
    browser.get("/machines").await.status == 200
}

async fn one_sees_where_one_is_signed_in_and_ends_it(b: Bench) {
    let here = Browser::of(&b.workshop, &b.operator).await;
    let (phone, _) = sign_in(&here, "otto@yard.example", PASSWORD).await;
    b.wait(20);
    let (status, program) = api(&here, json!({"email": "otto@yard.example", "password": PASSWORD})).await;
    assert_eq!(status, 201);
    assert!(is_in_pages(&phone).await);

    let page = here.get("/me/sessions").await;
    page.is(200).says("Firefox, Android").says("yard-sync, a program that uses the API").says("(this one)");
    assert_eq!(page.html.matches("name=\"which\"").count(), 2, "not the one that asks");
    let listed = workflow::own_sessions(&b.workshop, &b.operator, &Here::default()).await.unwrap();
    let of_phone = listed.iter().find(|s| s.program == "Firefox, Android").expect("the phone");
    assert_eq!(of_phone.last_used_at, Some(b.now()), "when it was used");
    assert_eq!(b.now() - of_phone.since, chrono::TimeDelta::minutes(20));

    let id = of_phone.id.to_string();
    here.send("/me/sessions", &[("password", PASSWORD)]).await.is(422).says("Tick what is to be ended.");
    let ended = here.send("/me/sessions", &[("which", &id), ("password", PASSWORD)]).await;
    ended.leads_to("?done=sign-ins-ended");
    assert!(!is_in_pages(&phone).await);
    assert!(is_in_pages(&here).await && is_in(&here, &program).await);

    here.send("/me/sessions", &[("all", "yes"), ("password", PASSWORD)]).await.is(303);
    assert!(is_in_pages(&here).await, "all but the one that asks");
    assert!(!is_in(&here, &program).await, "the access token ends with it, not ten minutes later");
    here.get("/me/sessions").await.says("signed in nowhere else");

    // By the API, from an API session, with a PIN on a tablet.
    let (_, program) = api(&here, json!({"email": "otto@yard.example", "password": PASSWORD})).await;
    let pin = [("pin", "2580"), ("again", "2580"), ("password", PASSWORD)];
    let tablet = here.after(here.send("/pin", &pin).await.is(303));
    let list = with_token(&here, &program, TestRequest::get().uri("/api/v1/me/sessions")).await;
    let list: Value = serde_json::from_str(&list.html).unwrap();
    let kinds: Vec<&str> =
        list["sign_ins"].as_array().unwrap().iter().map(|s| s["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["API", "pages", "PIN on a device"]);
    assert_eq!(list["sign_ins"][0]["this_one"], true);
    let end = TestRequest::post().uri("/api/v1/me/sessions/end").set_json(json!({"password": PASSWORD}));
    with_token(&here, &program, end).await.is(200).says("\"ended\":2");
    assert!(is_in(&here, &program).await && !is_in_pages(&here).await);
    let by_pin = [("person", b.operator.id.to_string()), ("pin", "2580".to_owned())];
    let by_pin: Vec<(&str, &str)> = by_pin.iter().map(|(k, v)| (*k, v.as_str())).collect();
    tablet.send("/change-person", &by_pin).await.is(403).says("There is no PIN for this person");
    b.assert_sound().await;
}

async fn nothing_is_ended_without_the_password_or_of_somebody_else(b: Bench) {
    let w = &b.workshop;
    let otto = Browser::of(w, &b.operator).await;
    let mats = Browser::of(w, &b.mechanic).await;
    let none = Here::default();
    let of_mats = workflow::own_sessions(w, &b.mechanic, &none).await.unwrap()[0].id;
    let end = |ids, password: &'static str| {
        workflow::end_own_sessions(w, &b.operator, &none, Ending::These(ids), password)
    };
    let refused = end(vec![of_mats], PASSWORD).await;
    assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::NotFound(_)))), "{refused:?}");
    let own = workflow::own_sessions(w, &b.operator, &none).await.unwrap()[0].id;
    assert!(end(vec![own, of_mats], PASSWORD).await.is_err(), "all of them or none");
    assert!(end(vec![own], "not the password").await.is_err());
    otto.send("/me/sessions", &[("all", "yes")]).await.is(422).says("Give your password.");
    assert!(is_in_pages(&otto).await && is_in_pages(&mats).await);
}

async fn a_changed_password_ends_everything_else(b: Bench) {
    let here = Browser::of(&b.workshop, &b.operator).await;
    let (phone, _) = sign_in(&here, "otto@yard.example", PASSWORD).await;
    let (_, program) = api(&here, json!({"email": "otto@yard.example", "password": PASSWORD})).await;
    let form = |password, new, again| [("password", password), ("new", new), ("again", again)];
    here.send("/me/password", &form("guessed at random", NEW, NEW)).await.is(422).says("not your password");
    here.send("/me/password", &form(PASSWORD, NEW, "another one here")).await.is(422).says("not the same");
    assert!(is_in_pages(&phone).await && is_in(&here, &program).await, "nothing happened yet");

    here.send("/me/password", &form(PASSWORD, NEW, NEW)).await.leads_to("/me?done=password-changed");
    assert!(is_in_pages(&here).await, "this one goes on");
    assert!(!is_in_pages(&phone).await && !is_in(&here, &program).await);
    let token = program["refresh_token"].as_str().unwrap();
    assert!(workflow::refresh(&b.workshop, token).await.is_err());
    assert!(sign_in(&here, "otto@yard.example", PASSWORD).await.1.status == 403);
    assert!(sign_in(&here, "otto@yard.example", NEW).await.1.status == 303);

    // By the API, the same.
    let (_, program) = api(&here, json!({"email": "otto@yard.example", "password": NEW})).await;
    let change = json!({"password": NEW, "new": PASSWORD});
    let change = TestRequest::put().uri("/api/v1/me/password").set_json(change);
    with_token(&here, &program, change).await.is(204);
    assert!(is_in(&here, &program).await && !is_in_pages(&here).await);
    b.assert_sound().await;
}

async fn a_password_by_link_ends_everything(b: Bench) {
    let here = Browser::of(&b.workshop, &b.operator).await;
    let (_, program) = api(&here, json!({"email": "otto@yard.example", "password": PASSWORD})).await;
    let link = workflow::invite_again(&b.workshop, &b.owner, b.operator.id).await.unwrap();
    assert!(is_in_pages(&here).await && is_in(&here, &program).await);
    let form = [("password", NEW), ("again", NEW)];
    nobody(&here).send(&format!("/welcome/{link}"), &form).await.leads_to("/");
    assert!(!is_in_pages(&here).await && !is_in(&here, &program).await);
}

/// OWASP ASVS 5.0, 6.2.4, 6.2.5, 6.2.8, 6.2.9 and 6.2.11.
async fn common_passwords_are_refused_wherever_one_is_set(b: Bench) {
    let w = &b.workshop;
    let here = Browser::of(w, &b.operator).await;
    let link = workflow::invite_again(w, &b.owner, b.operator.id).await.unwrap();
    for (bad, because) in [
        ("qwertyuiop", "tried first"),
        ("Password123", "tried first"),
        ("otto-operator", "your name"),
        ("Chock-2026", "your name"),
        ("too short", "10 to 256"),
    ] {
        let form = [("password", PASSWORD), ("new", bad), ("again", bad)];
        here.send("/me/password", &form).await.is(422).says(because);
        let form = [("password", bad), ("again", bad)];
        nobody(&here).send(&format!("/welcome/{link}"), &form).await.is(422).says(because);
        assert!(workflow::set_password(w, b.operator.id, bad).await.is_err(), "{bad}");
    }
    // Long, of any letters, and all of it counts.
    let long = "ärger mit der Brücke 橋の上で 🚜 ".repeat(8);
    workflow::set_password(w, b.operator.id, &long).await.unwrap();
    let enter = |password: String| async move {
        workflow::sign_in_page(w, Credentials { email: "otto@yard.example", password: &password }).await
    };
    assert!(enter(long.trim().to_owned()).await.is_err(), "nothing is cut off");
    assert!(enter(long.to_lowercase()).await.is_err());
    enter(long).await.unwrap();
}

/// Sets the second step up on the pages; answers its secret and the recovery codes.
async fn set_up(person: &Browser) -> (Vec<u8>, Vec<String>) {
    let begun = person.send("/me/second-step/begin", &[("password", PASSWORD)]).await;
    begun.is(200).says("<svg").says("otpauth://totp/");
    let secret = begun.html.split("secret=").nth(1).unwrap().split('&').next().unwrap();
    let secret = from_base32(secret).expect("base32");
    assert_eq!(secret.len(), 20);
    person.send("/me/second-step/confirm", &[("code", "000000")]).await.is(422).says("not right");
    let code = code_of(&secret, person);
    let codes = person.send("/me/second-step/confirm", &[("code", &code)]).await;
    codes.is(200).says("shown this once");
    let codes: Vec<String> =
        codes.html.split("<li><code>").skip(1).map(|c| c.split('<').next().unwrap().to_owned()).collect();
    assert_eq!(codes.len(), 10);
    (secret, codes)
}

fn code_of(secret: &[u8], site: &Browser) -> String {
    code_at(secret, site.site.workshop.ambient.now().timestamp() / 30, 6)
}

async fn the_second_step_from_first_code_to_last(b: Bench) {
    let here = Browser::of(&b.workshop, &b.supervisor).await;
    here.send("/me/second-step/begin", &[("password", "guessed at random")]).await.is(422);
    let (secret, _) = set_up(&here).await;
    here.get("/me/second-step").await.says("It is on since").says("10 recovery codes are left");
    here.send("/me/second-step/begin", &[("password", PASSWORD)]).await.is(409).says("is on already");

    let (phone, asked) = sign_in(&here, "sara@yard.example", PASSWORD).await;
    asked.is(200).says("Your password is right.");
    assert_eq!(phone.secret, "", "the password alone opens nothing");
    let begun = hidden(&asked, "begun");
    let enter = |begun: String, code: String| {
        let phone = nobody(&phone);
        async move {
            let form = [("begun", begun.as_str()), ("code", code.as_str()), ("to", "/board")];
            phone.send("/sign-in/code", &form).await
        }
    };
    // The code of setting it up was used.
    enter(begun.clone(), code_of(&secret, &here)).await.is(422).says("or it was used");
    b.wait(1);
    let code = code_of(&secret, &here);
    let entered = enter(begun.clone(), code.clone()).await;
    entered.leads_to("/board");
    assert!(is_in_pages(&nobody(&phone).after(&entered)).await);
    enter(begun, code.clone()).await.is(403).says("Sign in again with your password.");
    // Each code once, also for another sign-in (RFC 6238, 5.2).
    let (_, asked) = sign_in(&here, "sara@yard.example", PASSWORD).await;
    let begun = hidden(&asked, "begun");
    enter(begun.clone(), code).await.is(422);
    // The one of half a minute ago still counts, unless a later one was used.
    b.wait(2);
    let now = b.now().timestamp() / 30;
    enter(begun, code_at(&secret, now - 1, 6)).await.is(303);
    let (_, asked) = sign_in(&here, "sara@yard.example", PASSWORD).await;
    enter(hidden(&asked, "begun"), code_at(&secret, now - 2, 6)).await.is(422);
    b.wait(11);
    enter(hidden(&asked, "begun"), code_of(&secret, &here)).await.is(403).says("took too long");

    here.send("/me/second-step/remove", &[("password", "guessed at random")]).await.is(422);
    here.send("/me/second-step/remove", &[("password", PASSWORD)]).await.leads_to("second-step-removed");
    assert_eq!(sign_in(&here, "sara@yard.example", PASSWORD).await.1.status, 303);
    b.assert_sound().await;
}

async fn many_wrong_codes_wait(b: Bench) {
    let w = &b.workshop;
    let here = Browser::of(w, &b.supervisor).await;
    let (secret, _) = set_up(&here).await;
    b.wait(1);
    let begin = || async {
        let given = Credentials { email: "sara@yard.example", password: PASSWORD };
        match workflow::sign_in_page_on(w, given, None, None).await.unwrap() {
            Entered::CodeFirst(begun) => begun,
            Entered::In(..) => panic!("without the code"),
        }
    };
    let begun = begin().await;
    let mut said = Vec::new();
    for n in 0..7 {
        let refused = workflow::finish_sign_in(w, &begun, &format!("{n:06}"), None, None).await;
        let Err(WorkflowError::Refused(refusal)) = refused else { panic!("{refused:?}") };
        said.push(match refusal {
            Refusal::Invalid { .. } => "wrong",
            Refusal::Forbidden(_) => "begin again",
            Refusal::TooSoon { .. } => "wait",
            other => panic!("{other}"),
        });
    }
    assert_eq!(said, ["wrong", "wrong", "wrong", "wrong", "wrong", "begin again", "begin again"]);
    // Beginning anew is no way to try faster, not even with the right one.
    let right = code_of(&secret, &here);
    let soon = workflow::finish_sign_in(w, &begin().await, &right, None, None).await;
    assert!(matches!(soon, Err(WorkflowError::Refused(Refusal::TooSoon { .. }))), "{soon:?}");
    b.wait(1);
    workflow::finish_sign_in(w, &begin().await, &code_of(&secret, &here), None, None).await.unwrap();
}

async fn recovery_codes_count_once(b: Bench) {
    let w = &b.workshop;
    let here = Browser::of(w, &b.supervisor).await;
    let (_, codes) = set_up(&here).await;
    let enter = |code: String| async move {
        let given = Credentials { email: "sara@yard.example", password: PASSWORD };
        let Entered::CodeFirst(begun) = workflow::sign_in_page_on(w, given, None, None).await.unwrap() else {
            panic!("without the code")
        };
        workflow::finish_sign_in(w, &begun, &code, None, None).await.is_ok()
    };
    assert!(enter(codes[3].to_lowercase()).await);
    assert!(!enter(codes[3].clone()).await, "once");
    // Several at once: one.
    let at_once = join_all((0..4).map(|_| enter(codes[4].replace(' ', "")))).await;
    assert_eq!(at_once.iter().filter(|in_| **in_).count(), 1);
    here.get("/me/second-step").await.says("8 recovery codes are left");
    let renewed = here.send("/me/second-step/codes", &[("password", PASSWORD)]).await;
    renewed.is(200).says("shown this once");
    assert!(!enter(codes[5].clone()).await, "new ones end the old");
    assert!(!enter("ABCD EFGH IJKL MNOP QRST UVWX".to_owned()).await);
}

async fn the_api_asks_for_the_code(b: Bench) {
    let here = Browser::of(&b.workshop, &b.supervisor).await;
    let (secret, codes) = set_up(&here).await;
    b.wait(1);
    let given = |code: Option<&str>| {
        let mut given = json!({"email": "sara@yard.example", "password": PASSWORD});
        if let Some(code) = code {
            given["code"] = json!(code);
        }
        api(&here, given)
    };
    let (status, problem) = given(None).await;
    assert_eq!((status, &problem["type"]), (401, &json!("/for-programs#second-step-needed")));
    let (status, problem) = given(Some("000000")).await;
    assert_eq!((status, &problem["errors"][0]["pointer"]), (422, &json!("/code")));
    // Without the password the code says nothing, not even that there is one.
    let wrong = json!({"email": "sara@yard.example", "password": "guessed at random", "code": "000000"});
    let (status, problem) = api(&here, wrong).await;
    assert_eq!((status, &problem["type"]), (401, &json!("about:blank")));
    let (status, session) = given(Some(&code_of(&secret, &here))).await;
    assert_eq!(status, 201);
    assert!(is_in(&here, &session).await);
    assert_eq!(given(Some(&code_of(&secret, &here))).await.0, 422, "used");
    assert_eq!(given(Some(&codes[0])).await.0, 201);
}

async fn who_must_have_a_second_step_gets_nowhere_without(b: Bench) {
    let w = &b.workshop;
    let owner = Browser::of(w, &b.owner).await;
    let sara = Browser::of(w, &b.supervisor).await;
    let otto = Browser::of(w, &b.operator).await;
    let (_, program) = api(&sara, json!({"email": "sara@yard.example", "password": PASSWORD})).await;
    assert!(is_in(&sara, &program).await);
    let ask = [("asked_for", "yes"), ("password", PASSWORD)];
    owner.send("/set-up/second-step", &ask).await.is(409).says("your own second step first");
    set_up(&owner).await;
    owner.send("/set-up/second-step", &ask[..1]).await.is(422);
    owner.send("/set-up/second-step", &ask).await.leads_to("?done=saved");
    owner.get("/set-up/second-step").await.says("must have").says("Sara Supervisor</a>: has none");

    // At once, and for every page, form and call.
    for path in ["/", "/board", "/me", "/me/sessions", "/set-up", "/live"] {
        sara.get(path).await.leads_to("/me/second-step");
    }
    let hold = format!("/machines/{}/hold", b.machine);
    sara.send(&hold, &[("reason", "Looks odd")]).await.leads_to("/me/second-step");
    sara.get("/api/v1/machines").await.is(403).says("/for-programs#second-step-to-set-up");
    let refused = with_token(&sara, &program, TestRequest::get().uri("/api/v1/machines")).await;
    refused.is(403).says("/for-programs#second-step-to-set-up");
    assert_eq!(workflow::actor_of_session(w, &sara.secret).await.unwrap(), None);
    assert!(matches!(workflow::who_is_in(w, &sara.secret).await.unwrap(), WhoIsIn::SecondStepFirst(_)));
    assert!(is_in_pages(&otto).await && is_in_pages(&owner).await, "it is not asked of them");
    // Signing in leads there as well.
    let (again, entered) = sign_in(&sara, "sara@yard.example", PASSWORD).await;
    entered.is(303);
    again.get("/board").await.leads_to("/me/second-step");
    again.get("/me/second-step").await.is(200).says("Your business asks for it.").says_not("href=\"/board\"");

    set_up(&again).await;
    assert!(is_in_pages(&again).await && is_in_pages(&sara).await && is_in(&sara, &program).await);
    b.assert_sound().await;
}

async fn an_owner_takes_a_lost_one_away_and_its_person_is_told(b: Bench) {
    let w = &b.workshop;
    let sara = Browser::of(w, &b.supervisor).await;
    set_up(&sara).await;
    let owner = Browser::of(w, &b.owner).await;
    let person = format!("/set-up/people/{}", b.supervisor.id);
    owner.get(&person).await.says("Take the second step of Sara Supervisor away");
    owner.send(&format!("{person}/second-step"), &[("password", "guessed at random")]).await.is(422);
    let mats = Browser::of(w, &b.mechanic).await;
    mats.send(&format!("{person}/second-step"), &[("password", PASSWORD)]).await.is(403);
    assert!(is_in_pages(&sara).await);
    owner.send(&format!("{person}/second-step"), &[("password", PASSWORD)]).await.leads_to("removed");
    assert!(!is_in_pages(&sara).await, "whoever has the phone is out");
    assert_eq!(sign_in(&sara, "sara@yard.example", PASSWORD).await.1.status, 303);
    let told = workflow::outbox(w, &b.owner, 50).await.unwrap();
    let told: Vec<_> = told.iter().filter(|o| o.kind == AlertKind::SecondStepRemoved).collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].person_id, b.supervisor.id);
    let again = workflow::remove_second_step_of(w, &b.owner, b.supervisor.id, PASSWORD).await;
    assert!(matches!(again, Err(WorkflowError::Refused(Refusal::Conflict(_)))));
    b.assert_sound().await;
}

async fn a_new_password_is_no_way_round_the_second_step(b: Bench) {
    let sara = Browser::of(&b.workshop, &b.supervisor).await;
    set_up(&sara).await;
    let link = workflow::invite_again(&b.workshop, &b.owner, b.supervisor.id).await.unwrap();
    let form = [("password", NEW), ("again", NEW)];
    let answer = nobody(&sara).send(&format!("/welcome/{link}"), &form).await;
    answer.is(200).says("Now the code that your phone shows.");
    assert_eq!(nobody(&sara).after(&answer).secret, "");
}

/// RFC 9700, 4.14.2: a refresh token that is used twice ends everything that came of the same sign-in.
async fn of_two_refreshes_at_once_one_wins(b: Bench) {
    let w = &b.workshop;
    let given = || Credentials { email: "olga@yard.example", password: PASSWORD };
    for _ in 0..3 {
        let first = workflow::sign_in_api(w, given(), None).await.unwrap();
        let other = workflow::sign_in_api(w, given(), None).await.unwrap();
        let traded = join_all((0..4).map(|_| workflow::refresh(w, &first.refresh_token))).await;
        let won: Vec<_> = traded.into_iter().filter_map(Result::ok).collect();
        assert_eq!(won.len(), 1, "exactly one");
        assert_eq!(won[0].family, first.family);
        assert!(workflow::refresh(w, &won[0].refresh_token).await.is_err(), "the family has ended");
        let who = workflow::who_has_token(w, b.owner.id, first.family).await.unwrap();
        assert_eq!(who, WhoIsIn::Nobody, "and its access tokens with it");
        workflow::refresh(w, &other.refresh_token).await.expect("another sign-in goes on");
    }
}
