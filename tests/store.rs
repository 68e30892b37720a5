//! The store of several yards: shortages, stock-takes, transfers, what to order, and where a batch is fitted.

use chock::domain::batch::Inspect;
use chock::domain::ids::{CountId, MovementId, OnOrderId, ReservationId, RoundId, WorkOrderId, YardId};
use chock::domain::person::Actor;
use chock::domain::refusal::Refusal;
use chock::domain::standing::Standing;
use chock::domain::store::put_right::AdjustmentReason;
use chock::domain::work_order::{OrderState, WaitingFor};
use chock::workflow::{
    self, Adjustment, Counted, DefectDone, Fitting, NewSupply, NewYard, OnWhich, PartRow, StorePolicy,
    WorkflowError,
};
use chrono::TimeDelta;

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(
    what_is_lacking_is_waited_for_and_served_in_the_queues_order,
    what_is_sent_twice_is_done_once,
    a_count_is_the_truth_and_the_newest_order_goes_short,
    stock_goes_from_yard_to_yard_and_each_order_takes_from_its_own,
    many_hands_leave_the_books_right,
    a_batch_is_found_and_the_same_defect_raised,
    what_comes_back_is_not_fitted_and_is_shared_out,
    what_to_order_says_why,
    the_forms_of_the_store_say_what_is_wrong
);

async fn stock(b: &Bench) -> PartRow {
    let rows = workflow::store_parts(&b.workshop, &b.owner).await.unwrap();
    rows.into_iter().find(|p| p.id == b.part && p.yard_id == b.yard).expect("the part")
}

async fn state(b: &Bench, order: WorkOrderId) -> OrderState {
    workflow::order_page(&b.workshop, &b.owner, order).await.unwrap().state
}

/// When it waits for parts until when.
async fn waits_until(b: &Bench, order: WorkOrderId) -> Option<Option<chrono::DateTime<chrono::Utc>>> {
    match state(b, order).await {
        OrderState::Waiting { wait, .. } if wait.waiting_for == WaitingFor::Parts => Some(wait.until),
        _ => None,
    }
}

fn sentence(e: WorkflowError) -> String {
    match e {
        WorkflowError::Refused(refusal) => refusal.to_string(),
        WorkflowError::Storage(e) => panic!("{e:?}"),
    }
}

async fn two_orders(b: &Bench) -> (WorkOrderId, WorkOrderId) {
    let one = b.ground(b.machine).await;
    b.wait(10);
    let two = b.ground(b.second_machine).await;
    workflow::claim(&b.workshop, &b.mechanic, one).await.unwrap();
    workflow::claim(&b.workshop, &b.other_mechanic, two).await.unwrap();
    (one, two)
}

async fn what_is_lacking_is_waited_for_and_served_in_the_queues_order(b: Bench) {
    let w = &b.workshop;
    let (one, two) = two_orders(&b).await;
    // Three are there. The second order asks first, the first one is the older: it stands before it in the queue.
    let taken = workflow::reserve_part(w, &b.other_mechanic, two, b.part, "5").await.unwrap();
    assert_eq!((taken.reserved.0, taken.lacking.0), (3_000, 2_000));
    workflow::start_labour(w, &b.mechanic, one).await.unwrap();
    let taken = workflow::reserve_part(w, &b.mechanic, one, b.part, "1.5").await.unwrap();
    assert_eq!((taken.reserved.0, taken.lacking.0), (0, 1_500));
    assert_eq!(waits_until(&b, one).await, Some(None), "nobody knows when it comes");
    let page = workflow::order_page(w, &b.owner, one).await.unwrap();
    assert!(page.labour[0].ended_at.is_some(), "who waits does not work");
    assert_eq!(page.lines[0].lacking, 1_500);
    b.assert_sound().await;

    let comes = b.now() + TimeDelta::days(3);
    workflow::order_part(w, &b.supervisor, b.workshop.ambient.id(), b.part, b.yard, "4", Some(comes))
        .await
        .unwrap();
    assert_eq!(
        (waits_until(&b, one).await, waits_until(&b, two).await),
        (Some(Some(comes)), Some(Some(comes)))
    );
    let row = stock(&b).await;
    assert_eq!((row.on_order, row.lacking, row.expected_at), (4_000, 3_500, Some(comes)));

    b.wait(60);
    workflow::receive_part(w, &b.supervisor, b.part, b.yard, "2", "80.00", "").await.unwrap();
    assert!(matches!(state(&b, one).await, OrderState::Claimed { .. }), "nothing is lacking any more");
    assert_eq!(waits_until(&b, two).await, Some(Some(comes)), "the rest is still on its way");
    let row = stock(&b).await;
    assert_eq!((row.on_hand, row.reserved, row.on_order, row.lacking), (5_000, 5_000, 2_000, 1_500));
    let told = |to: &Actor| (to.id, "part arrived".to_owned());
    let mut rows: Vec<_> = workflow::outbox(w, &b.owner, 100).await.unwrap();
    rows.retain(|r| r.kind.as_str() == "part arrived");
    let mut got: Vec<_> = rows.iter().map(|r| (r.person_id, r.kind.to_string())).collect();
    got.sort();
    let mut expected = vec![told(&b.mechanic), told(&b.other_mechanic)];
    expected.sort();
    assert_eq!(got, expected, "each mechanic whose part came, and nobody else");

    workflow::receive_part(w, &b.supervisor, b.part, b.yard, "10", "400.00", "").await.unwrap();
    assert!(matches!(state(&b, two).await, OrderState::Claimed { .. }));
    let row = stock(&b).await;
    assert_eq!((row.on_hand, row.reserved, row.on_order, row.lacking), (15_000, 6_500, 0, 0));
    b.assert_sound().await;
}

