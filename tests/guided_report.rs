//! A defect reported outside a check: five answers, a cell of MIL-STD-882E Table III, the checklist's threshold, and the
//! sentence about it wherever the defect is told of.

use chock::domain::alert::Event;
use chock::domain::checklist::System;
use chock::domain::ids::{DefectId, MachineId};
use chock::domain::risk::{Answers, Certain, Harm, YesOrNo};
use chock::domain::shipped::SHIPPED;
use chock::domain::standing::{Severity, Standing};
use chock::domain::unit::Hours;
use chock::workflow::{self, NewMachine, ReportDefect, Reported, WorkflowError};

use crate::support::browser::Browser;
use crate::support::{Bench, on_both, slight};

on_both!(
    severity_is_the_cell_of_table_three_against_the_threshold,
    a_certain_effect_is_final,
    a_doubt_may_be_lowered_by_one_who_has_looked,
    it_explains_itself_everywhere,
    without_a_checklist_there_is_a_default,
    the_threshold_is_the_checklists,
);

async fn report(b: &Bench, machine: MachineId, what: &str, answers: Answers) -> Reported {
    let report = ReportDefect { id: b.workshop.ambient.id(), machine, what: what.to_owned(), answers };
    workflow::report_defect(&b.workshop, &b.operator, report).await.expect("the report is taken")
}

async fn another_machine(b: &Bench, unit: &str, class: &str) -> MachineId {
    let new = NewMachine {
        yard: b.yard,
        unit_number: unit.into(),
        class: class.into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: Some(Hours(100)),
    };
    workflow::add_machine(&b.workshop, &b.owner, new).await.unwrap()
}

/// MIL-STD-882E Table III, the cells a report can reach; the shipped checklist grounds from serious. A report is of
/// something noticed, so rows E and F are never reached.
async fn severity_is_the_cell_of_table_three_against_the_threshold(b: Bench) {
    use Certain::{Likely, Seen, Suspected};
    use Harm::{DayOff, Deadly, Hospital, Nobody};
    use YesOrNo::{No, Yes};
    let rows = [
        ("1A", "high", Deadly, Seen, Yes),
        ("1D", "serious", Deadly, Suspected, No),
        ("2B", "high", Hospital, Seen, No),
        ("2C", "serious", Hospital, Likely, No),
        ("2D", "medium", Hospital, Suspected, No),
        ("3A", "serious", DayOff, Seen, Yes),
        ("3B", "serious", DayOff, Likely, Yes),
        ("3C", "medium", DayOff, Suspected, Yes),
        ("4A", "medium", Nobody, Seen, Yes),
        ("4C", "low", Nobody, Likely, No),
        ("4D", "low", Nobody, Suspected, No),
    ];
    for (cell, level, harm, certain, worse) in rows {
        let machine = another_machine(&b, &format!("T{cell}"), "utility vehicle").await;
        let answers = Answers { harm, certain, worse, ..slight(System::BodyAndFrame) };
        let reported = report(&b, machine, "Noticed", answers).await;
        let risk = &reported.risk;
        assert_eq!(chock::domain::risk::code(risk.category, risk.probability), cell);
        assert_eq!(risk.level.as_str(), level, "{cell}");
        let held = matches!(level, "high" | "serious");
        let standing = if held { Standing::OutOfService } else { Standing::Monitored };
        assert_eq!(b.standing(machine).await, standing, "{cell}");
        assert_eq!(reported.work_order.is_some(), held, "{cell}");
        let kept = workflow::defect_page(&b.workshop, &b.operator, reported.defect).await.unwrap();
        assert_eq!(kept.risk.as_ref(), Some(risk), "{cell}: kept as it was judged");
        assert_eq!(kept.defect.good_until_at.is_some(), !held, "{cell}: a watch has an end");
    }
    b.assert_sound().await;
}

async fn a_certain_effect_is_final(b: Bench) {
    let seen = Answers { certain: Certain::Seen, ..slight(System::Brakes) };
    for (n, answers) in [
        seen,
        Answers { affects: Some(System::Steering), ..seen },
        Answers { affects: Some(System::Restraint), ..seen },
        Answers { affects: Some(System::Fuel), ..seen },
        Answers { affects: Some(System::LightsAndSignals), fire: YesOrNo::Yes, ..seen },
    ]
    .into_iter()
    .enumerate()
    {
        let machine = another_machine(&b, &format!("F{n}"), "utility vehicle").await;
        let reported = report(&b, machine, "Noticed", answers).await;
        assert_eq!(reported.severity, Severity::OutOfService, "{answers:?}");
        let in_three_days = b.now() + chrono::TimeDelta::days(3);
        let lowered = workflow::lower_severity(
            &b.workshop,
            &b.supervisor,
            reported.defect,
            "Looks fine",
            in_three_days,
        );
        assert!(matches!(lowered.await, Err(WorkflowError::Refused(_))), "{answers:?}");
        assert_eq!(b.standing(machine).await, Standing::OutOfService);
    }
    b.assert_sound().await;
}

