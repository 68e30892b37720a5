use super::*;
use crate::domain::alert::{ArrivedPart, Because, CameBack, ReleasedDefect};
use crate::domain::ids::{DefectId, MachineId, PersonId, WorkOrderId};
use chrono::TimeZone;
use uuid::Uuid;

#[path = "compose_language_tests.rs"]
mod languages;

const MACHINE: Uuid = Uuid::from_u128(0x0190a7b0_0000_7000_8000_0000000000aa);
const NO_ENERGY: &str = "isolates no energy";

fn typed(text: &str) -> crate::words::Text {
    crate::words::Text::typed(text)
}

fn held(why: &[&str]) -> Event {
    Event::MachineHeld {
        why: why.iter().map(|line| Because::new(&typed(line), &typed(line))).collect(),
        instruction: typed("Leave it where it is and tell the workshop."),
        work_order: Some(WorkOrderId(Uuid::from_u128(5))),
        recorded_at: None,
    }
}

fn released(fit_for_use: bool, released_by_repairer: bool) -> Event {
    Event::Released {
        defects: vec![
            ReleasedDefect {
                defect: DefectId(Uuid::from_u128(6)),
                what: typed("Brake pad, front left: 1.2 mm, at least 1.5 mm"),
                cause: "worn".to_owned(),
                remedy: "pads of both front wheels replaced".to_owned(),
                retested_by: "Tomasz Wren".to_owned(),
                no_fault_found: false,
            },
            ReleasedDefect {
                defect: DefectId(Uuid::from_u128(7)),
                what: typed("Horn"),
                cause: String::new(),
                remedy: String::new(),
                retested_by: "Ines Marlow".to_owned(),
                no_fault_found: true,
            },
        ],
        repaired_by: vec!["Tomasz Wren".to_owned(), "Ines Marlow".to_owned()],
        released_by_repairer,
        fit_for_use,
    }
}

fn lifted(fit_for_use: bool) -> Event {
    Event::HoldLifted {
        placed_by: "Ama Osei".to_owned(),
        hold_reason: typed("smells of fuel"),
        lift_reason: "spilt while filling, wiped".to_owned(),
        fit_for_use,
    }
}

fn used() -> Event {
    Event::UsedWhileHeld { held_at_hours: "412.0".to_owned(), now_hours: "413.6".to_owned() }
}

fn came_back(out_of_service: bool) -> Event {
    Event::CameBack {
        defects: vec![CameBack {
            defect: DefectId(Uuid::from_u128(8)),
            what: typed("Oil leak, left side: failed"),
            why: typed(
                "Oil leak, left side: failed; back 4 days after its release (rule: oil leak back after repair). \
                 Checklist utility-vehicle-daily version 3.",
            ),
            out_of_service,
            prior: Some(DefectId(Uuid::from_u128(6))),
            cause: "seal hardened".to_owned(),
            remedy: typed("seal replaced"),
            released_at: Some(Utc.with_ymd_and_hms(2026, 11, 21, 10, 0, 0).unwrap()),
        }],
        recorded_at: None,
    }
}

fn alert(event: Event) -> Alert {
    Alert {
        machine: Some(MachineId(MACHINE)),
        unit_number: "U-07".to_owned(),
        yard_name: "Fenside".to_owned(),
        at: Utc.with_ymd_and_hms(2026, 11, 25, 14, 5, 0).unwrap(),
        zone: chrono_tz::Europe::London,
        by: "Rowan Pike".to_owned(),
        by_id: PersonId(Uuid::from_u128(3)),
        event,
    }
}

fn made(alert: &Alert) -> Mail {
    compose(
        alert,
        AlertId(Uuid::from_u128(0x11)),
        "Ama Osei",
        "ama@example.org",
        "https://chock.example.org/",
        "chock.example.org",
        None,
    )
    .unwrap()
}

/// What a reader of the HTML part sees: tags gone, the few entities our templates and the escaper write undone.
fn read(html: &str) -> String {
    let mut text = String::new();
    let mut tag = false;
    for c in html.chars() {
        match c {
            '<' => tag = true,
            '>' => {
                tag = false;
                text.push(' ');
            }
            _ if !tag => text.push(c),
            _ => {}
        }
    }
    for (entity, c) in [("&#60;", "<"), ("&#62;", ">"), ("&#34;", "\""), ("&#39;", "'"), ("&#38;", "&")] {
        text = text.replace(entity, c);
    }
    one_line(&text)
}

