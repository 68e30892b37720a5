use super::{Answers, Category, Certain, Harm, Probability, RiskLevel, Worse, assess, code, risk};
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
    for affects in System::ALL {
        for fire in [false, true] {
            for harm in Harm::ALL {
                for worse in Worse::ALL {
                    for certain in Certain::ALL {
                        let (affects, harm, worse, certain) = (*affects, *harm, *worse, *certain);
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
    for answers in every_answer().into_iter().filter(|a| a.certain == Certain::Seen) {
        let always = answers.fire
            || matches!(
                answers.affects,
                System::Brakes | System::Steering | System::Restraint | System::Fuel
            );
        let found = assess(answers, RiskLevel::High);
        assert_eq!(found.final_, always, "{answers:?}");
        if always {
            assert_eq!(found.severity, Severity::OutOfService, "{answers:?}");
        }
    }
}

#[test]
fn severity_follows_the_threshold_of_the_checklist() {
    let lamp = Answers {
        affects: System::LightsAndSignals,
        fire: false,
        harm: Harm::DayOff,
        worse: Worse::No,
        certain: Certain::Likely,
    };
    // 3C, medium.
    for (threshold, severity) in [
        (RiskLevel::Low, Severity::OutOfService),
        (RiskLevel::Medium, Severity::OutOfService),
        (RiskLevel::Serious, Severity::Monitor),
        (RiskLevel::High, Severity::Monitor),
    ] {
        let found = assess(lamp, threshold);
        assert_eq!((found.level, found.severity), (RiskLevel::Medium, severity), "{threshold}");
    }
    assert_eq!(
        assess(lamp, RiskLevel::Serious).why,
        "Risk medium (3C: marginal, occasional); out of service here from serious on."
    );
    let unsure = Answers { harm: Harm::NotSure, worse: Worse::NotSure, certain: Certain::Suspected, ..lamp };
    assert_eq!(
        assess(unsure, RiskLevel::default()).severity,
        Severity::OutOfService,
        "in doubt out of service"
    );
    let nothing = Answers { harm: Harm::Nobody, ..lamp };
    assert_eq!(assess(nothing, RiskLevel::default()).severity, Severity::Monitor);
}

#[test]
fn a_worse_answer_never_gives_a_milder_severity() {
    let harms = [Harm::Nobody, Harm::DayOff, Harm::Hospital, Harm::Deadly, Harm::NotSure];
    let worse = [Worse::No, Worse::Yes, Worse::NotSure];
    let certain = [Certain::Suspected, Certain::Likely, Certain::Seen];
    let rank = |a: Answers| {
        let found = assess(a, RiskLevel::Serious);
        (found.severity, found.level)
    };
    for a in every_answer() {
        for h in harms.iter().skip_while(|h| **h != a.harm) {
            for w in worse.iter().skip_while(|w| **w != a.worse) {
                for c in certain.iter().skip_while(|c| **c != a.certain) {
                    for fire in [a.fire, true] {
                        let b = Answers { harm: *h, worse: *w, certain: *c, fire, ..a };
                        assert!(rank(b) >= rank(a), "{a:?}\n{b:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn every_reason_is_short_and_a_report_never_eliminates_a_risk() {
    for answers in every_answer() {
        for threshold in RiskLevel::ALL {
            let found = assess(answers, *threshold);
            assert!(found.why.split_whitespace().count() < 25, "{}", found.why);
            assert!(found.probability < Probability::Improbable, "{answers:?}");
        }
    }
}
