//! What a measured item asks for, and the limits a figure is held against in each context.

use serde::{Deserialize, Serialize};

use crate::domain::reading::Context;
use crate::domain::unit::{Figure, Measured, Unit};
use crate::domain::words::words;
use crate::words::Text;

words! {
    Load {
        Unladen = "unladen",
        Laden = "laden",
    }
}

words! {
    /// Whether the machine has run, where a limit depends on it.
    Warmth {
        Cold = "cold",
        Warm = "warm",
    }
}

words! {
    /// The side of a limit a figure lies on.
    Side {
        Below = "below limit",
        Above = "above limit",
        Outside = "outside limits",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measure {
    /// The unit of every figure below.
    pub base: Unit,
    /// The units the operator may read in, the usual one first.
    pub units: Vec<Unit>,
    /// What the gauge can tell apart: figures are compared after rounding to it.
    pub resolution: f64,
    /// Outside these it is a slip of the pen, not a reading.
    pub plausible: (f64, f64),
    pub limits: Vec<Limit>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// None holds whatever the load.
    pub load: Option<Load>,
    /// None holds cold and warm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warmth: Option<Warmth>,
    pub at_least: Option<f64>,
    pub at_most: Option<f64>,
}

/// The context that limits depend on. Where it is not said whether the machine is cold or warm, the limits of both
/// hold: in doubt, the tighter one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Under {
    pub load: Load,
    pub warmth: Option<Warmth>,
}

/// The bounds that hold in one context: the tightest of all limits that apply.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Bounds {
    pub at_least: Option<f64>,
    pub at_most: Option<f64>,
}

impl Under {
    /// Every context there is.
    pub fn all() -> impl Iterator<Item = Self> {
        let warmths = [None, Some(Warmth::Cold), Some(Warmth::Warm)];
        Load::ALL.iter().flat_map(move |load| warmths.map(|warmth| Self { load: *load, warmth }))
    }
}

impl From<Load> for Under {
    fn from(load: Load) -> Self {
        Self { load, warmth: None }
    }
}

impl From<&Context> for Under {
    fn from(context: &Context) -> Self {
        Self { load: context.load, warmth: context.warmth }
    }
}

impl Limit {
    pub fn applies(&self, under: Under) -> bool {
        let of_load = self.load.is_none_or(|only| only == under.load);
        of_load && self.warmth.is_none_or(|only| under.warmth.is_none_or(|is| is == only))
    }
}

impl Measure {
    /// The bounds in this context: the tightest where several limits apply.
    pub fn bounds(&self, under: impl Into<Under>) -> Bounds {
        let under = under.into();
        let limits = || self.limits.iter().filter(|l| l.applies(under));
        Bounds {
            at_least: limits().filter_map(|l| l.at_least).reduce(f64::max),
            at_most: limits().filter_map(|l| l.at_most).reduce(f64::min),
        }
    }

    /// Compared in steps of the resolution: a gauge that shows 14.5 psi (99.97 kPa) has met 100 kPa.
    pub fn is_below(&self, value: f64, figure: f64) -> bool {
        self.steps(value) < self.steps(figure)
    }

    pub fn is_above(&self, value: f64, figure: f64) -> bool {
        self.steps(value) > self.steps(figure)
    }

    pub fn beyond(&self, value: f64, under: impl Into<Under>, side: Side) -> bool {
        let bounds = self.bounds(under);
        let below = bounds.at_least.is_some_and(|l| self.is_below(value, l));
        let above = bounds.at_most.is_some_and(|l| self.is_above(value, l));
        match side {
            Side::Below => below,
            Side::Above => above,
            Side::Outside => below || above,
        }
    }

    /// The limit in the declared context, for people, in the unit they read in: "at least 14.5 psi, unladen".
    pub fn limit_in_words(&self, under: impl Into<Under>, unit: Unit) -> Option<Text> {
        let under = under.into();
        let bounds = self.bounds(under);
        let figure = |f: f64| Figure(self.in_unit(f, unit));
        let limit = match (bounds.at_least.map(figure), bounds.at_most.map(figure)) {
            (Some(least), Some(most)) => said!("judge-between", least = least, most = most),
            (Some(least), None) => said!("judge-at-least", figure = least),
            (None, Some(most)) => said!("judge-at-most", figure = most),
            (None, None) => return None,
        };
        Some(self.in_context(&limit, under))
    }

    /// The side of the limit that the value breaks: "at least 1.5 mm".
    pub fn broken_limit(&self, value: &Measured, under: impl Into<Under>) -> Option<Text> {
        self.limit_broken_by(value.base, value.unit, under)
    }

    /// As [`Measure::broken_limit`], for a figure in the base unit that nobody read off a gauge.
    pub fn limit_broken_by(&self, base: f64, unit: Unit, under: impl Into<Under>) -> Option<Text> {
        let under = under.into();
        let bounds = self.bounds(under);
        let figure = |f: f64| Figure(self.in_unit(f, unit));
        let low = bounds.at_least.filter(|l| self.is_below(base, *l));
        let high = bounds.at_most.filter(|l| self.is_above(base, *l));
        let limit = match (low, high) {
            (Some(least), _) => said!("judge-at-least", figure = figure(least)),
            (None, Some(most)) => said!("judge-at-most", figure = figure(most)),
            (None, None) => return None,
        };
        Some(self.in_context(&limit, under))
    }

    /// A figure of this item in a unit, with no more digits than the gauge can tell apart.
    pub fn in_unit(&self, base: f64, unit: Unit) -> String {
        self.rounded(unit.from_base(base), unit)
    }

    /// As [`Measure::in_unit`], for the distance between two figures: 0 °C apart is not 32 °F apart.
    pub fn apart_in_unit(&self, base: f64, unit: Unit) -> String {
        self.rounded(base / unit.factor(), unit)
    }

    fn rounded(&self, figure: f64, unit: Unit) -> String {
        let step = self.resolution * (self.base.factor() / unit.factor());
        let digits = (0..6).find(|d| step >= 0.999 * 10_f64.powi(-d)).unwrap_or(6);
        let scale = 10_f64.powi(digits);
        let rounded = (figure * scale).round() / scale;
        format!("{} {unit}", if rounded == 0.0 { 0.0 } else { rounded })
    }

    /// The limit with what of the context it depends on: ", unladen", ", cold".
    fn in_context(&self, limit: &Text, under: Under) -> Text {
        let by_load = self.limits.iter().any(|l| l.load.is_some()).then(|| said!(&under.load.key()));
        let by_warmth = self.limits.iter().any(|l| l.warmth.is_some()).then(|| match under.warmth {
            Some(warmth) => said!(&warmth.key()),
            None => said!("judge-cold-or-warm"),
        });
        let all: Vec<&Text> = std::iter::once(limit).chain(&by_load).chain(&by_warmth).collect();
        Text::joined(all, ", ")
    }

    fn steps(&self, value: f64) -> f64 {
        // Rounding twice: first to a hundred thousandth of a step, so that 1.45 mm in steps of 0.1 mm does not hang
        // on the last bit of a binary fraction, or on the unit it was read in.
        let fine = (value / self.resolution * 1e5).round() / 1e5;
        fine.round()
    }
}
