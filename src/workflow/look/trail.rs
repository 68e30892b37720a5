//! The audit trail, for those who may read it.

use std::collections::BTreeMap;

use super::super::{Result, Workshop};
use crate::domain::ids::MachineId;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::Refusal;
use crate::storage::{AuditRow, Tx};

/// Newest first. `query` is looked for in who, what and why; `stream` narrows to one chain. The chain of a machine or of a
/// yard is read by those who work in that yard.
pub async fn audit_trail(
    workshop: &Workshop,
    actor: &Actor,
    stream: &str,
    query: &str,
    most: i64,
) -> Result<Vec<AuditRow>> {
    audit_before(workshop, actor, stream, query, None, most).await
}

/// As [`audit_trail`], of what stands in it after an entry: the one of a stream with a number.
pub async fn audit_before(
    workshop: &Workshop,
    actor: &Actor,
    stream: &str,
    query: &str,
    before: Option<(&str, i64)>,
    most: i64,
) -> Result<Vec<AuditRow>> {
    actor.must(Act::SeeAudit)?;
    let mut tx = workshop.db.read().await?;
    let before = match before {
        Some((of, seq)) => Some(tx.audit_place(of, seq).await?.ok_or_else(no_such_place)?),
        None => None,
    };
    let before = before.as_ref();
    if actor.has(Role::Owner) {
        return Ok(tx.audit_rows(stream, query, before, most, 0).await?);
    }
    let (mut found, mut read) = (Vec::new(), 0);
    let mut may_read: BTreeMap<String, bool> = BTreeMap::new();
    loop {
        let rows = tx.audit_rows(stream, query, before, most, read).await?;
        let count = rows.len() as i64;
        read += count;
        for row in rows {
            let may = match may_read.get(&row.stream) {
                Some(may) => *may,
                None => {
                    let may = is_open_to(&mut tx, actor, &row.stream).await?;
                    may_read.insert(row.stream.clone(), may);
                    may
                }
            };
            if may && (found.len() as i64) < most {
                found.push(row);
            }
        }
        if count < most || found.len() as i64 == most {
            return Ok(found);
        }
    }
}

/// What a list was to go on from is not in it.
pub fn no_such_place() -> Refusal {
    Refusal::invalid("/before", said!("refusal-no-such-place"))
}

async fn is_open_to(tx: &mut Tx, actor: &Actor, stream: &str) -> Result<bool> {
    let yard = match stream.split_once(' ') {
        Some(("machine", id)) => match id.parse() {
            Ok(id) => tx.machine(id).await?.map(|m| m.yard_id),
            Err(_) => None,
        },
        Some(("yard", id)) => id.parse().ok(),
        // A part, a person, a checklist: of the whole business.
        _ => return Ok(true),
    };
    Ok(yard.is_some_and(|yard| actor.in_yard(yard)))
}

/// Unit numbers, for showing whose chain an entry belongs to.
pub async fn unit_numbers(
    workshop: &Workshop,
    actor: &Actor,
    machines: impl IntoIterator<Item = MachineId>,
) -> Result<BTreeMap<MachineId, String>> {
    actor.must(Act::SeeAudit)?;
    let mut tx = workshop.db.read().await?;
    let mut found = BTreeMap::new();
    for id in machines {
        if let Some(machine) = tx.machine(id).await? {
            found.insert(id, machine.unit_number);
        }
    }
    Ok(found)
}
