//! Who works here: the first owner by a one-time link, everybody else by invitation.

use chrono::TimeDelta;

use super::hearing::somebody_hears;
use super::password::hash_password;
use super::sign_in::hash_of;
use super::trail::Trail;
use super::{Result, WHO_IS_IN, WorkflowError, Workshop};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing, plain_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{PersonRow, StorageError, Tx};
use crate::words::Text;

#[derive(Clone, Debug, Default)]
pub struct NewPerson {
    pub name: String,
    pub email: String,
    pub roles: Vec<Role>,
    pub yards: Vec<YardId>,
    /// Minor units an hour, for labour.
    pub rate_minor: i64,
}

/// A one-time link as it was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Invitation {
    /// The very first one: whoever opens it becomes the owner.
    FirstOwner,
    Person {
        id: PersonId,
        name: String,
        email: String,
    },
}

const INVITATION: TimeDelta = TimeDelta::days(7);

/// On a database without people: the secret of a fresh set-up link, replacing any earlier one.
pub async fn first_owner_link(workshop: &Workshop) -> Result<Option<String>> {
    let mut tx = workshop.db.begin().await?;
    if tx.count_people().await? > 0 {
        return Ok(None);
    }
    let secret = workshop.ambient.secret();
    tx.drop_owner_invitations().await?;
    tx.insert_invitation(&hash_of(&secret), None, workshop.ambient.now() + INVITATION).await?;
    tx.commit().await?;
    Ok(Some(secret))
}

/// What a link is for, if it still works.
pub async fn invitation_for(workshop: &Workshop, secret: &str) -> Result<Invitation> {
    let mut tx = workshop.db.read().await?;
    match tx.invitation(&hash_of(secret), workshop.ambient.now()).await?.ok_or_else(used_up)? {
        None => Ok(Invitation::FirstOwner),
        Some(id) => {
            let person = tx.person(id).await?.ok_or_else(used_up)?;
            Ok(Invitation::Person { id, name: person.name, email: person.email })
        }
    }
}

/// Sets the password; for the first link also makes the owner. The link is used up in the same transaction.
pub async fn accept_invitation(
    workshop: &Workshop,
    secret: &str,
    name: &str,
    email: &str,
    password: &str,
) -> Result<PersonId> {
    let now = workshop.ambient.now();
    let invitation = invitation_for(workshop, secret).await?;
    let about = match &invitation {
        Invitation::FirstOwner => [name, email],
        Invitation::Person { name, email, .. } => [name.as_str(), email.as_str()],
    };
    let hash = hash_password(workshop, password, &about).await?;
    let mut tx = workshop.db.begin().await?;
    match tx.use_invitation(&hash_of(secret), now).await {
        Ok(()) => {}
        Err(StorageError::Changed) => return Err(used_up().into()),
        Err(e) => return Err(e.into()),
    }
    let id = match invitation {
        Invitation::Person { id, .. } => id,
        Invitation::FirstOwner => {
            if tx.count_people().await? > 0 {
                return Err(used_up().into());
            }
            let new = NewPerson {
                name: name.to_owned(),
                email: email.to_owned(),
                roles: vec![Role::Owner],
                ..NewPerson::default()
            };
            insert(workshop, &mut tx, &new).await?
        }
    };
    tx.set_password(id, &hash).await?;
    // Whoever else knew the old one is out.
    tx.end_everything_of(id).await?;
    let person = tx.person(id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    let actor =
        Actor { id, name: person.name.clone(), roles: vec![], yards: vec![], by_pin: false, long_ago: false };
    let mut trail = Trail::new(&actor, now);
    trail.add(
        TrailAct::PasswordSet,
        format!("person {}", person.email),
        TrailState::Invited,
        TrailState::Active,
        said!("trail-by-link"),
    );
    trail.write(&mut tx, &format!("person {id}")).await?;
    tx.announce(WHO_IS_IN);
    tx.commit().await?;
    Ok(id)
}

/// Adds a person; answers the secret of the link with which they set a password.
pub async fn add_person(workshop: &Workshop, actor: &Actor, new: NewPerson) -> Result<(PersonId, String)> {
    actor.must(Act::SetUpPeople)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let id = insert(workshop, &mut tx, &new).await?;
    let secret = invite(workshop, &mut tx, id).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::PersonAdded, format!("person {}", new.email), "", roles_in_words(&new.roles), "");
    trail.write(&mut tx, &format!("person {id}")).await?;
    tx.commit().await?;
    Ok((id, secret))
}

pub async fn invite_again(workshop: &Workshop, actor: &Actor, id: PersonId) -> Result<String> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.begin().await?;
    let person = tx.person(id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    let secret = invite(workshop, &mut tx, id).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::PersonInvited, format!("person {}", person.email), "", TrailState::OneTimeLink, "");
    trail.write(&mut tx, &format!("person {id}")).await?;
    tx.commit().await?;
    Ok(secret)
}

/// Changes name, address, rate, roles and yards. Takes effect with the next request of that person.
pub async fn change_person(workshop: &Workshop, actor: &Actor, id: PersonId, to: NewPerson) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    let now = workshop.ambient.now();
    let to = checked(&to)?;
    let mut tx = workshop.db.begin().await?;
    tx.person(id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    known_yards(&mut tx, &to.yards).await?;
    let before = tx.actor(id).await?.map(|a| roles_in_words(&a.roles)).unwrap_or_default();
    if id == actor.id && !to.roles.contains(&Role::Owner) {
        return Err(Refusal::conflict(said!("person-not-your-own-role")).into());
    }
    tx.update_person(id, &to.name, &to.email, to.rate_minor).await.map_err(taken)?;
    tx.set_roles_and_yards(id, &to.roles, &to.yards).await?;
    somebody_hears(&mut tx).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::PersonChanged, format!("person {}", to.email), before, roles_in_words(&to.roles), "");
    trail.write(&mut tx, &format!("person {id}")).await?;
    tx.announce(WHO_IS_IN);
    tx.commit().await?;
    Ok(())
}

