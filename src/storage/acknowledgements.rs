//! Which holds somebody has said they have seen, and who is told next where nobody has.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::downtime::scope;
use super::{Param, Result, Scope, Tx, guarded};
use crate::domain::ids::{MachineId, PersonId, YardId};

#[derive(Clone, Debug, FromRow)]
pub struct AcknowledgementRow {
    pub event_key: String,
    pub machine_id: MachineId,
    pub yard_id: YardId,
    pub asked_at: DateTime<Utc>,
    pub step: i64,
    pub next_at: Option<DateTime<Utc>>,
    pub acknowledged_at: Option<DateTime<Utc>>,
    pub acknowledged_by: Option<PersonId>,
}

/// One of a yard's chain, in its order.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct ChainRow {
    pub person_id: PersonId,
    pub person_name: String,
    pub wait_minutes: i64,
}

/// What became of the alerts about one grounded machine since it was grounded.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct AlertCount {
    pub machine_id: MachineId,
    pub told: i64,
    /// Owed, or on their way.
    pub under_way: i64,
    /// Of those under way, tried in vain so far.
    pub in_vain: i64,
    /// Given up on.
    pub failed: i64,
    /// Holds of which nobody has said that they have seen them, and since when the first of them waits.
    pub unacknowledged: i64,
    pub asked_at: Option<DateTime<Utc>>,
}

/// A hold that somebody was asked to acknowledge.
#[derive(Clone, Debug, FromRow)]
pub struct AskedRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub zone: String,
    pub asked_at: DateTime<Utc>,
    /// How many of the yard's chain were told beside those who are always told.
    pub step: i64,
    pub acknowledged_at: Option<DateTime<Utc>>,
    /// Empty where nobody did.
    pub acknowledged_by: String,
}

