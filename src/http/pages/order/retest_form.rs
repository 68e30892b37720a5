//! The failed items of one defect, asked again as on the check page, in the context in which they failed.

use crate::domain::checklist::{Asked, Item, Load, Warmth};
use crate::domain::defect::FailedItem;
use crate::domain::reading::{Level, Reading};
use crate::domain::unit::Unit;
use crate::http::pages::shown::said;
use crate::workflow::DefectOnOrder;

pub struct RetestForm {
    /// Name of the form, and beginning of its fields' ids.
    pub form: String,
    pub action: String,
    pub what: String,
    /// How the machine must be, in words; empty when it does not matter.
    pub context: String,
    /// Empty for a defect reported outside a check.
    pub items: Vec<RetestItem>,
    /// Said of a retest that passed already.
    pub passed: String,
    /// The air it failed in, where it was judged at one; empty otherwise.
    pub air: String,
}

pub struct RetestItem {
    pub n: usize,
    pub key: String,
    pub position: String,
    pub title: String,
    pub todo: String,
    pub accept: String,
    pub caution: String,
    /// `condition`, `function`, `level` or `measure`; empty when the checklist has the item no longer.
    pub asks: &'static str,
    pub units: Vec<&'static str>,
    pub limit: String,
    /// What was read when it failed.
    pub was: String,
}

impl RetestForm {
    pub fn new(d: &DefectOnOrder, order: &str, passed: String) -> Self {
        let from_checklist = d.checklist.is_some();
        let context = if from_checklist { context(d) } else { String::new() };
        let items = if from_checklist {
            d.failed.iter().enumerate().map(|(n, (f, item))| retest_item(n, f, item.as_ref(), d)).collect()
        } else {
            Vec::new()
        };
        Self {
            form: format!("retest-{}", d.defect.id),
            action: format!("{order}/defects/{}/retest", d.defect.id),
            what: d.defect.what.to_string(),
            context,
            items,
            passed,
            air: d.defect.air.as_ref().filter(|_| from_checklist).map(said).unwrap_or_default(),
        }
    }
}

/// How the machine must be, as far as it matters to what failed.
fn context(d: &DefectOnOrder) -> String {
    let items = || d.failed.iter().filter_map(|(_, i)| i.as_ref()?.measure());
    let by_load = items().any(|m| m.limits.iter().any(|l| l.load.is_some()));
    let by_warmth = items().any(|m| m.limits.iter().any(|l| l.warmth.is_some()));
    let mut words: Vec<String> = Vec::new();
    match d.defect.load {
        _ if d.failed.is_empty() => {}
        Load::Laden => {
            words.push(t!("order-failed-laden"));
        }
        Load::Unladen if by_load => {
            words.push(t!("order-failed-unladen"));
        }
        Load::Unladen => {}
    }
    match d.defect.warmth {
        Some(Warmth::Cold) if by_warmth => words.push(t!("order-failed-cold")),
        Some(Warmth::Warm) if by_warmth => words.push(t!("order-failed-warm")),
        _ => {}
    }
    words.join(" ")
}

fn retest_item(n: usize, failed: &FailedItem, item: Option<&Item>, d: &DefectOnOrder) -> RetestItem {
    let reading = reading_of(&d.readings, failed);
    let measure = item.and_then(Item::measure);
    let units: Vec<Unit> = measure.map(|m| m.units.clone()).unwrap_or_default();
    let read_in = reading.and_then(|r| r.value.as_ref()).map(|v| v.unit);
    let unit = read_in.or_else(|| units.first().copied());
    RetestItem {
        n,
        key: failed.item.clone(),
        position: failed.position.clone(),
        title: title(failed, item),
        todo: item.map(|i| i.todo.clone()).unwrap_or_default().to_string(),
        accept: item.map(|i| i.accept.clone()).unwrap_or_default().to_string(),
        caution: item.and_then(|i| i.caution.clone()).unwrap_or_default().to_string(),
        asks: item.map_or("", |i| i.asks.kind().as_str()),
        units: units.iter().map(|u| u.as_str()).collect(),
        limit: measure
            .zip(unit)
            .and_then(|(m, u)| m.limit_in_words(&d.defect.context(), u))
            .unwrap_or_default()
            .to_string(),
        was: reading.map(|r| answer_in_words(r, item)).unwrap_or_default(),
    }
}

/// “Thinnest brake pad, front left”.
pub fn title(failed: &FailedItem, item: Option<&Item>) -> String {
    let name = item.map_or(failed.item.as_str(), |i| i.title.here());
    match item.and_then(|i| i.position(&failed.position)).map(|p| p.title.here()) {
        Some(position) => format!("{name}, {position}"),
        None if failed.position.is_empty() => name.to_owned(),
        None => format!("{name}, {}", failed.position),
    }
}

pub fn reading_of<'a>(readings: &'a [Reading], failed: &FailedItem) -> Option<&'a Reading> {
    let position = Some(failed.position.as_str()).filter(|p| !p.is_empty());
    readings.iter().find(|r| r.is_at(&failed.item, position))
}

/// What was answered, with the figure as it was read.
pub fn answer_in_words(reading: &Reading, item: Option<&Item>) -> String {
    let asks = item.map(|i| i.asks.kind());
    let answer = match (&reading.value, reading.level) {
        (Some(value), _) => said(value),
        (None, Some(Level::Below)) => t!("order-answer-below"),
        (None, Some(Level::Between)) => t!("order-answer-between"),
        (None, Some(Level::Above)) => t!("order-answer-above"),
        (None, None) => match (asks, reading.outcome.as_str()) {
            (Some(Asked::Measure), "defect") => t!("order-answer-not-measured"),
            (Some(Asked::Function), "defect") => t!("order-answer-works-not"),
            _ => reading.outcome.here(),
        },
    };
    match &reading.correction {
        Some(c) => match &c.amount {
            Some(amount) => {
                t!("order-answer-corrected-amount", answer = answer, what = c.what, amount = amount)
            }
            None => t!("order-answer-corrected", answer = answer, what = c.what),
        },
        None => answer,
    }
}