#[track_caller]
fn both_say(mail: &Mail, words: &[&str]) {
    let (text, html) = (one_line(&mail.text), read(&mail.html));
    for words in words {
        assert!(text.to_lowercase().contains(&words.to_lowercase()), "text lacks {words:?}:\n{}", mail.text);
        assert!(html.to_lowercase().contains(&words.to_lowercase()), "HTML lacks {words:?}:\n{html}");
    }
}

#[track_caller]
fn neither_says(mail: &Mail, words: &str) {
    assert!(!mail.text.contains(words), "text says {words:?}:\n{}", mail.text);
    assert!(!mail.html.contains(words), "HTML says {words:?}");
}

#[test]
fn every_mail_starts_with_the_unit_number_and_links_to_the_machine() {
    for event in [
        held(&["Fuel leak"]),
        released(true, false),
        released(false, true),
        lifted(true),
        lifted(false),
        used(),
    ] {
        let mail = made(&alert(event));
        assert!(mail.subject.starts_with("U-07"), "{}", mail.subject);
        let link = format!("https://chock.example.org/machines/{MACHINE}");
        assert!(mail.text.lines().any(|line| line == link), "{}", mail.text);
        assert!(mail.html.contains(&format!("href=\"{link}\"")), "{}", mail.html);
        both_say(&mail, &["Fenside", "Rowan Pike", "To Ama Osei"]);
        assert!(!mail.text.contains("\n\n\n"), "gaps:\n{}", mail.text);
    }
}

#[test]
fn a_held_machine_says_do_not_use_why_and_what_to_do() {
    let mail = made(&alert(held(&["Brake pad, front left: 1.2 mm, at least 1.5 mm"])));
    assert_eq!(mail.subject, "U-07 is out of service: Brake pad, front left: 1.2 mm, at least 1.5 mm");
    both_say(
        &mail,
        &[
            "U-07 is out of service. Do not use it.",
            "Brake pad, front left: 1.2 mm, at least 1.5 mm",
            "Leave it where it is and tell the workshop.",
            "A work order is in the mechanic queue.",
            "Stopped by",
            NO_ENERGY,
        ],
    );
}

#[test]
fn a_held_machine_names_every_reason_and_counts_them_in_the_subject() {
    let mail = made(&alert(held(&["Fuel leak, left side", "Horn", "Seat belt, driver"])));
    assert_eq!(mail.subject, "U-07 is out of service: Fuel leak, left side (and 2 more)");
    both_say(&mail, &["Fuel leak, left side", "Horn", "Seat belt, driver"]);
    assert_eq!(made(&alert(held(&[]))).subject, "U-07 is out of service");
}

#[test]
fn a_work_order_is_only_spoken_of_where_there_is_one() {
    let event = Event::MachineHeld {
        why: vec![Because::new(&typed("smoke"), &typed("smoke"))],
        instruction: typed(""),
        work_order: None,
        recorded_at: None,
    };
    let mail = made(&alert(event));
    neither_says(&mail, "work order");
    neither_says(&mail, "What to do now");
}

#[test]
fn the_return_to_service_note_tells_what_became_of_each_defect() {
    let mail = made(&alert(released(true, false)));
    assert_eq!(mail.subject, "U-07 is back in service");
    both_say(
        &mail,
        &[
            "Return-to-service note",
            "Brake pad, front left: 1.2 mm, at least 1.5 mm",
            "worn",
            "pads of both front wheels replaced",
            "Tomasz Wren",
            "No fault found.",
            "Ines Marlow",
            "Do the pre-use check before you take it.",
        ],
    );
    for line in
        ["  Cause: worn", "  Retest passed, done by: Ines Marlow", "Repaired by: Tomasz Wren, Ines Marlow"]
    {
        assert!(mail.text.lines().any(|l| l == line), "lacks {line:?}:\n{}", mail.text);
    }
    assert_eq!(mail.text.matches("Cause:").count(), 1, "the empty cause is not shown:\n{}", mail.text);
    neither_says(&mail, "released by the repairer");
    neither_says(&mail, NO_ENERGY);
}

#[test]
fn a_release_by_the_repairer_says_so() {
    both_say(&made(&alert(released(true, true))), &["Rowan Pike (released by the repairer)"]);
}

#[test]
fn a_machine_with_another_hold_is_never_called_fit() {
    for event in [released(false, false), lifted(false)] {
        let mail = made(&alert(event));
        assert!(mail.subject.starts_with("U-07 is still out of service"), "{}", mail.subject);
        both_say(&mail, &["out of service", "another hold is open", "Do not use it.", NO_ENERGY]);
        neither_says(&mail, "back in service");
        neither_says(&mail, "Return-to-service");
        neither_says(&mail, "may be used");
    }
}