async fn what_is_sent_twice_is_done_once(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let id: ReservationId = w.ambient.id();
    for _ in 0..2 {
        let taken = workflow::reserve_part_once(w, &b.mechanic, id, order, b.part, "2").await.unwrap();
        assert_eq!((taken.reserved.0, taken.lacking.0), (2_000, 0));
    }
    assert_eq!(stock(&b).await.reserved, 2_000);
    let other = workflow::reserve_part_once(w, &b.mechanic, id, order, b.part, "1").await.unwrap_err();
    assert!(sentence(other).starts_with("This form was sent before"));

    let id: MovementId = w.ambient.id();
    let adjustment = |change| Adjustment {
        id,
        part: b.part,
        yard: b.yard,
        change,
        reason: Some(AdjustmentReason::Found),
        note: "",
    };
    for _ in 0..2 {
        workflow::adjust_stock(w, &b.supervisor, adjustment("1")).await.unwrap();
    }
    assert_eq!(stock(&b).await.on_hand, 4_000);
    assert!(
        workflow::adjust_stock(w, &b.supervisor, adjustment("2")).await.is_err(),
        "the same id, another figure"
    );

    let id: OnOrderId = w.ambient.id();
    for _ in 0..2 {
        workflow::order_part(w, &b.supervisor, id, b.part, b.yard, "4", None).await.unwrap();
    }
    assert_eq!(stock(&b).await.on_order, 4_000);
    workflow::drop_on_order(w, &b.supervisor, b.part, id).await.unwrap();
    assert_eq!(stock(&b).await.on_order, 0);
    let again = workflow::drop_on_order(w, &b.supervisor, b.part, id).await.unwrap_err();
    assert!(sentence(again).starts_with("That is not on its way any more"));
    b.assert_sound().await;
}

async fn a_count_is_the_truth_and_the_newest_order_goes_short(b: Bench) {
    let w = &b.workshop;
    let (one, two) = two_orders(&b).await;
    workflow::reserve_part(w, &b.mechanic, one, b.part, "1").await.unwrap();
    workflow::reserve_part(w, &b.other_mechanic, two, b.part, "2").await.unwrap();
    let sheet: CountId = w.ambient.id();
    let line = |counted: &str| vec![Counted { part: b.part, booked: "3".into(), counted: counted.into() }];
    // Meanwhile one more is issued; the sheet was made before.
    workflow::issue_part(w, &b.mechanic, one, b.part, "1").await.unwrap();
    for _ in 0..2 {
        workflow::count_stock(w, &b.supervisor, sheet, b.yard, &line("2")).await.unwrap();
    }
    let row = stock(&b).await;
    assert_eq!((row.on_hand, row.reserved, row.lacking), (1_000, 1_000, 1_000));
    assert_eq!(waits_until(&b, two).await, Some(None), "the newest went short");
    assert!(waits_until(&b, one).await.is_none());
    b.assert_sound().await;

    let (store, yard) = (&b.supervisor, b.yard);
    let counted = |text| {
        let lines = line(text);
        async move { workflow::count_stock(w, store, w.ambient.id(), yard, &lines).await.map_err(sentence) }
    };
    assert!(counted("-1").await.unwrap_err().contains("such as 4 or 0.5"));
    assert!(counted("99999999").await.unwrap_err().contains("more than any store holds"));
    assert!(counted("").await.unwrap_err().contains("at least one count"));
    assert!(counted("0").await.unwrap_err().contains("Count this part again"));
    // Found again: the order that went short is served.
    workflow::count_stock(
        w,
        &b.supervisor,
        w.ambient.id(),
        b.yard,
        &[Counted { part: b.part, booked: "1".into(), counted: "4".into() }],
    )
    .await
    .unwrap();
    let row = stock(&b).await;
    assert_eq!((row.on_hand, row.reserved, row.lacking), (4_000, 2_000, 0));
    assert!(matches!(state(&b, two).await, OrderState::Claimed { .. }));
    b.assert_sound().await;
}

