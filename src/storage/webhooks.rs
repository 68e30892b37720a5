//! Addresses of other programs, and what each is owed.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::outbox::CLOCKS_DIFFER;
use super::{OutboxState, Param, Result, Tx, guarded};
use crate::domain::ids::{PersonId, WebhookId, WebhookMessageId, YardId};

#[derive(Clone, Debug, FromRow)]
pub struct WebhookRow {
    pub id: WebhookId,
    /// None for every yard.
    pub yard_id: Option<YardId>,
    pub yard_name: String,
    pub url: String,
    pub about: String,
    /// JSON; everything when it is an empty list.
    pub kinds: String,
    pub secret: String,
    pub old_secret: Option<String>,
    pub old_until: Option<DateTime<Utc>>,
    pub failing_since: Option<DateTime<Utc>>,
    pub disabled_at: Option<DateTime<Utc>>,
    pub disabled_why: String,
    pub created_at: DateTime<Utc>,
    pub not_delivered: i64,
}

#[derive(Clone, Debug, FromRow)]
pub struct WebhookMessageRow {
    pub id: WebhookMessageId,
    pub webhook_id: WebhookId,
    /// The `type` of the message.
    pub kind: String,
    pub body: String,
    pub state: OutboxState,
    pub attempts: i64,
    pub next_at: DateTime<Utc>,
    pub last_answer: String,
    pub created_at: DateTime<Utc>,
    pub delivered_at: Option<DateTime<Utc>>,
}

macro_rules! webhook {
    ($condition:literal) => {
        concat!(
            "SELECT w.id, w.yard_id, COALESCE(y.name, '') AS yard_name, w.url, w.about, w.kinds, w.secret, w.old_secret,
                w.old_until, w.failing_since, w.disabled_at, w.disabled_why, w.created_at,
                (SELECT COUNT(*) FROM webhook_message m WHERE m.webhook_id = w.id
                   AND (m.state = 'failed' OR (m.state = 'owed' AND m.attempts > 0))) AS not_delivered
             FROM webhook w LEFT JOIN yard y ON y.id = w.yard_id WHERE w.removed_at IS NULL ",
            $condition
        )
    };
}

macro_rules! message {
    ($condition:literal) => {
        concat!(
            "SELECT id, webhook_id, kind, body, state, attempts, next_at, last_answer, created_at, delivered_at
             FROM webhook_message ",
            $condition
        )
    };
}

/// `$1` is now, `$2` past any lease that is taken now, `$3` past what may be now by another server's clock.
macro_rules! due {
    ($before:literal $after:literal) => {
        concat!(
            $before,
            "FROM webhook_message m JOIN webhook w ON w.id = m.webhook_id
             WHERE m.state IN ('owed', 'sending') AND w.disabled_at IS NULL AND w.removed_at IS NULL
               AND (m.next_at <= $1 OR (m.created_at > $3 AND m.next_at >= m.created_at))
               AND (m.lease_until IS NULL OR m.lease_until <= $1 OR m.lease_until > $2)",
            $after
        )
    };
}

impl Tx {
    pub async fn webhooks(&mut self) -> Result<Vec<WebhookRow>> {
        self.all(webhook!("ORDER BY w.created_at, w.id"), &[]).await
    }

    pub async fn webhook(&mut self, id: WebhookId) -> Result<Option<WebhookRow>> {
        self.maybe(webhook!("AND w.id = $1"), &[&id]).await
    }

    /// Those that want to know of a yard, and of what kinds.
    pub async fn webhooks_for(&mut self, yard: Option<YardId>) -> Result<Vec<(WebhookId, String)>> {
        self.all(
            "SELECT id, kinds FROM webhook WHERE disabled_at IS NULL AND removed_at IS NULL
               AND (yard_id IS NULL OR yard_id = $1)",
            &[&yard],
        )
        .await
    }

    #[expect(clippy::too_many_arguments, reason = "one argument a column")]
    pub async fn insert_webhook(
        &mut self,
        id: WebhookId,
        yard: Option<YardId>,
        url: &str,
        about: &str,
        kinds: &str,
        secret: &str,
        by: PersonId,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO webhook (id, yard_id, url, about, kinds, secret, created_by, created_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            &[
                &id,
                &yard,
                &url.to_owned(),
                &about.to_owned(),
                &kinds.to_owned(),
                &secret.to_owned(),
                &by,
                &now,
            ],
        )
        .await?;
        Ok(())
    }

