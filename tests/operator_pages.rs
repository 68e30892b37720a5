//! The operator's pages, used as a browser without scripts uses them: find the machine, walk round it, read the verdict.

use std::collections::BTreeSet;

use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE, SET_COOKIE, X_CONTENT_TYPE_OPTIONS};
use chock::domain::checklist::Asks;
use chock::domain::ids::{CheckId, MachineId};
use chock::domain::person::Role;
use chock::domain::standing::Standing;
use chock::workflow::{self, NewMachine, NewPerson};

use crate::support::browser::{Answer, Browser, hidden, picture};
use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    a_check_from_the_first_field_to_the_verdict,
    nothing_typed_is_lost,
    a_photo_that_cannot_be_read_does_not_lose_the_check,
    photos_are_for_those_who_may_see_the_machine,
    signing_in_and_out,
    a_one_time_link_works_once,
    the_list_finds_machines_and_keeps_its_place,
    the_record_tells_everything,
    figures_are_asked_for_in_the_persons_own_units,
);

/// What the form of a machine's check holds, with every item answered well.
pub struct Walk {
    pub fields: Vec<(String, String)>,
    pub check: CheckId,
}

impl Walk {
    pub async fn begin(b: &Bench, browser: &Browser, machine: MachineId, hours: &str) -> Self {
        let page = browser.get(&format!("/machines/{machine}/check")).await;
        page.is(200);
        let check = hidden(&page, "check");
        let mut walk = Self { check: check.parse().unwrap(), fields: Vec::new() };
        walk.set("check", &check);
        walk.set("checklist", &hidden(&page, "checklist"));
        walk.set("load", "unladen");
        walk.set("hours", hours);
        for stop in b.checklist.walk() {
            let n = stop.index;
            let outcome = match &stop.item.asks {
                Asks::Level => "between",
                Asks::Measure(m) => {
                    walk.set(&format!("a.{n}.value"), if m.base.as_str() == "mm" { "4.0" } else { "120" });
                    walk.set(&format!("a.{n}.unit"), m.base.as_str());
                    "measured"
                }
                Asks::Condition | Asks::Function => "ok",
            };
            walk.set(&format!("a.{n}.outcome"), outcome);
        }
        walk
    }

    pub fn set(&mut self, name: &str, value: &str) {
        self.fields.retain(|(n, _)| n != name);
        self.fields.push((name.to_owned(), value.to_owned()));
    }

    pub fn answer(&mut self, b: &Bench, item: &str, position: &str, name: &str, value: &str) {
        self.set(&format!("a.{}.{name}", stop(b, item, position)), value);
    }

    pub async fn send(
        &self,
        browser: &Browser,
        machine: MachineId,
        photos: &[(&str, &str, &[u8])],
    ) -> Answer {
        browser.send_files(&format!("/machines/{machine}/check"), &self.fields, photos).await
    }
}

fn stop(b: &Bench, item: &str, position: &str) -> usize {
    let position = Some(position).filter(|p| !p.is_empty());
    b.checklist.walk().iter().find(|s| s.is(item, position)).expect("the item is on the checklist").index
}

