//! One work order: everything known about what failed, and everything that can be done next, on one page.

mod acts;
mod more;
mod parts;
pub mod retest_form;
mod sheet;
mod view;

use actix_web::{HttpRequest, web};

use super::error::PageError;
use super::form::Form;
use super::typed::Typed;
use super::{Page, page_with};
use crate::domain::ids::WorkOrderId;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, WorkflowError};
use view::OrderView;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/work-orders/{id}", web::get().to(order));
    cfg.route("/work-orders/{id}/sheet", web::get().to(sheet::sheet));
    cfg.route("/work-orders/{id}/claim", web::post().to(acts::claim));
    cfg.route("/work-orders/{id}/hand-back", web::post().to(acts::hand_back));
    cfg.route("/work-orders/{id}/start", web::post().to(acts::start));
    cfg.route("/work-orders/{id}/stop", web::post().to(acts::stop));
    cfg.route("/work-orders/{id}/labour", web::post().to(acts::labour));
    cfg.route("/work-orders/{id}/parts", web::post().to(acts::parts));
    cfg.route("/work-orders/{id}/wait", web::post().to(acts::wait));
    cfg.route("/work-orders/{id}/finish", web::post().to(acts::finish));
    cfg.route("/work-orders/{id}/defects/{defect}/retest", web::post().to(acts::retest));
    cfg.route("/work-orders/{id}/release", web::post().to(acts::release));
    cfg.route("/work-orders/{id}/cancel", web::post().to(acts::cancel));
    cfg.route("/work-orders/{id}/notes", web::post().to(more::note));
    cfg.route("/work-orders/{id}/photos", web::post().to(more::photo));
    cfg.route("/work-orders/{id}/split", web::post().to(more::split));
    cfg.route("/work-orders/{id}/merge", web::post().to(more::merge));
    cfg.route("/machines/{id}/work-order", web::post().to(acts::open));
}

async fn order(signed: Signed, req: HttpRequest, id: web::Path<WorkOrderId>, site: web::Data<Site>) -> Page {
    show(&site, &req, &signed.0, *id, Typed::nothing()).await
}

/// The page, with what was typed into a form that was not taken.
async fn show(site: &Site, req: &HttpRequest, actor: &Actor, id: WorkOrderId, typed: Typed) -> Page {
    let order = workflow::order_page(&site.workshop, actor, id).await?;
    page_with(typed.status, &OrderView::new(site, req, actor, order, typed))
}

/// After an act: the page that shows it, or the same page with what is in the way of it.
async fn answer(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: WorkOrderId,
    (form, values): (&str, Form),
    outcome: Result<&str, WorkflowError>,
) -> Page {
    match outcome {
        Ok(done) => super::see_other(&format!("/work-orders/{id}?done={done}")),
        Err(e) => {
            let typed = Typed::not_taken(form, values, e)?;
            show(site, req, actor, id, typed).await
        }
    }
}

/// Whoever may not see the work order learns nothing about it from a form either.
async fn zone(site: &Site, actor: &Actor, id: WorkOrderId) -> Result<String, PageError> {
    Ok(workflow::order_page(&site.workshop, actor, id).await?.yard.zone)
}
