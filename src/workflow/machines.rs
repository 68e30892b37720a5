//! Setting up yards and machines.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

use super::trail::Trail;
use super::{Result, WorkflowError, Workshop, machine_for, own_yard};
use crate::domain::air::{HIGHEST_YARD, LOWEST_YARD};
use crate::domain::ids::{MachineId, YardId};
use crate::domain::machine::UnitNumber;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, optional_text, plain_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::unit::Hours;
use crate::storage::{StorageError, Tx, YardRow};
use crate::words::Text;

#[derive(Clone, Debug)]
pub struct NewYard {
    pub name: String,
    /// IANA name, such as Europe/Oslo.
    pub zone: String,
    /// There is nobody else to sign: a release may be signed by the repairer, and says so.
    pub one_person: bool,
    /// Metres above sea level; sea level when not said. It tells how much a tyre reads in the cold.
    pub altitude_m: Option<i64>,
}

#[derive(Clone, Debug)]
pub struct NewMachine {
    pub yard: YardId,
    pub unit_number: String,
    pub class: String,
    pub description: String,
    pub serial: String,
    pub engine_hours: Option<Hours>,
}

pub async fn add_yard(workshop: &Workshop, actor: &Actor, new: NewYard) -> Result<YardId> {
    actor.must(Act::SetUpMachines)?;
    let now = workshop.ambient.now();
    let name = plain_text("/name", said!("what-yard-name"), &new.name, 60)?;
    let zone: Tz = new.zone.trim().parse().map_err(|_| Refusal::invalid("/zone", said!("yard-zone")))?;
    may_lie_at(new.altitude_m)?;
    let id: YardId = workshop.ambient.id();
    let mut tx = workshop.db.begin().await?;
    tx.insert_yard(id, &name, zone.name(), new.one_person, new.altitude_m, now)
        .await
        .map_err(|e| taken(e, said!("yard-name-taken")))?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::YardAdded, format!("yard {name}"), "", zone.name(), "");
    trail.write(&mut tx, &format!("yard {id}")).await?;
    tx.commit().await?;
    Ok(id)
}

/// Whether the yard has one person only, who then also releases.
pub async fn set_one_person(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    one_person: bool,
) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let before = tx.yard(yard).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    tx.set_one_person(yard, one_person).await?;
    let mut trail = Trail::new(actor, now);
    let people = |one| if one { TrailState::OnePerson } else { TrailState::MorePeople };
    let subject = format!("yard {}", before.name);
    trail.add(TrailAct::OnePersonYard, subject, people(before.one_person), people(one_person), "");
    trail.write(&mut tx, &format!("yard {yard}")).await?;
    tx.commit().await?;
    Ok(())
}

/// How high the yard lies. Checks that were made before keep the height they were judged at.
pub async fn set_altitude(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    altitude_m: Option<i64>,
) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    if !actor.in_yard(yard) {
        return Err(Refusal::NotFound(Thing::Yard).into());
    }
    may_lie_at(altitude_m)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let before = tx.yard(yard).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    tx.set_altitude(yard, altitude_m).await?;
    let shown = |m: Option<i64>| m.map_or(Text::of(&TrailState::NotKnown), |m| Text::typed(format!("{m} m")));
    let mut trail = Trail::new(actor, now);
    let subject = format!("yard {}", before.name);
    trail.add(TrailAct::YardHeight, subject, shown(before.altitude_m), shown(altitude_m), "");
    trail.write(&mut tx, &format!("yard {yard}")).await?;
    tx.commit().await?;
    Ok(())
}

fn may_lie_at(altitude_m: Option<i64>) -> Result<()> {
    let there = i64::from(LOWEST_YARD)..=i64::from(HIGHEST_YARD);
    match altitude_m {
        Some(m) if !there.contains(&m) => {
            let sentence = said!("yard-height", least = LOWEST_YARD, most = HIGHEST_YARD);
            Err(Refusal::invalid("/altitude_m", sentence).into())
        }
        _ => Ok(()),
    }
}

