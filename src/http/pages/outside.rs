//! Repairs outside of one work order: who has it, until when, what they said, and what it cost.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::local_time;
use super::markup;
use super::shown::{When, amount, day, span, when};
use super::typed::{Typed, refused};
use super::{Page, page_with, see_other};
use crate::domain::ids::{OutsideId, WorkOrderId};
use crate::domain::outside::Lateness;
use crate::domain::person::{Act, Actor};
use crate::domain::work_order::OrderWord;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, OutsideNews, SendOutside, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/work-orders/{id}/outside", web::get().to(shown));
    cfg.route("/work-orders/{id}/outside", web::post().to(send));
    cfg.route("/work-orders/{id}/outside/{outside}/asked", web::post().to(asked));
    cfg.route("/work-orders/{id}/outside/{outside}/back", web::post().to(back));
    cfg.route("/work-orders/{id}/outside/{outside}/invoice", web::post().to(invoice));
}

#[derive(Template)]
#[template(path = "outside.html", config = ".askama.toml")]
struct OutsideView {
    page: Frame,
    t: Typed,
    here: String,
    order_href: String,
    unit_number: String,
    number: i64,
    currency: String,
    repairs: Vec<Repair>,
    may_send: bool,
    /// Said instead of the form where nobody has the order.
    nobody: bool,
}

struct Repair {
    href: String,
    vendor: String,
    what: String,
    licensed: String,
    licence: String,
    sent: When,
    stands: String,
    late: bool,
    away: bool,
    called_off: bool,
    words: Vec<Word>,
    /// Still to come, once it is back.
    invoice_due: bool,
    invoice: String,
}

struct Word {
    at: When,
    by: String,
    said: String,
}

type Order = web::Path<WorkOrderId>;

async fn shown(Signed(actor): Signed, req: HttpRequest, id: Order, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, *id, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, id: WorkOrderId, t: Typed) -> Page {
    let found = workflow::outside_page(&site.workshop, actor, id).await?;
    let now = site.workshop.ambient.now();
    let zone = found.yard.zone.clone();
    let word = found.order.word();
    let under_way = matches!(word, OrderWord::Claimed | OrderWord::InWork | OrderWord::Waiting);
    let mine = found.order.mechanic_id == Some(actor.id) || actor.may(Act::CancelWorkOrder);
    let here = format!("/work-orders/{id}/outside");
    let away = found.repairs.iter().any(|(row, ..)| row.is_away());
    let repairs = found.repairs.into_iter().rev().map(|(row, repair, words)| {
        let lateness = repair.lateness(now);
        let until = row.promised_at.map(|at| day(at, &zone, now).words).unwrap_or_default();
        let stands = match lateness {
            _ if row.called_off_at.is_some() => t!("outside-stands-called-off"),
            Lateness::Back => {
                let at = row.returned_at.map(|at| when(at, &zone, now).words).unwrap_or_default();
                t!("outside-stands-back", when = at)
            }
            Lateness::InTime { .. } => t!("outside-stands-promised", day = until),
            Lateness::NoPromise { away } => t!("outside-stands-no-promise", since = span(away)),
            Lateness::Late { by } => t!("outside-stands-late", day = until, by = span(by)),
        };
        let said = |w: &workflow::OutsideWordRow| match w.back_by {
            Some(at) => t!("outside-said-promise", day = day(at, &zone, now).words),
            None => w.note.clone(),
        };
        Repair {
            href: format!("{here}/{}", row.id),
            sent: when(row.sent_at, &zone, now),
            late: matches!(lateness, Lateness::Late { .. }) && row.is_away(),
            away: row.is_away(),
            called_off: row.called_off_at.is_some(),
            words: words
                .iter()
                .map(|w| Word { at: when(w.at, &zone, now), by: w.by_name.clone(), said: said(w) })
                .collect(),
            invoice_due: row.returned_at.is_some() && repair.invoice.is_none(),
            invoice: repair
                .invoice
                .map(|i| {
                    t!(
                        "outside-invoice-is",
                        number = i.number,
                        amount = amount(i.minor, &site.workshop.currency)
                    )
                })
                .unwrap_or_default(),
            vendor: row.vendor,
            what: row.what,
            licensed: row.licensed.unwrap_or_default(),
            licence: row.licence.unwrap_or_default(),
            stands,
        }
    });
    let view = OutsideView {
        page: Frame::new(req, Some(actor)),
        order_href: format!("/work-orders/{id}"),
        unit_number: found.machine.unit_number,
        number: found.order.number,
        currency: site.workshop.currency.to_string(),
        repairs: repairs.collect(),
        may_send: under_way && mine && !away,
        nobody: word == OrderWord::Queued,
        here,
        t,
    };
    page_with(view.t.status, &view)
}

