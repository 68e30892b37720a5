//! Many at once, on whatever order they like: what each was answered is recorded, and some order of single steps must explain
//! all of it. For who has a work order, what is in a bin, and whether a machine is held.

use std::collections::BTreeSet;
use std::future::Future;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use chock::domain::ids::{HoldId, PersonId, WorkOrderId};
use chock::domain::person::{Actor, Role};
use chock::domain::refusal::Refusal;
use chock::domain::standing::Standing;
use chock::workflow::{self, NewPerson, WorkflowError, Workshop};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::linearizable::{Call, Model, is_linearizable};
use super::rounds;
use crate::support::{Bench, actor, on_both};

on_both!(
    who_has_a_work_order_changes_in_single_steps,
    what_is_in_a_bin_changes_in_single_steps,
    a_machine_is_held_in_single_steps,
);

const CALLS: usize = 12;

/// Counts on with every call that begins or is answered: a clock on which no two moments are the same.
#[derive(Clone, Default)]
struct Ticks(Arc<AtomicU64>);

impl Ticks {
    async fn record<Op>(&self, w: &Workshop, client: usize, call: impl Future<Output = Op>) -> Call<Op> {
        let began = self.0.fetch_add(1, Ordering::SeqCst);
        // As the server does it for every change (`http/settled.rs`).
        let settling = workflow::settling(w);
        let op = call.await;
        settling.settled().await.expect("nothing was lost");
        Call { client, op, began, answered: self.0.fetch_add(1, Ordering::SeqCst) }
    }
}

/// Runs every client beside the others; answers what all of them recorded.
async fn all_at_once<Op, F>(clients: usize, client: impl Fn(usize, Ticks) -> F) -> Vec<Call<Op>>
where
    Op: Send + 'static,
    F: Future<Output = Vec<Call<Op>>> + Send + 'static,
{
    let ticks = Ticks::default();
    let tasks: Vec<_> = (0..clients).map(|n| tokio::spawn(client(n, ticks.clone()))).collect();
    let mut history = Vec::new();
    for task in tasks {
        history.extend(task.await.expect("a client saw only what it may see"));
    }
    history
}

fn overlaps<Op>(history: &[Call<Op>]) -> usize {
    let met =
        |a: &Call<Op>, b: &Call<Op>| a.client < b.client && a.began < b.answered && b.began < a.answered;
    history.iter().map(|a| history.iter().filter(|b| met(a, b)).count()).sum()
}

async fn mechanics(b: &Bench, count: usize) -> Vec<Actor> {
    let mut found = vec![b.mechanic.clone(), b.other_mechanic.clone()];
    for n in found.len()..count {
        let new = NewPerson {
            name: format!("Mechanic {n}"),
            email: format!("mechanic-{n}@yard.example"),
            roles: vec![Role::Mechanic],
            yards: vec![b.yard],
            rate_minor: 5_000,
        };
        let (id, _) = workflow::add_person(&b.workshop, &b.owner, new).await.unwrap();
        found.push(actor(&b.workshop, id).await);
    }
    found
}

/// What a refusal of the rules is, and nothing else is.
fn refused<T: std::fmt::Debug>(outcome: Result<T, WorkflowError>) -> bool {
    match outcome {
        Ok(_) => false,
        Err(WorkflowError::Refused(
            Refusal::Conflict(_) | Refusal::Forbidden(_) | Refusal::Invalid { .. },
        )) => true,
        other => panic!("{other:?}"),
    }
}

// Who has a work order ---------------------------------------------------------------------------------------------

struct Claims;

#[derive(Clone, Debug)]
enum ClaimOp {
    Claimed { by: PersonId },
    NotClaimed { by: PersonId },
    HandedBack { by: PersonId },
    NotHandedBack { by: PersonId },
    Seen { has: Option<PersonId> },
}

impl Model for Claims {
    type State = Option<PersonId>;
    type Op = ClaimOp;