/// How many machines of a class the yard wants on an ordinary day.
pub async fn set_need(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    class: &str,
    needed: i64,
) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    if !actor.in_yard(yard) {
        return Err(Refusal::NotFound(Thing::Yard).into());
    }
    if !(0..=100_000).contains(&needed) {
        return Err(Refusal::invalid("/needed", said!("yard-need")).into());
    }
    let class = plain_text("/class", said!("what-class"), class, 60)?.to_lowercase();
    let mut tx = workshop.db.begin().await?;
    tx.yard(yard).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    tx.set_yard_need(yard, &class, needed).await?;
    tx.announce(yard);
    tx.commit().await?;
    Ok(())
}

pub async fn yards(workshop: &Workshop, actor: &Actor) -> Result<Vec<YardRow>> {
    let all = workshop.db.read().await?.yards().await?;
    Ok(all.into_iter().filter(|y| actor.in_yard(y.id)).collect())
}

pub async fn add_machine(workshop: &Workshop, actor: &Actor, new: NewMachine) -> Result<MachineId> {
    actor.must(Act::SetUpMachines)?;
    let now = workshop.ambient.now();
    let ready = ReadyMachine::of(&new)?;
    let mut tx = workshop.db.begin().await?;
    own_yard(&mut tx, actor, new.yard).await?;
    let id = insert_machine(workshop, &mut tx, actor, &ready, None, now).await?;
    tx.commit().await?;
    Ok(id)
}

/// What may be added: every field held to its rule.
pub(super) struct ReadyMachine {
    pub yard: YardId,
    pub unit: UnitNumber,
    pub class: String,
    pub description: String,
    pub serial: String,
    pub engine_hours: Option<Hours>,
}

impl ReadyMachine {
    pub fn of(new: &NewMachine) -> Result<Self, Refusal> {
        let class = plain_text("/class", said!("what-class-such-as"), &new.class, 60)?.to_lowercase();
        if new.engine_hours.is_some_and(|h| h.0 < 0) {
            return Err(Refusal::invalid("/engine_hours", said!("machine-hours-below-nothing")));
        }
        Ok(Self {
            yard: new.yard,
            unit: UnitNumber::parse(&new.unit_number)?,
            class,
            description: optional_text("/description", said!("what-description"), &new.description, 120)?,
            serial: optional_text("/serial", said!("what-serial"), &new.serial, 60)?,
            engine_hours: new.engine_hours,
        })
    }
}

/// Within a transaction. One that was retired already where it comes from is retired here from the start.
pub(super) async fn insert_machine(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    new: &ReadyMachine,
    retired_at: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
) -> Result<MachineId> {
    let id: MachineId = workshop.ambient.id();
    tx.insert_machine(
        id,
        new.yard,
        &new.unit.shown,
        &new.unit.key,
        &new.class,
        &new.description,
        &new.serial,
        new.engine_hours,
        now,
    )
    .await
    .map_err(|e| taken(e, said!("machine-number-taken")))?;
    let mut trail = Trail::new(actor, now);
    let subject = format!("machine {}", new.unit.shown);
    trail.add(TrailAct::MachineAdded, subject.clone(), "", new.class.as_str(), "");
    if let Some(at) = retired_at {
        tx.set_retired(id, Some(at)).await?;
        let why = said!("trail-retired-in-file");
        trail.add(TrailAct::MachineRetired, subject, TrailState::InUse, TrailState::Retired, why);
    }
    trail.write_for_machine(tx, id).await?;
    tx.announce(new.yard);
    Ok(id)
}

/// A retired machine takes no checks. Its open matters stay as they are.
pub async fn retire_machine(workshop: &Workshop, actor: &Actor, id: MachineId, reason: &str) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::SetUpMachines, id).await?;
    let reason = plain_text("/reason", said!("what-reason"), reason, 300)?;
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict(said!("machine-retired-already")).into());
    }
    tx.set_retired(id, Some(now)).await?;
    let mut trail = Trail::new(actor, now);
    let subject = format!("machine {}", machine.unit_number);
    trail.add(TrailAct::MachineRetired, subject, TrailState::InUse, TrailState::Retired, reason);
    trail.write_for_machine(&mut tx, id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(())
}

fn taken(error: StorageError, sentence: Text) -> WorkflowError {
    match error {
        StorageError::Duplicate(_) => Refusal::conflict(sentence).into(),
        other => other.into(),
    }
}
