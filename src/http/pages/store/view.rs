//! One part, as one yard has it.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::{Asked, Yard};
use crate::domain::ids::{PartId, YardId};
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::store::Quantity;
use crate::domain::store::put_right::AdjustmentReason;
use crate::http::Site;
use crate::http::pages::frame::Frame;
use crate::http::pages::shown::{When, amount, day, quantity, when};
use crate::http::pages::typed::Typed;
use crate::http::pages::{Page, local_time, page_with};
use crate::http::session::Signed;
use crate::workflow::{self, MovementRow, StorePart};

/// Lines of the ledger on a part's page.
const MOST: i64 = 200;

#[derive(Template)]
#[template(path = "store_part.html", config = ".askama.toml")]
struct PartPage {
    page: Frame,
    t: Typed,
    here: String,
    part: Part,
    yards: Vec<Yard>,
    yard_id: String,
    yard_name: String,
    /// Only where there is more than one yard.
    other_yards: Vec<Yard>,
    on_order: Vec<OnOrder>,
    movements: Vec<Movement>,
    reasons: &'static [AdjustmentReason],
    supply: Option<Supply>,
    bought: Bought,
    level: String,
    may_receive: bool,
    quantity_words: String,
    value_words: String,
    price_words: String,
}

struct Part {
    name: String,
    number: String,
    bin: String,
    unit_words: String,
    on_hand: String,
    reserved: String,
    free: String,
    /// Empty where nobody lacks it.
    lacking: String,
    worth: String,
    level: String,
}

struct OnOrder {
    id: String,
    yard: String,
    quantity: String,
    expected: Option<When>,
    expected_day: String,
    late: bool,
    by: String,
}

struct Movement {
    when: When,
    kind: String,
    quantity: String,
    value: String,
    by: String,
    yard: String,
    /// Why it was put right, or where it went.
    what: String,
    note: String,
    order_href: String,
}

/// As it is said.
struct Supply {
    supplier: String,
    price: String,
    minimum_order: String,
    pack: String,
    lead: String,
}

/// As it is typed.
#[derive(Default)]
struct Bought {
    supplier: String,
    price: String,
    minimum_order: String,
    pack: String,
    lead_days: String,
}

pub async fn part(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PartId>,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    show(&site, &req, &actor, *id, asked.yard, Typed::nothing()).await
}

/// The page, with what was typed into a form that was not taken.
pub async fn show(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: PartId,
    asked: Option<YardId>,
    t: Typed,
) -> Page {
    let p = workflow::store_part(&site.workshop, actor, id, MOST).await?;
    let zone = local_time::zone_of(site, actor).await?;
    let now = site.workshop.ambient.now();
    let currency = &site.workshop.currency;
    let row = p.yards.iter().find(|y| Some(y.yard_id) == asked).unwrap_or(&p.yards[0]);
    let in_unit = |thousandths| quantity(thousandths, &row.unit);
    let here = format!("/store/{id}");
    let yards: Vec<Yard> = p
        .yards
        .iter()
        .map(|y| Yard {
            id: y.yard_id.to_string(),
            name: y.yard_name.clone(),
            href: format!("{here}?yard={}", y.yard_id),
            chosen: y.yard_id == row.yard_id,
        })
        .collect();
    let other = |y: &&Yard| !y.chosen;
    let page = PartPage {
        page: Frame::new(req, Some(actor)),
        part: Part {
            name: row.name.clone(),
            number: row.number.clone(),
            bin: row.bin.clone(),
            unit_words: unit_in_words(&row.unit),
            on_hand: in_unit(row.on_hand),
            reserved: in_unit(row.reserved),
            free: in_unit((row.on_hand - row.reserved).max(0)),
            lacking: if row.lacking > 0 { in_unit(row.lacking) } else { String::new() },
            worth: amount(row.worth_minor, currency),
            level: row.level.map(in_unit).unwrap_or_default(),
        },
        yard_id: row.yard_id.to_string(),
        yard_name: row.yard_name.clone(),
        other_yards: yards
            .iter()
            .filter(other)
            .map(|y| Yard { id: y.id.clone(), name: y.name.clone(), href: y.href.clone(), chosen: false })
            .collect(),
        yards,
        on_order: on_order(&p, &row.unit, &zone, now),
        movements: p.movements.iter().map(|m| movement(m, currency, &zone, now)).collect(),
        reasons: AdjustmentReason::ALL,
        supply: p.supply.as_ref().map(|s| Supply {
            supplier: s.supplier.clone(),
            price: amount(s.price_minor, currency),
            minimum_order: if s.minimum_order > 0 { in_unit(s.minimum_order) } else { String::new() },
            pack: if s.pack > 0 { in_unit(s.pack) } else { String::new() },
            lead: t!("store-days", days = s.lead_days),
        }),
        bought: p.supply.as_ref().map(bought).unwrap_or_default(),
        level: row.level.map(|l| Quantity(l).to_string()).unwrap_or_default(),
        may_receive: actor.may(Act::ReceiveParts),
        quantity_words: t!("store-quantity-in", unit = unit_in_words(&row.unit)),
        value_words: t!("store-value-in", currency = currency.as_ref()),
        price_words: t!("store-price-in", currency = currency.as_ref()),
        here,
        t,
    };
    page_with(page.t.status, &page)
}

fn bought(s: &workflow::SupplyRow) -> Bought {
    let some = |thousandths| if thousandths > 0 { Quantity(thousandths).to_string() } else { String::new() };
    Bought {
        supplier: s.supplier.clone(),
        price: money::shown(s.price_minor, "").trim().to_owned(),
        minimum_order: some(s.minimum_order),
        pack: some(s.pack),
        lead_days: s.lead_days.to_string(),
    }
}

fn on_order(p: &StorePart, unit: &str, zone: &str, now: DateTime<Utc>) -> Vec<OnOrder> {
    p.on_order
        .iter()
        .map(|o| OnOrder {
            id: o.id.to_string(),
            yard: o.yard_name.clone(),
            quantity: quantity(o.quantity - o.came, unit),
            expected: o.expected_at.map(|at| day(at, zone, now)),
            expected_day: o.expected_at.map(|at| local_time::day_for_input(at, zone)).unwrap_or_default(),
            late: o.expected_at.is_some_and(|at| at < now),
            by: t!("store-ordered-by", name = o.by_name, when = when(o.ordered_at, zone, now).words),
        })
        .collect()
}

fn movement(m: &MovementRow, currency: &str, zone: &str, now: DateTime<Utc>) -> Movement {
    let sign = if m.quantity < 0 { "−" } else { "+" };
    let what = match (&m.other_yard_name, m.reason) {
        (Some(yard), _) if m.quantity < 0 => t!("store-to-yard", yard = yard),
        (Some(yard), _) => t!("store-from-yard", yard = yard),
        (None, Some(reason)) => reason.here(),
        (None, None) => String::new(),
    };
    Movement {
        when: when(m.at, zone, now),
        kind: m.kind.here(),
        quantity: format!("{sign}{}", quantity(m.quantity.abs(), &m.unit)),
        value: amount(m.value_minor, currency).replace('-', "−"),
        by: m.by_name.clone(),
        yard: m.yard_name.clone(),
        what,
        note: m.note.to_string(),
        order_href: m.work_order_id.map(|o| format!("/work-orders/{o}")).unwrap_or_default(),
    }
}

/// Signs of units are the same everywhere; the word for what is counted is not.
pub fn unit_in_words(unit: &str) -> String {
    if unit == "each" { t!("store-each") } else { unit.to_owned() }
}
