//! From answers as typed to readings, or to questions. Nothing is guessed: what cannot be understood is asked again,
//! by name, and a safety item left open is never taken for a pass.

mod answer;

use super::air::{COLDEST, HOTTEST};
use super::checklist::{Asks, Checklist, Stop};
use super::reading::{Before, Context, Question, RawAnswer, Reading};
use super::unit::{Figure, Hours, MeasureError, Measured, Quantity, Unit, in_words, parse_unit};
use crate::words::Text;
use answer::{Answer, cut, quoted, text};

/// An item and, where it has several, its position.
pub type ItemAt = (String, Option<String>);

/// Engine hours that jump further than this since the last reading are more likely a digit too many.
const LIKELY_JUMP: Hours = Hours(10_000);

/// Reads a whole check. The readings come back in walking order.
pub fn read(
    checklist: &Checklist,
    context: &Context,
    answers: &[RawAnswer],
    before: &Before,
) -> Result<Vec<Reading>, Vec<Question>> {
    let first = hours_question(context, before).into_iter().chain(air_question(context));
    Sheet { stops: checklist.walk(), checklist, context }.read(answers, first.collect())
}

/// Reads a retest: only the items that failed are asked for, and nothing else is taken.
pub fn read_retest(
    checklist: &Checklist,
    context: &Context,
    answers: &[RawAnswer],
    failed: &[ItemAt],
) -> Result<Vec<Reading>, Vec<Question>> {
    let mut stops = checklist.walk();
    stops.retain(|s| failed.iter().any(|(item, position)| s.is(item, position.as_deref())));
    Sheet { stops, checklist, context }.read(answers, air_question(context).into_iter().collect())
}

/// The stops that must be answered.
struct Sheet<'a> {
    checklist: &'a Checklist,
    context: &'a Context,
    stops: Vec<Stop<'a>>,
}

impl Sheet<'_> {
    fn read(&self, answers: &[RawAnswer], first: Vec<Question>) -> Result<Vec<Reading>, Vec<Question>> {
        let mut questions = first;
        let mut given: Vec<Option<usize>> = vec![None; self.stops.len()];
        let mut readings: Vec<(usize, Reading)> = Vec::new();
        for (number, raw) in answers.iter().enumerate() {
            let (at, stop) = match self.find(raw, number) {
                Ok(found) => found,
                Err(q) => {
                    questions.push(q);
                    continue;
                }
            };
            if given[at].is_some() {
                let sentence = said!("answers-twice", title = stop.title());
                questions.push(Answer { raw, number, stop }.question("item", sentence));
                continue;
            }
            given[at] = Some(number);
            match (Answer { raw, number, stop }).read(self.context) {
                Ok(reading) => readings.push((stop.index, reading)),
                Err(q) => questions.extend(q),
            }
        }
        let open = self.stops.iter().zip(&given).filter(|(_, g)| g.is_none());
        questions.extend(open.map(|(stop, _)| unanswered(stop, "/answers".into())));
        if !questions.is_empty() {
            return Err(questions);
        }
        readings.sort_by_key(|(index, _)| *index);
        Ok(readings.into_iter().map(|(_, r)| r).collect())
    }

    fn find(&self, raw: &RawAnswer, number: usize) -> Result<(usize, &Stop<'_>), Question> {
        let ask = |member: &str, sentence: Text| Question {
            pointer: format!("/answers/{number}/{member}"),
            item: raw.item.as_deref().map(cut),
            position: raw.position.as_deref().map(cut),
            sentence,
        };
        let Some(key) = text(raw.item.as_ref()) else {
            return Err(ask("item", said!("answers-names-no-item")));
        };
        let position = text(raw.position.as_ref());
        if let Some(found) = self.stops.iter().enumerate().find(|(_, s)| s.is(key, position)) {
            return Ok(found);
        }
        let Some(item) = self.checklist.item(key) else {
            return Err(ask("item", said!("answers-not-on-list", given = quoted(key))));
        };
        let known: Vec<&str> = item.positions.iter().map(|p| p.key.as_str()).collect();
        let (title, all) = (&item.title, known.join(", "));
        Err(match (position, known.is_empty()) {
            (Some(given), true) => {
                ask("position", said!("answers-no-positions", title = title, given = quoted(given)))
            }
            (None, false) => ask("position", said!("answers-which-position", title = title, known = all)),
            (Some(given), false) if !known.contains(&given) => ask(
                "position",
                said!("answers-no-such-position", title = title, given = quoted(given), known = all),
            ),
            _ => ask("item", said!("answers-did-not-fail", title = title)),
        })
    }
}

fn unanswered(stop: &Stop<'_>, pointer: String) -> Question {
    let how = match (&stop.item.asks, stop.item.may_be_not_applicable) {
        (Asks::Condition | Asks::Function, false) => said!("answers-look"),
        (Asks::Condition | Asks::Function, true) => said!("answers-look-or-not"),
        (Asks::Level, false) => said!("answers-say-level"),
        (Asks::Level, true) => said!("answers-say-level-or-not"),
        (Asks::Measure(_), false) => said!("answers-measure"),
        (Asks::Measure(_), true) => said!("answers-measure-or-not"),
    };
    let key = if stop.item.safety { "answers-open-safety" } else { "answers-open" };
    let place = stop.place();
    let sentence = said!(key, title = stop.title(), how = how);
    Question { pointer, item: Some(place.item), position: place.position, sentence }
}

/// Hours that do not follow from the last ones are asked again.
pub fn hours_question(context: &Context, before: &Before) -> Option<Question> {
    let (now, last) = (context.engine_hours?, before.engine_hours?);
    if context.hours_confirmed {
        return None;
    }
    let sentence = if now < last {
        said!("answers-hours-back", now = now, last = last)
    } else if now.0 - last.0 > LIKELY_JUMP.0 {
        said!("answers-hours-jump", now = now, last = last)
    } else {
        return None;
    };
    Some(Question { pointer: "/engine_hours".into(), item: None, position: None, sentence })
}

/// The temperature of the air as it was typed; in °C where no unit is said. Empty is not stated.
pub fn read_air(value: Option<&str>, unit: Option<&str>) -> Result<Option<Measured>, Question> {
    let Some(figure) = value.map(str::trim).filter(|v| !v.is_empty()) else { return Ok(None) };
    let ask = |pointer: &str, why: &MeasureError| Question {
        pointer: pointer.to_owned(),
        item: None,
        position: None,
        sentence: said!("answers-air", why = why),
    };
    let unit = match unit.map(str::trim).filter(|u| !u.is_empty()) {
        Some(unit) => parse_unit(unit).map_err(|e| ask("/air_unit", &e))?,
        None => Unit::Celsius,
    };
    Measured::parse(figure, unit).map(Some).map_err(|e| ask("/air_temperature", &e))
}

/// An air temperature that cannot be true would explain away a leak.
fn air_question(context: &Context) -> Option<Question> {
    let air = context.air.as_ref()?;
    if air.unit.quantity() == Quantity::Temperature && (COLDEST..=HOTTEST).contains(&air.base) {
        return None;
    }
    let unit = if air.unit.quantity() == Quantity::Temperature { air.unit } else { Unit::Celsius };
    let sentence = said!(
        "answers-air-not-likely",
        air = air,
        least = Figure(in_words(unit.from_base(COLDEST), unit)),
        most = Figure(in_words(unit.from_base(HOTTEST), unit))
    );
    Some(Question { pointer: "/air_temperature".into(), item: None, position: None, sentence })
}

#[cfg(test)]
mod tests;
