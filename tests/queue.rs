//! The queue, repairs outside, splitting and merging, and when a machine is back, as the workshop lives through them.

use std::collections::BTreeSet;

use chock::domain::checklist::System;
use chock::domain::forecast::When;
use chock::domain::ids::{MachineId, WorkOrderId};
use chock::domain::person::Actor;
use chock::domain::refusal::Refusal;
use chock::domain::standing::Standing;
use chock::domain::unit::Hours;
use chock::domain::work_order::OrderWord;
use chock::workflow::{self, Asked, NewMachine, OutsideNews, SendOutside, WorkflowError};
use chrono::TimeDelta;

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(
    the_order_follows_what_the_yard_needs,
    a_long_queue_is_read_page_by_page,
    only_the_skilled_take_what_asks_for_skill,
    claims_at_once_with_skills_and_pins_have_one_winner,
    a_repair_outside_from_sent_to_invoiced,
    two_jobs_in_one_order_are_split_and_merged,
    what_fixed_it_before_is_one_tap_away,
    a_return_is_foreseen_kept_and_scored,
);

async fn machine(b: &Bench, unit_number: &str, class: &str) -> MachineId {
    let machine = NewMachine {
        yard: b.yard,
        unit_number: unit_number.into(),
        class: class.into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: Some(Hours(1_000)),
    };
    workflow::add_machine(&b.workshop, &b.owner, machine).await.unwrap()
}

async fn next(b: &Bench) -> Vec<WorkOrderId> {
    let found = workflow::queue(&b.workshop, &b.mechanic, 1).await.unwrap();
    found.next.iter().map(|e| e.order.id).collect()
}

fn sentence<T: std::fmt::Debug>(outcome: Result<T, WorkflowError>) -> String {
    match outcome {
        Err(WorkflowError::Refused(refusal)) => refusal.to_string(),
        other => panic!("{other:?}"),
    }
}

/// Smith's rule by the yard's need: the rules of the design, "The queue's order".
async fn the_order_follows_what_the_yard_needs(b: Bench) {
    let w = &b.workshop;
    let watched = b.submit(b.failed_check(b.second_machine, 3_010, "horn", "")).await;
    assert_eq!(watched.standing, Standing::Monitored);
    let usable = workflow::open_order(w, &b.supervisor, b.second_machine).await.unwrap();
    b.wait(10);
    let first = b.ground(b.machine).await;
    b.wait(10);
    let third = machine(&b, "U-09", "utility vehicle").await;
    let second = b.ground(third).await;
    assert_eq!(next(&b).await, [first, second, usable], "out of service first, then age");

    // Two of the class are out, one is wanted and one is fit: nothing is lacking, and nothing changes.
    workflow::set_need(w, &b.owner, b.yard, "utility vehicle", 1).await.unwrap();
    let found = workflow::queue(w, &b.mechanic, 1).await.unwrap();
    assert_eq!(found.next[0].why.lacks, None);
    workflow::set_need(w, &b.owner, b.yard, "utility vehicle", 3).await.unwrap();
    let found = workflow::queue(w, &b.mechanic, 1).await.unwrap();
    assert_eq!(found.next[0].why.lacks, Some(2));
    assert!(found.next[0].because.to_string().contains("the yard is short of 2 today (utility vehicle)"));
    assert!(found.next[2].because.to_string().starts_with("The machine can be used meanwhile"));

    // A supervisor's word comes first, and shows whose it is; a mechanic has none.
    assert!(sentence(workflow::pin_order(w, &b.mechanic, usable).await).contains("pin a work order"));
    workflow::pin_order(w, &b.supervisor, usable).await.unwrap();
    let found = workflow::queue(w, &b.mechanic, 1).await.unwrap();
    assert_eq!(found.next[0].order.id, usable);
    assert!(found.next[0].because.to_string().starts_with("Pinned by Sara Supervisor"));
    let sara = Browser::of(w, &b.supervisor).await;
    sara.get("/queue").await.is(200).says("Pinned by Sara Supervisor").says("Unpin");
    sara.send(&format!("/work-orders/{usable}/unpin"), &[("queue", "1")]).await.leads_to("?done=unpinned");
    assert_eq!(next(&b).await, [first, second, usable]);

    // What is claimed is no longer next, and stands first among what is taken.
    workflow::claim(w, &b.mechanic, second).await.unwrap();
    let found = workflow::queue(w, &b.mechanic, 1).await.unwrap();
    assert_eq!(found.taken[0].order.id, second);
    assert_eq!(next(&b).await, [first, usable]);
    b.assert_sound().await;
}