/// Ends every session, token and PIN at once; what the person did stays on record.
pub async fn disable_person(workshop: &Workshop, actor: &Actor, id: PersonId, disabled: bool) -> Result<()> {
    actor.must(Act::SetUpPeople)?;
    if id == actor.id && disabled {
        return Err(Refusal::conflict(said!("person-not-yourself")).into());
    }
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let person = tx.person(id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    tx.set_disabled(id, disabled.then_some(now)).await?;
    if disabled {
        tx.end_everything_of(id).await?;
        somebody_hears(&mut tx).await?;
    }
    let words = |disabled| if disabled { TrailState::Disabled } else { TrailState::Active };
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::PersonDisabledOrEnabled,
        format!("person {}", person.email),
        words(person.disabled_at.is_some()),
        words(disabled),
        "",
    );
    trail.write(&mut tx, &format!("person {id}")).await?;
    tx.announce(WHO_IS_IN);
    tx.commit().await?;
    Ok(())
}

/// Sets a password without a link: for the administrator at the machine itself, and for the demo.
pub async fn set_password(workshop: &Workshop, id: PersonId, password: &str) -> Result<()> {
    let person = workshop.db.read().await?.person(id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    let hash = hash_password(workshop, password, &[&person.name, &person.email]).await?;
    let mut tx = workshop.db.begin().await?;
    tx.set_password(id, &hash).await?;
    tx.end_everything_of(id).await?;
    tx.commit().await?;
    Ok(())
}

/// Everybody, with roles and yards, for the set-up page and the commands.
pub async fn people(workshop: &Workshop, actor: &Actor) -> Result<Vec<(PersonRow, Vec<Role>, Vec<YardId>)>> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.read().await?;
    let people = tx.people().await?;
    let (roles, yards) = tx.roles_and_yards().await?;
    Ok(people
        .into_iter()
        .map(|p| {
            let his_roles = roles.iter().filter(|(id, _)| *id == p.id).map(|(_, r)| *r).collect();
            let his_yards = yards.iter().filter(|(id, _)| *id == p.id).map(|(_, y)| *y).collect();
            (p, his_roles, his_yards)
        })
        .collect())
}

pub(super) async fn insert(workshop: &Workshop, tx: &mut Tx, new: &NewPerson) -> Result<PersonId> {
    let new = checked(new)?;
    known_yards(tx, &new.yards).await?;
    let id: PersonId = workshop.ambient.id();
    tx.insert_person(id, &new.name, &new.email, new.rate_minor, workshop.ambient.now())
        .await
        .map_err(taken)?;
    tx.set_roles_and_yards(id, &new.roles, &new.yards).await?;
    Ok(id)
}

pub(super) async fn invite(workshop: &Workshop, tx: &mut Tx, id: PersonId) -> Result<String> {
    let secret = workshop.ambient.secret();
    tx.insert_invitation(&hash_of(&secret), Some(id), workshop.ambient.now() + INVITATION).await?;
    Ok(secret)
}

async fn known_yards(tx: &mut Tx, named: &[YardId]) -> Result<()> {
    let known = if named.is_empty() { Vec::new() } else { tx.yards().await? };
    let all = named.iter().all(|id| known.iter().any(|y| y.id == *id));
    if all { Ok(()) } else { Err(Refusal::invalid("/yards", said!("person-no-such-yard")).into()) }
}

fn each_once<T: Copy + PartialEq>(said: &[T]) -> Vec<T> {
    let first = |(n, it): &(usize, &T)| !said[..*n].contains(it);
    said.iter().enumerate().filter(first).map(|(_, it)| *it).collect()
}

pub(super) fn checked(new: &NewPerson) -> Result<NewPerson, Refusal> {
    let email = plain_text("/email", said!("what-mail-address"), &new.email, 254)?.to_lowercase();
    let well_formed = email.split_once('@').is_some_and(|(left, right)| {
        !left.is_empty() && !right.is_empty() && !right.contains('@') && !email.contains(char::is_whitespace)
    });
    if !well_formed {
        return Err(Refusal::invalid("/email", said!("person-mail-address")));
    }
    if new.roles.is_empty() {
        return Err(Refusal::invalid("/roles", said!("person-a-role")));
    }
    if !new.roles.contains(&Role::Owner) && new.yards.is_empty() {
        return Err(Refusal::invalid("/yards", said!("person-a-yard")));
    }
    if new.rate_minor < 0 {
        return Err(Refusal::invalid("/rate", said!("person-rate")));
    }
    let name = plain_text("/name", said!("what-name"), &new.name, 80)?;
    let (roles, yards) = (each_once(&new.roles), each_once(&new.yards));
    Ok(NewPerson { name, email, roles, yards, rate_minor: new.rate_minor })
}

pub(super) fn taken(error: StorageError) -> WorkflowError {
    match error {
        StorageError::Duplicate(_) => Refusal::conflict(said!("person-address-taken")).into(),
        other => other.into(),
    }
}

pub(super) fn roles_in_words(roles: &[Role]) -> Text {
    let roles: Vec<_> = roles.iter().map(|role| Text::of(role)).collect();
    Text::joined(&roles, ", ")
}

fn used_up() -> Refusal {
    Refusal::Conflict(said!("person-link-used-up"))
}
