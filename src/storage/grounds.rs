//! What a check is judged by, read in one go.

use chrono::{DateTime, Utc};

use super::audit::CHAIN_HEAD;
use super::checklists::CHECKLIST_RETIRED_AT;
use super::checks::CHECK_BY_ID;
use super::defects::OPEN_DEFECTS;
use super::history::{LookBack, LookedBack, PUT_RIGHT, RELEASED, ReleasedRow, VALUES, looked_back};
use super::holds::OPEN_HOLDS;
use super::machines::{MACHINE_BY_ID, YARD_OF_MACHINE};
use super::{CheckRow, DefectRow, HoldRow, MachineRow, Result, Tx, YardRow};
use crate::domain::ids::{CheckId, ChecklistId, MachineId};

pub struct Grounds {
    /// As it was before anything else of this was read: whoever finds it unchanged later knows that all of it is.
    pub machine: Option<MachineRow>,
    /// The same check, when it is kept already.
    pub kept: Option<CheckRow>,
    /// When somebody retired the checklist.
    pub checklist_retired_at: Option<DateTime<Utc>>,
    pub yard: Option<YardRow>,
    pub open: Vec<DefectRow>,
    pub holds: Vec<HoldRow>,
    /// Since the look-back's beginning, oldest first.
    pub released: Vec<ReleasedRow>,
    pub series: LookedBack,
    /// Where the machine's chain of the audit trail ends: its last entry's number and hash.
    pub head: Option<(i64, String)>,
}

impl Tx {
    pub async fn grounds(
        &mut self,
        check: CheckId,
        checklist: ChecklistId,
        machine: MachineId,
        back: &LookBack,
        chain: &str,
    ) -> Result<Grounds> {
        let (items, chain) = (back.items(), chain.to_owned());
        let [machines, kept, retired, in_yard, open, holds, released, values, put_right, head] = self
            .in_one_go([
                (MACHINE_BY_ID, &[&machine]),
                (CHECK_BY_ID, &[&check]),
                (CHECKLIST_RETIRED_AT, &[&checklist]),
                (YARD_OF_MACHINE, &[&machine]),
                (OPEN_DEFECTS, &[&machine]),
                (OPEN_HOLDS, &[&machine]),
                (RELEASED, &[&machine, &back.from]),
                (VALUES, &back.values(&machine, &items)),
                (PUT_RIGHT, &back.put_right(&machine, &items)),
                (CHAIN_HEAD, &[&chain]),
            ])
            .await?;
        let retired: Option<(DateTime<Utc>,)> = retired.first()?;
        Ok(Grounds {
            machine: machines.first()?,
            kept: kept.first()?,
            checklist_retired_at: retired.map(|(at,)| at),
            yard: in_yard.first()?,
            open: open.all()?,
            holds: holds.all()?,
            released: released.all()?,
            series: looked_back(&values, &put_right)?,
            head: head.first()?,
        })
    }
}
