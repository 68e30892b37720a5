//! How many machine-days had a check: what is summed already.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{CheckedRow, Param, Result, Scope, Tx};
use crate::domain::ids::YardId;

/// Of a yard and class, on a day by the yard's clock (ISO 8601).
#[derive(Clone, Debug, FromRow)]
pub struct CheckedDay {
    pub yard_id: YardId,
    pub class: String,
    pub day: String,
    pub checked: i64,
    pub unchecked: i64,
}

impl Tx {
    /// The sum of what is summed from one day on and before another, of whatever the scope leaves.
    pub async fn checked_days(&mut self, scope: &Scope, from: &str, before: &str) -> Result<(i64, i64)> {
        self.one(
            "SELECT CAST(COALESCE(SUM(c.checked), 0) AS BIGINT), CAST(COALESCE(SUM(c.unchecked), 0) AS BIGINT)
             FROM checked_day c JOIN yard y ON y.id = c.yard_id
             WHERE ($2 OR c.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
               AND ($3 = '' OR y.name = $3) AND ($4 = '' OR c.class = $4) AND c.day >= $5 AND c.day < $6",
            &[
                &scope.viewer,
                &scope.all_yards,
                &scope.yard,
                &scope.class,
                &from.to_owned(),
                &before.to_owned(),
            ],
        )
        .await
    }

    /// Checks of a yard in a span, by machine and time.
    pub async fn checks_of_yard(
        &mut self,
        yard: YardId,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
    ) -> Result<Vec<CheckedRow>> {
        self.all(
            "SELECT c.machine_id, c.recorded_at, c.engine_hours
             FROM machine m JOIN pre_use_check c ON c.machine_id = m.id
             WHERE m.yard_id = $1 AND c.recorded_at >= $2 AND c.recorded_at < $3 ORDER BY c.machine_id, c.recorded_at",
            &[&yard, &from, &to],
        )
        .await
    }

    pub async fn classes_of_yard(
        &mut self,
        yard: YardId,
    ) -> Result<Vec<(crate::domain::ids::MachineId, String)>> {
        self.all("SELECT id, class FROM machine WHERE yard_id = $1", &[&yard]).await
    }

    /// The first check ever of a yard's machines.
    pub async fn first_check_of_yard(&mut self, yard: YardId) -> Result<Option<DateTime<Utc>>> {
        let (at,): (Option<DateTime<Utc>>,) = self
            .one(
                "SELECT MIN(c.at) FROM (SELECT (SELECT MIN(k.recorded_at) FROM pre_use_check k WHERE k.machine_id = m.id) AS at
                 FROM machine m WHERE m.yard_id = $1) c",
                &[&yard],
            )
            .await?;
        Ok(at)
    }

    /// Says the days of a yard from `from` on and before `before` anew.
    pub async fn sum_checked_days(
        &mut self,
        yard: YardId,
        from: &str,
        before: &str,
        days: &[CheckedDay],
    ) -> Result<()> {
        self.run(
            "DELETE FROM checked_day WHERE yard_id = $1 AND day >= $2 AND day < $3",
            &[&yard, &from.to_owned(), &before.to_owned()],
        )
        .await?;
        let rows: Vec<Vec<&dyn Param>> = days
            .iter()
            .map(|d| vec![&d.yard_id as &dyn Param, &d.class, &d.day, &d.checked, &d.unchecked])
            .collect();
        self.insert_rows("checked_day (yard_id, class, day, checked, unchecked)", &rows).await
    }
}
