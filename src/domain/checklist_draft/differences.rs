//! What was added, removed and changed between two versions of a checklist, in words.

use super::condition::title_in;
use super::{Draft, Item, Rule, Zone};
use crate::words::{Lang, Text};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    Added,
    Removed,
    Changed,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    pub how: How,
    /// "Item “Brake pad”".
    pub what: Text,
    /// "Limits: at least 1.5 mm, became at least 2 mm".
    pub lines: Vec<Text>,
}

/// Items and zones are the same by their keys, rules by their names.
pub fn differences(before: &Draft, after: &Draft) -> Vec<Difference> {
    // What differs is the same in every language; only how it is said is not.
    let told: Vec<Vec<Told>> = Lang::ALL.iter().map(|lang| differences_in(before, after, *lang)).collect();
    let each = |pick: &dyn Fn(&[Told]) -> String| Text::each(|lang| pick(&told[lang as usize]));
    told[0]
        .iter()
        .enumerate()
        .map(|(n, d)| Difference {
            how: d.how,
            what: each(&|of| of[n].what.clone()),
            lines: (0..d.lines.len()).map(|l| each(&|of| of[n].lines[l].clone())).collect(),
        })
        .collect()
}

/// A difference in one language.
struct Told {
    how: How,
    what: String,
    lines: Vec<String>,
}

fn differences_in(before: &Draft, after: &Draft, lang: Lang) -> Vec<Told> {
    let say = |key: &str| t_in!(lang, key);
    let mut found = Vec::new();
    changed(lang, &mut found, &say("differs-the-checklist"), head(lang, before), head(lang, after));
    let zone =
        |z: &Zone| vec![(say("differs-title"), z.title.clone()), (say("differs-stand"), z.stand.clone())];
    compare(
        lang,
        &mut found,
        "draft-zone-called",
        &before.zones.iter().map(|z| (z.key.clone(), z.title.clone(), zone(z))).collect::<Vec<_>>(),
        &after.zones.iter().map(|z| (z.key.clone(), z.title.clone(), zone(z))).collect::<Vec<_>>(),
    );
    let items = |d: &Draft| -> Vec<Entry> {
        let of_zone = |z: &Zone| -> Vec<Entry> {
            z.items.iter().map(|i| (i.key.clone(), i.title.clone(), item(lang, z, i))).collect()
        };
        d.zones.iter().flat_map(of_zone).collect()
    };
    compare(lang, &mut found, "draft-item-called", &items(before), &items(after));
    let rules = |d: &Draft| -> Vec<Entry> {
        // An item by one title on both sides: what it is called now, else what it was called.
        let title = |key: &str| title_in(after, key).or_else(|| title_in(before, key));
        d.rules.iter().map(|r| (r.name.clone(), r.name.clone(), rule(lang, r, title))).collect()
    };
    compare(lang, &mut found, "draft-rule-called", &rules(before), &rules(after));
    for (what, before, after) in [
        (say("differs-the-walk"), items(before), items(after)),
        (say("differs-the-rules"), rules(before), rules(after)),
    ] {
        let common = |list: &[Entry], other: &[Entry]| -> Vec<String> {
            let there = |key: &str| other.iter().any(|(k, ..)| k == key);
            list.iter().filter(|(key, ..)| there(key)).map(|(key, ..)| key.clone()).collect()
        };
        if common(&before, &after) != common(&after, &before) {
            let lines = vec![say("differs-another-order")];
            found.push(Told { how: How::Changed, what, lines });
        }
    }
    found
}

/// Key, title, and what is said of it.
type Entry = (String, String, Vec<(String, String)>);

fn compare(lang: Lang, found: &mut Vec<Told>, kind: &str, before: &[Entry], after: &[Entry]) {
    let called = |title: &str| t_in!(lang, kind, name = title);
    let whole = |says: &[(String, String)]| -> Vec<String> {
        says.iter().filter(|(_, t)| !t.is_empty()).map(|(label, t)| format!("{label}: {t}")).collect()
    };
    for (key, title, says) in after {
        match before.iter().find(|(k, ..)| k == key) {
            Some((_, _, said)) => changed(lang, found, &called(title), said.clone(), says.clone()),
            None => found.push(Told { how: How::Added, what: called(title), lines: whole(says) }),
        }
    }
    for (_, title, says) in before.iter().filter(|(key, ..)| !after.iter().any(|(k, ..)| k == key)) {
        found.push(Told { how: How::Removed, what: called(title), lines: whole(says) });
    }
}

