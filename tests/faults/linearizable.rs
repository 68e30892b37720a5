//! Whether a recorded history of calls can be explained as if each call had happened at one instant between its beginning and
//! its answer: linearizability (Herlihy and Wing, "Linearizability: a correctness condition for concurrent objects", ACM
//! TOPLAS 12(3), 1990). The search is Wing and Gong's ("Testing and verifying concurrent objects", JPDC 17, 1993), which tries
//! every order that the times allow; it remembers where it has been. Both from memory.

use std::collections::HashSet;
use std::hash::Hash;

/// One call as its client saw it.
#[derive(Clone, Debug)]
pub struct Call<Op> {
    pub client: usize,
    pub op: Op,
    pub began: u64,
    pub answered: u64,
}

/// What the thing is that was called: a state, and what a call with its answer makes of it.
pub trait Model {
    type State: Clone + Eq + Hash;
    type Op;
    /// None where the call cannot have answered so in this state.
    fn after(&self, state: &Self::State, op: &Self::Op) -> Option<Self::State>;
}

/// Whether some order explains it.
pub fn is_linearizable<M: Model>(model: &M, first: &M::State, history: &[Call<M::Op>]) -> bool {
    let mut calls: Vec<&Call<M::Op>> = history.iter().collect();
    calls.sort_by_key(|c| c.began);
    // Where the search stands: what has happened, and the state it led to.
    let mut been: HashSet<(Vec<u64>, M::State)> = HashSet::new();
    let mut open = vec![(vec![0_u64; calls.len().div_ceil(64)], first.clone())];
    let has = |done: &[u64], i: usize| done[i / 64] >> (i % 64) & 1 == 1;
    while let Some((done, state)) = open.pop() {
        let left = (0..calls.len()).filter(|i| !has(&done, *i));
        // Whatever comes next began before every other that is left had answered.
        let Some(until) = left.clone().map(|i| calls[i].answered).min() else { return true };
        for i in left.take_while(|i| calls[*i].began <= until) {
            if let Some(state) = model.after(&state, &calls[i].op) {
                let mut done = done.clone();
                done[i / 64] |= 1 << (i % 64);
                if been.insert((done.clone(), state.clone())) {
                    open.push((done, state));
                }
            }
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A register that is written and read, the usual example.
    struct Register;

    #[derive(Clone, Debug)]
    enum Op {
        Write(u8),
        Read(u8),
    }

    impl Model for Register {
        type State = u8;
        type Op = Op;
        fn after(&self, state: &u8, op: &Op) -> Option<u8> {
            match op {
                Op::Write(to) => Some(*to),
                Op::Read(saw) => (saw == state).then_some(*state),
            }
        }
    }

    fn call(client: usize, op: Op, began: u64, answered: u64) -> Call<Op> {
        Call { client, op, began, answered }
    }

    /// Histories of the kind of figure 1 and 2 of Herlihy and Wing: reads that overlap a write may see either value, but not
    /// the new one and then the old one.
    #[test]
    fn overlapping_calls_may_come_in_either_order_and_others_may_not() {
        let good = [
            call(0, Op::Write(1), 0, 10),
            call(1, Op::Read(0), 1, 3),
            call(2, Op::Read(1), 4, 6),
            call(1, Op::Read(1), 7, 8),
        ];
        assert!(is_linearizable(&Register, &0, &good));
        let mut new_then_old = good.to_vec();
        new_then_old[3] = call(1, Op::Read(0), 7, 8);
        assert!(!is_linearizable(&Register, &0, &new_then_old), "the new value was seen before");
        let stale = [call(0, Op::Write(1), 0, 1), call(1, Op::Read(0), 2, 3)];
        assert!(!is_linearizable(&Register, &0, &stale), "the write had answered");
        let out_of_thin_air = [call(0, Op::Write(1), 0, 9), call(1, Op::Read(2), 1, 2)];
        assert!(!is_linearizable(&Register, &0, &out_of_thin_air));
        assert!(is_linearizable(&Register, &0, &[]));
    }
}
