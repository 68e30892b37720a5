//! What is owed to whom. A row is committed with the event it tells of, and delivered afterwards.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Param, Result, Tx, guarded};
use crate::domain::ids::{AlertId, MachineId, PersonId, YardId};
use crate::domain::words::words;

words! {
    OutboxState {
        Owed = "owed",
        Sending = "sending",
        Delivered = "delivered",
        /// Given up on; shown until somebody acts.
        Failed = "failed",
    }
}

#[derive(Clone, Debug, FromRow)]
pub struct OutboxRow {
    pub id: AlertId,
    pub kind: String,
    pub person_id: PersonId,
    pub person_name: String,
    pub email: String,
    /// BCP 47 tag of the language the person reads; none when they never chose.
    pub language: Option<String>,
    pub machine_id: MachineId,
    /// JSON of [`crate::domain::alert::Alert`].
    pub alert: String,
    pub state: OutboxState,
    pub attempts: i64,
    pub next_at: DateTime<Utc>,
    pub last_answer: String,
    pub created_at: DateTime<Utc>,
    pub delivered_at: Option<DateTime<Utc>>,
}

macro_rules! outbox {
    ($condition:literal) => {
        concat!(
            "SELECT o.id, o.kind, o.person_id, p.name AS person_name, p.email, p.language, o.machine_id, o.alert, o.state, o.attempts,
                o.next_at, o.last_answer, o.created_at, o.delivered_at
             FROM outbox o JOIN person p ON p.id = o.person_id ",
            $condition
        )
    };
}

impl Tx {
    /// Enabled supervisors and mechanics of the yard, and every owner.
    pub async fn yard_audience(&mut self, yard: YardId) -> Result<Vec<PersonId>> {
        let rows: Vec<(PersonId,)> = self
            .all(
                "SELECT DISTINCT p.id FROM person p JOIN person_role r ON r.person_id = p.id
                 LEFT JOIN person_yard y ON y.person_id = p.id AND y.yard_id = $1
                 WHERE p.disabled_at IS NULL
                   AND (r.role = 'owner' OR (r.role IN ('supervisor', 'mechanic') AND y.yard_id IS NOT NULL))
                 ORDER BY p.id",
                &[&yard],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    /// Enabled supervisors of the yard; where it has none, the owners.
    pub async fn yard_supervisors(&mut self, yard: YardId) -> Result<Vec<PersonId>> {
        let rows: Vec<(PersonId, bool)> = self
            .all(
                "SELECT p.id, MAX(CASE WHEN r.role = 'supervisor' THEN 1 ELSE 0 END) = 1 AS supervisor
                 FROM person p JOIN person_role r ON r.person_id = p.id
                 LEFT JOIN person_yard y ON y.person_id = p.id AND y.yard_id = $1
                 WHERE p.disabled_at IS NULL
                   AND (r.role = 'owner' OR (r.role = 'supervisor' AND y.yard_id IS NOT NULL))
                 GROUP BY p.id ORDER BY p.id",
                &[&yard],
            )
            .await?;
        let any = rows.iter().any(|(_, supervisor)| *supervisor);
        Ok(rows.into_iter().filter(|(_, supervisor)| *supervisor == any).map(|(id, _)| id).collect())
    }

    #[expect(clippy::too_many_arguments, reason = "one argument a column")]
    pub async fn insert_outbox(
        &mut self,
        ids: &[AlertId],
        event_key: &str,
        kind: &str,
        people: &[PersonId],
        machine: MachineId,
        alert: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let (event_key, kind, alert) = (event_key.to_owned(), kind.to_owned(), alert.to_owned());
        let state = OutboxState::Owed;
        let rows: Vec<Vec<&dyn Param>> = ids
            .iter()
            .zip(people)
            .map(|(id, person)| {
                vec![id as &dyn Param, &event_key, &kind, person, &machine, &alert, &state, &now, &now]
            })
            .collect();
        self.insert_rows(
            "outbox (id, event_key, kind, person_id, machine_id, alert, state, next_at, created_at)",
            &rows,
        )
        .await
    }

    /// Leases rows that are due: whoever takes them sends them, unless the lease runs out first.
    pub async fn lease_outbox(
        &mut self,
        now: DateTime<Utc>,
        lease_until: DateTime<Utc>,
        most: i64,
    ) -> Result<Vec<AlertId>> {
        let rows: Vec<(AlertId,)> = self
            .all(
                "UPDATE outbox SET state = 'sending', lease_until = $2, attempts = attempts + 1
                 WHERE id IN (SELECT id FROM outbox WHERE state IN ('owed', 'sending') AND next_at <= $1
                                AND (lease_until IS NULL OR lease_until <= $1) ORDER BY next_at LIMIT $3)
                   AND (lease_until IS NULL OR lease_until <= $1)
                 RETURNING id",
                &[&now, &lease_until, &most],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    pub async fn outbox_row(&mut self, id: AlertId) -> Result<Option<OutboxRow>> {
        self.maybe(outbox!("WHERE o.id = $1"), &[&id]).await
    }

    pub async fn outbox_delivered(&mut self, id: AlertId, answer: &str, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "UPDATE outbox SET state = 'delivered', lease_until = NULL, last_answer = $2, delivered_at = $3 WHERE id = $1",
            &[&id, &answer.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    /// Not this time: tried again at `next_at`, or given up on when there is none.
    pub async fn outbox_not_delivered(
        &mut self,
        id: AlertId,
        answer: &str,
        next_at: Option<DateTime<Utc>>,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let state = if next_at.is_some() { OutboxState::Owed } else { OutboxState::Failed };
        self.run(
            "UPDATE outbox SET state = $2, lease_until = NULL, last_answer = $3, next_at = $4 WHERE id = $1",
            &[&id, &state, &answer.to_owned(), &next_at.unwrap_or(now)],
        )
        .await?;
        Ok(())
    }

    pub async fn resend_outbox(&mut self, id: AlertId, now: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE outbox SET state = 'owed', lease_until = NULL, next_at = $2 WHERE id = $1 AND state <> 'sending'",
                &[&id, &now],
            )
            .await?,
        )
    }

    /// Newest first, of machines in the viewer's yards.
    pub async fn outbox(&mut self, viewer: PersonId, all_yards: bool, most: i64) -> Result<Vec<OutboxRow>> {
        self.all(
            outbox!(
                "JOIN machine m ON m.id = o.machine_id
                 WHERE ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                 ORDER BY o.created_at DESC, o.id DESC LIMIT $3"
            ),
            &[&viewer, &all_yards, &most],
        )
        .await
    }

    /// Who has been told, or will be, of one event and of what belongs to it.
    pub async fn outbox_of_event(&mut self, event_key: &str, and: &str) -> Result<Vec<OutboxRow>> {
        self.all(
            outbox!("WHERE o.event_key IN ($1, $2) ORDER BY p.name, o.created_at, o.id"),
            &[&event_key.to_owned(), &and.to_owned()],
        )
        .await
    }

    /// The earliest moment at which something will be due, so that nobody has to poll.
    pub async fn outbox_next(&mut self) -> Result<Option<DateTime<Utc>>> {
        Ok(self
            .one::<(Option<DateTime<Utc>>,)>(
                "SELECT MIN(CASE WHEN lease_until IS NOT NULL AND lease_until > next_at THEN lease_until ELSE next_at END)
                 FROM outbox WHERE state IN ('owed', 'sending')",
                &[],
            )
            .await?
            .0)
    }
}
