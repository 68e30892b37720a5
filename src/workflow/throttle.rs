//! Slows down whoever guesses at passwords. A try is counted before the password is looked at and taken back when it was
//! right, so that a hundred at once are a hundred tries.

use std::net::IpAddr;

use chrono::TimeDelta;

use super::sign_in::hash_of;
use super::{Result, Workshop};
use crate::domain::caller::Caller;
use crate::domain::ids::PersonId;
use crate::domain::refusal::Refusal;
use crate::domain::throttle::{CountedBy, FORGOTTEN_AFTER, place_of};

/// From where somebody signed in, they are not slowed down by those who try elsewhere.
const PLACE_IS_KNOWN_FOR: TimeDelta = TimeDelta::days(90);

/// A try that is counted.
pub(super) struct Counted {
    keys: Vec<(CountedBy, String)>,
    place: Option<String>,
}

/// Counts a try at an account from an address, or says how long to wait.
pub(super) async fn count_try(
    workshop: &Workshop,
    email: &str,
    person: Option<PersonId>,
    from: Option<IpAddr>,
) -> Result<Counted> {
    let place = from.map(|address| hash_of(&place_of(address)));
    let here = place.as_deref().unwrap_or("here");
    let mut keys = vec![(CountedBy::AccountHere, hash_of(&format!("here {email} {here}")))];
    keys.extend(place.iter().map(|place| (CountedBy::Place, hash_of(&format!("place {place}")))));
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let known = match (person, &place) {
        (Some(person), Some(place)) => tx.signed_in_from(person, place, now - PLACE_IS_KNOWN_FOR).await?,
        // On the computer itself.
        (_, None) => true,
        (None, _) => false,
    };
    if !known {
        keys.push((CountedBy::Account, hash_of(&format!("account {email}"))));
    }
    drop(tx);
    count(workshop, keys, place).await
}

/// Counts a try of somebody who is asked for their password again.
pub(super) async fn count_again(workshop: &Workshop, person: PersonId) -> Result<Counted> {
    count(workshop, vec![(CountedBy::AskedAgain, hash_of(&format!("again {person}")))], None).await
}

/// Counts a code of somebody's second step, from wherever: their password is known to whoever tries.
pub(super) async fn count_code(workshop: &Workshop, person: PersonId) -> Result<Counted> {
    count(workshop, vec![(CountedBy::AskedAgain, hash_of(&format!("code {person}")))], None).await
}

/// Counts a try that names nobody, by where it comes from.
pub(super) async fn count_place(workshop: &Workshop, from: &Caller) -> Result<Counted> {
    let place = from.place().map(|place| hash_of(&place));
    let key = format!("place {}", place.as_deref().unwrap_or("here"));
    count(workshop, vec![(CountedBy::Place, hash_of(&key))], place).await
}

async fn count(
    workshop: &Workshop,
    keys: Vec<(CountedBy, String)>,
    place: Option<String>,
) -> Result<Counted> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    for (by, key) in &keys {
        match tx.count_wrong_try(key, now, now - FORGOTTEN_AFTER).await? {
            Some(tries) => tx.set_next_try(key, now + by.wait_after(tries)).await?,
            None => {
                let next = tx.next_try_at(key).await?.unwrap_or(now);
                let seconds = (next - now).num_seconds().max(0) + 1;
                tracing::warn!(seconds, counted_by = ?by, "a password is tried too fast");
                return Err(Refusal::TooSoon { seconds }.into());
            }
        }
    }
    tx.commit().await?;
    Ok(Counted { keys, place })
}

impl Counted {
    /// It was the right one.
    pub(super) async fn was_right(self, workshop: &Workshop, person: PersonId) -> Result<()> {
        let mut tx = workshop.db.begin().await?;
        for (by, key) in &self.keys {
            let all = matches!(by, CountedBy::AccountHere | CountedBy::AskedAgain);
            tx.uncount_wrong_try(key, all).await?;
        }
        if let Some(place) = &self.place {
            tx.keep_place(person, place, workshop.ambient.now()).await?;
        }
        Ok(tx.commit().await?)
    }
}

/// Drops what no longer counts.
pub(super) async fn tidy(workshop: &Workshop) -> Result<u64> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let gone = tx.tidy_tries(now - FORGOTTEN_AFTER, now - PLACE_IS_KNOWN_FOR).await?;
    tx.commit().await?;
    Ok(gone)
}
