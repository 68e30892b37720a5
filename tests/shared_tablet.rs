//! One tablet in the yard, several people: changing by PIN, what a PIN is not enough for, and what ends it.

use actix_web::cookie::Cookie;
use actix_web::test::TestRequest;
use actix_web::web;
use chock::domain::person::{Act, Actor, Role};
use chock::domain::standing::Standing;
use chock::http::Site;
use chock::words::Lang;
use chock::workflow::{self, AuditRow};

use crate::support::browser::{Answer, Browser};
use crate::support::{Bench, PASSWORD, actor, on_both};

on_both!(
    from_one_to_the_next_by_pin,
    what_one_reads_is_not_the_next_ones_choice,
    what_is_no_pin,
    five_wrong_ones_end_it,
    many_at_once_are_looked_at_once,
    it_works_on_no_other_device,
    a_release_asks_for_the_password,
    a_pin_is_not_enough_to_set_up_people,
    what_ends_it,
    a_forgotten_device_signs_its_people_out,
    a_lost_tablet_is_forgotten_from_afar,
    a_new_password_ends_what_was_signed_in_with_the_old_one,
    over_tls_the_cookies_are_bound_to_the_host,
);

const PIN: &str = "7402";
const SARAS: &str = "395817";

fn new_pin(pin: &str) -> Vec<(&str, &str)> {
    vec![("pin", pin), ("again", pin), ("password", PASSWORD)]
}

/// As the tablet is after this person signed in with the password and set a PIN on it.
async fn with_pin(tablet: &Browser, person: &Actor, pin: &str) -> Browser {
    let signed_out = tablet.with_secret("");
    let email = format!("{}@yard.example", person.name.split(' ').next().unwrap().to_lowercase());
    let entered = signed_out.send("/sign-in", &[("email", &email), ("password", PASSWORD)]).await;
    let signed_in = signed_out.after(entered.is(303));
    let set = signed_in.send("/pin", &new_pin(pin)).await;
    signed_in.after(set.leads_to("/pin?done=pin-set"))
}

async fn enter(tablet: &Browser, person: &Actor, pin: &str) -> Answer {
    tablet.send("/change-person", &[("person", &person.id.to_string()), ("pin", pin)]).await
}

/// A tablet on which the operator and the supervisor have set a PIN; the supervisor was the last one to sign in.
async fn tablet(b: &Bench) -> Browser {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    Browser::of(&b.workshop, &b.supervisor).await;
    let tablet = with_pin(&otto, &b.operator, PIN).await;
    with_pin(&tablet, &b.supervisor, SARAS).await
}

async fn trail_of_the_device(b: &Bench) -> Vec<AuditRow> {
    let rows = workflow::audit_trail(&b.workshop, &b.owner, "", "", 200).await.unwrap();
    rows.into_iter().filter(|r| r.stream.starts_with("device ")).collect()
}

async fn from_one_to_the_next_by_pin(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    otto.get("/machines").await.is(200).says_not("Change person");
    otto.get("/phone").await.says("href=\"/pin\"");
    let tablet = tablet(&b).await;

    let page = tablet.get("/change-person").await;
    // Only names, and those of whoever has a PIN here.
    page.is(200).says("Otto Operator").says("inputmode=\"numeric\"").says("class=\"leave\"");
    page.says_not("Mats").says_not("@yard.example").says_not("supervisor");
    tablet.get("/machines").await.says("href=\"/change-person\"").says("Sara Supervisor");

    let before = tablet.secret.clone();
    let changed = enter(&tablet, &b.operator, PIN).await;
    let ottos = tablet.after(changed.leads_to("/"));
    ottos.get("/machines").await.is(200).says("Otto Operator").says_not("Sara Supervisor");
    let w = &b.workshop;
    assert_eq!(workflow::actor_of_session(w, &before).await.unwrap(), None, "hers is over");
    let now = workflow::actor_of_session(w, &ottos.secret).await.unwrap().unwrap();
    assert!(now.by_pin && now.id == b.operator.id && !now.may(Act::Release));
    let cookies = changed.headers.get_all("set-cookie").map(|set| set.to_str().unwrap());
    // The one that says the language is no secret.
    let secrets: Vec<&str> = cookies.filter(|set| !set.starts_with("language=")).collect();
    assert_eq!(secrets.len(), 2);
    for set in secrets {
        assert!(["HttpOnly", "SameSite=Lax", "Path=/"].iter().all(|a| set.contains(a)), "{set}");
    }

    // And back, from the sign-in page, when nobody is signed in.
    let nobody = ottos.after(ottos.send("/sign-out", &[]).await.is(303));
    nobody.get("/sign-in").await.says("href=\"/change-person\"");
    let saras = nobody.after(enter(&nobody, &b.supervisor, SARAS).await.leads_to("/"));
    saras.get("/").await.leads_to("/board");
    // A shift later it is over.
    b.wait(12 * 60 + 1);
    saras.get("/board").await.leads_to("/sign-in?to=/board");
    b.assert_sound().await;
}

