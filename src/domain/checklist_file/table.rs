//! Typed looks into one TOML table. A fault is noted with its place and reading goes on, so that a file is mended in
//! one go; what is missing is stood in for, since a faulty file never becomes a checklist.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::str::FromStr;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Fault;
use crate::domain::unit::{MeasureError, Measured};
use crate::domain::words::UnknownWord;
use crate::words::{Lang, Text as Said};

const LONGEST_TEXT: usize = 600;
const LONGEST_KEY: usize = 40;

/// Faults by their place in the text.
#[derive(Default)]
pub(super) struct Faults(RefCell<Vec<(usize, Said)>>);

/// A text with where it stands.
#[derive(Clone, Default)]
pub(super) struct Text {
    pub(super) value: String,
    pub(super) at: usize,
}

pub(super) struct Table<'t> {
    entries: &'t DeTable<'t>,
    pub(super) at: usize,
    /// Key of "the checklist", "a condition", for sentences.
    kind: &'static str,
    faults: &'t Faults,
    known: RefCell<BTreeSet<&'static str>>,
}

impl Faults {
    pub(super) fn add(&self, at: usize, sentence: Said) {
        self.0.borrow_mut().push((at, sentence));
    }

    pub(super) fn count(&self) -> usize {
        self.0.borrow().len()
    }

    pub(super) fn in_order(self, text: &str) -> Vec<Fault> {
        let place = |(at, sentence): (usize, Said)| {
            let before = &text.as_bytes()[..at.min(text.len())];
            let line_start = before.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
            Fault {
                line: before.iter().filter(|b| **b == b'\n').count() + 1,
                // Counted in characters: continuation bytes of UTF-8 are not columns.
                column: before[line_start..].iter().filter(|b| (**b & 0xC0) != 0x80).count() + 1,
                sentence,
            }
        };
        let mut faults: Vec<Fault> = self.0.into_inner().into_iter().map(place).collect();
        faults.sort();
        faults.dedup();
        faults
    }
}

impl<'t> Table<'t> {
    pub(super) fn new(entries: &'t DeTable<'t>, at: usize, kind: &'static str, faults: &'t Faults) -> Self {
        Self { entries, at, kind, faults, known: RefCell::default() }
    }

    /// A text that must be there.
    pub(super) fn text(&self, key: &'static str) -> Text {
        match self.get(key) {
            Some(value) => self.as_text(key, value),
            None => self.missing(key),
        }
    }

    pub(super) fn text_if_given(&self, key: &'static str) -> Option<Text> {
        self.get(key).map(|value| self.as_text(key, value))
    }

    /// A text that must be there, of few words: it has to fit a defect's title and a one-sentence reason.
    pub(super) fn title(&self, key: &'static str, most_words: usize) -> Text {
        let text = self.text(key);
        self.refuse_long(key, &text, most_words);
        text
    }

    /// What people read, which must be there: one text for all, or one in each language, `{ en = "…", es = "…" }`.
    pub(super) fn said(&self, key: &'static str) -> Said {
        self.said_in_short(key, usize::MAX)
    }

    /// As [`Table::said`], of few words in each language.
    pub(super) fn said_in_short(&self, key: &'static str, most_words: usize) -> Said {
        match self.get(key) {
            Some(value) => self.as_said(key, value, most_words).1,
            None => {
                self.missing(key);
                Said::default()
            }
        }
    }

    pub(super) fn said_if_given(&self, key: &'static str, most_words: usize) -> Option<Said> {
        self.get(key).map(|value| self.as_said(key, value, most_words).1)
    }

