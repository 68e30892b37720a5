//! The checklists that made-up checks are of: those that are shipped, one with every kind of item, and variants of all of
//! them under rules and limits made up by chance.

use chock::domain::checklist::{Asks, Checklist, Condition, Item, Load, Place, Rule, Side, Warmth, Window};
use chock::domain::checklist_file;
use chock::domain::reading::{Level, Outcome};
use chock::domain::shipped::SHIPPED;
use chock::domain::standing::Severity;
use chock::words::{Lang, Text};

use super::dice::Dice;

/// Of each checklist.
const VARIANTS: usize = 6;

pub fn all(dice: &mut Dice) -> Vec<Checklist> {
    let texts = SHIPPED.iter().map(|(_, text)| *text).chain([EVERY_KIND]);
    let whole: Vec<Checklist> = texts
        .map(|text| {
            let parsed = checklist_file::parse(text);
            parsed.unwrap_or_else(|faults| panic!("{faults:?}"))
        })
        .collect();
    let mut all = whole.clone();
    for checklist in &whole {
        all.extend((0..VARIANTS).map(|_| variant(checklist, dice)));
    }
    all
}

/// A kind that is new to the rules does not compile here, so that it is not forgotten below, in `condition`, nor on the
/// phone.
pub const fn kind_of(condition: &Condition) -> &'static str {
    match condition {
        Condition::Outcome { .. } => "outcome",
        Condition::Limit { .. } => "limit",
        Condition::Figure { .. } => "figure",
        Condition::Level { .. } => "level",
        Condition::Load { .. } => "load",
        Condition::Warmth { .. } => "warmth",
        Condition::Difference { .. } => "difference",
        Condition::Corrected { .. } => "corrected",
        Condition::Recurs { .. } => "recurs",
        Condition::Trend { .. } => "trend",
    }
}

type Change = fn(&mut Checklist);

/// Small changes to the rules, each of which some check must show.
pub const CHANGES: &[(&str, Change)] = &[
    ("a limit 20 % higher", |c| limits(c, |l| l.at_least = l.at_least.map(|f| f * 1.2))),
    ("a limit without its load", |c| limits(c, |l| l.load = None)),
    ("the first rule left out", |c| drop(c.rules.remove(0))),
    ("the other severity", |c| c.rules.iter_mut().for_each(|r| r.severity = Severity::Monitor)),
    ("no safety items", |c| items(c).for_each(|i| i.safety = false)),
    ("another word in a title", |c| items(c).for_each(|i| i.title = i.title.map(|t| format!("{t} (old)")))),
    ("a coarser gauge", |c| {
        measures(c).for_each(|m| m.resolution *= 10.0);
    }),
    ("a shorter look ahead", |c| {
        for condition in c.rules.iter_mut().flat_map(|r| &mut r.when) {
            if let Condition::Trend { within_hours, .. } = condition {
                *within_hours /= 5;
            }
        }
    }),
];

fn items(checklist: &mut Checklist) -> impl Iterator<Item = &mut Item> {
    checklist.zones.iter_mut().flat_map(|z| &mut z.items)
}

fn measures(checklist: &mut Checklist) -> impl Iterator<Item = &mut chock::domain::checklist::Measure> {
    items(checklist).filter_map(|i| match &mut i.asks {
        Asks::Measure(m) => Some(m),
        _ => None,
    })
}

fn limits(checklist: &mut Checklist, change: fn(&mut chock::domain::checklist::Limit)) {
    measures(checklist).for_each(|m| m.limits.iter_mut().for_each(change));
}

fn variant(whole: &Checklist, dice: &mut Dice) -> Checklist {
    let mut checklist = whole.clone();
    checklist.rules.retain(|_| dice.percent(70));
    for n in 0..dice.below(20) {
        let rule = rule(&checklist, n, dice);
        let place = dice.below(checklist.rules.len() + 1);
        checklist.rules.insert(place, rule);
    }
    for item in items(&mut checklist) {
        item.safety ^= dice.percent(20);
        item.may_be_not_applicable |= dice.percent(20);
        if let Asks::Measure(m) = &mut item.asks {
            for limit in &mut m.limits {
                limit.warmth = dice.maybe(25, |d| *d.of(Warmth::ALL)).or(limit.warmth);
                if dice.percent(30) {
                    limit.load = dice.maybe(60, |d| *d.of(Load::ALL));
                }
                limit.at_most = limit.at_most.or_else(|| {
                    let least = limit.at_least.unwrap_or(1.0);
                    dice.maybe(30, |d| least * (1.5 + d.share()))
                });
            }
        }
    }
    checklist
}

fn rule(checklist: &Checklist, n: usize, dice: &mut Dice) -> Rule {
    let all: Vec<&Item> = checklist.items().collect();
    // A rule of several conditions is met more often where they speak of the same item.
    let mut item = *dice.of(&all);
    let when = (0..=dice.below(3))
        .map(|_| {
            if dice.percent(40) {
                item = *dice.of(&all);
            }
            condition(item, dice)
        })
        .collect();
    Rule {
        name: format!("made up {n}"),
        title: dice.maybe(50, |_| {
            Text::typed(format!("rule made up {n}")).and(Lang::Es, format!("regla inventada {n}"))
        }),
        severity: *dice.of(Severity::ALL),
        when,
        instruction: Text::typed(format!("Do what rule {n} says.")),
        final_: dice.percent(25),
        good_for_days: dice.maybe(50, |d| u32::try_from(d.between(1, 30)).expect("small")),
        good_for_hours: dice.maybe(50, |d| u32::try_from(d.between(1, 99)).expect("small")),
        route: dice.maybe(30, |_| "workshop".to_owned()),
    }
}