async fn a_long_queue_is_read_page_by_page(b: Bench) {
    let w = &b.workshop;
    let mut opened = Vec::new();
    for n in 0..53 {
        let unit = machine(&b, &format!("Q-{n}"), "utility vehicle").await;
        b.wait(1);
        opened.push(b.ground(unit).await);
    }
    let pages = [
        workflow::queue(w, &b.mechanic, 1).await.unwrap(),
        workflow::queue(w, &b.mechanic, 2).await.unwrap(),
    ];
    assert_eq!((pages[0].next.len(), pages[0].more), (50, true));
    assert_eq!((pages[1].next.len(), pages[1].more), (3, false));
    let read: Vec<_> = pages.iter().flat_map(|p| &p.next).map(|e| e.order.id).collect();
    assert_eq!(read, opened, "each once, oldest first");
    let mats = Browser::of(w, &b.mechanic).await;
    mats.get("/queue").await.is(200).says("/queue?page=2").says("data-place=\"50\"");
    mats.get("/queue?page=2")
        .await
        .is(200)
        .says("data-place=\"51\"")
        .says("/queue?page=1")
        .says_not("page=3");
}

async fn ask_for_skill(b: &Bench, skilled: &Actor) {
    let mut tx = b.workshop.db.begin().await.unwrap();
    let all = [b.mechanic.id, b.other_mechanic.id];
    let needed = BTreeSet::from([System::Fuel]);
    tx.set_skills(&needed, &[(skilled.id, System::Fuel)], &all).await.unwrap();
    tx.commit().await.unwrap();
}

async fn only_the_skilled_take_what_asks_for_skill(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    let system = workflow::order_page(w, &b.owner, order).await.unwrap().defects[0].defect.system;
    assert_eq!(system, System::Fuel, "a fuel leak");
    ask_for_skill(&b, &b.other_mechanic).await;
    let mats = Browser::of(w, &b.mechanic).await;
    let page = mats.get("/queue").await;
    page.is(200).says("This work asks for somebody skilled in: fuel.").says_not(&format!("{order}/claim"));
    let refused = mats.send(&format!("/work-orders/{order}/claim"), &[]).await;
    refused.is(403).says("This work asks for somebody skilled in: fuel.");
    let mia = Browser::of(w, &b.other_mechanic).await;
    mia.get("/queue").await.says_not("asks for somebody skilled").says(&format!("{order}/claim"));
    mia.send(&format!("/work-orders/{order}/claim"), &[]).await.leads_to("?done=claimed");
    b.assert_sound().await;
}

/// Invariant 3.
async fn claims_at_once_with_skills_and_pins_have_one_winner(b: Bench) {
    let w = &b.workshop;
    ask_for_skill(&b, &b.mechanic).await;
    for round in 0..8 {
        let order = b.ground(b.machine).await;
        let mut asked = Vec::new();
        for n in 0..6 {
            let (w, who) =
                (w.clone(), if n % 2 == 0 { b.mechanic.clone() } else { b.other_mechanic.clone() });
            asked.push(tokio::spawn(async move { (who.id, workflow::claim(&w, &who, order).await.is_ok()) }));
        }
        let pin = {
            let (w, who) = (w.clone(), b.supervisor.clone());
            tokio::spawn(async move { workflow::pin_order(&w, &who, order).await })
        };
        for task in asked {
            let (who, got) = task.await.unwrap();
            assert_eq!(got, who == b.mechanic.id, "round {round}");
        }
        pin.await.unwrap().unwrap();
        let page = workflow::order_page(w, &b.owner, order).await.unwrap();
        assert_eq!((page.order.mechanic_id, page.order.word()), (Some(b.mechanic.id), OrderWord::Claimed));
        assert!(page.order.pin_rank.is_some());
        workflow::cancel_order(w, &b.supervisor, order, "next round").await.unwrap();
        assert!(workflow::order_page(w, &b.owner, order).await.unwrap().order.pin_rank.is_none());
    }
    b.assert_sound().await;
}

