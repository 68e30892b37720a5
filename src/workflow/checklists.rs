//! Checklists: uploading a version, and the form of the one that a machine is checked with.

use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::trail::Trail;
use super::{Result, Workshop, machine_seen, to_json};
use crate::domain::checklist::Checklist;
use crate::domain::checklist_file::parse;
use crate::domain::ids::{CheckId, ChecklistId, DefectId, MachineId};
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Problem, Refusal, Thing, plain_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::unit::{Hours, UnitSystem};
use crate::domain::watched::is_asked;
use crate::storage::{ChecklistRow, MachineRow, StorageError, Tx};
use crate::words::Text;

/// Everything the check page needs.
pub struct CheckForm {
    /// For the check that this form will become.
    pub id: CheckId,
    pub machine: MachineRow,
    /// Now: how long the check takes is counted from here.
    pub made_at: DateTime<Utc>,
    pub held: bool,
    pub checklist_id: ChecklistId,
    pub version: i64,
    pub checklist: Arc<Checklist>,
    /// Item, position, value as read, unit: of the last check.
    pub last_values: Vec<(String, String, String, String)>,
    pub last_hours: Option<Hours>,
    pub open_defects: Vec<KnownDefect>,
    /// Height of the yard, for saying how much a tyre reads in the cold.
    pub altitude_m: Option<i64>,
    /// Of the yard.
    pub zone: String,
    /// What the person reads and types in, if they chose.
    pub units: Option<UnitSystem>,
}

/// A defect that is open when the check begins.
#[derive(Clone, Debug)]
pub struct KnownDefect {
    pub id: DefectId,
    /// Empty when it belongs to no item.
    pub item: String,
    pub position: String,
    pub what: Text,
    pub instruction: Text,
    pub found_at: DateTime<Utc>,
    pub raised_at: DateTime<Utc>,
    /// Whether the check has to say first: same, worse or gone.
    pub watched: bool,
    pub said_gone_at: Option<DateTime<Utc>>,
}

/// The form for a machine's next check.
pub async fn checklist_form(workshop: &Workshop, actor: &Actor, machine: MachineId) -> Result<CheckForm> {
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SubmitCheck, machine).await?;
    if machine.retired_at.is_some() {
        return Err(Refusal::conflict(said!("machine-retired-take-another")).into());
    }
    let row = tx.checklist_for_class(&machine.class).await?.ok_or_else(|| {
        Refusal::conflict(said!("checklist-none-for-class", class = class_said(&machine.class)))
    })?;
    let checklist = workshop.checklist(&mut tx, row.id).await?;
    let held = tx.count_open_holds(machine.id).await? > 0;
    let last_values = tx.last_values(machine.id).await?;
    let open = tx.open_defects(machine.id).await?;
    let open_defects = open
        .into_iter()
        .map(|d| KnownDefect {
            watched: is_asked(d.severity, d.state),
            id: d.id,
            item: d.item.unwrap_or_default(),
            position: d.position,
            what: d.what,
            instruction: d.instruction,
            found_at: d.found_at,
            raised_at: d.raised_at,
            said_gone_at: d.said_gone_at,
        })
        .collect();
    let yard = super::yard_of(&mut tx, &machine).await?;
    let units = tx.person_units(actor.id).await?;
    Ok(CheckForm {
        units,
        id: workshop.ambient.id(),
        made_at: workshop.ambient.now(),
        held,
        checklist_id: row.id,
        version: row.version,
        checklist,
        last_values,
        last_hours: machine.engine_hours,
        open_defects,
        altitude_m: yard.altitude_m,
        zone: yard.zone,
        machine,
    })
}

/// Takes a new version of a checklist. What cannot be understood is refused with line and column.
pub async fn upload_checklist(
    workshop: &Workshop,
    actor: &Actor,
    source: &str,
) -> Result<(ChecklistId, i64)> {
    actor.must(Act::SetUpChecklists)?;
    let checklist = parse(source).map_err(|faults| {
        let problems = faults
            .into_iter()
            .map(|f| {
                let sentence =
                    said!("checklist-fault-at", line = f.line, column = f.column, fault = f.sentence);
                Problem::new("/source", sentence)
            })
            .collect();
        Refusal::Invalid { problems }
    })?;
    let mut tx = workshop.db.begin().await?;
    let made = new_version(
        workshop,
        &mut tx,
        actor,
        source,
        &checklist,
        TrailAct::ChecklistUploaded,
        Text::default(),
    )
    .await?;
    tx.commit().await?;
    Ok(made)
}

