//! Who hears what, within what the owner requires; acknowledging by link; the next in line; quiet hours; the digest.

use std::collections::BTreeMap;
use std::sync::Arc;

use chock::domain::alert::AlertState;
use chock::domain::checklist::System;
use chock::domain::hearing::{AlertKind, QuietHours, Wanted};
use chock::domain::person::{Actor, Role};
use chock::notify::Memory;
use chock::tasks::{Post, deliver_once};
use chock::words::Lang;
use chock::workflow::{self, HearingRuleRow, NewPerson, OwnChoice, ReportDefect};
use chrono::{DateTime, NaiveTime, Utc};

use crate::support::served::Served;
use crate::support::{Bench, on_both, slight};

on_both!(
    somebody_always_hears_of_a_lockout,
    what_the_owner_requires_is_heard,
    only_the_chosen_classes_are_heard,
    two_who_switch_off_at_once_do_not_both_get_away,
    quiet_hours_hold_back_what_can_wait_and_no_lockout,
    a_link_in_a_mail_asks_and_its_button_acknowledges,
    the_next_in_line_is_told_until_somebody_has_seen_it,
    nobody_is_woken_for_what_is_over,
    the_digest_comes_once_a_day_at_the_yards_hour,
    whoever_reports_hears_of_it,
);

fn clock(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).unwrap()
}

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

async fn switch(b: &Bench, who: &Actor, kind: AlertKind, heard: bool) -> Result<(), workflow::WorkflowError> {
    let own = workflow::own_alerts(&b.workshop, who).await.unwrap();
    let yard = own.yards.iter().find(|y| y.yard == b.yard).unwrap();
    let heard = yard.kinds.iter().map(|(k, h, _)| (*k, if *k == kind { heard } else { *h })).collect();
    let choice = OwnChoice { yard: b.yard, heard, classes: yard.classes.clone() };
    workflow::choose_alerts(&b.workshop, who, own.quiet, vec![choice]).await
}

/// Who is owed which kind of alert, by first name.
async fn told(b: &Bench, kind: AlertKind) -> Vec<String> {
    let outbox = workflow::outbox(&b.workshop, &b.owner, 500).await.unwrap();
    let of_kind = outbox.into_iter().filter(|o| o.kind == kind);
    let mut names: Vec<_> = of_kind.map(|o| o.person_name.split(' ').next().unwrap().to_owned()).collect();
    names.sort();
    names
}

async fn somebody_always_hears_of_a_lockout(b: Bench) {
    for who in [&b.supervisor, &b.mechanic, &b.other_mechanic] {
        switch(&b, who, AlertKind::MachineHeld, false).await.unwrap();
    }
    let last = switch(&b, &b.owner, AlertKind::MachineHeld, false).await.unwrap_err();
    assert!(last.to_string().contains("Somebody must"), "{last}");
    b.ground(b.machine).await;
    assert_eq!(told(&b, AlertKind::MachineHeld).await, ["Olga", "Otto"], "the owner, and who found it");

    // Once another hears it the owner may stop; then that one can neither stop, nor leave, nor be moved to another yard.
    switch(&b, &b.supervisor, AlertKind::MachineHeld, true).await.unwrap();
    switch(&b, &b.owner, AlertKind::MachineHeld, false).await.unwrap();
    switch(&b, &b.supervisor, AlertKind::MachineHeld, false).await.unwrap_err();
    workflow::disable_person(&b.workshop, &b.owner, b.supervisor.id, true).await.unwrap_err();
    let elsewhere = b.somebody_elsewhere().await;
    let to = NewPerson {
        name: b.supervisor.name.clone(),
        email: "sara@yard.example".into(),
        roles: vec![Role::Supervisor],
        yards: elsewhere.yards.clone(),
        rate_minor: 0,
    };
    workflow::change_person(&b.workshop, &b.owner, b.supervisor.id, to).await.unwrap_err();
    // Nor can the owner's rules do it.
    let off = Role::ALL.iter().map(|role| HearingRuleRow {
        kind: AlertKind::UsedWhileHeld,
        role: *role,
        wanted: Wanted::Off,
    });
    workflow::require_alerts(&b.workshop, &b.owner, b.yard, off.collect()).await.unwrap_err();
    b.ground(b.second_machine).await;
    let heard = told(&b, AlertKind::MachineHeld).await;
    assert!(heard.contains(&"Sara".to_owned()), "{heard:?}");
    b.assert_sound().await;
}