/// Who never chose a language is shown what the one before them read, and it is not kept as theirs; what is chosen while
/// nobody is signed in is.
async fn what_one_reads_is_not_the_next_ones_choice(b: Bench) {
    let w = &b.workshop;
    let (otto, sara) = (Browser::of(w, &b.operator).await, Browser::of(w, &b.supervisor).await);
    let nobody = otto.with_secret("");
    for (whose, kept) in [(&sara, None), (&nobody, Some(Lang::Es))] {
        let chosen = whose.send("/language", &[("language", "es"), ("to", "/sign-in")]).await;
        let enters = TestRequest::post()
            .uri("/sign-in")
            .set_form([("email", "otto@yard.example"), ("password", PASSWORD)])
            .cookie(language(&chosen));
        let entered = nobody.ask(enters).await;
        assert!(language(entered.is(303)).value().starts_with("es"), "he goes on in it");
        assert_eq!(workflow::language_of(w, b.operator.id).await.unwrap(), kept);
    }
}

fn language(answer: &Answer) -> Cookie<'static> {
    let all = answer.headers.get_all("set-cookie").map(|set| set.to_str().unwrap().to_owned());
    all.map(|set| Cookie::parse(set).unwrap()).find(|c| c.name() == "language").expect("a language")
}

async fn what_is_no_pin(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    for (pin, sentence) in [
        ("123", "4 to 8 digits"),
        ("12a4", "4 to 8 digits"),
        ("5555", "not all the same"),
        ("4321", "not a run"),
    ] {
        otto.send("/pin", &new_pin(pin)).await.is(422).says(sentence).says("href=\"#pin-pin\"");
    }
    let unlike = otto.send("/pin", &[("pin", PIN), ("again", "7403"), ("password", PASSWORD)]).await;
    unlike.is(422).says("The two PINs are not the same").says_not(PIN);
    // A tablet left open does not take somebody else's PIN.
    let wrong = otto.send("/pin", &[("pin", PIN), ("again", PIN), ("password", "not the password")]).await;
    wrong.is(422).says("This is not your password");
    assert!(wrong.headers.get("set-cookie").is_none());
    assert!(trail_of_the_device(&b).await.is_empty());
}

async fn five_wrong_ones_end_it(b: Bench) {
    let tablet = tablet(&b).await;
    for (wait, left) in [(5, "4 more"), (15, "3 more"), (45, "2 more"), (135, "one more")] {
        let wrong = enter(&tablet, &b.operator, "9999").await;
        wrong.is(422).says("That is not the PIN").says(&format!("{wait} seconds")).says(left);
        assert!(wrong.headers.get("set-cookie").is_none());
        // Not even the right one, until the wait is over.
        enter(&tablet, &b.operator, PIN).await.is(422).says("Too soon");
        b.time.set(b.now() + chrono::TimeDelta::seconds(wait - 1));
        enter(&tablet, &b.operator, PIN).await.is(422).says("Too soon");
        b.time.set(b.now() + chrono::TimeDelta::seconds(1));
    }
    // Nobody else waits for it.
    enter(&tablet, &b.supervisor, SARAS).await.leads_to("/");
    let fifth = enter(&tablet, &b.operator, "9999").await;
    fifth.is(403).says("the PIN is gone on this device").says("Sign in with your password");
    b.wait(60);
    enter(&tablet, &b.operator, PIN).await.is(403).says("no PIN for this person");
    let trail = trail_of_the_device(&b).await;
    let ended: Vec<_> = trail.iter().filter(|r| r.act == "PIN ended").collect();
    assert_eq!(ended.len(), 1);
    assert_eq!((ended[0].said_why().here(), ended[0].by_id), ("wrong 5 times", None));
    assert_eq!(ended[0].subject, "person Otto Operator");

    // The password, and a new PIN, bring it back; four wrong ones and a right one begin again.
    let tablet = with_pin(&tablet, &b.operator, "8261").await;
    for _ in 0..2 {
        for _ in 0..4 {
            enter(&tablet, &b.operator, "9999").await.is(422);
            b.wait(3);
        }
        enter(&tablet, &b.operator, "8261").await.leads_to("/");
    }
    b.assert_sound().await;
}

