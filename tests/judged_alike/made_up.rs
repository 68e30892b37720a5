//! One made-up check: what was typed, under which circumstances, and what came before it.

use chock::domain::checklist::{Asks, Checklist, Load, Measure, Stop, Warmth};
use chock::domain::history::{CorrectedAt, History, ReleasedAt, Series};
use chock::domain::reading::{Before, Context, RawAnswer};
use chock::domain::unit::{Hours, Unit};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Map, Value, json};

use super::dice::Dice;
use super::point;
use crate::support::six_in_the_morning;

/// The check as the page sends it, and what it is judged by.
pub struct Made {
    /// Its place among the checklists.
    pub checklist: usize,
    pub load: Load,
    pub warmth: Option<Warmth>,
    /// As typed, like the next two.
    pub air_temperature: Option<String>,
    pub air_unit: Option<String>,
    pub engine_hours: Option<String>,
    pub hours_confirmed: bool,
    pub answers: Vec<RawAnswer>,
    pub before: Before,
    pub altitude_m: Option<i32>,
    pub history: History,
}

impl Made {
    /// With the history as a phone has it.
    pub fn to_json(&self, checklists: &[Checklist]) -> Value {
        let given = |a: &RawAnswer| -> Value {
            let Value::Object(all) = serde_json::to_value(a).expect("JSON") else {
                unreachable!("an object")
            };
            all.into_iter().filter(|(_, v)| !v.is_null()).collect::<Map<_, _>>().into()
        };
        let check = json!({
            "load": self.load,
            "warmth": self.warmth,
            "air_temperature": self.air_temperature,
            "air_unit": self.air_unit,
            "engine_hours": self.engine_hours,
            "hours_confirmed": self.hours_confirmed,
            "answers": self.answers.iter().map(given).collect::<Vec<_>>(),
        });
        let by = json!({
            "hours_before": self.before.engine_hours,
            "altitude_m": self.altitude_m,
            "history": self.history.lean_for(&checklists[self.checklist]),
        });
        json!({"checklist": self.checklist, "check": check, "by": by})
    }
}

pub fn check(checklists: &[Checklist], dice: &mut Dice) -> Made {
    let number = dice.below(checklists.len());
    let checklist = &checklists[number];
    let context = context(dice);
    let stops = checklist.walk();
    // How much is wrong: of a hundred answers.
    let wrong = *dice.of(&[0, 3, 10, 30, 60]);
    let mut answers: Vec<RawAnswer> = stops
        .iter()
        .map(|stop| {
            let mut raw = RawAnswer {
                item: Some(stop.item.key.clone()),
                position: stop.position.map(|p| p.key.clone()),
                ..RawAnswer::default()
            };
            let bad = dice.percent(wrong);
            answer(&mut raw, stop, &context, bad, dice);
            raw
        })
        .collect();
    if dice.percent(25) {
        for _ in 0..=dice.below(4) {
            absurd(&mut answers, dice);
        }
    }
    if dice.percent(20) {
        let by = dice.below(answers.len());
        answers.rotate_left(by);
    }
    let before = match (context.engine_hours, dice.below(10)) {
        (_, 0) | (None, _) => dice.maybe(50, |d| Hours(d.between(0, 40_000))),
        (Some(Hours(now)), _) => Some(Hours((now - dice.between(0, 300)).max(0))),
    };
    let history = history(&stops, context.engine_hours, dice);
    let (air_temperature, air_unit) = air(dice);
    let typed = |hours: Hours, dice: &mut Dice| match dice.below(60) {
        0 => (*dice.of(&["", "-5", "12.55", "twelve", "1,000.5", " 0 "])).to_owned(),
        n if n < 10 => hours.to_string().replace('.', ","),
        n if n < 12 => format!("{hours}0"),
        _ => hours.to_string(),
    };
    Made {
        checklist: number,
        load: context.load,
        warmth: context.warmth,
        air_temperature,
        air_unit,
        engine_hours: context.engine_hours.map(|h| typed(h, dice)),
        hours_confirmed: dice.percent(20),
        answers,
        before: Before { engine_hours: before },
        altitude_m: dice.maybe(50, |d| i32::try_from(d.between(-800, 7_000)).expect("small")),
        history,
    }
}

