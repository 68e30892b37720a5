//! For each kind of part: its fields, and from what was sent back to the part.

use std::collections::BTreeMap;

use super::fields::{Asking, Field, words, words_or};
use crate::domain::checklist::{Asked, Load, Picture, Side, System, Warmth};
use crate::domain::checklist_draft::{
    Draft, Edit, Item, Kind, Limit, Measure, Part, Rule, Translated, When, Zone, field_in,
};
use crate::domain::checklist_file::key_of;
use crate::domain::reading::Level;
use crate::domain::risk::RiskLevel;
use crate::domain::standing::Severity;
use crate::domain::unit::Unit;
use crate::http::pages::form::Form;
use crate::words::Lang;
use crate::workflow::classes_of;

pub fn head_fields(a: &Asking<'_>, draft: &Draft) -> Vec<Field> {
    let levels = RiskLevel::ALL.iter().filter(|l| **l != RiskLevel::Eliminated).map(|l| l.as_str());
    let usual = format!("the usual: {}", RiskLevel::default());
    let mut fields = vec![
        a.line("title", "Title", "", &draft.title),
        a.line(
            "classes",
            "Classes of machines",
            "With commas between them: utility vehicle, quad.",
            &draft.classes.join(", "),
        ),
        a.select(
            "out_of_service_from",
            "A reported defect grounds the machine from this risk level on",
            "A certain effect on brakes, steering, restraint, fuel or fire always does.",
            words_or(&usual, words(levels)),
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
        a.line("title", "Title", "For instance: Front of the machine.", &zone.title),
        a.lines("stand", "Where to stand, and what must be so first", "", &zone.stand),
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
    let flag = |value: &str, words: &str| (value.to_owned(), words.to_owned());
    let m = &item.measure;
    let usual = m.units.first().map_or("", String::as_str);
    let others: Vec<&str> = m.units.iter().skip(1).map(String::as_str).collect();
    let mut fields = vec![
        a.select("zone", "Zone", "", zones, &zone.to_string()),
        a.line("title", "Title", "At most five words: a defect is called by it.", &item.title),
        a.lines("caution", "Caution", "Where the step can hurt. It stands before the step.", &item.caution),
        a.lines("todo", "What to do", "", &item.todo),
        a.lines("accept", "What is acceptable", "", &item.accept),
        a.select(
            "picture",
            "Drawing",
            "",
            words_or("none", Picture::ALL.iter().map(|p| (p.as_str().to_owned(), p.here())).collect()),
            &item.picture,
        ),
        a.select(
            "system",
            "System",
            "Repairs of brakes, steering and restraint are released by somebody other than the repairer.",
            words_or("Choose", words(System::ALL.iter().map(|s| s.as_str()))),
            &item.system,
        ),
        a.ticks(
            "flags",
            "It is",
            "",
            vec![
                flag("safety", "a safety item: failed or not answered, it is out of service unless a rule says otherwise"),
                flag("may_be_not_applicable", "not fitted on every machine"),
                flag("may_be_corrected", "something that may be put right at the check"),
            ],
            &flags,
        ),
        a.select(
            "corrected_unit",
            "Unit of what is added when it is put right",
            "",
            words_or("no amount", units()),
            &item.corrected_unit,
        ),
        a.line(
            "positions",
            "Positions",
            "With commas between them: front left, front right. Each has readings of its own, and begins new ones when it is renamed. Leave it empty when there is one only.",
            &item.positions.join(", "),
        ),
        a.answers(
            "asks",
            "What kind of answer?",
            vec![
                flag(Asked::Condition.as_str(), "OK or defect"),
                flag(Asked::Function.as_str(), "Works or not"),
                flag(Asked::Level.as_str(), "Level between marks"),
                flag(Asked::Measure.as_str(), "A figure, measured"),
            ],
            &item.asks,
        ),
        a.heading("measure", "If it is measured", "Write every figure with its unit, for instance 1.5 mm."),
        a.select("units", "Usual unit", "", words_or("Choose", units()), usual),
        a.ticks("other_units", "May be read in these too", "", units(), &others),
        a.line("resolution", "Smallest step of the gauge", "For instance 0.1 mm.", &m.resolution),
        a.row(
            "plausible",
            "What can be read at all; anything else is a slip of the pen",
            vec![
                a.line("plausible_from", "From", "", &m.plausible_from),
                a.line("plausible_to", "To", "", &m.plausible_to),
            ],
        ),
        a.heading(
            "limits",
            "Limits",
            "A row left empty is no limit. Save, and more empty rows come. For one position alone, write a rule with a figure.",
        ),
    ];
    let sent_rows =
        a.sent.map_or(0, |sent| (0..MOST_LIMITS).filter(|n| sent.has(&format!("at_least-{n}"))).count());
    let rows = (m.limits.len() + SPARE_LIMITS).max(sent_rows).min(MOST_LIMITS);
    let none = Limit::default();
    for n in 0..rows {
        let limit = m.limits.get(n).unwrap_or(&none);
        let loads = words_or("laden or not", words(Load::ALL.iter().map(|l| l.as_str())));
        let warmths = words_or("cold or warm", words(Warmth::ALL.iter().map(|w| w.as_str())));
        let row = vec![
            a.select(&format!("load-{n}"), "Load", "", loads, &limit.load),
            a.select(&format!("warmth-{n}"), "Warmth", "", warmths, &limit.warmth),
            a.line(&format!("at_least-{n}"), "At least", "", &limit.at_least),
            a.line(&format!("at_most-{n}"), "At most", "", &limit.at_most),
        ];
        fields.push(a.row(&format!("limit-{n}"), &format!("Limit {}", n + 1), row));
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
        a.line("name", "Name", "At most six words: the reason of a verdict names it.", &rule.name),
        a.answers("severity", "How severe?", words(Severity::ALL.iter().map(|s| s.as_str())), &rule.severity),
        a.ticks(
            "final",
            "Final",
            "",
            vec![("final".to_owned(), "nobody may lower what it decides".to_owned())],
            if rule.final_ { &["final"] } else { &[] },
        ),
        a.lines(
            "instruction",
            "What is the operator told?",
            "Short and plain: what to do now.",
            &rule.instruction,
        ),
        a.row(
            "good_for",
            "Good until, for a rule that monitors: whichever comes first",
            vec![
                a.figure("good_for_days", "Days", &rule.good_for_days),
                a.figure("good_for_hours", "Engine hours", &rule.good_for_hours),
            ],
        ),
        a.line("route", "Who takes it", "May be left empty.", &rule.route),
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
        let items = words_or("Choose", items.collect());
        fields.push(a.select(
            "item",
            "Which item?",
            "Only items that this can be said of are listed.",
            items,
            when.says("item"),
        ));
        fields.push(a.select(
            "position",
            "Where?",
            "The item must have the position.",
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
    let sides = || words(Side::ALL.iter().map(|s| s.as_str()));
    let choose = |label: &str, options| a.select(key, label, "", words_or("Choose", options), kept);
    let line = |label: &str, hint| a.line(key, label, hint, kept);
    match key {
        "outcome" => choose("What was answered?", words(["defect", "corrected"].into_iter())),
        "level" => {
            let wrong = Level::ALL.iter().filter(|l| **l != Level::Between).map(|l| l.as_str());
            choose("The level is", words(wrong))
        }
        "value" => choose("The value is", sides()),
        "at_temperature" => line(
            "Brought to this air temperature first",
            "For the pressure of a tyre only, for instance 20 °C. May be left empty.",
        ),
        "below" => line("Below", "With its unit, for instance 0.8 mm. May be left empty."),
        "above" => line("Above", "With its unit. May be left empty."),
        "apart" => line("They differ by more than", "With its unit, for instance 2 mm."),
        "between" => line(
            "Positions that belong together",
            "With a semicolon between groups: front-left, front-right; rear-left, rear-right. Left empty: all of them.",
        ),
        "corrected_times" => line("So many times", "May be left empty."),
        "corrected_amount" => {
            line("Or so much in all", "With its unit, for instance 1 L. May be left empty.")
        }
        "within_hours" if when.kind == Kind::Trend => line("Within so many engine hours from now", ""),
        "within_hours" => line("Within the last so many engine hours", "Or days: one of the two."),
        "within_days" => line("Within the last so many days", ""),
        "back_within_days" => line("Within so many days of its release", ""),
        "trend" => choose("By its trend it may be", sides()),
        "load" => choose("The machine is", words(Load::ALL.iter().map(|l| l.as_str()))),
        "warmth" => choose("The machine is", words(Warmth::ALL.iter().map(|w| w.as_str()))),
        other => line(other, ""),
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

/// The same texts in each further language, under its name. Left empty, a text is read as it was first written.
fn in_other_languages(a: &Asking<'_>, says: &[Says], kept: &Translated) -> Vec<Field> {
    let mut fields = Vec::new();
    for lang in &Lang::ALL[1..] {
        let heading = t!("checklist-in-language", language = lang.own_name());
        fields.push(a.heading(&format!("in-{}", lang.tag()), &heading, ""));
        for (key, label, lines) in says {
            let name = field_in(key, *lang);
            let kept = kept.get(&name).map_or("", String::as_str);
            let label = t!("checklist-says-in", what = t!(label), language = lang.own_name());
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
    let mut all = vec![(String::new(), "at each of its positions".to_owned())];
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
