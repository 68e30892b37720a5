use super::{read, read_retest};
use crate::domain::checklist::{Checklist, Load};
use crate::domain::checklist_file;
use crate::domain::reading::{Before, Context, Level, Outcome, Question, RawAnswer};
use crate::domain::unit::{Hours, Measured, Unit};

const SHEET: &str = r#"
name = "small"
title = "Small"
classes = ["quad"]

[[zone]]
key = "front"
title = "Front"
stand = "In front."

[[zone.item]]
key = "horn"
title = "Horn"
todo = "Sound it."
accept = "Heard."
system = "lights and signals"
asks = "function"
may_be_not_applicable = true

[[zone.item]]
key = "pedal"
title = "Brake pedal"
todo = "Press it."
accept = "Firm."
system = "brakes"
safety = true
asks = "function"

[[zone.item]]
key = "coolant"
title = "Coolant level"
todo = "Read it."
accept = "Between."
system = "cooling"
asks = "level"
may_be_corrected = true
corrected_unit = "L"

[[zone.item]]
key = "tyre"
title = "Tyre pressure"
todo = "Measure it."
accept = "Enough."
system = "tyres and wheels"
safety = true
asks = "measure"
positions = ["front left", "front right"]
may_be_corrected = true

[zone.item.measure]
base = "kPa"
units = ["psi", "kPa"]
resolution = "1 kPa"
plausible = ["0 kPa", "400 kPa"]
limits = [{ load = "unladen", at_least = "100 kPa" }, { load = "laden", at_least = "150 kPa" }]
"#;

fn sheet() -> Checklist {
    checklist_file::parse(SHEET).unwrap_or_else(|f| panic!("{f:?}"))
}

fn context() -> Context {
    Context { engine_hours: Some(Hours(1000)), ..Context::of(Load::Unladen) }
}

fn answer(item: &str) -> RawAnswer {
    RawAnswer { item: Some(item.into()), ..RawAnswer::default() }
}

fn tyre(position: &str, value: &str, unit: &str) -> RawAnswer {
    RawAnswer {
        position: Some(position.into()),
        value: Some(value.into()),
        unit: Some(unit.into()),
        ..answer("tyre")
    }
}

fn with(item: &str, outcome: &str) -> RawAnswer {
    RawAnswer { outcome: Some(outcome.into()), ..answer(item) }
}

fn level(word: &str) -> RawAnswer {
    RawAnswer { level: Some(word.into()), ..answer("coolant") }
}

/// A whole check that is well: horn, pedal, coolant, both tyres.
fn whole() -> Vec<RawAnswer> {
    vec![
        with("horn", "ok"),
        with("pedal", "ok"),
        level("between"),
        tyre("front-left", "15", "psi"),
        tyre("front-right", "104", "kPa"),
    ]
}

/// The questions that one changed answer of a whole check brings.
fn questions(change: RawAnswer) -> Vec<Question> {
    let mut answers = whole();
    let same = |a: &RawAnswer| a.item == change.item && a.position == change.position;
    let at = answers.iter().position(same).expect("an answer to change");
    answers[at] = change;
    read(&sheet(), &context(), &answers, &Before::default()).expect_err("a question")
}

#[test]
fn a_whole_check_comes_back_in_walking_order() {
    let mut answers = whole();
    answers.reverse();
    let readings = read(&sheet(), &context(), &answers, &Before::default()).expect("readings");
    let order: Vec<_> = readings.iter().map(|r| (r.item.as_str(), r.position.as_deref())).collect();
    assert_eq!(
        order,
        [
            ("horn", None),
            ("pedal", None),
            ("coolant", None),
            ("tyre", Some("front-left")),
            ("tyre", Some("front-right"))
        ]
    );
    assert!(readings.iter().all(|r| r.outcome == Outcome::Ok));
}

