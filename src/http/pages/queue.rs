//! The mechanic queue: mine, what is next and why, what waits and for what, what only lacks its release.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::frame::Frame;
use super::markup;
use super::shown::{When, when};
use super::waiting::awaited;
use super::{Page, page};
use crate::domain::person::Act;
use crate::domain::standing::Standing;
use crate::domain::work_order::OrderWord;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, QueueEntry};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/queue", web::get().to(queue));
}

/// One work order in one of the lists.
struct Entry {
    href: String,
    claim: String,
    unit_number: String,
    what: String,
    standing: Standing,
    number: i64,
    yard: String,
    state: String,
    opened: When,
    because: String,
}

#[derive(Template)]
#[template(path = "queue.html", config = ".askama.toml", blocks = ["live"])]
struct QueuePage {
    page: Frame,
    as_of: When,
    may_claim: bool,
    mine: Vec<Entry>,
    next: Vec<Entry>,
    waiting: Vec<Entry>,
    done: Vec<Entry>,
    others: Vec<Entry>,
}

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    fragment: String,
}

async fn queue(signed: Signed, req: HttpRequest, asked: web::Query<Asked>, site: web::Data<Site>) -> Page {
    let Signed(actor) = signed;
    let entries = workflow::queue(&site.workshop, &actor).await?;
    let now = site.workshop.ambient.now();
    let zone = super::local_time::zone_of(&site, &actor).await?;
    let mut shown = QueuePage {
        page: Frame::new(&req, Some(&actor)),
        as_of: when(now, &zone, now),
        may_claim: actor.may(Act::ClaimWorkOrder),
        mine: Vec::new(),
        next: Vec::new(),
        waiting: Vec::new(),
        done: Vec::new(),
        others: Vec::new(),
    };
    for e in entries {
        let mine = e.order.mechanic_id == Some(actor.id);
        let list = match e.order.state {
            OrderWord::WorkDone => &mut shown.done,
            _ if mine => &mut shown.mine,
            OrderWord::Waiting => &mut shown.waiting,
            OrderWord::Queued => &mut shown.next,
            _ => &mut shown.others,
        };
        list.push(entry(e, now));
    }
    if asked.fragment.is_empty() { page(&shown) } else { page(&shown.as_live()) }
}

fn entry(e: QueueEntry, now: DateTime<Utc>) -> Entry {
    let o = e.order;
    let state = match o.state {
        OrderWord::Waiting => waiting(&o, now),
        OrderWord::WorkDone => t!("queue-done-by", mechanic = o.mechanic_name),
        OrderWord::Queued => String::new(),
        word => t!("queue-with", state = word, mechanic = o.mechanic_name),
    };
    Entry {
        href: format!("/work-orders/{}", o.id),
        claim: format!("/work-orders/{}/claim", o.id),
        what: if o.first_what.is_empty() {
            t!("queue-no-defect")
        } else {
            t!("queue-what", what = o.first_what, more = (o.defects - 1).max(0))
        },
        standing: if o.held_defects > 0 { Standing::OutOfService } else { Standing::Monitored },
        opened: when(o.opened_at, &o.zone, now),
        unit_number: o.unit_number,
        number: o.number,
        yard: o.yard_name,
        state,
        because: e.because.to_string(),
    }
}

fn waiting(o: &workflow::QueueRow, now: DateTime<Utc>) -> String {
    let note = o.waiting_note.as_deref().unwrap_or_default();
    let what = awaited(o.waiting_for, note, o.waiting_until, &o.zone, now);
    t!("queue-waits", what = what, mechanic = o.mechanic_name)
}