async fn what_the_owner_requires_is_heard(b: Bench) {
    switch(&b, &b.mechanic, AlertKind::MachineHeld, false).await.unwrap();
    let require =
        vec![HearingRuleRow { kind: AlertKind::MachineHeld, role: Role::Mechanic, wanted: Wanted::Required }];
    workflow::require_alerts(&b.workshop, &b.supervisor, b.yard, require.clone()).await.unwrap_err();
    workflow::require_alerts(&b.workshop, &b.owner, b.yard, require).await.unwrap();
    b.ground(b.machine).await;
    assert_eq!(told(&b, AlertKind::MachineHeld).await, ["Mats", "Mia", "Olga", "Otto", "Sara"]);
    let own = workflow::own_alerts(&b.workshop, &b.mechanic).await.unwrap();
    assert!(own.yards[0].kinds.contains(&(AlertKind::MachineHeld, true, true)));
    // An operator may ask for what operators do not hear by themselves.
    switch(&b, &b.operator, AlertKind::Released, true).await.unwrap();
    let own = workflow::own_alerts(&b.workshop, &b.operator).await.unwrap();
    assert!(own.yards[0].kinds.contains(&(AlertKind::Released, true, false)));
}

async fn only_the_chosen_classes_are_heard(b: Bench) {
    let w = &b.workshop;
    let own = workflow::own_alerts(w, &b.mechanic).await.unwrap();
    assert_eq!(own.yards[0].all_classes, ["utility vehicle"]);
    let quad = workflow::NewMachine {
        yard: b.yard,
        unit_number: "Q-01".into(),
        class: "quad".into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: None,
    };
    let quad = workflow::add_machine(w, &b.owner, quad).await.unwrap();
    let choice = OwnChoice {
        yard: b.yard,
        heard: own.yards[0].kinds.iter().map(|(k, h, _)| (*k, *h)).collect(),
        classes: vec!["quad".into()],
    };
    workflow::choose_alerts(w, &b.mechanic, None, vec![choice]).await.unwrap();
    b.ground(b.machine).await;
    assert_eq!(told(&b, AlertKind::MachineHeld).await, ["Mia", "Olga", "Otto", "Sara"]);
    workflow::place_hold(w, &b.operator, w.ambient.id(), quad, "Chain guard is loose").await.unwrap();
    assert!(told(&b, AlertKind::MachineHeld).await.contains(&"Mats".to_owned()));
    // Whoever hears of some classes only is not the one who hears of every hold.
    for who in [&b.supervisor, &b.other_mechanic] {
        switch(&b, who, AlertKind::MachineHeld, false).await.unwrap();
    }
    switch(&b, &b.owner, AlertKind::MachineHeld, false).await.unwrap_err();
}

async fn two_who_switch_off_at_once_do_not_both_get_away(b: Bench) {
    for who in [&b.mechanic, &b.other_mechanic] {
        switch(&b, who, AlertKind::MachineHeld, false).await.unwrap();
    }
    let (one, other) = tokio::join!(
        switch(&b, &b.supervisor, AlertKind::MachineHeld, false),
        switch(&b, &b.owner, AlertKind::MachineHeld, false),
    );
    assert_eq!(u8::from(one.is_ok()) + u8::from(other.is_ok()), 1, "{one:?} {other:?}");
    b.ground(b.machine).await;
    assert_eq!(told(&b, AlertKind::MachineHeld).await.len(), 2, "one who hears, and who found it");
}

async fn quiet_hours_hold_back_what_can_wait_and_no_lockout(b: Bench) {
    let w = &b.workshop;
    // 07:00 in Oslo.
    assert_eq!(b.now(), at("2026-11-25T06:00:00Z"));
    let quiet = Some(QuietHours { from: clock(22, 0), to: clock(9, 0) });
    workflow::choose_alerts(w, &b.supervisor, quiet, Vec::new()).await.unwrap();
    let order = b.ground(b.machine).await;
    b.repair(order).await;
    b.wait(1);
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    let (memory, post) = post();
    deliver_all(&b, &post).await;
    let kinds = |address: &str| -> Vec<String> {
        let sent = memory.sent();
        sent.iter().filter(|m| m.to_address == address).map(|m| m.subject.clone()).collect()
    };
    let before = kinds("sara@yard.example");
    assert!(before.len() == 1 && before[0].contains("out of service"), "{before:?}");
    assert_eq!(kinds("mia@yard.example").len(), 2, "who has no quiet hours hears both");
    b.time.set(at("2026-11-25T07:59:59Z"));
    deliver_all(&b, &post).await;
    assert_eq!(kinds("sara@yard.example").len(), 1);
    b.time.set(at("2026-11-25T08:00:00Z"));
    deliver_all(&b, &post).await;
    let after = kinds("sara@yard.example");
    assert!(after.len() == 2 && after[1].contains("back in service"), "{after:?}");
}

