//! From a draft to the file it stands for, and from a fault in that file back to the field it was typed in.

use super::{Draft, HEAD, Item, Limit, Others, Part, Rule, Translated, When, Zone};
use crate::domain::checklist::{Asked, Checklist};
use crate::domain::checklist_file::{for_whom, parse_for};
use crate::domain::unit::Unit;
use crate::words::{Lang, Text};

/// A draft in which nothing is wrong.
pub struct Ready {
    pub source: String,
    pub checklist: Checklist,
}

/// What is wrong, and in which field of which part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DraftFault {
    pub part: Part,
    /// The key of the file; empty for the part as a whole.
    pub field: String,
    pub sentence: Text,
}

impl Draft {
    /// The checklist it stands for, or everything that must be mended first.
    pub fn ready(&self) -> Result<Ready, Vec<DraftFault>> {
        let written = self.written();
        match parse_for(&written.text) {
            Ok(checklist) => Ok(Ready { source: written.text, checklist }),
            Err(faults) => Err(faults
                .into_iter()
                .map(|f| {
                    let (part, field) = written.field_at(f.line, f.column);
                    DraftFault { part, field, sentence: for_a_form(&f.sentence) }
                })
                .collect()),
        }
    }

    pub(super) fn written(&self) -> Writer {
        let mut w = Writer::default();
        w.text("name", &self.name);
        w.said("title", &self.title, &self.translated);
        w.texts("classes", &self.classes);
        w.text_if_any("out_of_service_from", &self.out_of_service_from);
        w.others(&self.others);
        for zone in &self.zones {
            w.zone(zone);
        }
        for rule in &self.rules {
            w.rule(rule);
        }
        w
    }
}

/// The file so far, and where in it each field begins.
pub(super) struct Writer {
    pub(super) text: String,
    line: usize,
    column: usize,
    part: Part,
    fields: Vec<(usize, usize, Part, String)>,
}

impl Default for Writer {
    fn default() -> Self {
        Self { text: String::new(), line: 1, column: 1, part: HEAD, fields: Vec::new() }
    }
}

impl Writer {
    /// The field that a place in the file belongs to: the last one that begins before it.
    fn field_at(&self, line: usize, column: usize) -> (Part, String) {
        let before = self.fields.iter().rev().find(|(l, c, ..)| (*l, *c) <= (line, column));
        before.map_or((HEAD, String::new()), |(.., part, field)| (*part, field.clone()))
    }

    fn zone(&mut self, zone: &Zone) {
        self.begin("[[zone]]", zone.part);
        self.text("key", &zone.key);
        self.said("title", &zone.title, &zone.translated);
        self.said("stand", &zone.stand, &zone.translated);
        self.others(&zone.others);
        for item in &zone.items {
            self.item(item);
        }
    }

    fn item(&mut self, item: &Item) {
        self.begin("[[zone.item]]", item.part);
        self.text("key", &item.key);
        let said = &item.translated;
        self.said("title", &item.title, said);
        self.said("todo", &item.todo, said);
        self.said("accept", &item.accept, said);
        self.text_if_any("picture", &item.picture);
        self.said_if_any("caution", &item.caution, said);
        self.text("system", &item.system);
        self.flag("safety", item.safety);
        self.text("asks", &item.asks);
        if !item.positions.is_empty() {
            self.said_list("positions", &item.positions, said);
        }
        self.flag("may_be_not_applicable", item.may_be_not_applicable);
        self.flag("may_be_corrected", item.may_be_corrected);
        self.text_if_any("corrected_unit", &item.corrected_unit);
        self.others(&item.others);
        if item.asks != Asked::Measure.as_str() {
            return;
        }
        let m = &item.measure;
        self.field("units");
        self.push("\n[zone.item.measure]\n");
        // Figures are compared in the SI base of what is measured.
        let usual = m.units.first().and_then(|u| u.parse::<Unit>().ok()).unwrap_or(Unit::Mm);
        self.line("units", &format!("base = {}", quoted(usual.quantity().base().as_str())));
        self.texts("units", &m.units);
        self.text("resolution", &m.resolution);
        self.push("plausible = [");
        self.field("plausible_from");
        self.push(&format!("{}, ", quoted(&m.plausible_from)));
        self.field("plausible_to");
        self.push(&format!("{}]\n", quoted(&m.plausible_to)));
        self.field("limits");
        self.push("limits = [\n");
        for (n, limit) in m.limits.iter().enumerate() {
            self.limit(n, limit);
        }
        self.field("limits");
        self.push("]\n");
        self.others(&m.others);
    }

