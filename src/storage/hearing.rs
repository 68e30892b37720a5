//! Who hears what: the owner's requirements, people's own choices, quiet hours, and the hour of a yard's digest.

use chrono::{NaiveDate, NaiveTime, TimeDelta};
use sqlx::FromRow;

use super::{Param, Result, Tx};
use crate::domain::hearing::{AlertKind, QuietHours, Wanted};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::person::Role;

/// One role of one person who may hear a kind of alert of a yard.
#[derive(Clone, Debug, FromRow)]
pub struct HearerRow {
    pub person_id: PersonId,
    pub role: Role,
    pub wanted: Option<Wanted>,
    /// What the person chose.
    pub heard: Option<bool>,
    /// Hears of some classes only.
    pub limited: bool,
    /// Of the class asked for, where limited.
    pub this_class: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct HearingRuleRow {
    pub kind: AlertKind,
    pub role: Role,
    pub wanted: Wanted,
}

#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct OwnHearingRow {
    pub yard_id: YardId,
    pub kind: AlertKind,
    pub heard: bool,
}

/// A yard that sends a digest.
#[derive(Clone, Debug)]
pub struct DigestYard {
    pub yard: YardId,
    pub at: NaiveTime,
    pub last: Option<NaiveDate>,
}

impl Tx {
    /// Everybody enabled who works in the yard, and every owner; a row a role.
    pub async fn who_may_hear(
        &mut self,
        yard: YardId,
        kind: AlertKind,
        class: &str,
    ) -> Result<Vec<HearerRow>> {
        self.all(
            "SELECT p.id AS person_id, r.role,
                (SELECT w.wanted FROM hearing_rule w WHERE w.yard_id = $1 AND w.kind = $2 AND w.role = r.role) AS wanted,
                (SELECT o.heard FROM own_hearing o WHERE o.person_id = p.id AND o.yard_id = $1 AND o.kind = $2) AS heard,
                (SELECT COUNT(*) FROM own_class c WHERE c.person_id = p.id AND c.yard_id = $1) > 0 AS limited,
                (SELECT COUNT(*) FROM own_class c WHERE c.person_id = p.id AND c.yard_id = $1 AND c.class = $3) > 0 AS this_class
             FROM person p JOIN person_role r ON r.person_id = p.id
             WHERE p.disabled_at IS NULL
               AND (r.role = 'owner' OR EXISTS (SELECT 1 FROM person_yard y WHERE y.person_id = p.id AND y.yard_id = $1))
             ORDER BY p.id, r.role",
            &[&yard, &kind, &class.to_owned()],
        )
        .await
    }

