//! Checks to look at: those that look careless by the machine's own history. Of machines, never of persons.

use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::super::{Result, Workshop, machine_seen};
use crate::domain::careless::{LOOK_AT, LOOK_BACK, Looked, SeenCheck, SeenValue, look};
use crate::domain::checklist::Checklist;
use crate::domain::ids::{CheckId, ChecklistId, MachineId, YardId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::{MachineName, Tx, YardRow};
use crate::words::Text;

pub struct CarelessChecks {
    pub yard: YardRow,
    /// In the order of their unit numbers; machines of which there is nothing to show or to say are left out.
    pub machines: Vec<CarelessMachine>,
    /// How many machines were looked at.
    pub looked_at: usize,
    /// Where the next page goes on.
    pub next: Option<String>,
}

pub struct CarelessMachine {
    pub id: MachineId,
    pub unit_number: String,
    pub looked: Looked,
}

/// Machines of one page: some 70,000 figures when each is checked daily.
const A_PAGE: usize = 100;

/// One page of a yard's machines, after `after` (a unit key; empty for the first page).
pub async fn careless_checks(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    after: &str,
) -> Result<CarelessChecks> {
    actor.must(Act::SeeCareless)?;
    if !actor.in_yard(yard) {
        return Err(Refusal::NotFound(Thing::Yard).into());
    }
    let mut tx = workshop.db.read().await?;
    let yard = tx.yard(yard).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    let mut names = tx.machines_in_use(yard.id, after, A_PAGE as i64 + 1).await?;
    let next = (names.len() > A_PAGE).then(|| names[A_PAGE - 1].unit_key.clone());
    names.truncate(A_PAGE);
    let looked_at = names.len();
    let mut machines = looked(workshop, &mut tx, yard.id, names).await?;
    machines.retain(|m| !m.looked.odd.is_empty() || !m.looked.unsaid.is_empty());
    Ok(CarelessChecks { yard, machines, looked_at, next })
}

/// The same of one machine, for its record.
pub async fn careless_checks_of(workshop: &Workshop, actor: &Actor, machine: MachineId) -> Result<Looked> {
    actor.must(Act::SeeCareless)?;
    let mut tx = workshop.db.read().await?;
    let machine = machine_seen(&mut tx, actor, Act::SeeCareless, machine).await?;
    let Some(unit_key) = tx.unit_key(machine.id).await? else { return Ok(Looked::default()) };
    let name = MachineName { id: machine.id, unit_key, unit_number: machine.unit_number };
    let looked = looked(workshop, &mut tx, machine.yard_id, vec![name]).await?;
    Ok(looked.into_iter().next().map(|m| m.looked).unwrap_or_default())
}

/// How many checks of the last weeks look careless, of these machines; None where they are more than a page of them, for
/// every figure of every check is read for it.
pub(super) async fn careless_count(
    workshop: &Workshop,
    tx: &mut Tx,
    yards: &[YardRow],
    of: &BTreeSet<MachineId>,
) -> Result<Option<usize>> {
    if of.len() > A_PAGE {
        return Ok(None);
    }
    let mut checks = BTreeSet::new();
    for yard in yards {
        let mut names = tx.machines_in_use(yard.id, "", i64::MAX).await?;
        names.retain(|m| of.contains(&m.id));
        for machine in looked(workshop, tx, yard.id, names).await? {
            checks.extend(machine.looked.odd.iter().map(|o| o.check));
        }
    }
    Ok(Some(checks.len()))
}

/// Two statements, whatever the number of machines.
async fn looked(
    workshop: &Workshop,
    tx: &mut Tx,
    yard: YardId,
    names: Vec<MachineName>,
) -> Result<Vec<CarelessMachine>> {
    let (Some(first), Some(last)) = (names.first(), names.last()) else { return Ok(Vec::new()) };
    let now = workshop.ambient.now();
    let span = (first.unit_key.as_str(), last.unit_key.as_str());
    let checks = tx.recent_checks(yard, span, now - LOOK_BACK).await?;
    let values = tx.recent_values(yard, span, now - LOOK_BACK).await?;
    let mut lists: HashMap<ChecklistId, Titles> = HashMap::new();
    for check in &checks {
        if let Entry::Vacant(titles) = lists.entry(check.checklist_id) {
            titles.insert(Titles::of(&*workshop.checklist(tx, check.checklist_id).await?));
        }
    }
    let mut read: HashMap<CheckId, Vec<SeenValue>> = HashMap::new();
    let list_of: HashMap<CheckId, ChecklistId> = checks.iter().map(|c| (c.id, c.checklist_id)).collect();
    for v in values {
        let titles = list_of.get(&v.check_id).and_then(|list| lists.get(list));
        let title = titles.and_then(|t| t.title(&v.item, &v.position)).cloned();
        let title = title.unwrap_or_else(|| Text::typed(&*v.item));
        read.entry(v.check_id).or_default().push(SeenValue {
            item: v.item,
            position: v.position,
            title,
            as_read: v.value_read,
            unit: v.unit,
        });
    }
    let mut of_machine: HashMap<MachineId, Vec<SeenCheck>> = HashMap::new();
    for c in checks {
        of_machine.entry(c.machine_id).or_default().push(SeenCheck {
            id: c.id,
            checklist: c.checklist_id,
            items: lists.get(&c.checklist_id).map_or(0, |t| t.stops),
            begun_at: c.begun_at,
            recorded_at: c.recorded_at,
            engine_hours: c.engine_hours,
            values: read.remove(&c.id).unwrap_or_default(),
        });
    }
    let found = names.into_iter().map(|m| CarelessMachine {
        looked: look(of_machine.remove(&m.id).unwrap_or_default(), now - LOOK_AT),
        id: m.id,
        unit_number: m.unit_number,
    });
    Ok(found.collect())
}

/// What a checklist calls its stops.
struct Titles {
    stops: usize,
    titles: BTreeMap<String, BTreeMap<String, Text>>,
}

impl Titles {
    fn of(list: &Checklist) -> Self {
        let walk = list.walk();
        let mut titles: BTreeMap<String, BTreeMap<String, Text>> = BTreeMap::new();
        for stop in &walk {
            let place = stop.place();
            titles.entry(place.item).or_default().insert(place.position.unwrap_or_default(), stop.title());
        }
        Self { stops: walk.len(), titles }
    }

    fn title(&self, item: &str, position: &str) -> Option<&Text> {
        self.titles.get(item)?.get(position)
    }
}