async fn a_check_from_the_first_field_to_the_verdict(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let page = otto.get(&format!("/machines/{}/check", b.machine)).await;
    page.is(200)
        .says("Last time 1200.0 h")
        .says("Never feel for a leak with your hand")
        .says("at least 1.5 mm");
    page.says("at least 14.5 psi, unladen").says("at least 21.8 psi, laden");

    let well = Walk::begin(&b, &otto, b.machine, "1201").await;
    well.send(&otto, b.machine, &[]).await.leads_to(&format!("/checks/{}", well.check));
    let verdict = otto.get(&format!("/checks/{}", well.check)).await;
    verdict
        .is(200)
        .says("data-standing=\"fit for use\"")
        .says("You may use U-07.")
        .says("Nobody had to be told");
    verdict.says_not("Print the tag");

    let mut walk = Walk::begin(&b, &otto, b.machine, "1202").await;
    walk.answer(&b, "brake-pad", "front-left", "value", "1.2");
    walk.answer(&b, "brake-pad", "front-left", "note", "Grinds <downhill>");
    walk.answer(&b, "engine-oil-level", "", "outcome", "corrected");
    walk.answer(&b, "engine-oil-level", "", "correction", "topped up");
    walk.answer(&b, "engine-oil-level", "", "amount", "0,3");
    walk.answer(&b, "engine-oil-level", "", "amount_unit", "L");
    let photo = format!("a.{}.photo", stop(&b, "brake-pad", "front-left"));
    let png = picture();
    let files = [(photo.as_str(), "pad.png", png.as_slice())];
    walk.send(&otto, b.machine, &files).await.leads_to(&format!("/checks/{}", walk.check));
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);

    let verdict = otto.get(&format!("/checks/{}", walk.check)).await;
    verdict.is(200).says("data-standing=\"out of service\"").says("Do not use").says("Print the tag");
    verdict.says("Brake pad, front left: 1.2 mm, at least 1.5 mm").says("Take the key out");
    verdict.says("Sara Supervisor: mail on its way").says("Grinds &#60;downhill&#62;");
    verdict.says("corrected: topped up (0.3 L)");
    // Another machine of the same class in the same yard is fit for use.
    verdict.says("Take another machine").says("U-08");

    // A double tap: the same answer, one check, one photo.
    walk.send(&otto, b.machine, &files).await.leads_to(&format!("/checks/{}", walk.check));
    let v = workflow::verdict(&b.workshop, &b.operator, walk.check).await.unwrap();
    assert_eq!(v.photos.len(), 1);
    let record = workflow::machine_record(&b.workshop, &b.operator, b.machine, 50).await.unwrap();
    assert_eq!((record.checks.len(), record.defects.len()), (2, 1));

    let page = otto.get(&format!("/machines/{}/check", b.machine)).await;
    page.says("U-07 is held").says("Open already").says("Last time 1202.0 h").says("<dd>1.2 mm</dd>");
    let gate = otto.get(&format!("/machines/{}", b.machine)).await;
    gate.is(200).says("data-standing=\"out of service\"").says("Held since today 07:00");
    b.assert_sound().await;
}

async fn nothing_typed_is_lost(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let mut walk = Walk::begin(&b, &otto, b.machine, "12").await;
    let pad = stop(&b, "brake-pad", "rear-left");
    let horn = stop(&b, "horn", "");
    walk.set(&format!("a.{pad}.value"), "10000");
    walk.set(&format!("a.{pad}.unit"), "in");
    walk.set(&format!("a.{horn}.outcome"), "defect");
    walk.set(&format!("a.{horn}.note"), "Only \"clicks\"");
    let latch = stop(&b, "belt-latch", "driver");
    walk.fields.retain(|(n, _)| n != &format!("a.{latch}.outcome"));
    let png = picture();
    let photo = format!("a.{horn}.photo");
    let back = walk.send(&otto, b.machine, &[(&photo, "h.png", &png)]).await;
    back.is(422).says("3 answers need your attention").says("Choose your photos again");
    back.says("href=\"#hours\"").says("showed 1200.0 before").says("The hours are right as I typed them");
    back.says(&format!("href=\"#a{pad}-value\"")).says("10000 in cannot be right").says("value=\"10000\"");
    back.says(&format!("href=\"#a{latch}-outcome\"")).says("Seat belt latch, driver is not answered");
    back.says("Only &#34;clicks&#34;");
    let chosen = format!("name=\"a.{horn}.outcome\" value=\"defect\" checked");
    back.says(&chosen);
    assert_eq!(hidden(&back, "check"), walk.check.to_string(), "the same check goes on");
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse, "nothing was recorded");

    // Without the load, everything else is asked at once too.
    walk.fields.retain(|(n, _)| n != "load");
    let back = walk.send(&otto, b.machine, &[]).await;
    back.is(422).says("href=\"#load\"").says("Seat belt latch, driver is not answered");

    walk.set("load", "laden");
    walk.set("hours_confirmed", "on");
    walk.set(&format!("a.{pad}.value"), "0.2");
    walk.set(&format!("a.{latch}.outcome"), "ok");
    for wheel in ["front-left", "front-right", "rear-left", "rear-right"] {
        walk.answer(&b, "tyre-pressure", wheel, "value", "160");
    }
    walk.send(&otto, b.machine, &[]).await.leads_to(&format!("/checks/{}", walk.check));
    // The horn is watched, not held.
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);

    // What arrives in pieces is no check.
    otto.send_files(&format!("/machines/{}/check", b.machine), &[], &[]).await.is(400);
    otto.get("/machines/no-machine/check").await.is(404).says("There is no page at this address");
}

