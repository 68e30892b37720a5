//! What is owed to whom. A row is committed with the event it tells of, and delivered afterwards.

use chrono::{DateTime, TimeDelta, Utc};
use sqlx::FromRow;

use super::queue::never;
use super::{Param, Result, Tx, guarded};
use crate::domain::hearing::AlertKind;
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
    pub kind: AlertKind,
    pub person_id: PersonId,
    pub person_name: String,
    pub email: String,
    /// BCP 47 tag of the language the person reads; none when they never chose.
    pub language: Option<String>,
    /// None for what is about no machine, such as a digest.
    pub machine_id: Option<MachineId>,
    /// None for what is about the whole site.
    pub yard_id: Option<YardId>,
    /// The event this person is asked to acknowledge.
    pub asks_for: Option<String>,
    pub acknowledged_at: Option<DateTime<Utc>>,
    pub acknowledged_by: Option<String>,
    /// JSON of [`crate::domain::alert::Alert`].
    pub alert: String,
    pub state: OutboxState,
    pub attempts: i64,
    pub next_at: DateTime<Utc>,
    pub last_answer: String,
    pub created_at: DateTime<Utc>,
    pub delivered_at: Option<DateTime<Utc>>,
}

/// One event, as it is kept with each of its rows.
#[derive(Clone, Debug)]
pub struct NewAlert {
    pub event_key: String,
    pub kind: AlertKind,
    pub machine: Option<MachineId>,
    pub yard: Option<YardId>,
    /// JSON.
    pub alert: String,
    pub at: DateTime<Utc>,
}

/// One person it is told to.
#[derive(Clone, Debug)]
pub struct AlertTo {
    pub id: AlertId,
    pub person: PersonId,
    pub asks_for: Option<String>,
    /// Later than now where quiet hours hold it back.
    pub next_at: DateTime<Utc>,
}

macro_rules! outbox {
    ($condition:literal) => {
        concat!(
            "SELECT o.id, o.kind, o.person_id, p.name AS person_name, p.email, p.language, o.machine_id, o.yard_id, o.asks_for,
                k.acknowledged_at, kp.name AS acknowledged_by, o.alert, o.state, o.attempts,
                o.next_at, o.last_answer, o.created_at, o.delivered_at
             FROM outbox o JOIN person p ON p.id = o.person_id
             LEFT JOIN acknowledgement k ON k.event_key = o.asks_for LEFT JOIN person kp ON kp.id = k.acknowledged_by ",
            $condition
        )
    };
}

/// More than two servers' clocks are apart.
pub(super) const CLOCKS_DIFFER: TimeDelta = TimeDelta::minutes(5);

/// `$1` is now, `$2` past any lease that is taken now, `$3` past what may be now by another server's clock. What was tried
/// has a time that was reckoned by then, so that it is not tried without a pause.
macro_rules! due {
    ($before:literal $after:literal) => {
        concat!(
            $before,
            "state IN ('owed', 'sending') AND (next_at <= $1 OR (created_at > $3 AND next_at >= created_at))
               AND (lease_until IS NULL OR lease_until <= $1 OR lease_until > $2)",
            $after
        )
    };
}

impl Tx {
    pub async fn insert_outbox(&mut self, new: &NewAlert, to: &[AlertTo]) -> Result<()> {
        let state = OutboxState::Owed;
        let rows: Vec<Vec<&dyn Param>> = to
            .iter()
            .map(|t| {
                vec![
                    &t.id as &dyn Param,
                    &new.event_key,
                    &new.kind,
                    &t.person,
                    &new.machine,
                    &new.yard,
                    &t.asks_for,
                    &new.alert,
                    &state,
                    &t.next_at,
                    &new.at,
                ]
            })
            .collect();
        self.insert_rows(
            "outbox (id, event_key, kind, person_id, machine_id, yard_id, asks_for, alert, state, next_at, created_at)",
            &rows,
        )
        .await
    }

    /// Whether anything is due. See [`Tx::lease_outbox`] for what is.
    pub async fn outbox_is_due(&mut self, now: DateTime<Utc>, lease_until: DateTime<Utc>) -> Result<bool> {
        let (due,): (bool,) = self
            .one(
                due!("SELECT EXISTS (SELECT 1 FROM outbox WHERE " ")"),
                &[&now, &(lease_until + CLOCKS_DIFFER), &(now + CLOCKS_DIFFER)],
            )
            .await?;
        Ok(due)
    }

