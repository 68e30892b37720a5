//! Which of several servers has the turn with a task that one of them does for all.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::{Result, Tx};

impl Tx {
    /// Takes the turn, or keeps it; false while another server has it.
    pub async fn take_turn(
        &mut self,
        task: &str,
        server: Uuid,
        now: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<bool> {
        let taken = self
            .run(
                "INSERT INTO task_turn (task, server, until) VALUES ($1, $2, $3)
                 ON CONFLICT (task) DO UPDATE SET server = excluded.server, until = excluded.until
                 WHERE task_turn.server = excluded.server OR task_turn.until <= $4",
                &[&task.to_owned(), &server, &until, &now],
            )
            .await?;
        Ok(taken == 1)
    }

    /// So that the next server need not wait for their end.
    pub async fn give_up_turns(&mut self, server: Uuid) -> Result<()> {
        self.run("DELETE FROM task_turn WHERE server = $1", &[&server]).await?;
        Ok(())
    }
}
