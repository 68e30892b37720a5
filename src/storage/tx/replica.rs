//! A PostgreSQL that follows the one that is written to (streaming replication). Numbers and exports are read from it, so that
//! those who sum years do not slow down those who check machines. What decides anything never is, and neither is what
//! somebody looks at to see what they just did.
//!
//! How far behind it is says a moment that the servers write now and then: the last one that came through. When it is too
//! far behind, or gone, the first is read instead.

use std::str::FromStr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use chrono::{DateTime, TimeDelta, Utc};
use sqlx::PgPool;
use sqlx::postgres::PgConnectOptions;

use super::super::StorageError;
use super::{Conn, Db, Result, Tx, postgres_pool};

/// Further behind than this, it is not read.
const MOST_BEHIND: TimeDelta = TimeDelta::seconds(60);
/// Nearer than this, nobody needs to be told that it is behind.
const NEAR: TimeDelta = TimeDelta::seconds(5);
/// Nobody waits longer for one that may be gone,
const PATIENCE: Duration = Duration::from_secs(2);
/// and it is not asked again sooner.
const ASKED_AGAIN: Duration = Duration::from_secs(10);
const CONNECTIONS: u32 = 4;

const BEAT: &str = "heartbeat";

#[derive(Clone)]
pub struct Replica {
    pool: PgPool,
    options: Box<PgConnectOptions>,
    state: Arc<State>,
}

#[derive(Default)]
struct State {
    /// It was said in the log that the first is read instead.
    said: AtomicBool,
    gone: Mutex<Option<Instant>>,
}

impl Replica {
    fn new(options: PgConnectOptions, state: Arc<State>) -> Self {
        // One that is gone keeps no server from starting.
        let pool = postgres_pool(CONNECTIONS).acquire_timeout(PATIENCE).connect_lazy_with(options.clone());
        Self { pool, options: Box::new(options), state }
    }

    /// For another thread (see [`Db::for_one_of`]).
    pub fn again(&self) -> Self {
        Self::new((*self.options).clone(), self.state.clone())
    }

    pub async fn close(&self) {
        self.pool.close().await;
    }

    fn rests(&self) -> bool {
        let gone = self.state.gone.lock().unwrap_or_else(PoisonError::into_inner);
        gone.is_some_and(|since| since.elapsed() < ASKED_AGAIN)
    }

    fn not_used(&self, why: &str) {
        if !self.state.said.swap(true, Ordering::Relaxed) {
            tracing::warn!(
                why,
                "the replica is not read: numbers come from the first database until it is well"
            );
        }
    }

    fn used(&self) {
        if self.state.said.swap(false, Ordering::Relaxed) {
            tracing::info!("the replica is read again");
        }
    }
}

impl Db {
    /// The same database, of which numbers are read elsewhere.
    pub fn with_replica(self, url: &str) -> Result<Self> {
        if self.is_sqlite() {
            return Err(StorageError::NotOnThisEngine(
                "a replica follows a PostgreSQL database: with SQLite there is none, leave the setting out",
            ));
        }
        let replica = Replica::new(PgConnectOptions::from_str(url)?, Arc::default());
        Ok(Self { replica: Some(replica), ..self })
    }

    pub const fn has_replica(&self) -> bool {
        self.replica.is_some()
    }

    /// A connection for reading what may be a little while ago; and of when it is, where that is worth saying.
    pub async fn read_behind(&self, now: DateTime<Utc>) -> Result<(Tx, Option<DateTime<Utc>>)> {
        self.behind(now, false).await
    }

    /// The same of one moment, however long the reading takes.
    pub async fn snapshot_behind(&self, now: DateTime<Utc>) -> Result<(Tx, Option<DateTime<Utc>>)> {
        self.behind(now, true).await
    }

    async fn behind(&self, now: DateTime<Utc>, snapshot: bool) -> Result<(Tx, Option<DateTime<Utc>>)> {
        self.step()?;
        if let Some(replica) = self.replica.as_ref().filter(|r| !r.rests()) {
            match self.on_replica(replica, snapshot).await {
                Ok((tx, Some(beat))) if now - beat <= MOST_BEHIND => {
                    replica.used();
                    return Ok((tx, (now - beat > NEAR).then_some(beat)));
                }
                Ok((_, Some(beat))) => replica.not_used(&format!("it is as of {}", beat.to_rfc3339())),
                Ok((_, None)) => replica.not_used("nothing that was written came through yet"),
                Err(e) => {
                    *replica.state.gone.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
                    replica.not_used(&format!("{e:?}"));
                }
            }
        }
        let tx = if snapshot { self.snapshot().await? } else { self.read().await? };
        Ok((tx, None))
    }

    async fn on_replica(&self, replica: &Replica, snapshot: bool) -> Result<(Tx, Option<DateTime<Utc>>)> {
        let conn = if snapshot {
            let mut tx = replica.pool.begin().await?;
            let once = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY";
            sqlx::query(once).execute(&mut *tx).await?;
            Conn::PostgresWrite(tx)
        } else {
            Conn::PostgresRead(replica.pool.acquire().await?)
        };
        let mut tx = self.tx(conn);
        let beat = tx.setting(BEAT).await?.and_then(|at| at.parse().ok());
        Ok((tx, beat))
    }
}

impl Tx {
    /// What is committed before this is there where this has come through.
    pub async fn beat(&mut self, at: DateTime<Utc>) -> Result<()> {
        self.set_setting(BEAT, &at.to_rfc3339()).await
    }
}
