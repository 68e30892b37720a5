//! Judgement: what the readings of one check mean for the machine. The same readings give the same findings whatever
//! their order, and a worse reading never gives a milder verdict.

mod in_its_context;
mod looking_back;
mod matching;
mod telling;

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::answers::ItemAt;
use super::batch::FOUND_ON_ANOTHER;
use super::checklist::{Checklist, Condition, Place, Rule, Stop, System};
use super::reading::{Context, Outcome, Reading};
use super::risk::{BY_RISK_LEVEL, CERTAIN_EFFECT, DOUBTFUL_EFFECT};
use super::standing::{Severity, Standing};
use super::trend::Trend;
use super::watched::SAID_TO_BE_WORSE;
use matching::{Fact, Match, Sheet};
use telling::{by_rule, of};

pub use super::history::History;
use crate::words::Text;
pub use in_its_context::{retest_in_its_context, what_mattered};
pub use looking_back::AIR_TEMPERATURE;

pub const SAFETY_ITEM_FAILED: &str = "safety item failed";
pub const ITEM_FAILED: &str = "item failed";
pub const SAFETY_ITEM_UNANSWERED: &str = "safety item not answered";

/// Whether a checklist decides by a rule of this name: one of its own, what holds where none of them speaks, or its
/// threshold for reports.
pub fn decides_by(checklist: &Checklist, rule: &str) -> bool {
    [SAFETY_ITEM_FAILED, ITEM_FAILED, SAFETY_ITEM_UNANSWERED, BY_RISK_LEVEL].contains(&rule)
        || checklist.rules.iter().any(|r| r.name == rule)
}

/// A rule as people read of it: what its checklist calls it, or what we call what no rule decides.
pub fn rule_in_words(checklist: Option<&Checklist>, rule: &str) -> Text {
    match rule {
        SAFETY_ITEM_FAILED => said!("judge-rule-safety-item-failed"),
        ITEM_FAILED => said!("judge-rule-item-failed"),
        SAFETY_ITEM_UNANSWERED => said!("judge-rule-safety-item-unanswered"),
        CERTAIN_EFFECT => said!("risk-rule-certain"),
        DOUBTFUL_EFFECT => said!("risk-rule-doubt"),
        BY_RISK_LEVEL => said!("risk-rule-level"),
        SAID_TO_BE_WORSE => said!("watched-rule-worse"),
        FOUND_ON_ANOTHER => said!("round-rule"),
        _ => {
            let named = checklist.and_then(|c| c.rules.iter().find(|r| r.name == rule));
            named.map_or_else(|| Text::typed(rule), Rule::shown)
        }
    }
}

/// A watch without an end is no watch: a failed item that no rule speaks of is looked at again after a week.
const WATCH_DAYS: u32 = 7;

#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct Judgement {
    /// Most severe first, then in walking order.
    pub findings: Vec<Finding>,
    /// In walking order, what the trend of each item says that a rule follows, or why it says nothing.
    #[serde(default)]
    pub trends: Vec<TrendAt>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrendAt {
    pub item: String,
    pub position: Option<String>,
    /// "Brake pad, front left".
    pub title: Text,
    /// Short: "may be below 1.5 mm within 40 engine hours".
    pub words: Text,
    /// With the figures behind it.
    pub sentence: Text,
    pub trend: Trend,
}

/// One thing found wrong: it becomes one defect.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    pub item: String,
    pub position: Option<String>,
    /// A short title for the defect: "Brake pad, front left: 1.2 mm, at least 1.5 mm".
    pub what: Text,
    pub system: System,
    pub severity: Severity,
    /// Name of the rule that decided.
    pub rule: String,
    pub final_: bool,
    /// One sentence with the figures and the rule's name.
    pub why: Text,
    pub instruction: Text,
    pub good_for_days: Option<u32>,
    pub good_for_hours: Option<u32>,
    pub route: Option<String>,
    /// The same defect came back soon after its release: the supervisor is told.
    #[serde(default)]
    pub escalated: bool,
    pub supporting: Vec<Reason>,
    /// Every item and position that must pass the retest.
    pub failed: Vec<ItemAt>,
}

/// A rule that matched as well but did not decide.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reason {
    pub rule: String,
    pub sentence: Text,
}

/// What repeating the failed items showed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Retest {
    /// Failed items that were not answered ok.
    pub not_ok: Vec<ItemAt>,
    /// What the rules still find.
    pub findings: Vec<Finding>,
}

