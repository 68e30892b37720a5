mod looking_back;
mod properties;
mod rules;
mod weather;

use super::{Finding, History, Judgement, judge};
use crate::domain::checklist::{Asks, Checklist, Load, Stop};
use crate::domain::checklist_file;
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::unit::{Measured, Unit};

/// A checklist of every kind of item, with the rules of one test below it.
fn checklist(rules: &str) -> Checklist {
    let text = format!("{ITEMS}\n{rules}");
    checklist_file::parse(&text)
        .unwrap_or_else(|faults| panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>()))
}

const ITEMS: &str = r#"
name = "small"
title = "Small"
classes = ["quad"]

[[zone]]
key = "round"
title = "Round it"
stand = "Beside it."

[[zone.item]]
key = "pad"
title = "Brake pad"
todo = "Measure it."
accept = "Thick enough."
system = "brakes"
safety = true
asks = "measure"
positions = ["left", "right"]
[zone.item.measure]
base = "mm"
units = ["mm", "in"]
resolution = "0.1 mm"
plausible = ["0 mm", "20 mm"]
limits = [{ at_least = "1.5 mm" }]

[[zone.item]]
key = "disc"
title = "Brake disc"
todo = "Look at it."
accept = "Smooth."
system = "brakes"
safety = true
asks = "condition"
positions = ["left", "right"]

[[zone.item]]
key = "fluid"
title = "Brake fluid level"
todo = "Read it."
accept = "Between its marks."
system = "brakes"
safety = true
asks = "level"
may_be_corrected = true
corrected_unit = "mL"

[[zone.item]]
key = "leak"
title = "Brake fluid leak"
todo = "Look."
accept = "Dry."
system = "brakes"
asks = "condition"

[[zone.item]]
key = "tyre"
title = "Tyre pressure"
todo = "Measure it."
accept = "Enough."
system = "tyres and wheels"
asks = "measure"
[zone.item.measure]
base = "kPa"
units = ["psi", "kPa", "bar"]
resolution = "1 kPa"
plausible = ["0 kPa", "400 kPa"]
limits = [{ load = "unladen", at_least = "100 kPa" }, { load = "laden", at_least = "150 kPa" }, { at_most = "300 kPa" }]

[[zone.item]]
key = "horn"
title = "Horn"
todo = "Sound it."
accept = "Heard."
system = "lights and signals"
asks = "function"
may_be_not_applicable = true
"#;

fn unladen() -> Context {
    Context::of(Load::Unladen)
}

fn laden() -> Context {
    Context::of(Load::Laden)
}

/// The reading of a stop where all is well in either load.
fn well(stop: &Stop<'_>) -> Reading {
    Reading {
        item: stop.item.key.clone(),
        position: stop.position.map(|p| p.key.clone()),
        outcome: Outcome::Ok,
        level: matches!(stop.item.asks, Asks::Level).then_some(Level::Between),
        value: stop.item.measure().map(|m| match m.base {
            Unit::Mm => measured("9.0", Unit::Mm),
            _ => measured("200", Unit::KPa),
        }),
        correction: None,
        note: None,
    }
}

fn all_well(checklist: &Checklist) -> Vec<Reading> {
    checklist.walk().iter().map(well).collect()
}

fn measured(figure: &str, unit: Unit) -> Measured {
    Measured::parse(figure, unit).expect("a figure")
}

/// All well but for these: "pad/left=1.2 mm", "fluid=below", "horn=defect".
fn readings(checklist: &Checklist, context: &Context, wrong: &[&str]) -> Vec<Reading> {
    let mut all = all_well(checklist);
    for text in wrong {
        let (place, what) = text.split_once('=').expect("place=what");
        let (item, position) = place.split_once('/').map_or((place, None), |(i, p)| (i, Some(p)));
        let reading = all.iter_mut().find(|r| r.is_at(item, position)).expect("a stop");
        if let Ok(level) = what.parse::<Level>() {
            reading.level = Some(level);
            reading.outcome = if level == Level::Between { Outcome::Ok } else { Outcome::Defect };
        } else if let Ok(outcome) = what.parse::<Outcome>() {
            reading.outcome = outcome;
            if outcome != Outcome::Ok {
                reading.value = None;
                reading.level = None;
            }
        } else {
            let value = Measured::parse_with_unit(what).expect("a figure with its unit");
            let measure = checklist.item(item).and_then(|i| i.measure()).expect("a measured item");
            let broken = measure.broken_limit(&value, context).is_some();
            reading.outcome = if broken { Outcome::Defect } else { Outcome::Ok };
            reading.value = Some(value);
        }
    }
    all
}

fn judged(checklist: &Checklist, context: &Context, wrong: &[&str]) -> Judgement {
    judge(checklist, context, &readings(checklist, context, wrong), &History::default())
}

fn at<'j>(judgement: &'j Judgement, item: &str, position: Option<&str>) -> &'j Finding {
    let here = |f: &&Finding| f.item == item && f.position.as_deref() == position;
    judgement.findings.iter().find(here).unwrap_or_else(|| panic!("no finding at {item}: {judgement:?}"))
}
