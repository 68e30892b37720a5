//! What is committed stands in SQLite's log first and is taken into the file once in a while. A thread of its own does that beside
//! the writing: done by whoever commits, as SQLite would have it, everybody in line waits for it.
//!
//! The log can only begin anew when all of it is in the file, and while others go on writing that never is. So once it has grown to
//! twice its measure, the little that came in meanwhile is taken over with the line held up.

use std::sync::Weak;

use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tokio::sync::{Mutex, mpsc, oneshot};

use super::Group;

/// Looking costs a question; these may have put some hundred pages into the log.
const TRANSACTIONS_BETWEEN_LOOKS: usize = 32;

/// Told of what is committed. The thread ends when this is dropped.
pub(super) struct Log {
    since: usize,
    look: mpsc::Sender<()>,
    ended: oneshot::Receiver<()>,
}

/// Pages in the log, and how many of them are in the file already.
#[derive(sqlx::FromRow)]
struct Pages {
    log: i64,
    checkpointed: i64,
}

impl Log {
    /// `measure` is in pages. The file is only opened when there is something to do.
    pub fn kept(
        options: SqliteConnectOptions,
        measure: i64,
        group: Weak<Mutex<Group>>,
    ) -> std::io::Result<Self> {
        let (look, mut looking) = mpsc::channel(1);
        let (end, ended) = oneshot::channel::<()>();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build()?;
        let keeping = move || {
            runtime.block_on(async {
                let mut connection = None;
                while looking.recv().await.is_some() {
                    // Where it cannot be done the log grows, and at its worst size whoever commits does it.
                    if let Err(why) = look_after(&options, &mut connection, measure, &group).await {
                        tracing::warn!(error = ?why, "what is committed is not taken into the file yet");
                    }
                }
                if let Some(connection) = connection {
                    // It has written nothing of its own.
                    let _ = connection.close().await;
                }
            });
            drop(end);
        };
        std::thread::Builder::new().name("chock-log".to_owned()).spawn(keeping)?;
        Ok(Self { since: 0, look, ended })
    }

    pub fn committed(&mut self, transactions: usize) {
        self.since += transactions;
        if self.since >= TRANSACTIONS_BETWEEN_LOOKS {
            self.since = 0;
            // Whoever is looking already looks again.
            let _ = self.look.try_send(());
        }
    }

    /// Returns once the file is closed.
    pub async fn close(self) {
        drop(self.look);
        let _ = self.ended.await;
    }
}

async fn look_after(
    options: &SqliteConnectOptions,
    connection: &mut Option<SqliteConnection>,
    measure: i64,
    group: &Weak<Mutex<Group>>,
) -> sqlx::Result<()> {
    let connection = match connection {
        Some(connection) => connection,
        none => none.insert(options.connect().await?),
    };
    let Pages { log, checkpointed } = asked(connection, "PRAGMA wal_checkpoint(NOOP)").await?;
    if log - checkpointed < measure {
        return Ok(());
    }
    let Pages { log, .. } = asked(connection, "PRAGMA wal_checkpoint(PASSIVE)").await?;
    if log < 2 * measure {
        return Ok(());
    }
    let Some(group) = group.upgrade() else { return Ok(()) };
    let mut group = group.lock().await;
    if group.abandoned {
        group.undo_one().await;
    }
    group.commit().await;
    asked(connection, "PRAGMA wal_checkpoint(PASSIVE)").await?;
    Ok(())
}

async fn asked(connection: &mut SqliteConnection, pragma: &'static str) -> sqlx::Result<Pages> {
    sqlx::query_as(pragma).fetch_one(connection).await
}
