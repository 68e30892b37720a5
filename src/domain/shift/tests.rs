use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveTime, TimeDelta, Timelike, Utc, Weekday};
use chrono_tz::Tz;
use proptest::prelude::*;

use super::table::{Cursor, NEVER, Table};
use super::{Calendar, Shift, ShiftAt, ShiftFault, Span, Week};

const ALL: [Weekday; 7] =
    [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("a moment")
}

fn time(text: &str) -> NaiveTime {
    NaiveTime::parse_from_str(text, "%H:%M").expect("a time of day")
}

fn shift(day: Weekday, from: &str, to: &str) -> Shift {
    Shift { day, from: time(from), to: time(to) }
}

fn calendar(zone: &str, shifts: Vec<Shift>) -> Calendar {
    Calendar::new(zone.parse().expect("a zone"), Week::new(shifts).expect("a week"))
}

fn nights(zone: &str) -> Calendar {
    calendar(zone, ALL.iter().map(|d| shift(*d, "22:00", "06:00")).collect())
}

/// Two shifts a day from Monday to Friday, and Saturday's over midnight into the hour in which clocks change.
fn workshop(zone: &str) -> Calendar {
    let weekdays = ALL[..5].iter();
    let mut shifts: Vec<_> =
        weekdays.flat_map(|d| [shift(*d, "07:00", "11:30"), shift(*d, "12:00", "15:30")]).collect();
    shifts.push(shift(Weekday::Sat, "22:00", "02:30"));
    calendar(zone, shifts)
}

/// Expected minutes: counted with Python's zoneinfo (IANA tzdata), stepping five minutes of UTC and looking at the clock on
/// the wall.
#[test]
fn nights_in_which_clocks_change() {
    for (zone, from, to, minutes) in [
        ("Europe/Oslo", "2026-03-28T12:00:00Z", "2026-03-29T12:00:00Z", 420),
        ("Europe/Oslo", "2026-10-24T12:00:00Z", "2026-10-25T12:00:00Z", 540),
        ("America/Chicago", "2026-03-07T18:00:00Z", "2026-03-08T18:00:00Z", 420),
        ("America/Chicago", "2026-10-31T18:00:00Z", "2026-11-01T18:00:00Z", 540),
        ("Australia/Lord_Howe", "2026-04-04T02:00:00Z", "2026-04-05T02:00:00Z", 510),
        ("Australia/Lord_Howe", "2026-10-03T02:00:00Z", "2026-10-04T02:00:00Z", 450),
    ] {
        let nights = nights(zone);
        assert_eq!(nights.working(at(from), at(to)), TimeDelta::minutes(minutes), "{zone} {from}");
        // Backwards: the last minute of that work is the end of the shift.
        let end = nights.spans(Span::new(at(from), at(to)))[0].to;
        assert_eq!(nights.after(at(from), TimeDelta::minutes(minutes)), Some(end), "{zone} {from}");
        assert!(nights.after(at(from), TimeDelta::minutes(minutes + 1)) > Some(end + TimeDelta::hours(15)));
    }
}

/// As above; the second figure with a holiday on the Wednesday of the first week.
#[test]
fn fortnights_in_which_clocks_change() {
    for (zone, from, to, holiday, minutes, with_holiday) in [
        ("Europe/Oslo", "2026-03-23T00:00:00Z", "2026-04-06T00:00:00Z", "2026-03-25", 5310, 4830),
        ("America/Chicago", "2026-10-26T00:00:00Z", "2026-11-09T00:00:00Z", "2026-10-28", 5400, 4920),
        ("Australia/Lord_Howe", "2026-03-30T00:00:00Z", "2026-04-13T00:00:00Z", "2026-04-01", 5340, 4860),
    ] {
        let mut place = workshop(zone);
        assert_eq!(place.working(at(from), at(to)).num_minutes(), minutes, "{zone}");
        place.holidays.insert(holiday.parse().expect("a day"));
        assert_eq!(place.working(at(from), at(to)).num_minutes(), with_holiday, "{zone}");
    }
}

#[test]
fn what_is_no_week_is_refused() {
    let no_length = shift(Weekday::Mon, "07:00", "07:00");
    assert_eq!(Week::new(vec![no_length]), Err(ShiftFault::NoLength(no_length)));
    let (early, late) = (shift(Weekday::Mon, "06:00", "14:00"), shift(Weekday::Mon, "13:59", "22:00"));
    assert_eq!(Week::new(vec![late, early]), Err(ShiftFault::Overlap(early, late)));
    let (first, last) = (shift(Weekday::Mon, "05:00", "09:00"), shift(Weekday::Sun, "22:00", "05:01"));
    assert_eq!(Week::new(vec![first, last]), Err(ShiftFault::Overlap(first, last)), "over the week's end");
    assert!(Week::new(vec![first, shift(Weekday::Sun, "22:00", "05:00")]).is_ok(), "they may touch");
}

