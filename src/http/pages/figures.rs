//! A machine's figures in words: availability, failures and their trend, what restoring it went on, what it costs, and how
//! what is measured on it wears. On the record, and in the archive for an inspector.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::chart::{Bar, Graph, bars};
use super::markup::Markup;
use super::shown::{When, amount, day, span, when};
use crate::domain::history::Point;
use crate::domain::money;
use crate::domain::reliability::failing::{Course, FEWEST, Way};
use crate::domain::reliability::keep::{Typed, cost_an_hour, keep_or_replace};
use crate::domain::reliability::mtbf::Mtbf;
use crate::domain::reliability::restoration::Phase;
use crate::domain::trend::Edge;
use crate::domain::unit::{Figure, Hours};
use crate::words::here;
use crate::workflow::{MachineFigures, Wear, YEAR};

pub struct Figures {
    pub facts: Vec<(String, String)>,
    pub split: Split,
    pub downs: Vec<Stood>,
    /// There are more than are shown.
    pub cut: bool,
}

/// What time went on: a chart, and its table.
pub struct Split {
    pub chart: Markup,
    pub rows: Vec<SplitRow>,
}

pub struct SplitRow {
    pub phase: Phase,
    pub words: String,
    pub time: String,
    /// Of one time out of service; empty where there is none.
    pub mean: String,
    pub share: String,
}

pub struct Stood {
    pub from: When,
    pub to: String,
    pub length: String,
    pub failure: bool,
    /// What most of it went on.
    pub most: String,
}

/// What it costs, line by line.
pub struct Costs {
    pub lines: Vec<(String, String)>,
    /// Of what was typed; empty until something was, or where that makes no sense.
    pub keep: Vec<(String, String)>,
    pub verdict: String,
    /// Where less than a year is on record; else empty.
    pub thin: String,
    pub wrong: String,
}

#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default)]
pub struct KeepTyped {
    pub price: String,
    pub brings: String,
    pub years: String,
    pub repairs: String,
}

pub struct Worn {
    /// At which engine hours it is expected at its limit, by a trend that leads there; 0 where it is past it already.
    pub ends_at: Option<f64>,
    pub title: String,
    pub chart: Markup,
    pub said: String,
}

const MOST_DOWNS: usize = 50;

pub fn figures(f: &MachineFigures, zone: &str) -> Figures {
    let now = f.now;
    let since = day(f.window.from, zone, now).words;
    let mut facts = Vec::new();
    let available = match f.calendar.share() {
        Some(share) => {
            t!("figures-available-said", share = percent(share), since = since, down = span(f.calendar.down))
        }
        None => t!("figures-nothing-yet"),
    };
    facts.push((t!("figures-available"), available));
    let working = match f.working.and_then(|w| Some((w, w.share()?))) {
        Some((w, share)) => t!(
            "figures-working-said",
            share = percent(share),
            down = whole_hours(w.down),
            wanted = whole_hours(w.wanted)
        ),
        None => t!("figures-working-none"),
    };
    facts.push((t!("figures-working"), working));
    facts.push((t!("figures-mtbf"), between_failures(f.mtbf.as_ref(), f.by_engine)));
    facts.push((t!("figures-course"), course_said(f.course, f.against_a_year_ago)));
    let total: TimeDelta = f.restoring.values().sum();
    let restored = i32::try_from(f.restored).unwrap_or(i32::MAX);
    facts.push((
        t!("figures-restoration"),
        if restored == 0 {
            t!("figures-restoration-none")
        } else {
            t!("figures-restoration-said", mean = span(total / restored), count = restored)
        },
    ));
    let downs = f.downs.iter().take(MOST_DOWNS).map(|(d, split)| {
        let most = split.iter().max_by_key(|(_, time)| **time).map(|(p, _)| p.here()).unwrap_or_default();
        let to = if d.back { when(d.span.to, zone, now).words } else { t!("figures-still") };
        Stood {
            from: when(d.span.from, zone, now),
            to,
            length: span(d.span.length()),
            failure: d.failure,
            most,
        }
    });
    Figures {
        facts,
        split: split(&f.restoring, f.restored, &t!("figures-split")),
        downs: downs.collect(),
        cut: f.downs.len() > MOST_DOWNS,
    }
}

