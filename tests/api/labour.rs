//! What an hour costs, skills, working time and the what-if of forecasts over the API.

use std::io::Cursor;

use actix_web::test::TestRequest;
use serde_json::{Value, json};

use super::{Api, Client};
use crate::support::{Bench, on_both};

on_both!(
    labour_is_set_up_over_the_api,
    working_time_over_the_api,
    an_entry_is_put_right_over_the_api,
    what_if_over_the_api,
    a_photo_of_the_work_over_the_api,
);

async fn labour_is_set_up_over_the_api(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, mechanic) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.mechanic).await);
    let rate = |rate: &str| json!({ "grade": "Senior", "from": "2026-11-01", "rate": rate });
    mechanic.post("/labour/rates", rate("50")).await.problem(403);
    assert_eq!(owner.post("/labour/rates", rate("a lot")).await.pointers(422), ["/rate"]);
    let set = owner.post("/labour/rates", rate("50.00")).await.with(200);
    assert_eq!(
        (&set["rates"][0]["from"], &set["rates"][0]["rate"]["minor"]),
        (&json!("2026-11-01"), &json!(5_000))
    );

    let mats = format!("/labour/people/{}", b.mechanic.id);
    let skilled = json!({ "grade": "Senior", "skills": ["brakes", "fuel"] });
    mechanic.put(&mats, skilled.clone()).await.problem(403);
    let wrong = json!({ "grade": "Grand", "skills": [] });
    assert_eq!(owner.put(&mats, wrong).await.pointers(422), ["/grade"]);
    owner.put(&format!("/labour/people/{}", b.operator.id), skilled.clone()).await.problem(404);
    owner.put(&mats, skilled).await.with(200);
    owner.put("/labour/skills-needed", json!({ "systems": ["brakes"] })).await.with(200);
    let overtime = json!({ "a_day": { "after_hours": "8", "percent": 25 } });
    owner.put(&format!("/labour/overtime/{}", b.yard), overtime).await.with(200);
    let seen = owner.get("/labour").await.with(200);
    let of = |name: &str| {
        let all = seen["mechanics"].as_array().unwrap();
        all.iter().find(|m| m["person"]["name"] == name).unwrap_or_else(|| panic!("{name}")).clone()
    };
    assert_eq!(of("Mats Mechanic")["grade"], "Senior");
    assert_eq!(of("Mats Mechanic")["skills"], json!(["brakes", "fuel"]));
    assert_eq!((&of("Mia Mechanic")["grade"], &of("Mia Mechanic")["skills"]), (&Value::Null, &json!([])));
    assert_eq!(seen["skills_needed"], json!(["brakes"]));
    assert_eq!(seen["overtime"][0]["a_day"], json!({ "after_minutes": 480, "percent": 25 }));
    assert_eq!(seen["overtime"][0]["a_week"], Value::Null);
    // Saying what one is skilled in leaves the others and what asks for skill as they are.
    let mia = format!("/labour/people/{}", b.other_mechanic.id);
    owner.put(&mia, json!({ "grade": null, "skills": ["steering"] })).await.with(200);
    let seen = owner.get("/labour").await.with(200);
    assert_eq!(seen["skills_needed"], json!(["brakes"]));
    let skills: Vec<&Value> = seen["mechanics"].as_array().unwrap().iter().map(|m| &m["skills"]).collect();
    assert_eq!(skills, [&json!(["brakes", "fuel"]), &json!(["steering"])]);
    b.assert_sound().await;
    api.was_as_promised();
}