/// The next version of its name, in use from now on in place of the one before.
pub(super) async fn new_version(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    source: &str,
    checklist: &Checklist,
    act: TrailAct,
    why: Text,
) -> Result<(ChecklistId, i64)> {
    let now = workshop.ambient.now();
    let version = tx.newest_version(&checklist.name).await? + 1;
    let row = ChecklistRow {
        id: workshop.ambient.id(),
        name: checklist.name.clone(),
        version,
        title: checklist.title.clone(),
        source: source.to_owned(),
        body: to_json(checklist)?,
        created_at: now,
        retired_at: None,
        retired_by: None,
    };
    tx.insert_checklist(&row, &checklist.classes, Some(actor.id)).await.map_err(|e| match e {
        StorageError::Duplicate(_) => StorageError::Changed,
        other => other,
    })?;
    tx.retire_earlier_checklists(&row.name, version, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(act, subject(&row.name), version - 1, version, why);
    trail.write(tx, &subject(&row.name)).await?;
    Ok((row.id, version))
}

/// What retiring a checklist would do.
pub struct Retiring {
    pub row: ChecklistRow,
    /// Unit numbers, of the actor's yards, of machines that would have no checklist then.
    pub left_without: Vec<String>,
    /// How many more there are in other yards.
    pub elsewhere: usize,
}

pub async fn retiring_checklist(workshop: &Workshop, actor: &Actor, id: ChecklistId) -> Result<Retiring> {
    actor.must(Act::SetUpChecklists)?;
    let mut tx = workshop.db.read().await?;
    let row = tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
    let machines = tx.machines_left_without(&row.name).await?;
    let all = machines.len();
    let left_without: Vec<String> =
        machines.into_iter().filter(|(_, yard)| actor.in_yard(*yard)).map(|(unit, _)| unit).collect();
    Ok(Retiring { row, elsewhere: all - left_without.len(), left_without })
}

/// No new check is made with any version of it. Checks and defects made with it keep it.
pub async fn retire_checklist(
    workshop: &Workshop,
    actor: &Actor,
    id: ChecklistId,
    reason: &str,
) -> Result<()> {
    actor.must(Act::SetUpChecklists)?;
    let now = workshop.ambient.now();
    let reason = plain_text("/reason", said!("what-reason"), reason, 300)?;
    let mut tx = workshop.db.begin().await?;
    let row = tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
    if row.retired_at.is_some() {
        return Err(Refusal::conflict(said!("checklist-version-not-in-use")).into());
    }
    tx.retire_checklist(&row.name, actor.id, now).await?;
    let mut trail = Trail::new(actor, now);
    let before = said!("trail-version", version = row.version);
    trail.add(TrailAct::ChecklistRetired, subject(&row.name), before, TrailState::Retired, reason);
    trail.write(&mut tx, &subject(&row.name)).await?;
    tx.commit().await?;
    Ok(())
}

/// Refuses a check that was made after somebody retired its checklist; what was made before still counts.
pub(super) fn not_retired(retired_at: Option<DateTime<Utc>>, made_at: DateTime<Utc>) -> Result<()> {
    match retired_at {
        Some(retired_at) if made_at >= retired_at => {
            Err(Refusal::conflict(said!("checklist-retired")).into())
        }
        _ => Ok(()),
    }
}

pub(super) fn subject(name: &str) -> String {
    format!("checklist {name}")
}

pub async fn checklists(workshop: &Workshop, actor: &Actor) -> Result<Vec<ChecklistRow>> {
    actor.must(Act::SubmitCheck)?;
    Ok(workshop.db.read().await?.checklists().await?)
}

/// A version as it was uploaded and as it was understood.
pub async fn uploaded_checklist(
    workshop: &Workshop,
    actor: &Actor,
    id: ChecklistId,
) -> Result<(ChecklistRow, Arc<Checklist>)> {
    actor.must(Act::SubmitCheck)?;
    let mut tx = workshop.db.read().await?;
    let row = tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
    let checklist = workshop.checklist(&mut tx, id).await?;
    Ok((row, checklist))
}
