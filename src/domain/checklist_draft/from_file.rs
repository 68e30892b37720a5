//! From the file of a version back to a draft, with every figure as the file writes it.

use std::collections::BTreeMap;

use toml::{Table, Value};

use super::{Draft, Item, Kind, Limit, Measure, Others, Rule, Translated, When, Zone};
use crate::words::Lang;

impl Draft {
    /// Of a file that [`crate::domain::checklist_file::parse`] has taken; its remarks are not kept. None when it is no
    /// such file.
    pub fn from_file(source: &str) -> Option<Self> {
        let mut top: Table = source.parse().ok()?;
        let translated = translated(&top, &["title"]);
        let mut draft = Self {
            translated,
            name: text(&mut top, "name"),
            title: text(&mut top, "title"),
            classes: texts(&mut top, "classes"),
            out_of_service_from: text(&mut top, "out_of_service_from"),
            ..Self::default()
        };
        for table in tables(&mut top, "zone") {
            let zone = draft.zone_from(table);
            draft.zones.push(zone);
        }
        for table in tables(&mut top, "rule") {
            let rule = draft.rule_from(table)?;
            draft.rules.push(rule);
        }
        draft.others = others(top);
        Some(draft)
    }

    fn zone_from(&mut self, mut t: Table) -> Zone {
        let part = self.next_part();
        let items = tables(&mut t, "item").into_iter().map(|item| self.item_from(item)).collect();
        Zone {
            part,
            translated: translated(&t, &["title", "stand"]),
            key: text(&mut t, "key"),
            title: text(&mut t, "title"),
            stand: text(&mut t, "stand"),
            items,
            others: others(t),
        }
    }

    fn item_from(&mut self, mut t: Table) -> Item {
        let measure = match t.remove("measure") {
            Some(Value::Table(m)) => measure_from(m),
            _ => Measure::default(),
        };
        Item {
            part: self.next_part(),
            translated: translated(&t, &["title", "todo", "accept", "caution", "positions"]),
            key: text(&mut t, "key"),
            title: text(&mut t, "title"),
            todo: text(&mut t, "todo"),
            accept: text(&mut t, "accept"),
            picture: text(&mut t, "picture"),
            caution: text(&mut t, "caution"),
            system: text(&mut t, "system"),
            safety: flag(&mut t, "safety"),
            asks: text(&mut t, "asks"),
            positions: texts(&mut t, "positions"),
            may_be_not_applicable: flag(&mut t, "may_be_not_applicable"),
            may_be_corrected: flag(&mut t, "may_be_corrected"),
            corrected_unit: text(&mut t, "corrected_unit"),
            measure,
            others: others(t),
        }
    }

    fn rule_from(&mut self, mut t: Table) -> Option<Rule> {
        let part = self.next_part();
        let mut when = Vec::new();
        for condition in tables(&mut t, "when") {
            let says: BTreeMap<String, String> =
                condition.into_iter().map(|(key, value)| (key, in_text(&value))).collect();
            let kind = Kind::of(|key| says.contains_key(key))?;
            when.push(When { part: self.next_part(), kind, says });
        }
        Some(Rule {
            part,
            translated: translated(&t, &["title", "instruction"]),
            name: text(&mut t, "name"),
            title: text(&mut t, "title"),
            severity: text(&mut t, "severity"),
            final_: flag(&mut t, "final"),
            when,
            instruction: text(&mut t, "instruction"),
            good_for_days: text(&mut t, "good_for_days"),
            good_for_hours: text(&mut t, "good_for_hours"),
            route: text(&mut t, "route"),
            others: others(t),
        })
    }
}

fn measure_from(mut t: Table) -> Measure {
    // It follows from the units.
    t.remove("base");
    let mut plausible = texts(&mut t, "plausible").into_iter();
    Measure {
        units: texts(&mut t, "units"),
        resolution: text(&mut t, "resolution"),
        plausible_from: plausible.next().unwrap_or_default(),
        plausible_to: plausible.next().unwrap_or_default(),
        limits: tables(&mut t, "limits").into_iter().map(limit_from).collect(),
        others: others(t),
    }
}

fn limit_from(mut t: Table) -> Limit {
    Limit {
        load: text(&mut t, "load"),
        warmth: text(&mut t, "warmth"),
        at_least: text(&mut t, "at_least"),
        at_most: text(&mut t, "at_most"),
        others: others(t),
    }
}

fn text(t: &mut Table, key: &str) -> String {
    t.remove(key).map(|v| in_text(&v)).unwrap_or_default()
}

fn texts(t: &mut Table, key: &str) -> Vec<String> {
    match t.remove(key) {
        Some(Value::Array(values)) => values.iter().map(in_text).collect(),
        _ => Vec::new(),
    }
}

/// What the fields say in the other languages. Where a text of a list is not translated, it stands as it is.
fn translated(t: &Table, fields: &[&str]) -> Translated {
    let mut found = Translated::new();
    for lang in &Lang::ALL[1..] {
        for field in fields {
            let in_lang = |value: &Value| Some(in_text(value.as_table()?.get(lang.tag())?));
            let said = match t.get(*field) {
                Some(Value::Array(texts)) if texts.iter().any(Value::is_table) => {
                    let each = texts.iter().map(|v| in_lang(v).unwrap_or_else(|| in_text(v)));
                    Some(each.collect::<Vec<_>>().join(", "))
                }
                Some(value) => in_lang(value),
                None => None,
            };
            found.extend(said.map(|said| (format!("{field}.{}", lang.tag()), said)));
        }
    }
    found
}

fn flag(t: &mut Table, key: &str) -> bool {
    matches!(t.remove(key), Some(Value::Boolean(true)))
}

fn tables(t: &mut Table, key: &str) -> Vec<Table> {
    let Some(Value::Array(values)) = t.remove(key) else { return Vec::new() };
    values
        .into_iter()
        .filter_map(|v| match v {
            Value::Table(table) => Some(table),
            _ => None,
        })
        .collect()
}

/// Lists within a list are told apart by semicolons: "front-left, front-right; rear-left, rear-right".
fn in_text(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        // Said in several languages: in the first of ours.
        Value::Table(said) => said.get(Lang::default().tag()).map(in_text).unwrap_or_default(),
        Value::Array(values) => {
            let with = if values.iter().any(Value::is_array) { "; " } else { ", " };
            values.iter().map(in_text).collect::<Vec<_>>().join(with)
        }
        other => other.to_string(),
    }
}

fn others(t: Table) -> Others {
    t.into_iter().map(|(key, value)| (key, value.to_string())).collect()
}