async fn many_at_once_are_looked_at_once(b: Bench) {
    let tablet = tablet(&b).await;
    let tries = (0..12).map(|n| {
        let pin = if n == 11 { PIN.to_owned() } else { format!("90{n:02}") };
        let (tablet, otto) = (&tablet, &b.operator);
        async move { enter(tablet, otto, &pin).await }
    });
    let answers = futures_util::future::join_all(tries).await;
    let judged = answers.iter().filter(|a| a.html.contains("That is not the PIN") || a.status == 303).count();
    assert_eq!(judged, 1, "{:?}", answers.iter().map(|a| a.status).collect::<Vec<_>>());
}

async fn it_works_on_no_other_device(b: Bench) {
    let tablet = tablet(&b).await;
    let w = &b.workshop;
    // Without what the tablet keeps, with something made up, and with what another tablet keeps.
    let other = Browser::of(w, &b.mechanic).await;
    let other = with_pin(&other, &b.mechanic, "6193").await;
    let mut made_up = tablet.with_secret("");
    made_up.device = "made-up".to_owned();
    let mut none = tablet.with_secret("");
    none.device = String::new();
    for elsewhere in [&none, &made_up, &other] {
        let answer = enter(elsewhere, &b.operator, PIN).await;
        answer.is(403);
        assert!(answer.headers.get("set-cookie").is_none());
        elsewhere.get("/change-person").await.is(200).says_not("Otto Operator");
    }
    none.get("/change-person").await.says("No PIN works on this device");
    // Nor is it a password, on the pages or for the API.
    let form = [("email", "otto@yard.example"), ("password", PIN)];
    tablet.send("/sign-in", &form).await.is(403);
    let given = workflow::Credentials { email: "otto@yard.example", password: PIN };
    assert!(workflow::sign_in_api(w, given, None).await.is_err());
    // The cookie of the device lets nobody in by itself.
    let mut nobody = tablet.with_secret("");
    nobody.get("/machines").await.leads_to("/sign-in?to=/machines");
    nobody.secret = nobody.device.clone();
    nobody.get("/machines").await.leads_to("/sign-in?to=/machines");
    enter(&tablet, &b.operator, PIN).await.leads_to("/");
}

async fn a_release_asks_for_the_password(b: Bench) {
    let tablet = tablet(&b).await;
    let order = b.ground(b.machine).await;
    b.repair(order).await;
    b.wait(1);
    b.pass_retests(order).await;
    let here = format!("/work-orders/{order}");
    tablet.get(&here).await.is(200).says("U-07</span> to service?").says_not("release-password");

    let saras = tablet.after(enter(&tablet, &b.supervisor, SARAS).await.leads_to("/"));
    saras.get(&here).await.is(200).says("U-07</span> to service?").says("id=\"release-password\"");
    let release = format!("{here}/release");
    for (password, sentence) in [
        ("", "Give your password"),
        (SARAS, "This is not your password"),
        ("not the password", "This is not your password"),
    ] {
        let sent = [("confirm", "yes"), ("note", "Started twice"), ("password", password)];
        let refused = saras.send(&release, &sent).await;
        refused.is(422).says(sentence).says("href=\"#release-password\"").says("value=\"Started twice\"");
        assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    }
    // Not behind the form's back either: by the API with the page's session, nor by the use case itself.
    let by_pin = workflow::actor_of_session(&b.workshop, &saras.secret).await.unwrap().unwrap();
    let api = saras.send_json(&format!("/api/v1{here}/release"), "{}").await;
    api.is(403).says("takes your password");
    assert!(workflow::release(&b.workshop, &by_pin, order, "").await.is_err());
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);

    let sent = [("confirm", "yes"), ("note", "Started twice"), ("password", PASSWORD)];
    saras.send(&release, &sent).await.leads_to("?done=released");
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    // It was for this one step.
    let still = workflow::actor_of_session(&b.workshop, &saras.secret).await.unwrap().unwrap();
    assert!(still.by_pin);
    b.assert_sound().await;
}

