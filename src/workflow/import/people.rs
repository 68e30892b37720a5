//! People. Whoever is new gets a one-time link, as when they are added by hand; who is disabled where the file comes from
//! is disabled here, and gets none.

use std::collections::HashMap;

use super::super::people::{NewPerson, checked, insert, invite, roles_in_words, taken};
use super::super::trail::Trail;
use super::super::{Result, Workshop};
use super::{Import, ImportChange, Yards, change, new};
use crate::domain::ids::PersonId;
use crate::domain::import::ImportOutcome;
use crate::domain::import::sheet::{Line, Sheet};
use crate::domain::money;
use crate::domain::person::{Actor, Role};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::Tx;
use crate::words::{Lang, Text};

pub enum Step {
    Add { new: NewPerson, disabled: bool },
    Change { id: PersonId, to: NewPerson, before: Vec<Role> },
}

/// What the rules call otherwise than the file does.
const NAMED: &[(&str, &str)] = &[("email", "mail address"), ("rate", "hourly rate")];

pub async fn plan(
    workshop: &Workshop,
    tx: &mut Tx,
    sheet: &Sheet,
    yards: &Yards<'_>,
    import: &mut Import,
) -> Result<Vec<Step>> {
    let known: HashMap<_, _> = tx.people().await?.into_iter().map(|p| (p.email.clone(), p)).collect();
    let (all_roles, all_yards) = tx.roles_and_yards().await?;
    let mut seen: HashMap<String, u64> = HashMap::new();
    let mut steps = Vec::new();
    for mut line in sheet.lines() {
        let mail = line.text("mail address").to_lowercase();
        let before = known.get(&mail);
        let mut to = NewPerson {
            name: line.text("name").to_owned(),
            email: mail.clone(),
            roles: roles(&mut line),
            yards: yards_of(&mut line, yards),
            rate_minor: line.amount("hourly rate", &workshop.currency).map_or(0, |a| a.minor),
        };
        let was_yards: Vec<_> = before
            .map(|b| all_yards.iter().filter(|(p, _)| *p == b.id).map(|(_, y)| *y).collect())
            .unwrap_or_default();
        // What the file says nothing of stays as it is.
        if let Some(before) = before {
            if !sheet.has("hourly rate") {
                to.rate_minor = before.rate_minor;
            }
            if !sheet.has("yards") {
                to.yards.clone_from(&was_yards);
            }
        }
        let disabled = line.yes("disabled");
        if line.faults.is_empty() {
            match checked(&to) {
                Ok(sound) => to = sound,
                Err(refusal) => line.refused(&refusal, NAMED),
            }
        }
        if let Some(first) = seen.insert(mail, line.number()) {
            line.fault("mail address", said!("import-stands-twice", first = first.to_string()));
        }
        if before.is_some_and(|b| b.id == yards.actor.id)
            && !to.roles.contains(&Role::Owner)
            && line.faults.is_empty()
        {
            line.fault("roles", said!("person-not-your-own-role"));
        }
        let number = line.number();
        if !import.sound(line) {
            continue;
        }
        let words = |roles: &[Role]| roles_in_words(roles).in_lang(Lang::En).to_owned();
        let names = |ids: &[crate::domain::ids::YardId]| {
            let mut names: Vec<_> =
                yards.all.iter().filter(|y| ids.contains(&y.id)).map(|y| y.name.as_str()).collect();
            names.sort_unstable();
            names.join(" | ")
        };
        let Some(before) = before else {
            let mut says: Vec<ImportChange> =
                vec![new("mail address", to.email.as_str()), new("roles", words(&to.roles))];
            says.extend((!to.yards.is_empty()).then(|| new("yards", names(&to.yards))));
            says.extend(disabled.then(|| new("disabled", "yes")));
            import.add(number, &to.name, ImportOutcome::Added, says);
            steps.push(Step::Add { new: to, disabled });
            continue;
        };
        let mut was_roles: Vec<_> =
            all_roles.iter().filter(|(p, _)| *p == before.id).map(|(_, r)| *r).collect();
        was_roles.sort_unstable();
        to.roles.sort_unstable();
        let money = |minor| money::shown(minor, "").trim().to_owned();
        let changes: Vec<_> = [
            change("name", &before.name, &to.name),
            change("roles", &words(&was_roles), &words(&to.roles)),
            change("yards", &names(&was_yards), &names(&to.yards)),
            change("hourly rate", &money(before.rate_minor), &money(to.rate_minor)),
        ]
        .into_iter()
        .flatten()
        .collect();
        let outcome = if changes.is_empty() { ImportOutcome::AlreadySo } else { ImportOutcome::Changed };
        import.add(number, &before.name, outcome, changes);
        if outcome == ImportOutcome::Changed {
            steps.push(Step::Change { id: before.id, to, before: was_roles });
        }
    }
    Ok(steps)
}