/// 2-rules: a missing answer to a safety item is never a pass; 29 CFR 1910.178(q)(7) asks for the examination itself.
#[test]
fn what_is_left_open_is_asked_for_by_name_and_position() {
    let asked = read(&sheet(), &context(), &[], &Before::default()).expect_err("questions");
    let named: Vec<&str> =
        asked.iter().map(|q| q.sentence.here().split(" is not answered").next().unwrap_or("")).collect();
    assert_eq!(
        named,
        ["Horn", "Brake pedal", "Coolant level", "Tyre pressure, front left", "Tyre pressure, front right"]
    );
    assert!(asked[1].sentence.contains("safety item"), "{}", asked[1].sentence);
    assert!(!asked[0].sentence.contains("safety item"), "{}", asked[0].sentence);
    assert_eq!(asked[3].position.as_deref(), Some("front-left"));
    assert_eq!(asked[3].pointer, "/answers");
}

#[test]
fn the_outcome_follows_from_level_and_value() {
    for (answer, load, expected) in [
        (level("between"), Load::Unladen, Outcome::Ok),
        (level("below"), Load::Unladen, Outcome::Defect),
        (level("above"), Load::Unladen, Outcome::Defect),
        (RawAnswer { outcome: Some("ok".into()), ..level("below") }, Load::Unladen, Outcome::Defect),
        (RawAnswer { outcome: Some("defect".into()), ..level("between") }, Load::Unladen, Outcome::Defect),
        (with("coolant", "defect"), Load::Unladen, Outcome::Defect),
        (tyre("front-left", "14.5", "psi"), Load::Unladen, Outcome::Ok),
        (tyre("front-left", "14,5", "psi"), Load::Laden, Outcome::Defect),
        (tyre("front-left", "99", "kPa"), Load::Unladen, Outcome::Defect),
        (
            RawAnswer { outcome: Some("ok".into()), ..tyre("front-left", "99", "kPa") },
            Load::Unladen,
            Outcome::Defect,
        ),
        (
            RawAnswer { position: Some("front-left".into()), ..with("tyre", "defect") },
            Load::Unladen,
            Outcome::Defect,
        ),
        (with("horn", "not applicable"), Load::Unladen, Outcome::NotApplicable),
        (
            RawAnswer {
                outcome: Some("corrected".into()),
                correction: Some("topped up".into()),
                amount: Some("0.3".into()),
                ..level("between")
            },
            Load::Unladen,
            Outcome::Corrected,
        ),
        (
            RawAnswer { correction: Some("topped up".into()), ..level("between") },
            Load::Unladen,
            Outcome::Corrected,
        ),
    ] {
        let mut answers = whole();
        let same = |a: &RawAnswer| a.item == answer.item && a.position == answer.position;
        let at = answers.iter().position(same).expect("an answer to change");
        answers[at] = answer.clone();
        let readings = read(&sheet(), &Context { load, ..context() }, &answers, &Before::default())
            .unwrap_or_else(|q| panic!("{answer:?}: {q:?}"));
        let reading =
            readings.iter().find(|r| Some(&r.item) == answer.item.as_ref() && r.position == answer.position);
        assert_eq!(reading.map(|r| r.outcome), Some(expected), "{answer:?} {load}");
    }
}

#[test]
fn a_correction_keeps_what_was_done_and_how_much() {
    let topped_up = RawAnswer {
        outcome: Some("corrected".into()),
        correction: Some(" topped up ".into()),
        amount: Some("10".into()),
        amount_unit: Some("us fl oz".into()),
        note: Some("third time this week".into()),
        ..answer("coolant")
    };
    let mut answers = whole();
    answers[2] = topped_up;
    let readings = read(&sheet(), &context(), &answers, &Before::default()).expect("readings");
    let correction = readings[2].correction.as_ref().expect("correction");
    assert_eq!(correction.what, "topped up");
    let amount = correction.amount.as_ref().expect("amount");
    assert_eq!(amount.to_string(), "10 US fl oz");
    // NIST SP 811 B.8: 1 US fluid ounce is 29.57353 mL.
    assert!((amount.base - 0.295_735_3).abs() < 1e-6);
}

