//! What each kind of rule does, by table.

use super::{at, checklist, judged, laden, readings, unladen};
use crate::domain::judge::telling::{MOST_WORDS, words};
use crate::domain::judge::{
    History, ITEM_FAILED, SAFETY_ITEM_FAILED, SAFETY_ITEM_UNANSWERED, judge, retest, retest_passes,
};
use crate::domain::standing::{Severity, Standing};
use crate::words::Lang;

const THIN_PAD: &str = r#"
[[rule]]
name = "pad under its limit"
severity = "out of service"
final = true
when = [{ item = "pad", value = "below limit" }]
instruction = "Stop."
route = "brakes"

[[rule]]
name = "pad wearing thin"
severity = "monitor"
good_for_days = 10
good_for_hours = 30
when = [{ item = "pad", below = "3 mm" }]
instruction = "Watch it."
"#;

#[test]
fn without_rules_a_failed_safety_item_stops_the_machine_and_any_other_is_watched() {
    let list = checklist("");
    for (wrong, item, position, severity, rule) in [
        ("disc/left=defect", "disc", Some("left"), Severity::OutOfService, SAFETY_ITEM_FAILED),
        ("pad/right=1.4 mm", "pad", Some("right"), Severity::OutOfService, SAFETY_ITEM_FAILED),
        ("fluid=above", "fluid", None, Severity::OutOfService, SAFETY_ITEM_FAILED),
        ("horn=defect", "horn", None, Severity::Monitor, ITEM_FAILED),
        ("tyre=350 kPa", "tyre", None, Severity::Monitor, ITEM_FAILED),
    ] {
        let judgement = judged(&list, &unladen(), &[wrong]);
        assert_eq!(judgement.findings.len(), 1, "{wrong}");
        let finding = at(&judgement, item, position);
        assert_eq!((finding.severity, finding.rule.as_str()), (severity, rule), "{wrong}");
        assert_eq!(finding.good_for_days.is_some(), severity == Severity::Monitor, "{wrong}");
        assert_eq!(finding.failed, [(item.to_owned(), position.map(str::to_owned))]);
    }
}

#[test]
fn what_is_well_not_applicable_or_corrected_is_no_finding() {
    let list = checklist(THIN_PAD);
    for wrong in ["horn=not applicable", "fluid=corrected", "pad/left=3.0 mm", "tyre=100 kPa"] {
        let judgement = judged(&list, &unladen(), &[wrong]);
        assert_eq!(judgement.findings, [], "{wrong}");
        assert_eq!(judgement.verdict(), Standing::FitForUse);
    }
}

#[test]
fn a_value_is_held_against_its_limit_and_against_a_stated_figure_at_each_position() {
    let list = checklist(THIN_PAD);
    for (value, severity, rule, supporting) in [
        ("2.9 mm", Severity::Monitor, "pad wearing thin", 0),
        ("1.5 mm", Severity::Monitor, "pad wearing thin", 0),
        ("1.4 mm", Severity::OutOfService, "pad under its limit", 1),
        // 1.5 mm is 0.0591 in.
        ("0.06 in", Severity::Monitor, "pad wearing thin", 0),
        ("0.05 in", Severity::OutOfService, "pad under its limit", 1),
    ] {
        let judgement = judged(&list, &unladen(), &[&format!("pad/right={value}")]);
        let finding = at(&judgement, "pad", Some("right"));
        assert_eq!((finding.severity, finding.rule.as_str()), (severity, rule), "{value}");
        assert_eq!(finding.supporting.len(), supporting, "{value}");
        assert_eq!(judgement.findings.len(), 1, "{value}");
    }
    let finding = judged(&list, &unladen(), &["pad/left=1.2 mm"]).findings.remove(0);
    assert_eq!(finding.what, "Brake pad, left: 1.2 mm, at least 1.5 mm");
    assert_eq!(finding.why, "Brake pad, left: 1.2 mm, at least 1.5 mm (rule: pad under its limit).");
    assert_eq!(
        finding.supporting[0].sentence,
        "Brake pad, left: 1.2 mm, below 3 mm (rule: pad wearing thin)."
    );
    assert!(finding.final_);
    assert_eq!((finding.instruction.here(), finding.route.as_deref()), ("Stop.", Some("brakes")));
    assert_eq!((finding.good_for_days, finding.good_for_hours), (None, None));
}

