//! What an hour costs and who may do which work: dated rates by grade, overtime by yard, skills.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::checklist::System;
use crate::domain::ids::{PersonId, YardId};
use crate::domain::labour::overtime::{OvertimeRule, Step};
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Problem, Refusal, Thing, plain_text};
use crate::domain::trail::TrailAct;
use crate::storage::YardRow;

pub struct LabourSetUp {
    /// Grade, first day, minor units an hour: by grade, oldest first.
    pub rates: Vec<(String, NaiveDate, i64)>,
    pub mechanics: Vec<GradedMechanic>,
    pub yards: Vec<(YardRow, OvertimeRule)>,
    pub skills_needed: BTreeSet<System>,
}

pub struct GradedMechanic {
    pub id: PersonId,
    pub name: String,
    pub grade: Option<String>,
    /// Minor units an hour, where no rate of the grade holds.
    pub own_rate: i64,
    pub skills: BTreeSet<System>,
}

/// A million an hour: a slip.
const MOST_AN_HOUR: i64 = 100_000_000;

pub async fn labour_set_up(workshop: &Workshop, actor: &Actor) -> Result<LabourSetUp> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.read().await?;
    let mut skills: BTreeMap<PersonId, BTreeSet<System>> = tx.skills_of_people().await?;
    let mechanics = tx
        .graded_mechanics()
        .await?
        .into_iter()
        .map(|(id, name, grade, own_rate)| GradedMechanic {
            id,
            name,
            grade,
            own_rate,
            skills: skills.remove(&id).unwrap_or_default(),
        })
        .collect();
    let mut yards = Vec::new();
    for yard in tx.yards().await? {
        let rule = tx.overtime_of(yard.id).await?;
        yards.push((yard, rule));
    }
    Ok(LabourSetUp {
        rates: tx.labour_rates().await?,
        mechanics,
        yards,
        skills_needed: tx.skills_needed().await?,
    })
}

/// What an hour of a grade costs from a day on. What is entered already keeps its cost until its own week changes.
pub async fn set_rate(workshop: &Workshop, actor: &Actor, grade: &str, from: &str, rate: &str) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let grade = plain_text("/grade", said!("labour-a-grade"), grade, 40)?;
    let from = NaiveDate::parse_from_str(from.trim(), "%Y-%m-%d")
        .map_err(|_| Refusal::invalid("/from", said!("working-give-a-day")))?;
    let minor = money::parse(rate).filter(|minor| *minor <= MOST_AN_HOUR).ok_or_else(|| {
        Refusal::invalid("/rate", said!("labour-give-a-rate", currency = workshop.currency.as_ref()))
    })?;
    let mut tx = workshop.db.begin().await?;
    tx.set_labour_rate(&grade, from, minor).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(
        TrailAct::RatesSet,
        grade,
        "",
        format!("{} / {from}", money::shown(minor, &workshop.currency)),
        "",
    );
    trail.write(&mut tx, "site").await?;
    Ok(tx.commit().await?)
}

/// Who has which grade; none for their own rate.
pub async fn set_grades(
    workshop: &Workshop,
    actor: &Actor,
    grades: &[(PersonId, Option<String>)],
) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.begin().await?;
    let known: BTreeSet<String> = tx.labour_rates().await?.into_iter().map(|(grade, ..)| grade).collect();
    let mut trail = Trail::new(actor, workshop.ambient.now());
    for (id, name, before, _) in tx.graded_mechanics().await? {
        let Some((_, after)) = grades.iter().find(|(person, _)| *person == id) else { continue };
        if after.as_ref().is_some_and(|grade| !known.contains(grade)) {
            return Err(Refusal::invalid(format!("/grade-{id}"), said!("labour-no-such-grade")).into());
        }
        if *after != before {
            tx.set_grade(id, after.as_deref()).await?;
            let word = |g: &Option<String>| g.clone().unwrap_or_default();
            trail.add(TrailAct::RatesSet, name, word(&before), word(after), "");
        }
    }
    trail.write(&mut tx, "site").await?;
    Ok(tx.commit().await?)
}