async fn a_link_in_a_mail_asks_and_its_button_acknowledges(b: Bench) {
    workflow::choose_language(&b.workshop, &b.supervisor, Lang::Es).await.unwrap();
    b.ground(b.machine).await;
    let (memory, post) = post();
    deliver_all(&b, &post).await;
    let links: BTreeMap<String, String> = memory
        .sent()
        .iter()
        .filter_map(|m| {
            let line = m.text.lines().find(|l| l.contains("/told/"))?;
            Some((m.to_address.clone(), line.split_once("/told/").unwrap().1.to_owned()))
        })
        .collect();
    let asked: Vec<&str> = links.keys().map(String::as_str).collect();
    // Whoever stopped the machine is not asked whether they have seen it.
    assert_eq!(asked, ["mats@yard.example", "mia@yard.example", "olga@yard.example", "sara@yard.example"]);
    let seen = workflow::outbox(&b.workshop, &b.owner, 50).await.unwrap();
    let served = Served::start(&b.workshop).await;
    let http = crate::support::client().build().unwrap();
    let address = |link: &str| format!("{}/told/{link}", served.url);
    let link = address(&links["sara@yard.example"]);

    for _ in 0..2 {
        let page = http.get(&link).send().await.unwrap();
        assert_eq!(page.status(), 200);
        assert_eq!(page.headers()["referrer-policy"], "no-referrer");
        assert_eq!(page.headers()["cache-control"], "no-store");
        let text = page.text().await.unwrap();
        assert!(text.contains("U-07") && text.contains("I have seen it"), "{text}");
    }
    let state = || async { workflow::alert_states(&b.workshop, &b.owner).await.unwrap()[&b.machine] };
    assert_eq!(state().await, AlertState::NotAcknowledged, "looking is no acknowledging");
    // Of another's alert, cut short, or made up: nothing is there.
    let (id, mark) = links["sara@yard.example"].split_once('/').unwrap();
    let others = links["olga@yard.example"].split_once('/').unwrap().1;
    let whole = mark.len() - 1;
    for wrong in [format!("{id}/{others}"), format!("{id}/{}", &mark[..whole]), format!("{id}/AAAA")] {
        assert_eq!(http.post(address(&wrong)).send().await.unwrap().status(), 404, "{wrong}");
    }
    assert_eq!(state().await, AlertState::NotAcknowledged);

    b.wait(3);
    let page = http.post(&link).send().await.unwrap().text().await.unwrap();
    assert!(
        page.contains("Acknowledged by Sara Supervisor") && !page.contains("<button class=\"tall\""),
        "{page}"
    );
    assert_eq!(state().await, AlertState::Told);
    // It is good once: afterwards every link says who was first.
    let page = http.post(address(&links["mats@yard.example"])).send().await.unwrap();
    assert_eq!(page.status(), 409);
    let page = http.get(address(&links["mats@yard.example"])).send().await.unwrap().text().await.unwrap();
    assert!(page.contains("Acknowledged by Sara Supervisor"), "{page}");
    let trail = workflow::audit_trail(&b.workshop, &b.owner, "", "acknowledged", 50).await.unwrap();
    assert_eq!(trail.len(), 1, "{trail:?}");
    assert_eq!(trail[0].by_id, Some(b.supervisor.id));
    // The page that others see of the mail does not hand out the link.
    for row in seen {
        let shown = workflow::alert_of(&b.workshop, &b.owner, row.id).await.unwrap().0;
        assert!(!shown.alert.contains("told/"));
    }
    served.stop().await;
    b.assert_sound().await;
}

async fn the_next_in_line_is_told_until_somebody_has_seen_it(b: Bench) {
    let w = &b.workshop;
    let chain = vec![(b.supervisor.id, 10), (b.owner.id, 20)];
    workflow::set_chain(w, &b.supervisor, b.yard, chain.clone()).await.unwrap_err();
    workflow::set_chain(w, &b.owner, b.yard, vec![(b.supervisor.id, 0)]).await.unwrap_err();
    workflow::set_chain(w, &b.owner, b.yard, chain).await.unwrap();
    b.ground(b.machine).await;
    b.wait(9);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0);
    b.wait(1);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 1);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0, "once");
    assert_eq!(told(&b, AlertKind::NotAcknowledged).await, ["Sara"]);
    b.wait(19);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0);
    b.wait(1);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 1);
    assert_eq!(told(&b, AlertKind::NotAcknowledged).await, ["Olga", "Sara"]);
    b.wait(600);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0, "nobody is left");
    assert_eq!(workflow::alert_states(w, &b.owner).await.unwrap()[&b.machine], AlertState::NotAcknowledged);
    let (memory, post) = post();
    deliver_all(&b, &post).await;
    let sent = memory.sent();
    let second = sent.iter().find(|m| m.subject.contains("nobody has acknowledged")).unwrap();
    assert!(second.text.contains("/told/") && second.text.contains("isolates no energy"), "{}", second.text);

    // A second machine: here the owner has seen it in time, on its page.
    b.ground(b.second_machine).await;
    let outbox = workflow::outbox(w, &b.owner, 500).await.unwrap();
    let own =
        outbox.iter().find(|o| o.machine_id == Some(b.second_machine) && o.person_id == b.owner.id).unwrap();
    workflow::acknowledge(w, &b.operator, own.id).await.unwrap_err();
    workflow::acknowledge(w, &b.owner, own.id).await.unwrap();
    b.wait(600);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0);
    b.assert_sound().await;
}

