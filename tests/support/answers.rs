//! Answers to a checklist: all well, with what is wrong put in afterwards.

use chock::domain::checklist::{Asks, Checklist, Load};
use chock::domain::reading::RawAnswer;

/// Every item of the checklist answered as it should be.
pub fn all_well(checklist: &Checklist, load: Load) -> Vec<RawAnswer> {
    checklist
        .walk()
        .iter()
        .map(|stop| {
            let mut raw = RawAnswer {
                item: Some(stop.item.key.clone()),
                position: stop.position.map(|p| p.key.clone()),
                ..RawAnswer::default()
            };
            match &stop.item.asks {
                Asks::Level => raw.level = Some("between".into()),
                Asks::Measure(m) => {
                    let least = m.bounds(load).at_least.expect("shipped limits are lower ones");
                    raw.value = Some(format!("{:.1}", least * 1.1));
                    raw.unit = Some(m.base.to_string());
                }
                _ => raw.outcome = Some("ok".into()),
            }
            raw
        })
        .collect()
}

/// The answer at one place.
pub fn at<'a>(answers: &'a mut [RawAnswer], item: &str, position: &str) -> &'a mut RawAnswer {
    answers
        .iter_mut()
        .find(|a| a.item.as_deref() == Some(item) && a.position.clone().unwrap_or_default() == position)
        .unwrap_or_else(|| panic!("{item} {position} is not on the checklist"))
}

pub fn fail(answers: &mut [RawAnswer], item: &str, position: &str) {
    let raw = at(answers, item, position);
    raw.outcome = Some("defect".into());
    raw.note = Some("Seen on the walk round".into());
}
