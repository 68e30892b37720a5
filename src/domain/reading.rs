//! Readings: the answers of one check, after they have been understood.

use serde::{Deserialize, Serialize};

use super::checklist::{Load, Warmth};
use super::unit::{Hours, Measured};
use super::words::words;
use crate::words::Text;

words! {
    Outcome {
        Ok = "ok",
        Defect = "defect",
        NotApplicable = "not applicable",
        Corrected = "corrected",
    }
}

words! {
    /// Where a fluid stands against its two marks.
    Level {
        Below = "below",
        Between = "between",
        Above = "above",
    }
}

/// What was put right at the check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Correction {
    pub what: String,
    pub amount: Option<Measured>,
}

/// The answer to one item at one position. Of a corrected item, level and value are those after the correction.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    pub item: String,
    pub position: Option<String>,
    pub outcome: Outcome,
    pub level: Option<Level>,
    pub value: Option<Measured>,
    pub correction: Option<Correction>,
    pub note: Option<String>,
}

/// What the readings were taken under.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Context {
    pub load: Load,
    pub engine_hours: Option<Hours>,
    /// The operator says the hours are right although they do not follow from the last ones (a new meter).
    #[serde(default)]
    pub hours_confirmed: bool,
    /// None when not said: limits of cold and of warm then both hold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warmth: Option<Warmth>,
    /// The temperature of the air the tyres were measured in. None: pressures are compared as read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air: Option<Measured>,
    /// Height of the yard above sea level; sea level when not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub altitude_m: Option<i32>,
}

/// What was known of the machine before this check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Before {
    pub engine_hours: Option<Hours>,
}

/// One answer as typed on the page or sent as JSON, before anything of it is believed.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct RawAnswer {
    pub item: Option<String>,
    pub position: Option<String>,
    pub outcome: Option<String>,
    pub level: Option<String>,
    #[serde(deserialize_with = "text_or_number")]
    pub value: Option<String>,
    pub unit: Option<String>,
    /// What was put right.
    pub correction: Option<String>,
    #[serde(deserialize_with = "text_or_number")]
    pub amount: Option<String>,
    pub amount_unit: Option<String>,
    pub note: Option<String>,
}

/// An answer that could not be taken: what, where, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Question {
    /// RFC 6901 pointer into the request, for instance `/answers/3/value`.
    pub pointer: String,
    pub item: Option<String>,
    pub position: Option<String>,
    pub sentence: Text,
}

impl Context {
    /// Of this load, and nothing else stated.
    pub const fn of(load: Load) -> Self {
        Self { load, engine_hours: None, hours_confirmed: false, warmth: None, air: None, altitude_m: None }
    }

    /// "laden, cold, air at -5 °C".
    pub fn in_words(&self) -> Text {
        let warmth = self.warmth.map(|w| said!(&w.key()));
        let air = self.air.as_ref().map(|a| said!("answers-air-at", air = a));
        let all: Vec<Text> = std::iter::once(said!(&self.load.key())).chain(warmth).chain(air).collect();
        Text::joined(&all, ", ")
    }
}

impl Reading {
    pub fn is_at(&self, item: &str, position: Option<&str>) -> bool {
        self.item == item && self.position.as_deref() == position
    }
}

/// JSON clients send 14.5 as readily as "14.5".
fn text_or_number<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<String>, D::Error> {
    struct Either;
    impl<'de> serde::de::Visitor<'de> for Either {
        type Value = Option<String>;

        fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            f.write_str("a figure, as a number or as text")
        }
        fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Self::Value, E> {
            Ok(Some(text.to_owned()))
        }
        fn visit_f64<E: serde::de::Error>(self, n: f64) -> Result<Self::Value, E> {
            Ok(Some(n.to_string()))
        }
        fn visit_i64<E: serde::de::Error>(self, n: i64) -> Result<Self::Value, E> {
            Ok(Some(n.to_string()))
        }
        fn visit_u64<E: serde::de::Error>(self, n: u64) -> Result<Self::Value, E> {
            Ok(Some(n.to_string()))
        }
        fn visit_none<E: serde::de::Error>(self) -> Result<Self::Value, E> {
            Ok(None)
        }
        fn visit_unit<E: serde::de::Error>(self) -> Result<Self::Value, E> {
            Ok(None)
        }
        fn visit_some<D: serde::Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
            d.deserialize_any(self)
        }
    }
    d.deserialize_option(Either)
}
