//! Removing what has been kept long enough. Each statement says for itself what stays: whatever is open, and whatever
//! something that stays speaks of.

use chrono::{DateTime, Utc};
use sqlx::FromRow;
use uuid::Uuid;

use super::{Result, Tx};
use crate::domain::ids::{AlertId, CheckId, DefectId};
use crate::domain::retention::RecordKind;

/// How many of a kind may go, and from when to when they are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, FromRow)]
pub struct RemovedSpan {
    pub count: i64,
    pub first: Option<DateTime<Utc>>,
    pub last: Option<DateTime<Utc>>,
}

/// `$1` is before when; `$2` before when also what rules look back on may go. A machine with anything open keeps
/// everything, and the last check of a machine stays.
macro_rules! checks_to_go {
    ($select:literal $($after:literal)?) => {
        concat!(
            $select,
            " FROM pre_use_check c WHERE c.recorded_at < $1
                AND (c.recorded_at < $2 OR NOT EXISTS (SELECT 1 FROM reading r WHERE r.check_id = c.id))
                AND NOT EXISTS (SELECT 1 FROM defect d WHERE d.check_id = c.id)
                AND NOT EXISTS (SELECT 1 FROM sighting s WHERE s.check_id = c.id)
                AND NOT EXISTS (SELECT 1 FROM photo p WHERE p.check_id = c.id)
                AND EXISTS (SELECT 1 FROM pre_use_check l WHERE l.machine_id = c.machine_id AND l.recorded_at > c.recorded_at)
                AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.machine_id = c.machine_id AND h.lifted_at IS NULL)
                AND NOT EXISTS (SELECT 1 FROM defect d WHERE d.machine_id = c.machine_id AND d.closed_at IS NULL)
                AND NOT EXISTS (SELECT 1 FROM work_order w WHERE w.machine_id = c.machine_id
                    AND w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done'))"
            $(, $after)?
        )
    };
}

/// `$1` is before when, on a machine that left before `$2`; `$3` before when on a machine in use.
macro_rules! repairs_to_go {
    ($select:literal $($after:literal)?) => {
        concat!(
            $select,
            " FROM defect d JOIN machine m ON m.id = d.machine_id
              WHERE d.closed_at < $1 AND ((m.retired_at IS NOT NULL AND m.retired_at < $2) OR d.closed_at < $3)
                AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.machine_id = d.machine_id AND h.lifted_at IS NULL)
                AND NOT EXISTS (SELECT 1 FROM defect o WHERE o.machine_id = d.machine_id AND o.closed_at IS NULL)
                AND NOT EXISTS (SELECT 1 FROM work_order w WHERE w.machine_id = d.machine_id
                    AND w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done'))
                AND NOT EXISTS (SELECT 1 FROM defect o WHERE o.prior_defect_id = d.id)
                AND NOT EXISTS (SELECT 1 FROM photo p WHERE p.defect_id = d.id)
                AND NOT EXISTS (SELECT 1 FROM defect_round r WHERE r.defect_id = d.id OR r.found_first = d.id)"
            $(, $after)?
        )
    };
}

/// A mail stays as long as the hold it told of, and one that was not delivered stays until somebody has dealt with it.
macro_rules! alerts_to_go {
    ($select:literal $($after:literal)?) => {
        concat!(
            $select,
            " FROM outbox o WHERE o.created_at < $1 AND o.state = 'delivered'
                AND NOT (o.kind = 'machine held' AND EXISTS (SELECT 1 FROM hold h WHERE h.machine_id = o.machine_id
                    AND h.placed_at = o.created_at))
                AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.machine_id = o.machine_id AND h.lifted_at IS NULL)
                AND NOT EXISTS (SELECT 1 FROM defect d WHERE d.machine_id = o.machine_id AND d.closed_at IS NULL)"
            $(, $after)?
        )
    };
}

/// What another program has not taken stays until somebody has dealt with it.
macro_rules! messages_to_go {
    ($select:literal $($after:literal)?) => {
        concat!($select, " FROM webhook_message m WHERE m.created_at < $1 AND m.state = 'delivered'" $(, $after)?)
    };
}

/// Before when the records of a kind may go.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    pub before: DateTime<Utc>,
    /// Of what rules look back on.
    pub looked_back_on: DateTime<Utc>,
    /// When a machine must have left.
    pub left: DateTime<Utc>,
}

