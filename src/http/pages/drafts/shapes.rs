//! For each kind of part: its fields, and from what was sent back to the part.

use std::collections::BTreeMap;

use super::fields::{Asking, Field, spoken, words, words_or};
use crate::domain::checklist::{Asked, Load, Picture, Side, System, Warmth};
use crate::domain::checklist_draft::{
    Draft, Edit, Item, Kind, Limit, Measure, Part, Rule, Translated, When, Zone, field_in,
};
use crate::domain::checklist_file::key_of;
use crate::domain::reading::{Level, Outcome};
use crate::domain::risk::RiskLevel;
use crate::domain::standing::Severity;
use crate::domain::unit::Unit;
use crate::http::pages::form::Form;
use crate::words::Lang;
use crate::workflow::classes_of;

pub fn head_fields(a: &Asking<'_>, draft: &Draft) -> Vec<Field> {
    let levels =
        RiskLevel::ALL.iter().filter(|l| **l != RiskLevel::Eliminated).map(|l| (l.as_str(), l.here()));
    let usual = t!("drafts-field-usual", level = RiskLevel::default());
    let mut fields = vec![
        a.line("title", t!("drafts-field-title"), "", &draft.title),
        a.line(
            "classes",
            t!("drafts-field-classes"),
            t!("drafts-field-classes-hint"),
            &draft.classes.join(", "),
        ),
        a.select(
            "out_of_service_from",
            t!("drafts-field-from"),
            t!("drafts-field-from-hint"),
            words_or(usual, spoken(levels)),
            &draft.out_of_service_from,
        ),
    ];
    fields.extend(in_other_languages(a, HEAD_SAYS, &draft.translated));
    fields
}

pub fn head_of(sent: &Form) -> Edit {
    Edit::Head {
        title: said(sent, "title"),
        translated: translated(sent, HEAD_SAYS),
        classes: classes_of(sent.text("classes")),
        out_of_service_from: said(sent, "out_of_service_from"),
    }
}

pub fn zone_fields(a: &Asking<'_>, zone: &Zone) -> Vec<Field> {
    let mut fields = vec![
        a.line("title", t!("drafts-field-title"), t!("drafts-field-zone-hint"), &zone.title),
        a.lines("stand", t!("drafts-field-stand"), "", &zone.stand),
    ];
    fields.extend(in_other_languages(a, ZONE_SAYS, &zone.translated));
    fields
}

pub fn zone_of(sent: &Form, part: Part) -> Zone {
    Zone {
        part,
        title: said(sent, "title"),
        stand: said(sent, "stand"),
        translated: translated(sent, ZONE_SAYS),
        ..Zone::default()
    }
}

/// Empty rows for further limits; saving brings more.
const SPARE_LIMITS: usize = 2;
const MOST_LIMITS: usize = 20;

