//! One's own calendar: the link is made and ended here, and the feed (RFC 5545) is read by a calendar program. The address is
//! itself the proof, so it is shown once, never logged, and passed on to nobody.

use actix_web::http::header::CONTENT_TYPE;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::TimeDelta;
use icalendar::{Calendar as Feed, Component, Event, EventLike};

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, when};
use super::told::by_secret_address;
use super::typed::Typed;
use super::{Page, local_time, markup, page_with, see_other};
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::speaking;
use crate::workflow::{self, Calendar, CalendarEntry, CalendarWhat};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/me/calendar", web::get().to(own));
    cfg.route("/me/calendar", web::post().to(make));
    cfg.route("/me/calendar/end", web::post().to(end));
    cfg.route("/calendar/{secret}.ics", web::get().to(feed));
}

#[derive(Template)]
#[template(path = "calendar.html", config = ".askama.toml")]
struct CalendarPage {
    page: Frame,
    since: Option<When>,
    /// Only in answer to making it.
    link: String,
    email: String,
    t: Typed,
}

async fn own(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, String::new(), Typed::nothing()).await
}

async fn make(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    if let Err(e) = workflow::prove_password(&site.workshop, &actor, form.text("password")).await {
        // The password itself does not come back.
        let t = Typed::not_taken("make", Form::default(), e)?;
        return show(&site, &req, &actor, String::new(), t).await;
    }
    let secret = workflow::make_calendar_link(&site.workshop, &actor).await?;
    let link = format!("{}/calendar/{secret}.ics", site.public_url);
    Ok(by_secret_address(show(&site, &req, &actor, link, Typed::nothing()).await?))
}

async fn end(Signed(actor): Signed, site: web::Data<Site>) -> Page {
    workflow::end_calendar_link(&site.workshop, &actor).await?;
    see_other("/me/calendar?done=removed")
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, link: String, t: Typed) -> Page {
    let zone = local_time::zone_of(site, actor).await?;
    let now = site.workshop.ambient.now();
    let since = workflow::calendar_link_since(&site.workshop, actor).await?;
    let page = Frame::new(req, Some(actor));
    let email = workflow::my_email(&site.workshop, actor).await?;
    let since = since.map(|at| when(at, &zone, now));
    page_with(t.status, &CalendarPage { page, since, link, email, t })
}

async fn feed(secret: web::Path<String>, site: web::Data<Site>) -> Page {
    let calendar = workflow::calendar(&site.workshop, &secret).await?;
    let text = speaking(calendar.lang, || written(&calendar, &site.public_url));
    let answer = HttpResponse::Ok().insert_header((CONTENT_TYPE, "text/calendar; charset=utf-8")).body(text);
    Ok(by_secret_address(answer))
}

/// How long an entry stands in the calendar: it is a moment, and some programs hide what has no length.
const SHOWN_FOR: TimeDelta = TimeDelta::minutes(30);

pub fn written(calendar: &Calendar, public_url: &str) -> String {
    let mut feed = Feed::new();
    feed.name(&t!("calendar-name", name = calendar.person_name));
    let host = public_url.split_once("://").map_or(public_url, |(_, host)| host);
    for entry in &calendar.entries {
        feed.push(event(entry, calendar, public_url, host));
    }
    feed.done().to_string()
}

fn event(entry: &CalendarEntry, calendar: &Calendar, public_url: &str, host: &str) -> Event {
    let unit = &entry.unit_number;
    let summary = match &entry.what {
        CalendarWhat::GoodUntil { what } => t!("calendar-good-until", unit = unit, what = what),
        CalendarWhat::AlmostSurelyBack { .. } => t!("calendar-back", unit = unit),
        CalendarWhat::PromisedBack { vendor, .. } => t!("calendar-promised", unit = unit, vendor = vendor),
    };
    let about = match &entry.what {
        CalendarWhat::GoodUntil { .. } => t!("calendar-then-out", unit = unit),
        CalendarWhat::AlmostSurelyBack { why } => why.to_string(),
        CalendarWhat::PromisedBack { what, .. } => what.clone(),
    };
    let link = format!("{public_url}/machines/{}", entry.machine);
    Event::new()
        .uid(&format!("{}@{host}", entry.uid))
        .timestamp(calendar.now)
        .starts(entry.at)
        .ends(entry.at + SHOWN_FOR)
        .summary(&summary)
        .description(&format!("{about}\n{link}"))
        .location(&entry.yard_name)
        .url(&link)
        .done()
}