async fn nobody_is_woken_for_what_is_over(b: Bench) {
    let w = &b.workshop;
    let hold = w.ambient.id();
    workflow::place_hold(w, &b.operator, hold, b.machine, "Sounds odd").await.unwrap();
    b.wait(5);
    workflow::lift_hold(w, &b.operator, hold, "It was the trailer").await.unwrap();
    b.wait(60);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0);
    assert_eq!(workflow::until_next_in_line(w).await.unwrap(), None);
    // Where the owner has set no chain, the owners are told after half an hour.
    b.ground(b.second_machine).await;
    b.wait(29);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0);
    b.wait(1);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 1);
    assert_eq!(told(&b, AlertKind::NotAcknowledged).await, ["Olga"]);
    // Whoever takes the work on has seen why.
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    assert_eq!(workflow::alert_states(w, &b.owner).await.unwrap()[&b.machine], AlertState::Told);
    b.wait(60);
    assert_eq!(workflow::pass_on(w).await.unwrap(), 0);
    b.assert_sound().await;
}

async fn the_digest_comes_once_a_day_at_the_yards_hour(b: Bench) {
    let w = &b.workshop;
    workflow::set_digest(w, &b.supervisor, b.yard, Some(clock(6, 0))).await.unwrap_err();
    workflow::set_digest(w, &b.owner, b.yard, Some(clock(6, 0))).await.unwrap();
    b.ground(b.machine).await;
    // It is 07:00: today's hour has passed.
    assert_eq!(workflow::send_digests(w).await.unwrap(), 0);
    b.time.set(at("2026-11-26T04:59:59Z"));
    assert_eq!(workflow::send_digests(w).await.unwrap(), 0);
    b.time.set(at("2026-11-26T05:00:00Z"));
    assert_eq!(workflow::send_digests(w).await.unwrap(), 1);
    assert_eq!(workflow::send_digests(w).await.unwrap(), 0);
    assert_eq!(told(&b, AlertKind::Digest).await, ["Olga", "Sara"]);
    let (memory, post) = post();
    deliver_all(&b, &post).await;
    let sent = memory.sent();
    let digest = sent.iter().find(|m| m.subject == "North yard: 1 machine is out of service").unwrap();
    assert!(
        digest.text.contains("U-07") && digest.text.contains("Nobody has acknowledged it"),
        "{}",
        digest.text
    );
    assert!(!digest.text.contains("/machines/"), "{}", digest.text);
    // A night of summer time: the hour by the yard's clock, which is another by UTC.
    b.time.set(at("2027-03-28T03:59:59Z"));
    assert_eq!(workflow::send_digests(w).await.unwrap(), 0);
    b.time.set(at("2027-03-28T04:00:00Z"));
    assert_eq!(workflow::send_digests(w).await.unwrap(), 1);
    b.assert_sound().await;
}

async fn whoever_reports_hears_of_it(b: Bench) {
    let w = &b.workshop;
    let report = ReportDefect {
        id: w.ambient.id(),
        machine: b.machine,
        what: "Side panel hangs loose".into(),
        answers: slight(System::BodyAndFrame),
    };
    workflow::report_defect(w, &b.operator, report.clone()).await.unwrap();
    workflow::report_defect(w, &b.operator, report).await.unwrap();
    assert_eq!(told(&b, AlertKind::ReportReceived).await, ["Otto"], "sent twice, told once");
    let (memory, post) = post();
    deliver_all(&b, &post).await;
    let sent = memory.sent();
    assert_eq!(sent.len(), 1);
    assert_eq!(sent[0].subject, "U-07: your report was received: Side panel hangs loose");
    assert!(
        sent[0].text.contains("being watched") && sent[0].text.contains("Good until"),
        "{}",
        sent[0].text
    );
}

fn post() -> (Arc<Memory>, Post) {
    let memory = Arc::new(Memory::new());
    let post = Post {
        mailer: memory.clone(),
        public_url: "https://chock.example.org".into(),
        domain: "chock.example.org".into(),
    };
    (memory, post)
}

async fn deliver_all(b: &Bench, post: &Post) {
    while deliver_once(&b.workshop, post).await.unwrap() > 0 {}
}
