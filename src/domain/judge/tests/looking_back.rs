//! Rules that look beyond one reading, at the past and at other positions, by table.

use chrono::{DateTime, TimeDelta, Utc};

use super::{checklist, measured, readings, unladen};
use crate::domain::checklist::Checklist;
use crate::domain::history::{CorrectedAt, Point, ReleasedAt, Series};
use crate::domain::judge::telling::{MOST_WORDS, words};
use crate::domain::judge::{Finding, History, Judgement, SAFETY_ITEM_FAILED, judge, retest};
use crate::domain::reading::{Context, Correction, Outcome};
use crate::domain::standing::Severity;
use crate::domain::trend::Trend;
use crate::domain::unit::{Hours, Unit};

fn now() -> DateTime<Utc> {
    DateTime::from_timestamp(1_750_000_000, 0).expect("a moment")
}

fn at_hours(tenths: i64) -> Context {
    Context { engine_hours: Some(Hours(tenths)), ..unladen() }
}

pub(super) fn found(list: &Checklist, context: &Context, wrong: &[&str], history: &History) -> Judgement {
    let judgement = judge(list, context, &readings(list, context, wrong), history);
    for f in &judgement.findings {
        for said in f.supporting.iter().map(|r| &r.sentence).chain([&f.why]) {
            assert!(words(said.here()) <= MOST_WORDS, "{} words: {said}", words(said.here()));
        }
    }
    judgement
}

fn rule_at<'j>(judgement: &'j Judgement, rule: &str) -> Option<&'j Finding> {
    judgement.findings.iter().find(|f| f.rule == rule)
}

const UNEVEN: &str = r#"
[[rule]]
name = "pads wear unevenly"
severity = "monitor"
good_for_days = 7
when = [{ item = "pad", apart = "2 mm", between = [["left", "right"]] }]
instruction = "Have the caliper looked at."
"#;

#[test]
fn positions_that_differ_are_found_once_at_the_worse_one() {
    let list = checklist(UNEVEN);
    for (left, right, at) in [
        ("6.0 mm", "8.0 mm", None),
        ("6.0 mm", "8.1 mm", Some("left")),
        ("8.1 mm", "6.0 mm", Some("right")),
        // 0.32 in is 8.128 mm, 2.1 mm more in steps of 0.1 mm.
        ("6 mm", "0.32 in", Some("left")),
    ] {
        let wrong = [format!("pad/left={left}"), format!("pad/right={right}")];
        let judgement = found(&list, &unladen(), &[&wrong[0], &wrong[1]], &History::default());
        let positions: Vec<_> = judgement.findings.iter().map(|f| f.position.as_deref()).collect();
        assert_eq!(positions, at.map(Some).into_iter().collect::<Vec<_>>(), "{wrong:?}");
        if let [finding] = &judgement.findings[..] {
            assert_eq!(finding.failed.len(), 2, "both are retested: {finding:?}");
        }
    }
    let judgement = found(&list, &unladen(), &["pad/left=6 mm", "pad/right=8.5 mm"], &History::default());
    assert_eq!(judgement.findings[0].what, "Brake pad, left: 6 mm; 2.5 mm less than right, at most 2 mm");
    assert_eq!(
        judgement.findings[0].why,
        "Brake pad, left: 6 mm; 2.5 mm less than right, at most 2 mm (rule: pads wear unevenly)."
    );
}

#[test]
fn a_milder_rule_on_a_difference_does_not_save_a_pad_under_its_limit() {
    let judgement = found(&checklist(UNEVEN), &unladen(), &["pad/left=1 mm"], &History::default());
    let [pad] = &judgement.findings[..] else { panic!("{judgement:?}") };
    assert_eq!((pad.severity, pad.rule.as_str()), (Severity::OutOfService, SAFETY_ITEM_FAILED));
    assert_eq!(pad.supporting[0].rule, "pads wear unevenly");
}

const TOPPED_UP: &str = r#"
[[rule]]
name = "keeps losing fluid"
severity = "out of service"
when = [{ item = "fluid", corrected_times = 3, within_hours = 50 }]
instruction = "Have the leak found."

