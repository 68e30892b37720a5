//! A mechanic's own time: what is entered, what it comes to, and what somebody has to put right.

use chrono::{DateTime, TimeDelta, Utc};

use super::working_time::zone_of;
use super::{Result, Workshop};
use crate::domain::labour::overtime::{OvertimeRule, weeks_around};
use crate::domain::person::{Act, Actor};
use crate::domain::shift::Span;
use crate::storage::LabourRow;

pub struct MyTime {
    /// By whose clock days and weeks are counted: the first of the person's yards.
    pub zone: String,
    /// The whole week that the moment asked for lies in.
    pub week: Span,
    /// In order, the running clock too when the week is this one.
    pub entries: Vec<LabourRow>,
    /// Of any week.
    pub forgotten: Vec<LabourRow>,
}

/// The week around a moment.
pub async fn my_time(workshop: &Workshop, actor: &Actor, at: DateTime<Utc>) -> Result<MyTime> {
    actor.must(Act::WorkOnOrder)?;
    let mut tx = workshop.db.read().await?;
    let yards = tx.yards().await?;
    let yard = yards.iter().find(|y| actor.yards.contains(&y.id)).or(yards.first());
    let (rule, zone) = match yard {
        Some(yard) => (tx.overtime_of(yard.id).await?, zone_of(yard)),
        None => (OvertimeRule::default(), chrono_tz::Tz::UTC),
    };
    let week = weeks_around(Span::new(at, at + TimeDelta::microseconds(1)), &rule, zone);
    let mut entries = tx.labour_around(actor.id, week).await?;
    let running = tx.running_labour(actor.id).await?;
    entries.extend(running.filter(|l| l.started_at < week.to && week.holds(workshop.ambient.now())));
    let forgotten = tx.forgotten_labour_of(actor.id).await?;
    Ok(MyTime { zone: zone.name().to_owned(), week, entries, forgotten })
}