    /// Leases rows that are due: whoever takes them sends them, unless the lease runs out first. What is due is asked twice:
    /// on PostgreSQL a row that another server held is looked at again by the outer question only, and may be delivered by then.
    /// A clock that was ahead and was put right holds nothing back: a lease that nobody can have taken, and an alert of a time
    /// to come, count as due.
    pub async fn lease_outbox(
        &mut self,
        now: DateTime<Utc>,
        lease_until: DateTime<Utc>,
        most: i64,
    ) -> Result<Vec<AlertId>> {
        let rows: Vec<(AlertId,)> = self
            .all(
                due!(
                    "UPDATE outbox SET state = 'sending', lease_until = $4, attempts = attempts + 1
                     WHERE id IN (SELECT id FROM outbox WHERE " " ORDER BY next_at LIMIT $5)
                       AND state IN ('owed', 'sending') AND (next_at <= $1 OR (created_at > $3 AND next_at >= created_at))
                       AND (lease_until IS NULL OR lease_until <= $1 OR lease_until > $2)
                     RETURNING id"
                ),
                &[&now, &(lease_until + CLOCKS_DIFFER), &(now + CLOCKS_DIFFER), &lease_until, &most],
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

    /// Newest first, of machines in the viewer's yards; from the newest, or those before one of them.
    pub async fn outbox(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        before: Option<(DateTime<Utc>, AlertId)>,
        most: i64,
    ) -> Result<Vec<OutboxRow>> {
        let (at, id) = before.unwrap_or_else(newest);
        self.all(
            outbox!(
                "LEFT JOIN machine m ON m.id = o.machine_id
                 WHERE ($2 OR COALESCE(m.yard_id, o.yard_id) IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                   AND (o.created_at, o.id) < ($3, $4)
                 ORDER BY o.created_at DESC, o.id DESC LIMIT $5"
            ),
            &[&viewer, &all_yards, &at, &id, &most],
        )
        .await
    }

    /// Of those only what was given up on, or tried in vain so far.
    pub async fn not_delivered(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        before: Option<(DateTime<Utc>, AlertId)>,
        most: i64,
    ) -> Result<Vec<OutboxRow>> {
        let (at, id) = before.unwrap_or_else(newest);
        self.all(
            outbox!(
                "LEFT JOIN machine m ON m.id = o.machine_id
                 WHERE ($2 OR COALESCE(m.yard_id, o.yard_id) IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                   AND (o.created_at, o.id) < ($3, $4)
                   AND (o.state = 'failed' OR o.state IN ('owed', 'sending') AND o.attempts > 0 AND o.last_answer <> '')
                 ORDER BY o.created_at DESC, o.id DESC LIMIT $5"
            ),
            &[&viewer, &all_yards, &at, &id, &most],
        )
        .await
    }

    pub async fn count_not_delivered(&mut self, viewer: PersonId, all_yards: bool) -> Result<i64> {
        let (count,): (i64,) = self
            .one(
                // Each half in the words of its index; together they would be looked for in all that was ever sent.
                "SELECT COUNT(*)
                 FROM (SELECT machine_id, yard_id FROM outbox WHERE state = 'failed'
                       UNION ALL
                       SELECT machine_id, yard_id FROM outbox
                       WHERE state IN ('owed', 'sending') AND attempts > 0 AND last_answer <> '') o
                 LEFT JOIN machine m ON m.id = o.machine_id
                 WHERE ($2 OR COALESCE(m.yard_id, o.yard_id) IN (SELECT yard_id FROM person_yard WHERE person_id = $1))",
                &[&viewer, &all_yards],
            )
            .await?;
        Ok(count)
    }

    /// Who has been told, or will be, of one event and of what belongs to it.
    pub async fn outbox_of_event(&mut self, event_key: &str, and: &str) -> Result<Vec<OutboxRow>> {
        self.all(
            outbox!("WHERE o.event_key IN ($1, $2) ORDER BY p.name, o.created_at, o.id"),
            &[&event_key.to_owned(), &and.to_owned()],
        )
        .await
    }

    /// What was told of an event, with its facts.
    pub async fn first_of_event(&mut self, event_key: &str) -> Result<Option<OutboxRow>> {
        self.maybe(outbox!("WHERE o.event_key = $1 ORDER BY o.id LIMIT 1"), &[&event_key.to_owned()]).await
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

/// Before it is everything.
fn newest() -> (DateTime<Utc>, AlertId) {
    (never(), AlertId(uuid::Uuid::max()))
}
