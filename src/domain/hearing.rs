//! Who hears what: what the owner requires of a role in a yard, what each person chooses within that, and at which hours.

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;

use super::person::Role;
use super::shift::moment;
use super::words::words;

words! {
    /// Of what kind an alert is; the spelling kept in the outbox.
    AlertKind {
        MachineHeld = "machine held",
        UsedWhileHeld = "used while out of service",
        NotAcknowledged = "not acknowledged",
        Released = "released",
        HoldLifted = "hold lifted",
        CameBack = "defect came back",
        OutsideLate = "repair outside late",
        Digest = "daily digest",
        ReportReceived = "report received",
        TimerClosed = "timer closed",
        PartArrived = "part arrived",
        WebhookOff = "webhook switched off",
        TrailHead = "audit trail signed",
        SecondStepRemoved = "second step removed",
    }
}

words! {
    /// What the owner asks of a role in a yard.
    Wanted {
        Required = "required",
        On = "unless switched off",
        Off = "only if switched on",
    }
}

impl AlertKind {
    /// What is told to a yard, and so to whoever wants to hear it; the others are about somebody's own matter.
    pub const OF_A_YARD: [AlertKind; 7] = [
        AlertKind::MachineHeld,
        AlertKind::UsedWhileHeld,
        AlertKind::Released,
        AlertKind::HoldLifted,
        AlertKind::CameBack,
        AlertKind::OutsideLate,
        AlertKind::Digest,
    ];

    /// Somebody could be hurt for not having heard it: no quiet hours hold it back, and in each yard somebody hears it.
    pub const fn is_lockout(self) -> bool {
        matches!(self, AlertKind::MachineHeld | AlertKind::UsedWhileHeld | AlertKind::NotAcknowledged)
    }

    /// What holds for a role where the owner has said nothing.
    pub const fn usually(self, role: Role) -> Wanted {
        match (self, role) {
            (_, Role::Operator)
            | (AlertKind::Digest | AlertKind::CameBack | AlertKind::OutsideLate, Role::Mechanic) => {
                Wanted::Off
            }
            // Where a yard has no supervisor, the owners hear them (see `or_the_owners`).
            (AlertKind::CameBack | AlertKind::OutsideLate, Role::Owner) => Wanted::Off,
            _ => Wanted::On,
        }
    }

    /// Whether the owners hear what otherwise nobody in the yard would.
    pub const fn or_the_owners(self) -> bool {
        !matches!(self, AlertKind::Digest)
    }
}

impl Wanted {
    /// Whether somebody of whom this is asked, and who chose this for themselves, hears it.
    pub const fn heard(self, chosen: Option<bool>) -> bool {
        match (self, chosen) {
            (Wanted::Required, _) | (_, Some(true)) | (Wanted::On, None) => true,
            (Wanted::On, Some(false)) | (Wanted::Off, _) => false,
        }
    }

    /// The more that is asked of two roles of one person counts.
    pub fn more(self, other: Self) -> Self {
        self.min(other)
    }
}

/// Hours of the day in which somebody wants to be left alone, by the yard's clock; over midnight when `to` is earlier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct QuietHours {
    pub from: NaiveTime,
    pub to: NaiveTime,
}

impl QuietHours {
    /// When to send what happens now: now, or when the quiet ends.
    pub fn next(&self, now: DateTime<Utc>, zone: Tz) -> DateTime<Utc> {
        let local = now.with_timezone(&zone);
        let (day, clock) = (local.date_naive(), local.time());
        let (quiet, ends) = if self.from <= self.to {
            (self.from <= clock && clock < self.to, day)
        } else {
            let after_midnight = clock < self.to;
            (
                after_midnight || self.from <= clock,
                if after_midnight { day } else { day + TimeDelta::days(1) },
            )
        };
        if !quiet {
            return now;
        }
        moment(ends.and_time(self.to), zone).map_or(now, |end| end.max(now))
    }
}

/// The day whose digest is due: once a day, at the yard's hour by its own clock. An hour that is left out in spring comes when
/// the clocks go on; one that comes twice in autumn counts once.
pub fn digest_due(now: DateTime<Utc>, zone: Tz, at: NaiveTime, last: Option<NaiveDate>) -> Option<NaiveDate> {
    let today = now.with_timezone(&zone).date_naive();
    let due = moment(today.and_time(at), zone)? <= now;
    (due && last.is_none_or(|last| last < today)).then_some(today)
}

/// When the next digest will be due.
pub fn next_digest(
    now: DateTime<Utc>,
    zone: Tz,
    at: NaiveTime,
    last: Option<NaiveDate>,
) -> Option<DateTime<Utc>> {
    let today = now.with_timezone(&zone).date_naive();
    let day = if last.is_some_and(|last| last >= today) { today + TimeDelta::days(1) } else { today };
    moment(day.and_time(at), zone)
}

