//! SQLite lets one write at a time. Whoever writes holds the one connection; when others stand in line, their
//! transactions share one commit and so one wait for the disk. Nobody is told "done" before that commit.
//!
//! The first of a group begins a transaction, each further one a savepoint in it: one that fails is undone alone. What
//! begins a turn is sent with its first statement, and a savepoint is released by the next turn or by the commit, so that
//! whoever has nothing to ask in between sends all of its turn at once. A
//! member that is done stands in line again, behind those who were there already, and commits for all unless one of
//! them has. So a group is never larger than the line was, and whoever is alone commits at once.
//!
//! A member sees what the members before it have done, and that is not on the disk yet. One that commits is told with them;
//! one that is given up, for it was refused or had nothing left to do, is remembered, so that its answer can wait for theirs.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use sqlx::{Connection, SqliteConnection};
use tokio::sync::{Mutex, OwnedMutexGuard, oneshot};

use super::super::StorageError;
use super::commits::Commits;

#[cfg(test)]
mod tests;

type Result<T, E = StorageError> = std::result::Result<T, E>;

/// The connection that writes, and the line before it.
#[derive(Clone)]
pub struct Writer {
    group: Arc<Mutex<Group>>,
    told: Arc<Told>,
    commits: Commits,
}

/// What others may have been told that is not committed.
#[derive(Default)]
struct Told {
    /// A turn was given up after it had seen what waits for a commit: whoever took it may answer by that.
    seen_early: AtomicBool,
    /// How many commits failed: what was seen of them never was.
    lost: AtomicU64,
}

/// A turn with the connection, inside a transaction of one's own. Dropped without `commit`, it never was.
pub struct Writing {
    writer: Writer,
    /// `None` only while it is being settled or dropped.
    group: Option<OwnedMutexGuard<Group>>,
    /// What it begins with was sent.
    begun: bool,
}

struct Group {
    /// `None` once closed.
    connection: Option<SqliteConnection>,
    /// Members that are done and wait for the commit.
    done: Vec<oneshot::Sender<Result<()>>>,
    /// The savepoint of the last member that is done, not released yet.
    open: Option<Savepoint>,
    /// The savepoint of the turn that has begun; the first of a group has none.
    turn: Option<Savepoint>,
    /// A turn was given up and could not be undone yet.
    abandoned: bool,
    told: Arc<Told>,
}

/// They take turns: where the one that a turn begins with was never made, undoing it fails, and nobody else's is undone.
#[derive(Clone, Copy)]
enum Savepoint {
    One,
    Two,
}

impl Writer {
    pub fn new(connection: SqliteConnection) -> Self {
        let told: Arc<Told> = Arc::default();
        let group = Group {
            connection: Some(connection),
            done: Vec::new(),
            open: None,
            turn: None,
            abandoned: false,
            told: told.clone(),
        };
        Self { group: Arc::new(Mutex::new(group)), told, commits: Commits::default() }
    }

    /// The connection, and what a transaction of one's own begins with: to be sent first, after [`Writing::begins`].
    pub async fn turn(&self) -> Result<(Writing, &'static str)> {
        let mut group = self.group.clone().lock_owned().await;
        if group.abandoned {
            group.undo_one().await;
        }
        let (savepoint, first) = match (group.done.is_empty(), group.open) {
            (true, _) => (None, "BEGIN IMMEDIATE"),
            (false, None) => (Some(Savepoint::One), "SAVEPOINT one"),
            (false, Some(Savepoint::One)) => (Some(Savepoint::Two), "RELEASE one; SAVEPOINT two"),
            (false, Some(Savepoint::Two)) => (Some(Savepoint::One), "RELEASE two; SAVEPOINT one"),
        };
        group.turn = savepoint;
        Ok((Writing { writer: self.clone(), group: Some(group), begun: false }, first))
    }

    /// Runs one statement outside any transaction.
    pub async fn pragma(&self, sql: &'static str) -> Result<()> {
        let mut group = self.group.lock().await;
        group.commit().await;
        sqlx::raw_sql(sql).execute(group.connection()?).await?;
        Ok(())
    }

    pub fn commits(&self) -> &Commits {
        &self.commits
    }

    pub fn lost(&self) -> u64 {
        self.told.lost.load(Ordering::SeqCst)
    }

    /// Waits for the commit of what a turn that was given up has seen, if there was any.
    pub async fn settled(&self) -> Result<()> {
        if !self.told.seen_early.load(Ordering::SeqCst) {
            return Ok(());
        }
        let mut group = self.group.clone().lock_owned().await;
        if group.abandoned {
            group.undo_one().await;
        }
        group.commit().await;
        Ok(())
    }

