//! What may be done to a draft, one part at a time.

use super::{Draft, HEAD, Item, Part, Rule, Translated, When, Zone};
use crate::domain::checklist_file::key_of;
use crate::domain::refusal::{Refusal, Thing};

/// One form's worth of change. A part of 0 is a new one.
#[derive(Clone, Debug)]
pub enum Edit {
    Head {
        title: String,
        translated: Translated,
        classes: Vec<String>,
        out_of_service_from: String,
    },
    /// Its items stay with it.
    Zone(Zone),
    /// In the zone of this part.
    Item {
        zone: Part,
        item: Box<Item>,
    },
    /// Its conditions stay with it.
    Rule(Rule),
    /// Of the rule of this part.
    Condition {
        rule: Part,
        when: When,
    },
    /// One place towards the beginning or the end; an item at the end of its zone goes on to the next zone.
    Move {
        part: Part,
        up: bool,
    },
    Remove {
        part: Part,
    },
}

/// More than any checklist has; a draft beyond this is something else.
const MOST_PARTS: usize = 1000;

impl Draft {
    /// Does it; answers the part that was made or changed.
    pub fn edit(&mut self, edit: Edit) -> Result<Part, Refusal> {
        match edit {
            Edit::Head { title, translated, classes, out_of_service_from } => {
                (self.title, self.translated) = (title, translated);
                (self.classes, self.out_of_service_from) = (classes, out_of_service_from);
                Ok(HEAD)
            }
            Edit::Zone(zone) => self.put_zone(zone),
            Edit::Item { zone, item } => self.put_item(zone, *item),
            Edit::Rule(rule) => self.put_rule(rule),
            Edit::Condition { rule, when } => self.put_condition(rule, when),
            Edit::Move { part, up } => self.move_part(part, up),
            Edit::Remove { part } => self.remove(part),
        }
    }

    fn put_zone(&mut self, mut zone: Zone) -> Result<Part, Refusal> {
        if zone.part == HEAD {
            zone.part = self.make_part()?;
            zone.key = self.free_key(&zone.title, |d, key| d.zones.iter().any(|z| z.key == key));
            zone.items.clear();
            let part = zone.part;
            self.zones.push(zone);
            return Ok(part);
        }
        let fresh = self.free_key(&zone.title, |d, key| d.zones.iter().any(|z| z.key == key));
        let kept = self.zones.iter_mut().find(|z| z.part == zone.part).ok_or(GONE)?;
        if kept.key.is_empty() {
            kept.key = fresh;
        }
        (kept.title, kept.stand, kept.translated) = (zone.title, zone.stand, zone.translated);
        Ok(kept.part)
    }

    fn put_item(&mut self, zone: Part, mut item: Item) -> Result<Part, Refusal> {
        let fresh = self.free_key(&item.title, |d, key| d.items().any(|i| i.key == key));
        let to = self.zones.iter().position(|z| z.part == zone).ok_or(GONE)?;
        if item.part == HEAD {
            item.part = self.make_part()?;
            item.key = fresh;
            let part = item.part;
            self.zones[to].items.push(item);
            return Ok(part);
        }
        let (from, at) = self.place_of(item.part).ok_or(GONE)?;
        let kept = &self.zones[from].items[at];
        item.key = if kept.key.is_empty() { fresh } else { kept.key.clone() };
        item.others.clone_from(&kept.others);
        item.measure.others.clone_from(&kept.measure.others);
        let part = item.part;
        if from == to {
            self.zones[from].items[at] = item;
        } else {
            self.zones[from].items.remove(at);
            self.zones[to].items.push(item);
        }
        Ok(part)
    }

    fn put_rule(&mut self, mut rule: Rule) -> Result<Part, Refusal> {
        if rule.part == HEAD {
            rule.part = self.make_part()?;
            rule.when.clear();
            let part = rule.part;
            self.rules.push(rule);
            return Ok(part);
        }
        let kept = self.rules.iter_mut().find(|r| r.part == rule.part).ok_or(GONE)?;
        rule.when = std::mem::take(&mut kept.when);
        rule.others = std::mem::take(&mut kept.others);
        *kept = rule;
        Ok(kept.part)
    }

    fn put_condition(&mut self, rule: Part, mut when: When) -> Result<Part, Refusal> {
        let new = when.part == HEAD;
        if new {
            when.part = self.make_part()?;
        }
        let rule = self.rules.iter_mut().find(|r| r.part == rule).ok_or(GONE)?;
        let part = when.part;
        if new {
            rule.when.push(when);
        } else {
            *rule.when.iter_mut().find(|w| w.part == part).ok_or(GONE)? = when;
        }
        Ok(part)
    }

    fn move_part(&mut self, part: Part, up: bool) -> Result<Part, Refusal> {
        if let Some(at) = self.zones.iter().position(|z| z.part == part) {
            swap(&mut self.zones, at, up);
        } else if let Some(at) = self.rules.iter().position(|r| r.part == part) {
            swap(&mut self.rules, at, up);
        } else if let Some((zone, at)) = self.place_of(part) {
            if swap(&mut self.zones[zone].items, at, up) {
                return Ok(part);
            }
            let next =
                if up { zone.checked_sub(1) } else { Some(zone + 1).filter(|n| *n < self.zones.len()) };
            if let Some(next) = next {
                let item = self.zones[zone].items.remove(at);
                let there = if up { self.zones[next].items.len() } else { 0 };
                self.zones[next].items.insert(there, item);
            }
        } else {
            return Err(GONE);
        }
        Ok(part)
    }

    fn remove(&mut self, part: Part) -> Result<Part, Refusal> {
        let before = self.count();
        self.zones.retain(|z| z.part != part);
        self.zones.iter_mut().for_each(|z| z.items.retain(|i| i.part != part));
        self.rules.retain(|r| r.part != part);
        self.rules.iter_mut().for_each(|r| r.when.retain(|w| w.part != part));
        if self.count() == before { Err(GONE) } else { Ok(HEAD) }
    }

    fn place_of(&self, item: Part) -> Option<(usize, usize)> {
        let mut zones = self.zones.iter().enumerate();
        zones.find_map(|(n, z)| Some((n, z.items.iter().position(|i| i.part == item)?)))
    }

    fn make_part(&mut self) -> Result<Part, Refusal> {
        if self.count() >= MOST_PARTS {
            return Err(Refusal::conflict(said!("checklist-too-long")));
        }
        Ok(self.next_part())
    }

    fn count(&self) -> usize {
        self.zones.len() + self.items().count() + self.rules.iter().map(|r| 1 + r.when.len()).sum::<usize>()
    }

    /// The key a title would have, told apart from those that are taken; empty for a title that gives none.
    fn free_key(&self, title: &str, taken: impl Fn(&Self, &str) -> bool) -> String {
        let whole = key_of(title);
        let key = whole.get(..whole.len().min(LONGEST_MADE_KEY)).unwrap_or_default().trim_matches('-');
        if key.is_empty() {
            return String::new();
        }
        let numbered = (2..).map(|n| format!("{key}-{n}"));
        let mut free = std::iter::once(key.to_owned()).chain(numbered).filter(|k| !taken(self, k));
        free.next().unwrap_or_default()
    }
}

const GONE: Refusal = Refusal::NotFound(Thing::PartOfDraft);
/// Leaves room for a number within what a key may have.
const LONGEST_MADE_KEY: usize = 36;

fn swap<T>(list: &mut [T], at: usize, up: bool) -> bool {
    let with = if up { at.checked_sub(1) } else { Some(at + 1).filter(|n| *n < list.len()) };
    with.map(|n| list.swap(at, n)).is_some()
}
