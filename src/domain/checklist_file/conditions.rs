//! Conditions of the rules of the file.

use super::items::fits;
use super::table::{Faults, Table, Text, did_you_mean};
use crate::domain::air::{COLDEST, HOTTEST};
use crate::domain::checklist::{
    Asks, Checklist, Condition, Item, Load, Measure, Place, Side, System, Warmth, Window,
};
use crate::domain::reading::{Level, Outcome};
use crate::domain::unit::{Figure, Quantity, Unit};
use crate::words::Text as Said;

/// What a condition can say, by the keys that say it.
const SAYINGS: [&[&str]; 10] = [
    &["outcome"],
    &["level"],
    &["value"],
    &["below", "above"],
    &["load"],
    &["warmth"],
    &["apart"],
    &["corrected_times", "corrected_amount"],
    &["back_within_days"],
    &["trend"],
];

/// Keys that say more of another: with which of the above they go.
const ALONGSIDE: [(&str, &[&str]); 4] = [
    ("at_temperature", &["value", "below", "above"]),
    ("between", &["apart"]),
    ("within_hours", &["corrected_times", "corrected_amount", "trend"]),
    ("within_days", &["corrected_times", "corrected_amount"]),
];

pub(super) fn read(table: &Table<'_>, checklist: &Checklist, faults: &Faults) -> Option<Condition> {
    let reader = Reader { table, faults };
    let key = table.text_if_given("item");
    let position = table.text_if_given("position");
    let load = table.word_if_given::<Load>("load");
    let warmth = table.word_if_given::<Warmth>("warmth");
    // Asking for each key makes it known; what is left is refused.
    for known in SAYINGS.iter().copied().flatten().chain(ALONGSIDE.iter().map(|(k, _)| k)) {
        table.has(known);
    }
    table.refuse_unknown();
    if SAYINGS.iter().filter(|keys| keys.iter().any(|k| table.has(k))).count() != 1 {
        faults.add(table.at, said!("file-one-thing"));
        return None;
    }
    for (more, with) in ALONGSIDE {
        if table.has(more) && !with.iter().any(|k| table.has(k)) {
            faults.add(table.at_key(more), said!("file-goes-with", key = more, with = with.join(", ")));
        }
    }
    if table.has("load") || table.has("warmth") {
        if let Some(key) = &key {
            let what = said!(if table.has("load") { "file-the-load" } else { "file-the-warmth" });
            faults.add(key.at, said!("file-of-whole-check", what = what));
        }
        return load.map(|is| Condition::Load { is }).or(warmth.map(|is| Condition::Warmth { is }));
    }
    let Some(key) = key else {
        faults.add(table.at, said!("file-item-missing"));
        return None;
    };
    let item = known_item(&key, checklist, faults)?;
    let at = Place { item: key.value.clone(), position: known_position(position, item, faults) };
    if table.has("outcome") {
        return reader.outcome(item, at);
    }
    if table.has("level") {
        return reader.level(item, at);
    }
    if table.has("corrected_times") || table.has("corrected_amount") {
        return reader.corrected(item, at);
    }
    if table.has("back_within_days") {
        return Some(Condition::Recurs { at, within_days: table.count_if_given("back_within_days")? });
    }
    let Some(measure) = item.measure() else {
        faults.add(key.at, said!("file-not-measured", item = format!("{:?}", key.value)));
        return None;
    };
    if table.has("apart") {
        return reader.difference(item, measure, at);
    }
    if table.has("trend") {
        let side = reader.side("trend", item, measure)?;
        if !table.has("within_hours") {
            let sentence = said!("file-trend-hours");
            faults.add(table.at_key("trend"), sentence);
        }
        return Some(Condition::Trend { at, side, within_hours: table.count_if_given("within_hours")? });
    }
    let at_temperature = reader.at_temperature(item, measure);
    if table.has("value") {
        return Some(Condition::Limit { at, side: reader.side("value", item, measure)?, at_temperature });
    }
    let figure = |key| {
        let (measured, place) = table.measured_if_given(key)?;
        fits(&measured, place, measure.base, faults)
    };
    let (below, above) = (figure("below"), figure("above"));
    (below.is_some() || above.is_some()).then_some(Condition::Figure { at, below, above, at_temperature })
}

struct Reader<'r> {
    table: &'r Table<'r>,
    faults: &'r Faults,
}