    /// A list of what people read, each with its text in the first language; empty when left out.
    pub(super) fn said_list(&self, key: &'static str, most_words: usize) -> Vec<(Text, Said)> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let DeValue::Array(entries) = value.get_ref() else {
            self.faults.add(value.span().start, said!("file-list", key = key));
            return Vec::new();
        };
        entries.iter().map(|v| self.as_said(key, v, most_words)).collect()
    }

    /// A key that must be there: small letters, digits and hyphens.
    pub(super) fn key(&self, key: &'static str) -> Text {
        let text = self.text(key);
        if !text.value.is_empty() && !is_key(&text.value) {
            let sentence = said!(
                "file-not-a-key",
                given = format!("{:?}", text.value),
                most = LONGEST_KEY,
                instead = format!("{:?}", key_of(&text.value))
            );
            self.faults.add(text.at, sentence);
        }
        text
    }

    /// One word of a closed vocabulary.
    pub(super) fn word<T: FromStr<Err = UnknownWord>>(&self, key: &'static str) -> Option<T> {
        if self.get(key).is_none() {
            self.missing(key);
            return None;
        }
        self.word_if_given(key)
    }

    pub(super) fn word_if_given<T: FromStr<Err = UnknownWord>>(&self, key: &'static str) -> Option<T> {
        let text = self.text_if_given(key).filter(|t| !t.value.is_empty())?;
        self.as_word(key, &text)
    }

    pub(super) fn words<T: FromStr<Err = UnknownWord>>(&self, key: &'static str) -> Vec<T> {
        self.texts(key).iter().filter_map(|t| self.as_word(key, t)).collect()
    }

    /// True or false; false when left out.
    pub(super) fn flag(&self, key: &'static str) -> bool {
        match self.get(key).map(|v| (v.get_ref(), v.span().start)) {
            None => false,
            Some((DeValue::Boolean(flag), _)) => *flag,
            Some((_, at)) => {
                self.faults.add(at, said!("file-true-or-false", key = key));
                false
            }
        }
    }

    /// A whole number from 1.
    pub(super) fn count_if_given(&self, key: &'static str) -> Option<u32> {
        let value = self.get(key)?;
        let count = match value.get_ref() {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse::<u32>().ok().filter(|n| *n > 0),
            _ => None,
        };
        if count.is_none() {
            self.faults.add(value.span().start, said!("file-count", key = key));
        }
        count
    }

    /// A figure with its unit, written as text.
    pub(super) fn measured_if_given(&self, key: &'static str) -> Option<(Measured, usize)> {
        let text = self.text_if_given(key).filter(|t| !t.value.is_empty())?;
        self.as_measured(key, &text)
    }

    pub(super) fn measured_list(&self, key: &'static str) -> Vec<(Measured, usize)> {
        self.texts(key).iter().filter_map(|t| self.as_measured(key, t)).collect()
    }

    /// A list of texts; empty when left out.
    pub(super) fn texts(&self, key: &'static str) -> Vec<Text> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let DeValue::Array(entries) = value.get_ref() else {
            self.faults.add(value.span().start, said!("file-list", key = key));
            return Vec::new();
        };
        entries.iter().map(|v| self.as_text(key, v)).collect()
    }

    /// A list of lists of texts, each with where it stands; empty when left out.
    pub(super) fn text_lists(&self, key: &'static str) -> Vec<(usize, Vec<Text>)> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let DeValue::Array(lists) = value.get_ref() else {
            self.faults.add(value.span().start, said!("file-list-of-lists", key = key));
            return Vec::new();
        };
        let read = |list: &Spanned<DeValue<'_>>| {
            let at = list.span().start;
            let DeValue::Array(entries) = list.get_ref() else {
                self.faults.add(at, said!("file-list-of-lists", key = key));
                return None;
            };
            Some((at, entries.iter().map(|v| self.as_text(key, v)).collect()))
        };
        lists.iter().filter_map(read).collect()
    }

    /// A list of tables; empty when left out.
    pub(super) fn tables(&self, key: &'static str, kind: &'static str) -> Vec<Table<'t>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let DeValue::Array(entries) = value.get_ref() else {
            self.faults.add(value.span().start, said!("file-list-of-tables", key = key));
            return Vec::new();
        };
        entries.iter().filter_map(|v| self.as_table(key, v, kind)).collect()
    }

    pub(super) fn table_if_given(&self, key: &'static str, kind: &'static str) -> Option<Table<'t>> {
        self.get(key).and_then(|value| self.as_table(key, value, kind))
    }

    /// Where a key stands, or the table itself when it is not there.
    pub(super) fn at_key(&self, key: &str) -> usize {
        let found = self.entries.iter().find(|(k, _)| k.get_ref() == key);
        found.map_or(self.at, |(k, _)| k.span().start)
    }

    pub(super) fn has(&self, key: &'static str) -> bool {
        self.get(key).is_some()
    }

    /// Call last: whatever was not asked for is not ours.
    pub(super) fn refuse_unknown(&self) {
        let known = self.known.borrow();
        for (key, _) in self.entries {
            let given = key.get_ref().as_ref();
            if !known.contains(given) {
                let sentence = said!(
                    "file-means-nothing",
                    given = format!("{given:?}"),
                    place = said!(self.kind),
                    meant = did_you_mean(given, known.iter().copied())
                );
                self.faults.add(key.span().start, sentence);
            }
        }
    }

    fn get(&self, key: &'static str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.known.borrow_mut().insert(key);
        self.entries.iter().find(|(k, _)| k.get_ref() == key).map(|(_, v)| v)
    }

    fn missing(&self, key: &'static str) -> Text {
        self.faults.add(self.at, said!("file-missing", key = key, place = said!(self.kind)));
        Text { value: String::new(), at: self.at }
    }

    fn as_text(&self, key: &str, value: &Spanned<DeValue<'_>>) -> Text {
        let at = value.span().start;
        let DeValue::String(text) = value.get_ref() else {
            self.faults.add(at, said!("file-quotes", key = key));
            return Text { value: String::new(), at };
        };
        let text = text.trim();
        if text.is_empty() {
            self.faults.add(at, said!("file-empty", key = key));
        } else if text.chars().count() > LONGEST_TEXT {
            self.faults.add(at, said!("file-too-long", key = key, most = LONGEST_TEXT));
        } else if text.chars().any(|c| c.is_control() && c != '\n' && c != '\t') {
            self.faults.add(at, said!("file-odd-signs", key = key));
        }
        Text { value: text.to_owned(), at }
    }

    fn as_said(&self, key: &str, value: &Spanned<DeValue<'_>>, most_words: usize) -> (Text, Said) {
        let DeValue::Table(entries) = value.get_ref() else {
            let text = self.as_text(key, value);
            self.refuse_long(key, &text, most_words);
            let said = Said::typed(&*text.value);
            return (text, said);
        };
        let (mut said, mut first) = (Said::default(), None);
        for (tag, value) in entries {
            let Some(lang) = Lang::ALL.iter().copied().find(|l| l.tag() == tag.get_ref()) else {
                let known: Vec<&str> = Lang::ALL.iter().map(|l| l.tag()).collect();
                let sentence = said!(
                    "file-no-language",
                    given = format!("{:?}", tag.get_ref()),
                    known = known.join(", ")
                );
                self.faults.add(tag.span().start, sentence);
                continue;
            };
            let text = self.as_text(key, value);
            self.refuse_long(key, &text, most_words);
            said = said.and(lang, &*text.value);
            if lang == Lang::default() {
                first = Some(text);
            }
        }
        let at = value.span().start;
        let first = first.unwrap_or_else(|| {
            self.faults.add(at, said!("file-not-said-in", key = key, lang = Lang::default().tag()));
            Text { value: String::new(), at }
        });
        (first, said)
    }

    fn refuse_long(&self, key: &str, text: &Text, most_words: usize) {
        if text.value.split_whitespace().count() > most_words {
            self.faults.add(text.at, said!("file-too-long-title", key = key, most = most_words));
        }
    }

    fn as_word<T: FromStr<Err = UnknownWord>>(&self, key: &str, text: &Text) -> Option<T> {
        let say = |e: UnknownWord| {
            let meant = did_you_mean(&e.given, e.known.iter().copied());
            let given = format!("{:?}", e.given);
            let why = said!("file-not-one-of", given = given, known = e.known.join(", "));
            let why = said!("file-of-key", key = key, why = why);
            self.faults.add(text.at, Said::joined([&why, &meant], ""));
        };
        text.value.parse().map_err(say).ok()
    }

    fn as_measured(&self, key: &str, text: &Text) -> Option<(Measured, usize)> {
        let say = |e: MeasureError| self.faults.add(text.at, said!("file-of-key", key = key, why = e));
        Measured::parse_with_unit(&text.value).map_err(say).ok().map(|m| (m, text.at))
    }

    fn as_table(&self, key: &str, value: &'t Spanned<DeValue<'t>>, kind: &'static str) -> Option<Table<'t>> {
        if let DeValue::Table(entries) = value.get_ref() {
            return Some(Table::new(entries, value.span().start, kind, self.faults));
        }
        self.faults.add(value.span().start, said!("file-table", key = key));
        None
    }
}