#[test]
fn what_cannot_be_right_is_asked_again_where_it_stands() {
    let long = "x".repeat(1001);
    for (change, pointer, part) in [
        (tyre("front-left", "-3", "psi"), "/answers/3/value", "cannot be right"),
        (tyre("front-left", "10000", "psi"), "/answers/3/value", "cannot be right"),
        (tyre("front-left", "fifteen", "psi"), "/answers/3/value", "not a plain figure"),
        (tyre("front-left", "15", "mm"), "/answers/3/unit", "psi or kPa"),
        (tyre("front-left", "15", "stone"), "/answers/3/unit", "not a unit"),
        (tyre("front-left", "15", ""), "/answers/3/unit", "psi or kPa"),
        (tyre("front-left", "", "psi"), "/answers/3", "is not answered"),
        (
            RawAnswer { position: Some("front-left".into()), ..with("tyre", "ok") },
            "/answers/3/value",
            "give the figure",
        ),
        (
            RawAnswer { outcome: Some("not applicable".into()), ..tyre("front-left", "15", "psi") },
            "/answers/3/outcome",
            "Keep one of the two",
        ),
        (
            RawAnswer {
                outcome: Some("corrected".into()),
                correction: Some("pumped".into()),
                ..tyre("front-left", "80", "kPa")
            },
            "/answers/3/value",
            "still outside",
        ),
        (with("pedal", "not applicable"), "/answers/1/outcome", "cannot be left out"),
        (with("pedal", "corrected"), "/answers/1/outcome", "cannot be put right"),
        (with("pedal", "fine"), "/answers/1/outcome", "not an answer"),
        (with("pedal", " "), "/answers/1", "is not answered"),
        (with("coolant", "ok"), "/answers/2/level", "where the level is"),
        (with("coolant", "corrected"), "/answers/2/correction", "Say what you did"),
        (level("middling"), "/answers/2/level", "below, between or above"),
        (RawAnswer { level: Some("below".into()), ..with("horn", "ok") }, "/answers/0/level", "has no marks"),
        (RawAnswer { value: Some("1".into()), ..with("horn", "ok") }, "/answers/0/value", "is not measured"),
        (
            RawAnswer { amount: Some("1".into()), ..with("horn", "ok") },
            "/answers/0/amount",
            "takes no amount",
        ),
        (
            RawAnswer { correction: Some("hit it".into()), ..with("horn", "ok") },
            "/answers/0/correction",
            "note",
        ),
        (
            RawAnswer { amount: Some("1".into()), ..level("between") },
            "/answers/2/correction",
            "Say what you did",
        ),
        (
            RawAnswer {
                correction: Some("topped up".into()),
                amount: Some("1".into()),
                amount_unit: Some("psi".into()),
                ..level("between")
            },
            "/answers/2/amount_unit",
            "volume",
        ),
        (
            RawAnswer { correction: Some("topped up".into()), amount: Some("0".into()), ..level("between") },
            "/answers/2/amount",
            "cannot be right",
        ),
        (RawAnswer { note: Some(long), ..with("horn", "ok") }, "/answers/0/note", "too long"),
        (RawAnswer { note: Some("a\0b".into()), ..with("horn", "ok") }, "/answers/0/note", "cannot be shown"),
    ] {
        let shown = format!("{change:?}").chars().take(200).collect::<String>();
        let asked = questions(change);
        let [question] = &asked[..] else { panic!("{shown}: {asked:?}") };
        assert_eq!(question.pointer, pointer, "{shown}: {question:?}");
        assert!(question.sentence.contains(part), "{shown}: {}", question.sentence);
        assert!(question.sentence.here().ends_with('.'), "{}", question.sentence);
    }
}

#[test]
fn answers_that_belong_nowhere_are_refused() {
    for (extra, pointer, part) in [
        (with("horm", "ok"), "/answers/5/item", "not on this checklist"),
        (RawAnswer::default(), "/answers/5/item", "names no item"),
        (with("tyre", "ok"), "/answers/5/position", "Say which one"),
        (tyre("rear-left", "15", "psi"), "/answers/5/position", "no position"),
        (
            RawAnswer { position: Some("left".into()), ..with("horn", "ok") },
            "/answers/5/position",
            "has no positions",
        ),
        (with("horn", "defect"), "/answers/5/item", "twice"),
    ] {
        let mut answers = whole();
        answers.push(extra);
        let asked = read(&sheet(), &context(), &answers, &Before::default()).expect_err("a question");
        let [question] = &asked[..] else { panic!("{asked:?}") };
        assert_eq!(question.pointer, pointer);
        assert!(question.sentence.contains(part), "{}", question.sentence);
    }
}