impl Tx {
    /// What would go.
    pub async fn may_be_removed(&mut self, kind: RecordKind, limits: Limits) -> Result<RemovedSpan> {
        let Limits { before, looked_back_on, left } = limits;
        match kind {
            RecordKind::Checks => {
                self.one(
                    checks_to_go!(
                        "SELECT COUNT(*) AS count, MIN(c.recorded_at) AS first, MAX(c.recorded_at) AS last"
                    ),
                    &[&before, &looked_back_on],
                )
                .await
            }
            RecordKind::Repairs => {
                self.one(
                    repairs_to_go!(
                        "SELECT COUNT(*) AS count, MIN(d.closed_at) AS first, MAX(d.closed_at) AS last"
                    ),
                    &[&before, &left, &looked_back_on.min(before)],
                )
                .await
            }
            RecordKind::Alerts => {
                self.one(
                    alerts_to_go!(
                        "SELECT COUNT(*) AS count, MIN(o.created_at) AS first, MAX(o.created_at) AS last"
                    ),
                    &[&before],
                )
                .await
            }
            RecordKind::Messages => {
                self.one(
                    messages_to_go!(
                        "SELECT COUNT(*) AS count, MIN(m.created_at) AS first, MAX(m.created_at) AS last"
                    ),
                    &[&before],
                )
                .await
            }
        }
    }

    /// Removes at most so many, the oldest first; answers how many, and of which time.
    pub async fn remove(&mut self, kind: RecordKind, limits: Limits, most: i64) -> Result<RemovedSpan> {
        let Limits { before, looked_back_on, left } = limits;
        let times: Vec<DateTime<Utc>> = match kind {
            RecordKind::Checks => {
                let checks: Vec<(CheckId, DateTime<Utc>)> = self
                    .all(
                        checks_to_go!("SELECT c.id, c.recorded_at" " ORDER BY c.recorded_at, c.id LIMIT $3"),
                        &[&before, &looked_back_on, &most],
                    )
                    .await?;
                self.open_removal("checks", before).await?;
                for (id, _) in &checks {
                    self.run("DELETE FROM reading WHERE check_id = $1", &[id]).await?;
                    self.run("DELETE FROM check_answer WHERE check_id = $1", &[id]).await?;
                    self.run("DELETE FROM pre_use_check WHERE id = $1", &[id]).await?;
                }
                self.close_removal().await?;
                checks.into_iter().map(|(_, at)| at).collect()
            }
            RecordKind::Repairs => {
                let defects: Vec<(DefectId, DateTime<Utc>)> = self
                    .all(
                        repairs_to_go!("SELECT d.id, d.closed_at" " ORDER BY d.closed_at, d.id LIMIT $4"),
                        &[&before, &left, &looked_back_on.min(before), &most],
                    )
                    .await?;
                for (id, _) in &defects {
                    self.run("DELETE FROM sighting WHERE defect_id = $1", &[id]).await?;
                    self.run("DELETE FROM retest WHERE defect_id = $1", &[id]).await?;
                    self.run("DELETE FROM hold WHERE defect_id = $1 AND lifted_at IS NOT NULL", &[id])
                        .await?;
                    // The part sits where it sits.
                    self.run("UPDATE part_fitted SET defect_id = NULL WHERE defect_id = $1", &[id]).await?;
                    self.run("DELETE FROM defect WHERE id = $1 AND closed_at IS NOT NULL", &[id]).await?;
                }
                defects.into_iter().map(|(_, at)| at).collect()
            }
            RecordKind::Alerts => {
                let alerts: Vec<(AlertId, DateTime<Utc>)> = self
                    .all(
                        alerts_to_go!("SELECT o.id, o.created_at" " ORDER BY o.created_at, o.id LIMIT $2"),
                        &[&before, &most],
                    )
                    .await?;
                for (id, _) in &alerts {
                    self.run("DELETE FROM outbox WHERE id = $1 AND state = 'delivered'", &[id]).await?;
                }
                alerts.into_iter().map(|(_, at)| at).collect()
            }
            RecordKind::Messages => {
                let messages: Vec<(Uuid, DateTime<Utc>)> = self
                    .all(
                        messages_to_go!("SELECT m.id, m.created_at" " ORDER BY m.created_at, m.id LIMIT $2"),
                        &[&before, &most],
                    )
                    .await?;
                for (id, _) in &messages {
                    self.run("DELETE FROM webhook_message WHERE id = $1 AND state = 'delivered'", &[id])
                        .await?;
                }
                messages.into_iter().map(|(_, at)| at).collect()
            }
        };
        Ok(RemovedSpan {
            count: i64::try_from(times.len()).unwrap_or(i64::MAX),
            first: times.first().copied(),
            last: times.last().copied(),
        })
    }

    /// Lets checks of before then be deleted until [`Tx::close_removal`], in this transaction only.
    async fn open_removal(&mut self, what: &str, before: DateTime<Utc>) -> Result<()> {
        self.run("INSERT INTO removing (what, before) VALUES ($1, $2)", &[&what.to_owned(), &before]).await?;
        Ok(())
    }

    async fn close_removal(&mut self) -> Result<()> {
        self.run("DELETE FROM removing", &[]).await?;
        Ok(())
    }
}