[[rule]]
name = "much fluid lost"
severity = "monitor"
good_for_days = 2
when = [{ item = "fluid", corrected_amount = "0.5 L", within_days = 7 }]
instruction = "Look for the leak."
"#;

fn topped_up(entries: &[(i64, i64, f64)]) -> History {
    let corrected = entries.iter().map(|(days, tenths, amount)| CorrectedAt {
        item: "fluid".into(),
        position: None,
        at: now() - TimeDelta::days(*days),
        engine_hours: Some(Hours(*tenths)),
        amount_base: Some(*amount),
    });
    History { now: Some(now()), corrected: corrected.collect(), ..History::default() }
}

#[test]
fn a_fluid_that_is_topped_up_again_and_again_is_a_leak() {
    let list = checklist(TOPPED_UP);
    let context = at_hours(10_000);
    let earlier = [(2, 9_800, 0.1), (4, 9_600, 0.1)];
    let with_today = |amount: Option<&str>, history: &History| {
        let mut given = readings(&list, &context, &["fluid=corrected"]);
        let fluid = given.iter_mut().find(|r| r.item == "fluid").expect("fluid");
        let amount = amount.map(|a| measured(a, Unit::Millilitre));
        fluid.correction = Some(Correction { what: "topped up".into(), amount });
        judge(&list, &context, &given, history)
    };
    let twice = with_today(Some("100"), &topped_up(&earlier[..1]));
    assert_eq!(twice.findings, []);
    let thrice = with_today(Some("100"), &topped_up(&earlier));
    let finding = rule_at(&thrice, "keeps losing fluid").expect("the third time");
    assert_eq!(finding.what, "Brake fluid level: corrected (100 mL); corrected 3 times within 50 h");
    // Found low and not topped up is the same loss.
    let low = found(&list, &context, &["fluid=below"], &topped_up(&earlier));
    assert_eq!(
        rule_at(&low, "keeps losing fluid").expect("the third time").why,
        "Brake fluid level: below its marks; not right 3 times within 50 h (rule: keeps losing fluid)."
    );
    // Well today: nothing new is said.
    assert_eq!(found(&list, &context, &[], &topped_up(&earlier)).findings, []);
    // Too long ago by engine hours.
    assert_eq!(with_today(None, &topped_up(&[(2, 9_800, 0.1), (40, 9_400, 0.1)])).findings, []);

    let amount = with_today(Some("300"), &topped_up(&[(3, 9_000, 0.2)]));
    assert_eq!(
        rule_at(&amount, "much fluid lost").expect("half a litre").what,
        "Brake fluid level: corrected (300 mL); corrected by 500 mL within 7 days"
    );
    assert_eq!(with_today(Some("299"), &topped_up(&[(3, 9_000, 0.2)])).findings, []);
    assert_eq!(with_today(Some("300"), &topped_up(&[(8, 9_000, 0.2)])).findings, []);
}

#[test]
fn a_repair_begins_a_new_count() {
    let list = checklist(TOPPED_UP);
    let mut history = topped_up(&[(2, 9_800, 0.1), (4, 9_600, 0.1)]);
    history.released =
        vec![ReleasedAt { item: "fluid".into(), position: None, at: now() - TimeDelta::days(3) }];
    let judgement = found(&list, &at_hours(10_000), &["fluid=below"], &history);
    assert!(rule_at(&judgement, "keeps losing fluid").is_none(), "{judgement:?}");
}

#[test]
fn a_defect_that_comes_back_after_its_release_is_escalated() {
    let list = checklist(
        r#"
[[rule]]
name = "horn fails"
severity = "monitor"
good_for_days = 3
when = [{ item = "horn", outcome = "defect" }]
instruction = "Have it mended."

[[rule]]
name = "horn fails again"
severity = "out of service"
when = [{ item = "horn", back_within_days = 30 }]
instruction = "The repair did not hold. Tell the supervisor."
"#,
    );
    for (days, item, severity, escalated, what) in [
        (0, "horn", Severity::OutOfService, true, "Horn: does not work; back on the day of its release"),
        (1, "horn", Severity::OutOfService, true, "Horn: does not work; back 1 day after its release"),
        (30, "horn", Severity::OutOfService, true, "Horn: does not work; back 30 days after its release"),
        (31, "horn", Severity::Monitor, false, "Horn: does not work"),
        (5, "leak", Severity::Monitor, false, "Horn: does not work"),
    ] {
        let released = ReleasedAt { item: item.into(), position: None, at: now() - TimeDelta::days(days) };
        let history = History { now: Some(now()), released: vec![released], ..History::default() };
        let judgement = found(&list, &unladen(), &["horn=defect"], &history);
        let [finding] = &judgement.findings[..] else { panic!("{judgement:?}") };
        assert_eq!((finding.severity, finding.escalated), (severity, escalated), "{days} {item}");
        assert_eq!(finding.what, what);
        assert_eq!(found(&list, &unladen(), &[], &history).findings, [], "well today");
    }
}

