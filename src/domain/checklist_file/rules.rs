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
    faults.refuse_twice(&names, "file-twice-rule");
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
        let sentence = said!("file-our-name", given = format!("{:?}", name.value));
        faults.add(name.at, sentence);
    }
    let severity = table.word::<Severity>("severity");
    let conditions = table.tables("when", "file-in-condition");
    let (when, when_at): (Vec<Condition>, Vec<usize>) =
        conditions.iter().filter_map(|t| Some((conditions::read(t, checklist, faults)?, t.at))).unzip();
    if conditions.is_empty() {
        faults.add(table.at_key("when"), said!("file-needs-condition"));
    } else if when.len() == conditions.len() && when.iter().all(|c| c.at().is_none()) {
        faults.add(table.at_key("when"), said!("file-needs-item"));
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
            let sentence = said!("file-watch-without-end");
            faults.add(table.at_key("severity"), sentence);
        }
        Some(Severity::OutOfService) if watched => {
            let sentence = said!("file-good-for-nothing");
            let key = if table.has("good_for_days") { "good_for_days" } else { "good_for_hours" };
            faults.add(table.at_key(key), sentence);
        }
        _ => {}
    }
    table.refuse_unknown();
    let name_at = name.at;
    (name, Placed { rule, name_at, when_at })
}