/// Judges a whole check.
pub fn judge(checklist: &Checklist, context: &Context, readings: &[Reading], history: &History) -> Judgement {
    let stops = checklist.walk();
    let asked = (0..stops.len()).collect();
    let sheet = Sheet::new(&stops, readings, context, history);
    Judgement { findings: findings(checklist, &sheet, &asked), trends: sheet.trends(checklist) }
}

/// Judges the repetition of what failed: same rules, same limits, only those items, and each must be plainly ok.
/// Readings of other items are left aside.
pub fn retest(checklist: &Checklist, context: &Context, readings: &[Reading], failed: &[ItemAt]) -> Retest {
    let stops = checklist.walk();
    let asked: BTreeSet<usize> = stops
        .iter()
        .filter(|s| failed.iter().any(|(item, position)| s.is(item, position.as_deref())))
        .map(|s| s.index)
        .collect();
    let of_failed: Vec<Reading> = readings
        .iter()
        .filter(|r| failed.iter().any(|(item, position)| r.is_at(item, position.as_deref())))
        .cloned()
        .collect();
    // A retest proves the machine as it is now. What was before the repair has no part in it.
    let nothing = History::default();
    let sheet = Sheet::new(&stops, &of_failed, context, &nothing);
    // An item that the checklist no longer has cannot be shown to pass.
    let passes = |(item, position): &&ItemAt| {
        let stop = stops.iter().find(|s| s.is(item, position.as_deref()));
        stop.and_then(|s| sheet.outcome(s.index)) == Some(Outcome::Ok)
    };
    Retest {
        not_ok: failed.iter().filter(|f| !passes(f)).cloned().collect(),
        findings: findings(checklist, &sheet, &asked),
    }
}

/// Whether every failed item passes its retest.
pub fn retest_passes(
    checklist: &Checklist,
    context: &Context,
    readings: &[Reading],
    failed: &[ItemAt],
) -> bool {
    retest(checklist, context, readings, failed).passes()
}

impl Judgement {
    /// What the machine may be used for by this check alone; open holds and defects come on top.
    pub fn verdict(&self) -> Standing {
        match self.findings.iter().map(|f| f.severity).max() {
            Some(Severity::OutOfService) => Standing::OutOfService,
            Some(Severity::Monitor) => Standing::Monitored,
            None => Standing::FitForUse,
        }
    }
}

impl Retest {
    pub fn passes(&self) -> bool {
        self.not_ok.is_empty() && self.findings.is_empty()
    }
}

/// One finding per failed stop. `asked` are the stops whose silence counts.
fn findings(checklist: &Checklist, sheet: &Sheet<'_>, asked: &BTreeSet<usize>) -> Vec<Finding> {
    let mut matches: BTreeMap<usize, Vec<Match<'_>>> = BTreeMap::new();
    for (order, rule) in checklist.rules.iter().enumerate() {
        for found in sheet.matches(rule, order) {
            matches.entry(found.anchor).or_default().push(found);
        }
    }
    let mut found: Vec<(usize, Finding)> = Vec::new();
    for stop in sheet.stops {
        let here = matches.remove(&stop.index).unwrap_or_default();
        let undecided = undecided(sheet, stop, asked.contains(&stop.index));
        let mut finding = match undecided {
            // A rule that needs something else to go wrong as well must not make this failure milder.
            Some(mut fallback) if here.iter().all(|m| !decides(m.rule, &fallback)) => {
                fallback.supporting = here.iter().flat_map(|m| sheet.reasons(m)).collect();
                fallback.escalated = here.iter().any(|m| recurs(m.rule));
                fallback
            }
            _ if here.is_empty() => continue,
            _ => decided(sheet, stop, here),
        };
        if let Some(sentence) = sheet.weather(checklist, stop.index) {
            finding.supporting.push(Reason { rule: AIR_TEMPERATURE.to_owned(), sentence });
        }
        found.push((stop.index, finding));
    }
    found.sort_by_key(|(index, f)| (std::cmp::Reverse(f.severity), *index));
    found.into_iter().map(|(_, f)| f).collect()
}

/// Whether a rule settles a failure that would otherwise be judged without one: it is as severe, or it speaks of that
/// failure alone.
fn decides(rule: &Rule, fallback: &Finding) -> bool {
    rule.severity >= fallback.severity || says_all_of(rule, &fallback.item, fallback.position.as_deref())
}

