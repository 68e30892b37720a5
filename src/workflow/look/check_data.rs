//! What a phone needs to check machines and to judge the checks by itself while there is no signal.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::super::history::history;
use super::super::{Result, Workshop, machine_seen};
use crate::domain::checklist::Checklist;
use crate::domain::history::History;
use crate::domain::ids::{ChecklistId, MachineId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::{DefectRow, HoldRow, MachineStanding, Tx};

pub struct CheckData {
    /// By unit number, without the retired ones.
    pub machines: Vec<MachineData>,
    /// Each version that one of these machines is checked with, once.
    pub checklists: Vec<(ChecklistId, i64, Arc<Checklist>)>,
}

pub struct MachineData {
    pub machine: MachineStanding,
    /// Of its yard.
    pub altitude_m: Option<i64>,
    /// None where there is none for the machine's class.
    pub checklist: Option<ChecklistId>,
    pub holds: Vec<HoldRow>,
    pub defects: Vec<DefectRow>,
    /// As far as a judgement by the checklist depends on it, without a `now`: that is the moment of the check.
    pub history: History,
    /// Item, position, value as read, unit: of the last check.
    pub last_values: Vec<(String, String, String, String)>,
}

/// Who works in more yards than this many machines fill takes the first ones along.
const MOST_MACHINES: i64 = 500;

/// Of every machine in the actor's yards.
pub async fn check_data(workshop: &Workshop, actor: &Actor) -> Result<CheckData> {
    actor.must(Act::SubmitCheck)?;
    let all = actor.has(Role::Owner);
    let mut tx = workshop.db.read().await?;
    let machines = tx.machines_in_use_seen_by(actor.id, all, MOST_MACHINES).await?;
    let defects = tx.open_defects_seen_by(actor.id, all).await?;
    let holds = tx.open_holds_seen_by(actor.id, all).await?;
    gather(workshop, &mut tx, machines, defects, holds).await
}

/// Of one machine.
pub async fn check_data_of(workshop: &Workshop, actor: &Actor, id: MachineId) -> Result<CheckData> {
    let mut tx = workshop.db.read().await?;
    machine_seen(&mut tx, actor, Act::SubmitCheck, id).await?;
    let machine = tx.machine_standing(id).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
    let defects = tx.open_defects(id).await?;
    let holds = tx.open_holds(id).await?;
    let machines = Some(machine).filter(|m| !m.retired).into_iter().collect();
    gather(workshop, &mut tx, machines, defects, holds).await
}

async fn gather(
    workshop: &Workshop,
    tx: &mut Tx,
    machines: Vec<MachineStanding>,
    defects: Vec<DefectRow>,
    holds: Vec<HoldRow>,
) -> Result<CheckData> {
    let now = workshop.ambient.now();
    let altitudes: HashMap<YardId, Option<i64>> =
        tx.yards().await?.into_iter().map(|y| (y.id, y.altitude_m)).collect();
    let mut of_class: HashMap<String, Option<ChecklistId>> = HashMap::new();
    let mut checklists: BTreeMap<ChecklistId, (i64, Arc<Checklist>)> = BTreeMap::new();
    let mut gathered: Vec<MachineData> = Vec::new();
    for machine in machines {
        let checklist = match of_class.get(&machine.class) {
            Some(known) => *known,
            None => {
                let row = tx.checklist_for_class(&machine.class).await?;
                if let Some(row) = &row {
                    let whole = workshop.checklist(tx, row.id).await?;
                    checklists.insert(row.id, (row.version, whole));
                }
                *of_class.entry(machine.class.clone()).or_insert(row.map(|r| r.id))
            }
        };
        let history = match checklist.and_then(|id| checklists.get(&id)) {
            Some((_, whole)) => {
                let past = history(tx, whole, machine.id, now).await?.lean_for(whole);
                History { now: None, ..past }
            }
            None => History::default(),
        };
        gathered.push(MachineData {
            altitude_m: altitudes.get(&machine.yard_id).copied().flatten(),
            checklist,
            holds: Vec::new(),
            defects: Vec::new(),
            history,
            last_values: tx.last_values(machine.id).await?,
            machine,
        });
    }
    let at: HashMap<MachineId, usize> = gathered.iter().enumerate().map(|(n, m)| (m.machine.id, n)).collect();
    for defect in defects {
        if let Some(n) = at.get(&defect.machine_id) {
            gathered[*n].defects.push(defect);
        }
    }
    for hold in holds {
        if let Some(n) = at.get(&hold.machine_id) {
            gathered[*n].holds.push(hold);
        }
    }
    let checklists = checklists.into_iter().map(|(id, (version, whole))| (id, version, whole)).collect();
    Ok(CheckData { machines: gathered, checklists })
}