#[test]
fn the_declared_load_chooses_the_limit_and_the_rule() {
    let list = checklist(
        r#"
[[rule]]
name = "too soft for load"
severity = "out of service"
when = [{ item = "tyre", value = "below limit" }, { load = "laden" }]
instruction = "Unload."

[[rule]]
name = "too hard"
severity = "monitor"
good_for_hours = 2
when = [{ item = "tyre", value = "above limit" }]
instruction = "Let air out."
"#,
    );
    for (context, value, expected) in [
        (unladen(), "100 kPa", None),
        (unladen(), "99 kPa", Some(ITEM_FAILED)),
        (laden(), "149 kPa", Some("too soft for load")),
        (laden(), "150 kPa", None),
        (laden(), "301 kPa", Some("too hard")),
        (unladen(), "3.01 bar", Some("too hard")),
    ] {
        let judgement = judged(&list, &context, &[&format!("tyre={value}")]);
        let rule = judgement.findings.first().map(|f| f.rule.as_str());
        assert_eq!(rule, expected, "{value} {}", context.load);
    }
    let finding = judged(&list, &laden(), &["tyre=20 psi"]).findings.remove(0);
    // 150 kPa is 21.756 psi (1 psi = 6.894757 kPa, NIST SP 811).
    assert_eq!(finding.what, "Tyre pressure: 20 psi, at least 21.8 psi, laden");
}

#[test]
fn a_level_is_told_by_its_side() {
    let list = checklist(
        r#"
[[rule]]
name = "fluid low"
severity = "out of service"
when = [{ item = "fluid", level = "below" }]
instruction = "Stop."

[[rule]]
name = "fluid high"
severity = "monitor"
good_for_days = 1
when = [{ item = "fluid", level = "above" }]
instruction = "Take some out."
"#,
    );
    for (level, rule, what) in [
        ("below", "fluid low", "Brake fluid level: below its marks"),
        ("above", "fluid high", "Brake fluid level: above its marks"),
        ("defect", SAFETY_ITEM_FAILED, "Brake fluid level: could not be read"),
    ] {
        let finding = judged(&list, &unladen(), &[&format!("fluid={level}")]).findings.remove(0);
        assert_eq!((finding.rule.as_str(), finding.what.here()), (rule, what));
    }
}

const LOSING_FLUID: &str = r#"
[[rule]]
name = "losing brake fluid"
severity = "out of service"
when = [{ item = "fluid", outcome = "defect" }, { item = "leak", outcome = "defect" }]
instruction = "Stop."

[[rule]]
name = "fluid wrong"
severity = "monitor"
good_for_days = 1
when = [{ item = "fluid", outcome = "defect" }]
instruction = "Watch it."
"#;

#[test]
fn a_rule_over_several_items_is_found_on_the_first_and_retested_on_all() {
    let list = checklist(LOSING_FLUID);
    let judgement = judged(&list, &unladen(), &["fluid=below", "leak=defect"]);
    let fluid = at(&judgement, "fluid", None);
    assert_eq!((fluid.severity, fluid.rule.as_str()), (Severity::OutOfService, "losing brake fluid"));
    assert_eq!(fluid.failed, [("fluid".to_owned(), None), ("leak".to_owned(), None)]);
    assert_eq!(
        fluid.why,
        "Brake fluid level: below its marks; Brake fluid leak: failed (rule: losing brake fluid)."
    );
    assert_eq!(fluid.supporting.iter().map(|r| r.rule.as_str()).collect::<Vec<_>>(), ["fluid wrong"]);
    // The other failed item keeps a finding of its own.
    assert_eq!(at(&judgement, "leak", None).rule, ITEM_FAILED);
    assert_eq!(judgement.verdict(), Standing::OutOfService);

    let low = judged(&list, &unladen(), &["fluid=below"]);
    assert_eq!((low.findings.len(), low.verdict()), (1, Standing::Monitored));
}

