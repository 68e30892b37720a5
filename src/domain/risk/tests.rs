use super::{Answers, Category, Certain, Harm, Probability, RiskLevel, YesOrNo, assess, code, risk};
use crate::domain::checklist::System;
use crate::domain::standing::Severity;

/// MIL-STD-882E with Change 1, Table III, row by row.
#[test]
fn the_risk_table_is_table_three() {
    use RiskLevel::{Eliminated, High, Low, Medium, Serious};
    let table = [
        (Probability::Frequent, [High, High, Serious, Medium]),
        (Probability::Probable, [High, High, Serious, Medium]),
        (Probability::Occasional, [High, Serious, Medium, Low]),
        (Probability::Remote, [Serious, Medium, Medium, Low]),
        (Probability::Improbable, [Medium, Medium, Medium, Low]),
        (Probability::Eliminated, [Eliminated; 4]),
    ];
    assert_eq!(table.map(|(p, _)| p).as_slice(), Probability::ALL);
    for (probability, row) in table {
        for (category, level) in Category::ALL.iter().zip(row) {
            assert_eq!(risk(*category, probability), level, "{}", code(*category, probability));
        }
    }
    let count = |level| {
        let cells = Category::ALL.iter().flat_map(|c| Probability::ALL.iter().map(|p| risk(*c, *p)));
        cells.filter(|l| *l == level).count()
    };
    assert_eq!([High, Serious, Medium, Low].map(count), [5, 4, 8, 3]);
}

#[test]
fn the_short_forms_are_the_standards() {
    assert_eq!(code(Category::Catastrophic, Probability::Frequent), "1A");
    assert_eq!(code(Category::Negligible, Probability::Eliminated), "4F");
}

#[test]
fn risk_never_rises_with_less_harm_or_less_likelihood() {
    for pair in Category::ALL.windows(2) {
        for p in Probability::ALL {
            assert!(risk(pair[0], *p) >= risk(pair[1], *p), "{pair:?} {p}");
        }
    }
    for pair in Probability::ALL.windows(2) {
        for c in Category::ALL {
            assert!(risk(*c, pair[0]) >= risk(*c, pair[1]), "{pair:?} {c}");
        }
    }
}

fn every_answer() -> Vec<Answers> {
    let mut all = Vec::new();
    for affects in System::ALL.iter().copied().map(Some).chain([None]) {
        for fire in YesOrNo::ALL {
            for harm in Harm::ALL {
                for worse in YesOrNo::ALL {
                    for certain in Certain::ALL {
                        let (fire, harm, worse, certain) = (*fire, *harm, *worse, *certain);
                        all.push(Answers { affects, fire, harm, worse, certain });
                    }
                }
            }
        }
    }
    all
}

/// The issue: certain effect on brakes, steering, restraint, fuel or fire is always out of service.
#[test]
fn a_certain_effect_on_what_can_kill_always_stops_the_machine() {
    for answers in every_answer() {
        let affected = answers.fire == YesOrNo::Yes
            || matches!(
                answers.affects,
                Some(System::Brakes | System::Steering | System::Restraint | System::Fuel)
            );
        let doubted = answers.fire == YesOrNo::NotSure || answers.affects.is_none();
        let found = assess(answers, Some(RiskLevel::High));
        let certain = answers.certain == Certain::Seen;
        assert_eq!(found.final_, certain && affected, "{answers:?}");
        if (affected || doubted) && matches!(answers.certain, Certain::Seen | Certain::NotSure) {
            assert_eq!(found.severity, Severity::OutOfService, "{answers:?}");
        }
    }
}

/// Marginal and likely, and not getting worse: 3C, medium.
const LAMP: Answers = Answers {
    affects: Some(System::LightsAndSignals),
    fire: YesOrNo::No,
    harm: Harm::DayOff,
    worse: YesOrNo::No,
    certain: Certain::Likely,
};