pub async fn take(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    steps: Vec<Step>,
) -> Result<Vec<(String, String, String)>> {
    let now = workshop.ambient.now();
    let mut invited = Vec::new();
    for step in steps {
        let mut trail = Trail::new(actor, now);
        let (id, subject) = match step {
            Step::Add { new, disabled } => {
                let id = insert(workshop, tx, &new).await?;
                let subject = format!("person {}", new.email);
                let why = said!("trail-in-file");
                trail.add(
                    TrailAct::PersonAdded,
                    subject.clone(),
                    "",
                    roles_in_words(&new.roles),
                    why.clone(),
                );
                if disabled {
                    tx.set_disabled(id, Some(now)).await?;
                    let (from, to) = (TrailState::Active, TrailState::Disabled);
                    trail.add(TrailAct::PersonDisabledOrEnabled, subject.clone(), from, to, why);
                } else {
                    let secret = invite(workshop, tx, id).await?;
                    invited.push((new.name, new.email, secret));
                }
                (id, subject)
            }
            Step::Change { id, to, before } => {
                tx.update_person(id, &to.name, &to.email, to.rate_minor).await.map_err(taken)?;
                tx.set_roles_and_yards(id, &to.roles, &to.yards).await?;
                let subject = format!("person {}", to.email);
                let (from, roles) = (roles_in_words(&before), roles_in_words(&to.roles));
                trail.add(TrailAct::PersonChanged, subject.clone(), from, roles, said!("trail-in-file"));
                (id, subject)
            }
        };
        debug_assert!(!subject.is_empty());
        trail.write(tx, &format!("person {id}")).await?;
    }
    Ok(invited)
}

/// By their fixed words, or in any language; with `|` or a comma between them.
fn roles(line: &mut Line<'_>) -> Vec<Role> {
    let typed = line.text("roles").replace(',', "|").to_lowercase();
    let mut roles = Vec::new();
    for word in typed.split('|').map(str::trim).filter(|w| !w.is_empty()) {
        let found = Role::ALL.iter().copied().find(|r| {
            r.as_str() == word
                || Lang::ALL.iter().any(|lang| Text::of(r).in_lang(*lang).to_lowercase() == word)
        });
        match found {
            Some(role) if roles.contains(&role) => {}
            Some(role) => roles.push(role),
            None => line.fault("roles", said!("import-unknown-role", given = word)),
        }
    }
    roles
}

fn yards_of(line: &mut Line<'_>, yards: &Yards<'_>) -> Vec<crate::domain::ids::YardId> {
    // A name may have the sign between names in it.
    if let Some(whole) = yards.named(line.text("yards")) {
        return vec![whole.id];
    }
    let names: Vec<String> = line.list("yards").into_iter().map(str::to_owned).collect();
    let mut found = Vec::new();
    for name in names {
        match yards.named(&name) {
            Some(yard) if found.contains(&yard.id) => {}
            Some(yard) => found.push(yard.id),
            None => line.fault("yards", yards.unknown(&name)),
        }
    }
    found
}
