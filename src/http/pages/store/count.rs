//! A stock-take: a sheet to print and walk with, and the same sheet to type what lay there. It does not show what the books
//! say, so that it is really counted.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::{Asked, Yard, chosen, shown_yards};
use crate::domain::ids::{CountId, YardId};
use crate::domain::person::{Act, Actor};
use crate::domain::store::Quantity;
use crate::http::Site;
use crate::http::pages::form::Form;
use crate::http::pages::frame::Frame;
use crate::http::pages::local_time;
use crate::http::pages::shown::When;
use crate::http::pages::typed::{Typed, refused};
use crate::http::pages::{Page, page_with, see_other};
use crate::http::session::Signed;
use crate::workflow::{self, Counted};

#[derive(Template)]
#[template(path = "store_count.html", config = ".askama.toml")]
struct CountPage {
    page: Frame,
    t: Typed,
    yards: Vec<Yard>,
    yard_id: String,
    yard_name: String,
    as_of: When,
    lines: Vec<Line>,
}

struct Line {
    id: String,
    bin: String,
    name: String,
    number: String,
    unit: String,
    booked: String,
}

pub async fn sheet(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    show(&site, &req, &actor, asked.yard, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, asked: Option<YardId>, t: Typed) -> Page {
    actor.must(Act::ReceiveParts)?;
    let yards = workflow::store_yards(&site.workshop, actor).await?;
    let yard = chosen(&yards, asked);
    let zone = local_time::zone_of(site, actor).await?;
    let mut parts = workflow::store_parts(&site.workshop, actor).await?;
    parts.retain(|p| Some(p.yard_id) == yard);
    // As one walks along the shelves.
    parts.sort_by_cached_key(|p| (p.bin.is_empty(), p.bin.clone(), p.name.clone()));
    let lines = parts
        .into_iter()
        .map(|p| {
            let id = p.id.to_string();
            // A sheet that comes back keeps what the books said when it was made.
            let booked = t.value("count", format!("booked-{id}")).to_owned();
            Line {
                booked: if booked.is_empty() { Quantity(p.on_hand).to_string() } else { booked },
                id,
                bin: p.bin,
                name: p.name,
                number: p.number,
                unit: super::unit_in_words(&p.unit),
            }
        })
        .collect();
    let shown = CountPage {
        page: Frame::new(req, Some(actor)),
        yard_id: yard.map(|y| y.to_string()).unwrap_or_default(),
        yard_name: yards.iter().find(|y| Some(y.id) == yard).map(|y| y.name.clone()).unwrap_or_default(),
        yards: shown_yards(&yards, yard, "/store/count"),
        as_of: local_time::in_full(site.workshop.ambient.now(), &zone),
        lines,
        t,
    };
    page_with(shown.t.status, &shown)
}

pub async fn counted(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    actor.must(Act::ReceiveParts)?;
    let asked: Option<YardId> = form.text("yard").parse().ok();
    let lines: Vec<Counted> = form
        .all("part")
        .filter_map(|p| p.parse().ok())
        .map(|part: crate::domain::ids::PartId| Counted {
            part,
            booked: form.text(&format!("booked-{part}")).to_owned(),
            counted: form.text(&format!("counted-{part}")).to_owned(),
        })
        .collect();
    let outcome = match asked {
        Some(yard) => {
            let sheet = CountId(form.text("once").parse().unwrap_or_else(|_| site.workshop.ambient.id()));
            workflow::count_stock(&site.workshop, &actor, sheet, yard, &lines).await
        }
        None => Err(refused("yard", said!("stock-which-yard"))),
    };
    match outcome {
        Ok(_) => see_other(&format!("/store?yard={}&done=counted", form.text("yard"))),
        Err(e) => show(&site, &req, &actor, asked, Typed::not_taken("count", form, e)?).await,
    }
}