async fn a_photo_that_cannot_be_read_does_not_lose_the_check(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let mut walk = Walk::begin(&b, &otto, b.machine, "1201").await;
    let leak = stop(&b, "fuel-leak", "left-side");
    walk.set(&format!("a.{leak}.outcome"), "defect");
    let photo = format!("a.{leak}.photo");
    let sent = walk.send(&otto, b.machine, &[(&photo, "leak.heic", b"no picture at all")]).await;
    sent.leads_to(&format!("/checks/{}?photos={leak}", walk.check));
    let verdict = otto.get(&sent.to).await;
    verdict.is(200).says("One photo was not kept").says("Fuel and injection lines, left side");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
}

async fn photos_are_for_those_who_may_see_the_machine(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let mut walk = Walk::begin(&b, &otto, b.machine, "1201").await;
    walk.answer(&b, "horn", "", "outcome", "defect");
    let (photo, png) = (format!("a.{}.photo", stop(&b, "horn", "")), picture());
    walk.send(&otto, b.machine, &[(&photo, "horn.png", &png)]).await;
    let v = workflow::verdict(&b.workshop, &b.operator, walk.check).await.unwrap();
    let path = format!("/photos/{}", v.photos[0].id);
    let answer = otto.get(&path).await;
    answer.is(200);
    assert_eq!(answer.headers.get(CONTENT_TYPE).unwrap(), "image/jpeg");
    assert_eq!(answer.headers.get(X_CONTENT_TYPE_OPTIONS).unwrap(), "nosniff");
    assert!(answer.headers.get(CACHE_CONTROL).unwrap().to_str().unwrap().starts_with("private"));
    let kept = image::load_from_memory(&answer.bytes).unwrap();
    assert_eq!((kept.width(), kept.height()), (40, 20));
    assert_eq!(answer.bytes.len(), usize::try_from(v.photos[0].bytes).unwrap());

    let stranger = Browser::of(&b.workshop, &b.somebody_elsewhere().await).await;
    stranger.get(&path).await.is(404);
    stranger.get(&format!("/checks/{}", walk.check)).await.is(404);
    stranger.get(&format!("/machines/{}", b.machine)).await.is(404);
    stranger.get("/u/u7").await.is(404);
    stranger.send(&format!("/machines/{}/hold", b.machine), &[("reason", "mine")]).await.is(404);
    otto.with_secret("guessed").get(&path).await.leads_to(&format!("/sign-in?to={path}"));
}

async fn signing_in_and_out(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let nobody = otto.with_secret("");
    let gate = format!("/machines/{}", b.machine);
    let asked = nobody.get(&gate).await;
    asked.is(303);
    assert_eq!(asked.to, format!("/sign-in?to={gate}"));
    let form = nobody.get(&asked.to).await;
    form.is(200).says(&format!("name=\"to\" value=\"{gate}\""));

    let wrong = [("email", "otto@yard.example"), ("password", "guessed"), ("to", "/")];
    nobody
        .send("/sign-in", &wrong)
        .await
        .is(403)
        .says("do not fit together")
        .says("otto@yard.example")
        .says_not("guessed");
    let right = [("email", "Otto@Yard.example"), ("password", PASSWORD), ("to", gate.as_str())];
    let entered = nobody.send("/sign-in", &right).await;
    entered.leads_to(&gate);
    let cookie = entered.headers.get(SET_COOKIE).unwrap().to_str().unwrap().to_owned();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"), "{cookie}");
    let secret = cookie.split(';').next().unwrap().strip_prefix("chock=").unwrap();
    let signed_in = otto.with_secret(secret);
    signed_in.get(&gate).await.is(200).says("Otto Operator");
    let away = [("email", "otto@yard.example"), ("password", PASSWORD), ("to", "//evil.example")];
    assert_eq!(nobody.send("/sign-in", &away).await.to, "/");

    signed_in.send("/sign-out", &[]).await.leads_to("/sign-in?done=signed-out");
    signed_in.get(&gate).await.is(303);

    for (person, first) in
        [(&b.operator, "/machines"), (&b.mechanic, "/queue"), (&b.supervisor, "/board"), (&b.owner, "/board")]
    {
        Browser::of(&b.workshop, person).await.get("/").await.leads_to(first);
    }
}

