//! What one server does for all that share a database: foreseeing, summing and removing take long, and twice at once they
//! would do everything twice. What is quick and must not wait for a server that died (the end of a watch, the next in line,
//! a digest) has no turn: every server looks, and whoever locks the row first does it.

use chrono::{DateTime, TimeDelta, Utc};
use uuid::Uuid;

use super::{Result, Workshop};

/// After so long without a word from it, a server is taken for dead, and another does its task.
pub const TURN: TimeDelta = TimeDelta::minutes(3);

/// A server's part in a task.
pub struct Turn {
    task: &'static str,
    server: Uuid,
    until: Option<DateTime<Utc>>,
}

impl Turn {
    pub const fn new(task: &'static str, server: Uuid) -> Self {
        Self { task, server, until: None }
    }

    /// Whether this server does it now. One process alone on its file always does.
    pub async fn is_mine(&mut self, workshop: &Workshop) -> Result<bool> {
        if workshop.db.is_sqlite() {
            return Ok(true);
        }
        let now = workshop.ambient.now();
        if self.until.is_some_and(|until| until - now > TURN / 2 && until - now <= TURN) {
            return Ok(true);
        }
        let mut tx = workshop.db.begin().await?;
        let mine = tx.take_turn(self.task, self.server, now, now + TURN).await?;
        tx.commit().await?;
        self.until = mine.then(|| now + TURN);
        Ok(mine)
    }
}

/// At the end of a server.
pub async fn give_up_turns(workshop: &Workshop, server: Uuid) -> Result<()> {
    if workshop.db.is_sqlite() {
        return Ok(());
    }
    let mut tx = workshop.db.begin().await?;
    tx.give_up_turns(server).await?;
    tx.commit().await?;
    Ok(())
}