/// The clocks of Oslo: 02:00 to 03:00 is left out on 28 March 2027, and came twice on 25 October 2026 (IANA tz database).
async fn working_time_over_the_api(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, mechanic) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.mechanic).await);
    let here = format!("/yards/{}/working-time", b.yard);
    let week = json!(["07:00-15:30", "07:00-15:30", "", "", "", "22:00-06:00", "09:00-10:00"]);
    mechanic.put(&format!("{here}/week"), json!({ "week": week })).await.problem(403);
    let short = json!({ "week": ["07:00-15:30"] });
    assert_eq!(owner.put(&format!("{here}/week"), short).await.pointers(422), ["/week"]);
    let wrong = json!({ "week": ["early", "", "", "", "", "", ""] });
    assert_eq!(owner.put(&format!("{here}/week"), wrong).await.pointers(422), ["/shifts/0"]);
    let set = owner.put(&format!("{here}/week"), json!({ "week": week })).await.with(200);
    assert_eq!((&set["week"], &set["zone"]), (&week, &json!("Europe/Oslo")));

    // The night over each change of the clocks: the same text, an hour less or more that really passes.
    let night = async |from: &str| {
        let seen = owner.get(&format!("{here}?from={from}")).await.with(200);
        (seen["week"].clone(), seen["shifts"][0].clone())
    };
    let span = |from: &str, to: &str| json!({ "from": from, "to": to });
    let (kept, spring) = night("2027-03-27T12:00:00Z").await;
    assert_eq!((&kept, spring), (&week, span("2027-03-27T21:00:00Z", "2027-03-28T04:00:00Z")));
    let (kept, autumn) = night("2026-10-24T12:00:00Z").await;
    assert_eq!((&kept, autumn), (&week, span("2026-10-24T20:00:00Z", "2026-10-25T05:00:00Z")));
    // A shift within an hour that is left out, or that comes twice, keeps its text as well.
    let within = json!(["", "", "", "", "", "", "02:15-04:00"]);
    let set = owner.put(&format!("{here}/week"), json!({ "week": within })).await.with(200);
    assert_eq!(set["week"], within);
    let (kept, spring) = night("2027-03-27T12:00:00Z").await;
    assert_eq!((&kept, spring), (&within, span("2027-03-28T01:00:00Z", "2027-03-28T02:00:00Z")));
    let (_, autumn) = night("2026-10-24T12:00:00Z").await;
    assert_eq!(autumn, span("2026-10-25T00:15:00Z", "2026-10-25T03:00:00Z"), "the first of the two");

    let holiday = json!({ "day": "2026-11-29", "name": "Stock-taking" });
    let before = set["shifts"].as_array().unwrap().len();
    let set = owner.post(&format!("{here}/holidays"), holiday).await.with(200);
    assert_eq!(set["holidays"], json!([{ "day": "2026-11-29", "name": "Stock-taking" }]));
    assert_eq!(set["shifts"].as_array().unwrap().len(), before - 1);
    let wrong = json!({ "day": "29.11.", "name": "x" });
    assert_eq!(owner.post(&format!("{here}/holidays"), wrong).await.pointers(422), ["/day"]);
    let gone = delete(&owner, &format!("{here}/holidays/2026-11-29")).await;
    assert_eq!(gone["holidays"], json!([]));

    let away = |to: &str| json!({ "person": b.mechanic.id, "from": "2026-11-26T06:00:00Z", "to": to });
    let backwards = away("2026-11-25T06:00:00Z");
    assert_eq!(owner.post(&format!("{here}/absences"), backwards).await.pointers(422), ["/to"]);
    let set = owner.post(&format!("{here}/absences"), away("2026-11-27T06:00:00Z")).await.with(200);
    let absence = set["absences"][0].clone();
    assert_eq!(absence["person"]["name"], "Mats Mechanic");
    let one = format!("{here}/absences/{}", absence["id"].as_str().unwrap());
    assert_eq!(delete(&owner, &one).await["absences"], json!([]));
    b.assert_sound().await;
    api.was_as_promised();
}

async fn delete(client: &Client<'_>, path: &str) -> Value {
    client.send(TestRequest::delete(), path).await.with(200)
}

