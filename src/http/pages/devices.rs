//! Shared devices, for whoever answers for them: who trusted which, who has a PIN there, and forgetting one that is lost.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::frame::Frame;
use super::local_time::zone_of;
use super::markup;
use super::shown::{When, when};
use super::{Page, page, see_other};
use crate::domain::ids::DeviceId;
use crate::http::Site;
use crate::http::session::{self, Signed};
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/devices", web::get().to(devices));
    cfg.route("/set-up/devices/{id}/forget", web::post().to(forget));
}

struct Device {
    id: String,
    trusted_by: String,
    trusted: When,
    last_used: Option<When>,
    people: String,
    signed_in: String,
    this_one: bool,
}

#[derive(Template)]
#[template(path = "set_up_devices.html", config = ".askama.toml")]
struct DevicesPage {
    page: Frame,
    devices: Vec<Device>,
}

async fn devices(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    let here = session::device_of(&req);
    let known = workflow::trusted_devices(&site.workshop, &actor, here.as_deref()).await?;
    let (zone, now) = (zone_of(&site, &actor).await?, site.workshop.ambient.now());
    let devices = known
        .into_iter()
        .map(|d| Device {
            id: d.id.to_string(),
            trusted: when(d.trusted_at, &zone, now),
            last_used: d.last_used_at.map(|at| when(at, &zone, now)),
            trusted_by: d.trusted_by,
            people: d.people.join(", "),
            signed_in: d.signed_in.join(", "),
            this_one: d.this_one,
        })
        .collect();
    page(&DevicesPage { page: Frame::new(&req, Some(&actor)), devices })
}

async fn forget(Signed(actor): Signed, id: web::Path<DeviceId>, site: web::Data<Site>) -> Page {
    workflow::forget_lost_device(&site.workshop, &actor, *id).await?;
    see_other("/set-up/devices?done=lost-device-forgotten")
}
