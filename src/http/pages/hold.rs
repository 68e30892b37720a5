//! Grounding a machine by hand, and lifting such a hold again.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::typed::Typed;
use super::{Page, gate, page_with, see_other};
use crate::domain::ids::{HoldId, MachineId};
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/hold", web::get().to(form));
    cfg.route("/machines/{id}/hold", web::post().to(place));
    cfg.route("/holds/{id}/lift", web::post().to(lift));
}

#[derive(Template)]
#[template(path = "hold.html", config = ".askama.toml")]
struct HoldPage {
    page: Frame,
    t: Typed,
    href: String,
    unit_number: String,
    held_already: bool,
    /// Made here, so that a double tap places one hold.
    id: HoldId,
}

async fn form(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    show(&site, &actor, &req, *id, site.workshop.ambient.id(), Typed::nothing()).await
}

async fn place(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let hold: HoldId = form.text("id").parse().unwrap_or_else(|_| site.workshop.ambient.id());
    match workflow::place_hold(&site.workshop, &actor, hold, *id, form.text("reason")).await {
        Ok(_) => see_other(&format!("/machines/{id}?done=held")),
        Err(e) => {
            let t = Typed::not_taken("hold", form, e)?;
            show(&site, &actor, &req, *id, hold, t).await
        }
    }
}

async fn show(site: &Site, actor: &Actor, req: &HttpRequest, id: MachineId, hold: HoldId, t: Typed) -> Page {
    let gate = workflow::gate(&site.workshop, actor, id).await?;
    page_with(
        t.status,
        &HoldPage {
            page: Frame::new(req, Some(actor)),
            t,
            href: format!("/machines/{id}"),
            unit_number: gate.machine.unit_number,
            held_already: !gate.holds.is_empty(),
            id: hold,
        },
    )
}

async fn lift(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<HoldId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    match workflow::lift_hold(&site.workshop, &actor, *id, form.text("reason")).await {
        Ok(machine) => see_other(&format!("/machines/{machine}?done=lifted")),
        Err(e) => {
            // The form says which machine's page it stood on; without that, the refusal gets a page of its own.
            let Some(machine) = machine_of(&form) else { return Err(PageError::Workflow(e)) };
            let t = Typed::not_taken(&format!("lift-{id}"), form, e)?;
            gate::show(&site, &actor, &req, machine, t).await
        }
    }
}

fn machine_of(form: &Form) -> Option<MachineId> {
    form.text("machine").rsplit('/').next()?.parse().ok()
}
