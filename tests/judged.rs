//! What the verdict says for itself: the context it was judged in, the rule with its version, what came back, and what
//! wears.

use chock::domain::air::{ambient_pressure, at_temperature};
use chock::domain::alert::Event;
use chock::domain::checklist::{Load, Warmth};
use chock::domain::ids::{DefectId, WorkOrderId};
use chock::domain::reading::{Context, Outcome};
use chock::domain::refusal::Refusal;
use chock::domain::standing::{Severity, Standing};
use chock::domain::unit::Hours;
use chock::storage::{LookBack, NewCheck, NewReading};
use chock::workflow::{
    self, Answered, AnsweredFinding, DefectDone, RetestAnswers, SubmitCheck, WorkflowError,
};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use crate::operator_pages::Walk;
use crate::support::browser::Browser;
use crate::support::{Bench, at, on_both};

on_both!(
    a_cold_morning_reads_low_and_a_leak_stays_a_leak,
    a_retest_is_made_in_the_context_of_the_failure,
    warmth_is_asked_where_a_limit_depends_on_it,
    what_comes_back_is_told_to_the_supervisors,
    where_there_is_no_supervisor_the_owner_hears_of_it,
    what_wears_is_told_before_it_is_worn,
    an_old_machine_is_judged_by_its_newest_readings_and_by_all_that_was_put_right,
    a_value_looked_back_on_is_the_value_that_was_kept,
    a_finding_names_its_rule_and_version_wherever_it_is_told,
);

const LIMIT: f64 = 100.0;
const METRES: i64 = 240;

/// What a tyre that just meets its limit at 20 °C reads at -5 °C at the height of the yard: the gas law.
fn cold_reading() -> f64 {
    at_temperature(LIMIT, 20.0, -5.0, ambient_pressure(240)).round()
}

fn in_the_cold(b: &Bench, hours: i64, front_left: f64) -> SubmitCheck {
    let mut check = b.check(b.machine, hours);
    check.air_temperature = Some("-5".into());
    at(&mut check.answers, "tyre-pressure", "front-left").value = Some(front_left.to_string());
    check
}

fn of_tyre(answered: &Answered) -> &AnsweredFinding {
    answered
        .findings
        .iter()
        .find(|f| f.what.here().starts_with("Tyre pressure, front left"))
        .expect("a finding")
}

async fn a_cold_morning_reads_low_and_a_leak_stays_a_leak(b: Bench) {
    let w = &b.workshop;
    workflow::set_altitude(w, &b.owner, b.yard, Some(METRES)).await.unwrap();
    let low = b.submit(in_the_cold(&b, 12_010, cold_reading())).await;
    let tyre = of_tyre(&low);
    assert_eq!(tyre.severity, Severity::Monitor, "low is low, whatever the cause");
    let weather = tyre.supporting.iter().find(|r| r.rule == "air temperature").expect("why it reads low");
    assert!(
        weather.sentence.here().ends_with("the cold explains it, but the tyre is low all the same."),
        "{weather:?}"
    );

    // Ten kPa less than the cold explains: that much is gone, and no rule is milder for the weather.
    let mut leaking = in_the_cold(&b, 12_020, cold_reading() - 10.0);
    leaking.watched = b.all_the_same(b.machine).await;
    let leak = b.submit(leaking).await;
    let tyre = of_tyre(&leak);
    let weather = tyre.supporting.iter().find(|r| r.rule == "air temperature").expect("what is missing");
    assert!(
        weather.sentence.here().ends_with("the cold explains that much, 10 kPa more are gone."),
        "{weather:?}"
    );
    let as_read = SubmitCheck { air_temperature: None, ..in_the_cold(&b, 3_010, cold_reading() - 10.0) };
    let as_read = b.submit(SubmitCheck { machine: b.second_machine, ..as_read }).await;
    assert_eq!(of_tyre(&as_read).severity, tyre.severity);

    // Kept with the check, and shown with it.
    let kept = workflow::verdict(w, &b.operator, leak.check).await.unwrap().check;
    assert_eq!(kept.context().in_words(), "unladen, air at -5 °C");
    assert_eq!(kept.altitude_m, Some(METRES));
    let otto = Browser::of(w, &b.operator).await;
    otto.get(&format!("/checks/{}", leak.check))
        .await
        .says("unladen, air at -5 °C")
        .says("10 kPa more are gone.");
    otto.get(&format!("/machines/{}/record", b.machine)).await.says("unladen, air at -5 °C");
    otto.get(&format!("/defects/{}", tyre.defect)).await.says("unladen, air at -5 °C");

    // The page explains it with figures, and asks again for what cannot be true.
    let page = otto.get(&format!("/machines/{}/check", b.second_machine)).await;
    page.says("The same air presses less when it is cold: a tyre of 14.5 psi at 20 °C reads")
        .says("A low tyre is low all the same.")
        .says_not("Engine and fluids");
    let mut form = Walk::begin(&b, &otto, b.second_machine, "302").await;
    form.set("watched", &of_tyre(&as_read).defect.to_string());
    form.set(&format!("w.{}", of_tyre(&as_read).defect), "same");
    form.set("air", "-500");
    form.send(&otto, b.second_machine, &[])
        .await
        .is(422)
        .says("An air temperature of -500 °C cannot be right");
    form.set("air", "cold");
    form.send(&otto, b.second_machine, &[])
        .await
        .is(422)
        .says("Air temperature: &#34;cold&#34; is not a plain figure");
    form.set("air", "23");
    form.set("air_unit", "°F");
    let done = form.send(&otto, b.second_machine, &[]).await;
    otto.get(&done.to).await.is(200).says("air at 23 °F");
    b.assert_sound().await;
}