const WEARS: &str = r#"
[[rule]]
name = "pad soon worn"
severity = "monitor"
good_for_hours = 40
when = [{ item = "pad", trend = "below limit", within_hours = 50 }]
instruction = "Order pads."
"#;

/// A pad that loses `per_reading` every 10 engine hours; the last reading at `hours` of the meter, in tenths.
fn worn(values: &[f64], last_tenths: i64) -> History {
    let points = values.iter().rev().zip(0_i64..).map(|(base, ago)| Point {
        engine_hours: Some(Hours(last_tenths - 100 * ago)),
        at: now() - TimeDelta::days(ago + 1),
        base: *base,
    });
    let series = Series { item: "pad".into(), position: Some("left".into()), points: points.collect() };
    History { now: Some(now()), series: vec![series], ..History::default() }
}

#[test]
fn a_pad_that_may_be_worn_out_soon_is_told_before_it_is() {
    let list = checklist(WEARS);
    let context = at_hours(5_100);
    let steady: Vec<f64> =
        (0..12).map(|i| 10.0 - 0.6 * f64::from(i) + if i % 2 == 0 { 0.1 } else { -0.1 }).collect();
    // Today's reading is on the line: 3.4 mm at 0.06 mm an hour leaves about 32 h.
    let soon = found(&list, &context, &["pad/left=2.8 mm"], &worn(&steady, 5_000));
    let finding = rule_at(&soon, "pad soon worn").expect("a watch");
    assert_eq!(finding.position.as_deref(), Some("left"));
    assert_eq!(
        finding.why,
        "Brake pad, left: 2.8 mm; may be below 1.5 mm within 50 h (rule: pad soon worn)."
    );
    assert!(
        finding.supporting[0]
            .sentence
            .here()
            .starts_with("12 earlier readings over 110 h: 1.5 mm expected at ")
    );
    assert!(
        finding.supporting[1].sentence.here().starts_with("From 2.8 mm today, 50 h on: -0.2 mm expected, ")
    );

    let early = found(&list, &at_hours(4_560), &["pad/left=6.5 mm"], &worn(&steady[..7], 4_500));
    assert_eq!(early.findings, []);
    assert!(matches!(early.trends[0].trend, Trend::Known(_)), "{:?}", early.trends);

    // A sudden drop is enough by itself, though the line does not say so.
    let drop = found(&list, &at_hours(4_560), &["pad/left=3 mm"], &worn(&steady[..7], 4_500));
    assert!(rule_at(&drop, "pad soon worn").is_some(), "{drop:?}");
    // So is the line when today's reading cannot be had; a safety item that cannot be measured stops the machine anyway.
    let unread = found(&list, &context, &["pad/left=defect"], &worn(&steady, 5_000));
    assert_eq!(unread.findings[0].severity, Severity::OutOfService);
    assert!(unread.findings[0].supporting.iter().any(|r| r.rule == "pad soon worn"), "{unread:?}");
    // Put right today: it goes on from where it was left.
    let mut given = readings(&list, &context, &["pad/left=9 mm"]);
    given.iter_mut().find(|r| r.is_at("pad", Some("left"))).expect("a pad").outcome = Outcome::Corrected;
    assert_eq!(judge(&list, &context, &given, &worn(&steady, 5_000)).findings, []);
    // Hours not given: the last known ones stand in.
    let silent = found(&list, &unladen(), &["pad/left=3.4 mm"], &worn(&steady, 5_000));
    assert!(rule_at(&silent, "pad soon worn").is_some());
}