    fn after(&self, has: &Option<PersonId>, op: &ClaimOp) -> Option<Option<PersonId>> {
        match op {
            // Claiming what one has already changes nothing.
            ClaimOp::Claimed { by } => has.is_none_or(|has| has == *by).then_some(Some(*by)),
            ClaimOp::NotClaimed { by } => has.is_some_and(|has| has != *by).then_some(*has),
            ClaimOp::HandedBack { by } => (*has == Some(*by)).then_some(None),
            ClaimOp::NotHandedBack { by } => (*has != Some(*by)).then_some(*has),
            ClaimOp::Seen { has: seen } => (seen == has).then_some(*has),
        }
    }
}

async fn claimant(w: &Workshop, owner: &Actor, order: WorkOrderId) -> Option<PersonId> {
    workflow::order_page(w, owner, order).await.unwrap().order.mechanic_id
}

async fn who_has_a_work_order_changes_in_single_steps(b: Bench) {
    let who = mechanics(&b, 5).await;
    let order = b.ground(b.machine).await;
    let (mut calls, mut met) = (0, 0);
    let mut last = Vec::new();
    let mut first = None;
    for round in 0..rounds(3, 60) {
        let (w, owner, who) = (b.workshop.clone(), b.owner.clone(), who.clone());
        let history = all_at_once(5, move |n, ticks| {
            let (w, owner, me) = (w.clone(), owner.clone(), who[n].clone());
            let mut dice = StdRng::seed_from_u64((round * 100 + n) as u64);
            async move {
                let mut mine = Vec::new();
                for _ in 0..CALLS {
                    let by = me.id;
                    mine.push(match dice.random_range(0..5) {
                        0 | 1 => {
                            let act = async {
                                match refused(workflow::claim(&w, &me, order).await) {
                                    false => ClaimOp::Claimed { by },
                                    true => ClaimOp::NotClaimed { by },
                                }
                            };
                            ticks.record(&w, n, act).await
                        }
                        2 | 3 => {
                            let act = async {
                                match refused(workflow::hand_back(&w, &me, order).await) {
                                    false => ClaimOp::HandedBack { by },
                                    true => ClaimOp::NotHandedBack { by },
                                }
                            };
                            ticks.record(&w, n, act).await
                        }
                        _ => {
                            let act = async { ClaimOp::Seen { has: claimant(&w, &owner, order).await } };
                            ticks.record(&w, n, act).await
                        }
                    });
                }
                mine
            }
        })
        .await;
        (calls, met) = (calls + history.len(), met + overlaps(&history));
        assert!(is_linearizable(&Claims, &first, &history), "no order explains it: {history:#?}");
        first = claimant(&b.workshop, &b.owner, order).await;
        last = history;
    }
    // Two who have it at once are seen for what they are.
    let at = last.iter().map(|c| c.answered).max().unwrap_or_default() + 10;
    let one =
        |by: PersonId, began, answered| Call { client: 9, op: ClaimOp::Claimed { by }, began, answered };
    last.push(one(who[0].id, at, at + 5));
    last.push(one(who[1].id, at + 1, at + 4));
    assert!(!is_linearizable(&Claims, &None, &last), "a wrong history passes");
    println!("{calls} calls about who has a work order, {met} pairs of them at once");
    assert!(met > 0, "nobody met anybody");
    b.assert_sound().await;
}

// What is in a bin -------------------------------------------------------------------------------------------------

struct Bin;

#[derive(Clone, Debug)]
enum BinOp {
    Issued { to: usize },
    NotIssued,
    Returned { from: usize },
    NotReturned { from: usize },
    Received,
    Seen { on_hand: i64 },
}

/// On hand, and what each client's work order has.
type InBin = (i64, Vec<i64>);

impl Model for Bin {
    type State = InBin;
    type Op = BinOp;

