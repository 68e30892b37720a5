//! The return-to-service note: the sheet that goes with the machine and to whoever reported what was wrong.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::frame::Frame;
use super::local_time::in_full;
use super::markup;
use super::shown::When;
use super::{Page, page};
use crate::domain::ids::WorkOrderId;
use crate::domain::machine::class_said;
use crate::domain::refusal::Refusal;
use crate::domain::standing::Standing;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/work-orders/{id}/note", web::get().to(note));
}

#[derive(Template)]
#[template(path = "release_note.html", config = ".askama.toml")]
struct NotePage {
    page: Frame,
    order_href: String,
    number: i64,
    unit_number: String,
    class: String,
    yard: String,
    zone: String,
    /// Of the machine now: another hold may have come since.
    standing: Standing,
    defects: Vec<Repaired>,
    repaired_by: String,
    released_by: String,
    released_at: When,
    by_the_repairer: bool,
    note: String,
}

struct Repaired {
    what: String,
    found: When,
    by: String,
    cause: String,
    remedy: String,
    no_fault_found: bool,
    retested: String,
}

async fn note(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<WorkOrderId>,
    site: web::Data<Site>,
) -> Page {
    let o = workflow::order_page(&site.workshop, &actor, *id).await?;
    let Some(release) = o.release else {
        return Err(Refusal::conflict(said!("order-not-released")).into());
    };
    let zone = o.yard.zone.clone();
    let mut repairers: Vec<&str> = Vec::new();
    for name in o.defects.iter().map(|d| &d.repaired_by_name).chain(o.labour.iter().map(|l| &l.mechanic_name))
    {
        if !name.is_empty() && !repairers.contains(&name.as_str()) {
            repairers.push(name);
        }
    }
    page(&NotePage {
        page: Frame::new(&req, Some(&actor)),
        order_href: format!("/work-orders/{}", o.order.id),
        number: o.order.number,
        unit_number: o.machine.unit_number.clone(),
        class: class_said(&o.machine.class).to_string(),
        yard: o.yard.name.clone(),
        zone: zone.clone(),
        standing: o.standing,
        repaired_by: repairers.join(", "),
        defects: o
            .defects
            .iter()
            .map(|d| Repaired {
                what: d.defect.what.to_string(),
                found: in_full(d.defect.found_at, &zone),
                by: d.reported_by_name.clone(),
                cause: d.defect.cause.clone(),
                remedy: d.defect.remedy.clone(),
                no_fault_found: d.defect.no_fault_found,
                retested: d
                    .retests
                    .iter()
                    .rev()
                    .find(|r| r.passed)
                    .map(|r| format!("{}, {}", r.by_name, in_full(r.at, &zone).words))
                    .unwrap_or_default(),
            })
            .collect(),
        released_by: release.by_name,
        released_at: in_full(release.at, &zone),
        by_the_repairer: release.released_by_repairer,
        note: release.note.to_string(),
    })
}
