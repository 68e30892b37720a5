//! The dates of a person's yards for their own calendar program: until when monitored defects are good, and when machines are
//! expected back. Whoever knows the link reads them; it can be ended at any time, and only its hash is kept.

use chrono::{DateTime, Utc};

use super::sign_in::hash_of;
use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::forecast::When;
use crate::domain::ids::MachineId;
use crate::domain::person::{Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};
use crate::words::{Lang, Text};

#[derive(Clone, Debug, PartialEq)]
pub enum CalendarWhat {
    /// A defect may be driven on with until then.
    GoodUntil { what: Text },
    /// Back in service by then, almost surely.
    AlmostSurelyBack { why: Text },
    /// What a vendor promised.
    PromisedBack { vendor: String, what: String },
}

#[derive(Clone, Debug, PartialEq)]
pub struct CalendarEntry {
    /// The same for the same matter, however often it is read.
    pub uid: String,
    pub machine: MachineId,
    pub unit_number: String,
    pub yard_name: String,
    pub at: DateTime<Utc>,
    pub what: CalendarWhat,
}

pub struct Calendar {
    pub person_name: String,
    pub lang: Lang,
    pub now: DateTime<Utc>,
    pub entries: Vec<CalendarEntry>,
}

/// Entries of each kind.
const MOST: i64 = 1000;

/// Whether the person has a link now, and since when.
pub async fn calendar_link_since(workshop: &Workshop, actor: &Actor) -> Result<Option<DateTime<Utc>>> {
    Ok(workshop.db.read().await?.calendar_link_since(actor.id).await?)
}

/// Makes a link and ends the one before. Answers its secret, which is shown once.
pub async fn make_calendar_link(workshop: &Workshop, actor: &Actor) -> Result<String> {
    let now = workshop.ambient.now();
    let secret = workshop.ambient.secret();
    let mut tx = workshop.db.begin().await?;
    tx.set_calendar_link(actor.id, &hash_of(&secret), now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::CalendarLinkMade, format!("person {}", actor.name), "", TrailState::Set, "");
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    tx.commit().await?;
    Ok(secret)
}

/// From now on the link leads nowhere.
pub async fn end_calendar_link(workshop: &Workshop, actor: &Actor) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    tx.end_calendar_link(actor.id).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::CalendarLinkEnded, format!("person {}", actor.name), "", TrailState::Ended, "");
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    Ok(tx.commit().await?)
}

/// What is behind a link, as far as its person may see it today; nothing for somebody who has left.
pub async fn calendar(workshop: &Workshop, secret: &str) -> Result<Calendar> {
    let nothing = || Refusal::NotFound(Thing::Calendar);
    let mut tx = workshop.db.read().await?;
    let person = tx.calendar_person(&hash_of(secret)).await?.ok_or_else(nothing)?;
    let actor = tx.actor(person).await?.ok_or_else(nothing)?;
    let all = actor.has(Role::Owner);
    let mut entries = Vec::new();
    for m in tx.monitored(actor.id, all, "", MOST).await? {
        let Some(at) = m.good_until_at else { continue };
        entries.push(CalendarEntry {
            uid: format!("good-until-{}", m.defect_id),
            machine: m.machine_id,
            unit_number: m.unit_number,
            yard_name: m.yard_name,
            at,
            what: CalendarWhat::GoodUntil { what: m.what },
        });
    }
    for g in tx.grounded(actor.id, all, "", MOST).await? {
        let Ok(When::Known { likely_by, almost_surely_by, .. }) = serde_json::from_str(&g.foreseen) else {
            continue;
        };
        entries.push(CalendarEntry {
            uid: format!("back-{}", g.machine_id),
            machine: g.machine_id,
            unit_number: g.unit_number,
            yard_name: g.yard_name,
            at: almost_surely_by.unwrap_or(likely_by),
            what: CalendarWhat::AlmostSurelyBack { why: g.why },
        });
    }
    for o in tx.away_now(actor.id, all, MOST).await? {
        let Some(at) = o.promised_at else { continue };
        entries.push(CalendarEntry {
            uid: format!("outside-{}", o.id),
            machine: o.machine_id,
            unit_number: o.unit_number,
            yard_name: o.yard_name,
            at,
            what: CalendarWhat::PromisedBack { vendor: o.vendor, what: o.what },
        });
    }
    let lang = tx.person_language(actor.id).await?.unwrap_or_default();
    Ok(Calendar { person_name: actor.name, lang, now: workshop.ambient.now(), entries })
}
