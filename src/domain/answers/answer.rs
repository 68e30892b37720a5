//! One answer on its way to becoming a reading.

use super::unanswered;
use crate::domain::checklist::{Asks, Item, Measure, Side, Stop};
use crate::domain::reading::{Context, Correction, Level, Outcome, Question, RawAnswer, Reading};
use crate::domain::unit::{Figure, Measured, Unit, parse_unit};
use crate::words::Text;

const LONGEST_NOTE: usize = 1000;
const LONGEST_CORRECTION: usize = 200;
const LONGEST_WORD: usize = 60;

/// An answer with where it stands in the request and the stop of the walk it belongs to.
pub(super) struct Answer<'a> {
    pub(super) raw: &'a RawAnswer,
    pub(super) number: usize,
    pub(super) stop: &'a Stop<'a>,
}

impl Answer<'_> {
    pub(super) fn read(&self, context: &Context) -> Result<Reading, Vec<Question>> {
        let mut questions = self.check_texts();
        let outcome = gather(self.outcome(), &mut questions);
        let correction = gather(self.correction(), &mut questions);
        let level = gather(self.level(), &mut questions);
        let value = gather(self.value(), &mut questions);
        let (Some(stated), Some(correction), Some(level), Some(value)) = (outcome, correction, level, value)
        else {
            return Err(questions);
        };
        let outcome = self.settle(stated, level, value.as_ref(), context).and_then(|found| match found {
            Outcome::Ok if correction.is_some() => self.settle_corrected(),
            other => Ok(other),
        });
        let Some(outcome) = gather(outcome, &mut questions).filter(|_| questions.is_empty()) else {
            return Err(questions);
        };
        Ok(Reading {
            item: self.stop.item.key.clone(),
            position: self.stop.position.map(|p| p.key.clone()),
            outcome,
            level,
            value,
            correction,
            note: text(self.raw.note.as_ref()).map(str::to_owned),
        })
    }

    pub(super) fn question(&self, member: &str, sentence: Text) -> Question {
        let place = self.stop.place();
        Question {
            pointer: format!("/answers/{}/{member}", self.number),
            item: Some(place.item),
            position: place.position,
            sentence,
        }
    }

    /// The outcome follows from the level or the value; what the operator states can make it worse, never better.
    fn settle(
        &self,
        stated: Option<Outcome>,
        level: Option<Level>,
        value: Option<&Measured>,
        context: &Context,
    ) -> Result<Outcome, Question> {
        let item = self.item();
        let title = self.stop.title();
        let found = match (&item.asks, level, value) {
            (Asks::Level, Some(Level::Between), _) => Some(Outcome::Ok),
            (Asks::Level, Some(_), _) => Some(Outcome::Defect),
            (Asks::Measure(m), _, Some(v)) => {
                let bad = m.beyond(v.base, context, Side::Outside);
                Some(if bad { Outcome::Defect } else { Outcome::Ok })
            }
            _ => None,
        };
        match (stated, found) {
            (Some(Outcome::NotApplicable), None) if item.may_be_not_applicable => Ok(Outcome::NotApplicable),
            (Some(Outcome::NotApplicable), None) => {
                Err(self.question("outcome", said!("answers-cannot-leave-out", title = title)))
            }
            (Some(Outcome::NotApplicable), Some(_)) => {
                Err(self.question("outcome", said!("answers-not-applicable-and-read", title = title)))
            }
            (Some(Outcome::Corrected), Some(Outcome::Defect)) => Err(self.question(
                if level.is_some() { "level" } else { "value" },
                said!("answers-corrected-still-outside", title = title),
            )),
            (Some(Outcome::Corrected), _) if matches!(item.asks, Asks::Measure(_)) && value.is_none() => {
                Err(self.question("value", said!("answers-measure-again", title = title)))
            }
            (Some(Outcome::Corrected), _) => Ok(Outcome::Corrected),
            (Some(Outcome::Defect), _) | (_, Some(Outcome::Defect)) => Ok(Outcome::Defect),
            (Some(Outcome::Ok), None) => match &item.asks {
                Asks::Level => Err(self.question("level", said!("answers-give-level", title = title))),
                Asks::Measure(m) => {
                    let sentence = said!("answers-give-figure", title = title, units = units_in_words(m));
                    Err(self.question("value", sentence))
                }
                Asks::Condition | Asks::Function => Ok(Outcome::Ok),
            },
            (Some(Outcome::Ok) | None, Some(outcome)) => Ok(outcome),
            (None, None) => Err(unanswered(self.stop, format!("/answers/{}", self.number))),
        }
    }

    /// Something was put right, and what was read afterwards is fine.
    fn settle_corrected(&self) -> Result<Outcome, Question> {
        if self.item().may_be_corrected {
            return Ok(Outcome::Corrected);
        }
        let sentence = said!("answers-not-put-right-note", title = self.stop.title());
        Err(self.question("correction", sentence))
    }

    fn outcome(&self) -> Result<Option<Outcome>, Question> {
        let Some(word) = text(self.raw.outcome.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        match word.parse() {
            Ok(Outcome::Corrected) if !self.item().may_be_corrected => {
                Err(self.question("outcome", said!("answers-not-put-right", title = title)))
            }
            Ok(outcome) => Ok(Some(outcome)),
            Err(_) => {
                let sentence = said!("answers-no-answer", title = title, given = quoted(word));
                Err(self.question("outcome", sentence))
            }
        }
    }

    fn level(&self) -> Result<Option<Level>, Question> {
        let Some(word) = text(self.raw.level.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        if !matches!(self.item().asks, Asks::Level) {
            return Err(self.question("level", said!("answers-no-marks", title = title)));
        }
        word.parse().map(Some).map_err(|_| {
            self.question("level", said!("answers-no-level", title = title, given = quoted(word)))
        })
    }

    fn value(&self) -> Result<Option<Measured>, Question> {
        let Some(figure) = text(self.raw.value.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        let Some(measure) = self.item().measure() else {
            return Err(self.question("value", said!("answers-not-measured", title = title)));
        };
        let unit = self.unit(self.raw.unit.as_ref(), "unit", measure)?;
        let value =
            Measured::parse(figure, unit).map_err(|e| self.question("value", of(&title, &e.said())))?;
        let (least, most) = measure.plausible;
        if !(least..=most).contains(&value.base) {
            let sentence = said!(
                "answers-not-likely",
                title = title,
                value = value,
                least = Figure(measure.in_unit(least, unit)),
                most = Figure(measure.in_unit(most, unit))
            );
            return Err(self.question("value", sentence));
        }
        Ok(Some(value))
    }

    fn unit(&self, given: Option<&String>, member: &str, measure: &Measure) -> Result<Unit, Question> {
        let title = self.stop.title();
        let units = || units_in_words(measure);
        let Some(word) = text(given) else {
            if let [only] = measure.units[..] {
                return Ok(only);
            }
            return Err(self.question(member, said!("answers-give-unit", title = title, units = units())));
        };
        let unit = parse_unit(word).map_err(|e| self.question(member, of(&title, &e.said())))?;
        if measure.units.contains(&unit) {
            return Ok(unit);
        }
        let sentence = said!("answers-other-unit", title = title, units = units(), unit = unit.as_str());
        Err(self.question(member, sentence))
    }

    fn correction(&self) -> Result<Option<Correction>, Question> {
        let title = self.stop.title();
        // Where nothing may be corrected, that is said first.
        let corrected = self.item().may_be_corrected
            && text(self.raw.outcome.as_ref()) == Some(Outcome::Corrected.as_str());
        let what = text(self.raw.correction.as_ref());
        let amount = self.amount()?;
        match (corrected, what) {
            (true, None) => {
                Err(self.question("correction", said!("answers-say-what-you-did", title = title)))
            }
            (_, Some(what)) => Ok(Some(Correction { what: what.to_owned(), amount })),
            (false, None) if amount.is_some() => {
                Err(self.question("correction", said!("answers-amount-alone", title = title)))
            }
            (false, None) => Ok(None),
        }
    }

    /// Any unit of the right quantity will do: people top up with what the bottle says.
    fn amount(&self) -> Result<Option<Measured>, Question> {
        let Some(figure) = text(self.raw.amount.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        let Some(usual) = self.item().corrected_unit else {
            return Err(self.question("amount", said!("answers-no-amount", title = title)));
        };
        let unit = match text(self.raw.amount_unit.as_ref()) {
            None => usual,
            Some(word) => {
                parse_unit(word).map_err(|e| self.question("amount_unit", of(&title, &e.said())))?
            }
        };
        if unit.quantity() != usual.quantity() {
            let sentence = said!(
                "answers-amount-unit",
                title = title,
                quantity = usual.quantity(),
                unit = unit.as_str()
            );
            return Err(self.question("amount_unit", sentence));
        }
        let amount =
            Measured::parse(figure, unit).map_err(|e| self.question("amount", of(&title, &e.said())))?;
        // A thousand litres or metres is no top-up at a check, whatever the fluid.
        if amount.base <= 0.0 || amount.base > 1000.0 {
            let sentence = said!("answers-amount-not-likely", title = title, amount = amount);
            return Err(self.question("amount", sentence));
        }
        Ok(Some(amount))
    }

    fn check_texts(&self) -> Vec<Question> {
        let texts = [
            ("note", "answers-member-note", &self.raw.note, LONGEST_NOTE),
            ("correction", "answers-member-correction", &self.raw.correction, LONGEST_CORRECTION),
            ("outcome", "answers-member-outcome", &self.raw.outcome, LONGEST_WORD),
            ("level", "answers-member-level", &self.raw.level, LONGEST_WORD),
            ("value", "answers-member-value", &self.raw.value, LONGEST_WORD),
            ("unit", "answers-member-unit", &self.raw.unit, LONGEST_WORD),
            ("amount", "answers-member-amount", &self.raw.amount, LONGEST_WORD),
            ("amount_unit", "answers-member-amount-unit", &self.raw.amount_unit, LONGEST_WORD),
        ];
        let title = self.stop.title();
        let mut questions = Vec::new();
        for (member, words, given, longest) in texts {
            let Some(given) = given else { continue };
            let words = said!(words);
            if given.chars().count() > longest {
                let sentence = said!("answers-too-long", title = title, member = words, most = longest);
                questions.push(self.question(member, sentence));
            } else if given.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
                let sentence = said!("answers-odd-signs", title = title, member = words);
                questions.push(self.question(member, sentence));
            }
        }
        questions
    }

    fn item(&self) -> &Item {
        self.stop.item
    }
}

/// Keeps the question and goes on, so that everything that must be mended is asked at once.
fn gather<T>(found: Result<T, Question>, questions: &mut Vec<Question>) -> Option<T> {
    found.map_err(|q| questions.push(q)).ok()
}

/// An empty field of a page is no answer.
pub(super) fn text(given: Option<&String>) -> Option<&str> {
    given.map(|t| t.trim()).filter(|t| !t.is_empty())
}

/// What was sent, short, in quotes, with everything that cannot be seen made visible.
pub(super) fn quoted(given: &str) -> String {
    format!("{:?}", cut(given))
}

/// What was sent, short enough to be read back in a sentence.
pub(super) fn cut(given: &str) -> String {
    given.trim().chars().filter(|c| !c.is_control()).take(LONGEST_WORD).collect()
}

fn units_in_words(measure: &Measure) -> Text {
    let names: Vec<&str> = measure.units.iter().map(|u| u.as_str()).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => {
            said!("answers-or", first = rest.join(", "), last = last)
        }
        _ => Text::typed(names.join("")),
    }
}

/// "Tyre pressure: …"
fn of(title: &Text, said: &Text) -> Text {
    Text::joined([title, said], ": ")
}
