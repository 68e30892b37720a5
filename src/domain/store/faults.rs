//! What is wrong with what was asked of the store, in a sentence that says how to mend it.

use super::super::batch::{FittingFault, MarkFault};
use super::super::currency::{Amount, Currency};
use super::super::money;
use super::super::refusal::Refusal;
use super::Quantity;
use super::put_right::StockFault;
use super::supply::SupplyFault;

impl StockFault {
    pub fn refusal(self, pointer: &str) -> Refusal {
        let sentence = match self {
            Self::NoChange => said!("stock-no-change"),
            Self::BelowNothing { on_hand } => said!("stock-below-nothing", most = Quantity(on_hand)),
            Self::BelowReserved { reserved } => said!("stock-below-reserved", reserved = Quantity(reserved)),
            Self::Absurd => said!("stock-absurd"),
            Self::CountAgain { taken_since } => said!("stock-count-again", taken = Quantity(taken_since)),
            Self::NotFree { free } => said!("stock-not-free", free = Quantity(free)),
        };
        Refusal::invalid(pointer, sentence)
    }
}

impl SupplyFault {
    pub fn refusal(self) -> Refusal {
        match self {
            Self::NegativeQuantity => Refusal::invalid("/minimum_order", said!("supply-quantity")),
            Self::NegativePrice => Refusal::invalid("/price", said!("supply-price")),
            Self::Absurd => Refusal::invalid("/lead_days", said!("supply-absurd")),
            Self::OtherCurrency(other) => {
                Refusal::invalid("/price", other_currency(other.given.code(), other.books.code()))
            }
            Self::BelowMinimum { minimum_order } => {
                Refusal::invalid("/quantity", said!("supply-below-minimum", least = Quantity(minimum_order)))
            }
            Self::NotInPacks { pack, next } => Refusal::invalid(
                "/quantity",
                said!("supply-not-in-packs", pack = Quantity(pack), next = Quantity(next)),
            ),
        }
    }
}

impl MarkFault {
    pub fn refusal(self, pointer: &str) -> Refusal {
        match self {
            Self::Empty => Refusal::invalid(pointer, said!("mark-empty")),
            Self::TooLong { most } => Refusal::invalid(pointer, said!("mark-too-long", most = most)),
        }
    }
}

impl FittingFault {
    pub fn refusal(self, pointer: &str) -> Refusal {
        match self {
            Self::InTheFuture => Refusal::invalid(pointer, said!("fitted-in-the-future")),
            Self::BeforeTheLast { .. } => Refusal::invalid(pointer, said!("fitted-before-the-last")),
        }
    }
}

/// An amount as somebody typed it: "34.50", or with the currency before or after. Another currency than the books' is
/// refused, for nothing here converts.
pub fn typed_amount(pointer: &str, text: &str, books: &str) -> Result<Amount, Refusal> {
    let unclear = || Refusal::invalid(pointer, said!("money-unclear", currency = books));
    let books = Currency::parse(books).map_err(|_| unclear())?;
    let text = text.trim();
    let figure = text.trim_matches(|c: char| c.is_alphabetic() || c.is_whitespace());
    let (before, after) = text.split_once(figure).filter(|_| !figure.is_empty()).ok_or_else(unclear)?;
    let given = match (before.trim(), after.trim()) {
        ("", "") => books,
        ("", code) | (code, "") => Currency::parse(code).map_err(|_| unclear())?,
        _ => return Err(unclear()),
    };
    if given != books {
        return Err(Refusal::invalid(pointer, other_currency(given.code(), books.code())));
    }
    // As amounts are kept and shown everywhere: in hundredths.
    let minor = money::parse(figure).ok_or_else(unclear)?;
    Ok(Amount { minor, currency: books })
}

fn other_currency(given: &str, books: &str) -> crate::words::Text {
    said!("money-other-currency", given = given, books = books)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_may_say_its_currency_and_only_the_books_is_taken() {
        let read = |text| typed_amount("/value", text, "EUR").map(|a| a.minor);
        for text in ["34.50", "34,50 EUR", "eur 34.5", " 34.50EUR "] {
            assert_eq!(read(text), Ok(3_450), "{text}");
        }
        let other = read("34.50 SEK").unwrap_err();
        assert_eq!(
            other.to_string(),
            "That is in SEK, and the books are kept in EUR. Give the amount in EUR."
        );
        for unclear in ["", "EUR", "34.50 €", "-1", "1e9", "34.50 EUR EUR", "1 2", "9999999999", "kr 5"] {
            assert!(read(unclear).is_err(), "{unclear}");
        }
    }
}