#[test]
fn severity_follows_the_threshold_of_the_checklist() {
    for (threshold, severity) in [
        (RiskLevel::Low, Severity::OutOfService),
        (RiskLevel::Medium, Severity::OutOfService),
        (RiskLevel::Serious, Severity::Monitor),
        (RiskLevel::High, Severity::Monitor),
    ] {
        let found = assess(LAMP, Some(threshold));
        assert_eq!((found.level, found.severity), (RiskLevel::Medium, severity), "{threshold}");
    }
}

#[test]
fn the_reason_is_a_sentence_with_the_table_and_the_threshold() {
    let why = |answers, of_checklist| assess(answers, of_checklist).why;
    let hospital = Answers { harm: Harm::Hospital, ..LAMP };
    assert_eq!(
        why(hospital, Some(RiskLevel::Serious)),
        "Critical × occasional = serious (MIL-STD-882E Table III); this checklist grounds from serious."
    );
    assert_eq!(
        why(LAMP, None),
        "Marginal × occasional = medium (MIL-STD-882E Table III); without a checklist, a machine is grounded from \
         serious."
    );
    let brakes = Answers { affects: Some(System::Brakes), certain: Certain::Seen, ..LAMP };
    assert_eq!(
        why(brakes, Some(RiskLevel::High)),
        "Certain effect on brakes: always out of service. Critical × probable = high (MIL-STD-882E Table III)."
    );
    assert_eq!(
        why(Answers::default(), Some(RiskLevel::High)),
        "In doubt it affects brakes, steering, restraint or fuel: out of service. Catastrophic × frequent = high \
         (MIL-STD-882E Table III)."
    );
}

#[test]
fn nothing_answered_stops_the_machine_and_one_who_has_looked_may_lower_it() {
    let found = assess(Answers::default(), Some(RiskLevel::High));
    assert_eq!((found.severity, found.level, found.final_), (Severity::OutOfService, RiskLevel::High, false));
    let nothing = Answers { harm: Harm::Nobody, ..LAMP };
    assert_eq!(assess(nothing, None).severity, Severity::Monitor);
}

/// With "not sure" as the last and worst answer of every question.
#[test]
fn a_worse_answer_never_gives_a_milder_severity() {
    let affects = [Some(System::General), Some(System::Brakes), None];
    let harms = [Harm::Nobody, Harm::DayOff, Harm::Hospital, Harm::Deadly, Harm::NotSure];
    let yes = [YesOrNo::No, YesOrNo::Yes, YesOrNo::NotSure];
    let certain = [Certain::Suspected, Certain::Likely, Certain::Seen, Certain::NotSure];
    let rank = |a: Answers| {
        let found = assess(a, Some(RiskLevel::Serious));
        (found.severity, found.level)
    };
    for a in every_answer() {
        let mut worse: Vec<Answers> = Vec::new();
        worse.extend(affects.iter().skip_while(|x| **x != a.affects).map(|x| Answers { affects: *x, ..a }));
        worse.extend(harms.iter().skip_while(|x| **x != a.harm).map(|x| Answers { harm: *x, ..a }));
        worse.extend(yes.iter().skip_while(|x| **x != a.fire).map(|x| Answers { fire: *x, ..a }));
        worse.extend(yes.iter().skip_while(|x| **x != a.worse).map(|x| Answers { worse: *x, ..a }));
        worse.extend(certain.iter().skip_while(|x| **x != a.certain).map(|x| Answers { certain: *x, ..a }));
        assert!(worse.len() >= 4, "{a:?}");
        for b in worse {
            assert!(rank(b) >= rank(a), "{a:?}\n{b:?}");
        }
    }
}

#[test]
fn every_reason_is_short_and_a_report_never_eliminates_a_risk() {
    for answers in every_answer() {
        for threshold in RiskLevel::ALL.iter().copied().map(Some).chain([None]) {
            let found = assess(answers, threshold);
            for why in crate::words::Lang::ALL.iter().map(|lang| found.why.in_lang(*lang)) {
                assert!(why.split_whitespace().count() < 25, "{why}");
            }
            assert!(found.probability < Probability::Improbable, "{answers:?}");
        }
    }
}
