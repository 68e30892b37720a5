//! Working time laid out once, in whole seconds from a moment on, for whoever asks a million times.

use chrono::{DateTime, Utc};

use super::{Calendar, Span};

/// Beyond what the table knows.
pub const NEVER: i64 = i64::MAX;

/// The spans of one calendar, with how much was worked before each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// (from, to, worked before), in seconds after the table's beginning.
    spans: Vec<(i64, i64, i64)>,
}

/// A place in a table that only moves forward.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cursor(usize);

impl Table {
    pub fn new(calendar: &Calendar, window: Span) -> Self {
        let mut worked = 0;
        let seconds = |at: DateTime<Utc>| (at - window.from).num_seconds();
        let lay = |span: Span| {
            let (from, to) = (seconds(span.from), seconds(span.to));
            let laid = (from, to, worked);
            worked += to - from;
            laid
        };
        Self { spans: calendar.spans(window).into_iter().map(lay).collect() }
    }

    /// The first second of work at or after `at`. The cursor may not have passed it.
    pub fn next_work(&self, cursor: &mut Cursor, at: i64) -> i64 {
        self.forward(cursor, at);
        self.spans.get(cursor.0).map_or(NEVER, |(from, ..)| at.max(*from))
    }

    /// When work of so many seconds is done that begins at or after `at`.
    pub fn done(&self, cursor: &mut Cursor, at: i64, work: i64) -> i64 {
        let begin = self.next_work(cursor, at);
        let Some((from, _, before)) = self.spans.get(cursor.0) else { return NEVER };
        let wanted = before + (begin - from) + work;
        let done = |(from, to, before): &(i64, i64, i64)| before + (to - from) >= wanted;
        match self.spans[cursor.0..].iter().position(done) {
            Some(n) => {
                cursor.0 += n;
                let (from, _, before) = self.spans[cursor.0];
                from + (wanted - before)
            }
            None => {
                cursor.0 = self.spans.len();
                NEVER
            }
        }
    }

    /// Work that lies before `at`.
    pub fn worked_by(&self, at: i64) -> i64 {
        let n = self.spans.partition_point(|(from, ..)| *from < at);
        match n.checked_sub(1).map(|n| self.spans[n]) {
            Some((from, to, before)) => before + (at.min(to) - from),
            None => 0,
        }
    }

    fn forward(&self, cursor: &mut Cursor, at: i64) {
        while self.spans.get(cursor.0).is_some_and(|(_, to, _)| *to <= at) {
            cursor.0 += 1;
        }
    }
}
