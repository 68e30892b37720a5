//! Notes and photos that are left on a work order.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{OrderNoteId, PersonId, WorkOrderId};

#[derive(Clone, Debug, FromRow)]
pub struct OrderNoteRow {
    pub id: OrderNoteId,
    pub by_id: PersonId,
    pub by_name: String,
    pub at: DateTime<Utc>,
    pub note: String,
}

impl Tx {
    pub async fn order_notes(&mut self, order: WorkOrderId) -> Result<Vec<OrderNoteRow>> {
        self.all(
            "SELECT n.id, n.by_id, p.name AS by_name, n.at, n.note FROM order_note n JOIN person p ON p.id = n.by_id
             WHERE n.work_order_id = $1 ORDER BY n.at, n.id",
            &[&order],
        )
        .await
    }

    pub async fn insert_order_note(
        &mut self,
        id: OrderNoteId,
        order: WorkOrderId,
        by: PersonId,
        at: DateTime<Utc>,
        note: &str,
    ) -> Result<()> {
        self.run(
            "INSERT INTO order_note (id, work_order_id, by_id, at, note) VALUES ($1, $2, $3, $4, $5)",
            &[&id, &order, &by, &at, &note.to_owned()],
        )
        .await?;
        Ok(())
    }
}
