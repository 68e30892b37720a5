use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use uuid::Uuid;

use super::{LOOK_AT, Looked, SeenCheck, SeenValue, Sign, look, median};
use crate::domain::unit::Hours;
use crate::words::Text;

fn morning() -> DateTime<Utc> {
    "2026-11-25T06:00:00Z".parse().expect("a moment")
}

fn from() -> DateTime<Utc> {
    morning() - LOOK_AT
}

/// `n` checks on as many mornings up to today, 40 answers each, the meter 3.5 h further each day.
fn days(n: u16) -> Vec<SeenCheck> {
    (0..n)
        .map(|i| SeenCheck {
            id: Uuid::from_u128(u128::from(i)).into(),
            checklist: Uuid::from_u128(7).into(),
            items: 40,
            begun_at: None,
            recorded_at: morning() - TimeDelta::days(i64::from(n - 1 - i)),
            engine_hours: Some(Hours(1_000 + 35 * i64::from(i))),
            values: Vec::new(),
        })
        .collect()
}

/// Seconds each check took.
fn timed(seconds: &[i64]) -> Vec<SeenCheck> {
    let mut checks = days(u16::try_from(seconds.len()).expect("few"));
    for (check, seconds) in checks.iter_mut().zip(seconds) {
        check.begun_at = Some(check.recorded_at - TimeDelta::seconds(*seconds));
    }
    checks
}

fn read(unit: &str, figures: &[&str]) -> Vec<SeenCheck> {
    let mut checks = days(u16::try_from(figures.len()).expect("few"));
    for (check, figure) in checks.iter_mut().zip(figures) {
        check.values = vec![SeenValue {
            item: "gauge".into(),
            position: String::new(),
            title: Text::typed("Gauge"),
            as_read: (*figure).into(),
            unit: unit.into(),
        }];
    }
    checks
}

fn signs(looked: &Looked) -> Vec<(Sign, &str)> {
    looked.odd.iter().map(|o| (o.sign, o.sentence.here())).collect()
}

fn unsaid(looked: &Looked) -> Vec<(Sign, &str)> {
    looked.unsaid.iter().map(|u| (u.sign, u.sentence.here())).collect()
}

#[test]
fn a_check_far_quicker_than_usual_is_shown() {
    let usual = [400, 420, 380, 410, 390, 400, 430, 370, 405];
    let with = |last: i64| look(timed(&[&usual[..], &[last]].concat()), from());
    assert_eq!(
        signs(&with(60)),
        [(
            Sign::Quick,
            "1.5 s an answer for 40 answers; this machine's usual is 10.0 s (median of 9 checks)."
        )]
    );
    // Half the usual time is nothing, and slower is nothing: the form lay open.
    for seconds in [200, 240, 400, 5_000, 60_000] {
        assert_eq!(signs(&with(seconds)), [], "{seconds}");
    }
    // One check that lay open for hours moves the median of the others by nothing.
    let mut open = usual;
    open[3] = 30_000;
    let looked = look(timed(&[&open[..], &[60]].concat()), from());
    assert_eq!(looked.odd.len(), 1, "{looked:?}");
    // Where the times scatter widely, less than half is still within reach.
    let wide = [100, 1_600, 220, 900, 400, 60, 2_500, 150, 1_200];
    assert_eq!(signs(&look(timed(&[&wide[..], &[70]].concat()), from())), []);
}

#[test]
fn a_time_is_compared_with_the_same_checklist_only() {
    let mut checks = timed(&[400, 420, 380, 410, 390, 400, 430, 370, 405, 60]);
    checks[9].checklist = Uuid::from_u128(8).into();
    let looked = look(checks.clone(), from());
    assert_eq!(signs(&looked), []);
    checks[9].checklist = checks[0].checklist;
    checks[9].begun_at = Some(checks[9].recorded_at + TimeDelta::seconds(5));
    assert_eq!(signs(&look(checks.clone(), from())), [], "a beginning after the end is not believed");
    checks[9].begun_at = None;
    assert_eq!(look(checks, from()), Looked::default(), "nothing is said of what was not timed");
}

