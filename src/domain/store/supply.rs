//! How a part is bought: from whom, in what time, at least how much and in what packs.

use serde::{Deserialize, Serialize};

use super::super::currency::{Amount, Currency, OtherCurrency};
use super::put_right::MOST;

/// Terms of one supplier for one part. Quantities are thousandths of the part's unit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Supply {
    pub supplier: String,
    /// What one whole unit costs.
    pub price: Amount,
    pub minimum_order: i64,
    /// Orders come in multiples of this; 0 where any quantity will do.
    pub pack: i64,
    pub lead_days: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SupplyFault {
    NegativeQuantity,
    NegativePrice,
    /// More than a store holds, or longer than two years.
    Absurd,
    OtherCurrency(OtherCurrency),
    BelowMinimum {
        minimum_order: i64,
    },
    NotInPacks {
        pack: i64,
        next: i64,
    },
}

/// Longer than this nobody waits for a part: our own sanity limit.
const LONGEST_LEAD: u32 = 730;

impl Supply {
    pub fn checked(self, books: Currency) -> Result<Self, SupplyFault> {
        let price = books.minor_of(self.price).map_err(SupplyFault::OtherCurrency)?;
        if price < 0 {
            return Err(SupplyFault::NegativePrice);
        }
        if self.minimum_order < 0 || self.pack < 0 {
            return Err(SupplyFault::NegativeQuantity);
        }
        if self.minimum_order > MOST || self.pack > MOST || self.lead_days > LONGEST_LEAD {
            return Err(SupplyFault::Absurd);
        }
        Ok(self)
    }

    /// The least quantity the supplier takes that is not less than what is wanted.
    pub fn orderable(&self, wanted: i64) -> i64 {
        let least = wanted.max(self.minimum_order).max(1);
        if self.pack > 0 { (least + self.pack - 1) / self.pack * self.pack } else { least }
    }

    /// Whether the supplier takes just this.
    pub fn takes(&self, quantity: i64) -> Result<(), SupplyFault> {
        if quantity <= 0 {
            return Err(SupplyFault::NegativeQuantity);
        }
        if quantity > MOST {
            return Err(SupplyFault::Absurd);
        }
        if quantity < self.minimum_order {
            return Err(SupplyFault::BelowMinimum { minimum_order: self.minimum_order });
        }
        if self.pack > 0 && quantity % self.pack != 0 {
            return Err(SupplyFault::NotInPacks { pack: self.pack, next: self.orderable(quantity) });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn supply(minimum_order: i64, pack: i64) -> Supply {
        let price = Amount { minor: 100, currency: Currency::parse("NOK").unwrap() };
        Supply { supplier: "Fjell Supplies".into(), price, minimum_order, pack, lead_days: 5 }
    }

    #[test]
    fn bad_terms_are_refused() {
        let nok = Currency::parse("NOK").unwrap();
        let sek = Currency::parse("SEK").unwrap();
        let refused = |s: Supply, books| s.checked(books).unwrap_err();
        let other = OtherCurrency { books: sek, given: nok };
        assert_eq!(refused(supply(0, 0), sek), SupplyFault::OtherCurrency(other));
        assert_eq!(refused(supply(-1, 0), nok), SupplyFault::NegativeQuantity);
        assert_eq!(refused(supply(0, MOST + 1), nok), SupplyFault::Absurd);
        assert_eq!(refused(Supply { lead_days: 731, ..supply(0, 0) }, nok), SupplyFault::Absurd);
        let negative = Amount { minor: -1, currency: nok };
        assert_eq!(refused(Supply { price: negative, ..supply(0, 0) }, nok), SupplyFault::NegativePrice);
        assert!(supply(2_000, 500).checked(nok).is_ok());
    }

    #[test]
    fn what_a_supplier_takes() {
        let s = supply(2_000, 1_500);
        assert_eq!(s.takes(1_500), Err(SupplyFault::BelowMinimum { minimum_order: 2_000 }));
        assert_eq!(s.takes(2_000), Err(SupplyFault::NotInPacks { pack: 1_500, next: 3_000 }));
        assert_eq!(s.takes(-3_000), Err(SupplyFault::NegativeQuantity));
        assert_eq!(s.takes(3_000), Ok(()));
        assert_eq!((s.orderable(1), s.orderable(3_001), supply(0, 0).orderable(350)), (3_000, 4_500, 350));
    }

    proptest! {
        #[test]
        fn what_can_be_ordered_is_taken(wanted in 1..1_000_000_i64, minimum in 0..10_000_i64, pack in 0..5_000_i64) {
            let s = supply(minimum, pack);
            let order = s.orderable(wanted);
            prop_assert!(order >= wanted);
            prop_assert_eq!(s.takes(order), Ok(()));
            prop_assert!(order < wanted.max(minimum) + pack.max(1), "no more than must be");
        }
    }
}