#[test]
fn everything_wrong_is_asked_at_once() {
    let mut answers = whole();
    answers[3] = RawAnswer { outcome: Some("fine".into()), ..tyre("front-left", "x", "psi") };
    answers.pop();
    let asked = read(&sheet(), &context(), &answers, &Before { engine_hours: Some(Hours(1001)) })
        .expect_err("questions");
    let pointers: Vec<&str> = asked.iter().map(|q| q.pointer.as_str()).collect();
    assert_eq!(pointers, ["/engine_hours", "/answers/3/outcome", "/answers/3/value", "/answers"]);
}

#[test]
fn hours_that_run_backwards_or_leap_are_asked_about_until_confirmed() {
    for (before, confirmed, asked) in [
        (None, false, false),
        (Some(1000), false, false),
        (Some(1001), false, true),
        (Some(1001), true, false),
        (Some(0), false, false),
    ] {
        let context = Context { hours_confirmed: confirmed, ..context() };
        let before = Before { engine_hours: before.map(Hours) };
        assert_eq!(read(&sheet(), &context, &whole(), &before).is_err(), asked, "{before:?}");
    }
    let leap = Context { engine_hours: Some(Hours(123_450)), ..context() };
    let before = Before { engine_hours: Some(Hours(12_345)) };
    let asked = read(&sheet(), &leap, &whole(), &before).expect_err("a question");
    assert!(asked[0].sentence.contains("12345.0"), "{}", asked[0].sentence);
}

#[test]
fn an_air_temperature_that_cannot_be_true_is_asked_about() {
    for (figure, unit, asked) in [
        ("-60", Unit::Celsius, false),
        ("60", Unit::Celsius, false),
        ("140", Unit::Fahrenheit, false),
        ("-61", Unit::Celsius, true),
        ("61", Unit::Celsius, true),
        ("141", Unit::Fahrenheit, true),
        ("20", Unit::KPa, true),
    ] {
        let air = Measured::parse(figure, unit).expect("a figure");
        let context = Context { air: Some(air), ..context() };
        let read = read(&sheet(), &context, &whole(), &Before::default());
        assert_eq!(read.is_err(), asked, "{figure} {unit}");
        if let Err(questions) = read {
            assert_eq!(questions[0].pointer, "/air_temperature");
        }
    }
}

#[test]
fn a_retest_asks_for_what_failed_and_nothing_else() {
    let failed = [("tyre".to_owned(), Some("front-left".to_owned()))];
    let readings = read_retest(&sheet(), &context(), &[tyre("front-left", "15", "psi")], &failed);
    assert_eq!(readings.map(|r| r.len()), Ok(1));
    let open = read_retest(&sheet(), &context(), &[], &failed).expect_err("a question");
    assert!(open[0].sentence.here().starts_with("Tyre pressure, front left"), "{}", open[0].sentence);
    let extra =
        read_retest(&sheet(), &context(), &[tyre("front-left", "15", "psi"), with("horn", "ok")], &failed)
            .expect_err("a question");
    assert!(extra[0].sentence.contains("did not fail"), "{}", extra[0].sentence);
}

#[test]
fn json_may_give_figures_as_numbers() {
    let json = r#"{"item": "tyre", "position": "front-left", "value": 14.5, "unit": "psi"}"#;
    let raw: RawAnswer = serde_json::from_str(json).expect("json");
    assert_eq!(raw.value.as_deref(), Some("14.5"));
    let raw: RawAnswer =
        serde_json::from_str(r#"{"item": "tyre", "value": "14.5", "amount": null}"#).expect("json");
    assert_eq!((raw.value.as_deref(), raw.amount), (Some("14.5"), None));
    assert!(serde_json::from_str::<RawAnswer>(r#"{"value": true}"#).is_err());
    assert_eq!(level("below").level.map(|l| l.parse::<Level>()), Some(Ok(Level::Below)));
}
