//! A checklist: what to look at, try and measure, in the order of the walk, and the severity rules that say what a
//! failed item means. It is data; a whole one is kept with its version.

use serde::{Deserialize, Serialize};

use super::reading::{Level, Outcome};
use super::standing::Severity;
use super::unit::{Measured, Unit};
use super::words::words;

words! {
    System {
        Brakes = "brakes",
        Steering = "steering",
        Restraint = "restraint",
        Fuel = "fuel",
        Engine = "engine",
        Cooling = "cooling",
        Transmission = "transmission",
        Controls = "controls",
        Suspension = "suspension",
        TyresAndWheels = "tyres and wheels",
        LightsAndSignals = "lights and signals",
        Electrical = "electrical",
        Hydraulics = "hydraulics",
        BodyAndFrame = "body and frame",
        Coupling = "coupling",
        General = "general",
    }
}

words! {
    /// What kind of answer an item asks for.
    Asked {
        Condition = "condition",
        Function = "function",
        Level = "level",
        Measure = "measure",
    }
}

words! {
    Load {
        Unladen = "unladen",
        Laden = "laden",
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
pub struct Checklist {
    pub name: String,
    pub title: String,
    pub classes: Vec<String>,
    pub zones: Vec<Zone>,
    pub rules: Vec<Rule>,
}

/// Where to stand, and what to check from there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Zone {
    pub key: String,
    pub title: String,
    pub stand: String,
    pub items: Vec<Item>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Item {
    pub key: String,
    pub title: String,
    pub todo: String,
    pub accept: String,
    /// Stands before the step that can hurt.
    pub caution: Option<String>,
    pub system: System,
    /// A failed safety item that no rule speaks of is out of service.
    pub safety: bool,
    pub asks: Asks,
    pub positions: Vec<Position>,
    pub may_be_not_applicable: bool,
    pub may_be_corrected: bool,
    /// The unit an amount is given in when the item is put right at the check.
    pub corrected_unit: Option<Unit>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Position {
    pub key: String,
    pub title: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Asks {
    /// Ok or defect.
    Condition,
    /// Works or does not.
    Function,
    /// Below, between or above two marks.
    Level,
    Measure(Measure),
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
    pub at_least: Option<f64>,
    pub at_most: Option<f64>,
}

/// The bounds that hold in one context: the tightest of all limits that apply.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Bounds {
    pub at_least: Option<f64>,
    pub at_most: Option<f64>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    pub name: String,
    pub severity: Severity,
    /// All must hold. The first item named is the one the finding is about.
    pub when: Vec<Condition>,
    pub instruction: String,
    /// Nobody may lower what a final rule decided.
    #[serde(rename = "final")]
    pub final_: bool,
    pub good_for_days: Option<u32>,
    pub good_for_hours: Option<u32>,
    pub route: Option<String>,
}

/// An item, at one of its positions or at any.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Place {
    pub item: String,
    pub position: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Condition {
    Outcome {
        at: Place,
        is: Outcome,
    },
    /// The value against the item's own limit in the declared load.
    Limit {
        at: Place,
        side: Side,
    },
    /// The value against a figure the rule states, in the item's base unit.
    Figure {
        at: Place,
        below: Option<f64>,
        above: Option<f64>,
    },
    Level {
        at: Place,
        is: Level,
    },
    Load {
        is: Load,
    },
}

/// One stop of the walk: an item at one of its positions, or the item itself when it has none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop<'a> {
    /// Place in the walk, from 0.
    pub index: usize,
    pub zone: &'a Zone,
    pub item: &'a Item,
    pub position: Option<&'a Position>,
}

impl System {
    /// Repairs of these are released by somebody other than the repairer.
    pub const fn independent(self) -> bool {
        matches!(self, System::Brakes | System::Steering | System::Restraint)
    }
}

impl Checklist {
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.zones.iter().flat_map(|z| &z.items)
    }

    pub fn item(&self, key: &str) -> Option<&Item> {
        self.items().find(|i| i.key == key)
    }

    /// Every stop in walking order. Neighbouring items of a zone that share their positions are walked position by
    /// position: everything at the front left wheel, then everything at the next one.
    pub fn walk(&self) -> Vec<Stop<'_>> {
        let mut stops: Vec<Stop<'_>> = Vec::new();
        for zone in &self.zones {
            for run in zone.items.chunk_by(|a, b| a.positions == b.positions) {
                for position in run[0].positions_or_none() {
                    for item in run {
                        stops.push(Stop { index: stops.len(), zone, item, position });
                    }
                }
            }
        }
        stops
    }
}

