//! How long records are kept: what the owner set, what would go by it today, and the removing itself, a little at a time.
//! The audit trail is never removed. It says what was: how much, and of which time.

use chrono::{DateTime, Utc};

use super::trail::Trail;
use super::{Result, Workshop, from_json, to_json};
use crate::domain::ids::PersonId;
use crate::domain::person::{Act, Actor};
use crate::domain::retention::{AFTER_LEAVING, LOOKED_BACK_ON, RecordKind, Retention, months_before};
use crate::domain::trail::TrailAct;
use crate::storage::{RemovalLimits, RemovedSpan, Tx};
use crate::words::Text;

/// One kind of records: how long it is kept, and what would go.
#[derive(Clone, Debug)]
pub struct KeptKind {
    pub kind: RecordKind,
    /// None for ever.
    pub months: Option<u32>,
    /// By that, or by what is usual where nothing is set: what is older than this.
    pub before: DateTime<Utc>,
    pub would_go: RemovedSpan,
}

const SETTING: &str = "retention";
/// In one transaction, so that nobody waits for long.
const AT_ONCE: i64 = 200;

/// What is set, and what would go by it today; or what would go by what is only being thought of.
pub async fn kept_kinds(
    workshop: &Workshop,
    actor: &Actor,
    thought_of: Option<&Retention>,
) -> Result<Vec<KeptKind>> {
    actor.must(Act::SetRetention)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let retention = match thought_of {
        Some(retention) => retention.clone(),
        None => set_now(&mut tx).await?,
    };
    let mut kinds = Vec::new();
    for kind in RecordKind::ALL.iter().copied() {
        let months = retention.months(kind);
        let before = months_before(now, months.unwrap_or(kind.usual_months())).unwrap_or_default();
        let would_go = tx.may_be_removed(kind, limits(before, now)).await?;
        kinds.push(KeptKind { kind, months, before, would_go });
    }
    Ok(kinds)
}

pub async fn set_retention(workshop: &Workshop, actor: &Actor, to: &Retention) -> Result<()> {
    actor.must(Act::SetRetention)?;
    let mut tx = workshop.db.begin().await?;
    let before = set_now(&mut tx).await?;
    if before == *to {
        return Ok(());
    }
    tx.set_setting(SETTING, &to_json(to)?).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    for kind in RecordKind::ALL.iter().copied().filter(|k| before.months(*k) != to.months(*k)) {
        let (from, to) = (in_words(before.months(kind)), in_words(to.months(kind)));
        trail.add(TrailAct::RetentionSet, subject(kind), from, to, "");
    }
    trail.write(&mut tx, STREAM).await?;
    Ok(tx.commit().await?)
}

/// Removes a little of what has been kept long enough; answers how much, 0 when there is nothing left to do.
pub async fn remove_once(workshop: &Workshop) -> Result<i64> {
    let now = workshop.ambient.now();
    let retention = set_now(&mut workshop.db.read().await?).await?;
    let mut removed = 0;
    // Repairs first: a check goes only when no defect speaks of it any more.
    for kind in [RecordKind::Repairs, RecordKind::Checks, RecordKind::Alerts, RecordKind::Messages] {
        let Some(before) = retention.before(kind, now) else { continue };
        let mut tx = workshop.db.begin().await?;
        let gone = tx.remove(kind, limits(before, now), AT_ONCE).await?;
        if gone.count == 0 {
            continue;
        }
        let actor = by_itself();
        let mut trail = Trail::new(&actor, now);
        trail.add(TrailAct::RecordsRemoved, subject(kind), span(gone), "", kept_for(&retention, kind));
        trail.write(&mut tx, STREAM).await?;
        tx.commit().await?;
        removed += gone.count;
    }
    Ok(removed)
}

const STREAM: &str = "records";

fn subject(kind: RecordKind) -> String {
    format!("records {kind}")
}

async fn set_now(tx: &mut Tx) -> Result<Retention> {
    match tx.setting(SETTING).await? {
        Some(kept) => from_json(&kept),
        None => Ok(Retention::default()),
    }
}

fn limits(before: DateTime<Utc>, now: DateTime<Utc>) -> RemovalLimits {
    let then = |months| months_before(now, months).unwrap_or_default();
    RemovalLimits { before, looked_back_on: then(LOOKED_BACK_ON).min(before), left: then(AFTER_LEAVING) }
}

fn in_words(months: Option<u32>) -> Text {
    match months {
        Some(months) => said!("retention-for-months", count = i64::from(months)),
        None => said!("retention-for-ever"),
    }
}

fn kept_for(retention: &Retention, kind: RecordKind) -> Text {
    in_words(retention.months(kind))
}

fn span(gone: RemovedSpan) -> Text {
    let day = |at: Option<DateTime<Utc>>| at.map(|at| at.format("%Y-%m-%d").to_string()).unwrap_or_default();
    said!("retention-span", count = gone.count, first = day(gone.first), last = day(gone.last))
}

/// Nobody does it: what the owner set does.
fn by_itself() -> Actor {
    Actor {
        id: PersonId(uuid::Uuid::nil()),
        name: said!("retention-by-itself").kept(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    }
}