    fn limit(&mut self, n: usize, limit: &Limit) {
        self.field(&format!("limit-{n}"));
        self.push("  { ");
        let said = [
            ("load", &limit.load),
            ("warmth", &limit.warmth),
            ("at_least", &limit.at_least),
            ("at_most", &limit.at_most),
        ];
        let mut given: Vec<String> = said
            .iter()
            .filter(|(_, text)| !text.is_empty())
            .map(|(key, text)| format!("{key} = {}", quoted(text)))
            .collect();
        given.extend(limit.others.iter().map(|(key, value)| format!("{key} = {value}")));
        self.push(&given.join(", "));
        self.push(" },\n");
    }

    fn rule(&mut self, rule: &Rule) {
        self.begin("[[rule]]", rule.part);
        self.text("name", &rule.name);
        let title = if rule.title.is_empty() { &rule.name } else { &rule.title };
        if *title != rule.name || !in_other_languages("title", &rule.translated).is_empty() {
            self.said("title", title, &rule.translated);
        }
        self.text("severity", &rule.severity);
        self.flag("final", rule.final_);
        self.count_if_any("good_for_days", &rule.good_for_days);
        self.count_if_any("good_for_hours", &rule.good_for_hours);
        self.field("when");
        self.push("when = [\n");
        for when in &rule.when {
            self.part = when.part;
            self.condition(when);
        }
        self.part = rule.part;
        self.field("when");
        self.push("]\n");
        self.said("instruction", &rule.instruction, &rule.translated);
        self.text_if_any("route", &rule.route);
        self.others(&rule.others);
    }

    fn condition(&mut self, when: &When) {
        self.field("");
        self.push("  { ");
        let of_item: &[&str] = if when.kind.is_of_an_item() { &["item", "position"] } else { &[] };
        let mut first = true;
        // What tells the kind is always written, so that a condition with nothing in it says what is missing.
        let tells = |key: &str| key == "item" || (key == when.kind.keys()[0] && !when.says_any());
        for key in of_item.iter().chain(when.kind.keys()) {
            let said = when.says(key);
            if said.is_empty() && !tells(key) {
                continue;
            }
            if !std::mem::take(&mut first) {
                self.push(", ");
            }
            self.field(key);
            self.push(&format!("{key} = {}", when.value(key)));
        }
        self.field("");
        self.push(" },\n");
    }

    fn begin(&mut self, header: &str, part: Part) {
        self.part = part;
        self.push("\n");
        self.line("", header);
    }

    fn text(&mut self, key: &str, text: &str) {
        self.line(key, &format!("{key} = {}", quoted(text)));
    }

    fn text_if_any(&mut self, key: &str, text: &str) {
        if !text.is_empty() {
            self.text(key, text);
        }
    }

    /// In every language that there is something of, each a field of its own.
    fn said(&mut self, key: &str, text: &str, translated: &Translated) {
        let others = in_other_languages(key, translated);
        if others.is_empty() {
            return self.text(key, text);
        }
        self.line(key, &format!("{key}.{} = {}", Lang::default().tag(), quoted(text)));
        for (lang, said) in others {
            self.line(&field_in(key, lang), &format!("{key}.{} = {}", lang.tag(), quoted(said)));
        }
    }

    fn said_if_any(&mut self, key: &str, text: &str, translated: &Translated) {
        if !text.is_empty() || !in_other_languages(key, translated).is_empty() {
            self.said(key, text, translated);
        }
    }

