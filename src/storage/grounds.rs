//! What a check is judged by, read in one go.

use chrono::{DateTime, Utc};

use super::audit::CHAIN_HEAD;
use super::checklists::CHECKLIST_RETIRED_AT;
use super::checks::CHECK_BY_ID;
use super::defects::OPEN_DEFECTS;
use super::history::{LookBack, PUT_RIGHT, RELEASED, ReleasedRow, SeriesRow, VALUES, series};
use super::holds::OPEN_HOLDS;
use super::machines::YARD_BY_ID;
use super::{CheckRow, DefectRow, HoldRow, Result, Tx, YardRow};
use crate::domain::ids::{CheckId, ChecklistId, MachineId, YardId};

pub struct Grounds {
    /// The same check, when it is kept already.
    pub kept: Option<CheckRow>,
    /// When somebody retired the checklist.
    pub checklist_retired_at: Option<DateTime<Utc>>,
    pub yard: Option<YardRow>,
    pub open: Vec<DefectRow>,
    pub holds: Vec<HoldRow>,
    /// Since the look-back's beginning, oldest first.
    pub released: Vec<ReleasedRow>,
    pub series: Vec<SeriesRow>,
    /// Where the machine's chain of the audit trail ends: its last entry's number and hash.
    pub head: Option<(i64, String)>,
}

impl Tx {
    pub async fn grounds(
        &mut self,
        check: CheckId,
        checklist: ChecklistId,
        (machine, yard): (MachineId, YardId),
        back: &LookBack,
        chain: &str,
    ) -> Result<Grounds> {
        let (items, chain) = (back.items(), chain.to_owned());
        let [kept, retired, in_yard, open, holds, released, values, put_right, head] = self
            .in_one_go([
                (CHECK_BY_ID, &[&check]),
                (CHECKLIST_RETIRED_AT, &[&checklist]),
                (YARD_BY_ID, &[&yard]),
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
            kept: kept.first()?,
            checklist_retired_at: retired.map(|(at,)| at),
            yard: in_yard.first()?,
            open: open.all()?,
            holds: holds.all()?,
            released: released.all()?,
            series: series(&values, &put_right)?,
            head: head.first()?,
        })
    }
}