#[test]
fn a_holiday_stops_shifts_that_begin_on_it() {
    let mut nights = nights("Europe/Oslo");
    nights.holidays.insert("2026-05-17".parse().expect("a day"));
    // That of the 16th goes on to its end; that of the 17th is not there.
    let spans = nights.spans(Span::new(at("2026-05-16T12:00:00Z"), at("2026-05-18T12:00:00Z")));
    assert_eq!(spans, [Span::new(at("2026-05-16T20:00:00Z"), at("2026-05-17T04:00:00Z"))]);
}

#[test]
fn absence_is_cut_out() {
    let mut place = workshop("Europe/Oslo");
    // Away from Tuesday 10:00 to Wednesday noon by the clock there (UTC+1), told in two pieces.
    place.absent = vec![
        Span::new(at("2026-01-13T09:00:00Z"), at("2026-01-13T18:00:00Z")),
        Span::new(at("2026-01-13T17:00:00Z"), at("2026-01-14T11:00:00Z")),
    ];
    let worked = place.spans(Span::new(at("2026-01-13T00:00:00Z"), at("2026-01-15T00:00:00Z")));
    assert_eq!(
        worked,
        [
            Span::new(at("2026-01-13T06:00:00Z"), at("2026-01-13T09:00:00Z")),
            Span::new(at("2026-01-14T11:00:00Z"), at("2026-01-14T14:30:00Z")),
        ]
    );
    let fourth_hour = place.after(at("2026-01-13T06:00:00Z"), TimeDelta::hours(4));
    assert_eq!(fourth_hour, Some(at("2026-01-14T12:00:00Z")));
}

#[test]
fn which_shift_somebody_is_in() {
    let place = workshop("Europe/Oslo");
    let morning = Span::new(at("2026-01-13T06:00:00Z"), at("2026-01-13T10:30:00Z"));
    assert_eq!(place.shift_at(at("2026-01-13T07:15:00Z")), ShiftAt::Within(morning));
    assert_eq!(place.shift_at(at("2026-01-13T05:30:00Z")), ShiftAt::Before(morning));
    assert_eq!(place.shift_at(at("2026-01-13T03:59:00Z")), ShiftAt::Outside);
    assert_eq!(place.shift_at(at("2026-01-13T19:00:00Z")), ShiftAt::Outside);
    assert!(
        matches!(place.shift_at(at("2026-01-13T10:30:00Z")), ShiftAt::Before(_)),
        "an end is not within it"
    );
    // Early and late follow one another without a break.
    let two = vec![shift(Weekday::Tue, "06:00", "14:00"), shift(Weekday::Tue, "14:00", "22:00")];
    let both = Span::new(at("2026-01-13T05:00:00Z"), at("2026-01-13T21:00:00Z"));
    assert_eq!(calendar("Europe/Oslo", two).shift_at(at("2026-01-13T07:15:00Z")), ShiftAt::Within(both));
}

#[test]
fn where_nobody_works_nothing_is_done() {
    let none = calendar("Europe/Oslo", Vec::new());
    assert_eq!(none.after(at("2026-01-13T07:15:00Z"), TimeDelta::seconds(1)), None);
    assert_eq!(none.next_work(at("2026-01-13T07:15:00Z")), None);
    let mut gone = workshop("Europe/Oslo");
    gone.absent.push(Span::new(at("2026-01-01T00:00:00Z"), at("2036-01-01T00:00:00Z")));
    assert_eq!(gone.next_work(at("2026-01-13T07:15:00Z")), None);
}

/// Minute by minute: the clock on the wall is within a shift that began on this day or the one before.
fn by_the_wall(calendar: &Calendar, from: DateTime<Utc>, to: DateTime<Utc>) -> i64 {
    let mut minutes = 0;
    let mut now = from;
    while now < to {
        let wall = now.with_timezone(&calendar.zone).naive_local();
        let minute_of_day = i64::from(wall.num_seconds_from_midnight() / 60);
        let inside = calendar.week.shifts().iter().any(|s| {
            let begin = i64::from(s.from.num_seconds_from_midnight() / 60);
            let over = if s.to <= s.from { 1440 } else { 0 };
            let end = i64::from(s.to.num_seconds_from_midnight() / 60) + over;
            (0..2_u64).any(|back| {
                let day = wall.date() - Days::new(back);
                let minute = minute_of_day + 1440 * i64::try_from(back).expect("small");
                day.weekday() == s.day && !calendar.holidays.contains(&day) && begin <= minute && minute < end
            })
        });
        let away = calendar.absent.iter().any(|a| a.holds(now));
        minutes += i64::from(inside && !away);
        now += TimeDelta::minutes(1);
    }
    minutes
}

