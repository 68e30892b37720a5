//! Money as integer minor units of one ISO 4217 currency, and the one rounding rule.

/// `amount × numerator / denominator`, to the nearest unit, halves to even, so that rounding favours nobody over many
/// lines. Amounts are non-negative and `denominator` positive.
pub fn share(amount: i64, numerator: i64, denominator: i64) -> i64 {
    nearest(i128::from(amount) * i128::from(numerator), i128::from(denominator))
}

/// `dividend ÷ divisor` by the same rule.
pub fn nearest(dividend: i128, divisor: i128) -> i64 {
    debug_assert!(divisor > 0);
    let (whole, rest) = (dividend.div_euclid(divisor), dividend.rem_euclid(divisor));
    let up = match (rest * 2).cmp(&divisor) {
        std::cmp::Ordering::Less => 0,
        std::cmp::Ordering::Greater => 1,
        std::cmp::Ordering::Equal => whole & 1,
    };
    i64::try_from(whole + up).unwrap_or(i64::MAX)
}

/// Cost of `seconds` at `rate_minor` an hour.
pub fn labour_cost(rate_minor: i64, seconds: i64) -> i64 {
    share(rate_minor, seconds, 3600)
}

/// Minor units as people write them, for a currency with two decimals.
pub fn shown(minor: i64, currency: &str) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    format!("{sign}{}.{:02} {currency}", (minor / 100).abs(), (minor % 100).abs())
}

/// Parses an amount with at most two decimals, comma or point.
pub fn parse(text: &str) -> Option<i64> {
    scaled(text, 2)
}

/// Parses a non-negative decimal into an integer of 10^-`places`; `None` when it is no such number or is absurdly large.
pub fn scaled(text: &str, places: usize) -> Option<i64> {
    let text = text.trim();
    let (whole, fraction) = text.split_once([',', '.']).unwrap_or((text, ""));
    let digits = |s: &str| s.chars().all(|c| c.is_ascii_digit());
    if (whole.is_empty() && fraction.is_empty()) || whole.len() > 9 || fraction.len() > places {
        return None;
    }
    if !digits(whole) || !digits(fraction) {
        return None;
    }
    let mut number: i64 = format!("0{whole}{fraction}").parse().ok()?;
    for _ in fraction.len()..places {
        number *= 10;
    }
    Some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_go_to_even() {
        assert_eq!(share(1, 1, 2), 0);
        assert_eq!(share(3, 1, 2), 2);
        assert_eq!(share(5, 1, 2), 2);
        assert_eq!(share(100, 1, 3), 33);
        assert_eq!(labour_cost(4500, 1800), 2250);
        assert_eq!(labour_cost(4500, 1), 1);
    }

    #[test]
    fn amounts_are_read_exactly() {
        assert_eq!(parse("12.5"), Some(1250));
        assert_eq!(parse("12,50"), Some(1250));
        assert_eq!(parse("0.07"), Some(7));
        for bad in ["", ".", "-1", "1.234", "1e3", "1 000", "9999999999"] {
            assert_eq!(parse(bad), None, "{bad}");
        }
        assert_eq!(scaled("0.35", 3), Some(350));
        assert_eq!(shown(1250, "EUR"), "12.50 EUR");
    }
}
