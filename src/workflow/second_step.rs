//! The second step of signing in: setting it up, being asked for it, and taking it away again.

use chrono::{DateTime, Utc};

use super::password::prove_password;
use super::sign_in::{enter_page, hash_of};
use super::tell::{self, Asks};
use super::throttle::count_code;
use super::trail::Trail;
use super::{Result, WHO_IS_IN, WorkflowError, Workshop};
use crate::domain::alert::Event;
use crate::domain::caller::Caller;
use crate::domain::ids::PersonId;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::second_step::{
    MOST_TRIES, RECOVERY_BYTES, RECOVERY_CODES, SECRET_BYTES, SET_UP_FOR, base32, from_base32,
    looks_like_code, plain_recovery_code, step_of,
};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{StorageError, Tx};

const SETTING: &str = "second step";
const ASKED_FOR: &str = "asked for";

/// How one's own stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SecondStep {
    pub since: Option<DateTime<Utc>>,
    pub recovery_codes_left: i64,
    /// The owner asks supervisors and owners for it.
    pub asked_for: bool,
}

pub async fn second_step(workshop: &Workshop, actor: &Actor) -> Result<SecondStep> {
    let mut tx = workshop.db.read().await?;
    let since = tx.second_step(actor.id).await?.and_then(|s| s.confirmed_at);
    Ok(SecondStep {
        since,
        recovery_codes_left: tx.recovery_codes_left(actor.id).await?,
        asked_for: is_asked_for(&mut tx).await?,
    })
}

/// Makes the secret that the person's phone is to keep, in base32. It counts when the first code of it was right.
pub async fn begin_second_step(workshop: &Workshop, actor: &Actor, password: &str) -> Result<String> {
    prove_password(workshop, actor, password).await?;
    let secret = base32(&workshop.ambient.bytes::<SECRET_BYTES>());
    let mut tx = workshop.db.begin().await?;
    let begun = tx.begin_second_step(actor.id, &secret, workshop.ambient.now()).await;
    begun.map_err(|e| if_changed(e, Refusal::conflict(said!("second-step-is-on"))))?;
    tx.commit().await?;
    Ok(secret)
}

/// The secret that waits for its first code.
pub async fn begun_second_step(workshop: &Workshop, actor: &Actor) -> Result<Option<String>> {
    let now = workshop.ambient.now();
    let row = workshop.db.read().await?.second_step(actor.id).await?;
    Ok(row.filter(|s| s.confirmed_at.is_none() && now < s.begun_at + SET_UP_FOR).map(|s| s.secret))
}

/// With the first code it is on. Answers the recovery codes, which are shown this once.
pub async fn confirm_second_step(workshop: &Workshop, actor: &Actor, code: &str) -> Result<Vec<String>> {
    let now = workshop.ambient.now();
    let secret = begun_second_step(workshop, actor).await?;
    let secret = secret.ok_or_else(|| Refusal::conflict(said!("second-step-begin-again")))?;
    let tried = count_code(workshop, actor.id).await?;
    let step = from_base32(&secret).and_then(|s| step_of(&s, code, now, 0)).ok_or_else(wrong_code)?;
    let (codes, hashes) = recovery_codes(workshop);
    let mut tx = workshop.db.begin().await?;
    // Begun anew in another window meanwhile: then the code was of another secret.
    if tx.second_step(actor.id).await?.is_none_or(|s| s.secret != secret) {
        return Err(Refusal::conflict(said!("second-step-begin-again")).into());
    }
    let confirmed = tx.confirm_second_step(actor.id, now).await;
    confirmed.map_err(|e| if_changed(e, Refusal::conflict(said!("second-step-is-on"))))?;
    tx.use_step(actor.id, step).await?;
    tx.set_recovery_codes(actor.id, &hashes).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::SecondStepSet, person(actor), TrailState::Ungiven, TrailState::Set, "");
    trail.write(&mut tx, &stream(actor.id)).await?;
    tx.commit().await?;
    tried.was_right(workshop, actor.id).await?;
    Ok(codes)
}

/// New recovery codes, in place of those there were.
pub async fn renew_recovery_codes(workshop: &Workshop, actor: &Actor, password: &str) -> Result<Vec<String>> {
    prove_password(workshop, actor, password).await?;
    let (codes, hashes) = recovery_codes(workshop);
    let mut tx = workshop.db.begin().await?;
    if tx.second_step(actor.id).await?.is_none_or(|s| s.confirmed_at.is_none()) {
        return Err(Refusal::conflict(said!("second-step-is-off")).into());
    }
    tx.set_recovery_codes(actor.id, &hashes).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::RecoveryCodesMade, person(actor), "", TrailState::Set, "");
    trail.write(&mut tx, &stream(actor.id)).await?;
    tx.commit().await?;
    Ok(codes)
}

/// One's own.
pub async fn remove_second_step(workshop: &Workshop, actor: &Actor, password: &str) -> Result<()> {
    prove_password(workshop, actor, password).await?;
    let mut tx = workshop.db.begin().await?;
    remove(&mut tx, actor, actor.id, &actor.name, workshop.ambient.now()).await?;
    Ok(tx.commit().await?)
}

/// Of somebody whose phone is lost. Whatever they are signed in with ends as well, for it may be on that phone, and they
/// are told.
pub async fn remove_second_step_of(
    workshop: &Workshop,
    actor: &Actor,
    id: PersonId,
    password: &str,
) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    prove_password(workshop, actor, password).await?;
    lost_second_step(workshop, actor, id).await
}