/// Whether it is written as a key: small letters, digits and hyphens.
pub fn is_key(text: &str) -> bool {
    let fits = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    !text.is_empty()
        && text.len() <= LONGEST_KEY
        && text.bytes().all(fits)
        && !text.starts_with('-')
        && !text.ends_with('-')
}

/// The key a title would have: "Front left" gives "front-left".
pub fn key_of(title: &str) -> String {
    let plain = title.to_lowercase().replace(|c: char| !c.is_ascii_alphanumeric(), " ");
    plain.split_whitespace().collect::<Vec<_>>().join("-")
}

/// " Did you mean …?" with the nearest known word, or nothing when none is near.
pub(super) fn did_you_mean<'k>(given: &str, known: impl Iterator<Item = &'k str>) -> Said {
    let near = (given.chars().count() / 3).max(2);
    known
        .map(|k| (steps_between(given, k), k))
        .filter(|(steps, _)| *steps <= near)
        .min()
        .map(|(_, k)| said!("file-did-you-mean", word = format!("{k:?}")))
        .unwrap_or_default()
}

/// Levenshtein distance: letters to add, drop or change to get from one word to the other.
fn steps_between(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in to.iter().enumerate() {
            let change = diagonal + usize::from(a != *b);
            diagonal = row[j + 1];
            row[j + 1] = change.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[to.len()]
}
