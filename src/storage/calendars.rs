//! When people work: the yards' weeks and holidays, and who is away.

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc, Weekday};
use sqlx::FromRow;

use super::{Param, Result, Tx};
use crate::domain::ids::{AbsenceId, PersonId, YardId};
use crate::domain::shift::{Shift, Span, Week};

#[derive(Clone, Debug, FromRow)]
pub struct AbsenceRow {
    pub id: AbsenceId,
    pub person_id: PersonId,
    pub person_name: String,
    pub from_at: DateTime<Utc>,
    pub to_at: DateTime<Utc>,
    pub note: String,
}

impl AbsenceRow {
    pub fn span(&self) -> Span {
        Span::new(self.from_at, self.to_at)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HolidayRow {
    pub day: NaiveDate,
    pub name: String,
}

impl Tx {
    pub async fn week_of(&mut self, yard: YardId) -> Result<Week> {
        let rows: Vec<(i64, i64, i64)> = self
            .all(
                "SELECT weekday, from_minute, to_minute FROM shift WHERE yard_id = $1 ORDER BY weekday, from_minute",
                &[&yard],
            )
            .await?;
        // What is kept was a week when it was saved.
        Ok(Week::new(rows.into_iter().filter_map(|(d, f, t)| shift(d, f, t)).collect()).unwrap_or_default())
    }

    /// Replaces the yard's week.
    pub async fn set_week(&mut self, yard: YardId, week: &Week) -> Result<()> {
        self.run("DELETE FROM shift WHERE yard_id = $1", &[&yard]).await?;
        let rows: Vec<(i64, i64, i64)> = week
            .shifts()
            .iter()
            .map(|s| (i64::from(s.day.number_from_monday()), minute(s.from), minute(s.to)))
            .collect();
        let rows: Vec<Vec<&dyn Param>> =
            rows.iter().map(|(d, f, t)| vec![&yard as &dyn Param, d, f, t]).collect();
        self.insert_rows("shift (yard_id, weekday, from_minute, to_minute)", &rows).await
    }

    pub async fn holidays_of(&mut self, yard: YardId) -> Result<Vec<HolidayRow>> {
        let rows: Vec<(String, String)> =
            self.all("SELECT day, name FROM holiday WHERE yard_id = $1 ORDER BY day", &[&yard]).await?;
        Ok(rows
            .into_iter()
            .filter_map(|(day, name)| Some(HolidayRow { day: day.parse().ok()?, name }))
            .collect())
    }

    pub async fn set_holiday(&mut self, yard: YardId, day: NaiveDate, name: &str) -> Result<()> {
        self.run(
            "INSERT INTO holiday (yard_id, day, name) VALUES ($1, $2, $3)
             ON CONFLICT (yard_id, day) DO UPDATE SET name = excluded.name",
            &[&yard, &day.to_string(), &name.to_owned()],
        )
        .await?;
        Ok(())
    }

    pub async fn drop_holiday(&mut self, yard: YardId, day: NaiveDate) -> Result<()> {
        self.run("DELETE FROM holiday WHERE yard_id = $1 AND day = $2", &[&yard, &day.to_string()]).await?;
        Ok(())
    }

    /// Absences that are not over, of everybody who works in the yard.
    pub async fn absences_in(&mut self, yard: YardId, now: DateTime<Utc>) -> Result<Vec<AbsenceRow>> {
        self.all(
            "SELECT a.id, a.person_id, p.name AS person_name, a.from_at, a.to_at, a.note
             FROM absence a JOIN person p ON p.id = a.person_id
             JOIN person_yard y ON y.person_id = a.person_id AND y.yard_id = $1
             WHERE a.to_at > $2 ORDER BY a.from_at, p.name, a.id",
            &[&yard, &now],
        )
        .await
    }

    /// A person's absences that touch a span of time.
    pub async fn absences_of(&mut self, person: PersonId, around: Span) -> Result<Vec<AbsenceRow>> {
        self.all(
            "SELECT a.id, a.person_id, p.name AS person_name, a.from_at, a.to_at, a.note
             FROM absence a JOIN person p ON p.id = a.person_id
             WHERE a.person_id = $1 AND a.to_at > $2 AND a.from_at < $3 ORDER BY a.from_at",
            &[&person, &around.from, &around.to],
        )
        .await
    }

    pub async fn absence(&mut self, id: AbsenceId) -> Result<Option<AbsenceRow>> {
        self.maybe(
            "SELECT a.id, a.person_id, p.name AS person_name, a.from_at, a.to_at, a.note
             FROM absence a JOIN person p ON p.id = a.person_id WHERE a.id = $1",
            &[&id],
        )
        .await
    }

    pub async fn insert_absence(&mut self, row: &AbsenceRow, by: PersonId, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "INSERT INTO absence (id, person_id, from_at, to_at, note, by_id, created_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&row.id, &row.person_id, &row.from_at, &row.to_at, &row.note, &by, &now],
        )
        .await?;
        Ok(())
    }

    pub async fn drop_absence(&mut self, id: AbsenceId) -> Result<()> {
        self.run("DELETE FROM absence WHERE id = $1", &[&id]).await?;
        Ok(())
    }
}

fn shift(weekday: i64, from: i64, to: i64) -> Option<Shift> {
    let day = Weekday::try_from(u8::try_from(weekday - 1).ok()?).ok()?;
    let time = |minute: i64| NaiveTime::MIN + TimeDelta::minutes(minute);
    Some(Shift { day, from: time(from), to: time(to) })
}

fn minute(time: NaiveTime) -> i64 {
    (time - NaiveTime::MIN).num_minutes()
}
