//! Signed heads of the audit trail, to be printed and kept elsewhere, and who gets them by mail.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, when};
use super::{Page, local_time, markup, page, see_other};
use crate::domain::ids::PersonId;
use crate::domain::person::Act;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail_head::{in_groups, write_out};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/audit/heads", web::get().to(heads));
    cfg.route("/audit/heads/sign", web::post().to(sign));
    cfg.route("/audit/heads/readers", web::post().to(readers));
}

#[derive(Template)]
#[template(path = "trail_heads.html", config = ".askama.toml")]
struct HeadsPage {
    page: Frame,
    public_key: String,
    heads: Vec<Head>,
    may_sign: bool,
    readers: Vec<Reader>,
}

struct Head {
    number: i64,
    at: When,
    chains: i64,
    entries: i64,
    written: String,
}

struct Reader {
    id: String,
    name: String,
    email: String,
    reads: bool,
}

async fn heads(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    let found = workflow::trail_heads(&site.workshop, &actor).await?;
    let (zone, now) = (local_time::zone_of(&site, &actor).await?, site.workshop.ambient.now());
    page(&HeadsPage {
        page: Frame::new(&req, Some(&actor)),
        public_key: in_groups(&found.public_key),
        heads: found
            .heads
            .iter()
            .map(|h| Head {
                number: h.number,
                at: when(h.at, &zone, now),
                chains: h.chains,
                entries: h.entries,
                written: write_out(&h.hash, &h.signed()),
            })
            .collect(),
        may_sign: actor.may(Act::SignTrail),
        readers: found
            .readers
            .into_iter()
            .map(|r| Reader { id: r.person_id.to_string(), name: r.name, email: r.email, reads: r.reads })
            .collect(),
    })
}

async fn sign(Signed(actor): Signed, site: web::Data<Site>) -> Page {
    workflow::sign_head(&site.workshop, &actor).await?;
    see_other("/audit/heads?done=saved")
}

async fn readers(Signed(actor): Signed, site: web::Data<Site>, form: Form) -> Page {
    let people: Result<Vec<PersonId>, _> = form.all("reader").map(str::parse).collect();
    let people = people.map_err(|_| Refusal::NotFound(Thing::Person))?;
    workflow::choose_head_readers(&site.workshop, &actor, &people).await?;
    see_other("/audit/heads?done=saved")
}