async fn a_retest_is_made_in_the_context_of_the_failure(b: Bench) {
    let w = &b.workshop;
    let answered = b.submit(in_the_cold(&b, 12_010, cold_reading() - 10.0)).await;
    let defect = of_tyre(&answered).defect;
    // The horn fails as well: the air has no part in that.
    let mut horn = b.failed_check(b.machine, 12_011, "horn", "");
    horn.air_temperature = Some("-5".into());
    horn.watched = b.all_the_same(b.machine).await;
    let horn =
        b.submit(horn).await.findings.into_iter().find(|f| f.what.here().starts_with("Horn")).unwrap().defect;
    let page = workflow::defect_page(w, &b.owner, horn).await.unwrap();
    assert_eq!(page.defect.air, None);

    let order = workflow::open_order(w, &b.supervisor, b.machine).await.unwrap();
    b.repair(order).await;
    let mats = Browser::of(w, &b.mechanic).await;
    mats.get(&format!("/work-orders/{order}"))
        .await
        .says("unladen, air at -5 °C")
        .says("It failed in air of -5 °C.")
        // The sound tyre does not read as the fault.
        .says("Compared with Tyre pressure, front right</dt><dd>")
        .says_not("Compared with Tyre pressure, front left");
    let filled = |kpa: &str, air: Option<&str>| {
        let mut given = RetestAnswers { air_temperature: air.map(str::to_owned), ..RetestAnswers::default() };
        let mut answers = crate::support::all_well(&b.checklist, chock::domain::checklist::Load::Unladen);
        // The other tyre of the axle has its part in it: they differed.
        for position in ["front-left", "front-right"] {
            let tyre = at(&mut answers, "tyre-pressure", position);
            tyre.value = Some(kpa.to_owned());
            given.answers.push(tyre.clone());
        }
        given
    };
    let retest = async |given| workflow::retest(w, &b.mechanic, order, defect, given).await;
    let refused = retest(filled("100", None)).await;
    let Err(WorkflowError::Refused(Refusal::Invalid { problems })) = refused else { panic!("{refused:?}") };
    assert_eq!(problems[0].pointer, "/air_temperature");
    // Filled to the limit in a warm workshop it would be low again in the cold.
    b.wait(1);
    let warm = retest(filled("100", Some("20"))).await.unwrap();
    assert!(!warm.passed);
    assert!(
        warm.why.here().starts_with("Brought from 20 °C to the -5 °C it failed in: Tyre pressure"),
        "{}",
        warm.why
    );
    b.wait(1);
    b.finish(order).await.unwrap();
    assert!(retest(filled("125", Some("20"))).await.unwrap().passed);
    b.assert_sound().await;
}

