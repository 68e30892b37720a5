//! A repair that is done outside: sent, promised, chased, returned, and its invoice. The machine stays held throughout.

mod refused;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::currency::{Amount, Currency, OtherCurrency};
use super::ids::PersonId;
use super::words::words;

words! {
    OutsideStep {
        AtVendor = "at the vendor",
        Returned = "returned",
        Invoiced = "invoiced",
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutsideRepair {
    pub vendor: String,
    /// Work that only the holder of a licence may do, and which one (gas, pressure vessels, lifting gear).
    pub licensed: Option<String>,
    /// The vendor's number of it; nothing licensed comes back without.
    pub licence: Option<String>,
    pub sent_at: DateTime<Utc>,
    /// Each promise as it was made; the last one counts.
    pub promises: Vec<Promise>,
    pub chased: Vec<Chase>,
    pub returned_at: Option<DateTime<Utc>>,
    pub invoice: Option<Invoice>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Promise {
    pub made_at: DateTime<Utc>,
    pub back_by: DateTime<Utc>,
}

/// Somebody asked where it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chase {
    pub at: DateTime<Utc>,
    pub by: PersonId,
    pub note: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Invoice {
    pub number: String,
    /// In the currency of the books; a line of the work order's cost.
    pub minor: i64,
}

/// What is told of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OutsideCommand {
    Promise {
        back_by: DateTime<Utc>,
    },
    Chase {
        by: PersonId,
        note: String,
    },
    /// With the number of the licence under which licensed work was done.
    Return {
        licence: Option<String>,
    },
    Invoice {
        number: String,
        amount: Amount,
    },
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OutsideFault {
    NoVendor,
    InTheFuture {
        now: DateTime<Utc>,
    },
    /// A promise of a day that has passed is none.
    PromisePassed {
        back_by: DateTime<Utc>,
    },
    AlreadyBack {
        since: DateTime<Utc>,
    },
    /// The invoice can be kept when the machine is back.
    NotBack,
    AlreadyInvoiced {
        number: String,
    },
    NoInvoiceNumber,
    /// Licensed work needs the number of the licence on record.
    LicenceNeeded {
        licensed: String,
    },
    Negative,
    OtherCurrency(OtherCurrency),
}

/// How it stands with a promise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lateness {
    Back,
    InTime {
        left: TimeDelta,
    },
    /// Away for so long, and nobody said until when.
    NoPromise {
        away: TimeDelta,
    },
    Late {
        by: TimeDelta,
    },
}

impl OutsideRepair {
    pub fn send(
        vendor: &str,
        licensed: Option<String>,
        sent_at: DateTime<Utc>,
        now: DateTime<Utc>,
    ) -> Result<Self, OutsideFault> {
        let vendor = vendor.trim();
        if vendor.is_empty() {
            return Err(OutsideFault::NoVendor);
        }
        if sent_at > now {
            return Err(OutsideFault::InTheFuture { now });
        }
        Ok(Self {
            vendor: vendor.to_owned(),
            licensed,
            licence: None,
            sent_at,
            promises: Vec::new(),
            chased: Vec::new(),
            returned_at: None,
            invoice: None,
        })
    }

    pub fn step(&self) -> OutsideStep {
        match (self.returned_at, &self.invoice) {
            (None, _) => OutsideStep::AtVendor,
            (Some(_), None) => OutsideStep::Returned,
            (Some(_), Some(_)) => OutsideStep::Invoiced,
        }
    }

    /// What becomes of it, or why not; then nothing is changed.
    pub fn told(
        &self,
        command: OutsideCommand,
        books: Currency,
        now: DateTime<Utc>,
    ) -> Result<Self, OutsideFault> {
        let mut next = self.clone();
        match command {
            OutsideCommand::Promise { back_by } => {
                self.must_be_away()?;
                if back_by <= now {
                    return Err(OutsideFault::PromisePassed { back_by });
                }
                next.promises.push(Promise { made_at: now, back_by });
            }
            OutsideCommand::Chase { by, note } => {
                self.must_be_away()?;
                next.chased.push(Chase { at: now, by, note: note.trim().to_owned() });
            }
            OutsideCommand::Return { licence } => {
                self.must_be_away()?;
                let licence = licence.map(|l| l.trim().to_owned()).filter(|l| !l.is_empty());
                if let (Some(licensed), None) = (&self.licensed, &licence) {
                    return Err(OutsideFault::LicenceNeeded { licensed: licensed.clone() });
                }
                next.licence = licence;
                next.returned_at = Some(now.max(self.sent_at));
            }
            OutsideCommand::Invoice { number, amount } => {
                next.invoice = Some(self.invoiced(number.trim(), amount, books)?);
            }
        }
        Ok(next)
    }

    /// When it should be back, by the last promise.
    pub fn back_by(&self) -> Option<DateTime<Utc>> {
        self.promises.last().map(|p| p.back_by)
    }

    pub fn lateness(&self, now: DateTime<Utc>) -> Lateness {
        match (self.returned_at, self.back_by()) {
            (Some(_), _) => Lateness::Back,
            (None, Some(by)) if by < now => Lateness::Late { by: now - by },
            (None, Some(by)) => Lateness::InTime { left: by - now },
            (None, None) => Lateness::NoPromise { away: now - self.sent_at },
        }
    }

    /// Days between the first promise and the return: how far this vendor's promises can be believed. Later promises do not
    /// mend the first.
    pub fn days_late(&self) -> Option<f64> {
        let first = self.promises.first()?;
        Some((self.returned_at? - first.back_by).as_seconds_f64() / 86_400.0)
    }

    fn must_be_away(&self) -> Result<(), OutsideFault> {
        self.returned_at.map_or(Ok(()), |since| Err(OutsideFault::AlreadyBack { since }))
    }

    fn invoiced(&self, number: &str, amount: Amount, books: Currency) -> Result<Invoice, OutsideFault> {
        if self.returned_at.is_none() {
            return Err(OutsideFault::NotBack);
        }
        if let Some(invoice) = &self.invoice {
            return Err(OutsideFault::AlreadyInvoiced { number: invoice.number.clone() });
        }
        if number.is_empty() {
            return Err(OutsideFault::NoInvoiceNumber);
        }
        let minor = books.minor_of(amount).map_err(OutsideFault::OtherCurrency)?;
        if minor < 0 {
            return Err(OutsideFault::Negative);
        }
        Ok(Invoice { number: number.to_owned(), minor })
    }
}

/// The latest first, then those without a promise, then by what is left.
pub fn latest_first(repairs: &mut [OutsideRepair], now: DateTime<Utc>) {
    repairs.sort_by_key(|r| std::cmp::Reverse(rank(r.lateness(now))));
}

/// What is left counts the other way round.
fn rank(lateness: Lateness) -> (u8, TimeDelta) {
    match lateness {
        Lateness::Late { by } => (3, by),
        Lateness::NoPromise { away } => (2, away),
        Lateness::InTime { left } => (1, -left),
        Lateness::Back => (0, TimeDelta::zero()),
    }
}

#[cfg(test)]
mod tests;