async fn a_one_time_link_works_once(b: Bench) {
    let new = NewPerson {
        name: "Nina New".into(),
        email: "nina@yard.example".into(),
        roles: vec![Role::Operator],
        yards: vec![b.yard],
        rate_minor: 0,
    };
    let (_, secret) = workflow::add_person(&b.workshop, &b.owner, new).await.unwrap();
    let nobody = Browser::of(&b.workshop, &b.operator).await.with_secret("");
    let link = format!("/welcome/{secret}");
    nobody.get(&link).await.is(200).says("Welcome, Nina New").says_not("welcome-name");
    let send = |password, again| [("password", password), ("again", again)];
    nobody.send(&link, &send("short", "short")).await.is(422).says("10 to 256 characters");
    nobody.send(&link, &send("three plain words", "three other words")).await.is(422).says("not the same");
    nobody.send(&link, &send("three plain words", "three plain words")).await.leads_to("/");
    nobody.get(&link).await.is(409).says("has been used or has run out");
    nobody.send(&link, &send("three plain words", "three plain words")).await.is(409);
    let given = [("email", "nina@yard.example"), ("password", "three plain words")];
    nobody.send("/sign-in", &given).await.leads_to("/");
}

async fn the_list_finds_machines_and_keeps_its_place(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    for n in 0..55 {
        let machine = NewMachine {
            yard: b.yard,
            unit_number: format!("Q-{n:02}"),
            class: "quad".into(),
            description: if n == 0 { "=HYPERLINK(\"x\")".into() } else { String::new() },
            serial: String::new(),
            engine_hours: None,
        };
        workflow::add_machine(&b.workshop, &b.owner, machine).await.unwrap();
    }
    b.ground(b.machine).await;
    otto.get("/machines?q=u%207").await.leads_to(&format!("/machines/{}", b.machine));
    otto.get("/u/U-07").await.leads_to(&format!("/machines/{}", b.machine));
    let first = otto.get("/machines").await;
    first.is(200).says("Q-00").says("Next 50").says_not("U-07");
    let next = first.html.split("href=\"").find(|h| h.contains("after=")).unwrap().split('"').next().unwrap();
    let second = otto.get(&next.replace("&#38;", "&").replace("&amp;", "&")).await;
    second.is(200).says("U-07").says("U-08").says("Back to the first").says_not("Next 50").says_not("Q-00");

    let held = otto.get("/machines?standing=out+of+service").await;
    held.says("U-07").says_not("U-08").says("1 machine").says("today 07:00</time>, Otto Operator");
    otto.get("/machines?standing=fit+for+use&class=utility+vehicle").await.says("U-08").says_not("U-07");
    otto.get("/machines?q=u").await.says("2 machines");
    otto.get("/machines?q=nothing-like-it").await.says("No machine here fits that");
    otto.get("/machines?yard=Elsewhere").await.is(404);

    let file = otto.get("/machines.csv").await;
    file.is(200).says("\r\nU-07,out of service,utility vehicle,Two-seat,North yard,2000.0,1,0,");
    // Formula characters are made harmless; the field is quoted as RFC 4180 has it.
    file.says("\r\nQ-00,fit for use,quad,\"'=HYPERLINK(\"\"x\"\")\",North yard,,0,0,,\r\n");
    assert_eq!(file.html.lines().count(), 1 + 57);
    let stranger = Browser::of(&b.workshop, &b.somebody_elsewhere().await).await;
    assert_eq!(stranger.get("/machines.csv").await.html.lines().count(), 1);
}

