//! The owner's board.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;

use super::super::{Result, Workshop};
use super::named::yards_named;
use crate::domain::ids::MachineId;
use crate::domain::outlook::{DAYS, outlook};
use crate::domain::person::{Act, Actor, Role};
use crate::storage::{AlertCount, ClassCount, ComingRow, GroundedRow, MonitoredRow, MovedRow, Tx};

pub struct Board {
    pub at: DateTime<Utc>,
    pub grounded: Vec<GroundedRow>,
    pub monitored: Vec<MonitoredRow>,
    pub classes: Vec<ClassCount>,
    /// Beside each of `classes`: how many can be counted on, today and in the week to come.
    pub ahead: Vec<[i64; DAYS]>,
    /// What became of the alerts about grounded machines.
    pub alerts: HashMap<MachineId, AlertCount>,
    /// Moved today, by the yard's clock, without a check today.
    pub moved: Vec<MovedRow>,
}

/// `yard` narrows it to one yard by name; empty for all the actor may see.
pub async fn board(workshop: &Workshop, actor: &Actor, yard: &str, most: i64) -> Result<Board> {
    actor.must(Act::SeeBoard)?;
    let all = actor.has(Role::Owner);
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    if !yard.is_empty() {
        yards_named(&mut tx, actor, yard).await?;
    }
    let classes = tx.class_counts(actor.id, all, yard).await?;
    let ahead = ahead(&mut tx, actor, &classes, now).await?;
    let alerts = tx.alert_counts(actor.id, all).await?.into_iter().map(|a| (a.machine_id, a)).collect();
    let mut moved = tx.moved_unchecked(actor.id, all, yard, now - TimeDelta::hours(26), most).await?;
    moved.retain(|m| {
        let today = day(now, &m.zone);
        day(m.at, &m.zone) == today && m.last_check_at.is_none_or(|at| day(at, &m.zone) < today)
    });
    Ok(Board {
        at: now,
        grounded: tx.grounded(actor.id, all, yard, most).await?,
        monitored: tx.monitored(actor.id, all, yard, most).await?,
        classes,
        ahead,
        alerts,
        moved,
    })
}

async fn ahead(
    tx: &mut Tx,
    actor: &Actor,
    classes: &[ClassCount],
    now: DateTime<Utc>,
) -> Result<Vec<[i64; DAYS]>> {
    let all = actor.has(Role::Owner);
    let until = now + TimeDelta::days(i64::try_from(DAYS).unwrap_or(8) + 1);
    let returns = by_class(tx.likely_returns(actor.id, all).await?);
    let ends = by_class(tx.watches_that_end(actor.id, all, until).await?);
    let found = classes.iter().map(|c| {
        let key = (c.yard_name.clone(), c.class.clone());
        let of = |days: &HashMap<_, Vec<NaiveDate>>| days.get(&key).cloned().unwrap_or_default();
        outlook(c.machines - c.out_of_service, day(now, &c.zone), &of(&returns), &of(&ends))
    });
    Ok(found.collect())
}

fn by_class(rows: Vec<ComingRow>) -> HashMap<(String, String), Vec<NaiveDate>> {
    let mut found: HashMap<(String, String), Vec<NaiveDate>> = HashMap::new();
    for row in rows {
        let at = day(row.at, &row.zone);
        found.entry((row.yard_name, row.class)).or_default().push(at);
    }
    found
}

fn day(at: DateTime<Utc>, zone: &str) -> NaiveDate {
    at.with_timezone(&zone.parse().unwrap_or(Tz::UTC)).date_naive()
}