async fn a_repair_outside_from_sent_to_invoiced(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    let here = format!("/work-orders/{order}/outside");
    let (mats, sara) = (Browser::of(w, &b.mechanic).await, Browser::of(w, &b.supervisor).await);
    let full =
        [("vendor", "Fjell Gas"), ("what", "Gas line"), ("licensed", "gas"), ("back_by", "2026-11-26")];
    mats.send(&here, &full).await.is(409).says("Claim the work order first.").says("value=\"Fjell Gas\"");
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let past = [("vendor", "Fjell Gas"), ("what", "Gas line"), ("back_by", "2026-11-20")];
    mats.send(&here, &past).await.is(422).says("That time has passed already.").says("value=\"2026-11-20\"");
    let nobody = [("vendor", " "), ("what", "Gas line")];
    mats.send(&here, &nobody).await.is(422).says("#send-vendor").says("Gas line</textarea>");
    mats.send(&here, &full).await.leads_to("?done=sent-outside");
    mats.get(&here)
        .await
        .is(200)
        .says("Fjell Gas")
        .says("Caution")
        .says("gas")
        .says("away, promised tomorrow");
    mats.get("/queue").await.says("Away for repair").says("With Fjell Gas, promised tomorrow.");
    assert!(
        sentence(workflow::send_outside(w, &b.mechanic, order, sent("Another")).await).contains("already")
    );

    // It stays held, and nothing is finished meanwhile.
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    assert!(sentence(b.finish(order).await).contains("still with Fjell Gas"));
    workflow::stop_labour(w, &b.mechanic, order).await.unwrap();

    // The promise passes: told once, to the supervisor and to who has the order; a new promise may pass again.
    b.wait(60 * 24 * 2);
    assert_eq!(workflow::tell_of_late_outside(w).await.unwrap(), 1);
    assert_eq!(workflow::tell_of_late_outside(w).await.unwrap(), 0, "once");
    let told = workflow::outbox(w, &b.owner, 50).await;
    let told: Vec<_> =
        told.unwrap().into_iter().filter(|o| o.kind.as_str() == "repair outside late").collect();
    let names: BTreeSet<_> = told.iter().map(|o| o.person_name.as_str()).collect();
    assert_eq!(names, BTreeSet::from(["Mats Mechanic", "Sara Supervisor"]));
    sara.get("/queue").await.says("<strong>With Fjell Gas, late by");
    let page = workflow::outside_page(w, &b.mechanic, order).await.unwrap();
    let outside = page.repairs[0].0.id;
    let asked = [("note", "The seal has not come"), ("back_by", "2026-11-30")];
    sara.send(&format!("{here}/{outside}/asked"), &asked).await.leads_to("?done=outside-told");
    sara.get(&here).await.says("The seal has not come").says("away, promised Mon 30 Nov");
    b.wait(60 * 24 * 4);
    assert_eq!(workflow::tell_of_late_outside(w).await.unwrap(), 1, "another promise");

    let back = format!("{here}/{outside}/back");
    mats.send(&back, &[("licence", "")]).await.is(422).says("Give the number of the licence");
    let invoice = format!("{here}/{outside}/invoice");
    let bill = [("number", "R-17"), ("amount", "180.50"), ("currency", "EUR")];
    mats.send(&invoice, &bill).await.is(409).says("The invoice is entered when it is back.");
    mats.send(&back, &[("licence", "G-4471")]).await.leads_to("?done=outside-told");
    for (amount, currency, says) in [
        ("-1", "EUR", "as a figure"),
        ("180.50", "NOK", "this invoice is in NOK"),
        ("180.50", "kr.", "three letters"),
    ] {
        let odd = [("number", "R-17"), ("amount", amount), ("currency", currency)];
        mats.send(&invoice, &odd).await.is(422).says(says).says(&format!("value=\"{amount}\""));
    }
    let before = workflow::order_page(w, &b.owner, order).await.unwrap().order.cost_minor;
    mats.send(&invoice, &bill).await.leads_to("?done=outside-told");
    mats.send(&invoice, &bill).await.is(409).says("The invoice R-17 is entered already.");
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert_eq!(page.order.cost_minor, before + 18_050);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "until it is released");
    b.finish(order).await.unwrap();
    b.assert_sound().await;

    // Called off with its order.
    let other = b.ground(b.second_machine).await;
    workflow::claim(w, &b.mechanic, other).await.unwrap();
    let away = workflow::send_outside(w, &b.supervisor, other, sent("Fjell Gas")).await.unwrap();
    workflow::cancel_order(w, &b.supervisor, other, "wrong machine").await.unwrap();
    let news = OutsideNews::Back { licence: String::new() };
    sentence(workflow::tell_of_outside(w, &b.supervisor, other, away, news).await);
    assert!(workflow::away(w, &b.owner).await.unwrap().is_empty());
    b.assert_sound().await;
}

fn sent(vendor: &str) -> SendOutside {
    SendOutside { vendor: vendor.into(), what: "Weld the frame".into(), ..SendOutside::default() }
}

