//! Who hears what: the owner's requirements of a yard, and each person's choice within them. In every yard at least one person
//! hears of each hold, of whatever class.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveTime, Utc};

use super::tell::{hears_all, zone_of};
use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::hearing::{AlertKind, LONGEST_WAIT, QuietHours, SHORTEST_WAIT, Wanted, digest_due};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Problem, Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{ChainRow, HearingRuleRow, Tx, YardRow};
use crate::words::Text;

/// What one person hears of one yard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnYard {
    pub yard: YardId,
    pub name: String,
    /// Each kind, whether it is heard, and whether the owner requires it.
    pub kinds: Vec<(AlertKind, bool, bool)>,
    /// Of these classes only; of all when empty.
    pub classes: Vec<String>,
    pub all_classes: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnAlerts {
    pub quiet: Option<QuietHours>,
    pub yards: Vec<OwnYard>,
}

/// What a person wants of one yard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnChoice {
    pub yard: YardId,
    pub heard: Vec<(AlertKind, bool)>,
    pub classes: Vec<String>,
}

/// What the owner has set for one yard.
#[derive(Clone, Debug)]
pub struct YardAlerts {
    pub yard: YardRow,
    /// Every kind and role with what holds.
    pub rules: Vec<HearingRuleRow>,
    pub chain: Vec<ChainRow>,
    /// Who could stand in the chain.
    pub people: Vec<(PersonId, String)>,
    pub digest: Option<NaiveTime>,
}

pub async fn own_alerts(workshop: &Workshop, actor: &Actor) -> Result<OwnAlerts> {
    let mut tx = workshop.db.read().await?;
    let (chosen, classes) = (tx.own_hearing(actor.id).await?, tx.own_classes(actor.id).await?);
    let mut yards = Vec::new();
    for yard in tx.yards().await?.into_iter().filter(|y| actor.in_yard(y.id)) {
        let rules = tx.hearing_rules(yard.id).await?;
        let kinds = AlertKind::OF_A_YARD
            .into_iter()
            .map(|kind| {
                let wanted = wanted_of(actor, yard.id, kind, &rules);
                let own = chosen.iter().find(|c| c.yard_id == yard.id && c.kind == kind).map(|c| c.heard);
                (kind, wanted.heard(own), wanted == Wanted::Required)
            })
            .collect();
        yards.push(OwnYard {
            yard: yard.id,
            name: yard.name,
            kinds,
            classes: classes.iter().filter(|(y, _)| *y == yard.id).map(|(_, c)| c.clone()).collect(),
            all_classes: tx.classes_of_yard(yard.id).await?,
        });
    }
    Ok(OwnAlerts { quiet: tx.quiet_hours_of(actor.id).await?, yards })
}

/// Replaces what the person chose. Refused where then nobody would hear of a hold.
pub async fn choose_alerts(
    workshop: &Workshop,
    actor: &Actor,
    quiet: Option<QuietHours>,
    choices: Vec<OwnChoice>,
) -> Result<()> {
    let now = workshop.ambient.now();
    if quiet.is_some_and(|q| q.from == q.to) {
        return Err(Refusal::invalid("/quiet_from", said!("hearing-quiet-same")).into());
    }
    let mut tx = workshop.db.begin().await?;
    tx.set_quiet_hours(actor.id, quiet).await?;
    let mut trail = Trail::new(actor, now);
    for choice in choices {
        let yard = tx.yard(choice.yard).await?.filter(|y| actor.in_yard(y.id));
        let yard = yard.ok_or(Refusal::NotFound(Thing::Yard))?;
        let rules = tx.hearing_rules(yard.id).await?;
        // Kept only where it is another than what holds anyway: who has not chosen goes along with what the owner changes.
        let heard: Vec<(AlertKind, bool)> = choice
            .heard
            .into_iter()
            .filter(|(kind, heard)| {
                let wanted = wanted_of(actor, yard.id, *kind, &rules);
                AlertKind::OF_A_YARD.contains(kind)
                    && wanted != Wanted::Required
                    && wanted.heard(None) != *heard
            })
            .collect();
        let known = tx.classes_of_yard(yard.id).await?;
        let classes: Vec<String> = choice.classes.into_iter().filter(|c| known.contains(c)).collect();
        tx.set_own_hearing(actor.id, yard.id, &heard, &classes).await?;
        let words: Vec<Text> = heard
            .iter()
            .map(|(kind, heard)| match heard {
                true => said!("hearing-trail-on", kind = kind),
                false => said!("hearing-trail-off", kind = kind),
            })
            .chain(classes.iter().map(|c| Text::typed(c.clone())))
            .collect();
        trail.add(TrailAct::AlertsChosen, format!("yard {}", yard.name), "", Text::joined(&words, "; "), "");
    }
    somebody_hears(&mut tx).await?;
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    Ok(tx.commit().await?)
}

