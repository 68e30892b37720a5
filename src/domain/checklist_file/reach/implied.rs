//! Whether one rule holds whenever another does. Sure of what it says yes to; where it cannot tell, it says no.

use crate::domain::checklist::{Bounds, Checklist, Condition, Measure, Place, Rule, Side, Under, Window};
use crate::domain::reading::{Level, Outcome};

/// Where a condition looks, seen from the stop that the finding is about.
#[derive(PartialEq)]
pub(super) enum Spot<'c> {
    /// One stop.
    Stop { item: &'c str, position: Option<&'c str> },
    /// The item at the position the finding is about.
    Here { item: &'c str },
    /// Some position of the item.
    Anywhere { item: &'c str },
}

impl Spot<'_> {
    pub(super) const fn is_anywhere(&self) -> bool {
        matches!(self, Spot::Anywhere { .. })
    }

    const fn item(&self) -> &str {
        match self {
            Spot::Stop { item, .. } | Spot::Here { item } | Spot::Anywhere { item } => item,
        }
    }
}

/// As the judge looks: at the position named; else at the finding's own, when the item has it; else anywhere.
pub(super) fn spot<'c>(checklist: &'c Checklist, at: &'c Place, anchor: &'c Place) -> Spot<'c> {
    let item = at.item.as_str();
    let has = |key: &str| checklist.item(item).is_some_and(|i| i.position(key).is_some());
    if checklist.item(item).is_none_or(|i| i.positions.is_empty()) {
        return Spot::Stop { item, position: None };
    }
    let anchor_positions = checklist.item(&anchor.item).map_or(&[][..], |i| &i.positions);
    match (&at.position, &anchor.position) {
        (Some(key), _) => Spot::Stop { item, position: Some(key) },
        (None, Some(key)) if has(key) => Spot::Stop { item, position: Some(key) },
        (None, None) if !anchor_positions.is_empty() && anchor_positions.iter().all(|p| has(&p.key)) => {
            Spot::Here { item }
        }
        _ => Spot::Anywhere { item },
    }
}

/// Whether `wide` holds, at the same stop, whenever `narrow` does.
pub(super) fn holds_whenever(checklist: &Checklist, wide: &Rule, narrow: &Rule) -> bool {
    let (Some(wide_at), Some(narrow_at)) = (wide.anchor(), narrow.anchor()) else { return false };
    let covers = wide_at.position.is_none() || wide_at.position == narrow_at.position;
    wide_at.item == narrow_at.item
        && covers
        && wide.when.iter().all(|w| narrow.when.iter().any(|n| implies(checklist, narrow_at, n, w)))
}

fn implies(checklist: &Checklist, anchor: &Place, narrow: &Condition, wide: &Condition) -> bool {
    let (Some(narrow_at), Some(wide_at)) = (narrow.at(), wide.at()) else { return narrow == wide };
    let (from, to) = (spot(checklist, narrow_at, anchor), spot(checklist, wide_at, anchor));
    let there = from == to || (to.is_anywhere() && from.item() == to.item());
    let measure = checklist.item(&narrow_at.item).and_then(|i| i.measure());
    there && (implies_of_measure(narrow, wide, measure) || implies_at_one_stop(narrow, wide))
}

fn implies_at_one_stop(narrow: &Condition, wide: &Condition) -> bool {
    use Condition::{Corrected, Difference, Limit, Outcome as Out, Recurs, Trend};
    match (narrow, wide) {
        (Out { is: a, .. }, Out { is: b, .. }) => a == b,
        (Condition::Level { is: a, .. }, Condition::Level { is: b, .. }) => a == b,
        (Condition::Level { is, .. }, Out { is: Outcome::Defect, .. }) => *is != Level::Between,
        (Recurs { .. } | Limit { at_temperature: None, .. }, Out { is: Outcome::Defect, .. }) => true,
        (Recurs { within_days: a, .. }, Recurs { within_days: b, .. }) => a <= b,
        (Limit { side: a, at_temperature: s, .. }, Limit { side: b, at_temperature: t, .. }) => {
            s == t && (a == b || *b == Side::Outside)
        }
        (Trend { side: a, within_hours: s, .. }, Trend { side: b, within_hours: t, .. }) => {
            s <= t && (a == b || *b == Side::Outside)
        }
        (Difference { more_than: a, between: s, .. }, Difference { more_than: b, between: t, .. }) => {
            a >= b && s == t
        }
        (
            Corrected { times: a, amount: x, within: s, .. },
            Corrected { times: b, amount: y, within: t, .. },
        ) => {
            let times = b.is_none_or(|b| a.is_some_and(|a| a >= b));
            times && y.is_none_or(|y| x.is_some_and(|x| x >= y)) && no_longer(*s, *t)
        }
        _ => false,
    }
}

const fn no_longer(a: Window, b: Window) -> bool {
    match (a, b) {
        (Window::Hours(a), Window::Hours(b)) | (Window::Days(a), Window::Days(b)) => a <= b,
        _ => false,
    }
}

/// Figures and limits, which can be held against each other in every context.
fn implies_of_measure(narrow: &Condition, wide: &Condition, measure: Option<&Measure>) -> bool {
    let Some(measure) = measure else { return false };
    match (narrow, wide) {
        (
            Condition::Figure { below: a, above: x, at_temperature: s, .. },
            Condition::Figure { below: b, above: y, at_temperature: t, .. },
        ) => s == t && a.is_none_or(|a| lower(measure, a, *b)) && x.is_none_or(|x| higher(measure, x, *y)),
        (Condition::Figure { below, above, at_temperature: None, .. }, _) => {
            let Some(side) = side_of(wide) else { return false };
            Under::all().all(|under| {
                let Bounds { at_least, at_most } = measure.bounds(under);
                below.is_none_or(|f| side != Side::Above && lower(measure, f, at_least))
                    && above.is_none_or(|f| side != Side::Below && higher(measure, f, at_most))
            })
        }
        (
            Condition::Limit { side, at_temperature: s, .. },
            Condition::Figure { below, above, at_temperature: t, .. },
        ) if s == t => Under::all().all(|under| {
            let Bounds { at_least, at_most } = measure.bounds(under);
            let low = *side == Side::Above || at_least.is_none_or(|l| lower(measure, l, *below));
            low && (*side == Side::Below || at_most.is_none_or(|l| higher(measure, l, *above)))
        }),
        _ => false,
    }
}

/// The limit a condition asks to be broken; a failed outcome is that of either side.
const fn side_of(condition: &Condition) -> Option<Side> {
    match condition {
        Condition::Outcome { is: Outcome::Defect, .. } => Some(Side::Outside),
        Condition::Limit { side, at_temperature: None, .. } => Some(*side),
        _ => None,
    }
}

/// What is below the one figure is below the other.
fn lower(measure: &Measure, figure: f64, than: Option<f64>) -> bool {
    than.is_some_and(|t| !measure.is_below(t, figure))
}

fn higher(measure: &Measure, figure: f64, than: Option<f64>) -> bool {
    than.is_some_and(|t| !measure.is_above(t, figure))
}