async fn a_pin_is_not_enough_to_set_up_people(b: Bench) {
    let olga = Browser::of(&b.workshop, &b.owner).await;
    let tablet = with_pin(&olga, &b.owner, PIN).await;
    tablet.get("/set-up/people").await.is(200);
    let by_pin = tablet.after(enter(&tablet, &b.owner, PIN).await.leads_to("/"));
    let refused = by_pin.get("/set-up/people").await;
    refused.is(403).says("set up people takes your password").says("href=\"/sign-in\"");
    let person = format!("/set-up/people/{}", b.operator.id);
    let make_owner = [("name", "Otto Operator"), ("email", "otto@yard.example"), ("roles", "owner")];
    by_pin.send(&person, &make_owner).await.is(403);
    by_pin.send(&format!("{person}/invite"), &[]).await.is(403);
    let one_person = format!("/set-up/yards/{}/one-person", b.yard);
    by_pin.send(&one_person, &[("one_person", "yes")]).await.is(403).says("takes your password");
    assert_eq!(actor(&b.workshop, b.operator.id).await.roles, [Role::Operator]);
    // What somebody else stopped is not put back into use by PIN; stopping it takes nothing.
    let hold = b.workshop.ambient.id();
    workflow::place_hold(&b.workshop, &b.supervisor, hold, b.machine, "Looked odd").await.unwrap();
    by_pin.send(&format!("/holds/{hold}/lift"), &[("reason", "Looks well")]).await.is(403);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let id = b.workshop.ambient.id::<uuid::Uuid>().to_string();
    let stop = [("id", id.as_str()), ("reason", "Smells of fuel")];
    by_pin.send(&format!("/machines/{}/hold", b.second_machine), &stop).await.is(303);
    assert_eq!(b.standing(b.second_machine).await, Standing::OutOfService);

    let password = [("email", "olga@yard.example"), ("password", PASSWORD), ("to", "/set-up/people")];
    let again = by_pin.after(by_pin.send("/sign-in", &password).await.leads_to("/set-up/people"));
    again.get("/set-up/people").await.is(200);
    assert_eq!(workflow::actor_of_session(&b.workshop, &by_pin.secret).await.unwrap(), None);
}

async fn what_ends_it(b: Bench) {
    let w = &b.workshop;
    let tablet = tablet(&b).await;
    let ottos = tablet.after(enter(&tablet, &b.operator, PIN).await.leads_to("/"));
    workflow::disable_person(w, &b.owner, b.operator.id, true).await.unwrap();
    ottos.get("/machines").await.leads_to("/sign-in?to=/machines");
    enter(&tablet, &b.operator, PIN).await.is(403);
    tablet.get("/change-person").await.says_not("Otto Operator");
    workflow::disable_person(w, &b.owner, b.operator.id, false).await.unwrap();
    enter(&tablet, &b.operator, PIN).await.is(403).says("no PIN for this person");

    // A new password by a one-time link: the PIN and what it opened are over.
    let saras = tablet.after(enter(&tablet, &b.supervisor, SARAS).await.leads_to("/"));
    let link = workflow::invite_again(w, &b.owner, b.supervisor.id).await.unwrap();
    workflow::accept_invitation(w, &link, "", "", "another password").await.unwrap();
    saras.get("/board").await.leads_to("/sign-in?to=/board");
    enter(&tablet, &b.supervisor, SARAS).await.is(403);

    // One's own can be taken off.
    let mats = Browser::of(w, &b.mechanic).await;
    let tablet = with_pin(&mats, &b.mechanic, "6193").await;
    tablet.get("/pin").await.says("Take my PIN off").says("Mats Mechanic");
    tablet.send("/pin/remove", &[]).await.leads_to("/pin?done=pin-ended");
    enter(&tablet, &b.mechanic, "6193").await.is(403);
    b.assert_sound().await;
}