/// The shipped checklists ask for no warmth; one that has a limit for it does.
async fn warmth_is_asked_where_a_limit_depends_on_it(b: Bench) {
    let w = &b.workshop;
    let source = chock::domain::shipped::SHIPPED[0].1.replace(
        "{ load = \"unladen\", at_least = \"100 kPa\" },",
        "{ load = \"unladen\", at_least = \"100 kPa\" },\n  { warmth = \"warm\", at_least = \"110 kPa\" },",
    );
    let (checklist, _) = workflow::upload_checklist(w, &b.owner, &source).await.unwrap();
    let otto = Browser::of(w, &b.operator).await;
    otto.get(&format!("/machines/{}/check", b.machine))
        .await
        .says("Engine and fluids")
        .says("Warm once it has run");
    let check = |warmth| {
        let mut check = SubmitCheck { checklist, warmth, ..b.check(b.machine, 12_010) };
        for tyre in check.answers.iter_mut().filter(|a| a.item.as_deref() == Some("tyre-pressure")) {
            tyre.value = Some("105".into());
        }
        check
    };
    let cold = b.submit(check(Some(Warmth::Cold))).await;
    assert_eq!(cold.findings.len(), 0, "{:?}", cold.findings);
    // Not said: the limits of both hold.
    let unsaid = b.submit(check(None)).await;
    assert_eq!(unsaid.findings.len(), 4);
    let defect = workflow::defect_page(w, &b.owner, unsaid.findings[0].defect).await.unwrap().defect;
    assert_eq!(defect.warmth, None);
    let mut warm = SubmitCheck { machine: b.second_machine, ..check(Some(Warmth::Warm)) };
    warm.engine_hours = Some(Hours(3_010));
    let warm = b.submit(warm).await;
    let defect = workflow::defect_page(w, &b.owner, warm.findings[0].defect).await.unwrap().defect;
    assert_eq!(defect.warmth, Some(Warmth::Warm));
    assert_eq!(defect.context().in_words(), "unladen, warm");
    let order = workflow::open_order(w, &b.supervisor, b.second_machine).await.unwrap();
    b.repair(order).await;
    let mats = Browser::of(w, &b.mechanic).await;
    mats.get(&format!("/work-orders/{order}")).await.says("It failed warm: let the machine run warm first.");
    b.assert_sound().await;
}

/// Repairs the machine's open defects and releases it.
async fn release(b: &Bench, part_replaced: bool) -> WorkOrderId {
    let w = &b.workshop;
    let order = match workflow::gate(w, &b.owner, b.machine).await.unwrap().order {
        Some(order) => order.id,
        None => workflow::open_order(w, &b.supervisor, b.machine).await.unwrap(),
    };
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    let done = page.defects.iter().map(|d| DefectDone {
        defect: d.defect.id,
        cause: "Seal hardened".into(),
        remedy: "Seal replaced".into(),
        no_fault_found: false,
        part_replaced,
    });
    workflow::finish_work(w, &b.mechanic, order, done.collect(), None).await.unwrap();
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    order
}

/// An oil leak is watched; back within 30 days of its release it is out of service.
async fn leak_that_comes_back(b: &Bench) -> (DefectId, Answered, SubmitCheck) {
    let leak = b.checklist.walk().iter().find(|s| s.item.key == "oil-leak").unwrap().place();
    let position = leak.position.unwrap_or_default();
    let first = b.submit(b.failed_check(b.machine, 12_010, "oil-leak", &position)).await;
    assert_eq!((first.standing, first.findings[0].came_back), (Standing::Monitored, false));
    release(b, false).await;
    b.wait(60 * 24 * 4);
    let check = b.failed_check(b.machine, 12_020, "oil-leak", &position);
    let second = b.submit(check.clone()).await;
    (first.findings[0].defect, second, check)
}

