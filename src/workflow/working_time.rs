//! When people work: the week of a yard, its holidays, and who is away. Timers that were forgotten end by it, and so is
//! foreseen when a machine is back.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;

use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::ids::{AbsenceId, PersonId, YardId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, optional_text, plain_text};
use crate::domain::shift::{Calendar, Span, Week};
use crate::domain::trail::TrailAct;
use crate::storage::{AbsenceRow, HolidayRow, Tx, YardRow};

pub struct WorkingTime {
    pub yard: YardRow,
    pub week: Week,
    /// From today on.
    pub holidays: Vec<HolidayRow>,
    pub absences: Vec<AbsenceRow>,
    /// Everybody who works here and may be away.
    pub people: Vec<(PersonId, String)>,
}

/// Nobody is entered as away for longer: then they do not work here.
const LONGEST_ABSENCE: TimeDelta = TimeDelta::days(400);

pub async fn working_time(workshop: &Workshop, actor: &Actor, yard: YardId) -> Result<WorkingTime> {
    actor.must(Act::SetUpMachines)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    let today = now.with_timezone(&zone_of(&yard)).date_naive();
    let holidays = tx.holidays_of(yard.id).await?.into_iter().filter(|h| h.day >= today).collect();
    Ok(WorkingTime {
        week: tx.week_of(yard.id).await?,
        holidays,
        absences: tx.absences_in(yard.id, now).await?,
        people: tx.people_of_yard(yard.id).await?,
        yard,
    })
}

/// The yard's shifts of the two weeks from a moment on, as moments: what really passes, whatever the clocks do.
pub async fn shifts_from(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    from: DateTime<Utc>,
) -> Result<Vec<Span>> {
    const AHEAD: TimeDelta = TimeDelta::days(14);
    actor.must(Act::SetUpMachines)?;
    let mut tx = workshop.db.read().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    let to = from.checked_add_signed(AHEAD);
    let to = to.ok_or_else(|| Refusal::invalid("/from", said!("working-give-a-day")))?;
    let window = Span::new(from, to);
    Ok(calendar_of(&mut tx, &yard, None, window).await?.spans(window))
}

/// A text a day, Monday first: "07:00-15:30", several with a comma between, none for a day without work.
pub async fn set_week(workshop: &Workshop, actor: &Actor, yard: YardId, days: &[String; 7]) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    let week = Week::typed(days)?;
    let mut tx = workshop.db.begin().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    let before = tx.week_of(yard.id).await?;
    tx.set_week(yard.id, &week).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    let words = |w: &Week| w.as_typed().join("; ");
    trail.add(TrailAct::ShiftsSet, format!("yard {}", yard.name), words(&before), words(&week), "");
    finish(tx, trail, &yard).await
}

pub async fn add_holiday(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    day: &str,
    name: &str,
) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    let day = a_day(day)?;
    let name = plain_text("/name", said!("working-a-holiday"), name, 60)?;
    let mut tx = workshop.db.begin().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    tx.set_holiday(yard.id, day, &name).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::HolidaySet, format!("yard {}", yard.name), "", format!("{day} {name}"), "");
    finish(tx, trail, &yard).await
}

pub async fn remove_holiday(workshop: &Workshop, actor: &Actor, yard: YardId, day: &str) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    let day = a_day(day)?;
    let mut tx = workshop.db.begin().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    tx.drop_holiday(yard.id, day).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::HolidayRemoved, format!("yard {}", yard.name), day.to_string(), "", "");
    finish(tx, trail, &yard).await
}

pub async fn add_absence(
    workshop: &Workshop,
    actor: &Actor,
    yard: YardId,
    person: PersonId,
    span: Span,
    note: &str,
) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    if span.to <= span.from {
        return Err(Refusal::invalid("/to", said!("working-end-after-start")).into());
    }
    if span.length() > LONGEST_ABSENCE {
        return Err(Refusal::invalid("/to", said!("working-too-long-away")).into());
    }
    let note = optional_text("/note", said!("working-the-note"), note, 120)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    let name =
        tx.people_of_yard(yard.id).await?.into_iter().find(|(id, _)| *id == person).map(|(_, name)| name);
    let name = name.ok_or_else(|| Refusal::invalid("/person", said!("working-whose-absence")))?;
    let row = AbsenceRow {
        id: workshop.ambient.id(),
        person_id: person,
        person_name: name,
        from_at: span.from,
        to_at: span.to,
        note,
    };
    tx.insert_absence(&row, actor.id, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::AbsenceEntered, row.person_name.clone(), "", words_of(span), row.note.clone());
    finish(tx, trail, &yard).await
}

pub async fn remove_absence(workshop: &Workshop, actor: &Actor, yard: YardId, id: AbsenceId) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    let mut tx = workshop.db.begin().await?;
    let yard = yard_for(&mut tx, actor, yard).await?;
    let row = tx.absence(id).await?.ok_or(Refusal::NotFound(Thing::Absence))?;
    if !tx.people_of_yard(yard.id).await?.iter().any(|(person, _)| *person == row.person_id) {
        return Err(Refusal::NotFound(Thing::Absence).into());
    }
    tx.drop_absence(id).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::AbsenceRemoved, row.person_name.clone(), words_of(row.span()), "", "");
    finish(tx, trail, &yard).await
}

/// The shifts of a yard, as one person works them. Nobody's: without absences.
pub(super) async fn calendar_of(
    tx: &mut Tx,
    yard: &YardRow,
    person: Option<PersonId>,
    around: Span,
) -> Result<Calendar> {
    let mut calendar = Calendar::new(zone_of(yard), tx.week_of(yard.id).await?);
    calendar.holidays = tx.holidays_of(yard.id).await?.into_iter().map(|h| h.day).collect();
    if let Some(person) = person {
        calendar.absent = tx.absences_of(person, around).await?.iter().map(AbsenceRow::span).collect();
    }
    Ok(calendar)
}

pub(super) fn zone_of(yard: &YardRow) -> Tz {
    yard.zone.parse().unwrap_or(Tz::UTC)
}

async fn yard_for(tx: &mut Tx, actor: &Actor, yard: YardId) -> Result<YardRow> {
    let seen = tx.yard(yard).await?.filter(|y| actor.in_yard(y.id));
    Ok(seen.ok_or(Refusal::NotFound(Thing::Yard))?)
}

async fn finish(mut tx: Tx, trail: Trail<'_>, yard: &YardRow) -> Result<()> {
    trail.write(&mut tx, &format!("yard {}", yard.id)).await?;
    tx.announce(yard.id);
    Ok(tx.commit().await?)
}

fn a_day(text: &str) -> Result<NaiveDate> {
    let day = NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d");
    Ok(day.map_err(|_| Refusal::invalid("/day", said!("working-give-a-day")))?)
}

fn words_of(span: Span) -> String {
    let words = |at: DateTime<Utc>| at.format("%Y-%m-%d %H:%M UTC");
    format!("{} – {}", words(span.from), words(span.to))
}
