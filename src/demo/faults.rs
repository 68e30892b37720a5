//! What an invented check answers: mostly ok, measures that wear and drift, and now and then a fault.

use std::collections::HashMap;

use rand::rngs::StdRng;
use rand::{Rng, RngExt};

use crate::domain::checklist::{Asks, Checklist, Load, Stop};
use crate::domain::reading::RawAnswer;
use crate::domain::unit::Unit;

/// Where one machine's pads and tyres stand, by item and position.
#[derive(Default)]
pub struct Condition {
    values: HashMap<(String, String), f64>,
}

/// New linings, in millimetres.
const NEW_LINING: f64 = 8.5;

impl Condition {
    /// After a repair the worn part is new.
    pub fn renew(&mut self, item: &str, position: &str) {
        self.values.remove(&(item.to_owned(), position.to_owned()));
    }

    fn wear(&mut self, random: &mut StdRng, stop: &Stop<'_>, start: f64, by: f64) -> f64 {
        let key = (stop.item.key.clone(), position(stop));
        let value = self.values.entry(key).or_insert_with(|| start * random.random_range(0.75..1.0));
        *value = (*value - by).max(0.3);
        *value
    }
}

/// Answers every item of the walk. `fault_at` is the index of an item that fails this time.
pub fn answer(
    checklist: &Checklist,
    random: &mut StdRng,
    condition: &mut Condition,
    load: Load,
    hours_run: f64,
    fault_at: Option<usize>,
) -> Vec<RawAnswer> {
    // Cold or warm, the same for every wheel.
    let morning = random.random_range(1.04..1.15);
    checklist
        .walk()
        .iter()
        .map(|stop| {
            let faulty = fault_at == Some(stop.index);
            let mut raw = RawAnswer {
                item: Some(stop.item.key.clone()),
                position: stop.position.map(|p| p.key.clone()),
                ..RawAnswer::default()
            };
            match &stop.item.asks {
                Asks::Level => level(random, stop, faulty, &mut raw),
                Asks::Measure(m) => {
                    let base = m.base;
                    let least = m.bounds(load).at_least.unwrap_or((m.plausible.0 + m.plausible.1) / 2.0);
                    let value = if faulty {
                        least * random.random_range(0.6..0.93)
                    } else if let Some(most) = m.bounds(load).at_most {
                        // Kept by adjustment, not worn away.
                        (least + (most - least) * (morning - 0.6)) * random.random_range(0.995..1.005)
                    } else if base == Unit::Mm {
                        let worn = hours_run * random.random_range(0.004..0.009);
                        condition.wear(random, stop, NEW_LINING, worn)
                    } else {
                        least * morning * random.random_range(0.995..1.005)
                    };
                    let unit = m.units.first().copied().unwrap_or(base);
                    raw.value = Some(format!("{:.1}", unit.from_base(value)));
                    raw.unit = Some(unit.to_string());
                }
                _ if faulty => {
                    raw.outcome = Some("defect".to_owned());
                    raw.note = Some(pick(random, NOTES).to_owned());
                }
                _ => raw.outcome = Some("ok".to_owned()),
            }
            raw
        })
        .collect()
}

/// An item that may fail in this history: not the ground, the fuel or the tag.
pub fn choose_fault(checklist: &Checklist, random: &mut StdRng) -> Option<usize> {
    let walk = checklist.walk();
    let first_zone = walk.first().map(|s| s.zone.key.clone()).unwrap_or_default();
    let may: Vec<usize> = walk.iter().filter(|s| s.zone.key != first_zone).map(|s| s.index).collect();
    (!may.is_empty()).then(|| may[random.random_range(0..may.len())])
}

pub fn pick<'a, T: ?Sized>(random: &mut impl Rng, from: &[&'a T]) -> &'a T {
    from[random.random_range(0..from.len())]
}

pub fn position(stop: &Stop<'_>) -> String {
    stop.position.map(|p| p.key.clone()).unwrap_or_default()
}

const NOTES: &[&str] = &[
    "Seen at first light.",
    "Was fine yesterday.",
    "Getting worse since Monday.",
    "Noticed on the walk round.",
    "",
];

fn level(random: &mut StdRng, stop: &Stop<'_>, faulty: bool, raw: &mut RawAnswer) {
    const TOPPED_UP: f64 = 0.02;
    if faulty {
        raw.level = Some("below".to_owned());
        return;
    }
    raw.level = Some("between".to_owned());
    if stop.item.may_be_corrected && random.random_bool(TOPPED_UP) {
        raw.correction = Some("Topped up".to_owned());
        if let Some(unit) = stop.item.corrected_unit {
            let amount = if unit == Unit::Millilitre { "50" } else { "0.3" };
            raw.amount = Some(amount.to_owned());
            raw.amount_unit = Some(unit.to_string());
        }
    }
}
