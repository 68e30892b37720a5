//! The currency of an amount, by its ISO 4217 code. Amounts of two currencies are never added: nothing here converts.

use serde::{Deserialize, Serialize};

/// Three letters, upper case.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Currency([u8; 3]);

/// An amount in minor units of its currency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amount {
    pub minor: i64,
    pub currency: Currency,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a code of three letters")]
pub struct NotACode;

/// What was given is in another currency than the site's books.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OtherCurrency {
    pub books: Currency,
    pub given: Currency,
}

impl Currency {
    pub fn parse(text: &str) -> Result<Self, NotACode> {
        let code: [u8; 3] = text.trim().as_bytes().try_into().map_err(|_| NotACode)?;
        if code.iter().all(u8::is_ascii_alphabetic) {
            Ok(Self(code.map(|c| c.to_ascii_uppercase())))
        } else {
            Err(NotACode)
        }
    }

    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or_default()
    }

    /// How many decimals its minor unit has, by ISO 4217; the lists are from memory.
    pub fn decimals(&self) -> usize {
        const NONE: [&[u8; 3]; 16] = [
            b"BIF", b"CLP", b"DJF", b"GNF", b"ISK", b"JPY", b"KMF", b"KRW", b"PYG", b"RWF", b"UGX", b"VND",
            b"VUV", b"XAF", b"XOF", b"XPF",
        ];
        const THREE: [&[u8; 3]; 7] = [b"BHD", b"IQD", b"JOD", b"KWD", b"LYD", b"OMR", b"TND"];
        if NONE.contains(&&self.0) {
            0
        } else if THREE.contains(&&self.0) {
            3
        } else {
            2
        }
    }

    /// The minor units, when the amount is in this currency.
    pub fn minor_of(self, amount: Amount) -> Result<i64, OtherCurrency> {
        if amount.currency == self {
            Ok(amount.minor)
        } else {
            Err(OtherCurrency { books: self, given: amount.currency })
        }
    }
}

impl Amount {
    /// Reads a non-negative amount with no more decimals than the currency has.
    pub fn parse(text: &str, currency: Currency) -> Option<Self> {
        super::money::scaled(text, currency.decimals()).map(|minor| Self { minor, currency })
    }
}

impl TryFrom<String> for Currency {
    type Error = NotACode;
    fn try_from(text: String) -> Result<Self, NotACode> {
        Self::parse(&text)
    }
}

impl From<Currency> for String {
    fn from(currency: Currency) -> Self {
        currency.code().to_owned()
    }
}

impl std::fmt::Debug for Currency {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.code())
    }
}

impl std::fmt::Display for Currency {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes() {
        assert_eq!(Currency::parse(" nok ").map(|c| c.to_string()).as_deref(), Ok("NOK"));
        for bad in ["", "NO", "NOKK", "N0K", "€", "kr."] {
            assert_eq!(Currency::parse(bad), Err(NotACode), "{bad}");
        }
    }

    #[test]
    fn amounts_have_the_decimals_of_their_currency() {
        let read = |text, code| Amount::parse(text, Currency::parse(code).unwrap()).map(|a| a.minor);
        assert_eq!(read("12.50", "USD"), Some(1250));
        assert_eq!(read("12", "JPY"), Some(12));
        assert_eq!(read("12.5", "JPY"), None);
        assert_eq!(read("12.5", "TND"), Some(12_500));
        assert_eq!(read("-1", "USD"), None);
    }

    #[test]
    fn another_currency_is_never_taken_for_ours() {
        let (ours, other) = (Currency::parse("NOK").unwrap(), Currency::parse("SEK").unwrap());
        assert_eq!(ours.minor_of(Amount { minor: 5, currency: ours }), Ok(5));
        let refused = ours.minor_of(Amount { minor: 5, currency: other });
        assert_eq!(refused, Err(OtherCurrency { books: ours, given: other }));
    }
}
