//! The check form as it is shown: the walk zone by zone, with what was typed and what is asked again.

use askama::Template;
use chrono::{DateTime, SecondsFormat, Utc};

use super::filled::{MEASURED, field_of};
use crate::domain::air::cold_morning;
use crate::domain::checklist::{Asked, Asks, Load, Measure, Picture, Stop, Warmth};
use crate::domain::reading::{Level, Outcome};
use crate::domain::refusal::Problem;
use crate::domain::unit::{Measured, Quantity, Unit};
use crate::domain::watched::Watched;
use crate::http::pages::form::Form;
use crate::http::pages::frame::Frame;
use crate::http::pages::gate::capital;
use crate::http::pages::markup;
use crate::http::pages::shown::{When, when};
use crate::http::pages::typed::Shown;
use crate::words::here;
use crate::workflow::{CheckForm, KnownDefect};

#[derive(Template)]
#[template(path = "check.html", config = ".askama.toml")]
pub struct CheckPage {
    page: Frame,
    problems: Vec<Shown>,
    /// Photos were sent with a form that comes back.
    photos_again: bool,
    href: String,
    unit_number: String,
    title: String,
    check: String,
    checklist: String,
    /// When the page was first made; a form that comes back keeps it.
    begun: String,
    held: bool,
    /// The first step: what is being watched.
    watched: Vec<Watch>,
    watched_wrong: Vec<String>,
    /// Empty where nothing depends on it.
    warmths: Vec<Answer>,
    air: Option<Air>,
    /// Open defects that belong to no item of this walk.
    known: Vec<String>,
    loads: Vec<Answer>,
    load_wrong: String,
    hours: String,
    last_hours: String,
    hours_wrong: String,
    ask_to_confirm: bool,
    confirmed: bool,
    zones: Vec<Zone>,
    note: String,
    note_wrong: String,
}

struct Watch {
    id: String,
    what: String,
    instruction: String,
    since: When,
    /// “yesterday 07:10”, when somebody said so already.
    said_gone: String,
    answers: Vec<Answer>,
    wrong: String,
    note: String,
    note_wrong: String,
}

struct Air {
    value: String,
    units: Vec<Choice>,
    wrong: String,
    /// Why a cold morning reads low.
    explained: String,
}

struct Zone {
    n: usize,
    title: String,
    stand: String,
    groups: Vec<Group>,
}

/// Stops made at the same place; an item without positions is a group of its own.
struct Group {
    /// Empty for an item without positions.
    position: String,
    items: Vec<Item>,
}

struct Item {
    n: usize,
    key: String,
    position: String,
    asks: Asked,
    title: String,
    todo: String,
    accept: String,
    caution: String,
    picture: Option<Picture>,
    /// Already reported here and still open.
    known: Vec<String>,
    wrong: Vec<String>,
    answers: Vec<Answer>,
    figure: Option<Figure>,
    put_right: Option<PutRight>,
    note: String,
}

struct Answer {
    value: &'static str,
    words: String,
    chosen: bool,
}

struct Figure {
    value: String,
    wrong: bool,
    units: Vec<Choice>,
    limits: Vec<String>,
    /// What the limits are written in; what is typed in another is read back in this one as well.
    limit_unit: &'static str,
    last: String,
    /// Something stands in the folded note.
    noted: bool,
}

struct PutRight {
    what: String,
    /// Empty when it takes no amount.
    units: Vec<Choice>,
    amount: String,
}

struct Choice {
    unit: &'static str,
    chosen: bool,
}