async fn what_comes_back_is_told_to_the_supervisors(b: Bench) {
    let w = &b.workshop;
    let (before, second, check) = leak_that_comes_back(&b).await;
    assert_eq!(second.standing, Standing::OutOfService, "a rule raises what comes back");
    assert!(second.findings[0].came_back && !second.findings[0].seen_before);
    let page = workflow::defect_page(w, &b.owner, second.findings[0].defect).await.unwrap();
    assert_eq!(page.defect.prior_defect_id, Some(before));
    assert!(page.defect.came_back);
    let told = |kind: &str, rows: &[workflow::OutboxRow]| {
        let of_kind = rows.iter().filter(|o| o.kind.as_str() == kind);
        of_kind.map(|o| o.person_name.clone()).collect::<Vec<_>>()
    };
    let outbox = workflow::outbox(w, &b.owner, 100).await.unwrap();
    assert_eq!(told("defect came back", &outbox), ["Sara Supervisor"]);
    assert_eq!(told("machine held", &outbox).len(), 5, "and everybody that the machine is held");
    let id = outbox.iter().find(|o| o.kind.as_str() == "defect came back").unwrap().id;
    let (_, alert) = workflow::alert_of(w, &b.supervisor, id).await.unwrap();
    let Event::CameBack { defects, .. } = alert.event else { panic!("{alert:?}") };
    assert!(
        defects[0].why.contains("back 4 days after its release (rule: oil leak back after repair)"),
        "{defects:?}"
    );
    assert!(
        defects[0].why.here().ends_with("Checklist: Daily check, utility vehicle, version 1."),
        "{defects:?}"
    );
    assert_eq!((defects[0].prior, defects[0].remedy.here()), (Some(before), "Seal replaced"));
    let sara = Browser::of(w, &b.supervisor).await;
    sara.get(&format!("/defects/{}", second.findings[0].defect))
        .await
        .says("Came back")
        .says("Too soon after its release: the supervisors are told.")
        .says("Cause: Seal hardened. Done: Seal replaced.")
        .says(&format!("href=\"/defects/{before}\""));
    sara.get(&format!("/checks/{}", second.check))
        .await
        .says("Sara Supervisor (it came back)")
        .says("It is back soon after its release");
    // Once, however often the check is sent, and however often it is seen while it is open.
    workflow::submit_check(w, &b.operator, check.clone()).await.unwrap();
    b.submit(SubmitCheck { id: w.ambient.id(), ..check }).await;
    let outbox = workflow::outbox(w, &b.owner, 100).await.unwrap();
    assert_eq!(told("defect came back", &outbox).len(), 1);
    b.assert_sound().await;
}

async fn where_there_is_no_supervisor_the_owner_hears_of_it(b: Bench) {
    let w = &b.workshop;
    let leak = b.checklist.walk().iter().find(|s| s.item.key == "oil-leak").unwrap().place();
    let position = leak.position.unwrap_or_default();
    b.submit(b.failed_check(b.machine, 12_010, "oil-leak", &position)).await;
    release(&b, false).await;
    workflow::disable_person(w, &b.owner, b.supervisor.id, true).await.unwrap();
    b.somebody_elsewhere().await;
    b.wait(60);
    b.submit(b.failed_check(b.machine, 12_020, "oil-leak", &position)).await;
    let outbox = workflow::outbox(w, &b.owner, 100).await.unwrap();
    let told: Vec<&str> = outbox
        .iter()
        .filter(|o| o.kind.as_str() == "defect came back")
        .map(|o| o.person_name.as_str())
        .collect();
    assert_eq!(told, ["Olga Owner"]);
}

