use super::{Draft, Edit, HEAD, How, Item, Kind, Limit, Measure, Rule, When, Zone, differences};
use crate::domain::checklist_file::parse;
use crate::domain::shipped::SHIPPED;
use crate::words::Lang;

fn shipped() -> Draft {
    Draft::from_file(SHIPPED[0].1).expect("a file")
}

fn item(draft: &Draft, key: &str) -> Item {
    draft.items().find(|i| i.key == key).expect("the item is there").clone()
}

fn when(draft: &Draft, rule: &str, kind: Kind, says: &[(&str, &str)]) -> Edit {
    let rule = draft.rules.iter().find(|r| r.name == rule).expect("the rule is there").part;
    let says = says.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
    Edit::Condition { rule, when: When { part: HEAD, kind, says } }
}

/// What the editor does not touch it does not change: every shipped checklist goes through it whole.
#[test]
fn a_file_becomes_a_draft_and_the_same_checklist_again() {
    for (name, source) in SHIPPED {
        let draft = Draft::from_file(source).expect("a file");
        let ready = draft.ready().unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
        assert_eq!(ready.checklist, parse(source).expect("shipped"), "{name}");
        let again = Draft::from_file(&ready.source).expect("a file");
        assert_eq!(again, draft, "{name}");
        assert!(differences(&draft, &again).is_empty(), "{name}");
    }
}

#[test]
fn keys_without_a_field_are_kept() {
    let source =
        SHIPPED[0].1.replacen("\ntodo.en = ", "\nunheard_of = { a = 1, b = [\"x\"] }\ntodo.en = ", 1);
    let mut draft = Draft::from_file(&source).unwrap();
    let (zone, item) = (draft.zones[0].part, draft.zones[0].items[0].clone());
    draft.edit(Edit::Item { zone, item: Box::new(Item { others: Vec::new(), ..item }) }).unwrap();
    let faults = draft.ready().err().expect("the file knows no such key");
    assert!(faults[0].sentence.contains("\"unheard of\" means nothing"), "{faults:?}");
    assert_eq!(faults[0].part, draft.zones[0].items[0].part);
}

#[test]
fn a_fault_is_told_at_its_field() {
    let mut draft = shipped();
    let zone = draft.zones[2].part;
    let mut pad = item(&draft, "brake-pad");
    let in_zone = draft.item(pad.part).unwrap().0.part;
    pad.title = String::new();
    pad.measure.limits[0].at_least = "1.5 psi".into();
    pad.measure.plausible_to = "lots".into();
    let pad_part = draft.edit(Edit::Item { zone: in_zone, item: Box::new(pad) }).unwrap();
    let new = Item { title: "Hand rail".into(), asks: "condition".into(), ..Item::default() };
    let rail = draft.edit(Edit::Item { zone, item: Box::new(new) }).unwrap();
    let rule = Rule {
        name: "rail loose".into(),
        severity: "monitor".into(),
        good_for_days: "two".into(),
        ..Rule::default()
    };
    let rule = draft.edit(Edit::Rule(rule)).unwrap();
    let edit = when(&draft, "rail loose", Kind::Outcome, &[("item", "hand-rial")]);
    let condition = draft.edit(edit).unwrap();
    let faults = draft.ready().err().expect("much is wrong");
    let at = |part, field: &str| {
        let here: Vec<&str> =
            faults.iter().filter(|f| f.part == part && f.field == field).map(|f| f.sentence.here()).collect();
        here.join(" ")
    };
    assert_eq!(at(pad_part, "title"), "This is empty. Fill it in.");
    assert!(at(pad_part, "limit-0").contains("1.5 psi is a pressure"), "{faults:?}");
    assert!(at(pad_part, "plausible_to").contains("lots"), "{faults:?}");
    assert_eq!(at(rail, "todo"), "This is empty. Fill it in.");
    assert_eq!(at(rail, "system"), "This is empty. Fill it in.");
    assert_eq!(at(rule, "good_for_days"), "good for days is a whole number from 1.");
    assert_eq!(at(rule, "instruction"), "This is empty. Fill it in.");
    assert!(at(condition, "item").contains("Did you mean \"hand-rail\"?"), "{faults:?}");
    assert_eq!(draft.called(condition, Lang::En), "Rule “rail loose”, condition 1");
    assert_eq!(draft.called(rail, Lang::En), "Item “Hand rail”");
}

