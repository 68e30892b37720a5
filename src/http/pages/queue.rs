//! The mechanic queue: mine, what is next and why, what waits and for what, what only lacks its release.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::foreseen::{Foreseen, foreseen};
use super::form::Form;
use super::frame::Frame;
use super::markup;
use super::shown::{When, day, span, when};
use super::waiting::awaited;
use super::{Page, page, see_other};
use crate::domain::ids::WorkOrderId;
use crate::domain::outside::Lateness;
use crate::domain::person::Act;
use crate::domain::standing::Standing;
use crate::domain::work_order::{OrderWord, WaitingFor};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, QueueEntry};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/queue", web::get().to(queue));
    cfg.route("/work-orders/{id}/pin", web::post().to(pin));
    cfg.route("/work-orders/{id}/unpin", web::post().to(unpin));
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
    /// Nobody has it: it waits for parts, and may be claimed to look closer.
    unclaimed: bool,
    /// From 1, over all pages.
    place: usize,
    /// For want of which skill whoever looks may not take it; empty when nothing is lacking.
    lacking: String,
    foreseen: Foreseen,
    /// Empty when nobody pinned it.
    pinned_by: String,
}

/// Away for repair outside.
struct Away {
    href: String,
    unit_number: String,
    number: i64,
    what: String,
    /// How it stands with the promise.
    stands: String,
    late: bool,
    licensed: String,
    /// As the work order's own entry says it.
    standing: Option<Standing>,
    foreseen: Foreseen,
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
    may_pin: bool,
    away: Vec<Away>,
    number_of_page: usize,
    before: usize,
    more: bool,
}

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    fragment: String,
    #[serde(default)]
    page: Option<usize>,
}

async fn queue(signed: Signed, req: HttpRequest, asked: web::Query<Asked>, site: web::Data<Site>) -> Page {
    let Signed(actor) = signed;
    let found = workflow::queue(&site.workshop, &actor, asked.page.unwrap_or(1)).await?;
    let away = workflow::away(&site.workshop, &actor).await?;
    let now = site.workshop.ambient.now();
    let zone = super::local_time::zone_of(&site, &actor).await?;
    let mut shown = QueuePage {
        page: Frame::new(&req, Some(&actor)),
        as_of: super::local_time::in_full(now, &zone),
        may_claim: actor.may(Act::ClaimWorkOrder),
        mine: Vec::new(),
        next: Vec::new(),
        waiting: Vec::new(),
        done: Vec::new(),
        others: Vec::new(),
        may_pin: actor.may(Act::PinWorkOrder),
        away: away.into_iter().map(|row| away_entry(row, now)).collect(),
        number_of_page: found.page,
        before: found.page - 1,
        more: found.more,
    };
    // The latest rises, whatever the order of their promises.
    shown.away.sort_by_key(|a| !a.late);
    let first = (found.page - 1) * workflow::ON_A_PAGE;
    for (n, e) in found.next.into_iter().enumerate() {
        shown.next.push(entry(e, first + n + 1, now));
    }
    for e in found.taken {
        let away = shown.away.iter_mut().find(|a| a.number == e.order.number);
        let mine = e.order.mechanic_id == Some(actor.id);
        let list = match e.order.state {
            OrderWord::WorkDone => &mut shown.done,
            _ if mine => &mut shown.mine,
            OrderWord::Waiting | OrderWord::Queued => &mut shown.waiting,
            _ => &mut shown.others,
        };
        let waits = matches!(e.order.state, OrderWord::Waiting | OrderWord::Queued) && !mine;
        let entry = entry(e, 0, now);
        match away {
            // It stands there already.
            Some(away) if waits => {
                away.standing = Some(entry.standing);
                away.foreseen = entry.foreseen;
            }
            _ => list.push(entry),
        }
    }
    if asked.fragment.is_empty() { page(&shown) } else { page(&shown.as_live()) }
}

fn entry(e: QueueEntry, place: usize, now: DateTime<Utc>) -> Entry {
    let o = e.order;
    let state = match o.state {
        OrderWord::Waiting => waiting(&o, now),
        OrderWord::WorkDone => t!("queue-done-by", mechanic = o.mechanic_name),
        OrderWord::Queued => match &e.parts {
            Some(p) => {
                let what = awaited(Some(WaitingFor::Parts), &p.note, p.until, &o.zone, now);
                t!("queue-waits-unclaimed", what = what)
            }
            None => String::new(),
        },
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
        foreseen: foreseen(&o.foreseen, o.held_defects > 0, &o.zone, now),
        unclaimed: o.state == OrderWord::Queued,
        unit_number: o.unit_number,
        number: o.number,
        yard: o.yard_name,
        state,
        because: e.because.to_string(),
        place,
        lacking: e.lacking.map(|l| l.to_string()).unwrap_or_default(),
        pinned_by: o.pinned_by_name,
    }
}

fn away_entry(row: workflow::OutsideRow, now: DateTime<Utc>) -> Away {
    let zone = &row.zone;
    // The last promise is what counts here; what was said before is on its own page.
    let lateness = match row.promised_at {
        Some(by) if by < now => Lateness::Late { by: now - by },
        Some(by) => Lateness::InTime { left: by - now },
        None => Lateness::NoPromise { away: now - row.sent_at },
    };
    let stands = match lateness {
        Lateness::Late { by } => t!("queue-away-late", vendor = row.vendor, by = span(by)),
        Lateness::NoPromise { away } => t!("queue-away-no-promise", vendor = row.vendor, since = span(away)),
        Lateness::InTime { .. } | Lateness::Back => {
            let until = row.promised_at.map(|at| day(at, zone, now).words).unwrap_or_default();
            t!("queue-away-until", vendor = row.vendor, day = until)
        }
    };
    Away {
        href: format!("/work-orders/{}/outside", row.work_order_id),
        unit_number: row.unit_number,
        number: row.number,
        what: row.what,
        stands,
        late: matches!(lateness, Lateness::Late { .. }),
        licensed: row.licensed.unwrap_or_default(),
        standing: None,
        foreseen: Foreseen::default(),
    }
}

async fn pin(Signed(actor): Signed, id: web::Path<WorkOrderId>, site: web::Data<Site>, form: Form) -> Page {
    workflow::pin_order(&site.workshop, &actor, *id).await?;
    see_other(&back(&form, *id, "pinned"))
}

async fn unpin(Signed(actor): Signed, id: web::Path<WorkOrderId>, site: web::Data<Site>, form: Form) -> Page {
    workflow::unpin_order(&site.workshop, &actor, *id).await?;
    see_other(&back(&form, *id, "unpinned"))
}

fn back(form: &Form, id: WorkOrderId, done: &str) -> String {
    if form.has("queue") { format!("/queue?done={done}") } else { format!("/work-orders/{id}?done={done}") }
}

fn waiting(o: &workflow::QueueRow, now: DateTime<Utc>) -> String {
    let note = o.waiting_note.as_deref().unwrap_or_default();
    let what = awaited(o.waiting_for, note, o.waiting_until, &o.zone, now);
    t!("queue-waits", what = what, mechanic = o.mechanic_name)
}