pub async fn yard_alerts(workshop: &Workshop, actor: &Actor, id: YardId) -> Result<YardAlerts> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.read().await?;
    let yard = tx.yard(id).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    let set = tx.hearing_rules(id).await?;
    let mut rules = Vec::new();
    for kind in AlertKind::OF_A_YARD {
        for role in Role::ALL {
            let wanted = rule(&set, kind, *role);
            rules.push(HearingRuleRow { kind, role: *role, wanted });
        }
    }
    let mut people = tx.people_of_yard(id).await?;
    for owner in tx.owners().await? {
        if !people.iter().any(|(p, _)| *p == owner) {
            people.extend(tx.person(owner).await?.map(|p| (p.id, p.name)));
        }
    }
    let digest = tx.digest_yards().await?.into_iter().find(|d| d.yard == id).map(|d| d.at);
    Ok(YardAlerts { rules, chain: tx.next_in_line(id).await?, people, digest, yard })
}

/// What the owner asks of a yard, all of it at once.
#[derive(Clone, Debug)]
pub struct YardAlertsWanted {
    pub rules: Vec<HearingRuleRow>,
    /// Each so many minutes after the one before.
    pub chain: Vec<(PersonId, i64)>,
    pub digest: Option<NaiveTime>,
}

pub async fn set_yard_alerts(
    workshop: &Workshop,
    actor: &Actor,
    id: YardId,
    wanted: YardAlertsWanted,
) -> Result<()> {
    let mut change = Change::begin(workshop, actor, id).await?;
    change.require(wanted.rules).await?;
    change.chain(wanted.chain).await?;
    change.digest(wanted.digest).await?;
    change.commit().await
}

/// What the owner asks of each role.
pub async fn require_alerts(
    workshop: &Workshop,
    actor: &Actor,
    id: YardId,
    rules: Vec<HearingRuleRow>,
) -> Result<()> {
    let mut change = Change::begin(workshop, actor, id).await?;
    change.require(rules).await?;
    change.commit().await
}

/// Who is told next where nobody acknowledges, each so many minutes after the one before.
pub async fn set_chain(
    workshop: &Workshop,
    actor: &Actor,
    id: YardId,
    chain: Vec<(PersonId, i64)>,
) -> Result<()> {
    let mut change = Change::begin(workshop, actor, id).await?;
    change.chain(chain).await?;
    change.commit().await
}

/// When the yard's digest goes out; none for not at all. One whose hour has passed today comes tomorrow.
pub async fn set_digest(workshop: &Workshop, actor: &Actor, id: YardId, at: Option<NaiveTime>) -> Result<()> {
    let mut change = Change::begin(workshop, actor, id).await?;
    change.digest(at).await?;
    change.commit().await
}

/// A change of what is asked of a yard, before it is committed.
struct Change<'a> {
    tx: Tx,
    trail: Trail<'a>,
    yard: YardRow,
    now: DateTime<Utc>,
}

impl<'a> Change<'a> {
    async fn begin(workshop: &Workshop, actor: &'a Actor, id: YardId) -> Result<Self> {
        actor.must(Act::SetUpPeople)?;
        let now = workshop.ambient.now();
        let mut tx = workshop.db.begin().await?;
        let yard = tx.yard(id).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
        Ok(Self { tx, trail: Trail::new(actor, now), yard, now })
    }