impl Stop<'_> {
    pub fn is(&self, item: &str, position: Option<&str>) -> bool {
        self.item.key == item && self.position.map(|p| p.key.as_str()) == position
    }

    pub fn place(&self) -> Place {
        Place { item: self.item.key.clone(), position: self.position.map(|p| p.key.clone()) }
    }

    /// "Brake pad, front left".
    pub fn title(&self) -> String {
        match self.position {
            Some(p) => format!("{}, {}", self.item.title, p.title),
            None => self.item.title.clone(),
        }
    }
}

impl Asks {
    pub const fn kind(&self) -> Asked {
        match self {
            Asks::Condition => Asked::Condition,
            Asks::Function => Asked::Function,
            Asks::Level => Asked::Level,
            Asks::Measure(_) => Asked::Measure,
        }
    }
}

impl Item {
    pub fn position(&self, key: &str) -> Option<&Position> {
        self.positions.iter().find(|p| p.key == key)
    }

    /// The positions, or a single `None` for an item without any.
    pub fn positions_or_none(&self) -> Vec<Option<&Position>> {
        if self.positions.is_empty() { vec![None] } else { self.positions.iter().map(Some).collect() }
    }

    pub const fn measure(&self) -> Option<&Measure> {
        match &self.asks {
            Asks::Measure(m) => Some(m),
            _ => None,
        }
    }
}

impl Measure {
    /// The bounds in this load: the tightest where several limits apply.
    pub fn bounds(&self, load: Load) -> Bounds {
        let applies = |l: &&Limit| l.load.is_none_or(|only| only == load);
        let limits = || self.limits.iter().filter(applies);
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

    pub fn beyond(&self, value: f64, load: Load, side: Side) -> bool {
        let bounds = self.bounds(load);
        let below = bounds.at_least.is_some_and(|l| self.is_below(value, l));
        let above = bounds.at_most.is_some_and(|l| self.is_above(value, l));
        match side {
            Side::Below => below,
            Side::Above => above,
            Side::Outside => below || above,
        }
    }

    /// The limit in the declared load, for people, in the unit they read in: "at least 14.5 psi, unladen".
    pub fn limit_in_words(&self, load: Load, unit: Unit) -> Option<String> {
        let bounds = self.bounds(load);
        let of_load =
            if self.limits.iter().any(|l| l.load.is_some()) { format!(", {load}") } else { String::new() };
        let least = bounds.at_least.map(|f| self.in_unit(f, unit));
        let most = bounds.at_most.map(|f| self.in_unit(f, unit));
        match (least, most) {
            (Some(least), Some(most)) => Some(format!("between {least} and {most}{of_load}")),
            (Some(least), None) => Some(format!("at least {least}{of_load}")),
            (None, Some(most)) => Some(format!("at most {most}{of_load}")),
            (None, None) => None,
        }
    }

    /// The side of the limit that the value breaks: "at least 1.5 mm".
    pub fn broken_limit(&self, value: &Measured, load: Load) -> Option<String> {
        let bounds = self.bounds(load);
        let of_load =
            if self.limits.iter().any(|l| l.load.is_some()) { format!(", {load}") } else { String::new() };
        let low = bounds.at_least.filter(|l| self.is_below(value.base, *l));
        let high = bounds.at_most.filter(|l| self.is_above(value.base, *l));
        low.map(|l| format!("at least {}{of_load}", self.in_unit(l, value.unit)))
            .or_else(|| high.map(|l| format!("at most {}{of_load}", self.in_unit(l, value.unit))))
    }

    /// A figure of this item in a unit, with no more digits than the gauge can tell apart.
    pub fn in_unit(&self, base: f64, unit: Unit) -> String {
        let step = self.resolution * (self.base.factor() / unit.factor());
        let digits = (0..6).find(|d| step >= 0.999 * 10_f64.powi(-d)).unwrap_or(6);
        let scale = 10_f64.powi(digits);
        let rounded = (unit.from_base(base) * scale).round() / scale;
        format!("{} {unit}", if rounded == 0.0 { 0.0 } else { rounded })
    }

    fn steps(&self, value: f64) -> f64 {
        // Rounding twice: first to a hundred thousandth of a step, so that 1.45 mm in steps of 0.1 mm does not hang
        // on the last bit of a binary fraction, or on the unit it was read in.
        let fine = (value / self.resolution * 1e5).round() / 1e5;
        fine.round()
    }
}

impl Condition {
    /// The item the condition looks at; None for the load.
    pub const fn at(&self) -> Option<&Place> {
        match self {
            Condition::Outcome { at, .. }
            | Condition::Limit { at, .. }
            | Condition::Figure { at, .. }
            | Condition::Level { at, .. } => Some(at),
            Condition::Load { .. } => None,
        }
    }
}

impl Rule {
    /// The place the finding is about: the first one named.
    pub fn anchor(&self) -> Option<&Place> {
        self.when.iter().find_map(Condition::at)
    }
}