async fn south_yard(b: &Bench) -> YardId {
    let yard = NewYard {
        name: "South yard".into(),
        zone: "Europe/Oslo".into(),
        one_person: false,
        altitude_m: None,
    };
    workflow::add_yard(&b.workshop, &b.owner, yard).await.unwrap()
}

async fn stock_goes_from_yard_to_yard_and_each_order_takes_from_its_own(b: Bench) {
    let w = &b.workshop;
    let south = south_yard(&b).await;
    let send = |id: MovementId, from, to, quantity: &'static str| {
        let (who, part) = (b.owner.clone(), b.part);
        async move {
            workflow::transfer_stock(w, &who, id, part, (from, to), quantity, "").await.map_err(sentence)
        }
    };
    let id: MovementId = w.ambient.id();
    for _ in 0..2 {
        send(id, b.yard, south, "2").await.unwrap();
    }
    let rows = workflow::store_parts(w, &b.owner).await.unwrap();
    let of =
        |yard| rows.iter().find(|p| p.id == b.part && p.yard_id == yard).map(|p| (p.on_hand, p.worth_minor));
    assert_eq!((of(b.yard), of(south)), (Some((1_000, 3_000)), Some((2_000, 6_000))));
    assert!(send(w.ambient.id(), b.yard, south, "1.5").await.unwrap_err().contains("Only 1 is free"));
    assert!(send(w.ambient.id(), b.yard, b.yard, "1").await.unwrap_err().contains("another yard"));
    // A supervisor of the north alone does not reach into the south.
    let reach =
        workflow::transfer_stock(w, &b.supervisor, w.ambient.id(), b.part, (south, b.yard), "1", "").await;
    assert!(matches!(reach, Err(WorkflowError::Refused(Refusal::NotFound(_)))));

    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let taken = workflow::reserve_part(w, &b.mechanic, order, b.part, "2").await.unwrap();
    assert_eq!((taken.reserved.0, taken.lacking.0), (1_000, 1_000), "the south's stock is not the north's");
    assert!(waits_until(&b, order).await.is_some());
    send(w.ambient.id(), south, b.yard, "2").await.unwrap();
    assert!(
        matches!(state(&b, order).await, OrderState::Claimed { .. }),
        "what came from the south ends the wait"
    );
    b.assert_sound().await;
}

async fn many_hands_leave_the_books_right(b: Bench) {
    let south = south_yard(&b).await;
    workflow::receive_part(&b.workshop, &b.owner, b.part, south, "2", "70.00", "").await.unwrap();
    let (one, two) = two_orders(&b).await;
    let mut hands = Vec::new();
    for n in 0..32_usize {
        let (w, part, yard) = (b.workshop.clone(), b.part, b.yard);
        let (owner, store) = (b.owner.clone(), b.supervisor.clone());
        let (who, order) =
            if n % 2 == 0 { (b.mechanic.clone(), one) } else { (b.other_mechanic.clone(), two) };
        hands.push(tokio::spawn(async move {
            match n % 8 {
                0 | 1 => workflow::reserve_part(&w, &who, order, part, "1.5").await.map(|_| ()),
                2 | 3 => workflow::issue_part(&w, &who, order, part, "0.5").await,
                4 => workflow::receive_part(&w, &store, part, yard, "1", "33.33", "").await,
                5 => workflow::return_part(&w, &who, order, part, "0.5").await,
                6 => {
                    let (id, way) = (w.ambient.id(), if n % 16 == 6 { (south, yard) } else { (yard, south) });
                    workflow::transfer_stock(&w, &owner, id, part, way, "0.25", "").await
                }
                _ => {
                    let counted = [Counted { part, booked: "3".into(), counted: "2.75".into() }];
                    workflow::count_stock(&w, &store, w.ambient.id(), yard, &counted).await.map(|_| ())
                }
            }
        }));
    }
    let mut done = 0;
    for hand in hands {
        match hand.await.unwrap() {
            Ok(()) => done += 1,
            Err(WorkflowError::Refused(_)) => {}
            // Tried five times and still in somebody's way: the person is asked to send it again.
            Err(e) if e.is_changed() => {}
            Err(e) => panic!("{e:?}"),
        }
    }
    assert!(done > 8, "only {done} of 32 were done");
    b.assert_sound().await;
    // Enough for everybody: nobody waits any more.
    workflow::receive_part(&b.workshop, &b.owner, b.part, b.yard, "50", "900.00", "").await.unwrap();
    for order in [one, two] {
        assert!(waits_until(&b, order).await.is_none());
    }
    assert_eq!(stock(&b).await.lacking, 0);
    b.assert_sound().await;
}