fn context(dice: &mut Dice) -> Context {
    Context {
        engine_hours: dice.maybe(80, |d| Hours(d.between(2_000, 30_000))),
        warmth: dice.maybe(60, |d| *d.of(Warmth::ALL)),
        ..Context::of(*dice.of(Load::ALL))
    }
}

/// Temperature and unit.
fn air(dice: &mut Dice) -> (Option<String>, Option<String>) {
    let figure = match dice.below(100) {
        0..50 => return (None, None),
        50 => (*dice.of(&["warm", "1.2.3", " ", "-"])).to_owned(),
        51 => dice.between(-90, 90).to_string(),
        _ => format!("{}.{}", dice.between(-30, 41), dice.below(10)),
    };
    let unit = match dice.below(60) {
        0 => (*dice.of(&["psi", "K", "°c", ""])).to_owned(),
        n if n < 15 => "°F".to_owned(),
        _ => "°C".to_owned(),
    };
    (Some(figure), dice.maybe(80, |_| unit))
}

/// As somebody would answer who knows the form; the figures lie about the limits.
fn answer(raw: &mut RawAnswer, stop: &Stop<'_>, context: &Context, bad: bool, dice: &mut Dice) {
    let item = stop.item;
    let put_right = item.may_be_corrected && dice.percent(if bad { 40 } else { 6 });
    raw.note = dice.maybe(3, |d| (*d.of(&["  wet ", "Seen\non the walk", "é – ü", " "])).to_owned());
    if item.may_be_not_applicable && dice.percent(8) {
        raw.outcome = Some("not applicable".into());
        return;
    }
    if put_right {
        raw.outcome = Some("corrected".into());
        raw.correction = Some((*dice.of(&["topped up", " put right ", "tightened"])).to_owned());
        if let Some(unit) = item.corrected_unit {
            raw.amount = dice.maybe(60, |d| (*d.of(&["0.25", "1", ",5", "+2.", "150", "0,75"])).to_owned());
            raw.amount_unit = dice.maybe(40, |d| {
                let fitting: Vec<_> = Unit::ALL.iter().filter(|u| u.quantity() == unit.quantity()).collect();
                d.of(&fitting).to_string().to_uppercase()
            });
        }
    }
    match &item.asks {
        Asks::Level => {
            let level = if bad && !put_right { *dice.of(&["below", "above"]) } else { "between" };
            raw.level = dice.maybe(97, |_| level.to_owned());
            if raw.level.is_none() && !put_right {
                raw.outcome = Some("defect".into());
            }
        }
        Asks::Measure(m) => {
            if bad && !put_right && dice.percent(10) {
                raw.outcome = Some("defect".into());
                return;
            }
            let (figure, unit) = figure(m, context, bad && !put_right, dice);
            raw.value = Some(figure);
            raw.unit = Some(unit);
            if bad && !put_right && dice.percent(20) {
                raw.outcome = Some("defect".into());
            }
        }
        Asks::Condition | Asks::Function if !put_right => {
            raw.outcome = Some(if bad { "defect" } else { "ok" }.into());
        }
        Asks::Condition | Asks::Function => {}
    }
}

