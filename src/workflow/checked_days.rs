//! How many machine-days had a check. Whole days are summed now and then, for years of checks are too many to count for
//! a page; what is not summed yet is counted.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Days, NaiveDate, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

use super::{Result, Workshop};
use crate::domain::ids::{MachineId, YardId};
use crate::domain::reliability::coverage::{Coverage, by_day};
use crate::storage::{CheckedDay, CheckedRow, Scope, Tx, YardRow};

/// So many days are summed again each time: checks arrive late.
const AGAIN: Days = Days::new(30);
/// And so many at once, that nobody waits long for the database.
const AT_ONCE: Days = Days::new(30);
/// A gap is seen by the check before it.
const BEFORE: TimeDelta = TimeDelta::days(60);

/// Sums every whole day of every yard that is not summed yet.
pub async fn sum_checked_days(workshop: &Workshop) -> Result<()> {
    let now = workshop.ambient.now();
    let yards = workshop.db.read().await?.yards().await?;
    for yard in yards {
        let (zone, today) = (yard.zone(), day_of(now, yard.zone()));
        let mut tx = workshop.db.read().await?;
        let Some(first) = tx.first_check_of_yard(yard.id).await? else { continue };
        let first = day_of(first, zone);
        let until = summed_until(&mut tx, &yard).await?;
        let classes: HashMap<MachineId, String> = tx.classes_of_yard(yard.id).await?.into_iter().collect();
        drop(tx);
        let mut from = until.and_then(|d| d.checked_sub_days(AGAIN)).unwrap_or(first).max(first);
        while from < today {
            let before = from.checked_add_days(AT_ONCE).unwrap_or(today).min(today);
            let mut read = workshop.db.read().await?;
            let checks =
                read.checks_of_yard(yard.id, begin(from, zone) - BEFORE, begin(before, zone)).await?;
            drop(read);
            let days = days_of(&yard, &classes, &checks, from, before);
            let mut tx = workshop.db.begin().await?;
            tx.sum_checked_days(yard.id, &from.to_string(), &before.to_string(), &days).await?;
            tx.set_setting(&setting(yard.id), &before.to_string()).await?;
            tx.commit().await?;
            from = before;
        }
    }
    Ok(())
}

fn days_of(
    yard: &YardRow,
    classes: &HashMap<MachineId, String>,
    checks: &[CheckedRow],
    from: NaiveDate,
    before: NaiveDate,
) -> Vec<CheckedDay> {
    let mut found: BTreeMap<(NaiveDate, &str), Coverage> = BTreeMap::new();
    for of_machine in checks.chunk_by(|a, b| a.machine_id == b.machine_id) {
        let Some(class) = of_machine.first().and_then(|c| classes.get(&c.machine_id)) else { continue };
        let checks: Vec<_> = of_machine.iter().map(|c| (c.recorded_at, c.engine_hours)).collect();
        for (day, coverage) in by_day(&checks, yard.zone()).range(from..before) {
            let sum = found.entry((*day, class.as_str())).or_default();
            *sum = sum.and(*coverage);
        }
    }
    let one = |((day, class), c): ((NaiveDate, &str), Coverage)| CheckedDay {
        yard_id: yard.id,
        class: class.to_owned(),
        day: day.to_string(),
        checked: c.checked,
        unchecked: c.unchecked,
    };
    found.into_iter().map(one).collect()
}

/// What was covered in the scope's period, by the days of each yard.
pub async fn coverage_in(tx: &mut Tx, scope: &Scope, yards: &[YardRow]) -> Result<Coverage> {
    let mut found = Coverage::default();
    for yard in yards {
        let zone = yard.zone();
        let (from, before) = (day_of(scope.from, zone), day_of(scope.to - TimeDelta::seconds(1), zone));
        let before = before.checked_add_days(Days::new(1)).unwrap_or(before);
        let summed = summed_until(tx, yard).await?.unwrap_or(from).clamp(from, before);
        let here = Scope { yard: yard.name.clone(), ..scope.clone() };
        let (checked, unchecked) = tx.checked_days(&here, &from.to_string(), &summed.to_string()).await?;
        found = found.and(Coverage { checked, unchecked });
        if summed < before {
            let here = Scope { from: begin(summed, zone) - BEFORE, to: begin(before, zone), ..here };
            let checks = tx.checked_in(&here).await?;
            for of_machine in checks.chunk_by(|a, b| a.machine_id == b.machine_id) {
                let checks: Vec<_> = of_machine.iter().map(|c| (c.recorded_at, c.engine_hours)).collect();
                found = by_day(&checks, zone).range(summed..before).fold(found, |sum, (_, c)| sum.and(*c));
            }
        }
    }
    Ok(found)
}

async fn summed_until(tx: &mut Tx, yard: &YardRow) -> Result<Option<NaiveDate>> {
    Ok(tx.setting(&setting(yard.id)).await?.and_then(|d| d.parse().ok()))
}

fn setting(yard: YardId) -> String {
    format!("checked days summed {yard}")
}

fn day_of(at: DateTime<Utc>, zone: Tz) -> NaiveDate {
    at.with_timezone(&zone).date_naive()
}

/// Midnight of the yard, or the first moment after it where the clocks leave it out.
fn begin(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    let midnight = day.and_time(chrono::NaiveTime::MIN);
    let found = (0..=3).find_map(|h| zone.from_local_datetime(&(midnight + TimeDelta::hours(h))).earliest());
    found.map_or_else(|| midnight.and_utc(), |at| at.with_timezone(&Utc))
}