pub fn item_fields(a: &Asking<'_>, draft: &Draft, zone: Part, item: &Item) -> Vec<Field> {
    let zones = draft.zones.iter().map(|z| (z.part.to_string(), z.title.clone())).collect();
    let units = || words(Unit::ALL.iter().map(|u| u.as_str()));
    let mut flags = Vec::new();
    for (flag, value) in [
        (item.safety, "safety"),
        (item.may_be_not_applicable, "may_be_not_applicable"),
        (item.may_be_corrected, "may_be_corrected"),
    ] {
        flags.extend(flag.then_some(value));
    }
    let flag = |value: &str, words: String| (value.to_owned(), words);
    let m = &item.measure;
    let usual = m.units.first().map_or("", String::as_str);
    let others: Vec<&str> = m.units.iter().skip(1).map(String::as_str).collect();
    let mut fields = vec![
        a.select("zone", t!("drafts-field-zone"), "", zones, &zone.to_string()),
        a.line("title", t!("drafts-field-title"), t!("drafts-field-item-hint"), &item.title),
        a.lines("caution", t!("drafts-field-caution"), t!("drafts-field-caution-hint"), &item.caution),
        a.lines("todo", t!("drafts-field-todo"), "", &item.todo),
        a.lines("accept", t!("drafts-field-accept"), "", &item.accept),
        a.select(
            "picture",
            t!("drafts-field-drawing"),
            "",
            words_or(
                t!("drafts-field-none"),
                Picture::ALL.iter().map(|p| (p.as_str().to_owned(), p.here())).collect(),
            ),
            &item.picture,
        ),
        a.select(
            "system",
            t!("drafts-field-system"),
            t!("drafts-field-system-hint"),
            words_or(t!("drafts-field-choose"), spoken(System::ALL.iter().map(|s| (s.as_str(), s.here())))),
            &item.system,
        ),
        a.ticks(
            "flags",
            t!("drafts-field-it-is"),
            "",
            vec![
                flag("safety", t!("drafts-field-flag-safety")),
                flag("may_be_not_applicable", t!("drafts-field-flag-not-fitted")),
                flag("may_be_corrected", t!("drafts-field-flag-corrected")),
            ],
            &flags,
        ),
        a.select(
            "corrected_unit",
            t!("drafts-field-corrected-unit"),
            "",
            words_or(t!("drafts-field-no-amount"), units()),
            &item.corrected_unit,
        ),
        a.line(
            "positions",
            t!("drafts-field-positions"),
            t!("drafts-field-positions-hint"),
            &item.positions.join(", "),
        ),
        a.answers(
            "asks",
            t!("drafts-field-asks"),
            vec![
                flag(Asked::Condition.as_str(), t!("drafts-field-asks-condition")),
                flag(Asked::Function.as_str(), t!("drafts-field-asks-function")),
                flag(Asked::Level.as_str(), t!("drafts-field-asks-level")),
                flag(Asked::Measure.as_str(), t!("drafts-field-asks-measure")),
            ],
            &item.asks,
        ),
        a.heading("measure", t!("drafts-field-measured"), t!("drafts-field-measured-hint")),
        a.select("units", t!("drafts-field-unit"), "", words_or(t!("drafts-field-choose"), units()), usual),
        a.ticks("other_units", t!("drafts-field-other-units"), "", units(), &others),
        a.line(
            "resolution",
            t!("drafts-field-resolution"),
            t!("drafts-field-resolution-hint"),
            &m.resolution,
        ),
        a.row(
            "plausible",
            t!("drafts-field-plausible"),
            vec![
                a.line("plausible_from", t!("drafts-field-plausible-from"), "", &m.plausible_from),
                a.line("plausible_to", t!("drafts-field-plausible-to"), "", &m.plausible_to),
            ],
        ),
        a.heading("limits", t!("drafts-field-limits"), t!("drafts-field-limits-hint")),
    ];
    let sent_rows =
        a.sent.map_or(0, |sent| (0..MOST_LIMITS).filter(|n| sent.has(&format!("at_least-{n}"))).count());
    let rows = (m.limits.len() + SPARE_LIMITS).max(sent_rows).min(MOST_LIMITS);
    let none = Limit::default();
    for n in 0..rows {
        let limit = m.limits.get(n).unwrap_or(&none);
        let loads = words_or(
            t!("drafts-field-laden-or-not"),
            spoken(Load::ALL.iter().map(|l| (l.as_str(), l.here()))),
        );
        let warmths = words_or(
            t!("drafts-field-cold-or-warm"),
            spoken(Warmth::ALL.iter().map(|w| (w.as_str(), w.here()))),
        );
        let row = vec![
            a.select(&format!("load-{n}"), t!("drafts-field-load"), "", loads, &limit.load),
            a.select(&format!("warmth-{n}"), t!("drafts-field-warmth"), "", warmths, &limit.warmth),
            a.line(&format!("at_least-{n}"), t!("drafts-field-at-least"), "", &limit.at_least),
            a.line(&format!("at_most-{n}"), t!("drafts-field-at-most"), "", &limit.at_most),
        ];
        fields.push(a.row(&format!("limit-{n}"), t!("drafts-field-limit", number = n + 1), row));
    }
    fields.extend(in_other_languages(a, ITEM_SAYS, &item.translated));
    fields
}

/// The zone it goes to, and the item.
pub fn item_of(sent: &Form, part: Part) -> (Part, Item) {
    let flag = |name: &str| sent.all("flags").any(|v| v == name);
    let usual = said(sent, "units");
    let others = sent.all("other_units").filter(|u| **u != *usual).map(str::to_owned);
    let limits = (0..MOST_LIMITS)
        .map(|n| Limit {
            load: said(sent, &format!("load-{n}")),
            warmth: said(sent, &format!("warmth-{n}")),
            at_least: said(sent, &format!("at_least-{n}")),
            at_most: said(sent, &format!("at_most-{n}")),
            others: Vec::new(),
        })
        .filter(|l| !l.is_empty())
        .collect();
    let item = Item {
        part,
        key: String::new(),
        title: said(sent, "title"),
        todo: said(sent, "todo"),
        accept: said(sent, "accept"),
        picture: said(sent, "picture"),
        caution: said(sent, "caution"),
        system: said(sent, "system"),
        safety: flag("safety"),
        asks: said(sent, "asks"),
        positions: listed(sent.text("positions")),
        translated: translated(sent, ITEM_SAYS),
        may_be_not_applicable: flag("may_be_not_applicable"),
        may_be_corrected: flag("may_be_corrected"),
        corrected_unit: said(sent, "corrected_unit"),
        measure: Measure {
            units: Some(usual.clone()).filter(|u| !u.is_empty()).into_iter().chain(others).collect(),
            resolution: said(sent, "resolution"),
            plausible_from: said(sent, "plausible_from"),
            plausible_to: said(sent, "plausible_to"),
            limits,
            others: Vec::new(),
        },
        others: Vec::new(),
    };
    (sent.text("zone").parse().unwrap_or_default(), item)
}

