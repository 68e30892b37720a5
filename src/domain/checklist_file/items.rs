//! Check items of the file: what they ask, where, and within which limits.

use super::table::{Faults, Table, Text, is_key, key_of};
use crate::domain::checklist::{Asked, Asks, Item, Limit, Load, Measure, Position, System, Under, Warmth};
use crate::domain::unit::{Figure, Measured, Unit};
use crate::words::Text as Said;

/// A defect's title is the item's, its position's and what was read; it has to stay readable.
pub(super) const TITLE_WORDS: usize = 5;
const POSITION_WORDS: usize = 2;

pub(super) fn read(table: &Table<'_>, faults: &Faults) -> (Text, Item) {
    let key = table.key("key");
    let title = table.said_in_short("title", TITLE_WORDS);
    let positions = read_positions(table, faults);
    let asked = table.word::<Asked>("asks");
    let measure = table.table_if_given("measure", "file-in-measure");
    let asks = match (asked, &measure) {
        (Some(Asked::Measure), Some(m)) => read_measure(m, faults).map_or(Asks::Condition, Asks::Measure),
        (Some(Asked::Measure), None) => {
            let sentence = said!("file-asks-for-measure", item = format!("{:?}", key.value));
            faults.add(table.at, sentence);
            Asks::Condition
        }
        (Some(_), Some(m)) => {
            faults.add(m.at, said!("file-asks-for-no-measure", item = format!("{:?}", key.value)));
            Asks::Condition
        }
        (Some(Asked::Level), None) => Asks::Level,
        (Some(Asked::Function), None) => Asks::Function,
        (Some(Asked::Condition) | None, _) => Asks::Condition,
    };
    let may_be_corrected = table.flag("may_be_corrected");
    let corrected_unit = table.word_if_given::<Unit>("corrected_unit");
    if corrected_unit.is_some() && !may_be_corrected {
        let sentence = said!("file-needs-corrected");
        faults.add(table.at_key("corrected_unit"), sentence);
    }
    let item = Item {
        key: key.value.clone(),
        title,
        todo: table.said("todo"),
        accept: table.said("accept"),
        caution: table.said_if_given("caution", usize::MAX),
        picture: table.word_if_given("picture"),
        system: table.word("system").unwrap_or(System::General),
        safety: table.flag("safety"),
        asks,
        positions,
        may_be_not_applicable: table.flag("may_be_not_applicable"),
        may_be_corrected,
        corrected_unit,
    };
    table.refuse_unknown();
    (key, item)
}

/// Positions are written by their titles; the key follows from the title.
fn read_positions(table: &Table<'_>, faults: &Faults) -> Vec<Position> {
    let (titles, said): (Vec<Text>, Vec<_>) =
        table.said_list("positions", POSITION_WORDS).into_iter().unzip();
    faults.refuse_twice(&titles, "file-twice-position");
    for text in titles.iter().filter(|t| !t.value.is_empty()) {
        if !is_key(&key_of(&text.value)) {
            let sentence = said!("file-no-position", given = format!("{:?}", text.value));
            faults.add(text.at, sentence);
        }
    }
    titles.iter().zip(said).map(|(t, title)| Position { key: key_of(&t.value), title }).collect()
}

fn read_measure(table: &Table<'_>, faults: &Faults) -> Option<Measure> {
    let base = table.word::<Unit>("base");
    let units = table.words::<Unit>("units");
    let resolution = table.measured_if_given("resolution");
    let plausible = table.measured_list("plausible");
    let limit_tables = table.tables("limits", "file-in-limit");
    for key in ["resolution", "plausible", "units"] {
        if !table.has(key) {
            faults.add(table.at, said!("file-missing", key = key, place = said!("file-in-measure")));
        }
    }
    if limit_tables.is_empty() {
        let sentence = said!("file-needs-limit");
        faults.add(table.at_key("limits"), sentence);
    }
    if table.has("units") && units.is_empty() && table.texts("units").is_empty() {
        faults.add(table.at_key("units"), said!("file-needs-unit"));
    }
    let base = base?;
    if base.quantity().base() != base {
        let si = base.quantity().base();
        faults.add(table.at_key("base"), said!("file-base", si = si.as_str(), base = base.as_str()));
        return None;
    }
    for (i, unit) in units.iter().enumerate() {
        if unit.quantity() != base.quantity() {
            let sentence = said!(
                "file-unit-of-other",
                unit = unit.as_str(),
                quantity = unit.quantity(),
                base = base.as_str(),
                other = base.quantity()
            );
            faults.add(table.at_key("units"), sentence);
        } else if units[..i].contains(unit) {
            faults.add(table.at_key("units"), said!("file-unit-twice", unit = unit.as_str()));
        }
    }
    let resolution = resolution.and_then(|(m, at)| {
        let step = m.unit.factor() * m.unit.from_base(m.base);
        fits(&m, at, base, faults).and_then(|_| {
            if step <= 0.0 {
                faults.add(at, said!("file-resolution"));
            }
            (step > 0.0).then_some(step)
        })
    });
    let plausible = read_plausible(&plausible, base, table, faults);
    let limits = limit_tables.iter().map(|t| read_limit(t, base, plausible, faults)).collect();
    table.refuse_unknown();
    let measure = Measure { base, units, resolution: resolution?, plausible: plausible?, limits };
    refuse_contradictions(&measure, table, faults);
    Some(measure)
}

