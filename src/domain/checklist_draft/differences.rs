//! What was added, removed and changed between two versions of a checklist, in words.

use super::condition::title_in;
use super::{Draft, Item, Rule, Zone};

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
    pub what: String,
    /// "Limits: at least 1.5 mm, became at least 2 mm".
    pub lines: Vec<String>,
}

/// Items and zones are the same by their keys, rules by their names.
pub fn differences(before: &Draft, after: &Draft) -> Vec<Difference> {
    let mut found = Vec::new();
    changed(&mut found, "The checklist", head(before), head(after));
    let zone = |z: &Zone| vec![("Title", z.title.clone()), ("Where to stand", z.stand.clone())];
    compare(
        &mut found,
        "Zone",
        &before.zones.iter().map(|z| (z.key.clone(), z.title.clone(), zone(z))).collect::<Vec<_>>(),
        &after.zones.iter().map(|z| (z.key.clone(), z.title.clone(), zone(z))).collect::<Vec<_>>(),
    );
    let items = |d: &Draft| -> Vec<Entry> {
        let of_zone = |z: &Zone| -> Vec<Entry> {
            z.items.iter().map(|i| (i.key.clone(), i.title.clone(), item(z, i))).collect()
        };
        d.zones.iter().flat_map(of_zone).collect()
    };
    compare(&mut found, "Item", &items(before), &items(after));
    let rules = |d: &Draft| -> Vec<Entry> {
        // An item by one title on both sides: what it is called now, else what it was called.
        let title = |key: &str| title_in(after, key).or_else(|| title_in(before, key));
        d.rules.iter().map(|r| (r.name.clone(), r.name.clone(), rule(r, title))).collect()
    };
    compare(&mut found, "Rule", &rules(before), &rules(after));
    for (what, before, after) in
        [("The walk", items(before), items(after)), ("The rules", rules(before), rules(after))]
    {
        let common = |list: &[Entry], other: &[Entry]| -> Vec<String> {
            let there = |key: &str| other.iter().any(|(k, ..)| k == key);
            list.iter().filter(|(key, ..)| there(key)).map(|(key, ..)| key.clone()).collect()
        };
        if common(&before, &after) != common(&after, &before) {
            let lines = vec!["In another order".to_owned()];
            found.push(Difference { how: How::Changed, what: what.to_owned(), lines });
        }
    }
    found
}

/// Key, title, and what is said of it.
type Entry = (String, String, Vec<(&'static str, String)>);

fn compare(found: &mut Vec<Difference>, kind: &str, before: &[Entry], after: &[Entry]) {
    let called = |title: &str| format!("{kind} “{title}”");
    let whole = |says: &[(&str, String)]| -> Vec<String> {
        says.iter().filter(|(_, t)| !t.is_empty()).map(|(label, t)| format!("{label}: {t}")).collect()
    };
    for (key, title, says) in after {
        match before.iter().find(|(k, ..)| k == key) {
            Some((_, _, said)) => changed(found, &called(title), said.clone(), says.clone()),
            None => found.push(Difference { how: How::Added, what: called(title), lines: whole(says) }),
        }
    }
    for (_, title, says) in before.iter().filter(|(key, ..)| !after.iter().any(|(k, ..)| k == key)) {
        found.push(Difference { how: How::Removed, what: called(title), lines: whole(says) });
    }
}

fn changed(
    found: &mut Vec<Difference>,
    what: &str,
    before: Vec<(&'static str, String)>,
    after: Vec<(&'static str, String)>,
) {
    let or_nothing = |text: String| if text.is_empty() { "nothing".to_owned() } else { text };
    let lines: Vec<String> = before
        .into_iter()
        .zip(after)
        .filter(|((_, was), (_, is))| was != is)
        .map(|((label, was), (_, is))| format!("{label}: {}, became {}", or_nothing(was), or_nothing(is)))
        .collect();
    if !lines.is_empty() {
        found.push(Difference { how: How::Changed, what: what.to_owned(), lines });
    }
}

fn head(d: &Draft) -> Vec<(&'static str, String)> {
    vec![
        ("Title", d.title.clone()),
        ("Classes", d.classes.join(", ")),
        ("Reports ground from", d.out_of_service_from.clone()),
    ]
}

fn item(zone: &Zone, i: &Item) -> Vec<(&'static str, String)> {
    let yes = |flag: bool| if flag { "yes" } else { "" }.to_owned();
    let m = &i.measure;
    let measured = i.asks == "measure";
    let if_measured = |text: String| if measured { text } else { String::new() };
    let plausible = format!("{} to {}", m.plausible_from, m.plausible_to);
    let limits = m.limits.iter().map(super::Limit::in_words).collect::<Vec<_>>().join("; ");
    vec![
        ("Zone", zone.title.clone()),
        ("Title", i.title.clone()),
        ("What to do", i.todo.clone()),
        ("Acceptable", i.accept.clone()),
        ("Picture", i.picture.clone()),
        ("Caution", i.caution.clone()),
        ("System", i.system.clone()),
        ("Safety item", yes(i.safety)),
        ("Asks for", i.asks.clone()),
        ("Positions", i.positions.join(", ")),
        ("May be not fitted", yes(i.may_be_not_applicable)),
        ("May be put right at the check", yes(i.may_be_corrected)),
        ("Unit of what is added", i.corrected_unit.clone()),
        ("Units", if_measured(m.units.join(", "))),
        ("Smallest step", if_measured(m.resolution.clone())),
        ("Can be read", if_measured(plausible)),
        ("Limits", if_measured(limits)),
        ("Besides", besides(&i.others)),
    ]
}

fn rule(r: &Rule, title: impl Fn(&str) -> Option<String>) -> Vec<(&'static str, String)> {
    let days = (!r.good_for_days.is_empty()).then(|| format!("{} days", r.good_for_days));
    let hours = (!r.good_for_hours.is_empty()).then(|| format!("{} engine hours", r.good_for_hours));
    vec![
        ("Severity", r.severity.clone()),
        ("Final", if r.final_ { "yes" } else { "" }.to_owned()),
        ("When", r.when.iter().map(|w| w.told(&title)).collect::<Vec<_>>().join(" and ")),
        ("Told", r.instruction.clone()),
        ("Good for", days.into_iter().chain(hours).collect::<Vec<_>>().join(" or ")),
        ("To", r.route.clone()),
        ("Besides", besides(&r.others)),
    ]
}

fn besides(others: &super::Others) -> String {
    others.iter().map(|(key, value)| format!("{key} {value}")).collect::<Vec<_>>().join(", ")
}