#[test]
fn a_rule_over_several_items_looks_at_the_same_position_where_both_have_it() {
    let list = checklist(
        r#"
[[rule]]
name = "thin and scored"
severity = "out of service"
when = [{ item = "pad", below = "3 mm" }, { item = "disc", outcome = "defect" }]
instruction = "Stop."

[[rule]]
name = "left pad with leak"
severity = "out of service"
when = [{ item = "leak", outcome = "defect" }, { item = "pad", position = "left", below = "5 mm" }]
instruction = "Stop."

[[rule]]
name = "any pad with low tyre"
severity = "out of service"
when = [{ item = "tyre", value = "below limit" }, { item = "pad", below = "5 mm" }]
instruction = "Stop."
"#,
    );
    let rules_at = |wrong: &[&str], item: &str, position: Option<&str>| -> Vec<String> {
        let judgement = judged(&list, &unladen(), wrong);
        let here = |f: &&crate::domain::judge::Finding| f.item == item && f.position.as_deref() == position;
        judgement.findings.iter().filter(here).map(|f| f.rule.clone()).collect()
    };
    let same = ["pad/left=2 mm", "disc/left=defect"];
    let crossed = ["pad/left=2 mm", "disc/right=defect"];
    assert_eq!(rules_at(&same, "pad", Some("left")), ["thin and scored"]);
    assert_eq!(rules_at(&crossed, "pad", Some("left")), [""; 0]);
    assert_eq!(rules_at(&["leak=defect", "pad/left=4 mm"], "leak", None), ["left pad with leak"]);
    assert_eq!(rules_at(&["leak=defect", "pad/right=4 mm"], "leak", None), [ITEM_FAILED]);
    let low = judged(&list, &unladen(), &["tyre=90 kPa", "pad/right=4 mm"]);
    let tyre = at(&low, "tyre", None);
    assert_eq!(tyre.rule, "any pad with low tyre");
    assert_eq!(tyre.failed, [("tyre".to_owned(), None), ("pad".to_owned(), Some("right".to_owned()))]);
}

#[test]
fn a_milder_rule_that_needs_more_to_go_wrong_does_not_save_a_failed_safety_item() {
    // The file reader refuses such a watch; the judge does not rely on that.
    let mut list = checklist(
        r#"
[[rule]]
name = "disc with horn"
severity = "out of service"
when = [{ item = "disc", outcome = "defect" }, { item = "horn", outcome = "defect" }]
instruction = "Watch it."
"#,
    );
    list.rules[0].severity = Severity::Monitor;
    let judgement = judged(&list, &unladen(), &["disc/left=defect", "horn=defect"]);
    let disc = at(&judgement, "disc", Some("left"));
    assert_eq!((disc.severity, disc.rule.as_str()), (Severity::OutOfService, SAFETY_ITEM_FAILED));
    assert_eq!(disc.supporting[0].rule, "disc with horn");
}

#[test]
fn a_milder_rule_on_two_positions_does_not_save_a_failed_safety_item() {
    // Found by the property test "a worse reading never gives a milder verdict", once in some thirty thousand cases.
    let mut list = checklist(
        r#"
[[rule]]
name = "both discs"
severity = "out of service"
when = [{ item = "disc", outcome = "defect" }, { item = "disc", position = "right", outcome = "defect" }]
instruction = "Watch it."
"#,
    );
    list.rules[0].severity = Severity::Monitor;
    let judgement = judged(&list, &unladen(), &["disc/left=defect", "disc/right=defect"]);
    let left = at(&judgement, "disc", Some("left"));
    assert_eq!((left.severity, left.rule.as_str()), (Severity::OutOfService, SAFETY_ITEM_FAILED));
    // At the right one the rule asks for nothing but its own failure, so it speaks of it.
    assert_eq!(at(&judgement, "disc", Some("right")).severity, Severity::Monitor);
}

#[test]
fn equal_rules_are_settled_by_final_then_by_order_and_the_shortest_watch_holds() {
    let rule = |name: &str, severity: &str, more: &str| {
        format!(
            "[[rule]]\nname = {name:?}\nseverity = {severity:?}\n{more}\nwhen = [{{ item = \"horn\", outcome = \
             \"defect\" }}]\ninstruction = \"Say {name}.\"\n"
        )
    };
    let watches = rule("first", "monitor", "good_for_days = 9\ngood_for_hours = 40")
        + &rule("second", "monitor", "good_for_days = 2");
    let finding = judged(&checklist(&watches), &unladen(), &["horn=defect"]).findings.remove(0);
    assert_eq!(finding.rule, "first");
    assert_eq!((finding.good_for_days, finding.good_for_hours), (Some(2), Some(40)));
    assert_eq!(finding.supporting[0].rule, "second");

    let stops = rule("plain", "out of service", "") + &rule("binding", "out of service", "final = true");
    let finding = judged(&checklist(&stops), &unladen(), &["horn=defect"]).findings.remove(0);
    assert_eq!((finding.rule.as_str(), finding.final_), ("binding", true));
}

#[test]
fn the_most_severe_comes_first_then_the_walk_decides() {
    let judgement =
        judged(&checklist(""), &unladen(), &["horn=defect", "fluid=below", "leak=defect", "pad/right=1 mm"]);
    let order: Vec<&str> = judgement.findings.iter().map(|f| f.item.as_str()).collect();
    assert_eq!(order, ["pad", "fluid", "leak", "horn"]);
}

