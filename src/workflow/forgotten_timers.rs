//! Clocks that nobody stopped end with the shift they were started in, flagged for their mechanic to put right. The clock
//! decides, without anybody opening a page.

use chrono::{DateTime, TimeDelta, Utc};

use super::labour_cost::reckon;
use super::log_labour::{lock, words_of};
use super::order_of_defect::order_subject;
use super::trail::Trail;
use super::working_time::calendar_of;
use super::{Result, Workshop, tell, yard_of};
use crate::domain::alert::Event;
use crate::domain::ids::LabourId;
use crate::domain::labour::{Entry, closes, forgotten};
use crate::domain::person::Actor;
use crate::domain::shift::{Calendar, Span};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{LabourRow, Tx};

/// Ends every clock that is past its end, each in its own transaction; answers how many.
pub async fn close_forgotten_timers(workshop: &Workshop) -> Result<usize> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let mut due = Vec::new();
    for running in tx.running_clocks().await? {
        let calendar = calendar_for(&mut tx, &running).await?;
        if forgotten(&entry(&running), &calendar, now).is_some() {
            due.push(running.id);
        }
    }
    drop(tx);
    let mut closed = 0;
    for id in due {
        closed += usize::from(close_one(workshop, id).await?);
    }
    Ok(closed)
}

/// How long until the next running clock is past its end; None when none runs.
pub async fn until_next_timer_end(workshop: &Workshop) -> Result<Option<TimeDelta>> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let mut next: Option<DateTime<Utc>> = None;
    for running in tx.running_clocks().await? {
        let end = closes(running.started_at, &calendar_for(&mut tx, &running).await?).closed_at;
        next = Some(next.map_or(end, |n| n.min(end)));
    }
    Ok(next.map(|at| at - now))
}

async fn close_one(workshop: &Workshop, id: LabourId) -> Result<bool> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let Some(seen) = tx.labour(id).await? else { return Ok(false) };
    let Some(order) = tx.order(seen.work_order_id).await? else { return Ok(false) };
    let Some(machine) = tx.machine_for_change(order.machine_id).await? else { return Ok(false) };
    let own_rate = lock(&mut tx, seen.mechanic_id).await?;
    let Some(running) = tx.labour(id).await?.filter(|l| l.ended_at.is_none()) else { return Ok(false) };
    let calendar = calendar_for(&mut tx, &running).await?;
    let Some(end) = forgotten(&entry(&running), &calendar, now) else { return Ok(false) };
    let span = Span::new(running.started_at, end.closed_at.max(running.started_at));
    tx.end_labour(id, span.to, Some(end.because)).await?;
    reckon(workshop, &mut tx, running.mechanic_id, own_rate, span).await?;
    let actor = Actor {
        id: running.mechanic_id,
        name: running.mechanic_name.clone(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    };
    let mut trail = Trail::new(&actor, now);
    trail.add(
        TrailAct::TimerClosed,
        order_subject(&order),
        TrailState::Running,
        words_of(span),
        said!("trail-timer-forgotten", because = end.because),
    );
    let yard = yard_of(&mut tx, &machine).await?;
    let event = Event::TimerClosed {
        work_order: order.id,
        number: order.number,
        started_at: span.from,
        closed_at: span.to,
        because: end.because,
    };
    let key = format!("timer closed {id}");
    tell::write(workshop, &mut tx, &actor, &machine, &yard, &key, event, &[running.mechanic_id], now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(true)
}

async fn calendar_for(tx: &mut Tx, running: &LabourRow) -> Result<Calendar> {
    let around = Span::new(running.started_at - TimeDelta::days(4), running.started_at + TimeDelta::days(4));
    match tx.yard(running.yard_id).await? {
        Some(yard) => calendar_of(tx, &yard, Some(running.mechanic_id), around).await,
        None => Ok(Calendar::new(chrono_tz::Tz::UTC, Default::default())),
    }
}

fn entry(running: &LabourRow) -> Entry {
    Entry { id: running.id, order: running.work_order_id, from: running.started_at, to: running.ended_at }
}
