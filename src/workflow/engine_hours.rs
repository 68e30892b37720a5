//! A reading of the hour meter, whatever it comes from: a check, a report, a work order, or somebody who just reads it. It
//! may show use while the machine was held, and it may end a watch by engine hours; both at once, in the same transaction.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::trail::Trail;
use super::watch::end_watch;
use super::{Result, Workshop, machine_for, tell, yard_of};
use crate::domain::alert::Event;
use crate::domain::answers::hours_question;
use crate::domain::checklist::Load;
use crate::domain::ids::MachineId;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::{Before, Context};
use crate::domain::refusal::{Problem, Refusal};
use crate::domain::standing::Severity;
use crate::domain::trail::TrailAct;
use crate::domain::unit::Hours;
use crate::storage::{DefectRow, HoldRow, MachineRow, Tx, YardRow};
use crate::words::Text;

/// What the meter shows, said outside a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeterReading {
    pub hours: Hours,
    /// They are right although they do not follow from the last ones.
    #[serde(default)]
    pub confirmed: bool,
}

/// The workshop's own moving and testing, in tenths of an hour.
pub const EXPLAINED: i64 = 3;

/// Somebody reads the hour meter; answers whether that put the machine out of service.
pub async fn read_meter(
    workshop: &Workshop,
    actor: &Actor,
    machine: MachineId,
    reading: MeterReading,
) -> Result<bool> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::SubmitCheck, machine).await?;
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict(said!("machine-retired")).into());
    }
    let mut trail = Trail::new(actor, now);
    let ended = take_reading(workshop, &mut tx, actor, &machine, reading, &mut trail, now).await?;
    if let Some(before) = machine.engine_hours.filter(|b| reading.hours.0 - b.0 > EXPLAINED) {
        tx.meter_moved(machine.id, before, reading.hours, now).await?;
    }
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(!ended.is_empty())
}

/// Takes a reading that came with something else than a check; answers the defects whose watch it ended. The machine is
/// locked.
pub async fn take_reading(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    reading: MeterReading,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<Vec<DefectRow>> {
    take_reading_of(workshop, tx, actor, machine, reading, now, Text::default(), trail, now).await
}

/// As [`take_reading`], of a meter that was read at another time than now: in a file.
#[expect(clippy::too_many_arguments, reason = "who, what, where and when, each once")]
pub async fn take_reading_of(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    reading: MeterReading,
    read_at: DateTime<Utc>,
    why: Text,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<Vec<DefectRow>> {
    let context = Context {
        engine_hours: Some(reading.hours),
        hours_confirmed: reading.confirmed,
        ..Context::of(Load::Unladen)
    };
    if let Some(q) = hours_question(&context, &Before { engine_hours: machine.engine_hours }) {
        let problems = vec![Problem { pointer: q.pointer, sentence: q.sentence }];
        return Err(Refusal::Invalid { problems }.into());
    }
    let before = machine.engine_hours.map(|h| Text::of(&h)).unwrap_or_default();
    trail.add(
        TrailAct::HourMeterRead,
        format!("machine {}", machine.unit_number),
        before,
        reading.hours,
        why,
    );
    tx.insert_meter_reading(machine.id, read_at, reading.hours, actor.id, now).await?;
    let yard = yard_of(tx, machine).await?;
    let mut holds = tx.open_holds(machine.id).await?;
    // What it ran before it was held is no use while held.
    holds.retain(|h| h.since <= read_at);
    let open = tx.open_defects(machine.id).await?;
    let key = format!("use {} {}", machine.id, machine.version);
    let meter =
        Meter { machine, yard: &yard, holds: &holds, hours: reading.hours, kept: false, event_key: key };
    meter.moved(workshop, tx, actor, trail, now).await?;
    meter.end_watches(workshop, tx, &open, trail, now).await
}

/// One reading and what was known when it was taken.
pub struct Meter<'a> {
    pub machine: &'a MachineRow,
    pub yard: &'a YardRow,
    /// Open before whatever the reading came with.
    pub holds: &'a [HoldRow],
    pub hours: Hours,
    /// They are in the machine's row already: locking it wrote them.
    pub kept: bool,
    /// Of the alert of use while out of service: one per reading.
    pub event_key: String,
}

impl Meter<'_> {
    /// Keeps the hours, and tells of use while held.
    pub async fn moved(
        &self,
        workshop: &Workshop,
        tx: &mut Tx,
        actor: &Actor,
        trail: &mut Trail<'_>,
        now: DateTime<Utc>,
    ) -> Result<()> {
        if self.machine.engine_hours == Some(self.hours) {
            return Ok(());
        }
        if !self.kept {
            tx.set_engine_hours(self.machine.id, self.hours).await?;
        }
        let Some(held_at) = self.holds.iter().filter_map(|h| h.hours_at).min() else { return Ok(()) };
        // Already known up to the machine's last meter reading.
        let known = self.machine.engine_hours.unwrap_or(held_at).max(held_at);
        if self.hours.0 - known.0 <= EXPLAINED {
            return Ok(());
        }
        let event =
            Event::UsedWhileHeld { held_at_hours: held_at.to_string(), now_hours: self.hours.to_string() };
        trail.add(
            TrailAct::UsedWhileOutOfService,
            format!("machine {}", self.machine.unit_number),
            held_at,
            self.hours,
            said!("trail-used-while-held"),
        );
        tell::tell(workshop, tx, actor, self.machine, self.yard, &self.event_key, event, &[], now).await
    }

    /// The defects of `open` whose watch ends with this reading.
    pub fn ending<'d>(&self, open: &'d [DefectRow]) -> impl Iterator<Item = &'d DefectRow> {
        let hours = self.hours;
        open.iter().filter(move |d| {
            d.severity == Severity::Monitor && d.good_until_hours.is_some_and(|h| h <= hours)
        })
    }

    /// Puts them out of service; answers them as they are now.
    pub async fn end_watches(
        &self,
        workshop: &Workshop,
        tx: &mut Tx,
        open: &[DefectRow],
        trail: &mut Trail<'_>,
        now: DateTime<Utc>,
    ) -> Result<Vec<DefectRow>> {
        let mut ended = Vec::new();
        for seen in self.ending(open) {
            // It may have been raised meanwhile by what the reading came with.
            let Some(defect) = tx.defect(seen.id).await? else { continue };
            if defect.severity == Severity::Monitor && defect.closed_at.is_none() {
                let at = Some(self.hours);
                ended.push(end_watch(workshop, tx, self.machine, self.yard, at, defect, trail, now).await?);
            }
        }
        Ok(ended)
    }
}
