//! One answer on its way to becoming a reading.

use super::unanswered;
use crate::domain::checklist::{Asks, Item, Measure, Side, Stop};
use crate::domain::reading::{Context, Correction, Level, Outcome, Question, RawAnswer, Reading};
use crate::domain::unit::{Measured, Unit, in_words, parse_unit};

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

    pub(super) fn question(&self, member: &str, sentence: String) -> Question {
        let place = self.stop.place();
        Question {
            pointer: format!("/answers/{}/{member}", self.number),
            item: Some(place.item),
            position: place.position,
            sentence: sentence.into(),
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
            (Some(Outcome::NotApplicable), None) => Err(self.question(
                "outcome",
                format!("{title} cannot be left out on this machine. Check it and answer ok or defect."),
            )),
            (Some(Outcome::NotApplicable), Some(_)) => Err(self.question(
                "outcome",
                format!("{title} is answered not applicable and read as well. Keep one of the two."),
            )),
            (Some(Outcome::Corrected), Some(Outcome::Defect)) => Err(self.question(
                if level.is_some() { "level" } else { "value" },
                format!(
                    "{title} is answered corrected, but what was read is still outside. Give what you read after \
                     putting it right, or answer defect."
                ),
            )),
            (Some(Outcome::Corrected), _) if matches!(item.asks, Asks::Measure(_)) && value.is_none() => Err(self
                .question("value", format!("{title} was corrected. Measure it again and give the new figure."))),
            (Some(Outcome::Corrected), _) => Ok(Outcome::Corrected),
            (Some(Outcome::Defect), _) | (_, Some(Outcome::Defect)) => Ok(Outcome::Defect),
            (Some(Outcome::Ok), None) => match &item.asks {
                Asks::Level => Err(self.question(
                    "level",
                    format!("{title}: say where the level is: below, between or above the marks."),
                )),
                Asks::Measure(m) => Err(self.question(
                    "value",
                    format!("{title}: give the figure you read, in {}.", units_in_words(m)),
                )),
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
        let sentence =
            format!("{} cannot be put right at the check. Say what you saw in the note.", self.stop.title());
        Err(self.question("correction", sentence))
    }

    fn outcome(&self) -> Result<Option<Outcome>, Question> {
        let Some(word) = text(self.raw.outcome.as_ref()) else { return Ok(None) };
        match word.parse() {
            Ok(Outcome::Corrected) if !self.item().may_be_corrected => Err(self.question(
                "outcome",
                format!("{} cannot be put right at the check. Answer ok or defect.", self.stop.title()),
            )),
            Ok(outcome) => Ok(Some(outcome)),
            Err(_) => Err(self.question(
                "outcome",
                format!(
                    "{}: {:?} is not an answer. Answer ok, defect, not applicable or corrected.",
                    self.stop.title(),
                    cut(word)
                ),
            )),
        }
    }

    fn level(&self) -> Result<Option<Level>, Question> {
        let Some(word) = text(self.raw.level.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        if !matches!(self.item().asks, Asks::Level) {
            return Err(self.question("level", format!("{title} has no marks. Leave the level out.")));
        }
        word.parse().map(Some).map_err(|_| {
            let sentence = format!("{title}: {:?} is not a level. Say below, between or above.", cut(word));
            self.question("level", sentence)
        })
    }

    fn value(&self) -> Result<Option<Measured>, Question> {
        let Some(figure) = text(self.raw.value.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        let Some(measure) = self.item().measure() else {
            return Err(self.question("value", format!("{title} is not measured. Leave the figure out.")));
        };
        let unit = self.unit(self.raw.unit.as_ref(), "unit", measure)?;
        let value =
            Measured::parse(figure, unit).map_err(|e| self.question("value", format!("{title}: {e}")))?;
        let (least, most) = measure.plausible;
        if !(least..=most).contains(&value.base) {
            let sentence = format!(
                "{title}: {value} cannot be right; it lies between {} and {}. Read the gauge again and check the \
                 unit.",
                in_words(unit.from_base(least), unit),
                in_words(unit.from_base(most), unit)
            );
            return Err(self.question("value", sentence));
        }
        Ok(Some(value))
    }

    fn unit(&self, given: Option<&String>, member: &str, measure: &Measure) -> Result<Unit, Question> {
        let title = self.stop.title();
        let Some(word) = text(given) else {
            if let [only] = measure.units[..] {
                return Ok(only);
            }
            let sentence = format!("{title}: give the unit of the figure: {}.", units_in_words(measure));
            return Err(self.question(member, sentence));
        };
        let unit = parse_unit(word).map_err(|e| self.question(member, format!("{title}: {e}")))?;
        if measure.units.contains(&unit) {
            return Ok(unit);
        }
        let sentence = format!("{title} is measured in {}, not in {unit}.", units_in_words(measure));
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
            (true, None) => Err(self.question(
                "correction",
                format!("{title} is answered corrected. Say what you did, for instance \"topped up\"."),
            )),
            (_, Some(what)) => Ok(Some(Correction { what: what.to_owned(), amount })),
            (false, None) if amount.is_some() => Err(self.question(
                "correction",
                format!("{title}: an amount is given. Say what you did with it, and answer corrected."),
            )),
            (false, None) => Ok(None),
        }
    }

    /// Any unit of the right quantity will do: people top up with what the bottle says.
    fn amount(&self) -> Result<Option<Measured>, Question> {
        let Some(figure) = text(self.raw.amount.as_ref()) else { return Ok(None) };
        let title = self.stop.title();
        let Some(usual) = self.item().corrected_unit else {
            return Err(self.question("amount", format!("{title} takes no amount. Leave the figure out.")));
        };
        let unit = match text(self.raw.amount_unit.as_ref()) {
            None => usual,
            Some(word) => {
                parse_unit(word).map_err(|e| self.question("amount_unit", format!("{title}: {e}")))?
            }
        };
        if unit.quantity() != usual.quantity() {
            let sentence = format!("{title}: the amount is a {}, so it is not in {unit}.", usual.quantity());
            return Err(self.question("amount_unit", sentence));
        }
        let amount =
            Measured::parse(figure, unit).map_err(|e| self.question("amount", format!("{title}: {e}")))?;
        // A thousand litres or metres is no top-up at a check, whatever the fluid.
        if amount.base <= 0.0 || amount.base > 1000.0 {
            let sentence =
                format!("{title}: {amount} cannot be right. Give how much you put in or took out.");
            return Err(self.question("amount", sentence));
        }
        Ok(Some(amount))
    }

    fn check_texts(&self) -> Vec<Question> {
        let texts = [
            ("note", &self.raw.note, LONGEST_NOTE),
            ("correction", &self.raw.correction, LONGEST_CORRECTION),
            ("outcome", &self.raw.outcome, LONGEST_WORD),
            ("level", &self.raw.level, LONGEST_WORD),
            ("value", &self.raw.value, LONGEST_WORD),
            ("unit", &self.raw.unit, LONGEST_WORD),
            ("amount", &self.raw.amount, LONGEST_WORD),
            ("amount_unit", &self.raw.amount_unit, LONGEST_WORD),
        ];
        let title = self.stop.title();
        let mut questions = Vec::new();
        for (member, given, longest) in texts {
            let Some(given) = given else { continue };
            if given.chars().count() > longest {
                let sentence =
                    format!("{title}: the {member} is too long. Write at most {longest} characters.");
                questions.push(self.question(member, sentence.replace('_', " ")));
            } else if given.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
                let sentence =
                    format!("{title}: the {member} holds signs that cannot be shown. Type it again.");
                questions.push(self.question(member, sentence.replace('_', " ")));
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

/// What was sent, short enough to be read back in a sentence.
pub(super) fn cut(given: &str) -> String {
    given.trim().chars().filter(|c| !c.is_control()).take(LONGEST_WORD).collect()
}

fn units_in_words(measure: &Measure) -> String {
    let names: Vec<&str> = measure.units.iter().map(|u| u.as_str()).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => names.join(""),
    }
}