    async fn require(&mut self, rules: Vec<HearingRuleRow>) -> Result<()> {
        let unlike: Vec<HearingRuleRow> = rules
            .into_iter()
            .filter(|r| AlertKind::OF_A_YARD.contains(&r.kind) && r.wanted != r.kind.usually(r.role))
            .collect();
        self.tx.set_hearing_rules(self.yard.id, &unlike).await?;
        somebody_hears(&mut self.tx).await?;
        let words: Vec<Text> = unlike
            .iter()
            .map(|r| said!("hearing-trail-rule", kind = r.kind, role = r.role, wanted = r.wanted))
            .collect();
        self.note(TrailAct::AlertsRequired, Text::joined(&words, "; "));
        Ok(())
    }

    async fn chain(&mut self, chain: Vec<(PersonId, i64)>) -> Result<()> {
        let mut problems = Vec::new();
        let mut names = Vec::new();
        for (n, (person, wait)) in chain.iter().enumerate() {
            if !(SHORTEST_WAIT..=LONGEST_WAIT).contains(wait) {
                let sentence = said!("hearing-wait", least = SHORTEST_WAIT, most = LONGEST_WAIT);
                problems.push(Problem::new(format!("/chain/{n}/wait_minutes"), sentence));
            }
            match self.tx.actor(*person).await?.filter(|p| p.in_yard(self.yard.id)) {
                Some(person) => {
                    names.push(said!("hearing-trail-step", who = person.name, minutes = *wait));
                }
                None => {
                    let sentence = said!("hearing-not-of-this-yard");
                    problems.push(Problem::new(format!("/chain/{n}/person"), sentence));
                }
            }
        }
        if !problems.is_empty() {
            return Err(Refusal::Invalid { problems }.into());
        }
        self.tx.set_chain(self.yard.id, &chain).await?;
        let set = if names.is_empty() { Text::of(&TrailState::Ungiven) } else { Text::joined(&names, ", ") };
        self.note(TrailAct::ChainSet, set);
        Ok(())
    }

    async fn digest(&mut self, at: Option<NaiveTime>) -> Result<()> {
        let zone = zone_of(&self.yard)?;
        let passed = at.and_then(|at| digest_due(self.now, zone, at, None));
        self.tx.set_digest(self.yard.id, at, passed).await?;
        let words =
            at.map_or(Text::of(&TrailState::Ungiven), |at| Text::typed(at.format("%H:%M").to_string()));
        self.note(TrailAct::DigestSet, words);
        Ok(())
    }

    fn note(&mut self, act: TrailAct, set: Text) {
        self.trail.add(act, format!("yard {}", self.yard.name), "", set, "");
    }

    async fn commit(mut self) -> Result<()> {
        self.trail.write(&mut self.tx, &format!("yard {}", self.yard.id)).await?;
        Ok(self.tx.commit().await?)
    }
}

/// Refuses a change after which a yard has nobody who hears of every hold. Asked whenever somebody chooses, changes or
/// leaves, inside the change's own transaction.
pub async fn somebody_hears(tx: &mut Tx) -> Result<()> {
    // One after the other: of two who switch off at once, the second sees the first.
    tx.set_setting("hearing", "").await?;
    for yard in tx.yards().await? {
        for kind in [AlertKind::MachineHeld, AlertKind::UsedWhileHeld] {
            if hears_all(tx, yard.id, kind).await?.is_empty() {
                let sentence = said!("hearing-nobody-left", kind = kind, yard = yard.name);
                return Err(Refusal::conflict(sentence).into());
            }
        }
    }
    Ok(())
}

/// The most that is asked of the actor's roles in a yard. An owner who does not work there is asked as an owner.
fn wanted_of(actor: &Actor, yard: YardId, kind: AlertKind, rules: &[HearingRuleRow]) -> Wanted {
    let listed = actor.yards.contains(&yard);
    let roles = actor.roles.iter().filter(|r| listed || **r == Role::Owner);
    roles.map(|r| rule(rules, kind, *r)).fold(Wanted::Off, Wanted::more)
}

fn rule(set: &[HearingRuleRow], kind: AlertKind, role: Role) -> Wanted {
    let kept: BTreeMap<_, _> = set.iter().map(|r| ((r.kind, r.role), r.wanted)).collect();
    kept.get(&(kind, role)).copied().unwrap_or_else(|| kind.usually(role))
}