    fn after(&self, (on_hand, issued): &InBin, op: &BinOp) -> Option<InBin> {
        let mut issued = issued.clone();
        match op {
            BinOp::Issued { to } => {
                issued[*to] += 1;
                (*on_hand >= 1).then_some((on_hand - 1, issued))
            }
            BinOp::NotIssued => (*on_hand < 1).then_some((*on_hand, issued)),
            BinOp::Returned { from } => {
                issued[*from] -= 1;
                (issued[*from] >= 0).then_some((on_hand + 1, issued))
            }
            BinOp::NotReturned { from } => (issued[*from] < 1).then_some((*on_hand, issued)),
            BinOp::Received => Some((on_hand + 1, issued)),
            BinOp::Seen { on_hand: seen } => (seen == on_hand).then_some((*on_hand, issued)),
        }
    }
}

async fn what_is_in_a_bin_changes_in_single_steps(b: Bench) {
    let orders = [b.ground(b.machine).await, b.ground(b.second_machine).await];
    let who = [b.mechanic.clone(), b.other_mechanic.clone()];
    for (who, order) in who.iter().zip(orders) {
        workflow::claim(&b.workshop, who, order).await.unwrap();
    }
    let (mut calls, mut met) = (0, 0);
    let mut state: InBin = (3, vec![0, 0]);
    let mut history = Vec::new();
    for round in 0..rounds(3, 60) {
        let (w, owner, who, part, yard) = (b.workshop.clone(), b.owner.clone(), who.clone(), b.part, b.yard);
        // Two of each mechanic: at the bench and at the store's counter.
        history = all_at_once(4, move |n, ticks| {
            let place = n % 2;
            let (w, owner, me, order) = (w.clone(), owner.clone(), who[place].clone(), orders[place]);
            let mut dice = StdRng::seed_from_u64((round * 100 + n) as u64);
            async move {
                let mut mine = Vec::new();
                for _ in 0..CALLS {
                    mine.push(match dice.random_range(0..9) {
                        0..4 => {
                            let act = async {
                                match refused(workflow::issue_part(&w, &me, order, part, "1").await) {
                                    false => BinOp::Issued { to: place },
                                    true => BinOp::NotIssued,
                                }
                            };
                            ticks.record(&w, n, act).await
                        }
                        4..7 => {
                            let act = async {
                                match refused(workflow::return_part(&w, &me, order, part, "1").await) {
                                    false => BinOp::Returned { from: place },
                                    true => BinOp::NotReturned { from: place },
                                }
                            };
                            ticks.record(&w, n, act).await
                        }
                        7 if dice.random_bool(0.3) => {
                            let act = async {
                                workflow::receive_part(&w, &owner, part, yard, "1", "30.00", "")
                                    .await
                                    .unwrap();
                                BinOp::Received
                            };
                            ticks.record(&w, n, act).await
                        }
                        _ => {
                            let act = async {
                                let parts = workflow::store_parts(&w, &owner).await.unwrap();
                                BinOp::Seen { on_hand: parts[0].on_hand / 1_000 }
                            };
                            ticks.record(&w, n, act).await
                        }
                    });
                }
                mine
            }
        })
        .await;
        (calls, met) = (calls + history.len(), met + overlaps(&history));
        assert!(is_linearizable(&Bin, &state, &history), "from {state:?} no order explains it: {history:#?}");
        for call in &history {
            match call.op {
                BinOp::Issued { to } => (state.0, state.1[to]) = (state.0 - 1, state.1[to] + 1),
                BinOp::Returned { from } => (state.0, state.1[from]) = (state.0 + 1, state.1[from] - 1),
                BinOp::Received => state.0 += 1,
                _ => {}
            }
        }
        assert_eq!(workflow::store_parts(&b.workshop, &b.owner).await.unwrap()[0].on_hand, state.0 * 1_000);
    }
    // One more than there can be, seen after all was over, is not explained.
    let at = history.iter().map(|c| c.answered).max().unwrap_or_default() + 1;
    let after = [Call { client: 9, op: BinOp::Seen { on_hand: state.0 + 1 }, began: at, answered: at + 1 }];
    assert!(!is_linearizable(&Bin, &state, &after), "a wrong history passes");
    println!("{calls} calls about what is in a bin, {met} pairs of them at once");
    assert!(met > 0, "nobody met anybody");
    b.assert_sound().await;
}