    /// The secret it has goes on signing beside the new one until `old_until`.
    pub async fn rotate_webhook(
        &mut self,
        id: WebhookId,
        secret: &str,
        old_until: DateTime<Utc>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE webhook SET old_secret = secret, old_until = $3, secret = $2 WHERE id = $1 AND removed_at IS NULL",
                &[&id, &secret.to_owned(), &old_until],
            )
            .await?,
        )
    }

    pub async fn webhook_failing(&mut self, id: WebhookId, since: Option<DateTime<Utc>>) -> Result<()> {
        self.run("UPDATE webhook SET failing_since = $2 WHERE id = $1", &[&id, &since]).await?;
        Ok(())
    }

    /// Off with a time and a reason; on again without.
    pub async fn switch_webhook(
        &mut self,
        id: WebhookId,
        off: Option<DateTime<Utc>>,
        why: &str,
    ) -> Result<()> {
        self.run(
            "UPDATE webhook SET disabled_at = $2, disabled_why = $3, failing_since = NULL WHERE id = $1",
            &[&id, &off, &why.to_owned()],
        )
        .await?;
        Ok(())
    }

    /// What was sent stays on record; the secrets do not.
    pub async fn remove_webhook(&mut self, id: WebhookId, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "UPDATE webhook SET removed_at = $2, secret = '', old_secret = NULL WHERE id = $1",
            &[&id, &now],
        )
        .await?;
        Ok(())
    }

    pub async fn insert_webhook_messages(
        &mut self,
        to: &[(WebhookMessageId, WebhookId)],
        event_key: &str,
        kind: &str,
        body: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let (event_key, kind, body) = (event_key.to_owned(), kind.to_owned(), body.to_owned());
        let state = OutboxState::Owed;
        let rows: Vec<Vec<&dyn Param>> = to
            .iter()
            .map(|(id, hook)| vec![id as &dyn Param, hook, &event_key, &kind, &body, &state, &now, &now])
            .collect();
        self.insert_rows(
            "webhook_message (id, webhook_id, event_key, kind, body, state, next_at, created_at)",
            &rows,
        )
        .await
    }

    pub async fn webhook_messages(&mut self, hook: WebhookId, most: i64) -> Result<Vec<WebhookMessageRow>> {
        self.all(
            message!("WHERE webhook_id = $1 ORDER BY created_at DESC, id DESC LIMIT $2"),
            &[&hook, &most],
        )
        .await
    }

    pub async fn webhook_message(&mut self, id: WebhookMessageId) -> Result<Option<WebhookMessageRow>> {
        self.maybe(message!("WHERE id = $1"), &[&id]).await
    }

    /// Leases messages that are due, to addresses that are switched on. A clock that was put right holds none back, as with
    /// mails (`storage/outbox.rs`).
    pub async fn lease_webhook_messages(
        &mut self,
        now: DateTime<Utc>,
        lease_until: DateTime<Utc>,
        most: i64,
    ) -> Result<Vec<WebhookMessageId>> {
        let rows: Vec<(WebhookMessageId,)> = self
            .all(
                due!(
                    "UPDATE webhook_message SET state = 'sending', lease_until = $4, attempts = attempts + 1
                     WHERE id IN (SELECT m.id " " ORDER BY m.next_at LIMIT $5)
                       AND state IN ('owed', 'sending') AND (next_at <= $1 OR (created_at > $3 AND next_at >= created_at))
                       AND (lease_until IS NULL OR lease_until <= $1 OR lease_until > $2)
                     RETURNING id"
                ),
                &[&now, &(lease_until + CLOCKS_DIFFER), &(now + CLOCKS_DIFFER), &lease_until, &most],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    /// Whether any of them is due.
    pub async fn webhook_message_is_due(
        &mut self,
        now: DateTime<Utc>,
        lease_until: DateTime<Utc>,
    ) -> Result<bool> {
        let (due,): (bool,) = self
            .one(
                due!("SELECT EXISTS (SELECT 1 " ")"),
                &[&now, &(lease_until + CLOCKS_DIFFER), &(now + CLOCKS_DIFFER)],
            )
            .await?;
        Ok(due)
    }

    pub async fn webhook_message_delivered(
        &mut self,
        id: WebhookMessageId,
        answer: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "UPDATE webhook_message SET state = 'delivered', lease_until = NULL, last_answer = $2, delivered_at = $3
             WHERE id = $1",
            &[&id, &answer.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    pub async fn webhook_message_not_delivered(
        &mut self,
        id: WebhookMessageId,
        answer: &str,
        next_at: Option<DateTime<Utc>>,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let state = if next_at.is_some() { OutboxState::Owed } else { OutboxState::Failed };
        self.run(
            "UPDATE webhook_message SET state = $2, lease_until = NULL, last_answer = $3, next_at = $4 WHERE id = $1",
            &[&id, &state, &answer.to_owned(), &next_at.unwrap_or(now)],
        )
        .await?;
        Ok(())
    }

    pub async fn resend_webhook_message(&mut self, id: WebhookMessageId, now: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE webhook_message SET state = 'owed', lease_until = NULL, next_at = $2
                 WHERE id = $1 AND state <> 'sending'",
                &[&id, &now],
            )
            .await?,
        )
    }
}