#[test]
fn too_little_history_is_said() {
    let looked = look(timed(&[400, 420, 380, 410, 390, 400, 430, 10]), from());
    assert_eq!(signs(&looked), []);
    assert_eq!(
        unsaid(&looked),
        [(
            Sign::Quick,
            "Too little history to say how long a check takes: 7 timed checks before, 8 are needed."
        )]
    );
    let looked = look(read("mm", &["5.4"; 9]), from());
    assert_eq!(signs(&looked), []);
    let thin = "Too little history to say whether equal figures are odd: 0 pairs before them, 10 are needed.";
    assert_eq!(unsaid(&looked), [(Sign::Same, thin)]);
    assert_eq!(look(days(3), from()), Looked::default());
    assert_eq!(look(Vec::new(), from()), Looked::default());
}

#[test]
fn the_same_figure_again_and_again_is_shown_where_it_used_to_change() {
    let moving = ["9.4", "9.3", "9.3", "9.2", "9.1", "9.1", "9.0", "8.9", "8.8", "8.8", "8.7", "8.6"];
    // 8 of 11 pairs changed: (3 + 1) / (11 + 2) ≈ 0.31 that one stays the same. Worked by hand: 0.31^4 ≈ 0.009.
    let run = |n: usize| look(read("mm", &[&moving[..], &vec!["8.5"; n]].concat()), from());
    assert_eq!(
        signs(&run(5)),
        [(Sign::Same, "Gauge: 8.5 mm at 5 checks running; before that it changed in 8 of 11 checks.")]
    );
    assert_eq!(signs(&run(4)), []);
    // What hardly ever changes may well stay as it is.
    let still = ["9.4", "9.4", "9.4", "9.4", "9.4", "9.4", "9.4", "9.3", "9.3", "9.3", "9.3", "9.3"];
    assert_eq!(signs(&look(read("mm", &[&still[..], &["9.2"; 9]].concat()), from())), []);
    // "8.50" is another figure than "8.5", and so is one in another unit: somebody read it.
    let mut figures = [&moving[..], &["8.5"; 5]].concat();
    figures[14] = "8.50";
    assert_eq!(signs(&look(read("mm", &figures), from())), []);
}

#[test]
fn a_pressure_that_never_moves_needs_no_history() {
    assert_eq!(
        signs(&look(read("psi", &["14.5"; 10]), from())),
        [(Sign::Same, "Gauge: 14.5 psi at 10 checks running; a pressure moves with the weather.")]
    );
    assert_eq!(signs(&look(read("psi", &["14.5"; 9]), from())), []);
    let mut two = read("kPa", &["100"; 12]);
    for check in &mut two {
        let other = SeenValue {
            position: "left".into(),
            title: Text::typed("Gauge, left"),
            ..check.values[0].clone()
        };
        check.values.push(other);
    }
    let looked = look(two, from());
    assert_eq!(looked.odd.len(), 1, "one sentence for one run: {looked:?}");
    assert!(
        looked.odd[0].sentence.here().ends_with("moves with the weather (and one other place the same way).")
    );
}

#[test]
fn hours_that_do_not_fit_are_shown() {
    let with = |n: usize, hours: i64| {
        let mut checks = days(10);
        checks[n].engine_hours = Some(Hours(hours));
        look(checks, from())
    };
    // 1,000 + 8 × 35 = 1,280 tenths the day before.
    assert_eq!(
        signs(&with(9, 1_600)),
        [(Sign::Hours, "The hour meter ran 32.0 h in 24.0 h by the clock (from 128.0 h to 160.0 h).")]
    );
    assert_eq!(
        signs(&with(9, 12)),
        [(
            Sign::Hours,
            "The hour meter went back from 128.0 h to 1.2 h, confirmed at this check. Is the meter new?"
        )]
    );
    // A whole day and night, and the tenths that each reading cuts off.
    for hours in [1_280, 1_315, 1_520, 1_522] {
        assert_eq!(signs(&with(9, hours)), [], "{hours}");
    }
    assert_eq!(with(9, 1_523).odd.len(), 1);
}

