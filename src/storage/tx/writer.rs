//! SQLite lets one write at a time. Whoever writes holds the one connection; when others stand in line, their
//! transactions share one commit and so one wait for the disk. Nobody is told "done" before that commit.
//!
//! The first of a group begins a transaction, each further one a savepoint in it: one that fails is undone alone. What
//! begins a turn is sent with its first statement, and a savepoint is released by the next turn or by the commit. A
//! member that is done stands in line again, behind those who were there already, and commits for all unless one of
//! them has. So a group is never larger than the line was, and whoever is alone commits at once. Whoever has nothing to ask
//! takes no turn of its own but hands in all of it (see [`parcels`]).
//!
//! A member sees what the members before it have done, and that is not on the disk yet. One that commits is told with them;
//! one that is given up, for it was refused or had nothing left to do, is remembered, so that its answer can wait for theirs.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{Connection, SqliteConnection};
use tokio::sync::{Mutex, OwnedMutexGuard, oneshot};

use super::super::StorageError;
use super::commits::{Commits, UnderWay};
use super::together::Together;
use log::Log;
use parcels::Parcels;

mod log;
mod parcels;
#[cfg(test)]
mod tests;

type Result<T, E = StorageError> = std::result::Result<T, E>;

/// The connection that writes, and the line before it.
#[derive(Clone)]
pub struct Writer {
    group: Arc<Mutex<Group>>,
    told: Arc<Told>,
    commits: Commits,
    parcels: Parcels,
}

/// What is done when it is on the disk, also when whoever asked for it has gone away.
pub type Then = Box<dyn FnOnce() + Send>;

/// What others may have been told that is not committed.
#[derive(Default)]
struct Told {
    /// A turn was given up after it had seen what waits for a commit: whoever took it may answer by that.
    seen_early: AtomicBool,
    /// How many commits failed: what was seen of them never was.
    lost: AtomicU64,
}

/// A transaction of one's own. It takes its turn with the connection when it has something to ask. Dropped without `commit`, it
/// never was.
pub struct Writing {
    writer: Writer,
    /// From its turn's beginning on.
    group: Option<OwnedMutexGuard<Group>>,
}

struct Group {
    /// `None` once closed.
    connection: Option<SqliteConnection>,
    /// Members that are done and wait for the commit.
    done: Vec<Member>,
    /// The savepoint of the last member that is done, not released yet.
    open: Option<Savepoint>,
    /// The savepoint of the turn that has begun; the first of a group has none.
    turn: Option<Savepoint>,
    /// A turn was given up and could not be undone yet.
    abandoned: bool,
    told: Arc<Told>,
    /// `None` once closed.
    log: Option<Log>,
}

struct Member {
    tell: oneshot::Sender<Result<()>>,
    then: Then,
    under_way: UnderWay,
}

/// They take turns: where the one that a turn begins with was never made, undoing it fails, and nobody else's is undone.
#[derive(Clone, Copy)]
enum Savepoint {
    One,
    Two,
}

impl Writer {
    /// What is committed is taken into the file from `log_pages` pages on, over a connection that `options` make.
    pub async fn new(
        connection: SqliteConnection,
        options: SqliteConnectOptions,
        log_pages: u16,
    ) -> Result<Self> {
        let told: Arc<Told> = Arc::default();
        let group = Group {
            connection: Some(connection),
            done: Vec::new(),
            open: None,
            turn: None,
            abandoned: false,
            told: told.clone(),
            log: None,
        };
        let group = Arc::new(Mutex::new(group));
        let no_thread = |e| StorageError::Unavailable(sqlx::Error::Io(e));
        let log = Log::kept(options, log_pages.into(), Arc::downgrade(&group)).map_err(no_thread)?;
        group.lock().await.log = Some(log);
        let parcels = Parcels::served(group.clone()).map_err(no_thread)?;
        Ok(Self { group, told, commits: Commits::default(), parcels })
    }

    pub fn writing(&self) -> Writing {
        Writing { writer: self.clone(), group: None }
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
        let (log, connection) = (group.log.take(), group.connection.take());
        // Whoever looks after the log may be in line for it.
        drop(group);
        if let Some(log) = log {
            log.close().await;
        }
        // The last to close takes the whole log into the file.
        if let Some(connection) = connection {
            // What was committed is on the disk; an error here changes nothing of it.
            let _ = connection.close().await;
        }
    }

    async fn settle(
        self,
        mut group: OwnedMutexGuard<Group>,
        member: Member,
        mut told: Settled,
    ) -> Result<()> {
        group.done.push(member);
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

type Settled = oneshot::Receiver<Result<()>>;

impl Writing {
    /// Takes its turn unless it has: answers what it begins with, which is to be sent first, and at once.
    pub async fn begin(&mut self) -> Result<Option<&'static str>> {
        if self.group.is_some() {
            return Ok(None);
        }
        let mut group = self.writer.group.clone().lock_owned().await;
        if group.abandoned {
            group.undo_one().await;
        }
        let first = group.next_turn();
        self.group = Some(group);
        Ok(Some(first))
    }

    pub const fn has_begun(&self) -> bool {
        self.group.is_some()
    }

    pub fn connection(&mut self) -> Result<&mut SqliteConnection> {
        self.group.as_mut().ok_or_else(closed)?.connection()
    }

    /// Returns once it is on the disk. Goes on to its end even when whoever waits for it goes away.
    pub async fn commit(mut self, then: Then) -> Result<()> {
        let group = self.group.take().ok_or_else(closed)?;
        let writer = self.writer.clone();
        let (tell, told) = oneshot::channel();
        let member = Member { tell, then, under_way: writer.commits.begin() };
        tokio::spawn(writer.settle(group, member, told)).await.unwrap_or_else(|_| Err(closed()))
    }

    /// The same of a transaction that has taken no turn: `whole` is all of it.
    pub async fn hand_in(self, whole: Together, then: Then) -> Result<()> {
        let (tell, told) = oneshot::channel();
        let member = Member { tell, then, under_way: self.writer.commits.begin() };
        self.writer.parcels.hand_in(whole, member)?;
        told.await.unwrap_or_else(|_| Err(closed()))
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        // Without a turn it has seen nothing, and there is nothing to undo.
        let Some(mut group) = self.group.take() else { return };
        group.given_up();
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

    /// Begins a turn: answers the statements to begin it with. Until it is settled it counts as given up, for whoever sends them
    /// may go away at any point.
    fn next_turn(&mut self) -> &'static str {
        let (savepoint, first) = match (self.done.is_empty(), self.open) {
            (true, _) => (None, "BEGIN IMMEDIATE"),
            (false, None) => (Some(Savepoint::One), "SAVEPOINT one"),
            (false, Some(Savepoint::One)) => (Some(Savepoint::Two), "RELEASE one; SAVEPOINT two"),
            (false, Some(Savepoint::Two)) => (Some(Savepoint::One), "RELEASE two; SAVEPOINT one"),
        };
        self.turn = savepoint;
        self.abandoned = true;
        first
    }

    /// Whoever took this turn answers by what it has seen.
    fn given_up(&self) {
        if !self.done.is_empty() {
            self.told.seen_early.store(true, Ordering::SeqCst);
        }
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
                if let Some(log) = &mut self.log {
                    log.committed(self.done.len());
                }
                for Member { tell, then, under_way } in self.done.drain(..) {
                    drop(under_way);
                    then();
                    // A member that went away needs no answer.
                    let _ = tell.send(Ok(()));
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
            let _ = member.tell.send(Err(why.for_another()));
        }
    }
}

fn closed() -> StorageError {
    StorageError::Unavailable(sqlx::Error::PoolClosed)
}