/// The page, with what was `sent` before and why it came back.
pub fn check_page(
    page: Frame,
    form: &CheckForm,
    sent: &Form,
    problems: Vec<Problem>,
    now: DateTime<Utc>,
) -> CheckPage {
    let list = &form.checklist;
    let problems: Vec<Shown> = problems
        .into_iter()
        .map(|p| {
            let target = field_of(&p.pointer, list, sent);
            // By its name, which the form that was sent does not know.
            let open = form.open_defects.iter().find(|d| d.watched && target == format!("w-{}", d.id));
            let sentence = match open {
                Some(d) if p.pointer.ends_with("/now") => t!("script-look-at-watched", what = d.what),
                _ => p.sentence.to_string(),
            };
            Shown { target, sentence, of_all: p.pointer.is_empty() }
        })
        .collect();
    let walk = list.walk();
    let at = |s: &Stop<'_>, item: &str, position: &str| s.is(item, Some(position).filter(|p| !p.is_empty()));
    let known = form
        .open_defects
        .iter()
        .filter(|d| !d.watched && !walk.iter().any(|s| at(s, &d.item, &d.position)))
        .map(|d| d.what.to_string())
        .collect();
    let (load, begun) = (sent.text("load"), sent.text("begun"));
    let wrong =
        |id: &str| problems.iter().find(|p| p.target == id).map(|p| p.sentence.clone()).unwrap_or_default();
    let hours_wrong = wrong("hours");
    let filler = Filler { form, sent, problems: &problems };
    let zones = walk
        .chunk_by(|a, b| a.zone.key == b.zone.key)
        .zip(1..)
        .map(|(stops, n)| filler.zone(n, stops))
        .collect();
    CheckPage {
        page,
        photos_again: !sent.files.is_empty(),
        href: format!("/machines/{}", form.machine.id),
        unit_number: form.machine.unit_number.clone(),
        title: list.title.to_string(),
        check: form.id.to_string(),
        checklist: form.checklist_id.to_string(),
        begun: if begun.is_empty() {
            form.made_at.to_rfc3339_opts(SecondsFormat::Millis, true)
        } else {
            begun.to_owned()
        },
        held: form.held,
        watched: form
            .open_defects
            .iter()
            .filter(|d| d.watched)
            .map(|d| watch(d, sent, wrong, &form.zone, now))
            .collect(),
        watched_wrong: problems
            .iter()
            .filter(|p| p.target == "watched")
            .map(|p| p.sentence.clone())
            .collect(),
        warmths: if list.asks_warmth() { warmths(sent) } else { Vec::new() },
        air: cold_morning(list, form.altitude_m.and_then(|m| i32::try_from(m).ok())).map(|explained| Air {
            value: sent.text("air").to_owned(),
            units: choices(
                &[Unit::Celsius, Unit::Fahrenheit],
                sent.text("air_unit").parse().ok().or(Some(own_temperature(form))),
            ),
            wrong: wrong("air"),
            explained: explained.to_string(),
        }),
        known,
        loads: [(Load::Unladen, t!("check-answer-unladen")), (Load::Laden, t!("check-answer-laden"))]
            .map(|(l, words)| Answer { value: l.as_str(), words, chosen: load == l.as_str() })
            .into(),
        load_wrong: wrong("load"),
        hours: sent.text("hours").to_owned(),
        last_hours: form.last_hours.map(|h| here().figure(&h.to_string())).unwrap_or_default(),
        confirmed: sent.has("hours_confirmed"),
        ask_to_confirm: sent.has("hours_confirmed") || !hours_wrong.is_empty(),
        hours_wrong,
        zones,
        note: sent.text("note").to_owned(),
        note_wrong: wrong("note"),
        problems,
    }
}

fn watch(
    d: &KnownDefect,
    sent: &Form,
    wrong: impl Fn(&str) -> String,
    zone: &str,
    now: DateTime<Utc>,
) -> Watch {
    let chosen = sent.text(&format!("w.{}", d.id));
    let offered = [
        (Watched::Same, t!("check-answer-same")),
        (Watched::Worse, t!("check-answer-worse")),
        (Watched::Gone, t!("check-answer-gone")),
    ];
    Watch {
        id: d.id.to_string(),
        what: d.what.to_string(),
        instruction: d.instruction.to_string(),
        since: when(d.found_at, zone, now),
        said_gone: d.said_gone_at.map(|at| when(at, zone, now).words).unwrap_or_default(),
        answers: offered
            .map(|(w, words)| Answer { value: w.as_str(), words, chosen: chosen == w.as_str() })
            .into(),
        wrong: wrong(&format!("w-{}", d.id)),
        note: sent.text(&format!("w.{}.note", d.id)).to_owned(),
        note_wrong: wrong(&format!("w-{}-note", d.id)),
    }
}