/// Limits that let nothing pass in some context, and limits that say the same thing twice.
fn refuse_contradictions(measure: &Measure, table: &Table<'_>, faults: &Faults) {
    let at = table.at_key("limits");
    for (i, limit) in measure.limits.iter().enumerate() {
        let same = |o: &&Limit| (o.load, o.warmth) == (limit.load, limit.warmth);
        let both = |o: &Limit| {
            (o.at_least.is_some() && limit.at_least.is_some())
                || (o.at_most.is_some() && limit.at_most.is_some())
        };
        if measure.limits[..i].iter().filter(same).any(both) {
            faults.add(at, said!("file-same-limits"));
        }
    }
    for limit in &measure.limits {
        let (least, most) = measure.plausible;
        if limit.at_least.is_some_and(|l| !measure.is_below(least, l))
            || limit.at_most.is_some_and(|l| !measure.is_above(most, l))
        {
            faults.add(at, said!("file-limit-never"));
        }
    }
    let of_load = measure.limits.iter().any(|l| l.load.is_some());
    let of_warmth = measure.limits.iter().any(|l| l.warmth.is_some());
    // Where it is not said whether the machine is cold or warm, both limits hold. That both can be met together is not
    // asked for: such an item cannot pass until it is said.
    let contexts =
        Under::all().filter(|u| u.warmth.is_some() == of_warmth && (of_load || u.load == Load::ALL[0]));
    for under in contexts {
        let bounds = measure.bounds(under);
        if let (Some(least), Some(most)) = (bounds.at_least, bounds.at_most)
            && measure.is_above(least, most)
        {
            let of_load = of_load.then(|| said!(&under.load.key()));
            let of_warmth = under.warmth.map(|w| said!(&w.key()));
            let parts: Vec<Said> = of_load.into_iter().chain(of_warmth).collect();
            let context =
                Said::joined(&parts.iter().map(|p| p.map(|w| format!(" {w}"))).collect::<Vec<_>>(), "");
            let sentence = said!(
                "file-nothing-passes",
                context = context,
                least = Figure(measure.in_unit(least, measure.base)),
                most = Figure(measure.in_unit(most, measure.base))
            );
            faults.add(at, sentence);
        }
    }
}

fn read_plausible(
    given: &[(Measured, usize)],
    base: Unit,
    table: &Table<'_>,
    faults: &Faults,
) -> Option<(f64, f64)> {
    if !table.has("plausible") {
        return None;
    }
    if let [(low, at), (high, high_at)] = given {
        let low = fits(low, *at, base, faults)?;
        let high = fits(high, *high_at, base, faults)?;
        if low < high {
            return Some((low, high));
        }
    }
    let sentence = said!("file-plausible");
    faults.add(table.at_key("plausible"), sentence);
    None
}

fn read_limit(table: &Table<'_>, base: Unit, plausible: Option<(f64, f64)>, faults: &Faults) -> Limit {
    let load = table.word_if_given::<Load>("load");
    let warmth = table.word_if_given::<Warmth>("warmth");
    let bound = |key| {
        let (measured, at) = table.measured_if_given(key)?;
        let figure = fits(&measured, at, base, faults)?;
        if plausible.is_some_and(|(low, high)| !(low..=high).contains(&figure)) {
            faults.add(at, said!("file-not-plausible", key = key, figure = measured));
        }
        Some(figure)
    };
    let limit = Limit { load, warmth, at_least: bound("at_least"), at_most: bound("at_most") };
    if !table.has("at_least") && !table.has("at_most") {
        faults.add(table.at, said!("file-limit-says-nothing"));
    }
    table.refuse_unknown();
    limit
}

/// The figure in the base unit, if it measures the same thing.
pub(super) fn fits(measured: &Measured, at: usize, base: Unit, faults: &Faults) -> Option<f64> {
    if measured.unit.quantity() == base.quantity() {
        return Some(measured.base);
    }
    let sentence = said!(
        "file-other-quantity",
        figure = measured,
        is = measured.unit.quantity(),
        measures = base.quantity()
    );
    faults.add(at, sentence);
    None
}