    /// Each text of a list with what it is called in the other languages, as far as that is said.
    fn said_list(&mut self, key: &str, texts: &[String], translated: &Translated) {
        let others = in_other_languages(key, translated);
        if others.is_empty() {
            return self.texts(key, texts);
        }
        let named: Vec<(Lang, Vec<&str>)> =
            others.into_iter().map(|(lang, said)| (lang, said.split(',').map(str::trim).collect())).collect();
        let one = |(n, text): (usize, &String)| {
            let first = std::iter::once((Lang::default(), text.as_str()));
            let others = named.iter().filter_map(|(lang, said)| Some((*lang, *said.get(n)?)));
            let all: Vec<String> = first
                .chain(others.filter(|(_, said)| !said.is_empty()))
                .map(|(lang, said)| format!("{} = {}", lang.tag(), quoted(said)))
                .collect();
            format!("{{ {} }}", all.join(", "))
        };
        let all: Vec<String> = texts.iter().enumerate().map(one).collect();
        self.line(key, &format!("{key} = [{}]", all.join(", ")));
    }

    fn texts(&mut self, key: &str, texts: &[String]) {
        self.line(key, &format!("{key} = {}", list(texts.iter().map(String::as_str))));
    }

    fn flag(&mut self, key: &str, flag: bool) {
        if flag {
            self.line(key, &format!("{key} = true"));
        }
    }

    fn count_if_any(&mut self, key: &str, text: &str) {
        if !text.is_empty() {
            self.line(key, &format!("{key} = {}", count(text)));
        }
    }

    fn others(&mut self, others: &Others) {
        for (key, value) in others {
            self.line("", &format!("{key} = {value}"));
        }
    }

    fn line(&mut self, field: &str, line: &str) {
        self.field(field);
        self.push(line);
        self.push("\n");
    }

    fn field(&mut self, field: &str) {
        self.fields.push((self.line, self.column, self.part, field.to_owned()));
    }

    fn push(&mut self, text: &str) {
        for c in text.chars() {
            if c == '\n' {
                self.line += 1;
                self.column = 1;
            } else {
                self.column += 1;
            }
        }
        self.text.push_str(text);
    }
}

impl When {
    /// Whether it says anything that tells its kind.
    fn says_any(&self) -> bool {
        self.kind.keys().iter().any(|key| !self.says(key).is_empty())
    }

    fn value(&self, key: &str) -> String {
        let text = self.says(key);
        match key {
            "corrected_times" | "within_hours" | "within_days" | "back_within_days" => count(text),
            "between" => {
                let groups = text.split(';').map(|group| list(group.split(',').map(str::trim)));
                format!("[{}]", groups.collect::<Vec<_>>().join(", "))
            }
            _ => quoted(text),
        }
    }
}

/// The name of the field in which a text is typed in one of the other languages: "title.es".
pub fn field_in(key: &str, lang: Lang) -> String {
    format!("{key}.{}", lang.tag())
}

fn in_other_languages<'t>(key: &str, translated: &'t Translated) -> Vec<(Lang, &'t str)> {
    let said = |lang: &Lang| Some((*lang, translated.get(&field_in(key, *lang))?.as_str()));
    Lang::ALL[1..].iter().filter_map(said).filter(|(_, said)| !said.is_empty()).collect()
}

fn list<'t>(texts: impl Iterator<Item = &'t str>) -> String {
    format!("[{}]", texts.map(quoted).collect::<Vec<_>>().join(", "))
}

/// A whole number bare; anything else as text, which the file then refuses as no number.
fn count(text: &str) -> String {
    text.parse::<u32>().map_or_else(|_| quoted(text), |n| n.to_string())
}

/// A basic string of TOML on one line.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A sentence about a file, for whoever sees a form: without the file's signs, and its keys in plain words.
fn for_a_form(sentence: &Text) -> Text {
    for_whom(sentence, false).map(|plain| {
        let letters: Vec<char> = plain.chars().collect();
        let spaced = |i: usize| {
            letters[i] == '_'
                && i > 0
                && letters[i - 1].is_ascii_lowercase()
                && letters.get(i + 1).is_some_and(char::is_ascii_lowercase)
        };
        (0..letters.len()).map(|i| if spaced(i) { ' ' } else { letters[i] }).collect()
    })
}