async fn an_entry_is_put_right_over_the_api(b: Bench) {
    let api = Api::new(&b).await;
    let (mechanic, other) = (api.sign_in(&b, &b.mechanic).await, api.sign_in(&b, &b.other_mechanic).await);
    let (operator, supervisor) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.supervisor).await);
    let order = operator.ground(b.machine).await;
    let here = format!("/work-orders/{order}");
    mechanic.post(&format!("{here}/claim"), Value::Null).await.with(200);
    let span = |from: &str, to: &str| json!({ "from": from, "to": to });
    let entered =
        mechanic.post(&format!("{here}/labour"), span("2026-11-25T05:00:00Z", "2026-11-25T05:30:00Z")).await;
    let entered = entered.with(200);
    // Half an hour at 60.00.
    assert_eq!(entered["cost"]["minor"], 3_000);
    let entry = format!("/labour/{}", entered["labour"][0]["id"].as_str().unwrap());
    let right =
        |to: &str, reason: &str| json!({ "from": "2026-11-25T05:00:00Z", "to": to, "reason": reason });
    let quarter = "2026-11-25T05:15:00Z";
    assert_eq!(mechanic.put(&entry, right(quarter, "")).await.pointers(422), ["/reason"]);
    let future = right("2026-11-25T09:00:00Z", "Typed wrong");
    assert_eq!(mechanic.put(&entry, future).await.pointers(422), ["/to"]);
    operator.put(&entry, right(quarter, "Typed wrong")).await.problem(403);
    other.put(&entry, right(quarter, "Typed wrong")).await.problem(403);
    let seen = mechanic.put(&entry, right(quarter, "Typed wrong")).await.with(200);
    assert_eq!((&seen["cost"]["minor"], &seen["labour"][0]["to"]), (&json!(1_500), &json!(quarter)));
    let seen = supervisor.put(&entry, right("2026-11-25T05:45:00Z", "Asked Mats")).await.with(200);
    assert_eq!(seen["cost"]["minor"], 4_500);
    b.assert_sound().await;
    api.was_as_promised();
}

async fn what_if_over_the_api(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, mechanic) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.mechanic).await);
    let operator = api.sign_in(&b, &b.operator).await;
    let day = "07:00-15:00";
    let week = json!({ "week": [day, day, day, day, day, "", ""] });
    owner.put(&format!("/yards/{}/working-time/week", b.yard), week).await.with(200);
    let order = operator.ground(b.machine).await;
    let here = format!("/work-orders/{order}");
    mechanic.post(&format!("{here}/claim"), Value::Null).await.with(200);
    let wait = json!({ "waiting_for": "parts", "until": "2026-12-09T11:00:00Z", "note": "a hose" });
    let number = mechanic.post(&format!("{here}/wait"), wait).await.with(200)["number"].clone();
    let asked = |days: &str| format!("/forecasts/earlier?number={number}&days={days}");
    let changes = mechanic.get(&asked("7")).await.with(200);
    let change = &changes["changes"][0];
    assert_eq!(change["work_order"], json!(order));
    assert!(change["sooner_minutes"].as_i64().unwrap() > 3 * 24 * 60, "{change}");
    assert_eq!(mechanic.get(&asked("0")).await.pointers(422), ["/days"]);
    assert_eq!(mechanic.get("/forecasts/earlier?number=999&days=1").await.pointers(422), ["/order"]);
    operator.get(&asked("1")).await.problem(403);
    let seen = mechanic.get(&here).await.with(200);
    assert_eq!(seen["waiting"]["until"], "2026-12-09T11:00:00Z", "nothing was saved");
    api.was_as_promised();
}

async fn a_photo_of_the_work_over_the_api(b: Bench) {
    let api = Api::new(&b).await;
    let (operator, mechanic) = (api.sign_in(&b, &b.operator).await, api.sign_in(&b, &b.mechanic).await);
    let order = operator.ground(b.machine).await;
    let mut png = Cursor::new(Vec::new());
    image::RgbImage::new(8, 8).write_to(&mut png, image::ImageFormat::Png).unwrap();
    let png = png.into_inner();
    let path = format!("/work-orders/{order}/photos");
    let send = async |who: &Client<'_>| {
        let request = TestRequest::put().insert_header(("Content-Type", "image/png"));
        who.send(request.set_payload(png.clone()), &path).await
    };
    send(&operator).await.problem(403);
    let photo = send(&mechanic).await.with(201)["photo"].clone();
    assert_eq!(send(&mechanic).await.with(200)["photo"], photo, "sent twice, there once");
    let seen = mechanic.get(&format!("/work-orders/{order}")).await.with(200);
    assert_eq!(seen["photos"], json!([photo]));
    api.was_as_promised();
}
