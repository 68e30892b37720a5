//! Conditions that look beyond one reading: at the other positions, at what was put right before, at what was
//! released, at the trend, and at the weather.

use super::TrendAt;
use super::matching::{Fact, Sheet};
use super::telling::of;
use crate::domain::air;
use crate::domain::checklist::{Checklist, Condition, Measure, Side, Window};
use crate::domain::history::Since;
use crate::domain::reading::{Outcome, Reading};
use crate::domain::trend::{Edge, Line, Trend, too_few};
use crate::domain::unit::{Figure, Hours, Unit, in_words};
use crate::words::Text;

/// The name under which an explanation by the weather stands beside the rules.
pub const AIR_TEMPERATURE: &str = "air temperature";

impl Sheet<'_> {
    /// Holds at the worse of two positions that differ too much: the lower one, or the higher one where only too much
    /// is wrong. So it is one finding, not two.
    pub(super) fn difference(&self, stop: usize, more_than: f64, between: &[Vec<String>]) -> Option<Fact> {
        let here = &self.stops[stop];
        let measure = here.item.measure()?;
        let own_key = &here.position?.key;
        let own = self.reading(stop)?.value.as_ref()?;
        let high_is_worse = measure.limits.iter().all(|l| l.at_least.is_none());
        let together = |key: &String| {
            let groups = || between.iter().filter(|g| g.contains(own_key));
            between.is_empty() || groups().any(|g| g.contains(key))
        };
        let badness = |base: f64| if high_is_worse { base } else { -base };
        let other = self
            .stops
            .iter()
            .filter(|s| s.index != stop && s.item.key == here.item.key)
            .filter(|s| s.position.is_some_and(|p| together(&p.key)))
            .filter_map(|s| self.answered_value(s.index).map(|base| (s, base)))
            .min_by(|a, b| badness(a.1).total_cmp(&badness(b.1)))?;
        let apart = badness(own.base) - badness(other.1);
        if !measure.is_above(apart, more_than) {
            return None;
        }
        let beside = &other.0.position?.title;
        let text = said!(
            if high_is_worse { "judge-more-than" } else { "judge-less-than" },
            apart = Figure(measure.apart_in_unit(apart, own.unit)),
            position = beside,
            most = Figure(measure.apart_in_unit(more_than, own.unit))
        );
        Some(Fact { seen: Some(self.describe(stop)), beside: Some(other.0.index), ..Fact::of(stop, text) })
    }

    fn answered_value(&self, stop: usize) -> Option<f64> {
        let answered = self.outcome(stop).filter(|o| *o != Outcome::NotApplicable);
        answered.and_then(|_| self.reading(stop)?.value.as_ref()).map(|v| v.base)
    }

    /// Holds when this check adds to it: put right again, or found wrong again.
    pub(super) fn corrected(
        &self,
        stop: usize,
        outcome: Outcome,
        times: Option<u32>,
        amount: Option<f64>,
        within: Window,
    ) -> Option<Fact> {
        if !matches!(outcome, Outcome::Corrected | Outcome::Defect) {
            return None;
        }
        let (item, position) = self.at(stop);
        let before = self.history.corrections(
            &item,
            position.as_deref(),
            within,
            self.hours_now(&item, position.as_deref()),
        );
        let today =
            self.reading(stop)?.correction.as_ref().and_then(|c| c.amount.as_ref()).map_or(0.0, |a| a.base);
        let (count, total) = (before.0.saturating_add(1), before.1 + today);
        // Sums of hundredths of a litre: a hair below the figure is the figure.
        let enough = |figure: &f64| total >= figure - 1e-9;
        if times.is_some_and(|t| count < t) || !amount.as_ref().is_none_or(enough) {
            return None;
        }
        let text = match amount {
            Some(_) => {
                let unit = self.stops[stop].item.corrected_unit.unwrap_or(Unit::Litre);
                let amount = Figure(in_words(unit.from_base(total), unit));
                said!("judge-corrected-amount", amount = amount, window = within.in_words())
            }
            None if outcome == Outcome::Defect => {
                said!("judge-not-right-times", count = count, window = within.in_words())
            }
            None => said!("judge-corrected-times", count = count, window = within.in_words()),
        };
        Some(Fact { seen: Some(self.describe(stop)), ..Fact::of(stop, text) })
    }

    pub(super) fn recurs(&self, stop: usize, outcome: Outcome, within_days: u32) -> Option<Fact> {
        let (item, position) = self.at(stop);
        let days = self.history.days_since_release(&item, position.as_deref())?;
        if outcome != Outcome::Defect || days > i64::from(within_days) {
            return None;
        }
        let text = said!("judge-back", days = days);
        Some(Fact { seen: Some(self.describe(stop)), ..Fact::of(stop, text) })
    }

    /// Judged twice, and either is enough: by the line through the earlier readings, and by going on from today's
    /// reading at that line's slope. Today's reading is not fitted itself: a reading far off the line would widen the
    /// scatter, and a worse one could then hide the very wear that it shows.
    pub(super) fn may_pass(&self, stop: usize, side: Side, within_hours: u32) -> Option<Fact> {
        let here = &self.stops[stop];
        let measure = here.item.measure()?;
        let hours_on = f64::from(within_hours);
        let line = self.trend_at(stop).line()?;
        for edge in self.edges(measure, side).into_iter().filter(|e| line.runs_towards(*e)) {
            let now = self.hours_at(stop).unwrap_or(line.to_hours).max(line.to_hours);
            let value = self.reading(stop)?.value.as_ref();
            // What was put right today goes on from where it was left, not from where the line had come to.
            let by_line = self.outcome(stop) != Some(Outcome::Corrected)
                && edge.may_be_passed(&line.predict(now + hours_on));
            let from_today = value.map(|v| (v, line.predict_from(v.base, hours_on)));
            let by_today = from_today.as_ref().is_some_and(|(_, p)| edge.may_be_passed(p));
            if !by_line && !by_today {
                continue;
            }
            let unit = value.map_or(measure.units[0], |v| v.unit);
            let low = matches!(edge, Edge::AtLeast(_));
            let figure = Figure(measure.in_unit(edge.figure(), unit));
            let mut details = vec![told(line, edge, measure, unit)];
            if let Some((v, p)) = from_today.filter(|_| by_today) {
                details.push(said!(
                    "judge-from-today",
                    value = v,
                    hours = within_hours,
                    expected = Figure(measure.in_unit(p.expected, unit)),
                    worst = Figure(measure.in_unit(if low { p.low } else { p.high }, unit))
                ));
            }
            let key = if low { "judge-may-be-below" } else { "judge-may-be-above" };
            let text = said!(key, figure = figure, hours = within_hours);
            return Some(Fact { seen: Some(self.describe(stop)), details, ..Fact::of(stop, text) });
        }
        None
    }

    /// What the trend of every item that a rule follows says, or why it says nothing.
    pub(super) fn trends(&self, checklist: &Checklist) -> Vec<TrendAt> {
        let followed = |item: &str| {
            let sides = checklist.rules.iter().flat_map(|r| &r.when).filter_map(|c| match c {
                Condition::Trend { at, side, .. } if at.item == item => Some(*side),
                _ => None,
            });
            sides.reduce(|a, b| if a == b { a } else { Side::Outside })
        };
        let mut trends = Vec::new();
        for stop in self.stops {
            let (Some(measure), Some(side)) = (stop.item.measure(), followed(&stop.item.key)) else {
                continue;
            };
            let edges = self.edges(measure, side);
            let mut trend = self.trend_at(stop.index).clone();
            let unit =
                self.reading(stop.index).and_then(|r| r.value.as_ref()).map_or(measure.units[0], |v| v.unit);
            let (item, position) = self.at(stop.index);
            let (words, said) = match &mut trend {
                Trend::Unknown { why } => (self.unknown(&item, position.as_deref(), why), why.clone()),
                Trend::Known(line) => {
                    // Towards the limit it runs into, where there is one on each side.
                    let ahead = edges.iter().find(|e| line.runs_towards(**e)).or(edges.first());
                    let Some(edge) = ahead else { continue };
                    line.crossing = line.crossing_of(*edge);
                    let figure = Figure(measure.in_unit(edge.figure(), unit));
                    (self.ahead(stop.index, measure, line, *edge, &figure), told(line, *edge, measure, unit))
                }
            };
            let title = stop.title();
            let sentence = of(&title, &said);
            trends.push(TrendAt { item, position, title, words, sentence, trend });
        }
        trends
    }

    /// "may be below 1.5 mm within 40 engine hours": by the line or from today's reading, whichever is sooner, as a rule
    /// on a trend is judged.
    fn ahead(&self, stop: usize, measure: &Measure, line: &Line, edge: Edge, figure: &Figure) -> Text {
        let now = self.hours_at(stop).unwrap_or(line.to_hours).max(line.to_hours);
        let by_line = line.crossing_of(edge).map(|c| c.earliest - now);
        let by_line = by_line.filter(|_| self.outcome(stop) != Some(Outcome::Corrected));
        let value = self.reading(stop).and_then(|r| r.value.as_ref());
        let from_today = value.and_then(|v| line.earliest_from(v.base, edge));
        let (low, past) = match edge {
            Edge::AtLeast(least) => (true, value.is_some_and(|v| measure.is_below(v.base, least))),
            Edge::AtMost(most) => (false, value.is_some_and(|v| measure.is_above(v.base, most))),
        };
        let either = |below: &'static str, above: &'static str| if low { below } else { above };
        if past {
            return said!(either("judge-is-below-now", "judge-is-above-now"), figure = figure);
        }
        match by_line.into_iter().chain(from_today).reduce(f64::min) {
            None => said!("judge-moves-away", figure = figure),
            Some(left) if left < 1.0 => {
                said!(either("judge-below-any-time", "judge-above-any-time"), figure = figure)
            }
            Some(left) if left < 2.0 => {
                said!(either("judge-below-within-one", "judge-above-within-one"), figure = figure)
            }
            Some(left) => {
                let hours = Figure(format!("{:.0}", left.floor()));
                said!(either("judge-below-within", "judge-above-within"), figure = figure, hours = hours)
            }
        }
    }

    /// "unknown: only 3 readings since the part was replaced".
    fn unknown(&self, item: &str, position: Option<&str>, why: &Text) -> Text {
        let (points, since) = self.history.newest_series(item, position);
        let reason = match too_few(&points) {
            Some(few) => said!("judge-earlier-readings", count = few),
            None => why.map(|why| {
                let reason = why.split_once(": ").map_or(why, |(_, reason)| reason);
                reason.trim_end_matches('.').to_owned()
            }),
        };
        let key = match since {
            Since::TheBeginning => "judge-unknown",
            Since::PartReplaced => "judge-unknown-replaced",
            Since::PutRight => "judge-unknown-put-right",
        };
        said!(key, reason = reason)
    }

    fn trend_at(&self, stop: usize) -> &Trend {
        self.trends[stop].get_or_init(|| {
            let (item, position) = self.at(stop);
            self.history.trend(&item, position.as_deref(), None)
        })
    }

    /// The limits of this context that a value may run into.
    fn edges(&self, measure: &Measure, side: Side) -> Vec<Edge> {
        let bounds = measure.bounds(self.under);
        let low = bounds.at_least.filter(|_| side != Side::Above).map(Edge::AtLeast);
        let high = bounds.at_most.filter(|_| side != Side::Below).map(Edge::AtMost);
        low.into_iter().chain(high).collect()
    }

    fn hours_at(&self, stop: usize) -> Option<f64> {
        let (item, position) = self.at(stop);
        self.hours_now(&item, position.as_deref()).map(Hours::as_f64)
    }

    /// The hour meter now, or as last known at this place when the operator did not give it.
    fn hours_now(&self, item: &str, position: Option<&str>) -> Option<Hours> {
        let last = || self.history.points(item, position).iter().max_by_key(|p| p.at)?.engine_hours;
        self.context.engine_hours.or_else(last)
    }

    /// A pressure brought to the rule's temperature, when the air temperature is stated; as read otherwise.
    pub(super) fn brought_to(&self, at_temperature: Option<f64>, base: f64) -> f64 {
        match (at_temperature, &self.context.air) {
            (Some(to), Some(air)) => air::at_temperature(base, air.base, to, self.ambient()),
            _ => base,
        }
    }

    fn ambient(&self) -> f64 {
        air::ambient_pressure(self.context.altitude_m.unwrap_or(0))
    }

    /// What of a low pressure the air temperature explains, for a tyre that some rule judges at a temperature. It never
    /// excuses the reading: what is low stays low, and what is missing beyond the weather is said.
    pub(super) fn weather(&self, checklist: &Checklist, stop: usize) -> Option<Text> {
        let item = self.stops[stop].item;
        let air = self.context.air.as_ref()?;
        let measure = item.measure()?;
        let value = self.reading(stop).and_then(|r: &Reading| r.value.as_ref())?;
        let of_item = |c: &&Condition| c.at().is_some_and(|at| at.item == item.key);
        let stated = checklist.rules.iter().flat_map(|r| &r.when).filter(of_item);
        let celsius = stated.filter_map(Condition::at_temperature).next()?;
        let limit = measure.bounds(self.under).at_least?;
        let unit = value.unit;
        // What a tyre that just meets its limit at the rule's temperature reads in today's air.
        let reads = air::at_temperature(limit, celsius, air.base, self.ambient());
        if !measure.is_below(reads, limit) && !measure.is_above(reads, limit) {
            return None;
        }
        let low = measure.is_below(value.base, limit);
        let gone = measure.is_below(value.base, reads);
        let key = match (gone, low) {
            (true, true) if reads < limit => "judge-weather-cold-and-gone",
            (true, _) => "judge-weather-gone",
            (false, true) => "judge-weather-cold",
            (false, false) => return None,
        };
        let shown = |base: f64| Figure(measure.in_unit(base, unit));
        let (limit, celsius, gone) = (
            shown(limit),
            Figure(celsius.to_string()),
            Figure(measure.apart_in_unit(reads - value.base, unit)),
        );
        let reads = shown(reads);
        Some(if key == "judge-weather-cold" {
            said!(key, limit = limit, celsius = celsius, reads = reads, air = air)
        } else {
            said!(key, limit = limit, celsius = celsius, reads = reads, air = air, gone = gone)
        })
    }
}

/// "12 earlier readings over 480 h: 1.5 mm expected at 927 h, between 880 h and 990 h (95 %)."
fn told(line: &Line, edge: Edge, measure: &Measure, unit: Unit) -> Text {
    let over = format!("{:.0}", line.to_hours - line.from_hours);
    let figure = Figure(measure.in_unit(edge.figure(), unit));
    let whole = |hours: f64| format!("{hours:.0}");
    match line.crossing_of(edge) {
        Some(c) => said!(
            "judge-trend-ahead",
            points = line.points,
            over = over,
            figure = figure,
            expected = whole(c.expected),
            earliest = whole(c.earliest),
            latest = whole(c.latest)
        ),
        None => said!("judge-trend-away", points = line.points, over = over, figure = figure),
    }
}