#[test]
fn every_kind_of_condition_can_be_written() {
    let mut draft = shipped();
    let rule = |name: &str| Rule {
        name: name.to_owned(),
        severity: "out of service".into(),
        instruction: "Stop.".into(),
        ..Rule::default()
    };
    type Case = (Kind, &'static [(&'static str, &'static str)], &'static str);
    let cases: [Case; 10] = [
        (Kind::Outcome, &[("item", "horn"), ("outcome", "defect")], "Horn: defect"),
        (Kind::Level, &[("item", "coolant-level"), ("level", "above")], "Coolant level: above its marks"),
        (
            Kind::Limit,
            &[("item", "tyre-pressure"), ("value", "below limit"), ("at_temperature", "20 °C")],
            "Tyre pressure: below limit, brought to 20 °C",
        ),
        (
            Kind::Figure,
            &[("item", "brake-pad"), ("position", "front-left"), ("below", "0.5 mm")],
            "Brake pad, front left: below 0.5 mm",
        ),
        (
            Kind::Difference,
            &[("item", "brake-pad"), ("apart", "3 mm"), ("between", "front-left, front-right")],
            "Brake pad: positions differ by more than 3 mm (front-left, front-right)",
        ),
        (
            Kind::Corrected,
            &[("item", "engine-oil-level"), ("corrected_times", "9"), ("within_days", "30")],
            "Engine oil level: put right 9 times within 30 days",
        ),
        (
            Kind::Recurs,
            &[("item", "horn"), ("back_within_days", "9")],
            "Horn: back within 9 days of its release",
        ),
        (
            Kind::Trend,
            &[("item", "brake-pad"), ("trend", "below limit"), ("within_hours", "5")],
            "Brake pad: may be below limit within 5 engine hours, by its trend",
        ),
        (Kind::Load, &[("load", "laden")], "the machine is laden"),
        (Kind::Warmth, &[("warmth", "cold")], "the machine is cold"),
    ];
    assert_eq!(cases.len(), Kind::ALL.len());
    for (kind, says, words) in cases {
        let name = format!("try {kind}");
        draft.edit(Edit::Rule(rule(&name))).unwrap();
        if !kind.is_of_an_item() {
            let first = when(&draft, &name, Kind::Outcome, &[("item", "air-filter"), ("outcome", "defect")]);
            draft.edit(first).unwrap();
        }
        let edit = when(&draft, &name, kind, says);
        let part = draft.edit(edit).unwrap();
        assert_eq!(draft.condition(part).unwrap().1.in_words(&draft, Lang::En), words);
    }
    let written = draft.written().text;
    let read = Draft::from_file(&written).expect("a file");
    let kinds = |d: &Draft| -> Vec<Kind> { d.rules.iter().flat_map(|r| &r.when).map(|w| w.kind).collect() };
    assert_eq!(kinds(&read), kinds(&draft));
    // Some can never decide anything beside the shipped rules; that they can be read is what is asked here.
    if let Err(faults) = draft.ready() {
        for fault in faults {
            assert!(draft.rule(fault.part).is_some() || fault.field.is_empty(), "{fault:?}");
        }
    }
}

#[test]
fn a_new_checklist_from_nothing_becomes_sound() {
    let mut draft = Draft::empty("mower-daily", "Daily check, mower", vec!["ride-on mower".into()]);
    let faults = draft.ready().err().unwrap();
    assert_eq!(faults[0].sentence, "A checklist needs at least one zone to stand in.");
    let zone = Zone { title: "All round".into(), stand: "Engine off.".into(), ..Zone::default() };
    let zone = draft.edit(Edit::Zone(zone)).unwrap();
    assert_eq!(
        draft.ready().err().unwrap()[0].sentence,
        "Zone \"all-round\" has nothing to check. Add an item to it."
    );
    let blade = Item {
        title: "Blade".into(),
        todo: "Measure the blade.".into(),
        accept: "Thick enough.".into(),
        caution: "Blades cut. Engine off, key out, gloves on.".into(),
        system: "general".into(),
        safety: true,
        asks: "measure".into(),
        measure: Measure {
            units: vec!["mm".into(), "in".into()],
            resolution: "0.1 mm".into(),
            plausible_from: "0 mm".into(),
            plausible_to: "20 mm".into(),
            limits: vec![Limit { at_least: "3 mm".into(), ..Limit::default() }],
            ..Measure::default()
        },
        ..Item::default()
    };
    draft.edit(Edit::Item { zone, item: Box::new(blade.clone()) }).unwrap();
    let second = draft.edit(Edit::Item { zone, item: Box::new(blade) }).unwrap();
    assert_eq!(draft.item(second).unwrap().1.key, "blade-2", "told apart");
    let ready = draft.ready().unwrap_or_else(|f| panic!("{f:?}"));
    assert_eq!(ready.checklist.items().count(), 2);
}

