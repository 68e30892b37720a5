//! Whether the database is well, and how much waits in it: for whoever watches the server.

use chrono::TimeDelta;

use super::{Result, Workshop};
pub use crate::storage::Amounts;

#[derive(Clone, Debug)]
pub struct Readiness {
    /// Versions of migrations that only the program or only the database knows.
    pub migrations_apart: Vec<i64>,
    pub alerts_waiting: i64,
    /// Since the oldest of them is owed.
    pub oldest_alert: Option<TimeDelta>,
}

/// Writes a row of its own and commits it: a database that only reads is not ready.
pub async fn readiness(workshop: &Workshop) -> Result<Readiness> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    tx.write_probe(now).await?;
    let migrations_apart = tx.migrations_apart().await?;
    let (alerts_waiting, oldest) = tx.alerts_waiting().await?;
    tx.commit().await?;
    Ok(Readiness { migrations_apart, alerts_waiting, oldest_alert: oldest.map(|at| now - at) })
}

pub async fn amounts(workshop: &Workshop) -> Result<Amounts> {
    Ok(workshop.db.read().await?.amounts().await?)
}