/// Work done on every open defect, with one set fitted for the first.
async fn finish_with(
    b: &Bench,
    who: &Actor,
    order: WorkOrderId,
    quantity: &str,
    batch: &str,
) -> Result<(), WorkflowError> {
    let page = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap();
    let open: Vec<_> =
        page.defects.iter().filter(|d| d.defect.closed_at.is_none()).map(|d| d.defect.id).collect();
    let done = open.iter().map(|defect| DefectDone {
        defect: *defect,
        cause: "Worn".into(),
        remedy: "New pads".into(),
        no_fault_found: false,
        part_replaced: false,
    });
    let fitted = vec![Fitting {
        defect: open[0],
        part: b.part,
        quantity: quantity.into(),
        serial: String::new(),
        batch: batch.into(),
    }];
    workflow::finish_work_fitting(&b.workshop, who, order, done.collect(), fitted, None).await
}

async fn a_batch_is_found_and_the_same_defect_raised(b: Bench) {
    let w = &b.workshop;
    let (one, two) = two_orders(&b).await;
    workflow::issue_part(w, &b.mechanic, one, b.part, "1").await.unwrap();
    workflow::issue_part(w, &b.other_mechanic, two, b.part, "1").await.unwrap();
    let more = finish_with(&b, &b.mechanic, one, "2", "26-041").await.unwrap_err();
    assert!(sentence(more).contains("Only 1 of Brake pad set is issued"));
    assert!(matches!(state(&b, one).await, OrderState::Claimed { .. }), "nothing was done of it");
    finish_with(&b, &b.mechanic, one, "1", "26-041").await.unwrap();
    finish_with(&b, &b.other_mechanic, two, "1", "26 041").await.unwrap();
    let page = workflow::order_page(w, &b.owner, one).await.unwrap();
    assert!(page.defects[0].defect.part_replaced, "its series of readings begins anew");
    assert_eq!((page.fitted.len(), page.fitted[0].batch.as_str()), (1, "26-041"));
    b.pass_retests(one).await;
    workflow::release(w, &b.supervisor, one, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);

    let found = workflow::part_fitted(w, &b.mechanic, b.part, "26041").await.unwrap();
    let mut units: Vec<_> = found.on_now.iter().map(|f| f.unit_number.as_str()).collect();
    units.sort_unstable();
    assert_eq!(units, ["U-07", "U-08"], "however the number was written");
    assert!(workflow::part_fitted(w, &b.mechanic, b.part, "99").await.unwrap().on_now.is_empty());

    // What was found on U-08 is looked for wherever the batch is.
    let defect = workflow::order_page(w, &b.owner, two).await.unwrap().defects[0].defect.id;
    let on = OnWhich::Batch { part: b.part, batch: "26-041".into() };
    let page = workflow::same_defect(w, &b.supervisor, defect, &on).await.unwrap();
    let listed: Vec<_> = page.machines.iter().map(|m| (m.machine.id, m.inspect)).collect();
    assert_eq!(listed, [(b.machine, Inspect::Raise)]);
    assert!(workflow::same_defect(w, &b.mechanic, defect, &on).await.is_err(), "a supervisor's decision");
    let round: RoundId = w.ambient.id();
    let seen = Browser::of(w, &b.supervisor).await.get(&format!("/defects/{defect}/same?on=class")).await;
    seen.says("goes out of service until inspected")
        .says("class=\"grave tall\">Ground ")
        .says_not("Raise it on");
    let raised = workflow::raise_same(w, &b.supervisor, round, defect, &on).await.unwrap().raised;
    let again = workflow::raise_same(w, &b.supervisor, round, defect, &on).await.unwrap().raised;
    assert_eq!((raised.len(), &raised), (1, &again), "sent twice, raised once");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "until somebody has looked");
    let gate = workflow::gate(w, &b.operator, b.machine).await.unwrap();
    assert_eq!(gate.holds.len(), 1);
    // The whole class: U-07 has it already, so this is added to it and nothing new is raised.
    let class = workflow::same_defect(w, &b.supervisor, defect, &OnWhich::Class).await.unwrap();
    assert_eq!(class.machines.iter().map(|m| m.inspect).collect::<Vec<_>>(), [Inspect::AddTo]);
    let more = workflow::raise_same(w, &b.supervisor, w.ambient.id(), defect, &OnWhich::Class).await.unwrap();
    assert_eq!(more.raised[0].2, raised[0].2);
    assert_eq!(workflow::gate(w, &b.operator, b.machine).await.unwrap().holds.len(), 1);
    b.assert_sound().await;
}