#[test]
fn without_a_trend_nothing_is_guessed_and_the_reason_is_told() {
    let list = checklist(WEARS);
    let judgement = found(&list, &at_hours(5_100), &["pad/left=2 mm"], &worn(&[3.0, 2.6, 2.3], 5_000));
    assert_eq!(judgement.findings, []);
    let told: Vec<&str> = judgement.trends.iter().map(|t| t.sentence.here()).collect();
    assert_eq!(
        told,
        [
            "Brake pad, left: No trend yet: 3 readings with engine hours, at least 4 are needed.",
            "Brake pad, right: No trend yet: 0 readings with engine hours, at least 4 are needed."
        ]
    );
    assert_eq!(found(&checklist(""), &unladen(), &[], &History::default()).trends, []);
}

#[test]
fn a_trend_is_told_in_words() {
    let list = checklist(WEARS);
    let pad = |value: &str, hours: i64, history: &History| {
        let judgement = found(&list, &at_hours(hours), &[&format!("pad/left={value}")], history);
        let soon = rule_at(&judgement, "pad soon worn").is_some();
        (judgement.trends[0].words.clone(), soon)
    };
    let steady: Vec<f64> =
        (0..12).map(|i| 10.0 - 0.6 * f64::from(i) + if i % 2 == 0 { 0.1 } else { -0.1 }).collect();
    // What is told in words and what a rule on the trend decides (within 50 h) never contradict one another.
    let mut seen = [false, false];
    for value in 15..100 {
        let value = format!("{:.1} mm", f64::from(value) / 10.0);
        let (words, soon) = pad(&value, 4_560, &worn(&steady[..7], 4_500));
        let hours = match words.here().strip_prefix("may be below 1.5 mm ") {
            Some("at any time now") => 0,
            Some(rest) => rest.split(' ').nth(1).and_then(|n| n.parse().ok()).expect("a figure"),
            None => panic!("{words}"),
        };
        assert_eq!(soon, hours <= 50, "{value}: {words}");
        seen[usize::from(soon)] = true;
    }
    assert_eq!(seen, [true, true]);
    assert_eq!(pad("1.4 mm", 4_560, &worn(&steady[..7], 4_500)).0, "is below 1.5 mm now");
    // It grows: somebody measured another way, but it is nothing to wait for.
    let growing: Vec<f64> = steady.iter().rev().copied().collect();
    assert_eq!(pad("9 mm", 5_100, &worn(&growing, 5_000)).0, "moves away from 1.5 mm");

    let few = worn(&[3.0, 2.6, 2.3], 5_000);
    assert_eq!(pad("2 mm", 5_100, &few).0, "unknown: only 3 earlier readings");
    assert_eq!(pad("2 mm", 5_100, &worn(&[3.0], 5_000)).0, "unknown: only 1 earlier reading");
    assert_eq!(pad("2 mm", 5_100, &History::default()).0, "unknown: no earlier readings");
    let at = now() - TimeDelta::days(30);
    let new_pad = ReleasedAt { item: "pad".into(), position: Some("left".into()), at };
    let renewed = History { renewed: vec![new_pad.clone()], ..few.clone() };
    assert_eq!(
        pad("2 mm", 5_100, &renewed).0,
        "unknown: only 3 earlier readings since the part was replaced"
    );
    let elsewhere = ReleasedAt { position: Some("right".into()), ..new_pad };
    let renewed = History { renewed: vec![elsewhere], ..few };
    assert_eq!(pad("2 mm", 5_100, &renewed).0, "unknown: only 3 earlier readings");
    let same = worn(&[3.0; 8], 5_000);
    assert_eq!(pad("3 mm", 5_100, &same).0, "unknown: every reading is the same");
}

#[test]
fn a_retest_proves_the_machine_as_it_is_now() {
    let list = checklist(&format!("{WEARS}{TOPPED_UP}"));
    let failed = [("pad".to_owned(), Some("left".to_owned()))];
    let given = readings(&list, &unladen(), &["pad/left=9.8 mm"]);
    assert!(retest(&list, &unladen(), &given, &failed).passes());
}