async fn the_record_tells_everything(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let order = b.ground(b.machine).await;
    b.wait(30);
    b.repair(order).await;
    otto.get("/my-reports").await.says("Repaired: Replaced. Retest and release are next.");
    b.pass_retests(order).await;
    otto.get("/my-reports").await.says("Repaired: Replaced. The retest passed. Release is next.");
    workflow::release(&b.workshop, &b.supervisor, order, "Sound").await.unwrap();
    let record = otto.get(&format!("/machines/{}/record", b.machine)).await;
    record.is(200).says("defect raised").says("defect closed").says("cause: Chafed; done: Replaced");
    record.says("work order opened").says("release").says("“Sound”").says("Sara Supervisor");
    record.says_not("EUR");
    let mats = Browser::of(&b.workshop, &b.mechanic).await;
    mats.get(&format!("/machines/{}/record", b.machine)).await.says("EUR");
    otto.get("/my-reports").await.says("Cause: Chafed. Done: Replaced.");
    let check = workflow::machine_record(&b.workshop, &b.owner, b.machine, 1).await.unwrap().checks[0].id;
    otto.get(&format!("/checks/{check}")).await.says("Since this check U-07 was released");
    // What cannot be shown leads on, with the menu of whoever asked around it.
    let no_tag = otto.get(&format!("/machines/{}/tag", b.machine)).await;
    no_tag.is(409).says("Otto Operator").says("href=\"/my-reports\"").says("Back to U-07");
    otto.get("/nowhere").await.is(404).says("Otto Operator").says("Español");
    otto.get("/set-up").await.is(403).says("Otto Operator");
    otto.get("/set-up/checklists")
        .await
        .is(200)
        .says("href=\"/machines\">Back to the machines")
        .says_not("Back to set-up");
}

/// The form asks in the units a person chose, and says its limits in them; nobody else's form changes.
async fn figures_are_asked_for_in_the_persons_own_units(b: Bench) {
    let browser = Browser::of(&b.workshop, &b.operator).await;
    let form = format!("/machines/{}/check", b.machine);
    // The checklist's own first units.
    let usual = ["psi", "mm", "°C"];
    assert_eq!(asked_in(&browser.get(&form).await), usual.map(str::to_owned).into());
    browser.send("/me", &[("language", "en"), ("units", "furlongs")]).await.is(422);
    browser.send("/me", &[("language", "en"), ("units", "metric, bar")]).await.is(303);
    let page = browser.get(&form).await;
    assert_eq!(asked_in(&page), ["bar", "mm", "°C"].map(str::to_owned).into());
    let limits: Vec<&str> =
        page.html.split("<dd>").skip(1).filter_map(|rest| rest.split("</dd>").next()).collect();
    let in_unit = |unit: &str| limits.iter().any(|l| l.contains(unit));
    assert!(in_unit(" bar") && !in_unit(" psi"), "limits are in the same unit: {limits:?}");
    browser.send("/me", &[("language", "en"), ("units", "US customary")]).await.is(303);
    assert_eq!(asked_in(&browser.get(&form).await), ["psi", "in", "°F"].map(str::to_owned).into());
    let other = Browser::of(&b.workshop, &b.mechanic).await;
    assert_eq!(asked_in(&other.get(&form).await), usual.map(str::to_owned).into());
    browser.send("/me", &[("language", "en"), ("units", "")]).await.is(303);
    assert_eq!(asked_in(&browser.get(&form).await), usual.map(str::to_owned).into());
}

/// Units that stand chosen beside figures of pressure, length and temperature.
fn asked_in(page: &Answer) -> BTreeSet<String> {
    let chosen = page.html.split("<option selected>").skip(1).filter_map(|rest| rest.split('<').next());
    chosen
        .filter(|unit| !matches!(*unit, "L" | "mL" | "US qt" | "US fl oz" | "h"))
        .map(str::to_owned)
        .collect()
}
