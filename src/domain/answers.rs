//! From answers as typed to readings, or to questions. Nothing is guessed: what cannot be understood is asked again,
//! by name, and a safety item left open is never taken for a pass.

mod answer;

use super::air::{COLDEST, HOTTEST};
use super::checklist::{Asks, Checklist, Stop};
use super::reading::{Before, Context, Question, RawAnswer, Reading};
use super::unit::{Hours, Measured, Quantity, Unit, in_words, parse_unit};
use answer::{Answer, cut, text};

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
                let sentence = format!("{} is answered twice. Keep one answer.", stop.title());
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
        let ask = |member: &str, sentence: String| Question {
            pointer: format!("/answers/{number}/{member}"),
            item: raw.item.as_deref().map(cut),
            position: raw.position.as_deref().map(cut),
            sentence: sentence.into(),
        };
        let Some(key) = text(raw.item.as_ref()) else {
            return Err(ask("item", "The answer names no item. Name the item it belongs to.".into()));
        };
        let position = text(raw.position.as_ref());
        if let Some(found) = self.stops.iter().enumerate().find(|(_, s)| s.is(key, position)) {
            return Ok(found);
        }
        let Some(item) = self.checklist.item(key) else {
            let sentence =
                format!("{:?} is not on this checklist. Take the item's key from the checklist.", cut(key));
            return Err(ask("item", sentence));
        };
        let known: Vec<&str> = item.positions.iter().map(|p| p.key.as_str()).collect();
        Err(match (position, known.is_empty()) {
            (Some(given), true) => {
                ask("position", format!("{} has no positions. Leave {:?} out.", item.title, cut(given)))
            }
            (None, false) => ask(
                "position",
                format!("{} is checked at {}. Say which one this is.", item.title, known.join(", ")),
            ),
            (Some(given), false) if !known.contains(&given) => ask(
                "position",
                format!("{} has no position {:?}. Known are: {}.", item.title, cut(given), known.join(", ")),
            ),
            _ => ask(
                "item",
                format!("{} did not fail, so it is not asked for here. Leave it out.", item.title),
            ),
        })
    }
}

fn unanswered(stop: &Stop<'_>, pointer: String) -> Question {
    let title = stop.title();
    let how = match &stop.item.asks {
        Asks::Condition | Asks::Function => "Look again and answer ok or defect",
        Asks::Level => "Say where the level is: below, between or above the marks",
        Asks::Measure(_) => "Measure it and give the figure; if it cannot be measured, answer defect",
    };
    let or = if stop.item.may_be_not_applicable { ", or not applicable" } else { "" };
    let safety = if stop.item.safety { " This is a safety item" } else { "" };
    let sentence = if safety.is_empty() {
        format!("{title} is not answered. {how}{or}.")
    } else {
        format!("{title} is not answered.{safety}: the machine cannot go out without it. {how}{or}.")
    };
    let place = stop.place();
    Question { pointer, item: Some(place.item), position: place.position, sentence: sentence.into() }
}

/// Hours that do not follow from the last ones are asked again.
pub fn hours_question(context: &Context, before: &Before) -> Option<Question> {
    let (now, last) = (context.engine_hours?, before.engine_hours?);
    if context.hours_confirmed {
        return None;
    }
    let sentence = if now < last {
        format!(
            "The hour meter shows {now}, but it showed {last} before. Read it again; if the meter is new, confirm the \
             hours."
        )
    } else if now.0 - last.0 > LIKELY_JUMP.0 {
        format!(
            "The hour meter shows {now}; last time it showed {last}. Read it again; if it is right, confirm the hours."
        )
    } else {
        return None;
    };
    Some(Question { pointer: "/engine_hours".into(), item: None, position: None, sentence: sentence.into() })
}

/// The temperature of the air as it was typed; in °C where no unit is said. Empty is not stated.
pub fn read_air(value: Option<&str>, unit: Option<&str>) -> Result<Option<Measured>, Question> {
    let Some(figure) = value.map(str::trim).filter(|v| !v.is_empty()) else { return Ok(None) };
    let ask = |pointer: &str, why: String| Question {
        pointer: pointer.to_owned(),
        item: None,
        position: None,
        sentence: format!("Air temperature: {why}").into(),
    };
    let unit = match unit.map(str::trim).filter(|u| !u.is_empty()) {
        Some(unit) => parse_unit(unit).map_err(|e| ask("/air_unit", e.to_string()))?,
        None => Unit::Celsius,
    };
    Measured::parse(figure, unit).map(Some).map_err(|e| ask("/air_temperature", e.to_string()))
}

/// An air temperature that cannot be true would explain away a leak.
fn air_question(context: &Context) -> Option<Question> {
    let air = context.air.as_ref()?;
    if air.unit.quantity() == Quantity::Temperature && (COLDEST..=HOTTEST).contains(&air.base) {
        return None;
    }
    let unit = if air.unit.quantity() == Quantity::Temperature { air.unit } else { Unit::Celsius };
    let sentence = format!(
        "An air temperature of {air} cannot be right; it lies between {} and {}. Read it again, or leave it out.",
        in_words(unit.from_base(COLDEST), unit),
        in_words(unit.from_base(HOTTEST), unit)
    );
    Some(Question {
        pointer: "/air_temperature".into(),
        item: None,
        position: None,
        sentence: sentence.into(),
    })
}

#[cfg(test)]
mod tests;
