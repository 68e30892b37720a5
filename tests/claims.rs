//! Two mechanics at once: exactly one has the work order, and the other is told who.

use chock::domain::refusal::Refusal;
use chock::workflow::{self, WorkflowError};

use crate::support::{Bench, on_both};

on_both!(
    two_claims_at_once_have_one_winner,
    time_of_one_mechanic_never_overlaps,
    the_store_never_goes_below_zero
);

async fn two_claims_at_once_have_one_winner(b: Bench) {
    for _ in 0..15 {
        let order = b.ground(b.machine).await;
        let claim = |who: chock::domain::person::Actor| {
            let w = b.workshop.clone();
            tokio::spawn(async move { workflow::claim(&w, &who, order).await })
        };
        let (one, two) = (claim(b.mechanic.clone()), claim(b.other_mechanic.clone()));
        let (one, two) = (one.await.unwrap(), two.await.unwrap());
        let page = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap();
        let (winner, loser) = if one.is_ok() { (&b.mechanic, two) } else { (&b.other_mechanic, one) };
        assert_eq!(page.order.mechanic_id, Some(winner.id));
        let Err(WorkflowError::Refused(Refusal::Conflict(sentence))) = loser else { panic!("{loser:?}") };
        assert_eq!(sentence, format!("{} has this work order.", winner.name));
        workflow::cancel_order(&b.workshop, &b.supervisor, order, "next round").await.unwrap();
    }
    b.assert_sound().await;
}

async fn time_of_one_mechanic_never_overlaps(b: Bench) {
    let (one, two) = (b.ground(b.machine).await, b.ground(b.second_machine).await);
    for order in [one, two] {
        workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    }
    let start = |order| {
        let (w, who) = (b.workshop.clone(), b.mechanic.clone());
        tokio::spawn(async move { workflow::start_labour(&w, &who, order).await })
    };
    let (a, c) = (start(one), start(two));
    let done = [a.await.unwrap().is_ok(), c.await.unwrap().is_ok()];
    assert_eq!(done.iter().filter(|ok| **ok).count(), 1, "one clock runs");
    b.assert_sound().await;
}

async fn the_store_never_goes_below_zero(b: Bench) {
    let (one, two) = (b.ground(b.machine).await, b.ground(b.second_machine).await);
    workflow::claim(&b.workshop, &b.mechanic, one).await.unwrap();
    workflow::claim(&b.workshop, &b.other_mechanic, two).await.unwrap();
    // Three sets are there; eight are asked for at once.
    let mut asked = Vec::new();
    for n in 0..8 {
        let w = b.workshop.clone();
        let (who, order) =
            if n % 2 == 0 { (b.mechanic.clone(), one) } else { (b.other_mechanic.clone(), two) };
        let part = b.part;
        asked.push(tokio::spawn(async move { workflow::issue_part(&w, &who, order, part, "1").await }));
    }
    let mut issued = 0;
    for task in asked {
        match task.await.unwrap() {
            Ok(()) => issued += 1,
            Err(WorkflowError::Refused(Refusal::Conflict(_))) => {}
            Err(e) => panic!("{e:?}"),
        }
    }
    assert_eq!(issued, 3);
    assert_eq!(workflow::store_parts(&b.workshop, &b.owner).await.unwrap()[0].on_hand, 0);
    b.assert_sound().await;
}