/// Longest first.
pub fn split(parts: &BTreeMap<Phase, TimeDelta>, times: usize, says: &str) -> Split {
    let whole: TimeDelta = parts.values().sum();
    let mut parts: Vec<(Phase, TimeDelta)> =
        parts.iter().map(|(p, t)| (*p, *t)).filter(|(_, t)| *t > TimeDelta::zero()).collect();
    parts.sort_by_key(|(p, t)| (std::cmp::Reverse(*t), *p));
    let share = |t: TimeDelta, of: TimeDelta| t.as_seconds_f64() / of.as_seconds_f64().max(1e-9);
    let longest = parts.first().map_or(TimeDelta::zero(), |p| p.1);
    let times = i32::try_from(times).unwrap_or(i32::MAX);
    let rows: Vec<SplitRow> = parts
        .iter()
        .map(|(phase, time)| SplitRow {
            phase: *phase,
            words: phase.here(),
            time: span(*time),
            mean: if times > 0 { span(*time / times) } else { String::new() },
            share: percent_short(share(*time, whole)),
        })
        .collect();
    let drawn: Vec<Bar> = rows
        .iter()
        .zip(&parts)
        .map(|(row, (_, time))| Bar {
            words: row.words.clone(),
            length: share(*time, longest),
            figure: format!("{} · {}", row.time, row.share),
        })
        .collect();
    Split { chart: bars(says, &drawn), rows }
}

pub fn between_failures(mtbf: Option<&Mtbf>, by_engine: bool) -> String {
    let Some(m) = mtbf else { return t!("figures-nothing-yet") };
    let hours = |h: f64| here().figure(&if h < 100.0 { format!("{h:.1}") } else { format!("{h:.0}") });
    let (total, low) = (hours(m.total), hours(m.low));
    match (m.mean.map(hours), m.high.map(hours), by_engine) {
        (Some(mean), Some(high), true) => {
            t!(
                "figures-mtbf-engine",
                mean = mean,
                failures = m.failures,
                total = total,
                low = low,
                high = high
            )
        }
        (Some(mean), Some(high), false) => {
            t!(
                "figures-mtbf-calendar",
                mean = mean,
                failures = m.failures,
                total = total,
                low = low,
                high = high
            )
        }
        (_, _, true) => t!("figures-mtbf-none-engine", total = total, low = low),
        (_, _, false) => t!("figures-mtbf-none-calendar", total = total, low = low),
    }
}

/// `times`: the rate now against that of a year ago, where that can be said.
pub fn course_said(course: Course, times: Option<f64>) -> String {
    let said = times.map(|t| here().figure(&format!("{t:.1}")));
    match (course, said) {
        (Course::TooFew(count), _) => t!("figures-course-few", count = count, fewest = FEWEST),
        (Course::NoTrend, _) => t!("figures-course-none"),
        (Course::Perhaps(Way::More), _) => t!("figures-course-perhaps-more"),
        (Course::Perhaps(Way::Less), _) => t!("figures-course-perhaps-less"),
        (Course::Trend(Way::More), Some(times)) => t!("figures-course-more-times", times = times),
        (Course::Trend(Way::More), None) => t!("figures-course-more"),
        (Course::Trend(Way::Less), Some(times)) => t!("figures-course-less-times", times = times),
        (Course::Trend(Way::Less), None) => t!("figures-course-less"),
    }
}

/// The names of the terms, and how each is reckoned.
pub fn definitions() -> Vec<(String, String)> {
    vec![
        (t!("figures-available"), t!("figures-def-available")),
        (t!("figures-working"), t!("figures-def-working")),
        (t!("figures-failure"), t!("figures-def-failure")),
        (t!("figures-mtbf"), t!("figures-def-mtbf")),
        (t!("figures-course"), t!("figures-def-course")),
        (t!("figures-restoration"), t!("figures-def-restoration")),
    ]
}

