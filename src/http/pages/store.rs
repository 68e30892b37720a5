//! The store: what is on hand, what is spoken for, what is expected, and the ledger behind each figure.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, amount, day, quantity, when};
use super::typed::{Typed, refused};
use super::{Page, local_time, page, page_with, see_other};
use crate::domain::ids::PartId;
use crate::domain::person::{Act, Actor};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, MovementRow, NewPart, PartRow};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/store", web::get().to(parts));
    cfg.route("/store/new", web::get().to(new));
    cfg.route("/store/new", web::post().to(add));
    cfg.route("/store/{id}", web::get().to(part));
    cfg.route("/store/{id}/receive", web::post().to(receive));
    cfg.route("/store/{id}/expect", web::post().to(expect));
}

/// Lines of the ledger on a part's page.
const MOST: i64 = 200;

struct Part {
    href: String,
    name: String,
    number: String,
    bin: String,
    unit_words: String,
    on_hand: String,
    reserved: String,
    free: String,
    none_free: bool,
    worth: String,
    expected: Option<When>,
    late: bool,
}

struct Movement {
    when: When,
    kind: String,
    quantity: String,
    value: String,
    by: String,
    note: String,
    order_href: String,
}

#[derive(Template)]
#[template(path = "store.html", config = ".askama.toml")]
struct StorePage {
    page: Frame,
    parts: Vec<Part>,
    worth: String,
    may_receive: bool,
}

#[derive(Template)]
#[template(path = "store_new.html", config = ".askama.toml")]
struct NewPage {
    page: Frame,
    t: Typed,
}

#[derive(Template)]
#[template(path = "store_part.html", config = ".askama.toml")]
struct PartPage {
    page: Frame,
    t: Typed,
    part: Part,
    movements: Vec<Movement>,
    may_receive: bool,
    quantity_words: String,
    value_words: String,
    expected_day: String,
}

async fn parts(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    let parts = workflow::store_parts(&site.workshop, &actor).await?;
    let zone = local_time::zone_of(&site, &actor).await?;
    let now = site.workshop.ambient.now();
    page(&StorePage {
        page: Frame::new(&req, Some(&actor)),
        worth: amount(parts.iter().map(|p| p.worth_minor).sum(), &site.workshop.currency),
        parts: parts.iter().map(|p| shown(p, &site, &zone, now)).collect(),
        may_receive: actor.may(Act::ReceiveParts),
    })
}

async fn new(Signed(actor): Signed, req: HttpRequest) -> Page {
    actor.must(Act::ReceiveParts)?;
    page(&NewPage { page: Frame::new(&req, Some(&actor)), t: Typed::nothing() })
}

async fn add(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let text = |name| form.text(name).to_owned();
    let new = NewPart { number: text("number"), name: text("name"), unit: text("unit"), bin: text("bin") };
    match workflow::add_part(&site.workshop, &actor, new).await {
        Ok(id) => see_other(&format!("/store/{id}?done=saved")),
        Err(e) => {
            let t = Typed::not_taken("part", form, e)?;
            page_with(t.status, &NewPage { page: Frame::new(&req, Some(&actor)), t })
        }
    }
}

async fn part(Signed(actor): Signed, req: HttpRequest, id: web::Path<PartId>, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, *id, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, id: PartId, t: Typed) -> Page {
    let (row, movements) = workflow::store_part(&site.workshop, actor, id, MOST).await?;
    let zone = local_time::zone_of(site, actor).await?;
    let now = site.workshop.ambient.now();
    let status: StatusCode = t.status;
    let view = PartPage {
        page: Frame::new(req, Some(actor)),
        t,
        part: shown(&row, site, &zone, now),
        movements: movements.iter().map(|m| movement(m, &row, site, &zone, now)).collect(),
        may_receive: actor.may(Act::ReceiveParts),
        quantity_words: t!("store-quantity-in", unit = unit_in_words(&row.unit)),
        value_words: t!("store-value-in", currency = site.workshop.currency.as_ref()),
        expected_day: row.expected_at.map(|at| local_time::day_for_input(at, &zone)).unwrap_or_default(),
    };
    page_with(status, &view)
}

async fn receive(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PartId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let (quantity, value, note) = (form.text("quantity"), form.text("value"), form.text("note"));
    let once = form.text("once").parse().unwrap_or_else(|_| site.workshop.ambient.id());
    match workflow::receive_part_once(&site.workshop, &actor, once, *id, quantity, value, note).await {
        Ok(()) => see_other(&format!("/store/{id}?done=received")),
        Err(e) => {
            let t = Typed::not_taken("receive", form, e)?;
            show(&site, &req, &actor, *id, t).await
        }
    }
}

async fn expect(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PartId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let zone = local_time::zone_of(&site, &actor).await?;
    let outcome = match local_time::day(form.text("at"), &zone) {
        Ok(at) => workflow::expect_part(&site.workshop, &actor, *id, at).await,
        Err(sentence) => Err(refused("at", sentence)),
    };
    match outcome {
        Ok(()) => see_other(&format!("/store/{id}?done=saved")),
        Err(e) => {
            let t = Typed::not_taken("expect", form, e)?;
            show(&site, &req, &actor, *id, t).await
        }
    }
}

fn shown(p: &PartRow, site: &Site, zone: &str, now: DateTime<Utc>) -> Part {
    let in_unit = |thousandths| quantity(thousandths, &p.unit);
    let free = (p.on_hand - p.reserved).max(0);
    Part {
        href: format!("/store/{}", p.id),
        name: p.name.clone(),
        number: p.number.clone(),
        bin: p.bin.clone(),
        unit_words: unit_in_words(&p.unit),
        on_hand: in_unit(p.on_hand),
        reserved: in_unit(p.reserved),
        free: in_unit(free),
        none_free: free == 0,
        worth: amount(p.worth_minor, &site.workshop.currency),
        expected: p.expected_at.map(|at| day(at, zone, now)),
        late: p.expected_at.is_some_and(|at| at < now),
    }
}

fn movement(m: &MovementRow, part: &PartRow, site: &Site, zone: &str, now: DateTime<Utc>) -> Movement {
    let sign = if m.quantity < 0 { "−" } else { "+" };
    Movement {
        when: when(m.at, zone, now),
        kind: m.kind.here(),
        quantity: format!("{sign}{}", quantity(m.quantity.abs(), &part.unit)),
        value: amount(m.value_minor, &site.workshop.currency).replace('-', "−"),
        by: m.by_name.clone(),
        note: m.note.to_string(),
        order_href: m.work_order_id.map(|o| format!("/work-orders/{o}")).unwrap_or_default(),
    }
}

/// Signs of units are the same everywhere; the word for what is counted is not.
pub fn unit_in_words(unit: &str) -> String {
    if unit == "each" { t!("store-each") } else { unit.to_owned() }
}
