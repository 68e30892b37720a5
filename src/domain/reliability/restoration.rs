//! From the moment a machine was found unfit to its return to service, and what that time went on (time to restoration: IEC
//! 60050-192, figure 1; ISO/TR 12489:2013). What people call "time to repair" is several things: it is never given as one.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use crate::domain::shift::Span;
use crate::domain::words::words;
use crate::domain::work_order::{OrderWord, WaitingFor};

words! {
    /// What a grounded machine's time goes on.
    Phase {
        /// Found, but not yet known here: the check was still on its way.
        Detection = "until it was known",
        /// No work order: nobody has decided what to do.
        Undecided = "without a work order",
        Mechanic = "waiting for a mechanic",
        Parts = "waiting for parts",
        Outside = "repair outside",
        Access = "waiting for access",
        Information = "waiting for information",
        Work = "work",
        Release = "waiting for release",
    }
}

/// What a work order was at for a while.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spell {
    pub from: DateTime<Utc>,
    /// None while it is.
    pub to: Option<DateTime<Utc>>,
    pub phase: Phase,
}

/// One time out of service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Down {
    /// From found to back, or to the end of what is looked at.
    pub span: Span,
    /// When it became known here.
    pub known_at: DateTime<Utc>,
    /// Whether it is back; else it is still going on.
    pub back: bool,
    /// Whether a defect that was really there grounded it, and not a hold placed by hand alone.
    pub failure: bool,
}

/// Of a hold, as far as it is needed here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    pub since: DateTime<Utc>,
    pub known_at: DateTime<Utc>,
    pub lifted_at: Option<DateTime<Utc>>,
    pub failure: bool,
}

impl Phase {
    /// None of an order that has ended.
    pub const fn of(state: OrderWord, waiting_for: Option<WaitingFor>) -> Option<Self> {
        Some(match (state, waiting_for) {
            (OrderWord::Queued | OrderWord::Claimed, _) => Phase::Mechanic,
            (OrderWord::InWork, _) => Phase::Work,
            (OrderWord::Waiting, Some(WaitingFor::Parts)) => Phase::Parts,
            (OrderWord::Waiting, Some(WaitingFor::OutsideRepair)) => Phase::Outside,
            (OrderWord::Waiting, Some(WaitingFor::Access)) => Phase::Access,
            (OrderWord::Waiting, Some(WaitingFor::Information) | None) => Phase::Information,
            (OrderWord::WorkDone, _) => Phase::Release,
            (OrderWord::Closed | OrderWord::Cancelled, _) => return None,
        })
    }

    /// Where a machine has several orders at once, its time goes on what is nearest to bringing it back.
    const fn rank(self) -> u8 {
        match self {
            Phase::Work => 0,
            Phase::Outside => 1,
            Phase::Parts => 2,
            Phase::Access => 3,
            Phase::Information => 4,
            Phase::Mechanic => 5,
            Phase::Release => 6,
            Phase::Undecided => 7,
            Phase::Detection => 8,
        }
    }
}

/// The times a machine was out of service: holds that overlap or touch are one. In order.
pub fn times_down(mut holds: Vec<Held>, now: DateTime<Utc>) -> Vec<Down> {
    holds.sort_by_key(|h| (h.since, h.known_at));
    let mut found: Vec<Down> = Vec::new();
    for h in holds {
        let to = h.lifted_at.unwrap_or(now).max(h.since);
        match found.last_mut() {
            Some(last) if h.since <= last.span.to => {
                last.back &= h.lifted_at.is_some();
                last.span.to = last.span.to.max(to);
                last.known_at = last.known_at.min(h.known_at);
                last.failure |= h.failure;
            }
            _ => found.push(Down {
                span: Span::new(h.since, to),
                known_at: h.known_at,
                back: h.lifted_at.is_some(),
                failure: h.failure,
            }),
        }
    }
    found
}