async fn what_comes_back_is_not_fitted_and_is_shared_out(b: Bench) {
    let w = &b.workshop;
    let (one, two) = two_orders(&b).await;
    workflow::issue_part(w, &b.mechanic, one, b.part, "3").await.unwrap();
    workflow::reserve_part(w, &b.other_mechanic, two, b.part, "1").await.unwrap();
    assert!(waits_until(&b, two).await.is_some());
    finish_with(&b, &b.mechanic, one, "2", "7").await.unwrap();
    // The retest fails, and the wrong part comes off again.
    for (defect, mut given) in b.passing_retests(one).await {
        given.fault_gone = Some(false);
        if let Some(a) = given.answers.first_mut() {
            a.outcome = Some("defect".into());
        }
        let retested = workflow::retest(w, &b.mechanic, one, defect, given).await.unwrap();
        assert!(!retested.passed);
    }
    let too_many = workflow::return_part(w, &b.mechanic, one, b.part, "3.5").await.unwrap_err();
    assert!(sentence(too_many).starts_with("Only 3 was issued"));
    workflow::return_part(w, &b.mechanic, one, b.part, "2").await.unwrap();
    let page = workflow::order_page(w, &b.owner, one).await.unwrap();
    let on: i64 = page.fitted.iter().filter(|f| f.removed_at.is_none()).map(|f| f.quantity).sum();
    assert_eq!(on, 1_000, "one of two is still on the machine");
    assert!(waits_until(&b, two).await.is_none(), "what came back was there for whoever lacked it");
    let row = stock(&b).await;
    assert_eq!((row.on_hand, row.reserved, row.lacking), (2_000, 1_000, 0));
    b.assert_sound().await;
}

