//! The store: what is on hand, what is spoken for, what is expected, and the ledger behind each figure.

mod acts;
mod count;
mod ledger;
mod reorder;
mod view;

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, amount, day, quantity};
use super::typed::Typed;
use super::{Page, local_time, page, page_with, see_other};
use crate::domain::ids::YardId;
use crate::domain::person::{Act, Actor};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, NewPart, WorkflowError, YardRow};

pub use reorder::why as why_order;
pub use view::unit_in_words;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/store", web::get().to(parts));
    cfg.route("/store/new", web::get().to(new));
    cfg.route("/store/new", web::post().to(add));
    // Before the address that takes any id.
    cfg.route("/store/count", web::get().to(count::sheet));
    cfg.route("/store/count", web::post().to(count::counted));
    cfg.route("/store/reorder", web::get().to(reorder::proposals));
    cfg.route("/store/reorder.csv", web::get().to(reorder::csv));
    cfg.route("/store/reorder/rules", web::post().to(reorder::rules));
    cfg.route("/store/ledger.csv", web::get().to(ledger::csv));
    cfg.route("/store/{id}", web::get().to(view::part));
    cfg.route("/store/{id}/receive", web::post().to(acts::receive));
    cfg.route("/store/{id}/ordered", web::post().to(acts::ordered));
    cfg.route("/store/{id}/on-order", web::post().to(acts::on_order));
    cfg.route("/store/{id}/adjust", web::post().to(acts::adjust));
    cfg.route("/store/{id}/transfer", web::post().to(acts::transfer));
    cfg.route("/store/{id}/place", web::post().to(acts::place));
    cfg.route("/store/{id}/supply", web::post().to(acts::supply));
}

struct Part {
    href: String,
    name: String,
    number: String,
    bin: String,
    on_hand: String,
    reserved: String,
    free: String,
    none_free: bool,
    /// On its way; empty for nothing.
    on_order: String,
    expected: Option<When>,
    late: bool,
    lacking: String,
    worth: String,
}

/// A yard to look at, and whether it is the one that is shown.
pub struct Yard {
    pub id: String,
    pub name: String,
    pub href: String,
    pub chosen: bool,
}

#[derive(Template)]
#[template(path = "store.html", config = ".askama.toml")]
struct StorePage {
    page: Frame,
    yards: Vec<Yard>,
    yard_id: String,
    parts: Vec<Part>,
    worth: String,
    may_receive: bool,
}

#[derive(Template)]
#[template(path = "store_new.html", config = ".askama.toml")]
struct NewPage {
    page: Frame,
    t: Typed,
    yards: Vec<Yard>,
}

#[derive(serde::Deserialize)]
pub struct Asked {
    yard: Option<YardId>,
}

async fn parts(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let yards = workflow::store_yards(&site.workshop, &actor).await?;
    let chosen = chosen(&yards, asked.yard);
    let parts = workflow::store_parts(&site.workshop, &actor).await?;
    let zone = local_time::zone_of(&site, &actor).await?;
    let now = site.workshop.ambient.now();
    let here: Vec<_> = parts.iter().filter(|p| Some(p.yard_id) == chosen).collect();
    page(&StorePage {
        page: Frame::new(&req, Some(&actor)),
        worth: amount(here.iter().map(|p| p.worth_minor).sum(), &site.workshop.currency),
        parts: here
            .into_iter()
            .map(|p| {
                let in_unit = |thousandths| quantity(thousandths, &p.unit);
                let some = |thousandths| if thousandths > 0 { in_unit(thousandths) } else { String::new() };
                let free = (p.on_hand - p.reserved).max(0);
                Part {
                    href: format!("/store/{}?yard={}", p.id, p.yard_id),
                    name: p.name.clone(),
                    number: p.number.clone(),
                    bin: p.bin.clone(),
                    on_hand: in_unit(p.on_hand),
                    reserved: in_unit(p.reserved),
                    free: in_unit(free),
                    none_free: free == 0,
                    on_order: some(p.on_order),
                    expected: p.expected_at.map(|at| day(at, &zone, now)),
                    late: p.expected_at.is_some_and(|at| at < now),
                    lacking: some(p.lacking),
                    worth: amount(p.worth_minor, &site.workshop.currency),
                }
            })
            .collect(),
        yards: shown_yards(&yards, chosen, "/store"),
        yard_id: chosen.map(|y| y.to_string()).unwrap_or_default(),
        may_receive: actor.may(Act::ReceiveParts),
    })
}

async fn new(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    actor.must(Act::ReceiveParts)?;
    show_new(&site, &req, &actor, Typed::nothing()).await
}

async fn show_new(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let yards = workflow::store_yards(&site.workshop, actor).await?;
    let asked = t.value("part", "yard").parse().ok();
    let yards = shown_yards(&yards, chosen(&yards, asked), "/store/new");
    page_with(t.status, &NewPage { page: Frame::new(req, Some(actor)), t, yards })
}

async fn add(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    actor.must(Act::ReceiveParts)?;
    let outcome = match yard_of_form(&site, &actor, &form).await {
        Ok(yard) => {
            let text = |name| form.text(name).to_owned();
            let new = NewPart {
                number: text("number"),
                name: text("name"),
                unit: text("unit"),
                bin: text("bin"),
                yard,
            };
            workflow::add_part(&site.workshop, &actor, new).await
        }
        Err(e) => Err(e),
    };
    match outcome {
        Ok(id) => see_other(&format!("/store/{id}?done=saved")),
        Err(e) => show_new(&site, &req, &actor, Typed::not_taken("part", form, e)?).await,
    }
}

/// The yard of a form; where it names none, the first of whoever sends it.
async fn yard_of_form(site: &Site, actor: &Actor, form: &Form) -> Result<YardId, WorkflowError> {
    let yards = workflow::store_yards(&site.workshop, actor).await?;
    chosen(&yards, form.text("yard").parse().ok())
        .ok_or_else(|| super::typed::refused("yard", said!("stock-which-yard")))
}

fn chosen(yards: &[YardRow], asked: Option<YardId>) -> Option<YardId> {
    asked.filter(|id| yards.iter().any(|y| y.id == *id)).or_else(|| yards.first().map(|y| y.id))
}

fn shown_yards(yards: &[YardRow], chosen: Option<YardId>, here: &str) -> Vec<Yard> {
    yards
        .iter()
        .map(|y| Yard {
            id: y.id.to_string(),
            name: y.name.clone(),
            href: format!("{here}?yard={}", y.id),
            chosen: Some(y.id) == chosen,
        })
        .collect()
}
