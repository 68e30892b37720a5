//! Figures that are the same to the last digit, check after check, on something that wears or drifts.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::{Looked, SeenCheck, SeenValue, Sign, count};
use crate::domain::unit::{Quantity, Unit};
use crate::words::Text;

/// Pairs of checks before the run, of which it is known how often the figure stayed the same. Our own cautious choice.
pub(super) const FEWEST_PAIRS: usize = 10;
/// Shown when so long a run comes about by chance less often than this.
pub(super) const ONCE_IN: u32 = 100;
/// So many equal pressures running need no history: a tyre moves with every change of the weather. Common practice, no
/// source.
pub(super) const MOST_SAME_PRESSURES: usize = 10;
/// A run of fewer is never odd: some gauges are coarse.
const FEWEST_RUNNING: usize = 5;

/// A figure, and at which check it was read.
struct Read<'a> {
    check: usize,
    value: &'a SeenValue,
}

impl Read<'_> {
    /// To the last digit: "8.50" is another figure than "8.5".
    fn is_as(&self, other: &SeenValue) -> bool {
        (&self.value.as_read, &self.value.unit) == (&other.as_read, &other.unit)
    }
}

/// The newest run of a place only: one sentence at the newest check of it, not one for every check on the way.
pub(super) fn look(checks: &[SeenCheck], from: DateTime<Utc>, looked: &mut Looked) {
    let mut series: BTreeMap<(&str, &str), Vec<Read<'_>>> = BTreeMap::new();
    for (i, check) in checks.iter().enumerate() {
        for v in &check.values {
            let place = (v.item.as_str(), v.position.as_str());
            series.entry(place).or_default().push(Read { check: i, value: v });
        }
    }
    let mut runs: BTreeMap<(usize, usize), Vec<(Text, Text)>> = BTreeMap::new();
    let mut thin: Option<usize> = None;
    for readings in series.values() {
        let Some(&Read { check: newest, value: last }) = readings.last() else { continue };
        let running = readings.iter().rev().take_while(|r| r.is_as(last)).count();
        if running < FEWEST_RUNNING || checks[newest].recorded_at < from {
            continue;
        }
        let before = &readings[..readings.len() - running];
        let pairs = before.len().saturating_sub(1);
        let unchanged = before.windows(2).filter(|w| w[0].is_as(w[1].value)).count();
        // One of each is taken as seen, so that what never stayed the same is not called impossible.
        let chance = (count(unchanged + 1) / count(pairs + 2)).powf(count(running - 1));
        let drifts = last.unit.parse().is_ok_and(|u: Unit| u.quantity() == Quantity::Pressure);
        let why = if pairs >= FEWEST_PAIRS && chance < 1.0 / f64::from(ONCE_IN) {
            said!("careless-changed", changed = pairs - unchanged, pairs = pairs)
        } else if pairs < FEWEST_PAIRS && drifts && running >= MOST_SAME_PRESSURES {
            said!("careless-weather")
        } else {
            if pairs < FEWEST_PAIRS {
                thin = thin.max(Some(pairs));
            }
            continue;
        };
        let figure = Text::each(|lang| lang.figure(&format!("{} {}", last.as_read, last.unit)));
        runs.entry((newest, running)).or_default().push((Text::joined([&last.title, &figure], ": "), why));
    }
    for ((newest, running), places) in runs {
        let [(first, why), others @ ..] = &places[..] else { continue };
        let sentence = match others.len() {
            0 => said!("careless-same", first = first, running = running, why = why),
            n => said!("careless-same-and-more", first = first, running = running, why = why, count = n),
        };
        looked.add(&checks[newest], Sign::Same, sentence);
    }
    if let Some(pairs) = thin.filter(|_| !looked.odd.iter().any(|o| o.sign == Sign::Same)) {
        looked.leave(Sign::Same, said!("careless-thin-same", pairs = pairs, fewest = FEWEST_PAIRS));
    }
}
