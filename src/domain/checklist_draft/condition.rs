//! A condition of a rule as it is typed, and the kinds of condition there are.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Draft, Part, Translated, field_in};
use crate::domain::checklist::{Load, Side, Warmth};
use crate::domain::reading::{Level, Outcome};
use crate::domain::words::words;
use crate::words::{Lang, Spoken, Text};

words! {
    /// What a condition looks at.
    Kind {
        Outcome = "outcome",
        Level = "level",
        Limit = "limit",
        Figure = "figure",
        Difference = "difference",
        Corrected = "corrected",
        Recurs = "recurs",
        Trend = "trend",
        Load = "load",
        Warmth = "warmth",
    }
}

/// What it says is kept under the keys of the file, whatever its kind was before.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct When {
    pub part: Part,
    pub kind: Kind,
    pub says: BTreeMap<String, String>,
}

impl Kind {
    pub const fn in_words(self) -> &'static str {
        match self {
            Kind::Outcome => "what was answered: a defect, or put right",
            Kind::Level => "a level below or above its marks",
            Kind::Limit => "a value against the item's own limits",
            Kind::Figure => "a value against a figure of this rule",
            Kind::Difference => "two positions that differ too much",
            Kind::Corrected => "put right too often, or by too much",
            Kind::Recurs => "the same defect back after its release",
            Kind::Trend => "by its trend, a value soon past its limit",
            Kind::Load => "the machine laden or unladen",
            Kind::Warmth => "the machine cold or warm",
        }
    }

    /// Whether it looks at one item, rather than at the whole check.
    pub const fn is_of_an_item(self) -> bool {
        !matches!(self, Kind::Load | Kind::Warmth)
    }

    /// The keys of the file that say it, beside item and position; the first ones tell the kind.
    pub const fn keys(self) -> &'static [&'static str] {
        match self {
            Kind::Outcome => &["outcome"],
            Kind::Level => &["level"],
            Kind::Limit => &["value", "at_temperature"],
            Kind::Figure => &["below", "above", "at_temperature"],
            Kind::Difference => &["apart", "between"],
            Kind::Corrected => &["corrected_times", "corrected_amount", "within_hours", "within_days"],
            Kind::Recurs => &["back_within_days"],
            Kind::Trend => &["trend", "within_hours"],
            Kind::Load => &["load"],
            Kind::Warmth => &["warmth"],
        }
    }

    /// The kind that a condition of the file with these keys is of.
    pub(super) fn of(has: impl Fn(&str) -> bool) -> Option<Self> {
        let tells = |kind: &Kind| match kind {
            Kind::Figure | Kind::Corrected => &kind.keys()[..2],
            _ => &kind.keys()[..1],
        };
        Kind::ALL.iter().find(|k| tells(k).iter().any(|key| has(key))).copied()
    }
}

impl When {
    pub fn says(&self, key: &str) -> &str {
        self.says.get(key).map_or("", String::as_str)
    }

    /// "Brake pad, front left: below limit".
    pub fn in_words(&self, draft: &Draft, lang: Lang) -> String {
        self.told(lang, |key| title_in_lang(draft, key, lang))
    }

    /// As [`When::in_words`], with the titles of items from wherever they are known.
    pub(super) fn told(&self, lang: Lang, title: impl Fn(&str) -> Option<String>) -> String {
        let says = |key: &str| match self.says(key) {
            "" => "…",
            text => text,
        };
        let brought = |what: String| match self.says("at_temperature") {
            "" => what,
            temperature => t_in!(lang, "draft-brought", what = what, temperature = lang.figure(temperature)),
        };
        // Those of two that are given, put together.
        let each = |two: [(&str, &str); 2], with: &str| {
            let given = two.iter().filter(|(_, key)| !self.says(key).is_empty());
            let given = given.map(|(words, key)| t_in!(lang, words, figure = lang.figure(self.says(key))));
            given
                .reduce(|one, other| t_in!(lang, with, one = one, other = other))
                .unwrap_or_else(|| "…".to_owned())
        };
        let what = match self.kind {
            Kind::Outcome => word::<Outcome>(lang, says("outcome")),
            Kind::Level => match self.says("level").parse::<Level>() {
                Ok(Level::Below) => t_in!(lang, "draft-below-marks"),
                Ok(Level::Between) => t_in!(lang, "draft-between-marks"),
                Ok(Level::Above) => t_in!(lang, "draft-above-marks"),
                Err(_) => says("level").to_owned(),
            },
            Kind::Limit => brought(word::<Side>(lang, says("value"))),
            Kind::Figure => brought(each([("draft-below", "below"), ("draft-above", "above")], "draft-and")),
            Kind::Difference => match self.says("between") {
                "" => t_in!(lang, "draft-apart", apart = lang.figure(says("apart"))),
                groups => {
                    t_in!(lang, "draft-apart-between", apart = lang.figure(says("apart")), groups = groups)
                }
            },
            Kind::Corrected => t_in!(
                lang,
                "draft-put-right",
                often = each(
                    [("draft-times", "corrected_times"), ("draft-figure", "corrected_amount")],
                    "draft-or"
                ),
                time = each(
                    [("draft-engine-hours", "within_hours"), ("draft-within-days", "within_days")],
                    "draft-or"
                )
            ),
            Kind::Recurs => t_in!(lang, "draft-back-within", days = says("back_within_days")),
            Kind::Trend => t_in!(
                lang,
                "draft-trend",
                side = word::<Side>(lang, says("trend")),
                hours = says("within_hours")
            ),
            Kind::Load => {
                return t_in!(lang, "checklists-when-machine", how = word::<Load>(lang, says("load")));
            }
            Kind::Warmth => {
                return t_in!(lang, "checklists-when-machine", how = word::<Warmth>(lang, says("warmth")));
            }
        };
        t_in!(lang, "checklists-when-is", at = self.place(title), is = what)
    }

    fn place(&self, title: impl Fn(&str) -> Option<String>) -> String {
        let key = self.says("item");
        let title = match title(key) {
            Some(title) => title,
            None if key.is_empty() => "…".to_owned(),
            None => key.to_owned(),
        };
        match self.says("position") {
            "" => title,
            position => format!("{title}, {}", position.replace('-', " ")),
        }
    }
}

pub(super) fn title_in(draft: &Draft, key: &str) -> Option<String> {
    draft.items().find(|i| i.key == key).map(|i| i.title.clone())
}

/// As `title_in`, in a language where the draft says it in that one.
pub(super) fn title_in_lang(draft: &Draft, key: &str, lang: Lang) -> Option<String> {
    draft.items().find(|i| i.key == key).map(|i| title_said(&i.title, &i.translated, lang))
}

/// A title in a language, else as it was first written.
pub fn title_said(title: &str, translated: &Translated, lang: Lang) -> String {
    let said = translated.get(&field_in("title", lang)).filter(|said| !said.is_empty());
    said.map_or_else(|| title.to_owned(), Clone::clone)
}

/// A word of a closed vocabulary in a language; anything else as it was typed.
fn word<V: std::str::FromStr + Spoken>(lang: Lang, typed: &str) -> String {
    match typed.parse::<V>() {
        Ok(known) => Text::of(&known).in_lang(lang).to_owned(),
        Err(_) => typed.to_owned(),
    }
}