/// As [`remove_second_step_of`], for whoever runs commands beside the data.
pub async fn lost_second_step(workshop: &Workshop, actor: &Actor, id: PersonId) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let found = tx.person(id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    remove(&mut tx, actor, id, &found.name, now).await?;
    // Those may be on the same phone.
    tx.remove_passkeys_of(id).await?;
    tx.end_everything_of(id).await?;
    let key = format!("second step of {id} removed {}", now.timestamp_micros());
    let nobody = Asks { event_key: "", people: &[] };
    tell::send(workshop, &mut tx, actor, None, None, &key, Event::SecondStepRemoved, &[id], nobody, now)
        .await?;
    tx.announce("outbox");
    tx.announce(WHO_IS_IN);
    Ok(tx.commit().await?)
}

/// Whether supervisors and owners must have one. Whoever asks for it has one.
pub async fn ask_for_second_step(workshop: &Workshop, actor: &Actor, on: bool, password: &str) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    prove_password(workshop, actor, password).await?;
    let mut tx = workshop.db.begin().await?;
    if on && tx.second_step(actor.id).await?.is_none_or(|s| s.confirmed_at.is_none()) {
        return Err(Refusal::conflict(said!("second-step-yours-first")).into());
    }
    let was = is_asked_for(&mut tx).await?;
    tx.set_setting(SETTING, if on { ASKED_FOR } else { "" }).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    let word = |on| if on { TrailState::Set } else { TrailState::Ungiven };
    trail.add(TrailAct::SecondStepAskedFor, person(actor), word(was), word(on), "");
    trail.write(&mut tx, &stream(actor.id)).await?;
    tx.announce(WHO_IS_IN);
    Ok(tx.commit().await?)
}

/// Whoever has one, for the list of people.
pub async fn with_second_step(workshop: &Workshop, actor: &Actor) -> Result<(Vec<PersonId>, bool)> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.read().await?;
    Ok((tx.with_second_step().await?, is_asked_for(&mut tx).await?))
}

/// The second half of a sign-in on the pages: the code. Answers the session's secret.
pub async fn finish_sign_in(
    workshop: &Workshop,
    begun: &str,
    code: &str,
    from: impl Into<Caller>,
    device: Option<&str>,
) -> Result<(Actor, String)> {
    let now = workshop.ambient.now();
    let over = || Refusal::Forbidden(said!("second-step-over"));
    let mut tx = workshop.db.begin().await?;
    let person = tx.try_begun_sign_in(&hash_of(begun), now, MOST_TRIES).await?.ok_or_else(over)?;
    tx.commit().await?;
    prove_code(workshop, person, code).await?;
    let mut tx = workshop.db.begin().await?;
    tx.end_begun_sign_in(&hash_of(begun)).await.map_err(|e| if_changed(e, over()))?;
    let actor = tx.actor(person).await?.ok_or_else(over)?;
    let secret = enter_page(workshop, &mut tx, &actor, &from.into(), device).await?;
    tx.commit().await?;
    Ok((actor, secret))
}

/// Refuses what is neither the present code nor an unused recovery code. Each counts once.
pub(super) async fn prove_code(workshop: &Workshop, id: PersonId, code: &str) -> Result<()> {
    if code.trim().is_empty() {
        return Err(Refusal::invalid("/code", said!("second-step-give")).into());
    }
    let now = workshop.ambient.now();
    let tried = count_code(workshop, id).await?;
    let mut tx = workshop.db.begin().await?;
    let used = if looks_like_code(code) {
        let row = tx.second_step(id).await?.filter(|s| s.confirmed_at.is_some());
        let step = row.and_then(|s| step_of(&from_base32(&s.secret)?, code, now, s.last_step));
        tx.use_step(id, step.ok_or_else(wrong_code)?).await
    } else {
        tx.use_recovery_code(id, &hash_of(&plain_recovery_code(code)), now).await
    };
    used.map_err(|e| if_changed(e, wrong_code()))?;
    tx.commit().await?;
    tried.was_right(workshop, id).await
}

async fn remove(tx: &mut Tx, actor: &Actor, id: PersonId, name: &str, now: DateTime<Utc>) -> Result<()> {
    if tx.remove_second_step(id).await? == 0 {
        return Err(Refusal::conflict(said!("second-step-is-off")).into());
    }
    let mut trail = Trail::new(actor, now);
    let subject = format!("person {name}");
    trail.add(TrailAct::SecondStepRemoved, subject, TrailState::Set, TrailState::Ungiven, "");
    trail.write(tx, &stream(id)).await
}

async fn is_asked_for(tx: &mut Tx) -> Result<bool> {
    Ok(tx.setting(SETTING).await?.as_deref() == Some(ASKED_FOR))
}

/// As they are shown, and as they are kept.
fn recovery_codes(workshop: &Workshop) -> (Vec<String>, Vec<String>) {
    let made = (0..RECOVERY_CODES).map(|_| base32(&workshop.ambient.bytes::<RECOVERY_BYTES>()));
    made.map(|code| (code.clone(), hash_of(&code))).unzip()
}

fn person(actor: &Actor) -> String {
    format!("person {}", actor.name)
}

fn stream(id: PersonId) -> String {
    format!("person {id}")
}

fn wrong_code() -> Refusal {
    Refusal::invalid("/code", said!("second-step-wrong"))
}

fn if_changed(error: StorageError, refusal: Refusal) -> WorkflowError {
    match error {
        StorageError::Changed => refusal.into(),
        other => other.into(),
    }
}