pub fn rule_fields(a: &Asking<'_>, rule: &Rule) -> Vec<Field> {
    let mut fields = vec![
        a.line("name", t!("drafts-field-name"), t!("drafts-field-name-hint"), &rule.name),
        a.answers(
            "severity",
            t!("drafts-field-severity"),
            spoken(Severity::ALL.iter().map(|s| (s.as_str(), s.here()))),
            &rule.severity,
        ),
        a.ticks(
            "final",
            t!("drafts-field-final"),
            "",
            vec![("final".to_owned(), t!("drafts-field-final-means"))],
            if rule.final_ { &["final"] } else { &[] },
        ),
        a.lines(
            "instruction",
            t!("drafts-field-instruction"),
            t!("drafts-field-instruction-hint"),
            &rule.instruction,
        ),
        a.row(
            "good_for",
            t!("drafts-field-good-for"),
            vec![
                a.figure("good_for_days", t!("drafts-field-days"), &rule.good_for_days),
                a.figure("good_for_hours", t!("drafts-field-hours"), &rule.good_for_hours),
            ],
        ),
        a.line("route", t!("drafts-field-route"), t!("drafts-field-may-be-empty"), &rule.route),
    ];
    fields.extend(in_other_languages(a, RULE_SAYS, &rule.translated));
    fields
}

pub fn rule_of(sent: &Form, part: Part) -> Rule {
    Rule {
        part,
        name: said(sent, "name"),
        severity: said(sent, "severity"),
        final_: sent.all("final").any(|v| v == "final"),
        instruction: said(sent, "instruction"),
        translated: translated(sent, RULE_SAYS),
        good_for_days: said(sent, "good_for_days"),
        good_for_hours: said(sent, "good_for_hours"),
        route: said(sent, "route"),
        ..Rule::default()
    }
}

pub fn condition_fields(a: &Asking<'_>, draft: &Draft, when: &When) -> Vec<Field> {
    let mut fields = Vec::new();
    if when.kind.is_of_an_item() {
        let items = draft.items().filter(|i| fits(when.kind, i)).map(|i| (i.key.clone(), i.title.clone()));
        let items = words_or(t!("drafts-field-choose"), items.collect());
        fields.push(a.select(
            "item",
            t!("drafts-field-which-item"),
            t!("drafts-field-which-item-hint"),
            items,
            when.says("item"),
        ));
        fields.push(a.select(
            "position",
            t!("drafts-field-where"),
            t!("drafts-field-where-hint"),
            positions(draft),
            when.says("position"),
        ));
    }
    for key in when.kind.keys() {
        fields.push(said_field(a, when, key));
    }
    fields
}

pub fn condition_of(sent: &Form, part: Part, kind: Kind) -> When {
    let of_item: &[&str] = if kind.is_of_an_item() { &["item", "position"] } else { &[] };
    let says: BTreeMap<String, String> = of_item
        .iter()
        .chain(kind.keys())
        .map(|key| ((*key).to_owned(), said(sent, key)))
        .filter(|(_, text)| !text.is_empty())
        .collect();
    When { part, kind, says }
}

