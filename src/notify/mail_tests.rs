use super::*;
use chrono::TimeZone;

fn mail() -> Mail {
    Mail {
        message_id: "<0190a7b0-0000-7000-8000-000000000001@chock.example.org>".to_owned(),
        date: Utc.with_ymd_and_hms(2026, 11, 25, 14, 5, 9).unwrap(),
        to_name: "Ama Osei".to_owned(),
        to_address: "ama@example.org".to_owned(),
        subject: "U-07 is out of service".to_owned(),
        text: "Do not use it.\n".to_owned(),
        html: "<p>Do not use it.</p>".to_owned(),
    }
}

fn wire(mail: &Mail) -> String {
    let from: Mailbox = "Chock <chock@example.org>".parse().unwrap();
    String::from_utf8(mail.to_message(&from).unwrap().formatted()).unwrap()
}

/// Field names of the message's own header, in lower case.
fn fields(wire: &str) -> Vec<String> {
    let (head, _) = wire.split_once("\r\n\r\n").unwrap();
    head.split("\r\n")
        .filter(|line| !line.starts_with([' ', '\t']))
        .map(|line| line.split_once(':').unwrap().0.to_ascii_lowercase())
        .collect()
}

#[test]
fn a_mail_bears_exactly_the_fields_it_should() {
    // RFC 5322, 3.6: one From, one Date, at most one of the others. RFC 2045, 4: MIME-Version.
    let mut fields = fields(&wire(&mail()));
    fields.sort();
    assert_eq!(
        fields,
        ["auto-submitted", "content-type", "date", "from", "message-id", "mime-version", "subject", "to"]
    );
}

#[test]
fn it_says_that_no_person_wrote_it() {
    // RFC 3834, 5: the keyword for mail made by a process, not in reply to anything.
    assert!(wire(&mail()).contains("\r\nAuto-Submitted: auto-generated\r\n"));
}

#[test]
fn its_date_is_that_of_the_event_in_the_form_of_rfc_5322() {
    // RFC 5322, 3.3 date-time; 25 November 2026 is a Wednesday (day of the week from a printed calendar).
    assert!(wire(&mail()).contains("\r\nDate: Wed, 25 Nov 2026 14:05:09 +0000\r\n"));
}

#[test]
fn sending_it_twice_sends_the_same_bytes() {
    assert_eq!(wire(&mail()), wire(&mail()));
    let other = Mail { message_id: mail().message_id.replace("0001@", "0002@"), ..mail() };
    assert_ne!(wire(&mail()), wire(&other));
}

#[test]
fn no_field_takes_a_line_break() {
    for evil in
        ["\r\nBcc: other@example.org", "\nBcc: other@example.org", "\rBcc: other@example.org", "\r\n\r\nBody"]
    {
        let bad = Mail { subject: format!("U-07{evil}"), to_name: format!("Ama{evil}"), ..mail() };
        assert_eq!(fields(&wire(&bad)), fields(&wire(&mail())), "{evil:?}");
        let from: Mailbox = "Chock <chock@example.org>".parse().unwrap();
        let bad = Mail { to_address: format!("ama@example.org{evil}"), ..mail() };
        assert!(matches!(bad.to_message(&from), Err(NotifyError::Address { .. })), "{evil:?}");
        let bad = Mail { message_id: format!("<id@example.org{evil}>"), ..mail() };
        assert!(matches!(bad.to_message(&from), Err(NotifyError::MessageId { .. })), "{evil:?}");
        let bad = Mail { message_id: format!("<id{evil}@example.org>"), ..mail() };
        assert!(matches!(bad.to_message(&from), Err(NotifyError::MessageId { .. })), "{evil:?}");
    }
}

#[test]
fn lines_stay_within_what_rfc_5322_allows() {
    // RFC 5322, 2.1.1: at most 998 characters without CRLF, and should be at most 78. RFC 2047, 2: 76 with encoded words.
    let long = Mail {
        subject: "Ein sehr langer Grund über die Bremse ".repeat(40),
        to_name: "Öztürk ".repeat(20),
        text: format!("{}\n{}\n", "x".repeat(5_000), "ü".repeat(5_000)),
        html: format!("<p>{}</p>", "é ".repeat(5_000)),
        ..mail()
    };
    for line in wire(&long).split("\r\n") {
        assert!(line.len() <= 78, "{} octets: {line}", line.len());
        assert!(line.is_ascii(), "needs no 8BITMIME: {line}");
        assert!(!line.contains(['\r', '\n']), "a bare CR or LF (RFC 5321, 2.3.8): {line:?}");
    }
}

#[test]
fn a_long_domain_leaves_the_message_id_whole() {
    let domain = format!("{}.{}.example.org", "a".repeat(60), "b".repeat(60));
    let id = format!("<0190a7b0-0000-7000-8000-000000000001@{domain}>");
    let mail = Mail { message_id: id.clone(), ..mail() };
    assert!(wire(&mail).contains(&format!("\r\nMessage-ID: {id}\r\n")));
}

#[test]
fn a_message_id_that_is_none_is_refused() {
    for bad in
        ["", "id@example.org", "<id>", "<@example.org>", "<../x@example.org>", "<a b@example.org>", "<id@>"]
    {
        let mail = Mail { message_id: bad.to_owned(), ..mail() };
        assert!(mail.id().is_err(), "{bad}");
    }
    assert_eq!(mail().id().unwrap(), "0190a7b0-0000-7000-8000-000000000001");
}

#[test]
fn a_name_is_a_name_and_never_an_address() {
    let mail = Mail { to_name: "boss@example.org>, <other@example.org".to_owned(), ..mail() };
    let from: Mailbox = "Chock <chock@example.org>".parse().unwrap();
    let message = mail.to_message(&from).unwrap();
    let to: Vec<String> = message.envelope().to().iter().map(ToString::to_string).collect();
    assert_eq!(to, ["ama@example.org"]);
}

#[test]
fn a_date_no_mail_can_bear_is_refused_and_not_a_crash() {
    let from: Mailbox = "Chock <chock@example.org>".parse().unwrap();
    for year in [1969, 9999, 12_000] {
        let date = Utc.with_ymd_and_hms(year, 6, 1, 0, 0, 0).unwrap();
        assert!(matches!(Mail { date, ..mail() }.to_message(&from), Err(NotifyError::Date { .. })), "{year}");
    }
}

#[test]
fn one_line_keeps_words_and_drops_what_moves_them() {
    assert_eq!(one_line("  oil\r\n\tleak\u{2028}left \u{85} "), "oil leak left");
    assert_eq!(one_line("1.2\u{202E} mm"), "1.2 mm");
    assert_eq!(one_line("über"), "über");
}

#[test]
fn cutting_counts_characters_and_shows_that_it_cut() {
    assert_eq!(cut("über", 4), "über");
    assert_eq!(cut("über", 3), "üb…");
    assert_eq!(cut("a bcd", 3), "a…");
}
