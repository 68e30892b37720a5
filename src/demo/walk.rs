//! What the invented people answer as they walk round a machine.

use chrono::{DateTime, TimeDelta, Utc};
use rand::RngExt;
use rand::rngs::StdRng;

use crate::domain::checklist::{Asks, Checklist, Load};
use crate::domain::defect::FailedItem;
use crate::domain::reading::RawAnswer;
use crate::domain::watched::{Said, Watched};
use crate::workflow::CheckForm;

/// When this check was begun: five to ten seconds an answer, and once in a long while a walk that nobody walked. Taken from
/// the check's own id, so that the rest of the invented history does not hang on it.
pub(super) fn began(form: &CheckForm) -> DateTime<Utc> {
    let chance = form.id.0.as_u128();
    let tenths =
        if chance.is_multiple_of(97) { 6 } else { 50 + i64::try_from(chance % 50).unwrap_or_default() };
    let stops = i64::try_from(form.checklist.walk().len()).unwrap_or_default();
    form.made_at - TimeDelta::milliseconds(tenths * 100 * stops)
}

/// An answer that passes the retest of one item, in the context of the failure.
pub(super) fn passing(checklist: &Checklist, failed: &FailedItem, load: Load) -> RawAnswer {
    let mut raw = RawAnswer {
        item: Some(failed.item.clone()),
        position: Some(failed.position.clone()).filter(|p| !p.is_empty()),
        ..RawAnswer::default()
    };
    match checklist.item(&failed.item).map(|i| &i.asks) {
        Some(Asks::Level) => raw.level = Some("between".to_owned()),
        Some(Asks::Measure(m)) => {
            let bounds = m.bounds(load);
            let value = match (bounds.at_least, bounds.at_most) {
                (Some(least), Some(most)) => (least + most) / 2.0,
                (Some(least), None) => least * 1.2,
                (None, Some(most)) => most * 0.8,
                (None, None) => (m.plausible.0 + m.plausible.1) / 2.0,
            };
            raw.value = Some(format!("{value:.1}"));
            raw.unit = Some(m.base.to_string());
        }
        _ => raw.outcome = Some("ok".to_owned()),
    }
    raw
}

/// Mostly the same as yesterday; now and then it is gone, or worse.
pub(super) fn look_at_watched(form: &CheckForm, random: &mut StdRng) -> Vec<Said> {
    let watched = form.open_defects.iter().filter(|d| d.watched);
    watched
        .map(|d| {
            let (now, note) = match random.random_range(0..100) {
                0..=4 => (Watched::Worse, "Clearly more than yesterday."),
                5..=11 => (Watched::Gone, "Could not see it any more."),
                _ => (Watched::Same, ""),
            };
            Said { defect: d.id, now: Some(now), note: note.to_owned() }
        })
        .collect()
}

/// An autumn's mornings, in °C.
pub(super) fn mild_air(at: DateTime<Utc>) -> String {
    const COOLEST: i64 = 6;
    let day = at.timestamp().div_euclid(86_400);
    (COOLEST + (day * 7).rem_euclid(11)).to_string()
}
