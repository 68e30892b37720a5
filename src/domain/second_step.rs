//! The second step of signing in: a code that a program on the person's phone shows for half a minute (TOTP, RFC 6238), or one
//! of ten recovery codes when the phone is lost.

use chrono::{DateTime, TimeDelta, Utc};
use hmac::{Hmac, KeyInit, Mac};
use sha1::Sha1;

use super::person::Role;

/// RFC 6238, 5.2 recommends half a minute.
pub const STEP: TimeDelta = TimeDelta::seconds(30);
/// RFC 4226, 4 (R6) asks for at least 128 bits and recommends 160.
pub const SECRET_BYTES: usize = 20;
pub const RECOVERY_CODES: usize = 10;
/// 120 bits, so that a plain hash of one is enough to keep (OWASP ASVS 5.0, 6.5.2 asks for 112).
pub const RECOVERY_BYTES: usize = 15;
/// Wrong codes of one sign-in, after which it begins anew with the password.
pub const MOST_TRIES: i64 = 5;
/// From the password to the code.
pub const BEGUN_FOR: TimeDelta = TimeDelta::minutes(10);
/// From the QR symbol to the first code.
pub const SET_UP_FOR: TimeDelta = TimeDelta::minutes(30);

const DIGITS: usize = 6;
const ALPHABET: &[u8; 32] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

/// Who has one where the owner asks for it.
pub fn must_have(roles: &[Role]) -> bool {
    roles.contains(&Role::Supervisor) || roles.contains(&Role::Owner)
}

/// The time step of the secret's code, unless it or a later one was used already. The one before and the one after count as
/// well: a phone's clock is never quite right, and typing takes a while (RFC 6238, 5.2).
pub fn step_of(secret: &[u8], typed: &str, now: DateTime<Utc>, last_used: i64) -> Option<i64> {
    let typed: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
    let step = now.timestamp().div_euclid(STEP.num_seconds());
    // All three are reckoned, whichever fits.
    let fitting = [step - 1, step, step + 1].map(|step| (step, same(&code_at(secret, step, DIGITS), &typed)));
    fitting.into_iter().find(|(step, fits)| *fits && *step > last_used).map(|(step, _)| step)
}

/// Whether it has the form of a code, and not of a recovery code.
pub fn looks_like_code(typed: &str) -> bool {
    let typed = typed.chars().filter(|c| !c.is_whitespace());
    typed.clone().count() <= DIGITS && typed.clone().all(|c| c.is_ascii_digit())
}

/// HOTP of RFC 4226, 5.3, over the number of the time step.
pub fn code_at(secret: &[u8], step: i64, digits: usize) -> String {
    // A key of any length is one.
    let Ok(mut mac) = Hmac::<Sha1>::new_from_slice(secret) else { return String::new() };
    mac.update(&step.to_be_bytes());
    let hash = mac.finalize().into_bytes();
    let at = usize::from(hash[19] & 0x0f);
    let number = u32::from_be_bytes([hash[at] & 0x7f, hash[at + 1], hash[at + 2], hash[at + 3]]);
    format!("{number:010}")[10 - digits..].to_owned()
}

/// Takes as long wherever the first difference is.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |all, (a, b)| all | (a ^ b)) == 0
}

/// RFC 4648, 6, without padding.
pub fn base32(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(5) * 8);
    let (mut held, mut bits) = (0_u32, 0);
    for byte in bytes {
        held = (held << 8) | u32::from(*byte);
        bits += 8;
        while bits >= 5 {
            bits -= 5;
            text.push(char::from(ALPHABET[(held >> bits) as usize & 31]));
        }
    }
    if bits > 0 {
        text.push(char::from(ALPHABET[(held << (5 - bits)) as usize & 31]));
    }
    text
}

pub fn from_base32(text: &str) -> Option<Vec<u8>> {
    let (mut bytes, mut held, mut bits) = (Vec::new(), 0_u32, 0);
    for letter in text.bytes() {
        let value = ALPHABET.iter().position(|a| *a == letter)?;
        held = (held << 5) | u32::try_from(value).ok()?;
        bits += 5;
        if bits >= 8 {
            bits -= 8;
            bytes.push((held >> bits).to_be_bytes()[3]);
        }
    }
    Some(bytes)
}

/// What the QR symbol says: the address form that programs for such codes read.
pub fn address(secret: &str, host: &str, email: &str) -> String {
    let plain = |text: &str| -> String {
        text.bytes()
            .map(|b| match b {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'.' | b'-' | b'_' => char::from(b).to_string(),
                _ => format!("%{b:02X}"),
            })
            .collect()
    };
    let issuer = plain(&format!("Chock {host}"));
    format!("otpauth://totp/{issuer}:{}?secret={secret}&issuer={issuer}", plain(email))
}