// Whether a machine is held ------------------------------------------------------------------------------------------

struct Holds;

#[derive(Clone, Debug)]
enum HoldOp {
    Placed(HoldId),
    Lifted(HoldId),
    NotLifted(HoldId),
    Seen { held: bool },
}

impl Model for Holds {
    type State = BTreeSet<HoldId>;
    type Op = HoldOp;

    fn after(&self, open: &BTreeSet<HoldId>, op: &HoldOp) -> Option<BTreeSet<HoldId>> {
        let mut open = open.clone();
        match op {
            HoldOp::Placed(id) => open.insert(*id).then_some(open),
            HoldOp::Lifted(id) => open.remove(id).then_some(open),
            HoldOp::NotLifted(id) => (!open.contains(id)).then_some(open),
            HoldOp::Seen { held } => (*held != open.is_empty()).then_some(open),
        }
    }
}

async fn a_machine_is_held_in_single_steps(b: Bench) {
    let who = [b.supervisor.clone(), b.owner.clone(), b.mechanic.clone(), b.operator.clone()];
    let (mut calls, mut met) = (0, 0);
    let mut history = Vec::new();
    for round in 0..rounds(3, 60) {
        let (w, who, machine) = (b.workshop.clone(), who.clone(), b.machine);
        let placed: Arc<std::sync::Mutex<Vec<HoldId>>> = Arc::default();
        history = all_at_once(4, move |n, ticks| {
            let (w, me, placed) = (w.clone(), who[n].clone(), placed.clone());
            let mut dice = StdRng::seed_from_u64((round * 100 + n) as u64);
            async move {
                let mut mine = Vec::new();
                for _ in 0..CALLS {
                    let known = placed.lock().unwrap().clone();
                    mine.push(match dice.random_range(0..4) {
                        0 => {
                            let id: HoldId = w.ambient.id();
                            let act = async {
                                workflow::place_hold(&w, &me, id, machine, "Looks odd").await.unwrap();
                                HoldOp::Placed(id)
                            };
                            let call = ticks.record(&w, n, act).await;
                            placed.lock().unwrap().push(id);
                            call
                        }
                        // A supervisor and an owner may lift anybody's.
                        1 | 2 if n < 2 && !known.is_empty() => {
                            let id = known[dice.random_range(0..known.len())];
                            let act = async {
                                match refused(workflow::lift_hold(&w, &me, id, "Looked at").await.map(|_| ()))
                                {
                                    false => HoldOp::Lifted(id),
                                    true => HoldOp::NotLifted(id),
                                }
                            };
                            ticks.record(&w, n, act).await
                        }
                        _ => {
                            let act = async {
                                let gate = workflow::gate(&w, &me, machine).await.unwrap();
                                HoldOp::Seen { held: gate.standing == Standing::OutOfService }
                            };
                            ticks.record(&w, n, act).await
                        }
                    });
                }
                mine
            }
        })
        .await;
        (calls, met) = (calls + history.len(), met + overlaps(&history));
        assert!(is_linearizable(&Holds, &BTreeSet::new(), &history), "no order explains it: {history:#?}");
        let gate = workflow::gate(&b.workshop, &b.supervisor, b.machine).await.unwrap();
        for hold in gate.holds {
            workflow::lift_hold(&b.workshop, &b.supervisor, hold.id, "Next round").await.unwrap();
        }
    }
    // Seen fit for use while somebody's hold stood all the time.
    let id: HoldId = b.workshop.ambient.id();
    let at = history.iter().map(|c| c.answered).max().unwrap_or_default() + 1;
    let wrong = [
        Call { client: 9, op: HoldOp::Placed(id), began: at, answered: at + 1 },
        Call { client: 8, op: HoldOp::Seen { held: false }, began: at + 2, answered: at + 3 },
    ];
    assert!(!is_linearizable(&Holds, &BTreeSet::new(), &wrong), "a wrong history passes");
    println!("{calls} calls about whether a machine is held, {met} pairs of them at once");
    assert!(met > 0, "nobody met anybody");
    b.assert_sound().await;
}