async fn what_wears_is_told_before_it_is_worn(b: Bench) {
    let w = &b.workshop;
    let mut last = None;
    let measure = async |hours: i64, mm: f64| {
        b.wait(60 * 24);
        let mut check = b.check(b.machine, hours);
        for pad in check.answers.iter_mut().filter(|a| a.item.as_deref() == Some("brake-pad")) {
            pad.value = Some("6.0".into());
        }
        at(&mut check.answers, "brake-pad", "front-left").value = Some(format!("{mm:.1}"));
        check.watched = b.all_the_same(b.machine).await;
        b.submit(check).await
    };
    let of_pad = |answered: &Answered| {
        let pad = answered.trends.iter().find(|t| t.title == "Brake pad, front left");
        pad.expect("the pads are followed").clone()
    };
    for n in 0..12_i64 {
        // 0.06 mm an hour, ten hours a day, and a hand that reads a tenth more or less.
        let scatter = if n % 2 == 0 { 0.1 } else { -0.1 };
        #[expect(clippy::cast_precision_loss, reason = "a dozen")]
        let answered = measure(12_100 + n * 100, 9.5 - 0.6 * n as f64 + scatter).await;
        if n == 3 {
            assert_eq!(of_pad(&answered).words, "unknown: only 3 earlier readings");
        }
        last = Some(answered);
    }
    let last = last.unwrap();
    let pad = of_pad(&last);
    assert!(pad.words.here().starts_with("may be below 1.5 mm within "), "{pad:?}");
    assert!(pad.words.here().ends_with(" engine hours"), "{pad:?}");
    let within: f64 = pad.words.here().split(' ').nth(6).unwrap().parse().unwrap();
    assert!(within <= 50.0, "the rule asks for 50 h: {pad:?}");
    assert!(last.findings.iter().any(|f| f.rule == "brake pad soon worn out"), "{:?}", last.findings);
    let (early, late) = (pad.earliest_hours.unwrap(), pad.latest_hours.unwrap());
    assert!(early < pad.expected_hours.unwrap() && pad.expected_hours.unwrap() < late);
    let otto = Browser::of(w, &b.operator).await;
    let figures = pad.sentence.here().strip_prefix("Brake pad, front left: ").unwrap();
    assert!(figures.starts_with("11 earlier readings over 100 h: 1.5 mm expected at "), "{figures}");
    otto.get(&format!("/checks/{}", last.check))
        .await
        .says("What wears")
        .says(pad.words.here())
        .says(figures);
    otto.get(&format!("/machines/{}/record", b.machine)).await.says("What wears").says(pad.words.here());
    // The reason is told where there is nothing to tell.
    let rear = last.trends.iter().find(|t| t.title == "Brake pad, rear left").unwrap();
    assert_eq!(rear.words, "unknown: every reading is the same");

    // A new part begins a new series.
    release(&b, true).await;
    let answered = measure(13_400, 8.5).await;
    assert_eq!(of_pad(&answered).words, "unknown: no earlier readings since the part was replaced");
    let answered = measure(13_500, 7.9).await;
    assert_eq!(of_pad(&answered).words, "unknown: only 1 earlier reading since the part was replaced");
    otto.get(&format!("/machines/{}/record", b.machine))
        .await
        .says("unknown: only 1 earlier reading since the part was replaced");
    b.assert_sound().await;
}

/// Sixty readings are gone by, however many there are; what was put right counts as far back as its rule asks.
async fn an_old_machine_is_judged_by_its_newest_readings_and_by_all_that_was_put_right(b: Bench) {
    let mut last = None;
    for n in 0..76_i64 {
        b.wait(60 * 12);
        // Tenths of an hour, and hundredths of a millimetre.
        let mut check = b.check(b.machine, 12_100 + n * 6);
        #[expect(clippy::cast_precision_loss, reason = "some dozens")]
        let mm = 9.5 - 0.01 * n as f64;
        for pad in check.answers.iter_mut().filter(|a| a.item.as_deref() == Some("brake-pad")) {
            pad.value = Some("8.9".into());
        }
        at(&mut check.answers, "brake-pad", "front-left").value = Some(format!("{mm:.1}"));
        if [3, 4, 75].contains(&n) {
            let coolant = at(&mut check.answers, "coolant-level", "");
            coolant.outcome = Some("corrected".into());
            coolant.correction = Some("topped up".into());
            coolant.amount = Some("100".into());
            coolant.amount_unit = Some("mL".into());
        }
        last = Some(b.submit(check).await);
    }
    let last = last.unwrap();
    let pad = last.trends.iter().find(|t| t.title == "Brake pad, front left").unwrap();
    assert!(pad.sentence.here().contains(": 60 earlier readings over 35 h: "), "{pad:?}");
    // The first two lie 72 checks and 43 engine hours back; the rule asks for three within 50.
    assert_eq!(last.findings.len(), 1, "{:?}", last.findings);
    assert_eq!(last.findings[0].rule, "coolant topped up too often");
    b.assert_sound().await;
}

