//! One mail to one person, and its form on the wire.

use std::time::SystemTime;

use chrono::{DateTime, Datelike, Utc};
use lettre::Message;
use lettre::message::header::{ContentTransferEncoding, ContentType, HeaderName, HeaderValue};
use lettre::message::{Body, Mailbox, MultiPart, SinglePart};

use super::NotifyError;

/// Longest subject, in characters: what a phone shows in two lines, and far below any limit of a mail server.
pub(super) const SUBJECT_MOST: usize = 130;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mail {
    /// `<id@domain>`, the same however often the mail is sent, so that a mail client shows one.
    pub message_id: String,
    /// When what it tells of happened. The mail was complete then, hence it is also its `Date`.
    pub date: DateTime<Utc>,
    pub to_name: String,
    pub to_address: String,
    pub subject: String,
    pub text: String,
    pub html: String,
}

impl Mail {
    /// The message as RFC 5322 has it. This is the last gate before the wire, hence the one that lets no line break into
    /// a header, whoever filled in the fields.
    pub fn to_message(&self, from: &Mailbox) -> Result<Message, NotifyError> {
        if !(1970..9999).contains(&self.date.year()) {
            return Err(NotifyError::Date { given: self.date.to_string() });
        }
        let address =
            self.to_address.parse().map_err(|_| NotifyError::Address { given: self.to_address.clone() })?;
        let name = one_line(&self.to_name);
        let to = Mailbox::new((!name.is_empty()).then_some(name), address);
        let id = self.id()?;
        // Quoted-printable never holds "=_" (RFC 2045, 6.7), so this boundary can not occur in a part. Taken from the id
        // and not from a random source: the same mail is the same bytes.
        let boundary = format!("=_{id}");
        let parts = MultiPart::alternative()
            .boundary(boundary)
            .singlepart(part(ContentType::TEXT_PLAIN, &self.text))
            .singlepart(part(ContentType::TEXT_HTML, &self.html));
        Ok(Message::builder()
            .from(from.clone())
            .to(to)
            .subject(cut(&one_line(&self.subject), SUBJECT_MOST))
            .date(SystemTime::from(self.date))
            .raw_header(verbatim("Message-ID", &self.message_id))
            // RFC 3834, 5: no answering machine replies to this.
            .raw_header(verbatim("Auto-Submitted", "auto-generated"))
            .multipart(parts)?)
    }

    /// The part of the Message-ID before the @: names the `.eml` file too, so it is held to letters, digits and hyphens.
    pub fn id(&self) -> Result<&str, NotifyError> {
        let bad = || NotifyError::MessageId { given: self.message_id.clone() };
        let (id, domain) = self
            .message_id
            .strip_prefix('<')
            .and_then(|rest| rest.strip_suffix('>'))
            .and_then(|inner| inner.split_once('@'))
            .ok_or_else(bad)?;
        // RFC 2046, 5.1.1: a boundary has at most 70 characters.
        let sound = !id.is_empty()
            && id.len() <= 60
            && id.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
            && is_mail_domain(domain);
        if sound { Ok(id) } else { Err(bad()) }
    }
}

/// Dot-atom of RFC 5322 as far as a domain name needs it, no longer than a name may be (RFC 1035, 2.3.4).
pub(super) fn is_mail_domain(text: &str) -> bool {
    text.len() <= 253
        && text.split('.').all(|label| {
            !label.is_empty()
                && label.len() <= 63
                && label.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
        })
}

/// Text that stays on its line: line breaks and other controls become one space, characters that turn the direction
/// of writing (and so can make a reason read as another) are dropped.
pub(super) fn one_line(text: &str) -> String {
    let kept: String = text
        .chars()
        .filter(|c| !matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}'))
        .map(|c| if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') { ' ' } else { c })
        .collect();
    kept.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// At most `most` characters, the last one an ellipsis where something was left out.
pub(super) fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut kept: String = text.chars().take(most.saturating_sub(1)).collect();
    kept.truncate(kept.trim_end().len());
    kept.push('…');
    kept
}

fn part(kind: ContentType, text: &str) -> SinglePart {
    // Always quoted-printable: lines stay under 76 whatever somebody wrote, and a person can still read the file.
    let body = Body::new_with_encoding(text.to_owned(), ContentTransferEncoding::QuotedPrintable)
        .unwrap_or_else(Body::new);
    SinglePart::builder().content_type(kind).body(body)
}

/// A value that must arrive as it is: not folded, not encoded.
fn verbatim(name: &'static str, value: &str) -> HeaderValue {
    HeaderValue::dangerous_new_pre_encoded(
        HeaderName::new_from_ascii_str(name),
        value.to_owned(),
        value.to_owned(),
    )
}

#[cfg(test)]
#[path = "mail_tests.rs"]
mod tests;
