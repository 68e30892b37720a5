//! Sending again changes nothing and answers the same (invariant 8).

use chock::domain::refusal::Refusal;
use chock::workflow::{self, WorkflowError};

use crate::support::{Bench, on_both};

on_both!(the_same_check_many_times_at_once_is_one_check, another_check_under_the_same_id_is_refused);

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
