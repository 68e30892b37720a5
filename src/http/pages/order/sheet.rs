//! The work sheet: what a mechanic takes to a machine where no screen goes, with room to write. Paper decides nothing: what
//! is written on it is entered afterwards, and the release is signed on the page.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::view::{ReadingView, cautions, facts, readings, under};
use crate::domain::ids::WorkOrderId;
use crate::domain::standing::Severity;
use crate::http::Site;
use crate::http::pages::frame::Frame;
use crate::http::pages::local_time::in_full;
use crate::http::pages::qr::{Symbol, symbol};
use crate::http::pages::shown::{When, quantity};
use crate::http::pages::{Page, page};
use crate::http::session::Signed;
use crate::workflow::{self, DefectOnOrder};

#[derive(Template)]
#[template(path = "work_sheet.html", config = ".askama.toml")]
struct SheetPage {
    page: Frame,
    order_href: String,
    number: i64,
    unit_number: String,
    standing: String,
    with: String,
    opened: When,
    printed: When,
    zone: String,
    facts: Vec<(String, String)>,
    cautions: Vec<String>,
    defects: Vec<Failed>,
    lines: Vec<Line>,
    qr: Symbol,
    address: String,
}

struct Failed {
    what: String,
    severity: Severity,
    closed: bool,
    readings: Vec<ReadingView>,
    under: String,
    found: When,
    by: String,
    why: String,
    instruction: String,
    /// Empty until it is entered; then there is room for it.
    cause: String,
    remedy: String,
}

struct Line {
    name: String,
    number: String,
    bin: String,
    reserved: String,
    issued: String,
}

pub async fn sheet(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<WorkOrderId>,
    site: web::Data<Site>,
) -> Page {
    let o = workflow::order_page(&site.workshop, &actor, *id).await?;
    let zone = o.yard.zone.clone();
    let address = format!("{}/machines/{}", site.public_url, o.machine.id);
    page(&SheetPage {
        page: Frame::new(&req, Some(&actor)),
        order_href: format!("/work-orders/{}", o.order.id),
        number: o.order.number,
        unit_number: o.machine.unit_number.clone(),
        standing: o.standing.here(),
        with: o.order.mechanic_name.clone(),
        opened: in_full(o.order.opened_at, &zone),
        printed: in_full(site.workshop.ambient.now(), &zone),
        facts: facts(&o),
        cautions: cautions(&o),
        defects: o.defects.iter().map(|d| failed(d, &zone)).collect(),
        lines: o
            .lines
            .iter()
            .map(|l| Line {
                name: l.name.clone(),
                number: l.number.clone(),
                bin: l.bin.clone(),
                reserved: quantity(l.reserved, &l.unit),
                issued: quantity(l.issued, &l.unit),
            })
            .collect(),
        qr: symbol(&address),
        address,
        zone,
    })
}

fn failed(d: &DefectOnOrder, zone: &str) -> Failed {
    Failed {
        what: d.defect.what.to_string(),
        severity: d.defect.severity,
        closed: d.defect.closed_at.is_some(),
        readings: readings(d),
        under: under(d),
        found: in_full(d.defect.found_at, zone),
        by: d.reported_by_name.clone(),
        why: d.defect.why.to_string(),
        instruction: d.defect.instruction.to_string(),
        cause: d.defect.cause.clone(),
        remedy: d.defect.remedy.clone(),
    }
}