#[test]
fn a_lifted_hold_tells_who_placed_it_who_lifted_it_and_both_reasons() {
    let mail = made(&alert(lifted(true)));
    assert_eq!(mail.subject, "U-07: a hold was lifted by Rowan Pike");
    both_say(
        &mail,
        &["Ama Osei", "smells of fuel", "Rowan Pike", "spilt while filling, wiped", "may be used"],
    );
    neither_says(&mail, NO_ENERGY);
}

#[test]
fn use_while_out_of_service_gives_both_readings() {
    both_say(&made(&alert(used())), &["412.0 h", "413.6 h", "out of service", NO_ENERGY]);
}

#[test]
fn times_are_those_of_the_yard() {
    // IANA time zone database: London is on GMT in November and on BST (UTC+1) in July; 25 October 2026, 01:30 comes
    // twice there. Kolkata is UTC+05:30 all year.
    let at = |month, day, hour, minute| Utc.with_ymd_and_hms(2026, month, day, hour, minute, 0).unwrap();
    for (zone, at, shown) in [
        (
            chrono_tz::Europe::London,
            at(11, 25, 14, 5),
            "Wednesday 25 November 2026, 14:05 GMT (Europe/London)",
        ),
        (chrono_tz::Europe::London, at(7, 1, 14, 5), "Wednesday 1 July 2026, 15:05 BST (Europe/London)"),
        (chrono_tz::Europe::London, at(10, 25, 0, 30), "Sunday 25 October 2026, 01:30 BST (Europe/London)"),
        (chrono_tz::Europe::London, at(10, 25, 1, 30), "Sunday 25 October 2026, 01:30 GMT (Europe/London)"),
        (chrono_tz::Asia::Kolkata, at(11, 25, 20, 0), "Thursday 26 November 2026, 01:30 IST (Asia/Kolkata)"),
    ] {
        let mail = made(&Alert { at, zone, ..alert(held(&["Fuel leak"])) });
        both_say(&mail, &[shown]);
        assert_eq!(mail.date, at);
    }
}

#[test]
fn what_somebody_typed_stays_text() {
    let evil = "<img src=x onerror=alert(1)>\r\nBcc: other@example.org\r\n\r\nU-08 is back in service";
    let mut alert = alert(Event::MachineHeld {
        why: vec![Because { what: typed(evil), why: typed(evil) }],
        instruction: typed(evil),
        work_order: None,
        recorded_at: None,
    });
    alert.unit_number = format!("U-07{evil}");
    alert.by = evil.to_owned();
    alert.yard_name = evil.to_owned();
    let mail = made(&alert);
    assert!(!mail.html.contains("<img"), "{}", mail.html);
    assert!(!mail.subject.contains(['\r', '\n']));
    assert!(
        mail.text.lines().all(|line| !line.starts_with("Bcc:") && !line.starts_with("U-08")),
        "{}",
        mail.text
    );
}

#[test]
fn a_subject_stays_short_and_keeps_its_head() {
    let mut alert = alert(held(&[&"a very long reason ".repeat(50), "another"]));
    alert.unit_number = "U".repeat(300);
    let subject = made(&alert).subject;
    assert!(subject.chars().count() <= SUBJECT_MOST, "{subject}");
    assert!(subject.contains("is out of service:") && subject.ends_with("(and 1 more)"), "{subject}");
}

#[test]
fn the_message_id_is_that_of_the_alert_each_time() {
    let mail = made(&alert(used()));
    assert_eq!(mail.message_id, "<00000000-0000-0000-0000-000000000011@chock.example.org>");
    assert_eq!(mail, made(&alert(used())));
}

#[test]
fn what_can_not_stand_in_a_mail_is_refused_with_a_reason() {
    let alert = alert(used());
    let id = AlertId(Uuid::from_u128(1));
    let with =
        |address: &str, url: &str, domain: &str| compose(&alert, id, "Ama", address, url, domain, None);
    for address in
        ["", "ama", "ama@", "ama@example.org\r\nBcc: x@example.org", "a@example.org, b@example.org"]
    {
        assert!(
            matches!(with(address, "https://a.example", "a.example"), Err(NotifyError::Address { .. })),
            "{address}"
        );
    }
    for url in [
        "",
        "chock.example",
        "javascript:alert(1)",
        "https://",
        "https:///x",
        "https://a b",
        "https://a\"b",
        "https://u@a",
    ] {
        assert!(
            matches!(with("a@example.org", url, "a.example"), Err(NotifyError::PublicUrl { .. })),
            "{url}"
        );
    }
    for domain in ["", "a..b", "a b", "a>b", "a\r\nb", ".a"] {
        assert!(
            matches!(with("a@example.org", "https://a.example", domain), Err(NotifyError::MailDomain { .. })),
            "{domain}"
        );
    }
    for url in ["http://localhost:8080", "https://a.example/chock/", "http://[::1]:8080"] {
        let mail = with("a@example.org", url, "localhost").unwrap();
        assert!(mail.text.contains(&format!("{}/machines/", url.trim_end_matches('/'))), "{url}");
    }
}

