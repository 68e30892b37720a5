//! What is known of a machine's earlier checks, as far as rules look back.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::checklist::{Checklist, Condition, Window};
use super::trend::{Edge, MOST_POINTS, Trend, trend};
use super::unit::Hours;

/// Empty for a machine without a past. The check that is being judged is not part of it.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct History {
    /// When the check was taken. Without it the latest moment in the history stands in.
    pub now: Option<DateTime<Utc>>,
    pub series: Vec<Series>,
    pub corrected: Vec<CorrectedAt>,
    pub released: Vec<ReleasedAt>,
    /// When parts were replaced. The series hold what was read since.
    pub renewed: Vec<ReleasedAt>,
}

/// What a series begins with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Since {
    /// As far back as is known.
    TheBeginning,
    PartReplaced,
    PutRight,
}

/// The measured values of an item at one position since its part was last replaced.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Series {
    pub item: String,
    pub position: Option<String>,
    pub points: Vec<Point>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    pub engine_hours: Option<Hours>,
    pub at: DateTime<Utc>,
    pub base: f64,
}

/// An item was put right at a check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CorrectedAt {
    pub item: String,
    pub position: Option<String>,
    pub at: DateTime<Utc>,
    pub engine_hours: Option<Hours>,
    pub amount_base: Option<f64>,
}

/// A defect of this item was released, or closed after a watch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReleasedAt {
    pub item: String,
    pub position: Option<String>,
    pub at: DateTime<Utc>,
}

impl History {
    pub fn points(&self, item: &str, position: Option<&str>) -> &[Point] {
        let series = self.series.iter().find(|s| s.item == item && s.position.as_deref() == position);
        series.map_or(&[], |s| &s.points)
    }

    /// The trend of an item at a position, towards a limit.
    pub fn trend(&self, item: &str, position: Option<&str>, edge: Option<Edge>) -> Trend {
        trend(&self.newest_series(item, position).0, edge)
    }

    /// The readings that a trend may go by, and what they begin with. What was put right begins a new series with the
    /// value it was left at: a track that was tightened does not go on sagging from where it was.
    pub fn newest_series(&self, item: &str, position: Option<&str>) -> (Vec<Point>, Since) {
        let points = self.points(item, position);
        let renewed = last_at(&self.renewed, item, position);
        let put_right = self.corrected.iter().filter(|c| c.item == item && c.position.as_deref() == position);
        match put_right.map(|c| c.at).max() {
            Some(at) if renewed.is_none_or(|r| at > r) => {
                (points.iter().filter(|p| p.at >= at).copied().collect(), Since::PutRight)
            }
            _ if renewed.is_some() => (points.to_vec(), Since::PartReplaced),
            _ => (points.to_vec(), Since::TheBeginning),
        }
    }

    /// Without what no judgement by this checklist depends on: readings that no trend may go by but for the last one,
    /// which knows the hour meter, and what happened before the last release.
    pub fn lean_for(&self, checklist: &Checklist) -> Self {
        let followed = |item: &str| {
            let mut conditions = checklist.rules.iter().flat_map(|r| &r.when);
            conditions.any(|c| matches!(c, Condition::Trend { at, .. } if at.item == item))
        };
        let series = self.series.iter().map(|s| {
            let last = s.points.iter().enumerate().max_by_key(|(_, p)| p.at).map(|(n, _)| n);
            let mut newest = if followed(&s.item) {
                self.newest_series(&s.item, s.position.as_deref()).0
            } else {
                Vec::new()
            };
            newest.retain(|p| p.engine_hours.is_some());
            newest.sort_by_key(|p| std::cmp::Reverse(p.at));
            newest.truncate(MOST_POINTS);
            let since = newest.iter().map(|p| p.at).min();
            let needed = |n: usize, p: &Point| Some(n) == last || since.is_some_and(|at| p.at >= at);
            let points = s.points.iter().enumerate().filter(|(n, p)| needed(*n, p)).map(|(_, p)| *p);
            Series { points: points.collect(), ..s.clone() }
        });
        let counts = |c: &&CorrectedAt| {
            let position = c.position.as_deref();
            let here = self.corrected.iter().filter(|o| o.item == c.item && o.position == c.position);
            // The last one also begins a series.
            here.map(|o| o.at).max() == Some(c.at)
                || self.last_release(&c.item, position).is_none_or(|at| c.at > at)
        };
        let last = |all: &[ReleasedAt]| {
            let is_last = |r: &&ReleasedAt| last_at(all, &r.item, r.position.as_deref()) == Some(r.at);
            all.iter().filter(is_last).cloned().collect()
        };
        Self {
            now: self.now,
            series: series.collect(),
            corrected: self.corrected.iter().filter(counts).cloned().collect(),
            released: last(&self.released),
            renewed: last(&self.renewed),
        }
    }

    /// The moment of judgement: never before anything it knows of.
    pub fn moment(&self) -> Option<DateTime<Utc>> {
        let points = self.series.iter().flat_map(|s| &s.points).map(|p| p.at);
        let others = self.corrected.iter().map(|c| c.at).chain(self.released.iter().map(|r| r.at));
        self.now.or_else(|| points.chain(others).max())
    }

    /// Days since the last release at this place, if there was one.
    pub fn days_since_release(&self, item: &str, position: Option<&str>) -> Option<i64> {
        let released = self.last_release(item, position)?;
        Some((self.moment()? - released).num_days().max(0))
    }

    /// How often and by how much it was put right within the window, up to now. What was released since does not
    /// count: the repair begins a new count.
    pub fn corrections(
        &self,
        item: &str,
        position: Option<&str>,
        within: Window,
        hours_now: Option<Hours>,
    ) -> (u32, f64) {
        let Some(moment) = self.moment() else { return (0, 0.0) };
        let released = self.last_release(item, position);
        let counted = |c: &&CorrectedAt| {
            c.item == item
                && c.position.as_deref() == position
                && released.is_none_or(|at| c.at > at)
                && lies_within(c, within, moment, hours_now)
        };
        let mut counts = (0_u32, 0.0);
        for correction in self.corrected.iter().filter(counted) {
            counts.0 = counts.0.saturating_add(1);
            counts.1 += correction.amount_base.unwrap_or(0.0);
        }
        counts
    }

    fn last_release(&self, item: &str, position: Option<&str>) -> Option<DateTime<Utc>> {
        last_at(&self.released, item, position)
    }
}

fn last_at(list: &[ReleasedAt], item: &str, position: Option<&str>) -> Option<DateTime<Utc>> {
    list.iter().filter(|r| r.item == item && r.position.as_deref() == position).map(|r| r.at).max()
}

/// Engine hours are compared where both are known and of one meter. Otherwise the calendar decides: an engine never
/// runs more hours than have passed, so what happened within N hours by the clock happened within N engine hours.
fn lies_within(
    correction: &CorrectedAt,
    within: Window,
    moment: DateTime<Utc>,
    hours_now: Option<Hours>,
) -> bool {
    let passed = moment - correction.at;
    match within {
        Window::Days(days) => passed <= TimeDelta::days(i64::from(days)),
        Window::Hours(hours) => match (hours_now, correction.engine_hours) {
            (Some(now), Some(then)) if then <= now => now.0 - then.0 <= i64::from(hours) * 10,
            _ => passed <= TimeDelta::hours(i64::from(hours)),
        },
    }
}

#[cfg(test)]
mod tests;