async fn what_to_order_says_why(b: Bench) {
    let w = &b.workshop;
    let sara = Browser::of(w, &b.supervisor).await;
    sara.get("/store/reorder").await.is(200).says("Nothing needs to be ordered now.");
    let terms = NewSupply {
        supplier: "=Fjell Supplies".into(),
        price: "30.00".into(),
        minimum_order: "4".into(),
        pack: "2".into(),
        lead_days: "5".into(),
    };
    workflow::set_supply(w, &b.supervisor, b.part, terms.clone()).await.unwrap();
    workflow::place_part(w, &b.supervisor, b.part, b.yard, "A1", "3").await.unwrap();
    let found = workflow::reorder(w, &b.supervisor).await.unwrap();
    assert_eq!(found.proposed.len(), 1);
    assert_eq!((found.proposed[0].proposal.quantity, found.proposed[0].cost_minor), (4_000, Some(12_000)));
    sara.get("/store/reorder")
        .await
        .says("The level set by hand is 3")
        .says("4 is the least that the supplier takes")
        .says("120.00 EUR");
    let csv = sara.get("/store/reorder.csv").await;
    csv.is(200).says("'=Fjell Supplies").says("BP-1");
    let part = b.part.to_string();
    let ordered = [("quantity", "4"), ("at", "2026-11-30"), ("back", "reorder"), ("once", part.as_str())];
    for _ in 0..2 {
        sara.send(&format!("/store/{}/ordered", b.part), &ordered).await.leads_to("?done=ordered");
    }
    assert_eq!(stock(&b).await.on_order, 4_000, "a double tap orders once");
    sara.get("/store/reorder").await.says("Nothing needs to be ordered now.");

    // Another currency, and figures without sense: a sentence each.
    let (store, the_part) = (&b.supervisor, b.part);
    let wrong = |change: fn(&mut NewSupply)| {
        let mut terms = terms.clone();
        change(&mut terms);
        async move { sentence(workflow::set_supply(w, store, the_part, terms).await.unwrap_err()) }
    };
    assert!(wrong(|t| t.price = "30 SEK".into()).await.contains("the books are kept in EUR"));
    assert!(wrong(|t| t.minimum_order = "-4".into()).await.contains("Give a quantity such as 2"));
    assert!(wrong(|t| t.lead_days = "9999".into()).await.contains("longer than two years"));
    let policy = |level: &str, holding: &str| {
        let new =
            StorePolicy { service_level: level.into(), order_cost: "25".into(), holding: holding.into() };
        async move { workflow::set_store_policy(w, store, new).await.map_err(sentence) }
    };
    assert!(policy("30", "20").await.unwrap_err().contains("50 to 99.99"));
    assert!(policy("95", "0").await.unwrap_err().contains("above 0"));
    policy("97.5", "20").await.unwrap();
    let rules = workflow::reorder(w, &b.supervisor).await.unwrap().policy;
    assert_eq!(
        (rules.service_level, rules.order_cost_minor, rules.holding_share),
        (0.975, Some(2_500), Some(0.2))
    );
    sara.get("/store/ledger.csv").await.is(200).says("receipt,3,90.00,EUR");
    b.assert_sound().await;
}

async fn the_forms_of_the_store_say_what_is_wrong(b: Bench) {
    let w = &b.workshop;
    let south = south_yard(&b).await.to_string();
    let olga = Browser::of(w, &b.owner).await;
    let (here, north) = (format!("/store/{}", b.part), b.yard.to_string());
    let at = |act: &str| format!("{here}/{act}");
    olga.get("/store").await.says("South yard").says("North yard");
    let bad = [("yard", &*north), ("change", "-4"), ("reason", "damaged"), ("note", "fell off")];
    olga.send(&at("adjust"), &bad)
        .await
        .is(422)
        .says("Only 3 is there")
        .says("value=\"fell off\"")
        .says("value=\"-4\"");
    let bad = [("yard", &*north), ("change", "-1"), ("reason", ""), ("note", "")];
    olga.send(&at("adjust"), &bad).await.is(422).says("#adjust-reason");
    let right = [("yard", &*north), ("change", "−1"), ("reason", "damaged"), ("note", "")];
    olga.send(&at("adjust"), &right).await.leads_to("&done=saved");
    let bad = [("yard", &*north), ("to", &*south), ("quantity", "5"), ("note", "")];
    olga.send(&at("transfer"), &bad).await.is(422).says("Only 2 is free").says("value=\"5\"");
    let right = [("yard", &*north), ("to", &*south), ("quantity", "1"), ("note", "")];
    olga.send(&at("transfer"), &right).await.leads_to("&done=transferred");
    let bad = [("yard", &*north), ("quantity", "1"), ("value", "5 USD"), ("note", "")];
    olga.send(&at("receive"), &bad).await.is(422).says("the books are kept in EUR").says("value=\"5 USD\"");
    let bad = [("yard", &*north), ("quantity", "9999999"), ("value", "5"), ("note", "")];
    olga.send(&at("receive"), &bad).await.is(422).says("more than any store holds");
    olga.get(&here).await.says("damaged").says("to South yard").says("Send to another yard");

    let sheet = olga.get(&format!("/store/count?yard={north}")).await;
    sheet.is(200).says("Brake pad set").says("name=\"booked-").says("value=\"1\"");
    let counted = format!("counted-{}", b.part);
    let booked = format!("booked-{}", b.part);
    let part = b.part.to_string();
    let lines = [("yard", &*north), ("part", &*part), (&*booked, "1"), (&*counted, "many")];
    olga.send("/store/count", &lines).await.is(422).says(&format!("#count-{counted}")).says("value=\"many\"");
    let lines = [("yard", &*north), ("part", &*part), (&*booked, "1"), (&*counted, "2")];
    olga.send("/store/count", &lines).await.leads_to("&done=counted");
    assert_eq!(stock(&b).await.on_hand, 2_000);
    b.assert_sound().await;
}