#[test]
fn what_came_back_is_told_with_what_was_done_last_time() {
    for out_of_service in [true, false] {
        let mail = made(&alert(came_back(out_of_service)));
        assert_eq!(mail.subject, "U-07: back after its repair: Oil leak, left side: failed");
        both_say(
            &mail,
            &[
                "did not last",
                "back 4 days after its release (rule: oil leak back after repair)",
                "utility-vehicle-daily version 3",
                "seal hardened",
                "seal replaced",
                "Saturday 21 November 2026, 10:00 GMT",
            ],
        );
        assert!(mail.html.contains(&format!("https://chock.example.org/defects/{}", Uuid::from_u128(6))));
        if out_of_service {
            both_say(&mail, &["Do not use it"])
        } else {
            neither_says(&mail, "Do not use it")
        }
    }
}

#[test]
fn a_held_machine_names_the_rule_and_its_version() {
    let because = Because::new(
        &typed("Brake pad, front left: 1.2 mm, at least 1.5 mm"),
        &typed(
            "Brake pad, front left: 1.2 mm, at least 1.5 mm (rule: pad worn). Checklist utility-vehicle-daily version 3.",
        ),
    );
    let said = Because::new(
        &typed("Horn: does not work"),
        &typed("Worse, says Otto Operator: silent (rule: said to be worse)."),
    );
    let event = Event::MachineHeld {
        why: vec![because, said],
        instruction: typed(""),
        work_order: None,
        recorded_at: None,
    };
    let mail = made(&alert(event));
    assert!(mail.subject.starts_with("U-07 is out of service: Brake pad, front left"), "{}", mail.subject);
    both_say(
        &mail,
        &["1.2 mm, at least 1.5 mm (rule: pad worn). Checklist utility-vehicle-daily version 3."],
    );
    both_say(&mail, &["Horn: does not work. Worse, says Otto Operator: silent"]);
}

#[test]
fn what_arrived_late_says_since_when_and_when_it_arrived() {
    let recorded = Utc.with_ymd_and_hms(2026, 11, 25, 7, 0, 0).unwrap();
    let mut event = held(&["fuel leak"]);
    if let Event::MachineHeld { recorded_at, .. } = &mut event {
        *recorded_at = Some(recorded);
    }
    let mut back = came_back(true);
    if let Event::CameBack { recorded_at, .. } = &mut back {
        *recorded_at = Some(recorded);
    }
    for event in [event, back] {
        let mail = made(&alert(event));
        both_say(
            &mail,
            &[
                "Wednesday 25 November 2026, 07:00 GMT",
                "Arrived later",
                "Wednesday 25 November 2026, 14:05 GMT",
            ],
        );
    }
    neither_says(&made(&alert(held(&["fuel leak"]))), "Arrived later");
}

fn arrived(all_there: bool) -> Event {
    Event::PartArrived {
        work_order: WorkOrderId(Uuid::from_u128(9)),
        number: 41,
        part: ArrivedPart {
            name: "Brake fluid".to_owned(),
            number: "BF-4".to_owned(),
            quantity: "0.35".to_owned(),
            unit: "L".to_owned(),
            bin: "F2".to_owned(),
        },
        all_there,
    }
}

#[test]
fn a_part_that_arrived_says_which_where_and_whether_to_go_on() {
    let mail = made(&alert(arrived(true)));
    assert_eq!(mail.subject, "U-07: part arrived: Brake fluid");
    both_say(
        &mail,
        &[
            "A part for work order 41 on U-07 is there",
            "0.35 L × Brake fluid (BF-4), reserved for you",
            "Bin: F2",
            "You can go on.",
        ],
    );
    both_say(&made(&alert(arrived(false))), &["Other parts are still lacking"]);
    let mail = crate::words::speaking(crate::words::Lang::Es, || made(&alert(arrived(true))));
    assert_eq!(mail.subject, "U-07: llegó el repuesto: Brake fluid");
    both_say(&mail, &["0,35 L × Brake fluid (BF-4), reservado para usted", "Estante: F2"]);
}