/// Overtime of a yard: after so many hours a day or a week, so many percent on top. Empty is none.
pub async fn set_overtime(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    day: (&str, &str),
    week: (&str, &str),
) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let mut problems = Vec::new();
    let mut rule = OvertimeRule::default();
    for (per, (hours, percent), most, steps) in
        [("day", day, 24, &mut rule.day), ("week", week, 168, &mut rule.week)]
    {
        match step(hours, percent, most) {
            Ok(step) => steps.extend(step),
            Err(field) => problems
                .push(Problem::new(format!("/{per}-{field}"), said!("labour-give-overtime", most = most))),
        }
    }
    if !problems.is_empty() {
        return Err(Refusal::Invalid { problems }.into());
    }
    let mut tx = workshop.db.begin().await?;
    let yard = tx.yard(yard).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    let before = tx.overtime_of(yard.id).await?;
    tx.set_overtime(yard.id, &rule).await?;
    let words = |r: &OvertimeRule| {
        let all = r.day.iter().map(|s| ("d", s)).chain(r.week.iter().map(|s| ("w", s)));
        let all: Vec<_> =
            all.map(|(per, s)| format!("{}min/{per} +{}%", s.after_minutes, s.percent)).collect();
        all.join(", ")
    };
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::RatesSet, format!("yard {}", yard.name), words(&before), words(&rule), "");
    trail.write(&mut tx, &format!("yard {}", yard.id)).await?;
    Ok(tx.commit().await?)
}

/// Which systems ask for a skilled person, and who is skilled in which.
pub async fn set_skills(
    workshop: &Workshop,
    actor: &Actor,
    needed: &BTreeSet<System>,
    skilled: &[(PersonId, System)],
) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.begin().await?;
    let mechanics: Vec<PersonId> = tx.graded_mechanics().await?.into_iter().map(|(id, ..)| id).collect();
    let skilled: Vec<(PersonId, System)> =
        skilled.iter().copied().filter(|(person, _)| mechanics.contains(person)).collect();
    let before = tx.skills_needed().await?;
    tx.set_skills(needed, &skilled, &mechanics).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::SkillsSet, "site", listed(&before), listed(needed), "");
    trail.write(&mut tx, "site").await?;
    Ok(tx.commit().await?)
}

/// Which systems ask for a skilled person; who is skilled stays as it is.
pub async fn set_skills_needed(workshop: &Workshop, actor: &Actor, needed: &BTreeSet<System>) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.begin().await?;
    let before = tx.skills_needed().await?;
    tx.set_skills(needed, &[], &[]).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::SkillsSet, "site", listed(&before), listed(needed), "");
    trail.write(&mut tx, "site").await?;
    Ok(tx.commit().await?)
}

/// The grade of one mechanic, none for their own rate, and what they are skilled in.
pub async fn set_labour_of(
    workshop: &Workshop,
    actor: &Actor,
    person: PersonId,
    grade: Option<&str>,
    skills: &BTreeSet<System>,
) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.begin().await?;
    let mechanic = tx.graded_mechanics().await?.into_iter().find(|(id, ..)| *id == person);
    let (_, name, graded, _) = mechanic.ok_or(Refusal::NotFound(Thing::Person))?;
    if grade.is_some() && !tx.labour_rates().await?.iter().any(|(known, ..)| Some(known.as_str()) == grade) {
        return Err(Refusal::invalid("/grade", said!("labour-no-such-grade")).into());
    }
    let mut trail = Trail::new(actor, workshop.ambient.now());
    if graded.as_deref() != grade {
        tx.set_grade(person, grade).await?;
        trail.add(TrailAct::RatesSet, &*name, graded.unwrap_or_default(), grade.unwrap_or_default(), "");
    }
    let skilled = tx.skills_of(person).await?;
    if skilled != *skills {
        let needed = tx.skills_needed().await?;
        let all: Vec<(PersonId, System)> = skills.iter().map(|s| (person, *s)).collect();
        tx.set_skills(&needed, &all, &[person]).await?;
        trail.add(TrailAct::SkillsSet, &*name, listed(&skilled), listed(skills), "");
    }
    trail.write(&mut tx, "site").await?;
    Ok(tx.commit().await?)
}

fn listed(systems: &BTreeSet<System>) -> String {
    systems.iter().map(|s| s.as_str()).collect::<Vec<_>>().join(", ")
}

/// Both or none; which of the two is wrong.
fn step(hours: &str, percent: &str, most: i64) -> std::result::Result<Option<Step>, &'static str> {
    let (hours, percent) = (hours.trim(), percent.trim());
    if hours.is_empty() && percent.is_empty() {
        return Ok(None);
    }
    // Tenths of an hour.
    let tenths = money::scaled(hours, 1).filter(|t| (0..=most * 10).contains(t)).ok_or("hours")?;
    let percent: u32 =
        percent.parse().ok().filter(|p| (1..=OvertimeRule::MOST_PERCENT).contains(p)).ok_or("percent")?;
    let after_minutes = u32::try_from(tenths * 6).map_err(|_| "hours")?;
    Ok(Some(Step { after_minutes, percent }))
}