/// Any week without faults. No edge lies where clocks change, for there the wall shows one time twice.
fn weeks() -> impl Strategy<Value = Vec<Shift>> {
    let one = (0_usize..7, 4_u32..22, 1_u32..10, 0_u32..60).prop_map(|(day, from, hours, minute)| {
        let from = NaiveTime::from_hms_opt(from, minute, 0).expect("a time");
        let mut to = from + TimeDelta::hours(i64::from(hours));
        if to.hour() < 4 {
            to = time("04:00");
        }
        Shift { day: ALL[day], from, to }
    });
    prop::collection::vec(one, 1..9).prop_map(|shifts| {
        let mut kept: Vec<Shift> = Vec::new();
        for shift in shifts {
            let more: Vec<_> = kept.iter().copied().chain([shift]).collect();
            if Week::new(more.clone()).is_ok() {
                kept = more;
            }
        }
        kept
    })
}

fn calendars() -> impl Strategy<Value = (Calendar, DateTime<Utc>)> {
    let zones = prop::sample::select(vec!["Europe/Oslo", "America/Chicago", "Australia/Lord_Howe", "UTC"]);
    // Weeks around both changes of every zone, and some others.
    let days = prop::sample::select(vec![
        "2026-03-05",
        "2026-03-26",
        "2026-04-02",
        "2026-10-01",
        "2026-10-22",
        "2026-10-29",
        "2026-07-01",
    ]);
    (
        zones,
        weeks(),
        days,
        0_i64..1440,
        prop::option::of(0_u64..6),
        prop::option::of((0_i64..5000, 1_i64..3000)),
    )
        .prop_map(|(zone, shifts, day, minute, holiday, away)| {
            let day: NaiveDate = day.parse().expect("a day");
            let from = day.and_time(NaiveTime::MIN).and_utc() + TimeDelta::minutes(minute);
            let mut calendar =
                Calendar::new(zone.parse::<Tz>().expect("a zone"), Week::new(shifts).expect("a week"));
            calendar.holidays.extend(holiday.map(|n| day + Days::new(n)));
            calendar.absent.extend(away.map(|(begin, length)| {
                let begin = from + TimeDelta::minutes(begin);
                Span::new(begin, begin + TimeDelta::minutes(length))
            }));
            (calendar, from)
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn as_the_wall_says((calendar, from) in calendars(), minutes in 1_i64..6000) {
        let to = from + TimeDelta::minutes(minutes);
        prop_assert_eq!(calendar.working(from, to).num_minutes(), by_the_wall(&calendar, from, to));
    }

    #[test]
    fn pieces_add_up_and_after_is_the_inverse((calendar, from) in calendars(), a in 0_i64..20_000, b in 0_i64..20_000, work in 1_i64..300_000) {
        let (mid, to) = (from + TimeDelta::minutes(a), from + TimeDelta::minutes(a + b));
        prop_assert_eq!(calendar.working(from, mid) + calendar.working(mid, to), calendar.working(from, to));
        let work = TimeDelta::seconds(work);
        let done = calendar.after(from, work).expect("a week with a shift");
        prop_assert_eq!(calendar.working(from, done), work);
        prop_assert_eq!(calendar.working(from, done - TimeDelta::seconds(1)), work - TimeDelta::seconds(1), "the earliest");
    }

    /// The table says what the calendar says, step after step.
    #[test]
    fn a_table_is_its_calendar((calendar, from) in calendars(), steps in prop::collection::vec((0_i64..90_000, 1_i64..50_000), 1..12)) {
        let window = Span::new(from, from + TimeDelta::days(120));
        let table = Table::new(&calendar, window);
        let (mut cursor, mut now) = (Cursor::default(), 0);
        for (idle, work) in steps {
            now += idle;
            let moment = from + TimeDelta::seconds(now);
            // Beyond its window a table knows nothing.
            if moment > window.to {
                break;
            }
            let within = |at: Option<DateTime<Utc>>| at.filter(|a| *a < window.to).map_or(NEVER, |a| (a - from).num_seconds());
            prop_assert_eq!(table.worked_by(now), calendar.working(from, moment).num_seconds());
            prop_assert_eq!(table.next_work(&mut cursor, now), within(calendar.next_work(moment)));
            let done = table.done(&mut cursor, now, work);
            if done == NEVER {
                prop_assert!(calendar.working(moment, window.to).num_seconds() < work);
                break;
            }
            prop_assert_eq!(Some(from + TimeDelta::seconds(done)), calendar.after(moment, TimeDelta::seconds(work)));
            now = done;
        }
    }
}
