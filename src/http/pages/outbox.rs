//! The outbox: whether everybody was told, and what the mail server said.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::frame::Frame;
use super::shown::{When, when};
use super::{Page, local_time, markup, page, see_other};
use crate::domain::alert::Alert;
use crate::domain::ids::AlertId;
use crate::domain::person::Act;
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::Lang;
use crate::workflow::{self, OutboxAsked, OutboxRow, OutboxState};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/outbox", web::get().to(outbox));
    cfg.route("/outbox/{id}", web::get().to(mail));
    cfg.route("/outbox/{id}/resend", web::post().to(resend));
}

const A_PAGE: i64 = 50;

#[derive(Clone, Copy, Default, serde::Deserialize)]
#[serde(default)]
struct Asked {
    before: Option<AlertId>,
    /// `not-delivered`, or anything else for all.
    only: Only,
}

#[derive(Clone, Copy, Default, PartialEq, serde::Deserialize)]
enum Only {
    #[serde(rename = "not-delivered")]
    NotDelivered,
    #[default]
    #[serde(other)]
    All,
}

struct Owed {
    href: String,
    subject: String,
    text: String,
    /// Of its reader.
    lang: Lang,
    name: String,
    email: String,
    state: String,
    failing: bool,
    tries: i64,
    answer: String,
    created: When,
    /// When it was delivered or will be tried again.
    then: Option<(String, When)>,
    machine_href: String,
    unit_number: String,
    /// Whether this person is asked to say that they have seen it, and who did.
    asks: bool,
    acknowledged: Option<(String, When)>,
    may_acknowledge: bool,
    may_resend: bool,
}

#[derive(Template)]
#[template(path = "outbox.html", config = ".askama.toml")]
struct OutboxPage {
    page: Frame,
    mails: Vec<Owed>,
    /// On this page or not.
    failing: i64,
    only_failing: bool,
    later: bool,
    /// Older ones; empty where there are none.
    next_href: String,
}

#[derive(Template)]
#[template(path = "outbox_mail.html", config = ".askama.toml")]
struct MailPage {
    page: Frame,
    mail: Owed,
    may_see_outbox: bool,
}

async fn outbox(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let only_failing = asked.only == Only::NotDelivered;
    let which = OutboxAsked { before: asked.before, only_not_delivered: only_failing, most: A_PAGE };
    let found = workflow::outbox_page(&site.workshop, &actor, which).await?;
    let zone = local_time::zone_of(&site, &actor).await?;
    let now = site.workshop.ambient.now();
    let next_href = match found.alerts.last().filter(|_| found.more) {
        Some(last) if only_failing => format!("/outbox?only=not-delivered&before={}", last.id),
        Some(last) => format!("/outbox?before={}", last.id),
        None => String::new(),
    };
    let mails: Vec<Owed> = found
        .alerts
        .into_iter()
        .map(|row| {
            let alert = serde_json::from_str(&row.alert).ok();
            owed(&site, &row, alert.as_ref(), &zone, now)
        })
        .collect();
    page(&OutboxPage {
        page: Frame::new(&req, Some(&actor)),
        failing: found.not_delivered,
        only_failing,
        later: asked.before.is_some(),
        next_href,
        mails,
    })
}

async fn mail(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<AlertId>,
    site: web::Data<Site>,
) -> Page {
    let (row, alert) = workflow::alert_of(&site.workshop, &actor, *id).await?;
    let now = site.workshop.ambient.now();
    let may_see_outbox = actor.may(Act::SeeOutbox);
    let mut mail = owed(&site, &row, Some(&alert), alert.zone.name(), now);
    mail.may_resend &= may_see_outbox;
    page(&MailPage { page: Frame::new(&req, Some(&actor)), mail, may_see_outbox })
}

async fn resend(Signed(actor): Signed, id: web::Path<AlertId>, site: web::Data<Site>) -> Page {
    workflow::resend(&site.workshop, &actor, *id).await?;
    see_other(&format!("/outbox/{id}?done=resent"))
}

/// An alert that cannot be composed any more is still shown as owed.
fn owed(site: &Site, row: &OutboxRow, alert: Option<&Alert>, zone: &str, now: DateTime<Utc>) -> Owed {
    // As it will be read, not as whoever looks at the outbox reads.
    let lang = row.language.as_deref().and_then(Lang::of_tag).unwrap_or_default();
    let (subject, text) = alert
        .and_then(|a| (site.compose)(row.id, a, &row.person_name, &row.email, lang))
        .unwrap_or_else(|| (row.kind.here(), t!("outbox-not-composed")));
    let failing = row.state == OutboxState::Failed
        || (row.state != OutboxState::Delivered && row.attempts > 0 && !row.last_answer.is_empty());
    Owed {
        href: format!("/outbox/{}", row.id),
        subject,
        text,
        lang,
        name: row.person_name.clone(),
        email: row.email.clone(),
        state: match row.state {
            OutboxState::Owed if failing => t!("outbox-tried"),
            OutboxState::Owed => t!("outbox-to-be-sent"),
            OutboxState::Sending => t!("outbox-being-sent"),
            OutboxState::Delivered => t!("outbox-delivered"),
            // 5yz is a no for good (RFC 5321, 4.2.1), 4yz and silence were tried for days.
            OutboxState::Failed if row.last_answer.starts_with('5') => t!("outbox-refused"),
            OutboxState::Failed => t!("outbox-given-up"),
        },
        failing,
        tries: row.attempts,
        answer: row.last_answer.clone(),
        created: when(row.created_at, zone, now),
        then: match (row.state, row.delivered_at) {
            (OutboxState::Delivered, Some(at)) => Some((t!("outbox-delivered-at"), when(at, zone, now))),
            (OutboxState::Owed, _) if row.attempts > 0 => {
                Some((t!("outbox-next-try"), when(row.next_at, zone, now)))
            }
            _ => None,
        },
        machine_href: row.machine_id.map(|id| format!("/machines/{id}")).unwrap_or_default(),
        asks: row.asks_for.is_some(),
        acknowledged: row
            .acknowledged_at
            .map(|at| (row.acknowledged_by.clone().unwrap_or_default(), when(at, zone, now))),
        unit_number: alert.map(|a| a.unit_number.clone()).unwrap_or_default(),
        may_acknowledge: row.asks_for.is_some() && row.acknowledged_at.is_none(),
        may_resend: row.state != OutboxState::Sending,
    }
}
