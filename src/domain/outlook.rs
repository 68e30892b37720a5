//! How many machines of a class a yard can count on, today and on the days to come. In doubt a machine is not there: one
//! that is likely back during a day is counted on from the next, and one whose watch ends during a day is not counted on
//! for that day.

use chrono::{Days, NaiveDate};

/// Today, and a week.
pub const DAYS: usize = 8;

/// `returns` and `ends` are days by the yard's clock; what lies in the past has not happened, or it would be in `fit`.
pub fn outlook(fit: i64, today: NaiveDate, returns: &[NaiveDate], ends: &[NaiveDate]) -> [i64; DAYS] {
    std::array::from_fn(|n| {
        let day = today.checked_add_days(Days::new(n as u64)).unwrap_or(today);
        // Who is late is not counted on for tomorrow because of yesterday's date.
        let back = returns.iter().filter(|r| (**r).max(today) < day).count();
        let gone = ends.iter().filter(|e| **e <= day).count();
        let of = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        // Today is what it is now.
        if n == 0 { fit } else { (fit + of(back) - of(gone)).max(0) }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(n: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 11, n).unwrap()
    }

    /// By hand: 5 fit on the 10th; one likely back on the 11th, one on the 14th; a watch that ends on the 12th.
    #[test]
    fn returns_count_from_the_next_day_and_ends_from_their_own() {
        let found = outlook(5, day(10), &[day(11), day(14)], &[day(12)]);
        assert_eq!(found, [5, 5, 5, 5, 5, 6, 6, 6]);
        assert_eq!(outlook(5, day(10), &[], &[day(12)]), [5, 5, 4, 4, 4, 4, 4, 4]);
    }

    #[test]
    fn what_should_have_been_is_counted_on_tomorrow_at_the_earliest() {
        assert_eq!(outlook(0, day(10), &[day(8)], &[])[..2], [0, 1]);
        assert_eq!(outlook(0, day(10), &[], &[day(9)]), [0; DAYS]);
    }
}