/// Near a limit, in one of the item's units, as different people write it.
fn figure(m: &Measure, context: &Context, bad: bool, dice: &mut Dice) -> (String, String) {
    let bounds = m.bounds(context);
    let (least, most) = (bounds.at_least.unwrap_or(m.plausible.0), bounds.at_most.unwrap_or(m.plausible.1));
    let steps = *dice.of(&[0.0, 0.0, 0.45, 0.5, 0.55, 1.0, 1.5, 3.0, 20.0]) + f64::from(u8::from(bad)) * 0.1;
    let off = m.resolution * steps * (1.0 + dice.share() * 0.2);
    let base = match (bad, dice.percent(70)) {
        (false, true) => least + off,
        (false, false) => least + (most - least) * dice.share(),
        (true, true) => least - off,
        (true, false) => most + off,
    };
    let unit = *dice.of(&m.units);
    let read = unit.from_base(base.clamp(m.plausible.0, m.plausible.1));
    let digits = *dice.of(&[0, 1, 1, 2, 2, 3]);
    let mut text = format!("{read:.digits$}");
    if dice.percent(15) {
        text = text.replace('.', ",");
    }
    if dice.percent(5) {
        text = format!(" {} ", text.replace('-', "\u{2212}"));
    }
    let mut unit = unit.to_string();
    if dice.percent(10) {
        unit = unit.to_ascii_uppercase();
    }
    (text, unit)
}

/// What no form would send.
fn absurd(answers: &mut Vec<RawAnswer>, dice: &mut Dice) {
    const WORDS: &[&str] = &[
        "",
        " ",
        "ok",
        "fine",
        "defect",
        "corrected",
        "not applicable",
        "below",
        "between",
        "high",
        "NaN",
        "1e9",
        "0x10",
        "-0",
        "+,",
        "1,234.5",
        "12.3.4",
        "1234567890123",
        "999999",
        "-5",
        "kpa",
        "furlong",
        "°C",
        "US QT",
        "\u{feff}12\u{85}",
        "a\"b\\c\td",
        "bell\u{7}",
        "e\u{301}te\u{200b} \u{a0}x",
        "ok\u{0}",
        "\u{1f600} a figure that is long enough to be cut",
        "front-left",
        "left",
    ];
    let long = |dice: &mut Dice| match dice.below(12) {
        0 => "x".repeat(61),
        1 => "é".repeat(201),
        2 => "w ".repeat(501),
        _ => (*dice.of(WORDS)).to_owned(),
    };
    if answers.is_empty() {
        return;
    }
    let at = dice.below(answers.len());
    if dice.percent(15) {
        answers.remove(at);
        return;
    }
    if dice.percent(10) {
        let twice = answers[at].clone();
        answers.push(twice);
        return;
    }
    let word = dice.maybe(85, long);
    let raw = &mut answers[at];
    if dice.percent(40) {
        slip(raw, dice);
        return;
    }
    match dice.below(10) {
        0 => raw.item = word,
        1 => raw.position = word,
        2 => raw.outcome = word,
        3 => raw.level = word,
        4 | 5 => raw.value = word,
        6 => raw.unit = word,
        7 => raw.amount = word,
        8 => raw.amount_unit = word,
        _ => raw.correction = word,
    }
    if dice.percent(30) {
        let more = Some(long(dice));
        *dice.of_mut([&mut raw.note, &mut raw.amount, &mut raw.outcome, &mut raw.level]) = more;
    }
}

/// A mistake that somebody may well make.
fn slip(raw: &mut RawAnswer, dice: &mut Dice) {
    let mut put = |words: &[&str]| Some((*dice.of(words)).to_owned());
    let which = put(&["outcome", "correction", "amount", "value", "unit"]);
    match which.as_deref() {
        Some("outcome") => raw.outcome = put(&["ok", "defect", "not applicable", "corrected", "OK"]),
        Some("correction") => {
            raw.outcome = put(&["corrected", "ok"]);
            raw.correction = put(&["", "topped up"]);
        }
        Some("amount") => {
            raw.amount = put(&["0", "-1", "2000", "0.5", "half"]);
            raw.amount_unit = put(&["bar", "L", "h", "mL", "cup"]);
            raw.correction = put(&["", "filled"]);
        }
        Some("value") => raw.value = put(&["1,234.5", "1234567890123", "12 mm", "999", "0", "12,5"]),
        _ => raw.unit = put(&["", "bar", "mm", "°F", "in", "PSI"]),
    }
}

