//! Sending again changes nothing and answers the same (invariant 8).

use chock::domain::refusal::Refusal;
use chock::workflow::{self, WorkflowError};

use crate::support::{Bench, on_both};

on_both!(
    the_same_check_many_times_at_once_is_one_check,
    other_checks_of_the_machine_at_once_see_one_another,
    another_check_under_the_same_id_is_refused,
);

async fn the_same_check_many_times_at_once_is_one_check(b: Bench) {
    let check = b.failed_check(b.machine, 12_010, "fuel-leak", "right-side");
    let mut sent = Vec::new();
    for _ in 0..8 {
        let (w, who, check) = (b.workshop.clone(), b.operator.clone(), check.clone());
        sent.push(tokio::spawn(async move { workflow::submit_check(&w, &who, check).await }));
    }
    let mut answers = Vec::new();
    for task in sent {
        answers.push(task.await.unwrap().expect("each is answered"));
    }
    assert!(answers.windows(2).all(|pair| pair[0] == pair[1]), "all answered the same");
    let record = workflow::machine_record(&b.workshop, &b.owner, b.machine, 50).await.unwrap();
    assert_eq!((record.checks.len(), record.defects.len(), record.orders.len()), (1, 1, 1));
    b.assert_sound().await;
}

/// Each is judged before the machine is locked: what another has found meanwhile is looked at again.
async fn other_checks_of_the_machine_at_once_see_one_another(b: Bench) {
    let mut sent = Vec::new();
    for _ in 0..12 {
        let (w, who) = (b.workshop.clone(), b.operator.clone());
        let check = b.failed_check(b.machine, 12_010, "fuel-leak", "right-side");
        sent.push(tokio::spawn(async move { workflow::submit_check(&w, &who, check).await }));
    }
    let mut found = Vec::new();
    for task in sent {
        found.push(task.await.unwrap().expect("each is taken").findings.remove(0));
    }
    assert_eq!(found.iter().filter(|f| !f.seen_before).count(), 1, "one of them found it");
    assert!(found.windows(2).all(|pair| pair[0].defect == pair[1].defect));
    let record = workflow::machine_record(&b.workshop, &b.owner, b.machine, 50).await.unwrap();
    assert_eq!((record.checks.len(), record.defects.len(), record.orders.len()), (12, 1, 1));
    b.assert_sound().await;
}

async fn another_check_under_the_same_id_is_refused(b: Bench) {
    let check = b.check(b.machine, 12_010);
    b.submit(check.clone()).await;
    let mut other = b.failed_check(b.machine, 12_010, "horn", "");
    other.id = check.id;
    let refused = workflow::submit_check(&b.workshop, &b.operator, other).await;
    assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::Conflict(_)))), "{refused:?}");
    // The first one still answers.
    let again = workflow::submit_check(&b.workshop, &b.operator, check).await.unwrap();
    assert!(again.findings.is_empty());
}
