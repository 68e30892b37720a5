//! Duties of published regulations, as far as a server can carry them. They are models: for a typical off-road machine
//! they are not automatically binding, and local law comes first.

use chock::domain::person::{Act, Role};
use chock::domain::refusal::Refusal;
use chock::domain::standing::Standing;
use chock::workflow::{self, WorkflowError};

use crate::support::{Bench, on_both};

on_both!(
    a_failed_safety_item_is_reported_at_once_and_the_machine_is_not_placed_in_service,
    a_machine_found_unsafe_at_any_time_is_out_until_restored,
    an_open_defect_stays_on_record_until_corrected,
    a_report_names_machine_defects_and_signer_and_its_repair_is_certified,
    only_the_authorised_sign_off_a_repair,
);

/// 29 CFR 1910.178(q)(7), read in OSHA's citation text: examined before being placed in service, not placed in service
/// if any condition adversely affects safety, defects immediately reported.
async fn a_failed_safety_item_is_reported_at_once_and_the_machine_is_not_placed_in_service(b: Bench) {
    for stop in b.checklist.walk().iter().filter(|s| s.item.safety && s.item.measure().is_none()) {
        let position = stop.position.map(|p| p.key.clone()).unwrap_or_default();
        if matches!(stop.item.asks, chock::domain::checklist::Asks::Level) {
            continue;
        }
        let mut check = b.failed_check(b.machine, 12_010, &stop.item.key, &position);
        check.hours_confirmed = true;
        b.wait(1);
        let answered = b.submit(check).await;
        assert_ne!(answered.standing, Standing::FitForUse, "{}", stop.title());
        let told = workflow::verdict(&b.workshop, &b.owner, answered.check).await.unwrap().told;
        let held_by_this = answered
            .findings
            .iter()
            .any(|f| f.severity == chock::domain::standing::Severity::OutOfService && !f.seen_before);
        assert_eq!(held_by_this, !told.is_empty(), "{}", stop.title());
    }
    b.assert_sound().await;
}

/// 29 CFR 1910.178(p)(1), read in a secondary page: found defective or unsafe at any time, out of service until restored
/// to safe operating condition.
async fn a_machine_found_unsafe_at_any_time_is_out_until_restored(b: Bench) {
    let w = &b.workshop;
    let report = workflow::ReportDefect {
        id: w.ambient.id(),
        machine: b.machine,
        what: "Steering pulls to the left".into(),
        system: chock::domain::checklist::System::Steering,
        safe_to_use: true,
    };
    let reported = workflow::report_defect(w, &b.operator, report).await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "steering, whatever the reporter hopes");
    let order = reported.work_order.unwrap();
    b.repair(order).await;
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    b.pass_retests(order).await;
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
}

/// 30 CFR 56.14100(c) and (d), read: hazardous equipment is tagged out until corrected; defects not corrected immediately
/// are recorded, and kept from recording until corrected.
async fn an_open_defect_stays_on_record_until_corrected(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::cancel_order(w, &b.supervisor, order, "wrong machine").await.unwrap();
    workflow::retire_machine(w, &b.supervisor, b.machine, "sold").await.unwrap();
    let gate = workflow::gate(w, &b.owner, b.machine).await.unwrap();
    assert_eq!((gate.standing, gate.defects.len(), gate.holds.len()), (Standing::Retired, 1, 1));
    b.assert_sound().await;
}

/// 49 CFR 396.11(a)(2)-(3) and 396.13, read in secondary pages: the report identifies the machine, lists each defect and
/// is signed; before the next use it is certified that the defect was repaired or that repair is unnecessary.
async fn a_report_names_machine_defects_and_signer_and_its_repair_is_certified(b: Bench) {
    let w = &b.workshop;
    let mut check = b.failed_check(b.machine, 12_010, "fuel-leak", "left-side");
    crate::support::fail(&mut check.answers, "horn", "");
    let answered = b.submit(check).await;
    let verdict = workflow::verdict(w, &b.operator, answered.check).await.unwrap();
    assert_eq!(verdict.machine.unit_number, "U-07");
    assert_eq!(verdict.check.operator_name, "Otto Operator");
    assert_eq!(verdict.answered.findings.len(), 2);
    let order = answered.work_order.unwrap();
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let page = workflow::order_page(w, &b.mechanic, order).await.unwrap();
    // One repaired, one in which no fault was found: both need the retest and the signature.
    let done = page
        .defects
        .iter()
        .enumerate()
        .map(|(n, d)| workflow::DefectDone {
            defect: d.defect.id,
            cause: if n == 0 { "Perished line".into() } else { String::new() },
            remedy: if n == 0 { "New line".into() } else { String::new() },
            no_fault_found: n > 0,
            part_replaced: false,
        })
        .collect();
    workflow::finish_work(w, &b.mechanic, order, done, None).await.unwrap();
    assert!(workflow::release(w, &b.supervisor, order, "").await.is_err());
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    let record = workflow::machine_record(w, &b.owner, b.machine, 10).await.unwrap();
    assert_eq!(record.releases[0].by_name, "Sara Supervisor");
    assert!(
        record.defects.iter().any(|d| d.no_fault_found)
            && record.defects.iter().any(|d| d.remedy == "New line")
    );
}

/// 29 CFR 1910.178(q)(1), read in a secondary page: repairs by authorised personnel.
async fn only_the_authorised_sign_off_a_repair(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    b.repair(order).await;
    b.pass_retests(order).await;
    for who in [&b.operator, &b.mechanic] {
        let refused = workflow::release(w, who, order, "").await;
        assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::Forbidden(_)))), "{}", who.name);
    }
    assert_eq!(Act::Release.roles(), [Role::Supervisor, Role::Owner]);
    assert!(workflow::claim(w, &b.operator, order).await.is_err());
}