#[test]
fn a_meter_that_stands_still_is_shown_when_it_used_to_move() {
    let stopped = |n: u16, still: usize| {
        let mut checks = days(n);
        let from_here = checks.len() - still;
        for i in from_here..checks.len() {
            checks[i].engine_hours = checks[from_here].engine_hours;
        }
        checks
    };
    let looked = look(stopped(15, 5), from());
    assert_eq!(
        signs(&looked),
        [(
            Sign::Hours,
            "The hour meter shows 135.0 h at checks on 5 days running; before that it moved on 9 of 9 days."
        )]
    );
    assert_eq!(signs(&look(stopped(15, 4), from())), []);
    let thin = "Too little history to say whether an hour meter that stands still is odd: 4 pairs of days before, 8 are \
                needed.";
    assert_eq!(unsaid(&look(stopped(10, 5), from())), [(Sign::Hours, thin)]);
    // A machine without an hour meter has no hours that could be odd.
    let mut without = stopped(15, 5);
    without.iter_mut().for_each(|c| c.engine_hours = None);
    assert_eq!(look(without, from()), Looked::default());
    // Five checks on one day are one day.
    let mut busy = stopped(15, 5);
    for i in 10..15 {
        busy[i].recorded_at = busy[14].recorded_at - TimeDelta::minutes(14 - i64::try_from(i).expect("few"));
    }
    assert_eq!(signs(&look(busy, from())), []);
}

#[test]
fn what_is_old_is_history_and_not_shown() {
    let mut checks = timed(&[400, 420, 380, 410, 390, 400, 430, 370, 405, 60]);
    for check in &mut checks {
        check.recorded_at -= TimeDelta::days(30);
        check.begun_at = check.begun_at.map(|at| at - TimeDelta::days(30));
    }
    assert_eq!(look(checks, from()), Looked::default());
}

#[test]
fn every_sentence_is_short_and_says_no_blame() {
    for sign in Sign::ALL {
        for sentence in sign.how().here().split(". ") {
            assert!(sentence.split_whitespace().count() < 40, "{sentence}");
        }
    }
    let mut checks = timed(&[400, 420, 380, 410, 390, 400, 430, 370, 405, 60]);
    checks[9].engine_hours = Some(Hours(1_600));
    for odd in look(checks, from()).odd {
        assert!(odd.sentence.here().split_whitespace().count() < 25, "{}", odd.sentence);
    }
}

#[test]
fn the_median_is_the_middle() {
    assert_eq!(median(&mut []), None);
    assert_eq!(median(&mut [3.0]), Some(3.0));
    assert_eq!(median(&mut [9.0, 1.0, 2.0]), Some(2.0));
    assert_eq!(median(&mut [4.0, 1.0, 2.0, 9.0]), Some(3.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// The order in which the checks come makes no difference, and looking twice says the same.
    #[test]
    fn the_order_of_checks_does_not_matter(
        seconds in prop::collection::vec(1_i64..2_000, 1..40),
        jumps in prop::collection::vec(-50_i64..400, 40),
        seed in any::<u64>(),
    ) {
        let mut checks = timed(&seconds);
        let mut hours = 1_000;
        for (check, jump) in checks.iter_mut().zip(&jumps) {
            hours += jump;
            check.engine_hours = Some(Hours(hours));
        }
        let looked = look(checks.clone(), from());
        let mut shuffled = checks;
        let n = shuffled.len();
        for i in 0..n {
            shuffled.swap(i, usize::try_from(seed).unwrap_or(usize::MAX).wrapping_mul(i + 1) % n);
        }
        prop_assert_eq!(look(shuffled, from()), looked);
    }

    /// A machine whose checks take their usual time and whose meter runs as the clock allows has nothing to show.
    #[test]
    fn ordinary_checks_are_not_shown(
        seconds in prop::collection::vec(300_i64..600, 1..40),
        ran in prop::collection::vec(1_i64..150, 40),
    ) {
        let mut checks = timed(&seconds);
        let mut hours = 1_000;
        for (check, ran) in checks.iter_mut().zip(&ran) {
            hours += ran;
            check.engine_hours = Some(Hours(hours));
        }
        prop_assert_eq!(look(checks, from()).odd, []);
    }
}
