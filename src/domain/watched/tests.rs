use chrono::TimeDelta;
use uuid::Uuid;

use super::*;

fn moment(minutes: i64) -> DateTime<Utc> {
    DateTime::<Utc>::UNIX_EPOCH + TimeDelta::minutes(minutes)
}

fn defect(n: u128, severity: Severity, state: DefectState, raised: i64) -> Defect {
    let what = Text::typed(format!("Defect {n}"));
    Defect { id: DefectId(Uuid::from_u128(n)), what, severity, state, raised_at: moment(raised) }
}

fn said(n: u128, now: Option<Watched>, note: &str) -> Said {
    Said { defect: DefectId(Uuid::from_u128(n)), now, note: note.to_owned() }
}

fn pointers(open: &[Defect], said: &[Said], finished: i64) -> Vec<String> {
    questions(open, said, moment(finished)).into_iter().map(|p| p.pointer).collect()
}

#[test]
fn every_monitored_defect_that_was_there_is_asked_for_by_name() {
    use DefectState::*;
    use Severity::*;
    let open = [
        defect(1, Monitor, Monitored, 10),
        defect(2, OutOfService, Held, 10),
        defect(3, Monitor, Repaired, 10),
        defect(4, Monitor, NoFaultFound, 10),
        defect(5, Monitor, Monitored, 30),
    ];
    let asked = |said: &[Said], finished| {
        questions(&open, said, moment(finished)).into_iter().map(|p| p.sentence).collect::<Vec<_>>()
    };
    let first = "“Defect 1” is being watched. Look at it and say: same, worse or gone.";
    assert_eq!(asked(&[], 20), [first], "the fifth came after the check was finished");
    assert_eq!(asked(&[], 30).len(), 2, "raised at that moment: it was there");
    assert_eq!(asked(&[said(1, Some(Watched::Same), "")], 20), Vec::<String>::new());
    // Answering for one that came later, or that is no longer watched, is no fault.
    let more = [
        said(1, Some(Watched::Gone), ""),
        said(2, Some(Watched::Same), ""),
        said(5, Some(Watched::Same), ""),
    ];
    assert_eq!(asked(&more, 20), Vec::<String>::new());
}

#[test]
fn an_answer_left_open_or_given_twice_points_at_its_field() {
    let open = [defect(1, Severity::Monitor, DefectState::Monitored, 0)];
    let same = || said(1, Some(Watched::Same), "");
    assert_eq!(pointers(&open, &[], 1), ["/watched"]);
    assert_eq!(pointers(&open, &[said(1, None, "")], 1), ["/watched/0/now"]);
    assert_eq!(pointers(&open, &[said(1, Some(Watched::Worse), " ")], 1), ["/watched/0/note"], "a reason");
    assert_eq!(pointers(&open, &[said(1, Some(Watched::Worse), "drips now")], 1), Vec::<String>::new());
    assert_eq!(pointers(&open, &[same(), same()], 1), ["/watched/1/defect"]);
    let long = "x".repeat(MOST_NOTE + 1);
    assert_eq!(pointers(&open, &[said(1, Some(Watched::Gone), &long)], 1), ["/watched/0/note"]);
}

/// `2-rules`, the watch on monitored defects: gone needs a mechanic's eye to close; worse is out of service at that
/// instant; a closed defect never reopens.
#[test]
fn what_follows_by_table() {
    use Consequence::*;
    for state in DefectState::ALL.iter().copied() {
        for seen in [false, true] {
            for (now, open) in [
                (Watched::Same, SeenAgain),
                (Watched::Worse, OutOfService),
                (Watched::Gone, if seen { SeenAgain } else { SaidGone }),
            ] {
                let expected = if state == DefectState::Closed { ClosedMeanwhile } else { open };
                assert_eq!(consequence(now, state, seen), expected, "{now} {state} {seen}");
            }
        }
    }
}