async fn a_forgotten_device_signs_its_people_out(b: Bench) {
    let tablet = tablet(&b).await;
    let ottos = tablet.after(enter(&tablet, &b.operator, PIN).await.leads_to("/"));
    let by_password = Browser::of(&b.workshop, &b.mechanic).await;
    let forgotten = ottos.send("/pin/forget", &[]).await;
    forgotten.leads_to("/sign-in?done=device-forgotten");
    let after = ottos.after(&forgotten);
    assert_eq!((after.secret.as_str(), after.device.as_str()), ("", ""));
    ottos.get("/machines").await.leads_to("/sign-in?to=/machines");
    for person in [&b.operator, &b.supervisor] {
        enter(&ottos, person, if person.id == b.operator.id { PIN } else { SARAS }).await.is(403);
    }
    by_password.get("/machines").await.is(200);
    let trail = trail_of_the_device(&b).await;
    let acts: Vec<&str> = trail.iter().rev().map(|r| r.act.as_str()).collect();
    assert_eq!(acts, ["device trusted", "PIN set", "PIN set", "device forgotten"]);
    let last = &trail[0];
    assert_eq!((last.by_name.as_str(), last.by_id), ("Otto Operator", Some(b.operator.id)));
    assert_eq!(last.said_why(), "PINs ended: Otto Operator, Sara Supervisor");
    b.assert_sound().await;
}

async fn a_lost_tablet_is_forgotten_from_afar(b: Bench) {
    let w = &b.workshop;
    let tablet = tablet(&b).await;
    // Otto came in by PIN, Mats with his password on the same tablet; both have their own phones as well.
    let ottos = tablet.after(enter(&tablet, &b.operator, PIN).await.leads_to("/"));
    let entered = |email: &'static str| [("email", email), ("password", PASSWORD)];
    let ottos_phone = Browser::of(w, &b.mechanic).await.with_secret("");
    let ottos_phone =
        ottos_phone.after(ottos_phone.send("/sign-in", &entered("otto@yard.example")).await.is(303));
    let mats = tablet.with_secret("");
    let mats = mats.after(mats.send("/sign-in", &entered("mats@yard.example")).await.is(303));
    mats.get("/queue").await.is(200);
    let mut desk = ottos_phone.with_secret("");
    desk.device = String::new();
    let desk = desk.after(desk.send("/sign-in", &entered("sara@yard.example")).await.is(303));

    ottos_phone.get("/set-up/devices").await.is(403);
    let page = desk.get("/set-up/devices").await;
    page.is(200)
        .says("PINs of Otto Operator, Sara Supervisor")
        .says("Trusted by Otto Operator, ")
        .says("Last PIN ")
        .says("Signed in on it now: Mats Mechanic, Otto Operator")
        .says_not("the one you are using");
    let saras = tablet.with_secret("");
    let saras = saras.after(saras.send("/sign-in", &entered("sara@yard.example")).await.is(303));
    saras.get("/set-up/devices").await.is(200).says("the one you are using");
    // Nobody of another yard sees it, nor forgets it.
    let stranger = Browser::of(w, &b.somebody_elsewhere().await).await;
    stranger.get("/set-up/devices").await.is(200).says("No device is trusted").says_not("Otto");
    let (_, rest) = page.html.split_once("action=\"/set-up/devices/").expect("a form");
    let forget = format!("/set-up/devices/{}", rest.split('"').next().unwrap());
    stranger.send(&forget, &[]).await.is(404);
    ottos.get("/machines").await.is(200);

    desk.send(&forget, &[]).await.leads_to("/set-up/devices?done=lost-device-forgotten");
    ottos.get("/machines").await.leads_to("/sign-in?to=/machines");
    mats.get("/queue").await.leads_to("/sign-in?to=/queue");
    saras.get("/board").await.leads_to("/sign-in?to=/board");
    for (person, pin) in [(&b.operator, PIN), (&b.supervisor, SARAS)] {
        enter(&tablet, person, pin).await.is(403).says("No PIN works on this device");
    }
    ottos_phone.get("/machines").await.is(200);
    desk.get("/set-up/devices").await.is(200).says("No device is trusted");
    desk.send(&forget, &[]).await.is(404);
    let last = trail_of_the_device(&b).await.remove(0);
    assert_eq!((last.act.as_str(), last.by_id), ("device forgotten", Some(b.supervisor.id)));
    assert!(last.said_why().here().ends_with("PINs ended: Otto Operator, Sara Supervisor"), "{}", last.why);
    b.assert_sound().await;
}