impl Tx {
    pub async fn insert_acknowledgement(
        &mut self,
        event_key: &str,
        machine: MachineId,
        yard: YardId,
        now: DateTime<Utc>,
        next_at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO acknowledgement (event_key, machine_id, yard_id, asked_at, next_at) VALUES ($1, $2, $3, $4, $5)",
            &[&event_key.to_owned(), &machine, &yard, &now, &next_at],
        )
        .await?;
        Ok(())
    }

    pub async fn acknowledgement(&mut self, event_key: &str) -> Result<Option<AcknowledgementRow>> {
        self.maybe(
            "SELECT event_key, machine_id, yard_id, asked_at, step, next_at, acknowledged_at, acknowledged_by
             FROM acknowledgement WHERE event_key = $1",
            &[&event_key.to_owned()],
        )
        .await
    }

    /// Once: whoever comes second finds it acknowledged.
    pub async fn acknowledge(&mut self, event_key: &str, by: PersonId, now: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE acknowledgement SET acknowledged_at = $3, acknowledged_by = $2, next_at = NULL
                 WHERE event_key = $1 AND acknowledged_at IS NULL",
                &[&event_key.to_owned(), &by, &now],
            )
            .await?,
        )
    }

    /// Whatever of a machine nobody has acknowledged; answers how many.
    pub async fn acknowledge_all_of(
        &mut self,
        machine: MachineId,
        by: PersonId,
        now: DateTime<Utc>,
    ) -> Result<u64> {
        self.run(
            "UPDATE acknowledgement SET acknowledged_at = $3, acknowledged_by = $2, next_at = NULL
             WHERE machine_id = $1 AND acknowledged_at IS NULL",
            &[&machine, &by, &now],
        )
        .await
    }

    /// Events of which the next in line is due to be told.
    pub async fn escalations_due(&mut self, now: DateTime<Utc>) -> Result<Vec<String>> {
        let rows: Vec<(String,)> = self
            .all(
                "SELECT event_key FROM acknowledgement WHERE acknowledged_at IS NULL AND next_at <= $1 ORDER BY next_at",
                &[&now],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    pub async fn next_escalation(&mut self) -> Result<Option<DateTime<Utc>>> {
        Ok(self
            .one::<(Option<DateTime<Utc>>,)>(
                "SELECT MIN(next_at) FROM acknowledgement WHERE acknowledged_at IS NULL",
                &[],
            )
            .await?
            .0)
    }

    pub async fn set_escalation_step(
        &mut self,
        event_key: &str,
        step: i64,
        next_at: Option<DateTime<Utc>>,
    ) -> Result<()> {
        self.run(
            "UPDATE acknowledgement SET step = $2, next_at = $3 WHERE event_key = $1",
            &[&event_key.to_owned(), &step, &next_at],
        )
        .await?;
        Ok(())
    }

    /// Without those who have left.
    pub async fn next_in_line(&mut self, yard: YardId) -> Result<Vec<ChainRow>> {
        self.all(
            "SELECT e.person_id, p.name AS person_name, e.wait_minutes FROM escalation e
             JOIN person p ON p.id = e.person_id WHERE e.yard_id = $1 AND p.disabled_at IS NULL ORDER BY e.step",
            &[&yard],
        )
        .await
    }

    pub async fn set_chain(&mut self, yard: YardId, chain: &[(PersonId, i64)]) -> Result<()> {
        self.run("DELETE FROM escalation WHERE yard_id = $1", &[&yard]).await?;
        let steps: Vec<(i64, PersonId, i64)> =
            chain.iter().zip(1..).map(|((person, wait), step)| (step, *person, *wait)).collect();
        let rows: Vec<Vec<&dyn Param>> =
            steps.iter().map(|(step, person, wait)| vec![&yard as &dyn Param, step, person, wait]).collect();
        self.insert_rows("escalation (yard_id, step, person_id, wait_minutes)", &rows).await
    }

    /// Those of a period, the newest first.
    pub async fn asked_in(&mut self, scope: &Scope, most: i64) -> Result<Vec<AskedRow>> {
        self.all(
            "SELECT a.machine_id, m.unit_number, y.zone, a.asked_at, a.step, a.acknowledged_at,
                COALESCE(p.name, '') AS acknowledged_by
             FROM acknowledgement a JOIN machine m ON m.id = a.machine_id JOIN yard y ON y.id = m.yard_id
             LEFT JOIN person p ON p.id = a.acknowledged_by
             WHERE ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
               AND ($3 = '' OR y.name = $3) AND ($4 = '' OR m.class = $4) AND a.asked_at >= $5 AND a.asked_at < $6
             ORDER BY a.asked_at DESC, a.event_key LIMIT $7",
            scope!(scope, &most),
        )
        .await
    }

    /// Of every grounded machine in the viewer's yards.
    pub async fn alert_counts(&mut self, viewer: PersonId, all_yards: bool) -> Result<Vec<AlertCount>> {
        self.all(
            "SELECT g.machine_id, COUNT(CASE WHEN o.state = 'delivered' THEN 1 END) AS told,
                COUNT(CASE WHEN o.state IN ('owed', 'sending') THEN 1 END) AS under_way,
                COUNT(CASE WHEN o.state IN ('owed', 'sending') AND o.attempts > 0 AND o.last_answer <> '' THEN 1 END) AS in_vain,
                COUNT(CASE WHEN o.state = 'failed' THEN 1 END) AS failed,
                (SELECT COUNT(*) FROM acknowledgement a WHERE a.machine_id = g.machine_id AND a.asked_at >= g.placed
                   AND a.acknowledged_at IS NULL) AS unacknowledged,
                (SELECT MIN(a.asked_at) FROM acknowledgement a WHERE a.machine_id = g.machine_id AND a.asked_at >= g.placed
                   AND a.acknowledged_at IS NULL) AS asked_at
             FROM (SELECT machine_id, MIN(placed_at) AS placed FROM hold WHERE lifted_at IS NULL GROUP BY machine_id) g
             JOIN machine m ON m.id = g.machine_id
             LEFT JOIN outbox o ON o.machine_id = g.machine_id AND o.created_at >= g.placed
             WHERE m.retired_at IS NULL AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             GROUP BY g.machine_id, g.placed",
            &[&viewer, &all_yards],
        )
        .await
    }
}