    pub async fn close(&self) {
        let mut group = self.group.lock().await;
        if group.abandoned {
            group.undo_one().await;
        }
        group.commit().await;
        if let Some(connection) = group.connection.take() {
            // What was committed is on the disk; an error here changes nothing of it.
            let _ = connection.close().await;
        }
    }

    async fn settle(self, mut group: OwnedMutexGuard<Group>) -> Result<()> {
        let (tell, mut told) = oneshot::channel();
        group.done.push(tell);
        group.open = group.turn.take();
        group.abandoned = false;
        drop(group);
        tokio::select! {
            biased;
            answer = &mut told => return answer.unwrap_or_else(|_| Err(closed())),
            mut group = self.group.clone().lock_owned() => {
                if group.abandoned {
                    group.undo_one().await;
                }
                group.commit().await;
            }
        }
        told.await.unwrap_or_else(|_| Err(closed()))
    }
}

impl Writing {
    pub fn connection(&mut self) -> Result<&mut SqliteConnection> {
        self.group.as_mut().ok_or_else(closed)?.connection()
    }

    /// To be called before what it begins with is sent: the future that sends it may be dropped at any point.
    pub fn begins(&mut self) {
        self.begun = true;
        if let Some(group) = &mut self.group {
            group.abandoned = true;
        }
    }

    /// Returns once it is on the disk. Goes on to its end even when whoever waits for it goes away.
    pub async fn commit(mut self) -> Result<()> {
        let group = self.group.take().ok_or_else(closed)?;
        let writer = self.writer.clone();
        let under_way = writer.commits.begin();
        let settling = async move {
            let settled = writer.settle(group).await;
            drop(under_way);
            settled
        };
        tokio::spawn(settling).await.unwrap_or_else(|_| Err(closed()))
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        let Some(mut group) = self.group.take() else { return };
        // It has seen nothing, and there is nothing to undo.
        if !self.begun {
            return;
        }
        if !group.done.is_empty() {
            group.told.seen_early.store(true, Ordering::SeqCst);
        }
        // Undone at once, so that other processes are not kept out. Without a runtime the next in line does it.
        if let Ok(runtime) = tokio::runtime::Handle::try_current() {
            runtime.spawn(async move { group.undo_one().await });
        }
    }
}

impl Group {
    fn connection(&mut self) -> Result<&mut SqliteConnection> {
        self.connection.as_mut().ok_or_else(closed)
    }

    /// Undoes the turn that was given up, and only that; everything when the engine has given up the whole.
    async fn undo_one(&mut self) {
        let undo = match self.turn.take() {
            None => "ROLLBACK",
            Some(Savepoint::One) => "ROLLBACK TO one; RELEASE one",
            Some(Savepoint::Two) => "ROLLBACK TO two; RELEASE two",
        };
        // Its turn began by releasing the one before.
        self.open = None;
        let undone = match self.connection() {
            Ok(connection) => sqlx::raw_sql(undo).execute(connection).await.map_err(StorageError::from),
            Err(e) => Err(e),
        };
        // Alone, an error means that there was nothing to undo: it had not begun.
        if let Err(e) = undone
            && !self.done.is_empty()
        {
            self.fail(&e).await;
        }
        self.abandoned = false;
    }

    /// Commits what the members have done, and tells them.
    async fn commit(&mut self) {
        if self.done.is_empty() {
            return;
        }
        let committed = match self.connection() {
            Ok(connection) => sqlx::query("COMMIT").execute(connection).await.map_err(StorageError::from),
            Err(e) => Err(e),
        };
        match committed {
            Ok(_) => {
                self.open = None;
                self.told.seen_early.store(false, Ordering::SeqCst);
                for member in self.done.drain(..) {
                    // A member that went away needs no answer.
                    let _ = member.send(Ok(()));
                }
            }
            Err(e) => self.fail(&e).await,
        }
    }

    async fn fail(&mut self, why: &StorageError) {
        if let Ok(connection) = self.connection() {
            // Fails when the engine has rolled back by itself, which is the same.
            let _ = sqlx::query("ROLLBACK").execute(connection).await;
        }
        self.open = None;
        self.told.lost.fetch_add(1, Ordering::SeqCst);
        self.told.seen_early.store(false, Ordering::SeqCst);
        for member in self.done.drain(..) {
            let _ = member.send(Err(why.for_another()));
        }
    }
}

fn closed() -> StorageError {
    StorageError::Unavailable(sqlx::Error::PoolClosed)
}
