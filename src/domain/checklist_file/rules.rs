//! Severity rules of the file.

use super::conditions;
use super::table::{Faults, Table, Text};
use crate::domain::checklist::{Checklist, Condition, Rule};
use crate::domain::judge::{AIR_TEMPERATURE, ITEM_FAILED, SAFETY_ITEM_FAILED, SAFETY_ITEM_UNANSWERED};
use crate::domain::risk::{BY_RISK_LEVEL, CERTAIN_EFFECT, DOUBTFUL_EFFECT};
use crate::domain::standing::Severity;

/// A reason in one sentence names the rule; see the judge.
const NAME_WORDS: usize = 6;

/// A rule with where its name and each of its conditions stand.
pub(super) struct Placed {
    pub(super) rule: Rule,
    pub(super) name_at: usize,
    pub(super) when_at: Vec<usize>,
}

pub(super) fn read(tables: &[Table<'_>], checklist: &Checklist, faults: &Faults) -> Vec<Placed> {
    let mut names: Vec<Text> = Vec::new();
    let rules = tables
        .iter()
        .map(|t| {
            let (name, placed) = read_rule(t, checklist, faults);
            names.push(name);
            placed
        })
        .collect();
    faults.refuse_twice(&names, "rule");
    rules
}

fn read_rule(table: &Table<'_>, checklist: &Checklist, faults: &Faults) -> (Text, Placed) {
    let name = table.title("name", NAME_WORDS);
    if [
        SAFETY_ITEM_FAILED,
        ITEM_FAILED,
        SAFETY_ITEM_UNANSWERED,
        AIR_TEMPERATURE,
        BY_RISK_LEVEL,
        CERTAIN_EFFECT,
        DOUBTFUL_EFFECT,
    ]
    .contains(&name.value.as_str())
    {
        let sentence =
            format!("{:?} is a name of our own for what no rule decides. Choose another name.", name.value);
        faults.add(name.at, sentence);
    }
    let severity = table.word::<Severity>("severity");
    let conditions = table.tables("when", "a condition");
    let (when, when_at): (Vec<Condition>, Vec<usize>) =
        conditions.iter().filter_map(|t| Some((conditions::read(t, checklist, faults)?, t.at))).unzip();
    if conditions.is_empty() {
        faults.add(table.at_key("when"), "A rule needs at least one condition in when.".into());
    } else if when.len() == conditions.len() && when.iter().all(|c| c.at().is_none()) {
        faults.add(
            table.at_key("when"),
            "A rule looks at one item at least, not at the load or the warmth alone.".into(),
        );
    }
    let rule = Rule {
        name: name.value.clone(),
        title: table.said_if_given("title", NAME_WORDS),
        severity: severity.unwrap_or(Severity::OutOfService),
        when,
        instruction: table.said("instruction"),
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
    let name_at = name.at;
    (name, Placed { rule, name_at, when_at })
}
