//! How fast somebody may guess at passwords. What is guessed at is counted three ways, so that a guesser is slowed down
//! wherever they stand, while whoever knows their password is let in from where they usually are.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

use chrono::TimeDelta;

/// What wrong tries are counted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountedBy {
    /// One account, from one place.
    AccountHere,
    /// Whatever is tried from one place: a list of names with a likely password.
    Place,
    /// One account, from wherever: many places at one name. Not where its owner signed in before.
    Account,
    /// Somebody who is signed in already and is asked for the password again.
    AskedAgain,
}

/// Wrong tries are forgotten after so long without another. Common practice, no source.
pub const FORGOTTEN_AFTER: TimeDelta = TimeDelta::hours(1);

/// Nobody waits longer: guessing once a minute gets nowhere with a password of ten characters, and whoever mistyped
/// in gloves is not shut out at six in the morning.
pub const LONGEST_WAIT: TimeDelta = TimeDelta::minutes(1);

impl CountedBy {
    /// How many cost nothing. A yard behind one address mistypes more than one person does. Common practice, no source.
    pub const fn free(self) -> i64 {
        match self {
            Self::AccountHere | Self::AskedAgain => 5,
            Self::Account => 20,
            Self::Place => 40,
        }
    }

    /// How long after the last of so many wrong ones the next is looked at: twice as long each time.
    pub fn wait_after(self, wrong: i64) -> TimeDelta {
        let beyond = wrong - self.free();
        if beyond < 0 {
            return TimeDelta::zero();
        }
        let doubled = 1_i64.checked_shl(u32::try_from(beyond).unwrap_or(u32::MAX)).unwrap_or(i64::MAX);
        TimeDelta::seconds(doubled.clamp(1, LONGEST_WAIT.num_seconds()))
    }
}

/// The network that an address belongs to, as somebody is given it: /24 of IPv4, /56 of IPv6.
pub fn place_of(address: IpAddr) -> String {
    match address.to_canonical() {
        IpAddr::V4(v4) => {
            let [a, b, c, _] = v4.octets();
            format!("{}/24", Ipv4Addr::new(a, b, c, 0))
        }
        IpAddr::V6(v6) => {
            let kept = u128::from(v6) & (u128::MAX << (128 - 56));
            format!("{}/56", Ipv6Addr::from(kept))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_cost_nothing_and_guessing_soon_does() {
        let here = CountedBy::AccountHere;
        let waits: Vec<i64> = (0..14).map(|n| here.wait_after(n).num_seconds()).collect();
        assert_eq!(waits, [0, 0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60]);
        assert_eq!(here.wait_after(i64::MAX), LONGEST_WAIT);
        assert_eq!(CountedBy::Place.wait_after(39), TimeDelta::zero());
        assert_eq!(CountedBy::Account.wait_after(20), TimeDelta::seconds(1));
    }

    /// A day of guessing at one account from one place: fewer than 1,500 tries, of which NIST SP 800-63B-4, 3.2.2 (from
    /// memory) allows 100 in a row before more is asked.
    #[test]
    fn a_day_of_guessing_is_short() {
        let (mut at, mut tried) = (TimeDelta::zero(), 0);
        while at < TimeDelta::days(1) {
            tried += 1;
            at += CountedBy::AccountHere.wait_after(tried);
        }
        assert!((1_000..1_500).contains(&tried), "{tried}");
    }

    #[test]
    fn a_place_is_a_network() {
        let place = |address: &str| place_of(address.parse().unwrap());
        assert_eq!(place("198.51.100.77"), "198.51.100.0/24");
        assert_eq!(place("::ffff:198.51.100.9"), "198.51.100.0/24");
        assert_eq!(place("2001:db8:12:34ff:1::9"), "2001:db8:12:3400::/56");
        assert_ne!(place("2001:db8:12:3500::"), place("2001:db8:12:3400::"));
    }
}
