//! Parts on a work order: what is reserved and issued, what of it is to be fitted, and what the store has to choose from.

use chrono::{DateTime, Utc};

use crate::domain::store::Quantity;
use crate::http::pages::shown::{day, quantity};
use crate::http::pages::store::unit_in_words;
use crate::words::here;
use crate::workflow::{FittedRow, LineRow, OrderPage, PartRow};

pub struct LineView {
    pub part: String,
    pub name: String,
    pub number: String,
    pub bin: String,
    pub reserved: String,
    pub issued: String,
    pub issued_figure: String,
    pub cost: String,
    pub has_reserved: bool,
    pub has_issued: bool,
    pub reserved_figure: String,
    /// Empty where nothing is.
    pub lacking: String,
}

pub struct ToFit {
    pub part: String,
    pub name: String,
    pub left: String,
}

pub struct PartChoice {
    pub id: String,
    pub words: String,
}

pub fn line(l: &LineRow, cost: String) -> LineView {
    LineView {
        part: l.part_id.to_string(),
        name: l.name.clone(),
        number: l.number.clone(),
        bin: l.bin.clone(),
        reserved: quantity(l.reserved, &l.unit),
        issued: quantity(l.issued, &l.unit),
        issued_figure: Quantity(l.issued).to_string(),
        cost,
        has_reserved: l.reserved > 0,
        has_issued: l.issued > 0,
        reserved_figure: Quantity(l.reserved).to_string(),
        lacking: if l.lacking > 0 { quantity(l.lacking, &l.unit) } else { String::new() },
    }
}

pub fn to_fit(o: &OrderPage) -> Vec<ToFit> {
    o.lines
        .iter()
        .filter_map(|l| {
            let on = o.fitted.iter().filter(|f| f.part_id == l.part_id && f.removed_at.is_none());
            let left = l.issued - on.map(|f| f.quantity).sum::<i64>();
            let name = l.name.clone();
            (left > 0).then(|| ToFit { part: l.part_id.to_string(), name, left: quantity(left, &l.unit) })
        })
        .collect()
}

pub fn fitted(f: &FittedRow, o: &OrderPage) -> String {
    let unit = o.lines.iter().find(|l| l.part_id == f.part_id).map_or("each", |l| l.unit.as_str());
    let figure = quantity(f.quantity, unit);
    match (f.serial.is_empty(), f.batch.is_empty()) {
        (true, true) => t!("order-was-fitted", quantity = figure, part = f.part_name),
        (false, true) => {
            t!("order-was-fitted-serial", quantity = figure, part = f.part_name, serial = f.serial)
        }
        (true, false) => t!("order-was-fitted-batch", quantity = figure, part = f.part_name, batch = f.batch),
        (false, false) => t!(
            "order-was-fitted-both",
            quantity = figure,
            part = f.part_name,
            serial = f.serial,
            batch = f.batch
        ),
    }
}

pub fn choice(p: &PartRow, zone: &str, now: DateTime<Utc>) -> PartChoice {
    let free = here().figure(&Quantity((p.on_hand - p.reserved).max(0)).to_string());
    let free = t!("order-part-quantity", figure = free, unit = unit_in_words(&p.unit));
    let words = match p.expected_at {
        None => t!("order-part-free", name = p.name, number = p.number, quantity = free),
        Some(at) => t!(
            "order-part-expected",
            name = p.name,
            number = p.number,
            quantity = free,
            day = day(at, zone, now).words
        ),
    };
    PartChoice { id: p.id.to_string(), words }
}