async fn two_jobs_in_one_order_are_split_and_merged(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    assert!(
        sentence(workflow::split_order(w, &b.supervisor, order, the_defects(&b, order).await[0]).await)
            .contains("only this defect")
    );
    let mut check = b.failed_check(b.machine, 20_010, "horn", "");
    check.hours_confirmed = true;
    b.submit(check).await;
    let defects = the_defects(&b, order).await;
    assert_eq!(defects.len(), 2);
    assert!(
        matches!(
            workflow::split_order(w, &b.mechanic, order, defects[1]).await,
            Err(WorkflowError::Refused(Refusal::Conflict(_)))
        ),
        "not whoever comes along"
    );
    let side = workflow::split_order(w, &b.supervisor, order, defects[1]).await.unwrap();
    let mats = Browser::of(w, &b.mechanic).await;
    // The machine's page speaks of both.
    let gate = mats.get(&format!("/machines/{}", b.machine)).await;
    gate.is(200)
        .says(&format!("href=\"/work-orders/{order}\">Work order"))
        .says(&format!("href=\"/work-orders/{side}\">Work order"));
    assert_eq!((the_defects(&b, order).await.len(), the_defects(&b, side).await), (1, vec![defects[1]]));
    b.assert_sound().await;
    // Two mechanics at one machine.
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let other = [("other", side.to_string())];
    let other: Vec<(&str, &str)> = other.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let number = workflow::order_page(w, &b.owner, side).await.unwrap().order.number;
    mats.send(&format!("/work-orders/{order}/merge"), &other)
        .await
        .is(409)
        .says(&format!("Claim work order {number} first: it can only be taken in by whoever has it."));
    workflow::claim(w, &b.other_mechanic, side).await.unwrap();
    mats.get(&format!("/work-orders/{order}")).await.is(200).says("Other work orders of this machine");
    // What fails next joins the first, not the one that was split off.
    let mut check = b.failed_check(b.machine, 20_020, "oil-leak", "");
    check.watched = b.all_the_same(b.machine).await;
    check.hours_confirmed = true;
    let third = b.submit(check).await;
    assert_eq!(third.work_order, Some(order));

    workflow::start_labour(w, &b.other_mechanic, side).await.unwrap();
    b.wait(20);
    mats.send(&format!("/work-orders/{order}/merge"), &other)
        .await
        .is(409)
        .says("Mia Mechanic has this work order.");
    let sara = Browser::of(w, &b.supervisor).await;
    sara.send(&format!("/work-orders/{order}/merge"), &other).await.leads_to("?done=merged");
    let ended = workflow::order_page(w, &b.owner, side).await.unwrap();
    assert_eq!(ended.order.word(), OrderWord::Cancelled);
    assert_eq!(ended.order.cost_minor, 1_500, "20 minutes at 45.00 an hour stay on it");
    assert_eq!(the_defects(&b, order).await.len(), 3);
    b.assert_sound().await;
}

async fn the_defects(b: &Bench, order: WorkOrderId) -> Vec<chock::domain::ids::DefectId> {
    let page = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap();
    page.defects.iter().map(|d| d.defect.id).collect()
}

async fn what_fixed_it_before_is_one_tap_away(b: Bench) {
    let w = &b.workshop;
    for unit in [b.machine, b.second_machine] {
        let order = b.ground(unit).await;
        workflow::claim(w, &b.mechanic, order).await.unwrap();
        workflow::issue_part(w, &b.mechanic, order, b.part, "1").await.unwrap();
        b.finish(order).await.unwrap();
        b.pass_retests(order).await;
        workflow::release(w, &b.supervisor, order, "").await.unwrap();
        b.wait(60);
    }
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let more = workflow::order_page(w, &b.mechanic, order).await.unwrap().more;
    let earlier = &more.earlier[0];
    assert_eq!((earlier.on_machine.len(), earlier.on_class.len()), (1, 1));
    assert_eq!((earlier.fixed_by[0].remedy.as_str(), earlier.fixed_by[0].times), ("Replaced", 2));
    assert_eq!(
        (earlier.parts[0].part_id, earlier.parts[0].times, earlier.parts[0].most_taken),
        (b.part, 2, 1_000)
    );
    let here = format!("/work-orders/{order}");
    let mats = Browser::of(w, &b.mechanic).await;
    let page = mats.get(&here).await;
    page.is(200)
        .says("Earlier repairs")
        .says("2 times:")
        .says("Chafed → Replaced")
        .says("Reserve 1 set of Brake pad set");
    let part = b.part.to_string();
    let tap = [("act", "reserve"), ("part", part.as_str()), ("quantity", "1")];
    mats.send(&format!("{here}/parts"), &tap).await.leads_to("?done=reserved");

    let once = w.ambient.id::<chock::domain::ids::OrderNoteId>().to_string();
    let note = [("once", once.as_str()), ("note", "The <clip> is brittle")];
    for _ in 0..2 {
        mats.send(&format!("{here}/notes"), &note).await.leads_to("?done=noted");
    }
    let page = workflow::order_page(w, &b.mechanic, order).await.unwrap();
    assert_eq!(page.more.notes.len(), 1, "sent twice, there once");
    mats.get(&here).await.says("The &#60;clip&#62; is brittle").says("Mats Mechanic");
    mats.send(&format!("{here}/notes"), &[("note", "")]).await.is(422).says("Give a note.");
    b.assert_sound().await;
}

