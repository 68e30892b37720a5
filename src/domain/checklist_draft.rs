//! A checklist while it is being edited: everything as it was typed, right or wrong, so that nothing is lost before it
//! is mended. It becomes a file of [`super::checklist_file`], which alone says whether it is sound.

mod condition;
mod differences;
mod edit;
mod from_file;
mod to_file;

pub use condition::{Kind, When, title_said};
pub use differences::{Difference, How, differences};
pub use edit::Edit;
pub use to_file::{DraftFault, Ready, field_in};

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::checklist::{Load, Warmth};
use crate::words::{Lang, Text};

/// A zone, an item, a rule or a condition of one draft; it keeps its number while it is moved and changed. 0 is the
/// head: title, classes and threshold.
pub type Part = u32;

pub const HEAD: Part = 0;

/// What is said in the other languages, by the field and the tag: "title.es".
pub type Translated = BTreeMap<String, String>;

/// Keys of the file that this editor has no field for, with their values as the file writes them.
pub type Others = Vec<(String, String)>;

#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Draft {
    pub name: String,
    pub title: String,
    pub classes: Vec<String>,
    /// Empty: the usual one.
    pub out_of_service_from: String,
    pub translated: Translated,
    pub zones: Vec<Zone>,
    pub rules: Vec<Rule>,
    pub others: Others,
    last_part: Part,
}

#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Zone {
    pub part: Part,
    pub key: String,
    pub title: String,
    pub stand: String,
    pub translated: Translated,
    pub items: Vec<Item>,
    pub others: Others,
}

#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Item {
    pub part: Part,
    /// Made from the first title and kept from then on: readings and rules know the item by it.
    pub key: String,
    pub title: String,
    pub todo: String,
    pub accept: String,
    pub picture: String,
    pub caution: String,
    pub system: String,
    pub safety: bool,
    pub asks: String,
    /// By their titles.
    pub positions: Vec<String>,
    /// Positions with commas between them, in the order of the positions.
    pub translated: Translated,
    pub may_be_not_applicable: bool,
    pub may_be_corrected: bool,
    pub corrected_unit: String,
    /// Kept also while another kind of answer is asked for.
    pub measure: Measure,
    pub others: Others,
}

#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Measure {
    /// The usual one first.
    pub units: Vec<String>,
    pub resolution: String,
    pub plausible_from: String,
    pub plausible_to: String,
    pub limits: Vec<Limit>,
    pub others: Others,
}

#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Limit {
    pub load: String,
    pub warmth: String,
    pub at_least: String,
    pub at_most: String,
    pub others: Others,
}

#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Rule {
    pub part: Part,
    pub name: String,
    /// What it is called where people read of it; empty: by its name.
    pub title: String,
    pub translated: Translated,
    pub severity: String,
    #[serde(rename = "final")]
    pub final_: bool,
    pub when: Vec<When>,
    pub instruction: String,
    pub good_for_days: String,
    pub good_for_hours: String,
    pub route: String,
    pub others: Others,
}

impl Draft {
    /// A checklist with nothing in it yet.
    pub fn empty(name: &str, title: &str, classes: Vec<String>) -> Self {
        Self { name: name.to_owned(), title: title.to_owned(), classes, ..Self::default() }
    }

    /// The same walk and rules under another name, for other classes.
    pub fn copied_as(mut self, name: &str, title: &str, classes: Vec<String>) -> Self {
        name.clone_into(&mut self.name);
        if self.title != title {
            title.clone_into(&mut self.title);
            self.translated.clear();
        }
        self.classes = classes;
        self
    }

    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.zones.iter().flat_map(|z| &z.items)
    }

    pub fn zone(&self, part: Part) -> Option<&Zone> {
        self.zones.iter().find(|z| z.part == part)
    }

    /// The item with the zone it is in.
    pub fn item(&self, part: Part) -> Option<(&Zone, &Item)> {
        self.zones.iter().find_map(|z| Some((z, z.items.iter().find(|i| i.part == part)?)))
    }

    pub fn rule(&self, part: Part) -> Option<&Rule> {
        self.rules.iter().find(|r| r.part == part)
    }

    /// The condition with the rule it is of.
    pub fn condition(&self, part: Part) -> Option<(&Rule, &When)> {
        self.rules.iter().find_map(|r| Some((r, r.when.iter().find(|w| w.part == part)?)))
    }

    /// The part by name, for people: "Item “Brake pad”".
    pub fn called(&self, part: Part, lang: Lang) -> String {
        let named = |key: &str, new: &str, name: String| {
            if name.is_empty() { t_in!(lang, new) } else { t_in!(lang, key, name = name) }
        };
        let titled = |title: &str, translated: &Translated, key: &str| match title {
            "" => key.to_owned(),
            title => title_said(title, translated, lang),
        };
        if let Some(zone) = self.zone(part) {
            named("draft-zone-called", "draft-zone-new", titled(&zone.title, &zone.translated, &zone.key))
        } else if let Some((_, item)) = self.item(part) {
            named("draft-item-called", "draft-item-new", titled(&item.title, &item.translated, &item.key))
        } else if let Some(rule) = self.rule(part) {
            named("draft-rule-called", "draft-rule-new", rule.name.clone())
        } else if let Some((rule, when)) = self.condition(part) {
            let nth = rule.when.iter().position(|w| w.part == when.part).unwrap_or_default() + 1;
            let of = named("draft-rule-called", "draft-rule-new", rule.name.clone());
            t_in!(lang, "draft-condition-called", rule = of, number = nth)
        } else {
            t_in!(lang, "draft-head-called")
        }
    }

    fn next_part(&mut self) -> Part {
        self.last_part += 1;
        self.last_part
    }
}

impl Limit {
    pub fn is_empty(&self) -> bool {
        [&self.load, &self.warmth, &self.at_least, &self.at_most].iter().all(|t| t.is_empty())
            && self.others.is_empty()
    }

    /// "unladen: at least 100 kPa".
    pub fn in_words(&self, lang: Lang) -> String {
        let and = |one, other| t_in!(lang, "draft-and", one = one, other = other);
        let load = self
            .load
            .parse::<Load>()
            .map_or_else(|_| self.load.clone(), |l| Text::of(&l).in_lang(lang).to_owned());
        let warmth = self
            .warmth
            .parse::<Warmth>()
            .map_or_else(|_| self.warmth.clone(), |w| Text::of(&w).in_lang(lang).to_owned());
        let context = [load, warmth].into_iter().filter(|t| !t.is_empty()).reduce(and);
        let least = (!self.at_least.is_empty())
            .then(|| t_in!(lang, "draft-at-least", figure = lang.figure(&self.at_least)));
        let most = (!self.at_most.is_empty())
            .then(|| t_in!(lang, "draft-at-most", figure = lang.figure(&self.at_most)));
        let bounds = least.into_iter().chain(most).reduce(and).unwrap_or_default();
        match context {
            Some(context) => format!("{context}: {bounds}"),
            None => bounds,
        }
    }
}

#[cfg(test)]
mod tests;
