//! How anybody stops a machine from the pages: a hold by hand, a reported defect, and the tag that hangs on it.

use chock::domain::standing::Standing;
use chock::workflow;

use crate::support::browser::{Browser, hidden, picture};
use crate::support::{Bench, on_both};

on_both!(a_hold_by_hand_and_its_tag, the_tag_carries_what_1910_145_asks, a_report_in_doubt_holds);

async fn a_hold_by_hand_and_its_tag(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let mats = Browser::of(&b.workshop, &b.mechanic).await;
    let sara = Browser::of(&b.workshop, &b.supervisor).await;
    let gate = format!("/machines/{}", b.machine);
    otto.get(&format!("{gate}/tag")).await.is(409).says("U-07 is not held");
    let form = otto.get(&format!("{gate}/hold")).await;
    form.is(200).says("Ground U-07");
    let id = hidden(&form, "id");
    let place = format!("{gate}/hold");
    otto.send(&place, &[("id", &id), ("reason", " ")])
        .await
        .is(422)
        .says("Give a reason for the hold")
        .says(&id);
    for _ in 0..2 {
        otto.send(&place, &[("id", &id), ("reason", "Rolled into <ditch>")]).await.leads_to("?done=held");
    }
    let held = otto.get(&format!("{gate}?done=held")).await;
    held.says("The machine is out of service.")
        .says("Rolled into &#60;ditch&#62;")
        .says("Lift the hold on U-07");
    assert_eq!(held.html.matches("class=\"confirm\"").count(), 1, "one hold");

    let lift = format!("/holds/{id}/lift");
    mats.get(&gate)
        .await
        .says("Only Otto Operator or a supervisor lifts it")
        .says_not("Lift the hold on U-07");
    mats.send(&lift, &[("reason", "I want it"), ("machine", &gate)]).await.is(403);
    sara.send(&lift, &[("reason", ""), ("machine", &gate)]).await.is(422).says("Give a reason for lifting");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    sara.get(&gate).await.says("Otto Operator placed it and will be told");
    sara.send(&lift, &[("reason", "Looked at it"), ("machine", &gate)]).await.leads_to("?done=lifted");
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);

    // A hold that came from a defect offers no lifting, and refuses it.
    b.ground(b.machine).await;
    let from_defect = workflow::gate(&b.workshop, &b.owner, b.machine).await.unwrap().holds[0].id;
    sara.get(&gate).await.says("Ends when the defect is repaired").says_not("Lift the hold on U-07");
    let lift = format!("/holds/{from_defect}/lift");
    sara.send(&lift, &[("reason", "Looks fine"), ("machine", &gate)])
        .await
        .is(409)
        .says("retested and released");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
}

/// 29 CFR 1910.145(f)(4): a signal word and a major message, which is the hazard or what to do, understandable to all who
/// may be exposed; (f)(5) DANGER only where the hazard is immediate. As read in a page that quotes it.
async fn the_tag_carries_what_1910_145_asks(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let report = |system: &'static str| {
        [("what", "Leaks"), ("affects", system), ("fire", "no")].map(|(n, v)| (n.to_owned(), v.to_owned()))
    };
    for (machine, system, word) in [
        (b.machine, "cooling", "WARNING"),
        (b.machine, "brakes", "DANGER"),
        (b.second_machine, "fuel", "DANGER"),
    ] {
        let gate = format!("/machines/{machine}");
        otto.send_files(&format!("{gate}/report"), &report(system), &[]).await.leads_to("?done=reported");
        let tag = otto.get(&format!("{gate}/tag")).await;
        tag.is(200).says(&format!(">{word}</p>")).says("DO NOT USE").says("Leaks").says("Otto Operator");
        tag.says("25 November 2026, 07:00").says("isolates no energy and replaces no lockout/tagout");
        tag.says("class=\"qr\"").says("Only a signed release");
    }
    workflow::place_hold(&b.workshop, &b.operator, b.workshop.ambient.id(), b.machine, "Wait").await.unwrap();
    otto.get(&format!("/machines/{}/tag", b.machine)).await.says(">DANGER</p>");
}

async fn a_report_in_doubt_holds(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let gate = format!("/machines/{}", b.second_machine);
    let path = format!("{gate}/report");
    let form = otto.get(&path).await;
    form.is(200)
        .says("“not sure” counts as the worst answer")
        .says("By the checklist “Daily check, utility vehicle”, U-08 is out of service from the level “serious” on")
        .says("before you look closer");
    let answers = |given: &[(&str, &str)]| -> Vec<(String, String)> {
        given.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect()
    };
    let id = hidden(&form, "id");
    let slight = [
        ("id", id.as_str()),
        ("affects", "lights and signals"),
        ("fire", "no"),
        ("harm", "cannot hurt anybody"),
        ("worse", "no"),
        ("certain", "seen or felt"),
    ];
    otto.send_files(&path, &answers(&slight), &[])
        .await
        .is(422)
        .says("href=\"#report-what\"")
        .says("name=\"affects\" value=\"lights and signals\" checked")
        .says("name=\"harm\" value=\"cannot hurt anybody\" checked");
    let mut sent = answers(&slight);
    sent.extend(answers(&[("what", "Left lamp <out>")]));
    let png = picture();
    for _ in 0..2 {
        otto.send_files(&path, &sent, &[("photo", "lamp.png", &png)]).await.leads_to("?done=reported");
    }
    assert_eq!(b.standing(b.second_machine).await, Standing::Monitored);
    otto.get("/my-reports").await.is(200).says("Left lamp &#60;out&#62;").says("It is being watched, until");
    let lamp = workflow::gate(&b.workshop, &b.operator, b.second_machine).await.unwrap().defects[0].id;
    otto.get(&format!("/defects/{lamp}"))
        .await
        .says("Negligible × probable = medium (MIL-STD-882E Table III); this checklist grounds from serious.")
        .says("medium, 4B: negligible, probable; out of service from serious")
        .says("rule “risk level of the report”, Daily check, utility vehicle, version 1")
        .says("<dt>Can it burn?</dt><dd>no</dd>");

    // Nothing but what is wrong: every question counts as not sure.
    otto.send_files(&path, &answers(&[("what", "Something")]), &[("photo", "x.jpg", b"no picture")])
        .await
        .leads_to("?done=reported-no-photo");
    assert_eq!(b.standing(b.second_machine).await, Standing::OutOfService);
    otto.get("/my-reports").await.says("The machine is out of service until it is repaired");
    b.assert_sound().await;
}
