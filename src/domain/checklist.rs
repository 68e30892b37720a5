//! A checklist: what to look at, try and measure, in the order of the walk, and the severity rules that say what a
//! failed item means. It is data; a whole one is kept with its version.

mod measure;
mod rule;

pub use measure::{Bounds, Limit, Load, Measure, Side, Under, Warmth};
pub use rule::{Condition, Place, Rule, Window};

use serde::{Deserialize, Serialize};

use super::risk::RiskLevel;
use super::unit::Unit;
use super::words::words;
use crate::words::{Lang, Text};

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
    /// Drawings that come with Chock, by the name a checklist asks for. Its words are what the drawing shows, for whoever
    /// cannot see it.
    Picture {
        Dipstick = "dipstick",
        FluidMarks = "fluid-marks",
        AirFilter = "air-filter",
        BrakePad = "brake-pad",
        BrakeDisc = "brake-disc",
        TyreGauge = "tyre-gauge",
        SeatBelt = "seat-belt",
        Leak = "leak",
        HitchPin = "hitch-pin",
        TrackSag = "track-sag",
        WheelNuts = "wheel-nuts",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Checklist {
    pub name: String,
    pub title: Text,
    pub classes: Vec<String>,
    pub zones: Vec<Zone>,
    pub rules: Vec<Rule>,
    /// From this risk on, a defect reported outside a check takes the machine out of service.
    #[serde(default)]
    pub out_of_service_from: RiskLevel,
}

/// Where to stand, and what to check from there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Zone {
    pub key: String,
    pub title: Text,
    pub stand: Text,
    pub items: Vec<Item>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Item {
    pub key: String,
    pub title: Text,
    pub todo: Text,
    pub accept: Text,
    /// A drawing that shows what is meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub picture: Option<Picture>,
    /// Stands before the step that can hurt.
    pub caution: Option<Text>,
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
    pub title: Text,
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

    /// Whether a limit or a rule depends on the machine being cold or warm, so that it is worth asking.
    pub fn asks_warmth(&self) -> bool {
        let limits =
            self.items().filter_map(Item::measure).flat_map(|m| &m.limits).any(|l| l.warmth.is_some());
        limits || self.conditions().any(|c| matches!(c, Condition::Warmth { .. }))
    }

    /// Whether a rule judges a pressure at an air temperature, so that the temperature of today's air is worth asking.
    pub fn asks_air(&self) -> bool {
        self.conditions().any(|c| c.at_temperature().is_some())
    }

    /// The air temperature, in °C, that some rule brings this item's pressure to.
    pub fn judged_at(&self, item: &str) -> Option<f64> {
        self.conditions()
            .filter(|c| c.at().is_some_and(|at| at.item == item))
            .find_map(Condition::at_temperature)
    }

    /// Every text that people read, with where it stands, for whoever looks for what is not said yet.
    pub fn texts(&self) -> Vec<(String, &Text)> {
        let mut all = vec![("title".to_owned(), &self.title)];
        for zone in &self.zones {
            all.push((format!("zone {}, title", zone.key), &zone.title));
            all.push((format!("zone {}, stand", zone.key), &zone.stand));
            for item in &zone.items {
                let of_item = [("title", &item.title), ("todo", &item.todo), ("accept", &item.accept)];
                let caution = item.caution.iter().map(|c| ("caution", c));
                let named = of_item.into_iter().chain(caution);
                all.extend(named.map(|(key, text)| (format!("item {}, {key}", item.key), text)));
                let positions = item.positions.iter();
                all.extend(positions.map(|p| (format!("item {}, position {}", item.key, p.key), &p.title)));
            }
        }
        for rule in &self.rules {
            all.extend(rule.title.iter().map(|title| (format!("rule {}, title", rule.name), title)));
            all.push((format!("rule {}, instruction", rule.name), &rule.instruction));
        }
        all
    }

    /// As it is read in one language, without the others.
    #[must_use]
    pub fn in_lang(&self, lang: Lang) -> Self {
        let mut only = self.clone();
        let one = |text: &mut Text| *text = Text::typed(text.in_lang(lang));
        one(&mut only.title);
        for zone in &mut only.zones {
            one(&mut zone.title);
            one(&mut zone.stand);
            for item in &mut zone.items {
                [&mut item.title, &mut item.todo, &mut item.accept].into_iter().for_each(one);
                item.caution.iter_mut().for_each(one);
                item.positions.iter_mut().for_each(|p| one(&mut p.title));
            }
        }
        for rule in &mut only.rules {
            rule.title.iter_mut().for_each(one);
            one(&mut rule.instruction);
        }
        only
    }

    fn conditions(&self) -> impl Iterator<Item = &Condition> {
        self.rules.iter().flat_map(|r| &r.when)
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
    pub fn title(&self) -> Text {
        match self.position {
            Some(p) => Text::joined([&self.item.title, &p.title], ", "),
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
