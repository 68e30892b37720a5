//! Checklists as people write them: TOML in, a checklist out, or every fault with its line and column.

mod conditions;
mod items;
mod reach;
mod rules;
mod table;

use std::collections::BTreeMap;

use super::checklist::{Checklist, Rule, Zone};
use super::risk::RiskLevel;
use table::{Faults, Table, Text};

pub use table::{is_key, key_of};

/// Something in the file that must be mended.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
#[error("line {line}, column {column}: {sentence}")]
pub struct Fault {
    /// From 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
    pub sentence: String,
}

/// More than any walk has; a file beyond this is something else.
const LARGEST_FILE: usize = 512 * 1024;

/// Reads a checklist. All faults are told at once, in the order of the file.
pub fn parse(text: &str) -> Result<Checklist, Vec<Fault>> {
    let faults = Faults::default();
    let checklist = if text.len() > LARGEST_FILE {
        faults.add(0, format!("The file is too large. A checklist has at most {LARGEST_FILE} bytes."));
        None
    } else {
        read(text, &faults)
    };
    let found = faults.in_order(text);
    checklist.filter(|_| found.is_empty()).ok_or(found)
}

fn read(text: &str, faults: &Faults) -> Option<Checklist> {
    let (document, broken) = toml::de::DeTable::parse_recoverable(text);
    if !broken.is_empty() {
        for error in broken {
            let at = error.span().map_or(text.len(), |s| s.start);
            faults.add(at, format!("This is not TOML: {}.", error.message()));
        }
        return None;
    }
    let top = Table::new(document.get_ref(), 0, "the checklist", faults);
    let name = top.key("name");
    let title = top.said("title");
    let classes = top.texts("classes");
    if classes.is_empty() {
        faults.add(top.at_key("classes"), "Name at least one class of machines in classes.".into());
    }
    faults.refuse_twice(&classes, "class");
    let zone_tables = top.tables("zone", "zone");
    if zone_tables.is_empty() {
        faults.add(top.at_key("zone"), "A checklist needs at least one [[zone]] to stand in.".into());
    }
    let mut keys = Vec::new();
    let mut item_keys = Vec::new();
    let zones: Vec<Zone> = zone_tables
        .iter()
        .map(|t| {
            let (key, zone) = read_zone(t, faults, &mut item_keys);
            keys.push(key);
            zone
        })
        .collect();
    faults.refuse_twice(&keys, "zone");
    faults.refuse_twice(&item_keys, "item");
    let threshold = top.word_if_given::<RiskLevel>("out_of_service_from");
    if threshold == Some(RiskLevel::Eliminated) {
        let sentence = "Where the risk is eliminated there is nothing to hold: say low or more.".to_owned();
        faults.add(top.at_key("out_of_service_from"), sentence);
    }
    let checklist = Checklist {
        name: name.value,
        title,
        classes: classes.into_iter().map(|c| c.value).collect(),
        zones,
        rules: Vec::new(),
        out_of_service_from: threshold.unwrap_or_default(),
    };
    let placed = rules::read(&top.tables("rule", "rule"), &checklist, faults);
    top.refuse_unknown();
    if faults.count() == 0 {
        reach::check(&checklist, &placed, faults);
    }
    let rules: Vec<Rule> = placed.into_iter().map(|p| p.rule).collect();
    Some(Checklist { rules, ..checklist })
}

fn read_zone(table: &Table<'_>, faults: &Faults, item_keys: &mut Vec<Text>) -> (Text, Zone) {
    let key = table.key("key");
    let title = table.said("title");
    let stand = table.said("stand");
    let item_tables = table.tables("item", "item");
    if item_tables.is_empty() {
        faults.add(table.at, format!("Zone {:?} has nothing to check. Give it a [[zone.item]].", key.value));
    }
    let items = item_tables
        .iter()
        .map(|t| {
            let (key, item) = items::read(t, faults);
            item_keys.push(key);
            item
        })
        .collect();
    table.refuse_unknown();
    let zone = Zone { key: key.value.clone(), title, stand, items };
    (key, zone)
}

impl Faults {
    fn refuse_twice(&self, texts: &[Text], kind: &str) {
        let mut first: BTreeMap<&str, ()> = BTreeMap::new();
        for text in texts.iter().filter(|t| !t.value.is_empty()) {
            if first.insert(&text.value, ()).is_some() {
                self.add(
                    text.at,
                    format!("The {kind} {:?} stands here a second time. Rename one.", text.value),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests;
