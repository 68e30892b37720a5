//! Collects the audit entries of one use case, so that each change of state has who, when, from, to and why.

use chrono::{DateTime, Utc};

use super::Result;
use crate::domain::ids::MachineId;
use crate::domain::person::Actor;
use crate::domain::trail::TrailAct;
use crate::storage::{Entry, Tx};
use crate::words::{Spoken, Text};

/// The chain that a machine's changes are written to.
pub fn machine_chain(machine: MachineId) -> String {
    format!("machine {machine}")
}

pub struct Trail<'a> {
    actor: &'a Actor,
    at: DateTime<Utc>,
    entries: Vec<Entry>,
}

impl<'a> Trail<'a> {
    pub fn new(actor: &'a Actor, at: DateTime<Utc>) -> Self {
        Self { actor, at, entries: Vec::new() }
    }

    pub fn add(
        &mut self,
        act: TrailAct,
        subject: impl Into<String>,
        before: impl Spoken,
        after: impl Spoken,
        why: impl Spoken,
    ) {
        self.entries.push(Entry {
            by_id: Some(self.actor.id),
            by_name: self.actor.name.clone(),
            at: self.at,
            act: act.as_str(),
            subject: subject.into(),
            before: Text::of(&before).kept(),
            after: Text::of(&after).kept(),
            why: Text::of(&why).kept(),
        });
    }

    /// Writes to the machine's own chain; call it last before the commit, with the machine locked. What changed may
    /// place its work orders elsewhere in the queue.
    pub async fn write_for_machine(self, tx: &mut Tx, machine: MachineId) -> Result<()> {
        self.write_for_machine_after(tx, machine, None).await
    }

    /// As [`Trail::write_for_machine`], of a chain whose end was read already: one statement less.
    pub async fn write_for_machine_after(
        self,
        tx: &mut Tx,
        machine: MachineId,
        end: Option<(i64, String)>,
    ) -> Result<()> {
        let moves_nothing = [TrailAct::CheckSubmitted.as_str(), TrailAct::HourMeterRead.as_str()];
        if self.entries.iter().any(|e| !moves_nothing.contains(&e.act)) {
            tx.place_orders_of(machine).await?;
        }
        let chain = machine_chain(machine);
        match end {
            Some(end) => tx.audit_after(&chain, end, &self.entries).await?,
            None => tx.audit(&chain, &self.entries).await?,
        }
        Ok(())
    }

    pub async fn write(self, tx: &mut Tx, stream: &str) -> Result<()> {
        Ok(tx.audit(stream, &self.entries).await?)
    }
}