fn history(stops: &[Stop<'_>], hours_now: Option<Hours>, dice: &mut Dice) -> History {
    if dice.percent(20) {
        return History::default();
    }
    let now = six_in_the_morning() + TimeDelta::microseconds(dice.between(0, 86_400_000_000));
    let mut history = History { now: dice.maybe(90, |_| now), ..History::default() };
    let end = hours_now.map_or(20_000, |h| h.0);
    for stop in stops {
        let (item, position) = (stop.item.key.clone(), stop.position.map(|p| p.key.clone()));
        if let Some(m) = stop.item.measure().filter(|_| dice.percent(60)) {
            let points = series(m, end, now, dice);
            history.series.push(Series { item: item.clone(), position: position.clone(), points });
        }
        if dice.percent(25) {
            for _ in 0..=dice.below(4) {
                let at = earlier(now, dice);
                history.corrected.push(CorrectedAt {
                    item: item.clone(),
                    position: position.clone(),
                    at,
                    engine_hours: dice.maybe(70, |d| Hours((end - d.between(-100, 1_100)).max(0))),
                    amount_base: dice.maybe(70, |d| d.between(1, 1_500) as f64 / 1_000.0),
                });
            }
        }
        if dice.percent(20) {
            let at = earlier(now, dice);
            let released = ReleasedAt { item, position, at };
            if dice.percent(30) {
                history.renewed.push(released.clone());
            }
            history.released.push(released);
        }
    }
    history
}

/// Often exactly so many days or hours ago as a rule would ask for.
fn earlier(now: DateTime<Utc>, dice: &mut Dice) -> DateTime<Utc> {
    match dice.below(5) {
        0 => now - TimeDelta::days(dice.between(0, 31)),
        1 => now - TimeDelta::hours(dice.between(0, 100)),
        2 => now - TimeDelta::days(dice.between(0, 31)) + TimeDelta::microseconds(dice.between(-1, 1)),
        _ => now - TimeDelta::microseconds(dice.between(0, 90 * 86_400_000_000)),
    }
}

/// Wear along a line, with scatter, as meters and people record it.
fn series(m: &Measure, end: i64, now: DateTime<Utc>, dice: &mut Dice) -> Vec<chock::domain::history::Point> {
    let count = *dice.of(&[0, 1, 3, 4, 5, 8, 12, 20, 60, 75]);
    let limit = m.limits.iter().find_map(|l| l.at_least.or(l.at_most)).unwrap_or(m.plausible.1 / 2.0);
    let slope = (dice.share() - 0.5) * limit * *dice.of(&[0.0, 0.0005, 0.002, 0.01]);
    let scatter = m.resolution * *dice.of(&[0.0, 0.3, 1.0, 4.0]);
    let left = limit * (dice.share() - 0.3) * 0.5;
    let (gap, changed) = (dice.between(1, 120), dice.maybe(8, |d| d.below(count + 1)));
    let mut points = Vec::new();
    let mut hours = (end - gap * i64::try_from(count).expect("small")).max(0);
    for n in 0..count {
        let ago = TimeDelta::hours(8 * i64::try_from(count - n).expect("small"));
        let off = (hours - end) as f64 / 10.0;
        let base = limit + left + slope * off + (dice.share() - 0.5) * scatter;
        let base = if dice.percent(50) { (base * 10.0).round() / 10.0 } else { base };
        let meter = if changed == Some(n) { Some(0) } else { dice.maybe(95, |_| hours) };
        points.push(point(now - ago + TimeDelta::microseconds(dice.between(0, 999_999)), meter, base));
        hours += if dice.percent(70) { gap } else { dice.between(0, 2 * gap) };
    }
    if dice.percent(10) {
        points.reverse();
    }
    points
}
