//! Machines. One that was out of service or watched where the file comes from is held here: its defects do not come along,
//! and in doubt a machine is out of service.

use std::collections::HashMap;

use chrono::{DateTime, Utc};

use super::super::machines::{NewMachine, ReadyMachine, insert_machine};
use super::super::place_hold::place;
use super::super::trail::Trail;
use super::super::{NotCovered, Result, Workshop};
use super::{Import, ImportChange, Yards, change, in_trail, new};
use crate::domain::ids::MachineId;
use crate::domain::import::ImportOutcome;
use crate::domain::import::sheet::Sheet;
use crate::domain::person::Actor;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::standing::Standing;
use crate::domain::trail::TrailAct;
use crate::domain::unit::Hours;
use crate::storage::Tx;
use crate::words::{Lang, Text};

pub enum Step {
    Add {
        new: ReadyMachine,
        retired_at: Option<DateTime<Utc>>,
        held: Option<Standing>,
    },
    Change {
        id: MachineId,
        unit_number: String,
        class: String,
        description: String,
        serial: String,
        changes: Vec<ImportChange>,
    },
}

pub async fn plan(tx: &mut Tx, sheet: &Sheet, yards: &Yards<'_>, import: &mut Import) -> Result<Vec<Step>> {
    let known: HashMap<_, _> =
        tx.known_machines().await?.into_iter().map(|m| (m.unit_key.clone(), m)).collect();
    let mut seen: HashMap<String, u64> = HashMap::new();
    let mut steps = Vec::new();
    let mut covered: HashMap<String, bool> = HashMap::new();
    for mut line in sheet.lines() {
        let yard = yards.of(&mut line, "yard");
        let typed = NewMachine {
            yard: yard.map_or(crate::domain::ids::YardId(uuid::Uuid::nil()), |y| y.id),
            unit_number: line.text("unit number").to_owned(),
            class: line.text("class").to_owned(),
            description: line.text("description").to_owned(),
            serial: line.text("serial").to_owned(),
            engine_hours: if line.text("engine hours").is_empty() {
                None
            } else {
                line.hours("engine hours")
            },
        };
        let standing = standing(line.text("standing"));
        if standing.is_none() && !line.text("standing").is_empty() {
            line.fault("standing", said!("import-standing"));
        }
        let retired_at = yard.and_then(|y| line.moment("retired", y.zone()));
        let ready = match ReadyMachine::of(&typed) {
            Ok(ready) => ready,
            Err(refusal) => {
                line.refused(&refusal, &[]);
                import.sound(line);
                continue;
            }
        };
        if let Some(first) = seen.insert(ready.unit.key.clone(), line.number()) {
            line.fault("unit number", said!("import-stands-twice", first = first.to_string()));
        }
        let (number, shown) = (line.number(), ready.unit.shown.clone());
        let gone = retired_at.is_some() || standing == Some(Standing::Retired);
        if !gone && !is_covered(tx, &mut covered, &ready.class).await? {
            import.not_covered.push(NotCovered { unit_number: shown.clone(), class: ready.class.clone() });
        }
        let Some(before) = known.get(&ready.unit.key) else {
            if !import.sound(line) {
                continue;
            }
            let held = standing.filter(|s| matches!(s, Standing::OutOfService | Standing::Monitored));
            let mut says =
                vec![new("class", ready.class.as_str()), new("yard", yard.map_or("", |y| y.name.as_str()))];
            says.extend(ready.engine_hours.map(|h: Hours| new("engine hours", h.to_string())));
            says.extend(standing.filter(|s| *s != Standing::FitForUse).map(|s| new("standing", s.as_str())));
            import.add(number, &shown, ImportOutcome::Added, says);
            // When it was retired may not be known; that it was, is enough.
            let retired_at = gone.then(|| retired_at.unwrap_or(DateTime::UNIX_EPOCH));
            steps.push(Step::Add { new: ready, retired_at, held: held.filter(|_| !gone) });
            continue;
        };
        // Not said whose it is: it may be somebody's who is not asking.
        if yard.is_some_and(|y| y.id != before.yard_id) {
            let own = yards.own().find(|y| y.id == before.yard_id);
            let sentence = match own {
                Some(own) => said!("import-other-yard", yard = own.name.as_str()),
                None => said!("machine-number-taken"),
            };
            line.fault("yard", sentence);
        }
        if !import.sound(line) {
            continue;
        }
        // What the file says nothing of stays as it is.
        let keep = |column: &str, typed: String, before: &str| {
            if sheet.has(column) { typed } else { before.to_owned() }
        };
        let description = keep("description", ready.description, &before.description);
        let serial = keep("serial", ready.serial, &before.serial);
        let changes: Vec<_> = [
            change("class", &before.class, &ready.class),
            change("description", &before.description, &description),
            change("serial", &before.serial, &serial),
        ]
        .into_iter()
        .flatten()
        .collect();
        let outcome = if changes.is_empty() { ImportOutcome::AlreadySo } else { ImportOutcome::Changed };
        import.add(number, &before.unit_number, outcome, changes.clone());
        if outcome == ImportOutcome::Changed {
            let (id, unit_number, class) = (before.id, before.unit_number.clone(), ready.class);
            steps.push(Step::Change { id, unit_number, class, description, serial, changes });
        }
    }
    Ok(steps)
}

async fn is_covered(tx: &mut Tx, known: &mut HashMap<String, bool>, class: &str) -> Result<bool> {
    if let Some(covered) = known.get(class) {
        return Ok(*covered);
    }
    let covered = tx.is_class_covered(class).await?;
    known.insert(class.to_owned(), covered);
    Ok(covered)
}

pub async fn take(workshop: &Workshop, tx: &mut Tx, actor: &Actor, mut steps: Vec<Step>) -> Result<()> {
    let now = workshop.ambient.now();
    // Machines are locked in the order of their ids.
    steps.sort_by_key(|s| match s {
        Step::Change { id, .. } => Some(*id),
        Step::Add { .. } => None,
    });
    for step in steps {
        match step {
            Step::Add { new, retired_at, held } => {
                let retired_at = retired_at.map(|at| if at == DateTime::UNIX_EPOCH { now } else { at });
                let id = insert_machine(workshop, tx, actor, &new, retired_at, now).await?;
                if let Some(standing) = held {
                    let machine =
                        tx.machine_for_change(id).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
                    let reason = said!("import-held", standing = standing);
                    place(workshop, tx, actor, workshop.ambient.id(), &machine, reason).await?;
                }
            }
            Step::Change { id, unit_number, class, description, serial, changes } => {
                let machine = tx.machine_for_change(id).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
                tx.change_machine(id, &class, &description, &serial).await?;
                let mut trail = Trail::new(actor, now);
                trail.add(
                    TrailAct::MachineChanged,
                    format!("machine {unit_number}"),
                    Text::typed(in_trail(&changes, |c| &c.before)),
                    Text::typed(in_trail(&changes, |c| &c.after)),
                    said!("trail-in-file"),
                );
                trail.write_for_machine(tx, id).await?;
                tx.announce(machine.yard_id);
            }
        }
    }
    Ok(())
}

/// By its fixed word, or in any language.
fn standing(typed: &str) -> Option<Standing> {
    let typed = typed.to_lowercase();
    Standing::ALL.iter().copied().find(|s| {
        s.as_str() == typed || Lang::ALL.iter().any(|lang| Text::of(s).in_lang(*lang).to_lowercase() == typed)
    })
}
