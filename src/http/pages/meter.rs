//! Somebody reads the hour meter without checking the machine. It may end a watch, and shows use while out of service.

use actix_web::{HttpRequest, web};

use super::form::Form;
use super::typed::{Typed, refused};
use super::{Page, gate, see_other};
use crate::domain::ids::MachineId;
use crate::domain::unit::MeasureError;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, MeterReading, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/engine-hours", web::post().to(read));
}

async fn read(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let taken = match reading(&form) {
        Ok(reading) => workflow::read_meter(&site.workshop, &actor, *id, reading).await,
        Err(e) => Err(e),
    };
    match taken {
        Ok(held) => see_other(&format!("/machines/{id}?done={}", if held { "watch-over" } else { "saved" })),
        Err(e) => gate::show(&site, &actor, &req, *id, Typed::not_taken("meter", form, e)?).await,
    }
}

/// What the hour meter shows, as it was typed.
fn reading(form: &Form) -> Result<MeterReading, WorkflowError> {
    let typed = form.text("engine_hours").trim();
    let hours = typed.parse().map_err(|e: MeasureError| refused("engine_hours", e.said()))?;
    Ok(MeterReading { hours, confirmed: form.has("hours_confirmed") })
}

/// The same where it may be left out.
pub fn reading_if_given(form: &Form) -> Result<Option<MeterReading>, WorkflowError> {
    if form.text("engine_hours").trim().is_empty() { Ok(None) } else { reading(form).map(Some) }
}