/// Whether a rule speaks of the failures of one item as such, at this position. One that wants another position to have
/// failed too says nothing of this one; one on a stated figure says nothing of the failures this side of the figure, and
/// one that looks back, or sideways, or at the weather, says nothing of the reading itself.
pub(super) fn says_all_of(rule: &Rule, item: &str, position: Option<&str>) -> bool {
    let here = |at: &Place| at.item == item && at.position.as_deref().is_none_or(|key| Some(key) == position);
    rule.when.iter().all(|c| match c {
        Condition::Load { .. } | Condition::Warmth { .. } => true,
        Condition::Outcome { at, .. }
        | Condition::Level { at, .. }
        | Condition::Limit { at, at_temperature: None, .. } => here(at),
        Condition::Limit { .. }
        | Condition::Figure { .. }
        | Condition::Difference { .. }
        | Condition::Corrected { .. }
        | Condition::Recurs { .. }
        | Condition::Trend { .. } => false,
    })
}

/// The most severe rule wins, a final one before others, then the one written first.
fn decided(sheet: &Sheet<'_>, stop: &Stop<'_>, mut here: Vec<Match<'_>>) -> Finding {
    here.sort_by_key(|m| (std::cmp::Reverse(m.rule.severity), !m.rule.final_, m.order));
    let severity = here[0].rule.severity;
    let equal = || here.iter().map(|m| m.rule).filter(|r| r.severity == severity);
    // Of several watches the shortest holds.
    let shortest = |of: fn(&Rule) -> Option<u32>| equal().filter_map(of).min();
    let failed: BTreeSet<usize> =
        here.iter().filter(|m| m.rule.severity == severity).flat_map(|m| m.failed.iter().copied()).collect();
    let winner = &here[0];
    let details = sheet.details(winner);
    Finding {
        item: stop.item.key.clone(),
        position: stop.position.map(|p| p.key.clone()),
        what: of(&stop.title(), &winner.facts.first().map(Fact::in_full).unwrap_or_default()),
        system: stop.item.system,
        severity,
        rule: winner.rule.name.clone(),
        final_: winner.rule.final_,
        why: sheet.why(winner),
        instruction: winner.rule.instruction.clone(),
        good_for_days: shortest(|r| r.good_for_days),
        good_for_hours: shortest(|r| r.good_for_hours),
        route: winner.rule.route.clone(),
        escalated: here.iter().any(|m| recurs(m.rule)),
        supporting: details.into_iter().chain(here[1..].iter().flat_map(|m| sheet.reasons(m))).collect(),
        // The finding's own item first, the others in walking order.
        failed: std::iter::once(stop.index)
            .chain(failed.into_iter().filter(|i| *i != stop.index))
            .map(|i| sheet.at(i))
            .collect(),
    }
}

fn recurs(rule: &Rule) -> bool {
    rule.when.iter().any(|c| matches!(c, Condition::Recurs { .. }))
}

/// A defect that no rule speaks of, or a safety item that nobody answered.
fn undecided(sheet: &Sheet<'_>, stop: &Stop<'_>, asked: bool) -> Option<Finding> {
    let safety = stop.item.safety;
    let (rule, fact) = match sheet.outcome(stop.index) {
        Some(Outcome::Defect) => {
            (if safety { SAFETY_ITEM_FAILED } else { ITEM_FAILED }, sheet.describe(stop.index))
        }
        None if asked && safety => (SAFETY_ITEM_UNANSWERED, said!("judge-not-answered")),
        _ => return None,
    };
    let what = of(&stop.title(), &fact);
    Some(Finding {
        item: stop.item.key.clone(),
        position: stop.position.map(|p| p.key.clone()),
        why: Text::joined([&what, &by_rule(&rule_in_words(None, rule))], " "),
        what,
        system: stop.item.system,
        severity: if safety { Severity::OutOfService } else { Severity::Monitor },
        rule: rule.to_owned(),
        final_: false,
        instruction: said!(if safety { "judge-instruction-stop" } else { "judge-instruction-watch" }),
        good_for_days: (!safety).then_some(WATCH_DAYS),
        good_for_hours: None,
        route: None,
        escalated: false,
        supporting: Vec::new(),
        failed: vec![sheet.at(stop.index)],
    })
}

#[cfg(test)]
mod tests;