    /// Enabled owners.
    pub async fn owners(&mut self) -> Result<Vec<PersonId>> {
        let rows: Vec<(PersonId,)> = self
            .all(
                "SELECT p.id FROM person p JOIN person_role r ON r.person_id = p.id
                 WHERE p.disabled_at IS NULL AND r.role = 'owner' ORDER BY p.id",
                &[],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    pub async fn all_quiet_hours(&mut self) -> Result<Vec<(PersonId, QuietHours)>> {
        let rows: Vec<(PersonId, i64, i64)> =
            self.all("SELECT person_id, from_minute, to_minute FROM quiet_hours", &[]).await?;
        Ok(rows.into_iter().map(|(id, from, to)| (id, quiet(from, to))).collect())
    }

    pub async fn quiet_hours_of(&mut self, person: PersonId) -> Result<Option<QuietHours>> {
        let row: Option<(i64, i64)> = self
            .maybe("SELECT from_minute, to_minute FROM quiet_hours WHERE person_id = $1", &[&person])
            .await?;
        Ok(row.map(|(from, to)| quiet(from, to)))
    }

    pub async fn set_quiet_hours(&mut self, person: PersonId, hours: Option<QuietHours>) -> Result<()> {
        self.run("DELETE FROM quiet_hours WHERE person_id = $1", &[&person]).await?;
        if let Some(QuietHours { from, to }) = hours {
            self.run(
                "INSERT INTO quiet_hours (person_id, from_minute, to_minute) VALUES ($1, $2, $3)",
                &[&person, &minute(from), &minute(to)],
            )
            .await?;
        }
        Ok(())
    }

    pub async fn hearing_rules(&mut self, yard: YardId) -> Result<Vec<HearingRuleRow>> {
        self.all(
            "SELECT kind, role, wanted FROM hearing_rule WHERE yard_id = $1 ORDER BY kind, role",
            &[&yard],
        )
        .await
    }

    pub async fn set_hearing_rules(&mut self, yard: YardId, rules: &[HearingRuleRow]) -> Result<()> {
        self.run("DELETE FROM hearing_rule WHERE yard_id = $1", &[&yard]).await?;
        let rows: Vec<Vec<&dyn Param>> =
            rules.iter().map(|r| vec![&yard as &dyn Param, &r.kind, &r.role, &r.wanted]).collect();
        self.insert_rows("hearing_rule (yard_id, kind, role, wanted)", &rows).await
    }

    pub async fn own_hearing(&mut self, person: PersonId) -> Result<Vec<OwnHearingRow>> {
        self.all("SELECT yard_id, kind, heard FROM own_hearing WHERE person_id = $1", &[&person]).await
    }

    pub async fn own_classes(&mut self, person: PersonId) -> Result<Vec<(YardId, String)>> {
        self.all("SELECT yard_id, class FROM own_class WHERE person_id = $1 ORDER BY class", &[&person]).await
    }

    /// Replaces what the person chose in one yard.
    pub async fn set_own_hearing(
        &mut self,
        person: PersonId,
        yard: YardId,
        heard: &[(AlertKind, bool)],
        classes: &[String],
    ) -> Result<()> {
        self.run("DELETE FROM own_hearing WHERE person_id = $1 AND yard_id = $2", &[&person, &yard]).await?;
        self.run("DELETE FROM own_class WHERE person_id = $1 AND yard_id = $2", &[&person, &yard]).await?;
        let rows: Vec<Vec<&dyn Param>> =
            heard.iter().map(|(kind, heard)| vec![&person as &dyn Param, &yard, kind, heard]).collect();
        self.insert_rows("own_hearing (person_id, yard_id, kind, heard)", &rows).await?;
        let rows: Vec<Vec<&dyn Param>> =
            classes.iter().map(|class| vec![&person as &dyn Param, &yard, class]).collect();
        self.insert_rows("own_class (person_id, yard_id, class)", &rows).await
    }

    /// Classes of the machines in use in a yard.
    pub async fn classes_of_yard(&mut self, yard: YardId) -> Result<Vec<String>> {
        let rows: Vec<(String,)> = self
            .all(
                "SELECT DISTINCT class FROM machine WHERE yard_id = $1 AND retired_at IS NULL ORDER BY class",
                &[&yard],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    pub async fn digest_yards(&mut self) -> Result<Vec<DigestYard>> {
        let rows: Vec<(YardId, i64, Option<String>)> = self
            .all("SELECT id, digest_minute, digest_day FROM yard WHERE digest_minute IS NOT NULL", &[])
            .await?;
        let digest = |(yard, at, day): (YardId, i64, Option<String>)| DigestYard {
            yard,
            at: clock(at),
            last: day.and_then(|day| day.parse().ok()),
        };
        Ok(rows.into_iter().map(digest).collect())
    }

    /// Makes others wait who would send the same digest.
    pub async fn lock_yard(&mut self, yard: YardId) -> Result<()> {
        self.run("UPDATE yard SET digest_day = digest_day WHERE id = $1", &[&yard]).await?;
        Ok(())
    }

    pub async fn set_digest(
        &mut self,
        yard: YardId,
        at: Option<NaiveTime>,
        last: Option<NaiveDate>,
    ) -> Result<()> {
        self.run(
            "UPDATE yard SET digest_minute = $2, digest_day = $3 WHERE id = $1",
            &[&yard, &at.map(minute), &last.map(|day| day.to_string())],
        )
        .await?;
        Ok(())
    }
}

fn quiet(from: i64, to: i64) -> QuietHours {
    QuietHours { from: clock(from), to: clock(to) }
}

fn clock(minute: i64) -> NaiveTime {
    NaiveTime::MIN + TimeDelta::minutes(minute)
}

fn minute(clock: NaiveTime) -> i64 {
    (clock - NaiveTime::MIN).num_minutes()
}