async fn a_return_is_foreseen_kept_and_scored(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::foresee(w).await.unwrap();
    let said = |more: &workflow::OrderMore| {
        serde_json::from_str::<When>(&more.forecast.as_ref().unwrap().said).unwrap()
    };
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert!(matches!(said(&page.more), When::Unknown(_)), "nobody has a shift yet");
    let mats = Browser::of(w, &b.mechanic).await;
    mats.get("/queue").await.says("whoever can do it has no shifts");

    let days: [String; 7] =
        std::array::from_fn(|n| if n < 5 { "07:00-15:00".to_owned() } else { String::new() });
    workflow::set_week(w, &b.owner, b.yard, &days).await.unwrap();
    workflow::foresee(w).await.unwrap();
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    let When::Known { likely_by, almost_surely_by, .. } = said(&page.more) else { panic!("known by now") };
    assert!(likely_by > b.now() && almost_surely_by.is_none_or(|at| at >= likely_by));
    for address in ["/queue".to_owned(), format!("/work-orders/{order}"), "/forecasts".to_owned()] {
        mats.get(&address).await.is(200).says("Likely back by");
    }
    let first = workflow::order_page(w, &b.owner, order).await.unwrap().more.forecast.unwrap();
    workflow::foresee(w).await.unwrap();
    let again = workflow::order_page(w, &b.owner, order).await.unwrap().more.forecast.unwrap();
    assert_eq!(
        (first.likely_by, first.said),
        (again.likely_by, again.said),
        "the same workshop, the same forecast"
    );

    // It waits for a part in ten days: that drives it, and a day earlier is a day sooner.
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let in_ten_days = b.now() + TimeDelta::days(12);
    let parts = chock::domain::work_order::WaitingFor::Parts;
    workflow::wait_for(w, &b.mechanic, order, parts, Some(in_ten_days), "a hose").await.unwrap();
    workflow::foresee(w).await.unwrap();
    mats.get("/forecasts").await.says("It waits for a part, expected");
    let number = workflow::order_page(w, &b.owner, order).await.unwrap().order.number;
    let changes = workflow::what_if(w, &b.mechanic, Asked::Earlier { order: number, days: 5 }).await.unwrap();
    assert!(changes[0].sooner > TimeDelta::days(2), "{}", changes[0].sooner);
    let asked = mats.get(&format!("/forecasts?what=earlier&order={number}&days=5")).await;
    asked.is(200).says("sooner").says("As it is:");
    let kept = workflow::order_page(w, &b.owner, order).await.unwrap().more.forecast.unwrap();
    assert!(kept.likely_by.unwrap() > in_ten_days, "nothing was saved");
    mats.get("/forecasts?what=earlier&order=9999&days=1").await.is(422).says("number of an open work order");
    mats.get(&format!("/forecasts?what=earlier&order={number}&days=lots"))
        .await
        .is(422)
        .says("1 to 400 days");
    mats.get(&format!("/forecasts?what=mechanic&yard={}", b.yard)).await.is(200);
    mats.get("/forecasts?what=mechanic&yard=nowhere").await.is(422).says("Choose a yard.");

    // Done: nothing is foreseen any more, and the first forecast is held against it.
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    b.wait(60);
    b.finish(order).await.unwrap();
    workflow::foresee(w).await.unwrap();
    assert!(workflow::order_page(w, &b.owner, order).await.unwrap().more.forecast.is_none());
    mats.get("/forecasts").await.says("One work order with a forecast is done. From 20 on");
    b.assert_sound().await;
}