async fn send(Signed(actor): Signed, req: HttpRequest, id: Order, site: web::Data<Site>, form: Form) -> Page {
    actor.must(Act::SeeQueue)?;
    let outcome = match back_by(&site, &actor, *id, &form).await {
        Ok(back_by) => {
            let sent = SendOutside {
                vendor: form.text("vendor").to_owned(),
                what: form.text("what").to_owned(),
                licensed: form.text("licensed").to_owned(),
                back_by,
            };
            workflow::send_outside(&site.workshop, &actor, *id, sent).await.map(|_| "sent-outside")
        }
        Err(e) => Err(e),
    };
    after(&site, &req, &actor, *id, ("send", form), outcome).await
}

type Which = web::Path<(WorkOrderId, OutsideId)>;

async fn asked(
    Signed(actor): Signed,
    req: HttpRequest,
    at: Which,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    actor.must(Act::SeeQueue)?;
    let (id, outside) = at.into_inner();
    let outcome = match back_by(&site, &actor, id, &form).await {
        Ok(back_by) => {
            let news = OutsideNews::AskedAfter { note: form.text("note").to_owned(), back_by };
            tell(&site, &actor, id, outside, news).await
        }
        Err(e) => Err(e),
    };
    after(&site, &req, &actor, id, ("asked", form), outcome).await
}

async fn back(Signed(actor): Signed, req: HttpRequest, at: Which, site: web::Data<Site>, form: Form) -> Page {
    actor.must(Act::SeeQueue)?;
    let (id, outside) = at.into_inner();
    let news = OutsideNews::Back { licence: form.text("licence").to_owned() };
    let outcome = tell(&site, &actor, id, outside, news).await;
    after(&site, &req, &actor, id, ("back", form), outcome).await
}

async fn invoice(
    Signed(actor): Signed,
    req: HttpRequest,
    at: Which,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    actor.must(Act::SeeQueue)?;
    let (id, outside) = at.into_inner();
    let news = OutsideNews::Invoiced {
        number: form.text("number").to_owned(),
        amount: form.text("amount").replace(',', "."),
        currency: form.text("currency").to_owned(),
    };
    let outcome = tell(&site, &actor, id, outside, news).await;
    after(&site, &req, &actor, id, ("invoice", form), outcome).await
}

async fn tell(
    site: &Site,
    actor: &Actor,
    id: WorkOrderId,
    outside: OutsideId,
    news: OutsideNews,
) -> Result<&'static str, WorkflowError> {
    workflow::tell_of_outside(&site.workshop, actor, id, outside, news).await.map(|()| "outside-told")
}

async fn back_by(
    site: &Site,
    actor: &Actor,
    id: WorkOrderId,
    form: &Form,
) -> Result<Option<chrono::DateTime<chrono::Utc>>, WorkflowError> {
    let zone = workflow::outside_page(&site.workshop, actor, id).await?.yard.zone;
    local_time::day(form.text("back_by"), &zone).map_err(|sentence| refused("back_by", sentence))
}

async fn after(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: WorkOrderId,
    (name, form): (&str, Form),
    outcome: Result<&str, WorkflowError>,
) -> Page {
    match outcome {
        Ok(done) => see_other(&format!("/work-orders/{id}/outside?done={done}")),
        Err(e) => show(site, req, actor, id, Typed::not_taken(name, form, e)?).await,
    }
}
