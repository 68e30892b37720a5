//! What should be ordered, how many, from whom and why; a list to print, a file, and a button for what was ordered.

use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::TimeDelta;

use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::store::Quantity;
use crate::domain::store::reorder::{PointBy, Proposal, QuantityBy};
use crate::http::Site;
use crate::http::csv::{Cell, Sheet};
use crate::http::pages::error::PageError;
use crate::http::pages::form::Form;
use crate::http::pages::frame::Frame;
use crate::http::pages::shown::{When, amount, quantity};
use crate::http::pages::typed::Typed;
use crate::http::pages::{Page, local_time, page_with, see_other};
use crate::http::session::Signed;
use crate::words::{Lang, here};
use crate::workflow::{self, Proposed, StorePolicy};

#[derive(Template)]
#[template(path = "store_reorder.html", config = ".askama.toml")]
struct ReorderPage {
    page: Frame,
    t: Typed,
    as_of: When,
    proposed: Vec<Line>,
    total: String,
    may_receive: bool,
    may_decide: bool,
    service_level: String,
    order_cost: String,
    holding: String,
    order_cost_words: String,
}

struct Line {
    href: String,
    yard: String,
    yard_id: String,
    name: String,
    number: String,
    quantity: String,
    figure: String,
    supplier: String,
    cost: String,
    why: String,
    once: String,
    expected_day: String,
}

pub async fn proposals(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let found = workflow::reorder(&site.workshop, actor).await?;
    let zone = local_time::zone_of(site, actor).await?;
    let now = site.workshop.ambient.now();
    let currency = &site.workshop.currency;
    let page = Frame::new(req, Some(actor));
    let policy = found.policy;
    let once = page.once;
    let shown = ReorderPage {
        page,
        as_of: local_time::in_full(now, &zone),
        total: amount(found.proposed.iter().filter_map(|p| p.cost_minor).sum(), currency),
        proposed: found
            .proposed
            .iter()
            .map(|p| Line {
                href: format!("/store/{}", p.part.id),
                yard: p.part.yard_name.clone(),
                yard_id: p.part.yard_id.to_string(),
                name: p.part.name.clone(),
                number: p.part.number.clone(),
                quantity: quantity(p.proposal.quantity, &p.part.unit),
                figure: Quantity(p.proposal.quantity).to_string(),
                supplier: p.supply.as_ref().map(|s| s.supplier.clone()).unwrap_or_default(),
                cost: p.cost_minor.map(|c| amount(c, currency)).unwrap_or_default(),
                why: why(p, here()),
                // One for each row of the page.
                once: uuid::Uuid::from_u128(
                    once.as_u128() ^ p.part.id.0.as_u128() ^ p.part.yard_id.0.as_u128().rotate_left(1),
                )
                .to_string(),
                expected_day: local_time::day_for_input(now + TimeDelta::days(i64::from(p.lead_days)), &zone),
            })
            .collect(),
        may_receive: actor.may(Act::ReceiveParts),
        may_decide: actor.may(Act::SetUpMachines),
        service_level: percent(policy.service_level),
        order_cost: policy
            .order_cost_minor
            .map(|c| money::shown(c, "").trim().to_owned())
            .unwrap_or_default(),
        holding: policy.holding_share.map(percent).unwrap_or_default(),
        order_cost_words: t!("reorder-order-cost", currency = currency.as_ref()),
        t,
    };
    page_with(shown.t.status, &shown)
}

pub async fn rules(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let text = |name| form.text(name).to_owned();
    let new = StorePolicy {
        service_level: text("service_level"),
        order_cost: text("order_cost"),
        holding: text("holding"),
    };
    match workflow::set_store_policy(&site.workshop, &actor, new).await {
        Ok(()) => see_other("/store/reorder?done=saved"),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("rules", form, e)?).await,
    }
}

pub async fn csv(Signed(actor): Signed, site: web::Data<Site>) -> Result<HttpResponse, PageError> {
    let found = workflow::reorder(&site.workshop, &actor).await?;
    let mut sheet = Sheet::new(&[
        "yard",
        "supplier",
        "part number",
        "part",
        "quantity",
        "unit",
        "cost",
        "currency",
        "why",
    ]);
    for p in &found.proposed {
        let cost = p.cost_minor.map(|c| money::shown(c, "").trim().to_owned()).unwrap_or_default();
        sheet.row([
            Cell::from(p.part.yard_name.as_str()),
            Cell::from(p.supply.as_ref().map(|s| s.supplier.as_str()).unwrap_or_default()),
            Cell::from(p.part.number.as_str()),
            Cell::from(p.part.name.as_str()),
            Cell::Figure(Quantity(p.proposal.quantity).to_string()),
            Cell::from(p.part.unit.as_str()),
            Cell::Figure(cost),
            Cell::from(site.workshop.currency.as_ref()),
            Cell::Text(why(p, Lang::En)),
        ]);
    }
    Ok(sheet.into_response("reorder.csv"))
}

/// In one sentence: why at this level, and why so many.
pub fn why(p: &Proposed, lang: Lang) -> String {
    let Proposal { quantity, position, point, by, .. } = &p.proposal;
    let there = Quantity::signed(*position);
    let lacking = Quantity(p.part.lacking);
    let figure = |value: f64| rounded(value);
    match (point, by) {
        (
            PointBy::Use { a_day, lead_days, service_level, point, .. },
            QuantityBy::Economic { quantity, .. },
        ) => {
            t_in!(
                lang,
                "reorder-why-use-economic",
                there = lang.figure(&there),
                point = lang.figure(&figure(*point)),
                a_week = lang.figure(&figure(a_day * 7.0)),
                days = lang.figure(&figure(*lead_days)),
                level = lang.figure(&percent(*service_level)),
                quantity = lang.figure(&figure(*quantity)),
            )
        }
        (PointBy::Use { a_day, lead_days, service_level, point, .. }, by) => {
            let key = match by {
                QuantityBy::MinimumOrder => "reorder-why-use-minimum",
                _ => "reorder-why-use-up-to",
            };
            t_in!(
                lang,
                key,
                there = lang.figure(&there),
                point = lang.figure(&figure(*point)),
                a_week = lang.figure(&figure(a_day * 7.0)),
                days = lang.figure(&figure(*lead_days)),
                level = lang.figure(&percent(*service_level)),
                quantity = Quantity(*quantity),
            )
        }
        (PointBy::Level { level, days_of_use }, by) => {
            let key = match by {
                QuantityBy::MinimumOrder => "reorder-why-level-minimum",
                _ => "reorder-why-level-up-to",
            };
            t_in!(
                lang,
                key,
                there = lang.figure(&there),
                level = lang.figure(&figure(*level)),
                days = *days_of_use,
                quantity = Quantity(*quantity),
            )
        }
        (PointBy::LackOnly { .. }, by) => {
            let key = match by {
                QuantityBy::MinimumOrder => "reorder-why-lacking-minimum",
                _ => "reorder-why-lacking",
            };
            t_in!(lang, key, lacking = lacking, quantity = Quantity(*quantity))
        }
    }
}

/// A reckoned figure: one decimal says as much as it is worth.
fn rounded(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

fn percent(share: f64) -> String {
    let text = format!("{:.2}", share * 100.0);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