/// In groups of four, to be read and typed.
pub fn in_groups(code: &str) -> String {
    let letters: Vec<char> = code.chars().collect();
    letters.chunks(4).map(|group| group.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// A recovery code as it was made, whatever stands between its letters. Figures that are in none of them are read as the letters
/// that look like them.
pub fn plain_recovery_code(typed: &str) -> String {
    let letters = typed.chars().filter(|c| c.is_ascii_alphanumeric());
    letters
        .map(|c| match c.to_ascii_uppercase() {
            '0' => 'O',
            '1' => 'I',
            '8' => 'B',
            letter => letter,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RFC_SECRET: &[u8] = b"12345678901234567890";

    /// RFC 6238, Appendix B: the rows for SHA-1, of eight digits, each within the step of its time.
    #[test]
    fn the_vectors_of_rfc_6238() {
        for (seconds, code) in [
            (59, "94287082"),
            (1_111_111_109, "07081804"),
            (1_111_111_111, "14050471"),
            (1_234_567_890, "89005924"),
            (2_000_000_000, "69279037"),
            (20_000_000_000, "65353130"),
        ] {
            assert_eq!(code_at(RFC_SECRET, seconds / 30, 8), code, "{seconds}");
            // Of six digits: the last six of them (RFC 4226, 5.3).
            let now = DateTime::from_timestamp(seconds, 0).unwrap();
            assert_eq!(step_of(RFC_SECRET, &code[2..], now, 0), Some(seconds / 30));
        }
    }

    /// RFC 4226, Appendix D: the first ten values of HOTP for the same secret.
    #[test]
    fn the_vectors_of_rfc_4226() {
        let codes = [
            "755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871",
            "520489",
        ];
        for (count, code) in codes.iter().enumerate() {
            assert_eq!(code_at(RFC_SECRET, i64::try_from(count).unwrap(), 6), *code);
        }
    }

    #[test]
    fn a_code_is_good_around_its_time_and_once() {
        let now = DateTime::from_timestamp(1_234_567_890, 0).unwrap();
        let step = 1_234_567_890 / 30;
        let (code, typed) = ("005924", "005 924");
        assert_eq!(step_of(RFC_SECRET, typed, now, 0), Some(step));
        assert_eq!(step_of(RFC_SECRET, code, now + STEP, 0), Some(step));
        assert_eq!(step_of(RFC_SECRET, code, now - STEP, 0), Some(step));
        assert_eq!(step_of(RFC_SECRET, code, now + STEP * 2, 0), None);
        assert_eq!(step_of(RFC_SECRET, code, now - STEP * 2, 0), None);
        assert_eq!(step_of(RFC_SECRET, code, now, step), None, "used");
        assert_eq!(step_of(RFC_SECRET, code, now, step + 1), None, "a later one was used");
        for wrong in ["005925", "5924", "", "0059241", "٠٠٥٩٢٤"] {
            assert_eq!(step_of(RFC_SECRET, wrong, now, 0), None, "{wrong}");
        }
    }

    /// RFC 4648, 10, without its padding.
    #[test]
    fn the_vectors_of_rfc_4648() {
        for (plain, text) in [
            ("", ""),
            ("f", "MY"),
            ("fo", "MZXQ"),
            ("foo", "MZXW6"),
            ("foob", "MZXW6YQ"),
            ("fooba", "MZXW6YTB"),
            ("foobar", "MZXW6YTBOI"),
        ] {
            assert_eq!(base32(plain.as_bytes()), text);
            assert_eq!(from_base32(text).unwrap(), plain.as_bytes());
        }
        assert_eq!(from_base32("MZXW6YTB1"), None);
    }

    #[test]
    fn a_recovery_code_is_read_as_it_was_meant() {
        let code = base32(&[0x5f; RECOVERY_BYTES]);
        assert_eq!(code.len(), 24);
        assert_eq!(in_groups(&code).split(' ').count(), 6);
        assert_eq!(plain_recovery_code(&in_groups(&code).to_lowercase()), code);
        assert_eq!(plain_recovery_code("0abc-18"), "OABCIB");
        assert!(looks_like_code("123 456") && !looks_like_code(&code));
    }

    #[test]
    fn the_symbol_names_the_site_and_the_person() {
        let said = address("MZXW6", "chock.example.org", "olga+yard@ex.example");
        assert_eq!(
            said,
            "otpauth://totp/Chock%20chock.example.org:olga%2Byard%40ex.example?secret=MZXW6&issuer=Chock%20chock.example.org"
        );
    }
}
