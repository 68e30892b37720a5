//! What tells whether the database is well: that it takes a write, knows every step of `migrations`, and what waits in it.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::tx::MIGRATOR;
use super::{Result, Tx};

/// How much there is of what somebody should look at.
#[derive(FromRow, Clone, Debug, Default)]
pub struct Amounts {
    pub open_holds: i64,
    pub open_orders: i64,
    /// Alerts that are not yet delivered and not given up.
    pub alerts_waiting: i64,
    pub alerts_failed: i64,
    pub oldest_alert: Option<DateTime<Utc>>,
}

impl Tx {
    /// A row of one's own, written anew.
    pub async fn write_probe(&mut self, at: DateTime<Utc>) -> Result<()> {
        self.set_setting("ready-probe", &at.to_rfc3339()).await
    }

    /// Steps of `migrations` that this program knows and the database has not taken, and the other way round: a server of
    /// another version stands on the same database.
    pub async fn migrations_apart(&mut self) -> Result<Vec<i64>> {
        let rows: Vec<(i64,)> = self.all("SELECT version FROM _sqlx_migrations WHERE success", &[]).await?;
        let taken: Vec<i64> = rows.into_iter().map(|r| r.0).collect();
        let known: Vec<i64> = MIGRATOR.iter().map(|m| m.version).collect();
        let missing = known.iter().filter(|v| !taken.contains(v));
        Ok(missing.chain(taken.iter().filter(|v| !known.contains(v))).copied().collect())
    }

    /// How many alerts are owed, and since when the oldest is.
    pub async fn alerts_waiting(&mut self) -> Result<(i64, Option<DateTime<Utc>>)> {
        self.one("SELECT COUNT(*), MIN(created_at) FROM outbox WHERE state IN ('owed', 'sending')", &[]).await
    }

    pub async fn amounts(&mut self) -> Result<Amounts> {
        self.one(
            "SELECT (SELECT COUNT(*) FROM hold WHERE lifted_at IS NULL) AS open_holds,
                    (SELECT COUNT(*) FROM work_order WHERE state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')) AS open_orders,
                    (SELECT COUNT(*) FROM outbox WHERE state = 'failed') AS alerts_failed,
                    o.waiting AS alerts_waiting, o.oldest AS oldest_alert
             FROM (SELECT COUNT(*) AS waiting, MIN(created_at) AS oldest FROM outbox WHERE state IN ('owed', 'sending')) o",
            &[],
        )
        .await
    }
}