fn condition(item: &Item, dice: &mut Dice) -> Condition {
    let position =
        if item.positions.is_empty() { None } else { dice.maybe(25, |d| d.of(&item.positions).key.clone()) };
    let at = Place { item: item.key.clone(), position };
    let small = |dice: &mut Dice, most: i64| u32::try_from(dice.between(1, most)).expect("small");
    if dice.percent(8) {
        return Condition::Load { is: *dice.of(Load::ALL) };
    }
    if dice.percent(8) {
        return Condition::Warmth { is: *dice.of(Warmth::ALL) };
    }
    if dice.percent(15) {
        return Condition::Recurs { at, within_days: small(dice, 60) };
    }
    if dice.percent(25) {
        let (days, span) = (dice.percent(50), small(dice, 100));
        let within = if days { Window::Days(span) } else { Window::Hours(span) };
        let amount = dice.maybe(40, |d| d.between(1, 40) as f64 / 10.0);
        return Condition::Corrected { at, times: dice.maybe(60, |d| small(d, 4)), amount, within };
    }
    let Asks::Measure(measure) = &item.asks else {
        return match item.asks {
            Asks::Level if dice.percent(60) => Condition::Level { at, is: *dice.of(Level::ALL) },
            _ => Condition::Outcome { at, is: *dice.of(Outcome::ALL) },
        };
    };
    let first = measure.limits.iter().find_map(|l| l.at_least.or(l.at_most)).unwrap_or(1.0);
    let at_temperature = dice.maybe(40, |d| d.between(-10, 40) as f64 / 2.0);
    match dice.below(6) {
        0 => Condition::Outcome { at, is: *dice.of(Outcome::ALL) },
        1 => Condition::Limit { at, side: *dice.of(Side::ALL), at_temperature },
        2 => {
            let below = dice.maybe(70, |d| first * (0.6 + 0.6 * d.share()));
            let above = dice.maybe(50, |d| first * (1.0 + 0.6 * d.share()));
            Condition::Figure { at, below, above, at_temperature }
        }
        3 => {
            let keys: Vec<String> = item.positions.iter().map(|p| p.key.clone()).collect();
            let between =
                if dice.percent(50) { keys.chunks(2).map(<[String]>::to_vec).collect() } else { Vec::new() };
            Condition::Difference { at, more_than: measure.resolution * dice.between(0, 30) as f64, between }
        }
        _ => Condition::Trend { at, side: *dice.of(Side::ALL), within_hours: small(dice, 300) },
    }
}

/// Kinds of item and rule that no shipped checklist has together.
const EVERY_KIND: &str = r#"
name = "every-kind"
title = "Every kind"
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
positions = ["front left", "front right", "rear left", "rear right"]
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
positions = ["front left", "front right", "rear left", "rear right"]

[[zone.item]]
key = "wheel-play"
title = "Wheel_play"
todo = "Measure it."
accept = "Little."
system = "steering"
asks = "measure"
positions = ["left", "right"]
may_be_corrected = true
[zone.item.measure]
base = "mm"
units = ["mm"]
resolution = "0.5 mm"
plausible = ["0 mm", "60 mm"]
limits = [{ at_most = "10 mm" }]

[[zone.item]]
key = "coolant-heat"
title = "Coolant temperature"
todo = "Read it."
accept = "Neither hot nor cold."
system = "cooling"
asks = "measure"
[zone.item.measure]
base = "°C"
units = ["°C", "°F"]
resolution = "1 °C"
plausible = ["-40 °C", "160 °C"]
limits = [{ warmth = "warm", at_least = "60 °C" }, { at_most = "105 °C" }, { warmth = "cold", at_most = "70 °C" }]

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
key = "tyre"
title = "Tyre pressure"
todo = "Measure it."
accept = "Enough."
system = "tyres and wheels"
asks = "measure"
positions = ["left", "right"]
may_be_corrected = true
may_be_not_applicable = true
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

[[rule]]
name = "pad wears"
severity = "monitor"
when = [{ item = "pad", trend = "below limit", within_hours = 50 }]
instruction = "Order pads."
good_for_days = 7

[[rule]]
name = "wheel loosens"
severity = "monitor"
when = [{ item = "wheel-play", trend = "above limit", within_hours = 80 }]
instruction = "Order bearings."
good_for_hours = 30

[[rule]]
name = "pads differ"
severity = "monitor"
when = [{ item = "pad", apart = "1 mm", between = [["front-left", "front-right"], ["rear-left", "rear-right"]] }]
instruction = "Look at the caliper."
good_for_days = 3

[[rule]]
name = "play differs"
severity = "monitor"
when = [{ item = "wheel-play", apart = "2 mm" }]
instruction = "Look at the bearing."
good_for_days = 3

[[rule]]
name = "disc again"
severity = "out of service"
when = [{ item = "disc", back_within_days = 30 }]
instruction = "Do not use it."

[[rule]]
name = "fluid drinks"
severity = "out of service"
when = [{ item = "fluid", corrected_amount = "200 mL", within_days = 14 }]
instruction = "Do not use it."
final = true

[[rule]]
name = "tyre low at 20"
severity = "out of service"
when = [{ item = "tyre", value = "below limit", at_temperature = "20 °C" }]
instruction = "Do not use it."

[[rule]]
name = "tyre again and again"
severity = "monitor"
when = [{ item = "tyre", corrected_times = 2, within_days = 14 }, { load = "laden" }]
instruction = "Look for the leak."
good_for_days = 2
"#;
