//! The shifts of a day as people type them: "07:00-15:30", several with a comma between.

use chrono::{NaiveTime, Weekday};

use super::{Shift, ShiftFault, Week};
use crate::domain::refusal::{Problem, Refusal};

pub const DAYS: [Weekday; 7] =
    [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];

/// Key of the word for a day in the catalogues.
pub const fn key_of_day(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "day-monday",
        Weekday::Tue => "day-tuesday",
        Weekday::Wed => "day-wednesday",
        Weekday::Thu => "day-thursday",
        Weekday::Fri => "day-friday",
        Weekday::Sat => "day-saturday",
        Weekday::Sun => "day-sunday",
    }
}

impl Week {
    /// Reads a text a day, Monday first. Every text that cannot be read is told at once, by its place: `/shifts/0`.
    pub fn typed(days: &[String; 7]) -> Result<Self, Refusal> {
        let (mut shifts, mut problems) = (Vec::new(), Vec::new());
        for (n, (day, text)) in DAYS.into_iter().zip(days).enumerate() {
            for part in text.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()) {
                match part.split_once(['-', '–']).and_then(|(from, to)| Some((clock(from)?, clock(to)?))) {
                    Some((from, to)) => shifts.push(Shift { day, from, to }),
                    None => problems.push(Problem {
                        pointer: format!("/shifts/{n}"),
                        sentence: said!("shift-not-read", text = part),
                    }),
                }
            }
        }
        if !problems.is_empty() {
            return Err(Refusal::Invalid { problems });
        }
        Week::new(shifts).map_err(|fault| {
            let (day, sentence) = match fault {
                ShiftFault::NoLength(s) => (s.day, said!("shift-no-length", shift = in_words(&s))),
                ShiftFault::Overlap(a, b) => {
                    (b.day, said!("shift-overlap", one = in_words(&a), other = in_words(&b)))
                }
            };
            Refusal::invalid(format!("/shifts/{}", day.num_days_from_monday()), sentence)
        })
    }

    /// What would be typed for it, Monday first.
    pub fn as_typed(&self) -> [String; 7] {
        DAYS.map(|day| {
            let of_day: Vec<_> = self.shifts().iter().filter(|s| s.day == day).map(in_words).collect();
            of_day.join(", ")
        })
    }
}

fn in_words(shift: &Shift) -> String {
    format!("{}-{}", shift.from.format("%H:%M"), shift.to.format("%H:%M"))
}

/// "7", "07:00", "7.30". Midnight at the end of a day is 24:00 or 00:00.
fn clock(text: &str) -> Option<NaiveTime> {
    let text = text.trim();
    let (hours, minutes) = text.split_once([':', '.']).unwrap_or((text, "0"));
    let figure = |t: &str| {
        (!t.is_empty() && t.len() <= 2 && t.bytes().all(|b| b.is_ascii_digit())).then(|| t.parse().ok())?
    };
    match (figure(hours)?, figure(minutes)?) {
        (24, 0) => Some(NaiveTime::MIN),
        (h, m) => NaiveTime::from_hms_opt(h, m, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn week(monday: &str, tuesday: &str) -> Result<Week, Refusal> {
        let mut days: [String; 7] = Default::default();
        days[0] = monday.to_owned();
        days[1] = tuesday.to_owned();
        Week::typed(&days)
    }

    #[test]
    fn what_is_typed_reads_back() {
        let typed = week("7-15.30, 22:00–6:00", "").unwrap();
        assert_eq!(typed.as_typed()[0], "07:00-15:30, 22:00-06:00");
        assert_eq!(Week::typed(&typed.as_typed()).unwrap(), typed);
        assert_eq!(week("16:00-24:00", "").unwrap().as_typed()[0], "16:00-00:00");
        assert!(week("", "").unwrap().is_empty());
    }

    #[test]
    fn what_cannot_be_read_is_told_where_it_stands() {
        let told = |monday, tuesday| match week(monday, tuesday) {
            Err(Refusal::Invalid { problems }) => problems.into_iter().map(|p| p.pointer).collect(),
            _ => Vec::new(),
        };
        assert_eq!(told("seven to three", "25:00-26:00"), ["/shifts/0", "/shifts/1"]);
        assert_eq!(told("07:00-07:00", ""), ["/shifts/0"]);
        assert_eq!(told("22:00-06:00", "05:00-13:00"), ["/shifts/1"], "the night runs into the morning");
        assert_eq!(told("7:000-8", ""), ["/shifts/0"]);
    }
}