/// What the time went on. The parts make the whole, to the microsecond.
pub fn split(down: &Down, spells: &[Spell]) -> BTreeMap<Phase, TimeDelta> {
    let mut parts = BTreeMap::new();
    let Span { from, to } = down.span;
    let end = |s: &Spell| s.to.unwrap_or(to).min(to);
    let mut cuts = vec![from, down.known_at.clamp(from, to), to];
    for s in spells {
        cuts.extend([s.from, end(s)].into_iter().filter(|at| from < *at && *at < to));
    }
    cuts.sort_unstable();
    cuts.dedup();
    for piece in cuts.windows(2) {
        let (begin, stop) = (piece[0], piece[1]);
        let phase = if stop <= down.known_at {
            Phase::Detection
        } else {
            let here = spells.iter().filter(|s| s.from <= begin && end(s) >= stop).map(|s| s.phase);
            here.min_by_key(|p| p.rank()).unwrap_or(Phase::Undecided)
        };
        *parts.entry(phase).or_insert_with(TimeDelta::zero) += stop - begin;
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hour: i64) -> DateTime<Utc> {
        DateTime::<Utc>::UNIX_EPOCH + TimeDelta::hours(hour)
    }

    fn spell(from: i64, to: Option<i64>, phase: Phase) -> Spell {
        Spell { from: at(from), to: to.map(at), phase }
    }

    fn held(since: i64, lifted: Option<i64>, failure: bool) -> Held {
        Held { since: at(since), known_at: at(since), lifted_at: lifted.map(at), failure }
    }

    /// By hand: found at 0, known at 2, in the queue to 5, at work to 7, waits for parts to 30, away to 40, at work to 43,
    /// done, back at 50.
    #[test]
    fn the_parts_make_the_whole() {
        let down = Down { span: Span::new(at(0), at(50)), known_at: at(2), back: true, failure: true };
        let spells = [
            spell(2, Some(5), Phase::Mechanic),
            spell(5, Some(7), Phase::Work),
            spell(7, Some(30), Phase::Parts),
            spell(30, Some(40), Phase::Outside),
            spell(40, Some(43), Phase::Work),
            spell(43, None, Phase::Release),
        ];
        let parts = split(&down, &spells);
        let hours: Vec<(Phase, i64)> = parts.iter().map(|(p, t)| (*p, t.num_hours())).collect();
        let expected = [
            (Phase::Detection, 2),
            (Phase::Mechanic, 3),
            (Phase::Parts, 23),
            (Phase::Outside, 10),
            (Phase::Work, 5),
            (Phase::Release, 7),
        ];
        assert_eq!(hours, expected);
        assert_eq!(parts.values().sum::<TimeDelta>(), down.span.length());
    }

    #[test]
    fn of_two_orders_the_one_that_is_further_counts_and_none_is_said() {
        let down = Down { span: Span::new(at(0), at(10)), known_at: at(0), back: false, failure: false };
        let spells = [
            spell(1, Some(6), Phase::Mechanic),
            spell(3, Some(5), Phase::Work),
            spell(-9, Some(1), Phase::Release),
        ];
        let parts = split(&down, &spells);
        let hours = |p| parts.get(&p).map(TimeDelta::num_hours);
        assert_eq!(hours(Phase::Work), Some(2));
        assert_eq!(hours(Phase::Mechanic), Some(3));
        assert_eq!(hours(Phase::Release), Some(1));
        assert_eq!(hours(Phase::Undecided), Some(4));
    }

    #[test]
    fn holds_that_overlap_are_one_time_down() {
        let holds = vec![
            held(20, None, false),
            held(0, Some(5), false),
            held(3, Some(9), true),
            held(9, Some(10), false),
        ];
        let found = times_down(holds, at(24));
        assert_eq!(found.len(), 2);
        assert_eq!((found[0].span, found[0].back, found[0].failure), (Span::new(at(0), at(10)), true, true));
        assert_eq!(
            (found[1].span, found[1].back, found[1].failure),
            (Span::new(at(20), at(24)), false, false)
        );
        assert!(times_down(Vec::new(), at(0)).is_empty());
    }
}
