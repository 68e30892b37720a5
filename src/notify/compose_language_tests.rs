//! The same alert in the language of whoever it is for.

use std::collections::BTreeSet;

use super::*;
use crate::words::{Lang, speaking};

fn in_spanish(alert: &Alert) -> Mail {
    speaking(Lang::Es, || made(alert))
}

fn every_event() -> Vec<Event> {
    vec![
        held(&[]),
        held(&["fuel leak"]),
        held(&["fuel leak", "smoke"]),
        released(true, false),
        released(true, true),
        released(false, true),
        lifted(true),
        lifted(false),
        used(),
        came_back(true),
        came_back(false),
    ]
}

/// What of these alerts people and checklists wrote, which is no matter of the catalogues.
const WRITTEN: [&str; 7] = [
    "fuel leak",
    "smoke",
    "Brake pad, front left: 1.2 mm, at least 1.5 mm",
    "Horn",
    "Leave it where it is and tell the workshop.",
    "Oil leak, left side: failed",
    "Oil leak, left side: failed; back 4 days after its release (rule: oil leak back after repair). Checklist \
     utility-vehicle-daily version 3.",
];

fn lines(text: &str) -> BTreeSet<&str> {
    text.lines().map(|line| line.trim_start_matches("- ").trim()).filter(|line| !line.is_empty()).collect()
}

#[test]
fn no_line_of_ours_stays_english() {
    for event in every_event() {
        let alert = alert(event);
        let (english, spanish) = (made(&alert), in_spanish(&alert));
        let (before, after) = (lines(&english.text), lines(&spanish.text));
        let same: Vec<_> = before
            .intersection(&after)
            .filter(|line| !line.starts_with("https://") && !WRITTEN.contains(line))
            .collect();
        assert!(same.is_empty(), "{same:?}");
        assert_eq!(english.text.lines().count(), spanish.text.lines().count(), "{}", spanish.text);
        assert_ne!(english.subject, spanish.subject);
        assert!(spanish.subject.starts_with("U-07"), "{}", spanish.subject);
        assert!(spanish.html.contains("<html lang=\"es\">"), "{}", spanish.html);
        // Both parts say the same: what stands before a colon in the text is a label in the HTML.
        let html = read(&spanish.html).to_lowercase();
        let labels =
            spanish.text.lines().filter_map(|line| line.trim().split_once(": ")).map(|(label, _)| label);
        for label in labels.filter(|label| !label.starts_with("U-07")) {
            assert!(html.contains(&label.to_lowercase()), "{label:?} is not in {html}");
        }
    }
}

#[test]
fn a_held_machine_is_not_to_be_used_in_either_language() {
    let alert = alert(held(&["fuel leak", "smoke"]));
    let mail = in_spanish(&alert);
    assert_eq!(mail.subject, "U-07 está fuera de servicio: fuel leak (y 1 más)");
    both_say(
        &mail,
        &[
            "U-07 está fuera de servicio. No la use.",
            "Por qué",
            "Qué hacer ahora",
            "No aísla ninguna energía ni sustituye el bloqueo y etiquetado.",
            "Detenida por",
            "Para Ama Osei.",
        ],
    );
    assert_eq!(made(&alert).subject, "U-07 is out of service: fuel leak (and 1 more)");
}

#[test]
fn days_months_and_figures_are_written_as_the_language_has_them() {
    // Small letters and two "de", as the Royal Spanish Academy's orthography writes dates (from memory); the decimal comma
    // after CLDR's Spanish (from memory).
    let mail = in_spanish(&alert(used()));
    both_say(&mail, &["miércoles 25 de noviembre de 2026, 14:05 GMT (Europe/London)", "412,0 h", "413,6 h"]);
    assert!(!mail.text.contains("412.0"), "{}", mail.text);
}