impl Reader<'_> {
    fn outcome(&self, item: &Item, at: Place) -> Option<Condition> {
        let is = self.table.word_if_given::<Outcome>("outcome")?;
        if matches!(is, Outcome::Ok | Outcome::NotApplicable) {
            self.add("outcome", said!("file-outcome-wrong"));
            return None;
        }
        if is == Outcome::Corrected && !item.may_be_corrected {
            self.add("outcome", said!("file-never-corrected", item = format!("{:?}", item.key)));
        }
        Some(Condition::Outcome { at, is })
    }

    fn level(&self, item: &Item, at: Place) -> Option<Condition> {
        let is = self.table.word_if_given::<Level>("level")?;
        if !matches!(item.asks, Asks::Level) {
            self.add("level", said!("file-no-level", item = format!("{:?}", item.key)));
        }
        if is == Level::Between {
            self.add("level", said!("file-level-wrong"));
        }
        Some(Condition::Level { at, is })
    }

    fn side(&self, key: &'static str, item: &Item, measure: &Measure) -> Option<Side> {
        let side = self.table.word_if_given::<Side>(key)?;
        let bounded = |least: bool| {
            measure.limits.iter().any(|l| if least { l.at_least.is_some() } else { l.at_most.is_some() })
        };
        let missing = match side {
            Side::Below => !bounded(true),
            Side::Above => !bounded(false),
            Side::Outside => false,
        };
        if missing {
            self.add(key, said!("file-no-such-limit", item = format!("{:?}", item.key)));
        }
        Some(side)
    }

    fn corrected(&self, item: &Item, at: Place) -> Option<Condition> {
        let times = self.table.count_if_given("corrected_times");
        let amount = self.table.measured_if_given("corrected_amount");
        let first = if self.table.has("corrected_times") { "corrected_times" } else { "corrected_amount" };
        if !item.may_be_corrected {
            self.add(first, said!("file-never-corrected", item = format!("{:?}", item.key)));
        }
        let amount = amount.and_then(|(measured, place)| match item.corrected_unit {
            Some(unit) => fits(&measured, place, unit.quantity().base(), self.faults),
            None => {
                let sentence = said!("file-no-amount", item = format!("{:?}", item.key));
                self.faults.add(place, sentence);
                None
            }
        });
        if amount.is_some_and(|a| a <= 0.0) {
            self.add("corrected_amount", said!("file-amount"));
        }
        let hours = self.table.count_if_given("within_hours").map(Window::Hours);
        let days = self.table.count_if_given("within_days").map(Window::Days);
        let (Some(within), None) = (hours.or(days), hours.and(days)) else {
            self.add(first, said!("file-within"));
            return None;
        };
        (times.is_some() || amount.is_some()).then_some(Condition::Corrected { at, times, amount, within })
    }

    fn difference(&self, item: &Item, measure: &Measure, at: Place) -> Option<Condition> {
        let (apart, place) = self.table.measured_if_given("apart")?;
        if apart.unit.quantity() == Quantity::Temperature && apart.unit != Unit::Celsius {
            self.faults.add(place, said!("file-celsius"));
        }
        let more_than = fits(&apart, place, measure.base, self.faults)?;
        if more_than < 0.0 {
            self.faults.add(place, said!("file-apart"));
        }
        if item.positions.len() < 2 {
            self.add("apart", said!("file-no-two-positions", item = format!("{:?}", item.key)));
        }
        let mut between = Vec::new();
        for (list_at, keys) in self.table.text_lists("between") {
            if keys.len() < 2 {
                self.faults.add(list_at, said!("file-two-positions"));
            }
            for key in &keys {
                known_position(Some(key.clone()), item, self.faults);
            }
            self.faults.refuse_twice(&keys, "file-twice-position");
            between.push(keys.into_iter().map(|k| k.value).collect());
        }
        Some(Condition::Difference { at, more_than, between })
    }

    fn at_temperature(&self, item: &Item, measure: &Measure) -> Option<f64> {
        let (temperature, place) = self.table.measured_if_given("at_temperature")?;
        if item.system != System::TyresAndWheels || measure.base.quantity() != Quantity::Pressure {
            self.add("at_temperature", said!("file-tyre-only"));
        }
        let celsius = fits(&temperature, place, Unit::Celsius, self.faults)?;
        if !(COLDEST..=HOTTEST).contains(&celsius) {
            let sentence = said!(
                "file-no-air",
                temperature = temperature,
                least = Figure(COLDEST.to_string()),
                most = Figure(HOTTEST.to_string())
            );
            self.faults.add(place, sentence);
        }
        Some(celsius)
    }

    fn add(&self, key: &'static str, sentence: Said) {
        self.faults.add(self.table.at_key(key), sentence);
    }
}

fn known_item<'c>(key: &Text, checklist: &'c Checklist, faults: &Faults) -> Option<&'c Item> {
    let found = checklist.item(&key.value);
    if found.is_none() && !key.value.is_empty() {
        let meant = did_you_mean(&key.value, checklist.items().map(|i| i.key.as_str()));
        faults.add(key.at, said!("file-no-item", given = format!("{:?}", key.value), meant = meant));
    }
    found
}

fn known_position(given: Option<Text>, item: &Item, faults: &Faults) -> Option<String> {
    let text = given?;
    if item.position(&text.value).is_none() {
        let keys: Vec<&str> = item.positions.iter().map(|p| p.key.as_str()).collect();
        let sentence = if keys.is_empty() {
            said!("file-has-no-positions", item = format!("{:?}", item.key))
        } else {
            let meant = did_you_mean(&text.value, keys.iter().copied());
            said!(
                "file-has-positions",
                item = format!("{:?}", item.key),
                given = format!("{:?}", text.value),
                known = keys.join(", "),
                meant = meant
            )
        };
        faults.add(text.at, sentence);
    }
    Some(text.value)
}
