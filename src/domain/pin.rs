//! What may be a PIN on a shared device, and how long a wrong one makes everybody wait.

use chrono::TimeDelta;

use super::refusal::Refusal;

/// After so many wrong ones in a row the PIN is gone on that device.
pub const MOST_TRIES: i64 = 5;

/// 4 to 8 digits that are not the first ones somebody would try.
pub fn checked(pin: &str) -> Result<&str, Refusal> {
    let digits = pin.trim();
    if !(4..=8).contains(&digits.len()) || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Err(Refusal::invalid("/pin", said!("pin-four-to-eight")));
    }
    let steps: Vec<u8> = digits.as_bytes().windows(2).map(|w| (w[1] + 10 - w[0]) % 10).collect();
    if steps.iter().all(|s| *s == 0) {
        return Err(Refusal::invalid("/pin", said!("pin-not-all-the-same")));
    }
    if steps.iter().all(|s| *s == 1) || steps.iter().all(|s| *s == 9) {
        return Err(Refusal::invalid("/pin", said!("pin-no-run")));
    }
    Ok(digits)
}

/// How long the next try waits after this many wrong ones. Common practice, no source: a slip in gloves costs little,
/// going through the likely ones costs a lot.
pub fn wait_after(wrong: i64) -> TimeDelta {
    let tripled = u32::try_from((wrong - 1).clamp(0, MOST_TRIES)).unwrap_or_default();
    TimeDelta::seconds(5 * 3_i64.pow(tripled))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_anybody_would_try_first_is_no_pin() {
        for pin in ["2580", "19482", "00000001", " 7402 ", "1233", "1357"] {
            assert_eq!(checked(pin), Ok(pin.trim()), "{pin}");
        }
        for pin in [
            "",
            "123",
            "123456789",
            "12a4",
            "1 34",
            "-123",
            "１２３５",
            "0000",
            "99999999",
            "1234",
            "4321",
            "0123",
            "7890",
            "0987",
            "23456789",
        ] {
            assert!(checked(pin).is_err(), "{pin}");
        }
    }

    #[test]
    fn every_wrong_one_waits_longer() {
        let waits: Vec<i64> = (1..MOST_TRIES).map(|wrong| wait_after(wrong).num_seconds()).collect();
        assert_eq!(waits, [5, 15, 45, 135]);
    }
}
