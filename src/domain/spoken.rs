//! How figures are said in each language, and which closed vocabularies have words in the catalogues.

use std::collections::BTreeSet;

use super::store::Quantity;
use super::unit::{Figure, Hours, Measured};
use crate::words::{Lang, Spoken, Value};

/// "14.5 kPa". Units have the same sign everywhere.
impl Spoken for Measured {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(format!("{} {}", lang.figure(&self.as_read), self.unit))
    }
}

/// "1234.5"
impl Spoken for Hours {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(lang.figure(&self.to_string()))
    }
}

/// "1.5 mm"
impl Spoken for Figure {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(lang.figure(&self.0))
    }
}

/// "0.35"
impl Spoken for Quantity {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(lang.figure(&self.to_string()))
    }
}

/// Keys of every word that people are shown of the closed vocabularies.
pub fn spoken_words() -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    macro_rules! of {
        ($($vocabulary:path),* $(,)?) => {$(
            keys.extend(<$vocabulary>::ALL.iter().map(|word| word.key()));
        )*};
    }
    of!(super::checklist::Load, super::checklist::Warmth, super::reading::Outcome, super::unit::Quantity);
    of!(super::checklist::Picture, super::reading::Level, super::watched::Watched, super::careless::Sign);
    of!(super::risk::Category, super::risk::Probability, super::risk::RiskLevel);
    of!(super::risk::Harm, super::risk::YesOrNo, super::risk::Certain);
    of!(super::standing::Standing, super::standing::Severity, super::unit::UnitSystem);
    of!(super::person::Role, super::refusal::Thing, super::defect::DefectState, super::checklist::System);
    of!(super::work_order::OrderWord, super::work_order::WaitingFor, super::store::MovementKind);
    of!(super::store::put_right::AdjustmentReason);
    of!(super::trail::TrailAct, super::trail::TrailSubject, super::trail::TrailState);
    of!(super::checklist::Asked, super::checklist::Side);
    of!(super::labour::ForgottenBecause, super::caller::SignInKind);
    of!(super::reliability::restoration::Phase);
    of!(super::import::ImportKind, super::import::ImportOutcome, super::retention::RecordKind);
    of!(super::hearing::AlertKind, super::hearing::Wanted, super::alert::AlertState);
    keys.extend(super::person::Act::ALL.iter().map(|act| act.key().to_owned()));
    keys
}
