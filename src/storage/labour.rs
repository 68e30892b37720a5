//! Time of mechanics on work orders.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{LabourId, PersonId, WorkOrderId, YardId};
use crate::domain::labour::ForgottenBecause;
use crate::domain::shift::Span;

#[derive(Clone, Debug, FromRow)]
pub struct LabourRow {
    pub id: LabourId,
    pub work_order_id: WorkOrderId,
    pub order_number: i64,
    /// Where the machine belongs: its clock and its rule of overtime hold.
    pub yard_id: YardId,
    pub mechanic_id: PersonId,
    pub mechanic_name: String,
    pub started_at: DateTime<Utc>,
    /// None while the clock runs.
    pub ended_at: Option<DateTime<Utc>>,
    pub cost_minor: i64,
    pub overtime_seconds: i64,
    /// Why Chock ended it and not the mechanic; until somebody has put it right.
    pub closed_because: Option<ForgottenBecause>,
}

impl LabourRow {
    pub fn span(&self) -> Option<Span> {
        self.ended_at.map(|to| Span::new(self.started_at, to))
    }
}

macro_rules! labour {
    ($condition:literal) => {
        concat!(
            "SELECT l.id, l.work_order_id, w.number AS order_number, w.yard_id, l.mechanic_id, p.name AS mechanic_name,
                l.started_at, l.ended_at, l.cost_minor, l.overtime_seconds, l.closed_because
             FROM labour l JOIN person p ON p.id = l.mechanic_id JOIN work_order w ON w.id = l.work_order_id ",
            $condition
        )
    };
}

impl Tx {
    pub async fn labour_of_order(&mut self, order: WorkOrderId) -> Result<Vec<LabourRow>> {
        self.all(labour!("WHERE l.work_order_id = $1 ORDER BY l.started_at, l.id"), &[&order]).await
    }

    pub async fn labour(&mut self, id: LabourId) -> Result<Option<LabourRow>> {
        self.maybe(labour!("WHERE l.id = $1"), &[&id]).await
    }

    /// Ended entries of one mechanic that touch a span of time, in order.
    pub async fn labour_around(&mut self, mechanic: PersonId, around: Span) -> Result<Vec<LabourRow>> {
        self.all(
            labour!(
                "WHERE l.mechanic_id = $1 AND l.started_at < $3 AND l.ended_at > $2 ORDER BY l.started_at, l.id"
            ),
            &[&mechanic, &around.from, &around.to],
        )
        .await
    }

    /// Everything of one mechanic from a moment on, the running clock too, in order.
    pub async fn labour_since(&mut self, mechanic: PersonId, from: DateTime<Utc>) -> Result<Vec<LabourRow>> {
        self.all(
            labour!(
                "WHERE l.mechanic_id = $1 AND (l.ended_at IS NULL OR l.ended_at > $2) ORDER BY l.started_at, l.id"
            ),
            &[&mechanic, &from],
        )
        .await
    }

    /// What Chock ended for one mechanic and nobody has put right.
    pub async fn forgotten_labour_of(&mut self, mechanic: PersonId) -> Result<Vec<LabourRow>> {
        self.all(
            labour!("WHERE l.mechanic_id = $1 AND l.closed_because IS NOT NULL ORDER BY l.started_at, l.id"),
            &[&mechanic],
        )
        .await
    }

    pub async fn running_labour(&mut self, mechanic: PersonId) -> Result<Option<LabourRow>> {
        self.maybe(labour!("WHERE l.mechanic_id = $1 AND l.ended_at IS NULL"), &[&mechanic]).await
    }

    /// Every clock that runs.
    pub async fn running_clocks(&mut self) -> Result<Vec<LabourRow>> {
        self.all(labour!("WHERE l.ended_at IS NULL ORDER BY l.started_at, l.id"), &[]).await
    }

    pub async fn insert_labour(
        &mut self,
        id: LabourId,
        order: WorkOrderId,
        mechanic: PersonId,
        from: DateTime<Utc>,
        to: Option<DateTime<Utc>>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO labour (id, work_order_id, mechanic_id, started_at, ended_at) VALUES ($1, $2, $3, $4, $5)",
            &[&id, &order, &mechanic, &from, &to],
        )
        .await?;
        Ok(())
    }

    pub async fn end_labour(
        &mut self,
        id: LabourId,
        at: DateTime<Utc>,
        because: Option<ForgottenBecause>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE labour SET ended_at = $2, closed_because = $3 WHERE id = $1 AND ended_at IS NULL",
                &[&id, &at, &because],
            )
            .await?,
        )
    }

    /// Puts an ended entry right; it is nobody's forgotten one any more.
    pub async fn move_labour(&mut self, id: LabourId, to: Span) -> Result<()> {
        guarded(
            self.run(
                "UPDATE labour SET started_at = $2, ended_at = $3, closed_because = NULL
                 WHERE id = $1 AND ended_at IS NOT NULL",
                &[&id, &to.from, &to.to],
            )
            .await?,
        )
    }

    pub async fn set_labour_cost(
        &mut self,
        id: LabourId,
        cost_minor: i64,
        overtime_seconds: i64,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE labour SET cost_minor = $2, overtime_seconds = $3 WHERE id = $1",
                &[&id, &cost_minor, &overtime_seconds],
            )
            .await?,
        )
    }
}