/// The yard's chain: who is told next when nobody has acknowledged, and after how many minutes.
pub const SHORTEST_WAIT: i64 = 1;
pub const LONGEST_WAIT: i64 = 24 * 60;
/// Where the owner has set no chain: the owners, after this.
pub const USUAL_WAIT: TimeDelta = TimeDelta::minutes(30);

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn clock(hour: u32, minute: u32) -> NaiveTime {
        NaiveTime::from_hms_opt(hour, minute, 0).unwrap()
    }

    #[test]
    fn a_required_alert_cannot_be_switched_off_and_any_other_goes_by_the_choice() {
        // wanted, chosen, heard
        for (wanted, chosen, heard) in [
            (Wanted::Required, None, true),
            (Wanted::Required, Some(false), true),
            (Wanted::On, None, true),
            (Wanted::On, Some(false), false),
            (Wanted::On, Some(true), true),
            (Wanted::Off, None, false),
            (Wanted::Off, Some(false), false),
            (Wanted::Off, Some(true), true),
        ] {
            assert_eq!(wanted.heard(chosen), heard, "{wanted} {chosen:?}");
        }
        assert_eq!(Wanted::Off.more(Wanted::Required), Wanted::Required);
        assert_eq!(Wanted::Off.more(Wanted::On), Wanted::On);
    }

    #[test]
    fn quiet_hours_over_midnight_end_in_the_morning_of_the_yards_own_clock() {
        let quiet = QuietHours { from: clock(22, 0), to: clock(6, 0) };
        let oslo = Tz::Europe__Oslo;
        // Winter time is UTC+1.
        assert_eq!(quiet.next(at("2026-11-25T20:59:00Z"), oslo), at("2026-11-25T20:59:00Z"));
        assert_eq!(quiet.next(at("2026-11-25T21:00:00Z"), oslo), at("2026-11-26T05:00:00Z"));
        assert_eq!(quiet.next(at("2026-11-26T03:00:00Z"), oslo), at("2026-11-26T05:00:00Z"));
        assert_eq!(quiet.next(at("2026-11-26T05:00:00Z"), oslo), at("2026-11-26T05:00:00Z"));
        // The night of 28 March 2027 is an hour short: six in the morning is then 04:00 UTC (EU summer time, Directive
        // 2000/84/EC: last Sunday of March, 01:00 UTC).
        assert_eq!(quiet.next(at("2027-03-27T23:00:00Z"), oslo), at("2027-03-28T04:00:00Z"));
        // The night of 25 October 2026 is an hour longer.
        assert_eq!(quiet.next(at("2026-10-24T21:00:00Z"), oslo), at("2026-10-25T05:00:00Z"));
        let noon = QuietHours { from: clock(12, 0), to: clock(13, 0) };
        assert_eq!(noon.next(at("2026-11-25T11:30:00Z"), oslo), at("2026-11-25T12:00:00Z"));
        assert_eq!(noon.next(at("2026-11-25T12:00:00Z"), oslo), at("2026-11-25T12:00:00Z"));
    }

    #[test]
    fn a_digest_comes_once_a_day_also_when_the_clocks_change() {
        let oslo = Tz::Europe__Oslo;
        let half_past_two = clock(2, 30);
        // 28 March 2027: 02:00 is followed by 03:00, which is 01:00 UTC.
        let before = NaiveDate::from_ymd_opt(2027, 3, 27);
        assert_eq!(digest_due(at("2027-03-28T00:59:00Z"), oslo, half_past_two, before), None);
        let day = digest_due(at("2027-03-28T01:00:00Z"), oslo, half_past_two, before);
        assert_eq!(day, NaiveDate::from_ymd_opt(2027, 3, 28));
        // 25 October 2026: 02:30 comes at 00:30 and at 01:30 UTC.
        let before = NaiveDate::from_ymd_opt(2026, 10, 24);
        assert_eq!(digest_due(at("2026-10-25T00:29:00Z"), oslo, half_past_two, before), None);
        let day = digest_due(at("2026-10-25T00:30:00Z"), oslo, half_past_two, before);
        assert_eq!(day, NaiveDate::from_ymd_opt(2026, 10, 25));
        assert_eq!(digest_due(at("2026-10-25T01:30:00Z"), oslo, half_past_two, day), None);
        assert_eq!(
            next_digest(at("2026-10-25T01:30:00Z"), oslo, half_past_two, day),
            Some(at("2026-10-26T01:30:00Z"))
        );
    }

    #[test]
    fn without_a_word_of_the_owner_the_same_people_hear_of_a_held_machine_as_ever() {
        for role in [Role::Mechanic, Role::Supervisor, Role::Owner] {
            assert!(AlertKind::MachineHeld.usually(role).heard(None));
        }
        assert!(!AlertKind::MachineHeld.usually(Role::Operator).heard(None));
    }
}