async fn a_new_password_ends_what_was_signed_in_with_the_old_one(b: Bench) {
    let w = &b.workshop;
    let desk = Browser::of(w, &b.supervisor).await;
    let given = workflow::Credentials { email: "sara@yard.example", password: PASSWORD };
    let api = workflow::sign_in_api(w, given, None).await.unwrap();
    let otto = Browser::of(w, &b.operator).await;
    desk.get("/board").await.is(200);
    let link = workflow::invite_again(w, &b.owner, b.supervisor.id).await.unwrap();
    // The link alone ends nothing: it may have been made in error.
    desk.get("/board").await.is(200);
    let new = [("password", "another password"), ("again", "another password")];
    let phone = desk.with_secret("");
    let phone = phone.after(phone.send(&format!("/welcome/{link}"), &new).await.is(303));
    phone.get("/board").await.is(200);
    desk.get("/board").await.leads_to("/sign-in?to=/board");
    assert!(workflow::refresh(w, &api.refresh_token).await.is_err());
    otto.get("/machines").await.is(200);
}

/// The prefix and what it asks for: RFC 6265bis, 4.1.3.2; from memory.
async fn over_tls_the_cookies_are_bound_to_the_host(b: Bench) {
    let mut otto = Browser::of(&b.workshop, &b.operator).await;
    let site = Site { public_url: "https://yard.example".to_owned(), ..otto.site.get_ref().clone() };
    otto.site = web::Data::new(site);
    let session = Cookie::new("__Host-chock", otto.secret.clone());
    let by_pin = |path: &'static str, fields: Vec<(&'static str, String)>, device: Option<String>| {
        let mut request = TestRequest::post().uri(path).set_form(fields).cookie(session.clone());
        if let Some(device) = device {
            request = request.cookie(Cookie::new("__Host-chock-device", device));
        }
        request
    };
    let new: Vec<_> = new_pin(PIN).into_iter().map(|(name, value)| (name, value.to_owned())).collect();
    let set = otto.ask(by_pin("/pin", new, None)).await;
    set.leads_to("/pin?done=pin-set");
    let device = bound_to_the_host(&set, "__Host-chock-device");
    let me = vec![("person", b.operator.id.to_string()), ("pin", PIN.to_owned())];
    let entered = otto.ask(by_pin("/change-person", me.clone(), Some(device.clone()))).await;
    entered.leads_to("/");
    bound_to_the_host(&entered, "__Host-chock");
    assert_eq!(bound_to_the_host(&entered, "__Host-chock-device"), device);
    // Under the plain name it is nobody's.
    otto.device = device;
    otto.ask(by_pin("/change-person", me, None)).await.is(403);
}

fn bound_to_the_host(answer: &Answer, name: &str) -> String {
    let all: Vec<_> = answer.headers.get_all("set-cookie").map(|s| s.to_str().unwrap().to_owned()).collect();
    let cookies = all.iter().map(|s| Cookie::parse(s.clone()).unwrap());
    let cookie =
        cookies.into_iter().find(|c| c.name() == name).unwrap_or_else(|| panic!("no {name}: {all:?}"));
    assert_eq!((cookie.secure(), cookie.http_only()), (Some(true), Some(true)));
    assert_eq!((cookie.path(), cookie.domain()), (Some("/"), None));
    assert_eq!(cookie.same_site(), Some(actix_web::cookie::SameSite::Lax));
    cookie.value().to_owned()
}
