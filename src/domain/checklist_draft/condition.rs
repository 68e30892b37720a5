//! A condition of a rule as it is typed, and the kinds of condition there are.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Draft, Part};
use crate::domain::words::words;

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
    pub fn in_words(&self, draft: &Draft) -> String {
        self.told(|key| title_in(draft, key))
    }

    /// As [`When::in_words`], with the titles of items from wherever they are known.
    pub(super) fn told(&self, title: impl Fn(&str) -> Option<String>) -> String {
        let says = |key: &str| match self.says(key) {
            "" => "…",
            text => text,
        };
        let brought = match self.says("at_temperature") {
            "" => String::new(),
            temperature => format!(", brought to {temperature}"),
        };
        let each = |keys: [(&str, &str); 2], with: &str| {
            let given: Vec<String> = keys
                .iter()
                .filter(|(_, key)| !self.says(key).is_empty())
                .map(|(words, key)| words.replace('#', self.says(key)))
                .collect();
            if given.is_empty() { "…".to_owned() } else { given.join(with) }
        };
        let what = match self.kind {
            Kind::Outcome => says("outcome").to_owned(),
            Kind::Level => format!("{} its marks", says("level")),
            Kind::Limit => format!("{}{brought}", says("value")),
            Kind::Figure => {
                format!("{}{brought}", each([("below #", "below"), ("above #", "above")], " and "))
            }
            Kind::Difference => {
                let between = match self.says("between") {
                    "" => String::new(),
                    groups => format!(" ({groups})"),
                };
                format!("positions differ by more than {}{between}", says("apart"))
            }
            Kind::Corrected => format!(
                "put right {} within {}",
                each([("# times", "corrected_times"), ("#", "corrected_amount")], " or "),
                each([("# engine hours", "within_hours"), ("# days", "within_days")], " or ")
            ),
            Kind::Recurs => format!("back within {} days of its release", says("back_within_days")),
            Kind::Trend => {
                format!("may be {} within {} engine hours, by its trend", says("trend"), says("within_hours"))
            }
            Kind::Load => return format!("the machine is {}", says("load")),
            Kind::Warmth => return format!("the machine is {}", says("warmth")),
        };
        format!("{}: {what}", self.place(title))
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
