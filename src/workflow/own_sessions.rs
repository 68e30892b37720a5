//! Where a person is signed in, for themselves to see and to end.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::password::prove_password;
use super::sign_in::hash_of;
use super::trail::Trail;
use super::{Result, WHO_IS_IN, Workshop};
use crate::domain::caller::SignInKind;
use crate::domain::ids::{DeviceId, PersonId};
use crate::domain::person::Actor;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::Tx;

/// By what the one who asks came in.
#[derive(Clone, Debug, Default)]
pub struct Here {
    /// Secret of the page session.
    pub session: Option<String>,
    /// What a shared device keeps.
    pub device: Option<String>,
    /// Family of the access token.
    pub family: Option<Uuid>,
}

/// One sign-in, or one device with the person's PIN.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnSession {
    pub id: Uuid,
    pub kind: SignInKind,
    pub since: DateTime<Utc>,
    pub last_used_at: Option<DateTime<Utc>>,
    /// A network; empty when it is not known.
    pub place: String,
    /// Empty when it is not known.
    pub program: String,
    /// Of a device: who trusted it.
    pub trusted_by: Option<String>,
    /// What the one who asks came in by, or sits at.
    pub here: bool,
}

/// What is to be ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ending {
    These(Vec<Uuid>),
    AllOthers,
}

/// The one used last before the others; devices at the end.
pub async fn own_sessions(workshop: &Workshop, actor: &Actor, here: &Here) -> Result<Vec<OwnSession>> {
    let mut tx = workshop.db.read().await?;
    known(&mut tx, actor.id, here, workshop.ambient.now()).await
}

/// Ends some, with the password. A PIN that is ended works on that device no more.
pub async fn end_own_sessions(
    workshop: &Workshop,
    actor: &Actor,
    here: &Here,
    ending: Ending,
    password: &str,
) -> Result<u64> {
    prove_password(workshop, actor, password).await?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let ended = match ending {
        Ending::AllOthers => end_others(&mut tx, actor.id, here, now).await?,
        Ending::These(ids) => {
            if ids.is_empty() {
                return Err(Refusal::invalid("/which", said!("sessions-choose")).into());
            }
            let mut ended = 0;
            for id in ids {
                let one = tx.end_session_of(actor.id, id).await?
                    + tx.end_pin_and_sessions(DeviceId(id), actor.id).await?;
                if one == 0 {
                    return Err(Refusal::NotFound(Thing::SignIn).into());
                }
                ended += 1;
            }
            ended
        }
    };
    if ended > 0 {
        let mut trail = Trail::new(actor, now);
        let (subject, why) = (format!("person {}", actor.name), said!("trail-sign-ins-ended", count = ended));
        trail.add(TrailAct::SignInsEnded, subject, TrailState::Open, TrailState::Ended, why);
        trail.write(&mut tx, &format!("person {}", actor.id)).await?;
        tx.announce(WHO_IS_IN);
    }
    tx.commit().await?;
    Ok(ended)
}

/// Everything of the person but what they came in by; answers how many.
pub(super) async fn end_others(
    tx: &mut Tx,
    person: PersonId,
    here: &Here,
    now: DateTime<Utc>,
) -> Result<u64> {
    let mut ended = 0;
    for other in known(tx, person, here, now).await?.iter().filter(|s| !s.here) {
        if other.kind == SignInKind::Device {
            tx.end_pin_and_sessions(DeviceId(other.id), person).await?;
        } else {
            tx.end_session_of(person, other.id).await?;
        }
        ended += 1;
    }
    tx.end_begun_sign_ins_of(person).await?;
    Ok(ended)
}

async fn known(tx: &mut Tx, person: PersonId, here: &Here, now: DateTime<Utc>) -> Result<Vec<OwnSession>> {
    let session = match &here.session {
        Some(secret) => tx.session_id(&hash_of(secret)).await?,
        None => None,
    };
    let device = match &here.device {
        Some(secret) => tx.device(&hash_of(secret)).await?,
        None => None,
    };
    let pages = tx
        .sessions_of(person, now)
        .await?
        .into_iter()
        .map(|s| (if s.by_pin { SignInKind::Pin } else { SignInKind::Pages }, session == Some(s.id), s));
    let tokens = tx.families_of(person, now).await?.into_iter();
    let tokens = tokens.map(|s| (SignInKind::Api, here.family == Some(s.id), s));
    let mut all: Vec<OwnSession> = pages
        .chain(tokens)
        .map(|(kind, here, s)| OwnSession {
            id: s.id,
            kind,
            since: s.began_at,
            last_used_at: Some(s.last_used_at),
            place: s.place,
            program: s.program,
            trusted_by: None,
            here,
        })
        .collect();
    all.sort_by_key(|s| (!s.here, std::cmp::Reverse(s.last_used_at)));
    all.extend(tx.pins_of(person).await?.into_iter().map(|p| OwnSession {
        id: p.device_id.0,
        kind: SignInKind::Device,
        since: p.set_at,
        last_used_at: p.last_used_at,
        place: String::new(),
        program: String::new(),
        trusted_by: Some(p.trusted_by),
        here: device == Some(p.device_id),
    }));
    Ok(all)
}