pub fn costs(f: &MachineFigures, typed: &KeepTyped, currency: &str) -> Costs {
    let money = |minor| amount(minor, currency);
    let an_hour = |cost, hours: Hours| match cost_an_hour(cost, hours.0) {
        Some(minor) => t!("figures-an-hour", cost = money(minor), whole = money(cost), hours = hours),
        None => t!("figures-no-hours", whole = money(cost)),
    };
    let lines = vec![
        (t!("figures-cost-year"), an_hour(f.cost, f.hours)),
        (t!("figures-cost-before"), an_hour(f.cost_before, f.hours_before)),
    ];
    let known = f.window.length();
    let thin = if known < YEAR { t!("figures-cost-thin", days = known.num_days()) } else { String::new() };
    let nothing = Costs { lines, keep: Vec::new(), verdict: String::new(), thin, wrong: String::new() };
    if typed.price.trim().is_empty() {
        return nothing;
    }
    let or_nothing = |text: &str| if text.trim().is_empty() { Some(0) } else { money::parse(text) };
    let read = || {
        Some(Typed {
            price: money::parse(&typed.price)?,
            brings: or_nothing(&typed.brings)?,
            years: typed.years.trim().parse().ok()?,
            repairs: or_nothing(&typed.repairs)?,
        })
    };
    let Some((typed, sum)) = read().and_then(|t| Some((t, keep_or_replace(f.cost, t)?))) else {
        return Costs { wrong: t!("figures-keep-wrong"), ..nothing };
    };
    let keep = vec![
        (t!("figures-keep-price"), money(typed.price)),
        (t!("figures-keep-less"), money(typed.brings)),
        (t!("figures-keep-paid"), money(sum.paid)),
        (t!("figures-keep-a-year", years = typed.years), money(sum.paid_a_year)),
        (t!("figures-keep-its-repairs"), money(typed.repairs)),
        (t!("figures-keep-replace"), money(sum.replace_a_year)),
        (t!("figures-keep-keep"), money(sum.keep_a_year)),
    ];
    let apart = money(sum.keep_costs_more.abs());
    let verdict = match sum.keep_costs_more {
        0 => t!("figures-keep-same"),
        more if more > 0 => t!("figures-keep-dearer", apart = apart),
        _ => t!("figures-keep-cheaper", apart = apart),
    };
    Costs { keep, verdict, ..nothing }
}

pub fn worn(w: &Wear, now: DateTime<Utc>) -> Worn {
    let title = w.title.to_string();
    let figure = |base: f64| Figure(w.measure.in_unit(base, w.unit));
    let by_hours = w.readings.iter().all(|p| p.engine_hours.is_some());
    let first = w.readings.iter().map(|p| p.at).min().unwrap_or(now);
    let x = |p: &Point| match p.engine_hours.filter(|_| by_hours) {
        Some(hours) => hours.as_f64(),
        None => (p.at - first).as_seconds_f64() / 86_400.0,
    };
    let mut points: Vec<(f64, f64)> = w.readings.iter().map(|p| (x(p), w.unit.from_base(p.base))).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let past = points.last().is_some_and(|(_, last)| {
        w.at_least.is_some_and(|l| *last < w.unit.from_base(l))
            || w.at_most.is_some_and(|l| *last > w.unit.from_base(l))
    });
    let mut limits = Vec::new();
    limits.extend(w.at_least.map(|l| (w.unit.from_base(l), t!("figures-at-least", figure = figure(l)))));
    limits.extend(w.at_most.map(|l| (w.unit.from_base(l), t!("figures-at-most", figure = figure(l)))));
    let crossing = w.line.as_ref().zip(w.edge).and_then(|(line, edge)| line.crossing_of(edge));
    let line = w.line.as_ref().filter(|_| by_hours).map(|line| {
        // As far as the limit, but no further than what was seen is long.
        let reach = line.to_hours + (line.to_hours - line.from_hours);
        let to = crossing.map_or(reach, |c| c.expected.clamp(line.to_hours, reach));
        let at = |hours: f64| (hours, w.unit.from_base(line.at(hours)));
        (at(line.from_hours), at(to))
    });
    let hours = |h: f64| here().figure(&format!("{h:.0}"));
    let said = match (crossing, w.edge) {
        (Some(c), Some(Edge::AtLeast(limit) | Edge::AtMost(limit))) => t!(
            "figures-wear-crossing",
            limit = figure(limit),
            expected = hours(c.expected),
            earliest = hours(c.earliest),
            latest = hours(c.latest)
        ),
        _ if w.line.is_some() => t!("figures-wear-away"),
        _ => t!("figures-wear-no-trend"),
    };
    let graph = Graph {
        says: t!("figures-wear-says", title = title, count = points.len()),
        x_unit: if by_hours { t!("figures-axis-hours") } else { t!("figures-axis-days") },
        y_unit: w.unit.to_string(),
        points,
        limits,
        line,
        ..Graph::default()
    };
    let ends_at = if past { Some(0.0) } else { crossing.map(|c| c.expected) };
    Worn { ends_at, chart: graph.svg(), title, said }
}

/// "97.43 %".
pub fn percent(share: f64) -> String {
    here().figure(&format!("{:.2} %", share * 100.0))
}

/// "97 %".
pub fn percent_short(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// "1,234 h" without days, for sums of working time.
pub fn whole_hours(time: TimeDelta) -> String {
    t!("figures-hours", hours = time.num_hours())
}