fn changed(
    lang: Lang,
    found: &mut Vec<Told>,
    what: &str,
    before: Vec<(String, String)>,
    after: Vec<(String, String)>,
) {
    let or_nothing = |text: String| if text.is_empty() { t_in!(lang, "differs-nothing") } else { text };
    let lines: Vec<String> = before
        .into_iter()
        .zip(after)
        .filter(|((_, was), (_, is))| was != is)
        .map(|((label, was), (_, is))| {
            t_in!(lang, "differs-became", label = label, was = or_nothing(was), is = or_nothing(is))
        })
        .collect();
    if !lines.is_empty() {
        found.push(Told { how: How::Changed, what: what.to_owned(), lines });
    }
}

fn head(lang: Lang, d: &Draft) -> Vec<(String, String)> {
    let say = |key: &str| t_in!(lang, key);
    vec![
        (say("differs-title"), d.title.clone()),
        (say("differs-classes"), d.classes.join(", ")),
        (say("differs-reports-ground-from"), d.out_of_service_from.clone()),
    ]
}

fn item(lang: Lang, zone: &Zone, i: &Item) -> Vec<(String, String)> {
    let say = |key: &str| t_in!(lang, key);
    let yes = |flag: bool| if flag { say("differs-yes") } else { String::new() };
    let m = &i.measure;
    let measured = i.asks == "measure";
    let if_measured = |text: String| if measured { text } else { String::new() };
    let plausible = t_in!(lang, "differs-from-to", from = m.plausible_from, to = m.plausible_to);
    let limits = m.limits.iter().map(|l| l.in_words(lang)).collect::<Vec<_>>().join("; ");
    vec![
        (say("differs-zone"), zone.title.clone()),
        (say("differs-title"), i.title.clone()),
        (say("differs-what-to-do"), i.todo.clone()),
        (say("differs-acceptable"), i.accept.clone()),
        (say("differs-picture"), i.picture.clone()),
        (say("differs-caution"), i.caution.clone()),
        (say("differs-system"), i.system.clone()),
        (say("differs-safety-item"), yes(i.safety)),
        (say("differs-asks-for"), i.asks.clone()),
        (say("differs-positions"), i.positions.join(", ")),
        (say("differs-may-be-not-fitted"), yes(i.may_be_not_applicable)),
        (say("differs-may-be-put-right-at-the-check"), yes(i.may_be_corrected)),
        (say("differs-unit-of-what-is-added"), i.corrected_unit.clone()),
        (say("differs-units"), if_measured(m.units.join(", "))),
        (say("differs-smallest-step"), if_measured(m.resolution.clone())),
        (say("differs-can-be-read"), if_measured(plausible)),
        (say("differs-limits"), if_measured(limits)),
        (say("differs-besides"), besides(&i.others)),
    ]
}

fn rule(lang: Lang, r: &Rule, title: impl Fn(&str) -> Option<String>) -> Vec<(String, String)> {
    let say = |key: &str| t_in!(lang, key);
    let either = |both: Vec<String>| {
        both.into_iter()
            .reduce(|one, other| t_in!(lang, "draft-or", one = one, other = other))
            .unwrap_or_default()
    };
    let days = (!r.good_for_days.is_empty()).then(|| t_in!(lang, "draft-days", days = r.good_for_days));
    let hours = (!r.good_for_hours.is_empty()).then(|| t_in!(lang, "draft-hours", hours = r.good_for_hours));
    vec![
        (say("differs-severity"), r.severity.clone()),
        (say("differs-final"), if r.final_ { say("differs-yes") } else { String::new() }),
        (
            say("differs-when"),
            r.when
                .iter()
                .map(|w| w.told(lang, &title))
                .reduce(|one, other| t_in!(lang, "draft-and", one = one, other = other))
                .unwrap_or_default(),
        ),
        (say("differs-told"), r.instruction.clone()),
        (say("differs-good-for"), either(days.into_iter().chain(hours).collect())),
        (say("differs-to"), r.route.clone()),
        (say("differs-besides"), besides(&r.others)),
    ]
}

fn besides(others: &super::Others) -> String {
    others.iter().map(|(key, value)| format!("{key} {value}")).collect::<Vec<_>>().join(", ")
}
