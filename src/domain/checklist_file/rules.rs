//! Severity rules of the file.

use super::items::fits;
use super::table::{Faults, Table, Text, did_you_mean};
use crate::domain::checklist::{Asks, Checklist, Condition, Item, Load, Place, Rule, Side};
use crate::domain::judge::{ITEM_FAILED, SAFETY_ITEM_FAILED, SAFETY_ITEM_UNANSWERED};
use crate::domain::reading::{Level, Outcome};
use crate::domain::standing::Severity;

/// A reason in one sentence names the rule; see the judge.
const NAME_WORDS: usize = 6;

pub(super) fn read(tables: &[Table<'_>], checklist: &Checklist, faults: &Faults) -> Vec<Rule> {
    let mut names: Vec<Text> = Vec::new();
    let rules = tables
        .iter()
        .map(|t| {
            let (name, rule) = read_rule(t, checklist, faults);
            names.push(name);
            rule
        })
        .collect();
    faults.refuse_twice(&names, "rule");
    rules
}

fn read_rule(table: &Table<'_>, checklist: &Checklist, faults: &Faults) -> (Text, Rule) {
    let name = table.title("name", NAME_WORDS);
    if [SAFETY_ITEM_FAILED, ITEM_FAILED, SAFETY_ITEM_UNANSWERED].contains(&name.value.as_str()) {
        let sentence = format!("{:?} is what decides where no rule does. Choose another name.", name.value);
        faults.add(name.at, sentence);
    }
    let severity = table.word::<Severity>("severity");
    let conditions = table.tables("when", "a condition");
    let when: Vec<Condition> =
        conditions.iter().filter_map(|t| read_condition(t, checklist, faults)).collect();
    if conditions.is_empty() {
        faults.add(table.at_key("when"), "A rule needs at least one condition in when.".into());
    } else if when.len() == conditions.len() && when.iter().all(|c| c.at().is_none()) {
        faults.add(table.at_key("when"), "A rule looks at one item at least, not at the load alone.".into());
    }
    let rule = Rule {
        name: name.value.clone(),
        severity: severity.unwrap_or(Severity::OutOfService),
        when,
        instruction: table.text("instruction").value,
        final_: table.flag("final"),
        good_for_days: table.count_if_given("good_for_days"),
        good_for_hours: table.count_if_given("good_for_hours"),
        route: table.text_if_given("route").map(|t| t.value),
    };
    let watched = table.has("good_for_days") || table.has("good_for_hours");
    match severity {
        Some(Severity::Monitor) if !watched => {
            let sentence = "A watch needs an end: say good_for_days or good_for_hours.".to_owned();
            faults.add(table.at_key("severity"), sentence);
        }
        Some(Severity::OutOfService) if watched => {
            let sentence =
                "A machine that is out of service is good for nothing: leave good_for out.".to_owned();
            let key = if table.has("good_for_days") { "good_for_days" } else { "good_for_hours" };
            faults.add(table.at_key(key), sentence);
        }
        _ => {}
    }
    table.refuse_unknown();
    (name, rule)
}

fn read_condition(table: &Table<'_>, checklist: &Checklist, faults: &Faults) -> Option<Condition> {
    const TESTS: [&str; 4] = ["outcome", "level", "value", "load"];
    let key = table.text_if_given("item");
    let position = table.text_if_given("position");
    let outcome = table.word_if_given::<Outcome>("outcome");
    let level = table.word_if_given::<Level>("level");
    let side = table.word_if_given::<Side>("value");
    let load = table.word_if_given::<Load>("load");
    let below = table.measured_if_given("below");
    let above = table.measured_if_given("above");
    table.refuse_unknown();

    let figures = table.has("below") || table.has("above");
    let tests = TESTS.iter().filter(|k| table.has(k)).count() + usize::from(figures);
    if tests != 1 {
        let sentence =
            "A condition says one thing: outcome, level, value, below and above, or load.".to_owned();
        faults.add(table.at, sentence);
        return None;
    }
    if table.has("load") {
        if let Some(key) = &key {
            faults.add(key.at, "The load is of the whole check: leave item out of this condition.".into());
        }
        return load.map(|is| Condition::Load { is });
    }
    let Some(key) = key else {
        faults.add(table.at, "item is missing in a condition.".into());
        return None;
    };
    let item = known_item(&key, checklist, faults)?;
    let at = Place { item: key.value.clone(), position: known_position(position, item, faults) };
    if let Some(is) = outcome {
        if matches!(is, Outcome::Ok | Outcome::NotApplicable) {
            let sentence = "A rule looks for what is wrong: outcome is defect or corrected.".to_owned();
            faults.add(table.at_key("outcome"), sentence);
            return None;
        }
        if is == Outcome::Corrected && !item.may_be_corrected {
            let sentence = format!("{:?} cannot be corrected, so this never holds.", key.value);
            faults.add(table.at_key("outcome"), sentence);
        }
        return Some(Condition::Outcome { at, is });
    }
    if let Some(is) = level {
        if !matches!(item.asks, Asks::Level) {
            faults.add(table.at_key("level"), format!("{:?} does not ask for a level.", key.value));
        }
        if is == Level::Between {
            let sentence = "A rule looks for what is wrong: level is below or above.".to_owned();
            faults.add(table.at_key("level"), sentence);
        }
        return Some(Condition::Level { at, is });
    }
    if !(figures || table.has("value")) {
        return None;
    }
    let Some(measure) = item.measure() else {
        faults.add(key.at, format!("{:?} is not measured, so it has no value to compare.", key.value));
        return None;
    };
    if let Some(side) = side {
        let bounded = |least: bool| {
            measure.limits.iter().any(|l| if least { l.at_least.is_some() } else { l.at_most.is_some() })
        };
        let missing = match side {
            Side::Below => !bounded(true),
            Side::Above => !bounded(false),
            Side::Outside => false,
        };
        if missing {
            let sentence = format!("{:?} has no such limit, so this never holds.", key.value);
            faults.add(table.at_key("value"), sentence);
        }
        return Some(Condition::Limit { at, side });
    }
    let figure = |given: Option<_>| {
        let (measured, place) = given?;
        fits(&measured, place, measure.base, faults)
    };
    let (below, above) = (figure(below), figure(above));
    (below.is_some() || above.is_some()).then_some(Condition::Figure { at, below, above })
}

fn known_item<'c>(key: &Text, checklist: &'c Checklist, faults: &Faults) -> Option<&'c Item> {
    let found = checklist.item(&key.value);
    if found.is_none() && !key.value.is_empty() {
        let meant = did_you_mean(&key.value, checklist.items().map(|i| i.key.as_str()));
        faults.add(key.at, format!("No item has the key {:?}.{meant}", key.value));
    }
    found
}

fn known_position(given: Option<Text>, item: &Item, faults: &Faults) -> Option<String> {
    let text = given?;
    if item.position(&text.value).is_none() {
        let keys: Vec<&str> = item.positions.iter().map(|p| p.key.as_str()).collect();
        let sentence = if keys.is_empty() {
            format!("{:?} has no positions. Leave position out.", item.key)
        } else {
            let meant = did_you_mean(&text.value, keys.iter().copied());
            format!("{:?} has no position {:?}; it has {}.{meant}", item.key, text.value, keys.join(", "))
        };
        faults.add(text.at, sentence);
    }
    Some(text.value)
}