#[test]
fn items_move_through_the_walk_and_keep_their_keys() {
    let mut draft = shipped();
    let order = |d: &Draft| -> Vec<String> { d.items().map(|i| i.key.clone()).collect() };
    let before = order(&draft);
    let last_of_first = draft.zones[0].items.last().unwrap().part;
    draft.edit(Edit::Move { part: last_of_first, up: false }).unwrap();
    assert_eq!(draft.zones[1].items[0].part, last_of_first, "on to the next zone");
    assert_eq!(order(&draft), before, "the walk itself is the same");
    draft.edit(Edit::Move { part: last_of_first, up: false }).unwrap();
    assert_ne!(order(&draft), before);
    for _ in 0..2 {
        draft.edit(Edit::Move { part: last_of_first, up: true }).unwrap();
    }
    assert_eq!(draft, shipped());
    let first = draft.zones[0].items[0].part;
    draft.edit(Edit::Move { part: first, up: true }).unwrap();
    assert_eq!(draft, shipped(), "the first stays where it is");
    let mut renamed = item(&draft, "brake-pad");
    renamed.title = "Brake lining".into();
    let zone = draft.item(renamed.part).unwrap().0.part;
    let part = draft.edit(Edit::Item { zone, item: Box::new(renamed) }).unwrap();
    assert_eq!(draft.item(part).unwrap().1.key, "brake-pad", "its readings go on");
    assert!(draft.edit(Edit::Remove { part: 9_999 }).is_err());
}

#[test]
fn differences_are_told_in_words() {
    let before = shipped();
    let mut after = before.clone();
    let mut pad = item(&after, "brake-pad");
    pad.measure.limits[0].at_least = "2 mm".into();
    let zone = after.item(pad.part).unwrap().0.part;
    after.edit(Edit::Item { zone, item: Box::new(pad) }).unwrap();
    let horn = item(&after, "horn");
    after.edit(Edit::Remove { part: horn.part }).unwrap();
    let rule = Rule {
        name: "rail loose".into(),
        severity: "monitor".into(),
        good_for_days: "3".into(),
        ..Rule::default()
    };
    after.edit(Edit::Rule(rule)).unwrap();
    after
        .edit(Edit::Head {
            title: before.title.clone(),
            translated: before.translated.clone(),
            classes: vec!["utility vehicle".into(), "buggy".into()],
            out_of_service_from: "medium".into(),
        })
        .unwrap();
    let found = differences(&before, &after);
    let line = |how, what: &str| {
        let of = found.iter().find(|d| d.how == how && d.what == what);
        of.unwrap_or_else(|| panic!("{what}: {found:?}"))
            .lines
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    assert_eq!(line(How::Changed, "Item “Brake pad”"), ["Limits: at least 1.5 mm, became at least 2 mm"]);
    assert!(line(How::Removed, "Item “Horn”").contains(&format!("System: {}", horn.system)));
    assert!(line(How::Added, "Rule “rail loose”").contains(&"Good for: 3 days".to_owned()));
    assert_eq!(
        line(How::Changed, "The checklist"),
        [
            "Classes: utility vehicle, became utility vehicle, buggy",
            "Reports ground from: nothing, became medium"
        ]
    );
    assert_eq!(found.len(), 4, "and nothing else: {found:?}");
    let mut reordered = before.clone();
    let first = reordered.zones[0].items[0].part;
    reordered.edit(Edit::Move { part: first, up: false }).unwrap();
    let found = differences(&before, &reordered);
    assert_eq!((found.len(), found[0].what.in_lang(Lang::En)), (1, "The walk"));
}