/// It passes through a text on the way.
async fn a_value_looked_back_on_is_the_value_that_was_kept(b: Bench) {
    let w = &b.workshop;
    let mut random = StdRng::seed_from_u64(26);
    let mut values =
        vec![0.0, -0.0, 0.1, 0.1 + 0.2, 1.0 / 3.0, 10_000.0, -40.0, 6.895_757, 689.475_729_316_836_1];
    values.extend((0..3_000).map(|_| random.random_range(-40.0..5_000.0)));
    values.extend((0..1_000).map(|_| f64::from(random.random_range(0..100_000)) * 6.894_757_293_168_361));
    let reading = |seq: i64| NewReading {
        seq,
        item: "pad".to_owned(),
        position: format!("of {seq}"),
        outcome: Outcome::Ok,
        level: None,
        value_base: None,
        value_read: None,
        unit: None,
        corrected_what: None,
        corrected_base: None,
    };
    let mut readings: Vec<NewReading> =
        (0..).zip(&values).map(|(n, value)| NewReading { value_base: Some(*value), ..reading(n) }).collect();
    readings.push(NewReading {
        corrected_what: Some("topped up".to_owned()),
        corrected_base: Some(values[3]),
        ..reading(-1)
    });
    let now = w.ambient.now();
    for hours in [Some(Hours(41_207)), None] {
        let check = NewCheck {
            id: w.ambient.id(),
            machine_id: b.machine,
            checklist_id: b.checklist_id,
            operator_id: b.operator.id,
            context: Context { engine_hours: hours, ..Context::of(Load::Unladen) },
            note: String::new(),
            answers: "[]".to_owned(),
            fingerprint: String::new(),
            verdict: Standing::FitForUse,
            begun_at: None,
            recorded_at: now,
            received_at: now,
        };
        let mut tx = w.db.begin().await.unwrap();
        tx.insert_check(&check, &readings).await.unwrap();
        tx.commit().await.unwrap();
    }

    let mut tx = w.db.read().await.unwrap();
    let back = LookBack { items: vec!["pad".to_owned()], from: now, until: now, most: i64::MAX };
    let looked = tx.looked_back_on(b.machine, &back).await.unwrap();
    assert_eq!((looked.values.len(), looked.put_right.len()), (values.len(), 2));
    for row in looked.put_right {
        assert_eq!((row.item.as_str(), row.corrected_base), ("pad", Some(0.1 + 0.2)));
        assert_eq!((row.position.as_str(), row.recorded_at), ("of -1", now));
    }
    let mut without_hours = 0;
    for of_it in looked.values {
        let n: usize = of_it.position.strip_prefix("of ").unwrap().parse().unwrap();
        assert_eq!((of_it.item.as_str(), of_it.values.len()), ("pad", 2));
        for value in of_it.values {
            assert_eq!(value.base.to_bits(), values[n].to_bits());
            assert_eq!(value.recorded_at, now);
            match value.engine_hours {
                Some(hours) => assert_eq!(hours, Hours(41_207)),
                None => without_hours += 1,
            }
        }
    }
    assert_eq!(without_hours, values.len());
}

async fn a_finding_names_its_rule_and_version_wherever_it_is_told(b: Bench) {
    let w = &b.workshop;
    // The second version.
    let (checklist, version) =
        workflow::upload_checklist(w, &b.owner, chock::domain::shipped::SHIPPED[0].1).await.unwrap();
    assert_eq!(version, 2);
    let mut check = SubmitCheck { checklist, ..b.check(b.machine, 12_010) };
    at(&mut check.answers, "brake-pad", "front-left").value = Some("1.2".into());
    let answered = b.submit(check).await;
    assert_eq!((answered.checklist.as_str(), answered.version), ("utility-vehicle-daily", 2));
    let why = "Brake pad, front left: 1.2 mm, at least 1.5 mm (rule: brake pad under its limit).";
    assert_eq!(answered.findings[0].why, why);
    let versioned = format!("{why} Checklist: Daily check, utility vehicle, version 2.");
    // Mail.
    let told = workflow::verdict(w, &b.operator, answered.check).await.unwrap().told;
    let (_, alert) = workflow::alert_of(w, &b.owner, told[0].id).await.unwrap();
    let Event::MachineHeld { why: told, .. } = alert.event else { panic!("{alert:?}") };
    assert_eq!(told[0].why, versioned);
    assert_eq!(told[0].what, "Brake pad, front left: 1.2 mm, at least 1.5 mm");
    // Audit.
    let stream = format!("machine {}", b.machine);
    let rows = workflow::audit_trail(w, &b.owner, &stream, "", 50).await.unwrap();
    assert_eq!(rows.iter().find(|r| r.act == "defect raised").unwrap().said_why(), versioned);
    // Pages.
    let mats = Browser::of(w, &b.mechanic).await;
    let defect = answered.findings[0].defect;
    mats.get(&format!("/checks/{}", answered.check))
        .await
        .says("Rule: brake pad under its limit.")
        .says("Daily check, utility vehicle, version 2");
    mats.get(&format!("/defects/{defect}")).await.says("Daily check, utility vehicle, version 2");
    mats.get(&format!("/work-orders/{}", answered.work_order.unwrap())).await.says(&versioned);
    mats.get(&format!("/machines/{}", b.machine)).await.says("brake pad under its limit");
    b.assert_sound().await;
}