async fn a_doubt_may_be_lowered_by_one_who_has_looked(b: Bench) {
    let reported = report(&b, b.machine, "A knock from below", Answers::default()).await;
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let day = b.now() + chrono::TimeDelta::days(3);
    workflow::lower_severity(&b.workshop, &b.supervisor, reported.defect, "A loose skid plate, tied up", day)
        .await
        .unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);
    b.assert_sound().await;
}

async fn it_explains_itself_everywhere(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let empty = otto
        .send_files(&format!("/machines/{}/report", b.machine), &[("what".into(), " ".into())], &[])
        .await;
    empty.is(422).says("href=\"#report-what\">Say what is wrong: what you saw, heard, felt or smelt.");
    let answers = Answers { harm: Harm::Hospital, ..slight(System::BodyAndFrame) };
    let reported = report(&b, b.machine, "Roll bar cracked", answers).await;
    let why =
        "Critical × occasional = serious (MIL-STD-882E Table III); this checklist grounds from serious.";
    assert_eq!(reported.why, why);
    let sara = Browser::of(&b.workshop, &b.supervisor).await;
    let page = sara.get(&format!("/defects/{}", reported.defect)).await;
    page.is(200).says(why).says("serious, 2C: critical, occasional; out of service from serious");
    page.says("<dt>Can it hurt somebody?</dt><dd>could put somebody in hospital</dd>");
    let outbox = workflow::outbox(&b.workshop, &b.owner, 50).await.unwrap();
    let row = outbox.iter().find(|o| o.kind.as_str() == "machine held").expect("somebody was told");
    let (_, alert) = workflow::alert_of(&b.workshop, &b.owner, row.id).await.unwrap();
    let Event::MachineHeld { why: lines, .. } = alert.event else { panic!("another event") };
    let told: Vec<&str> = lines.iter().map(|l| l.why.here()).collect();
    assert_eq!(
        told,
        [format!("Roll bar cracked. {why} Checklist: Daily check, utility vehicle, version 1.")]
    );
    assert!(told[0].split_whitespace().count() < 25, "{}", told[0]);
    sara.get("/audit").await.is(200).says(why);
    b.assert_sound().await;
}

async fn without_a_checklist_there_is_a_default(b: Bench) {
    let mower = another_machine(&b, "M-1", "ride-on mower").await;
    let olga = Browser::of(&b.workshop, &b.owner).await;
    olga.get(&format!("/machines/{mower}/report"))
        .await
        .says("Without a checklist, M-1 is out of service from the level “serious” on");
    let answers = Answers { harm: Harm::Hospital, ..slight(System::BodyAndFrame) };
    let reported = report(&b, mower, "Guard hangs loose", answers).await;
    assert_eq!(reported.severity, Severity::OutOfService);
    assert!(
        reported.why.contains("without a checklist, a machine is grounded from serious"),
        "{}",
        reported.why
    );
}

async fn the_threshold_is_the_checklists(b: Bench) {
    let strict = SHIPPED[0].1.replacen("\ntitle = ", "\nout_of_service_from = \"medium\"\ntitle = ", 1);
    workflow::upload_checklist(&b.workshop, &b.owner, &strict).await.unwrap();
    let answers = Answers { harm: Harm::DayOff, ..slight(System::LightsAndSignals) };
    let reported = report(&b, b.machine, "Lamp dim", answers).await;
    assert_eq!(
        (reported.severity, reported.why.here()),
        (
            Severity::OutOfService,
            "Marginal × occasional = medium (MIL-STD-882E Table III); this checklist grounds from medium."
        )
    );
    let kept = workflow::defect_page(&b.workshop, &b.operator, reported.defect).await.unwrap();
    assert_eq!(
        kept.rules.as_ref().map(|r| r.here()),
        Some("Daily check, utility vehicle, version 2"),
        "which version decided"
    );
    let again = ReportDefect {
        id: DefectId(reported.defect.0),
        machine: b.machine,
        what: "Lamp dim".into(),
        answers: Answers { harm: Harm::Nobody, ..answers },
    };
    let other = workflow::report_defect(&b.workshop, &b.operator, again).await;
    assert!(matches!(other, Err(WorkflowError::Refused(_))), "other answers under the same id");
}
