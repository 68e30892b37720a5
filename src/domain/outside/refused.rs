//! What stands in the way of a repair outside, in a sentence.

use super::OutsideFault;
use crate::domain::refusal::Refusal;

impl OutsideFault {
    pub fn refusal(&self) -> Refusal {
        match self {
            Self::NoVendor => Refusal::invalid("/vendor", said!("outside-no-vendor")),
            Self::InTheFuture { .. } => Refusal::invalid("/sent_at", said!("outside-in-the-future")),
            Self::PromisePassed { .. } => Refusal::invalid("/back_by", said!("outside-promise-passed")),
            Self::AlreadyBack { .. } => Refusal::conflict(said!("outside-already-back")),
            Self::NotBack => Refusal::conflict(said!("outside-not-back")),
            Self::AlreadyInvoiced { number } => {
                Refusal::conflict(said!("outside-already-invoiced", number = number))
            }
            Self::NoInvoiceNumber => Refusal::invalid("/number", said!("outside-no-invoice-number")),
            Self::LicenceNeeded { licensed } => {
                Refusal::invalid("/licence", said!("outside-licence-needed", licensed = licensed))
            }
            Self::Negative => Refusal::invalid("/amount", said!("outside-negative")),
            Self::OtherCurrency(other) => Refusal::invalid(
                "/amount",
                said!(
                    "outside-other-currency",
                    books = other.books.to_string(),
                    given = other.given.to_string()
                ),
            ),
        }
    }
}
