//! Labels for the machines themselves: unit number and QR symbol, many on a sheet. Whoever points a phone at one is at the
//! machine's page.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::frame::Frame;
use super::qr::{Symbol, symbol};
use super::{Page, page};
use crate::domain::machine::class_said;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, MachineFilter};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/labels", web::get().to(labels));
}

#[derive(Template)]
#[template(path = "labels.html", config = ".askama.toml")]
struct LabelsPage {
    page: Frame,
    yards: Vec<(String, bool)>,
    classes: Vec<(String, bool)>,
    labels: Vec<Label>,
    more: bool,
}

struct Label {
    unit_number: String,
    class: String,
    qr: Symbol,
}

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    yard: String,
    #[serde(default)]
    class: String,
}

/// Some fourteen sheets.
const MOST: i64 = 200;

async fn labels(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let w = &site.workshop;
    let filter =
        MachineFilter { yard: asked.yard.clone(), class: asked.class.clone(), ..MachineFilter::default() };
    let found = workflow::list_machines(w, &actor, &filter, "", MOST + 1).await?;
    let yards = workflow::yards(w, &actor).await?.into_iter().map(|y| y.name);
    let classes = workflow::machine_classes(w, &actor).await?;
    let most = usize::try_from(MOST).unwrap_or(usize::MAX);
    page(&LabelsPage {
        page: Frame::new(&req, Some(&actor)),
        yards: yards.map(|y| (y == asked.yard, y)).map(|(chosen, y)| (y, chosen)).collect(),
        classes: classes.into_iter().map(|c| (c == asked.class, c)).map(|(chosen, c)| (c, chosen)).collect(),
        more: found.len() > most,
        labels: found
            .into_iter()
            .take(most)
            .map(|listed| Label {
                qr: symbol(&format!("{}/machines/{}", site.public_url, listed.machine.id)),
                unit_number: listed.machine.unit_number,
                class: class_said(&listed.machine.class).to_string(),
            })
            .collect(),
    })
}