fn said_field(a: &Asking<'_>, when: &When, key: &str) -> Field {
    let kept = when.says(key);
    let sides = || spoken(Side::ALL.iter().map(|s| (s.as_str(), s.here())));
    let choose =
        |label: String, options| a.select(key, label, "", words_or(t!("drafts-field-choose"), options), kept);
    let line = |label: String, hint: String| a.line(key, label, hint, kept);
    match key {
        "outcome" => choose(
            t!("drafts-field-answered"),
            spoken([Outcome::Defect, Outcome::Corrected].iter().map(|o| (o.as_str(), o.here()))),
        ),
        "level" => {
            let wrong = Level::ALL.iter().filter(|l| **l != Level::Between).map(|l| (l.as_str(), l.here()));
            choose(t!("drafts-field-level-is"), spoken(wrong))
        }
        "value" => choose(t!("drafts-field-value-is"), sides()),
        "at_temperature" => line(t!("drafts-field-brought-to"), t!("drafts-field-brought-to-hint")),
        "below" => line(t!("drafts-field-below"), t!("drafts-field-below-hint")),
        "above" => line(t!("drafts-field-above"), t!("drafts-field-above-hint")),
        "apart" => line(t!("drafts-field-apart"), t!("drafts-field-apart-hint")),
        "between" => line(t!("drafts-field-between"), t!("drafts-field-between-hint")),
        "corrected_times" => line(t!("drafts-field-times"), t!("drafts-field-may-be-empty")),
        "corrected_amount" => line(t!("drafts-field-amount"), t!("drafts-field-amount-hint")),
        "within_hours" if when.kind == Kind::Trend => line(t!("drafts-field-within-from-now"), String::new()),
        "within_hours" => line(t!("drafts-field-within-hours"), t!("drafts-field-within-hours-hint")),
        "within_days" => line(t!("drafts-field-within-days"), String::new()),
        "back_within_days" => line(t!("drafts-field-back-within"), String::new()),
        "trend" => choose(t!("drafts-field-trend"), sides()),
        "load" => {
            choose(t!("drafts-field-machine-is"), spoken(Load::ALL.iter().map(|l| (l.as_str(), l.here()))))
        }
        "warmth" => {
            choose(t!("drafts-field-machine-is"), spoken(Warmth::ALL.iter().map(|w| (w.as_str(), w.here()))))
        }
        other => line(other.to_owned(), String::new()),
    }
}

/// A text that people read: its field, the key of its label, and whether it may take several lines.
type Says = (&'static str, &'static str, bool);

const HEAD_SAYS: &[Says] = &[("title", "checklist-says-title", false)];
const ZONE_SAYS: &[Says] =
    &[("title", "checklist-says-title", false), ("stand", "checklist-says-stand", true)];
const ITEM_SAYS: &[Says] = &[
    ("title", "checklist-says-title", false),
    ("caution", "checklist-says-caution", true),
    ("todo", "checklist-says-todo", true),
    ("accept", "checklist-says-accept", true),
    ("positions", "checklist-says-positions", false),
];
const RULE_SAYS: &[Says] =
    &[("title", "checklist-says-name", false), ("instruction", "checklist-says-instruction", true)];

/// As the reader calls it.
fn named(lang: Lang) -> String {
    match lang {
        Lang::En => t!("checklist-english"),
        Lang::Es => t!("checklist-spanish"),
    }
}

/// The same texts in each further language, under its name. Left empty, a text is read as it was first written.
fn in_other_languages(a: &Asking<'_>, says: &[Says], kept: &Translated) -> Vec<Field> {
    let mut fields = Vec::new();
    for lang in &Lang::ALL[1..] {
        let heading = t!("checklist-in-language", language = named(*lang));
        fields.push(a.heading(&format!("in-{}", lang.tag()), &heading, ""));
        for (key, label, lines) in says {
            let name = field_in(key, *lang);
            let kept = kept.get(&name).map_or("", String::as_str);
            let label = t!("checklist-says-in", what = t!(label), language = named(*lang));
            fields.push(match lines {
                true => a.lines(&name, &label, "", kept),
                false => a.line(&name, &label, "", kept),
            });
        }
    }
    fields
}

fn translated(sent: &Form, says: &[Says]) -> Translated {
    let names = Lang::ALL[1..].iter().flat_map(|lang| says.iter().map(|(key, ..)| field_in(key, *lang)));
    names.map(|name| (name.clone(), said(sent, &name))).filter(|(_, said)| !said.is_empty()).collect()
}

/// Whether a condition of this kind can be said of the item at all.
fn fits(kind: Kind, item: &Item) -> bool {
    let asks = |asked: Asked| item.asks == asked.as_str();
    match kind {
        Kind::Limit | Kind::Figure | Kind::Trend => asks(Asked::Measure),
        Kind::Difference => asks(Asked::Measure) && item.positions.len() > 1,
        Kind::Level => asks(Asked::Level),
        Kind::Corrected => item.may_be_corrected,
        Kind::Outcome | Kind::Recurs | Kind::Load | Kind::Warmth => true,
    }
}

/// Every position of every item once, by key.
fn positions(draft: &Draft) -> Vec<(String, String)> {
    let mut all = vec![(String::new(), t!("drafts-field-at-each"))];
    for title in draft.items().flat_map(|i| &i.positions) {
        let key = key_of(title);
        if !all.iter().any(|(k, _)| *k == key) {
            all.push((key, title.clone()));
        }
    }
    all
}

fn said(sent: &Form, name: &str) -> String {
    sent.text(name).trim().replace("\r\n", "\n")
}

fn listed(typed: &str) -> Vec<String> {
    let parts = typed.split([',', '\n']).map(|p| p.split_whitespace().collect::<Vec<_>>().join(" "));
    parts.filter(|p| !p.is_empty()).collect()
}
