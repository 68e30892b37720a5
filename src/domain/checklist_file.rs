//! Checklists as people write them: TOML in, a checklist out, or every fault with its line and column.

mod conditions;
mod items;
mod reach;
mod rules;
mod table;

use std::collections::BTreeMap;

use super::checklist::{Checklist, Rule, Zone};
use super::risk::RiskLevel;
use crate::words::Text as Said;
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
    pub sentence: Said,
}

/// More than any walk has; a file beyond this is something else.
const LARGEST_FILE: usize = 512 * 1024;

/// Reads a checklist. All faults are told at once, in the order of the file.
pub fn parse(text: &str) -> Result<Checklist, Vec<Fault>> {
    parse_for(text).map_err(|faults| {
        faults.into_iter().map(|f| Fault { sentence: for_whom(&f.sentence, true), ..f }).collect()
    })
}

/// As [`parse`], with sentences for [`for_whom`].
pub(super) fn parse_for(text: &str) -> Result<Checklist, Vec<Fault>> {
    let faults = Faults::default();
    let checklist = if text.len() > LARGEST_FILE {
        faults.add(0, said!("file-too-large", most = LARGEST_FILE));
        None
    } else {
        read(text, &faults)
    };
    let found = faults.in_order(text);
    checklist.filter(|_| found.is_empty()).ok_or(found)
}

/// Of what a sentence says to whoever edits the file, or to whoever sees a form instead: "‹for the file|for the form›".
pub(super) fn for_whom(sentence: &Said, of_file: bool) -> Said {
    sentence.map(|text| {
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some((before, after)) = rest.split_once('‹') {
            out.push_str(before);
            let (either, then) = after.split_once('›').unwrap_or((after, ""));
            let (file, form) = either.split_once('|').unwrap_or((either, either));
            out.push_str(if of_file { file } else { form });
            rest = then;
        }
        out + rest
    })
}

fn read(text: &str, faults: &Faults) -> Option<Checklist> {
    let (document, broken) = toml::de::DeTable::parse_recoverable(text);
    if !broken.is_empty() {
        for error in broken {
            let at = error.span().map_or(text.len(), |s| s.start);
            faults.add(at, said!("file-not-toml", why = error.message()));
        }
        return None;
    }
    let top = Table::new(document.get_ref(), 0, "file-in-checklist", faults);
    let name = top.key("name");
    let title = top.said("title");
    let classes = top.texts("classes");
    if classes.is_empty() {
        faults.add(top.at_key("classes"), said!("file-no-class"));
    }
    faults.refuse_twice(&classes, "file-twice-class");
    let zone_tables = top.tables("zone", "file-in-zone");
    if zone_tables.is_empty() {
        faults.add(top.at_key("zone"), said!("file-no-zone"));
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
    faults.refuse_twice(&keys, "file-twice-zone");
    faults.refuse_twice(&item_keys, "file-twice-item");
    let threshold = top.word_if_given::<RiskLevel>("out_of_service_from");
    if threshold == Some(RiskLevel::Eliminated) {
        faults.add(top.at_key("out_of_service_from"), said!("file-no-hold"));
    }
    let checklist = Checklist {
        name: name.value,
        title,
        classes: classes.into_iter().map(|c| c.value).collect(),
        zones,
        rules: Vec::new(),
        out_of_service_from: threshold.unwrap_or_default(),
    };
    let placed = rules::read(&top.tables("rule", "file-in-rule"), &checklist, faults);
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
    let item_tables = table.tables("item", "file-in-item");
    if item_tables.is_empty() {
        faults.add(table.at, said!("file-empty-zone", zone = format!("{:?}", key.value)));
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
                    said!("file-twice", kind = said!(kind), given = format!("{:?}", text.value)),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests;