fn warmths(sent: &Form) -> Vec<Answer> {
    let chosen = sent.text("warmth");
    [(Warmth::Cold, t!("check-answer-cold")), (Warmth::Warm, t!("check-answer-warm"))]
        .map(|(w, words)| Answer { value: w.as_str(), words, chosen: chosen == w.as_str() })
        .into()
}

/// What every item needs to be shown.
struct Filler<'a> {
    form: &'a CheckForm,
    sent: &'a Form,
    problems: &'a [Shown],
}

impl Filler<'_> {
    fn zone(&self, n: usize, stops: &[Stop<'_>]) -> Zone {
        // A new place, or the next item that has none.
        let together = |a: &Stop<'_>, b: &Stop<'_>| {
            a.position.is_some() && a.position.map(|p| &p.key) == b.position.map(|p| &p.key)
        };
        let groups = stops
            .chunk_by(together)
            .map(|group| Group {
                position: group[0].position.map(|p| capital(p.title.here())).unwrap_or_default(),
                items: group.iter().map(|s| self.item(s)).collect(),
            })
            .collect();
        Zone { n, title: stops[0].zone.title.to_string(), stand: stops[0].zone.stand.to_string(), groups }
    }

    fn item(&self, stop: &Stop<'_>) -> Item {
        let n = stop.index;
        let item = stop.item;
        let position = stop.position.map_or("", |p| p.key.as_str());
        let ours = format!("a{n}-");
        let wrong = self.problems.iter().filter(|p| p.target.starts_with(&ours));
        let known = self.form.open_defects.iter().filter(|d| d.item == item.key && d.position == position);
        Item {
            n,
            key: item.key.clone(),
            position: position.to_owned(),
            asks: item.asks.kind(),
            title: item.title.to_string(),
            todo: item.todo.to_string(),
            accept: item.accept.to_string(),
            caution: item.caution.as_ref().map(ToString::to_string).unwrap_or_default(),
            // Shown where the walk comes to the item first, not again at each wheel.
            picture: item.picture.filter(|_| item.positions.first().is_none_or(|p| p.key == position)),
            known: known.map(|d| d.what.to_string()).collect(),
            wrong: wrong.map(|p| p.sentence.clone()).collect(),
            answers: self.answers(stop),
            figure: item.measure().map(|m| self.figure(stop, m)),
            put_right: item.may_be_corrected.then(|| self.put_right(n, item.corrected_unit)),
            note: self.typed(n, "note").to_owned(),
        }
    }

    fn answers(&self, stop: &Stop<'_>) -> Vec<Answer> {
        let outcome = |o: Outcome| o.as_str();
        let level = |l: Level| l.as_str();
        // Value, and key of its words.
        let mut offered: Vec<(&'static str, &'static str)> = match stop.item.asks {
            Asks::Condition => {
                vec![
                    (outcome(Outcome::Ok), "check-answer-ok"),
                    (outcome(Outcome::Defect), "check-answer-defect"),
                ]
            }
            Asks::Function => vec![
                (outcome(Outcome::Ok), "check-answer-works"),
                (outcome(Outcome::Defect), "check-answer-works-not"),
            ],
            Asks::Level => vec![
                (level(Level::Between), "check-answer-between"),
                (level(Level::Below), "check-answer-below"),
                (level(Level::Above), "check-answer-above"),
            ],
            Asks::Measure(_) => {
                vec![
                    (MEASURED, "check-answer-measured"),
                    (outcome(Outcome::Defect), "check-answer-cannot-measure"),
                ]
            }
        };
        if stop.item.may_be_corrected {
            offered.push((outcome(Outcome::Corrected), "check-answer-put-right"));
        }
        if matches!(stop.item.asks, Asks::Level) {
            offered.push((outcome(Outcome::Defect), "check-answer-cannot-read"));
        }
        if stop.item.may_be_not_applicable {
            offered.push((outcome(Outcome::NotApplicable), "check-answer-not-fitted"));
        }
        let chosen = self.typed(stop.index, "outcome");
        offered
            .into_iter()
            .map(|(value, words)| Answer {
                value,
                words: t!(words),
                chosen: chosen == value || (chosen.is_empty() && value == MEASURED),
            })
            .collect()
    }

    fn figure(&self, stop: &Stop<'_>, measure: &Measure) -> Figure {
        let n = stop.index;
        let position = stop.position.map_or("", |p| p.key.as_str());
        let last = self.form.last_values.iter().find(|(i, p, ..)| *i == stop.item.key && p == position);
        // In the person's own unit, else as it was read last time, else in the usual one.
        let own = self.form.units.zip(measure.units.first()).map(|(system, u)| system.unit(u.quantity()));
        let usual = own
            .filter(|u| measure.units.contains(u))
            .or_else(|| last.and_then(|(.., u)| u.parse().ok()))
            .or_else(|| measure.units.first().copied());
        let typed: Option<Unit> = self.typed(n, "unit").parse().ok();
        let chosen = typed.or(usual);
        Figure {
            value: self.typed(n, "value").to_owned(),
            wrong: self.problems.iter().any(|p| p.target == format!("a{n}-value")),
            units: choices(&measure.units, chosen),
            limits: limits(measure, usual),
            limit_unit: usual.map(Unit::as_str).unwrap_or_default(),
            last: last.map(|(_, _, value, unit)| last_in(value, unit, usual)).unwrap_or_default(),
            noted: !self.typed(n, "note").is_empty(),
        }
    }

    fn put_right(&self, n: usize, usual: Option<Unit>) -> PutRight {
        let typed: Option<Unit> = self.typed(n, "amount_unit").parse().ok();
        let units: Vec<Unit> = usual.map_or(Vec::new(), |u| {
            Unit::ALL.iter().copied().filter(|o| o.quantity() == u.quantity()).collect()
        });
        PutRight {
            what: self.typed(n, "correction").to_owned(),
            units: choices(&units, typed.or(usual)),
            amount: self.typed(n, "amount").to_owned(),
        }
    }

    fn typed(&self, n: usize, name: &str) -> &str {
        self.sent.text(&format!("a.{n}.{name}"))
    }
}

fn own_temperature(form: &CheckForm) -> Unit {
    form.units.map_or(Unit::Celsius, |system| system.unit(Quantity::Temperature))
}

/// The load may not be known yet, so both limits stand beside the field where they differ.
fn limits(measure: &Measure, unit: Option<Unit>) -> Vec<String> {
    let Some(unit) = unit else { return Vec::new() };
    let mut limits: Vec<String> =
        Load::ALL.iter().filter_map(|load| Some(measure.limit_in_words(*load, unit)?.to_string())).collect();
    limits.dedup();
    limits
}

/// What was read last time, in the unit that the figure is asked in.
fn last_in(value: &str, unit: &str, asked: Option<Unit>) -> String {
    let read = unit.parse().ok().and_then(|unit| Measured::parse(value, unit).ok());
    match (read, asked) {
        (Some(read), Some(asked)) => here().figure(&read.shown_in(asked).to_string()),
        _ => format!("{} {unit}", here().figure(value)),
    }
}

fn choices(units: &[Unit], chosen: Option<Unit>) -> Vec<Choice> {
    units.iter().map(|u| Choice { unit: u.as_str(), chosen: Some(*u) == chosen }).collect()
}