#[test]
fn a_safety_item_without_a_reading_stops_the_machine() {
    let list = checklist("");
    let mut given = readings(&list, &unladen(), &[]);
    given.retain(|r| r.item != "fluid" && r.item != "horn");
    let judgement = judge(&list, &unladen(), &given, &History::default());
    let [finding] = &judgement.findings[..] else { panic!("{judgement:?}") };
    assert_eq!((finding.item.as_str(), finding.rule.as_str()), ("fluid", SAFETY_ITEM_UNANSWERED));
    assert_eq!(judgement.verdict(), Standing::OutOfService);
}

#[test]
fn a_reading_of_no_known_item_changes_nothing() {
    let list = checklist("");
    let mut given = readings(&list, &unladen(), &[]);
    let mut stray = given[0].clone();
    (stray.item, stray.outcome) = ("winch".into(), crate::domain::reading::Outcome::Defect);
    given.push(stray);
    assert_eq!(judge(&list, &unladen(), &given, &History::default()).findings, []);
}

/// 29 CFR 1910.178(p)(1): out of service until restored; the repair is proved on the very items that failed.
#[test]
fn a_retest_passes_only_when_every_failed_item_is_plainly_ok() {
    let list = checklist(&format!("{THIN_PAD}{LOSING_FLUID}"));
    let failed = |places: &[(&str, Option<&str>)]| -> Vec<(String, Option<String>)> {
        places.iter().map(|(i, p)| ((*i).to_owned(), p.map(str::to_owned))).collect()
    };
    let pad = failed(&[("pad", Some("left"))]);
    let both = failed(&[("fluid", None), ("leak", None)]);
    for (wrong, failed, expected) in [
        (&[][..], &pad, true),
        (&["pad/left=8 mm"], &pad, true),
        (&["pad/left=1.4 mm"], &pad, false),
        // Still what a rule watches: the same rules hold as at the check.
        (&["pad/left=2 mm"], &pad, false),
        (&["pad/left=defect"], &pad, false),
        // Another wheel is another defect.
        (&["pad/right=1 mm"], &pad, true),
        (&["fluid=below"], &pad, true),
        (&[], &both, true),
        (&["fluid=below"], &both, false),
        (&["leak=defect"], &both, false),
        (&["fluid=corrected"], &both, false),
    ] {
        let given = readings(&list, &unladen(), wrong);
        assert_eq!(retest_passes(&list, &unladen(), &given, failed), expected, "{wrong:?} {failed:?}");
    }
    let horn = failed(&[("horn", None)]);
    let given = readings(&list, &unladen(), &["horn=not applicable"]);
    assert!(!retest_passes(&list, &unladen(), &given, &horn), "not applicable proves nothing");
    assert_eq!(retest(&list, &unladen(), &[], &pad).not_ok, pad);
    assert!(!retest_passes(&list, &unladen(), &given, &failed(&[("winch", None)])));
}

#[test]
fn a_retest_is_held_against_the_limits_of_its_own_load() {
    let list = checklist("");
    let failed = [("tyre".to_owned(), None)];
    let given = readings(&list, &unladen(), &["tyre=120 kPa"]);
    assert!(retest_passes(&list, &unladen(), &given, &failed));
    // Written ok when empty, the same figure does not pass loaded.
    assert!(!retest_passes(&list, &laden(), &given, &failed));
}

#[test]
fn every_reason_of_the_shipped_checklists_is_short() {
    for (name, text) in crate::domain::shipped::SHIPPED {
        let list = crate::domain::checklist_file::parse(text).expect(name);
        let mut all = super::all_well(&list);
        for reading in &mut all {
            reading.outcome = crate::domain::reading::Outcome::Defect;
            if reading.level.is_some() {
                reading.level = Some(crate::domain::reading::Level::Below);
            }
            if reading.value.is_some() {
                reading.value = Some(super::measured("1.25", crate::domain::unit::Unit::Mm));
            }
        }
        for finding in judge(&list, &laden(), &all, &History::default()).findings {
            let sentences = finding.supporting.iter().map(|r| &r.sentence).chain([&finding.why]);
            for sentence in sentences.flat_map(|s| Lang::ALL.iter().map(|lang| s.in_lang(*lang))) {
                assert!(words(sentence) <= MOST_WORDS, "{} words: {sentence}", words(sentence));
            }
        }
    }
}
