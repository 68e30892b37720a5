//! What an hour of labour costs: dated rates by grade, overtime by yard, and which grade a person has.

use chrono::NaiveDate;

use super::{Param, Result, Tx};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::labour::overtime::{OvertimeRule, Step};

impl Tx {
    /// Grade, first day, minor units an hour: by grade, oldest first.
    pub async fn labour_rates(&mut self) -> Result<Vec<(String, NaiveDate, i64)>> {
        let rows: Vec<(String, String, i64)> = self
            .all("SELECT grade, from_day, rate_minor FROM labour_rate ORDER BY grade, from_day", &[])
            .await?;
        Ok(rows
            .into_iter()
            .filter_map(|(grade, day, minor)| Some((grade, day.parse().ok()?, minor)))
            .collect())
    }

    pub async fn set_labour_rate(&mut self, grade: &str, from: NaiveDate, minor: i64) -> Result<()> {
        self.run(
            "INSERT INTO labour_rate (grade, from_day, rate_minor) VALUES ($1, $2, $3)
             ON CONFLICT (grade, from_day) DO UPDATE SET rate_minor = excluded.rate_minor",
            &[&grade.to_owned(), &from.to_string(), &minor],
        )
        .await?;
        Ok(())
    }

    /// The grade a person has; none for their own rate.
    pub async fn grade_of(&mut self, person: PersonId) -> Result<Option<String>> {
        let row: Option<(Option<String>,)> =
            self.maybe("SELECT grade FROM person WHERE id = $1", &[&person]).await?;
        Ok(row.and_then(|(grade,)| grade))
    }

    pub async fn set_grade(&mut self, person: PersonId, grade: Option<&str>) -> Result<()> {
        self.run("UPDATE person SET grade = $2 WHERE id = $1", &[&person, &grade.map(str::to_owned)]).await?;
        Ok(())
    }

    /// Mechanics that are not disabled: id, name, grade, own rate.
    pub async fn graded_mechanics(&mut self) -> Result<Vec<(PersonId, String, Option<String>, i64)>> {
        self.all(
            "SELECT p.id, p.name, p.grade, p.rate_minor FROM person p
             JOIN person_role r ON r.person_id = p.id AND r.role = 'mechanic'
             WHERE p.disabled_at IS NULL ORDER BY p.name, p.id",
            &[],
        )
        .await
    }

    pub async fn overtime_of(&mut self, yard: YardId) -> Result<OvertimeRule> {
        let rows: Vec<(String, i64, i64)> = self
            .all(
                "SELECT per, after_minutes, percent FROM overtime WHERE yard_id = $1 ORDER BY per, after_minutes",
                &[&yard],
            )
            .await?;
        let mut rule = OvertimeRule::default();
        for (per, after, percent) in rows {
            let (Ok(after_minutes), Ok(percent)) = (u32::try_from(after), u32::try_from(percent)) else {
                continue;
            };
            let steps = if per == "week" { &mut rule.week } else { &mut rule.day };
            steps.push(Step { after_minutes, percent });
        }
        Ok(rule)
    }

    /// Replaces the yard's rule.
    pub async fn set_overtime(&mut self, yard: YardId, rule: &OvertimeRule) -> Result<()> {
        self.run("DELETE FROM overtime WHERE yard_id = $1", &[&yard]).await?;
        let (day, week) = ("day".to_owned(), "week".to_owned());
        let steps: Vec<(&String, i64, i64)> = rule
            .day
            .iter()
            .map(|s| (&day, s))
            .chain(rule.week.iter().map(|s| (&week, s)))
            .map(|(per, s)| (per, i64::from(s.after_minutes), i64::from(s.percent)))
            .collect();
        let rows: Vec<Vec<&dyn Param>> = steps
            .iter()
            .map(|(per, after, percent)| vec![&yard as &dyn Param, *per, after, percent])
            .collect();
        self.insert_rows("overtime (yard_id, per, after_minutes, percent)", &rows).await
    }
}
