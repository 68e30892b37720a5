//! A mechanic's own time: this week's entries, and putting them right.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;

use super::form::Form;
use super::frame::Frame;
use super::local_time::{day as day_typed, day_for_input, for_input, moment};
use super::shown::{date_in_words, span};
use super::typed::{Typed, refused};
use super::{Page, page_with, see_other};
use crate::domain::ids::LabourId;
use crate::domain::person::Actor;
use crate::domain::shift::Span;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, LabourRow, MyTime, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/my-time", web::get().to(page));
    cfg.route("/my-time/{entry}", web::post().to(put_right));
}

#[derive(serde::Deserialize)]
struct Asked {
    /// A day of the week asked for, as ISO 8601 date.
    #[serde(default)]
    week: String,
}

#[derive(Template)]
#[template(path = "my_time.html", config = ".askama.toml")]
struct MyTimePage {
    page: Frame,
    t: Typed,
    week_from: String,
    week_to: String,
    before: String,
    /// Empty when the next week has not begun.
    after: String,
    days: Vec<Day>,
    sum: String,
    overtime: String,
    forgotten: Vec<Entry>,
}

struct Day {
    day: String,
    entries: Vec<Entry>,
}

struct Entry {
    id: String,
    form: String,
    order_href: String,
    number: i64,
    from: String,
    /// Empty while it runs.
    to: String,
    length: String,
    said: String,
    from_input: String,
    to_input: String,
}

async fn page(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let now = site.workshop.ambient.now();
    let zone = super::local_time::zone_of(&site, &actor).await?;
    let at = day_typed(&asked.week, &zone).ok().flatten().unwrap_or(now);
    show(&site, &req, &actor, at, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, at: DateTime<Utc>, t: Typed) -> Page {
    let now = site.workshop.ambient.now();
    let m = workflow::my_time(&site.workshop, actor, at).await?;
    let shown = view(&m, now, Frame::new(req, Some(actor)), t);
    page_with(shown.t.status, &shown)
}

fn view(m: &MyTime, now: DateTime<Utc>, page: Frame, t: Typed) -> MyTimePage {
    let zone: Tz = m.zone.parse().unwrap_or(Tz::UTC);
    let date = |at: DateTime<Utc>| at.with_timezone(&zone).date_naive();
    let mut days: Vec<(NaiveDate, Day)> = Vec::new();
    for row in &m.entries {
        let day = date(row.started_at);
        if days.last().is_none_or(|(last, _)| *last != day) {
            days.push((day, Day { day: date_in_words(day), entries: Vec::new() }));
        }
        if let Some((_, last)) = days.last_mut() {
            last.entries.push(entry(row, &m.zone, now));
        }
    }
    // Of what is shown, so that the lines add up to it.
    let worked: TimeDelta = m.entries.iter().map(|l| length(l, now)).sum();
    let overtime: i64 = m.entries.iter().map(|l| l.overtime_seconds).sum();
    MyTimePage {
        page,
        week_from: date_in_words(date(m.week.from)),
        week_to: date_in_words(date(m.week.to - TimeDelta::seconds(1))),
        before: day_for_input(m.week.from - TimeDelta::days(3), &m.zone),
        after: if m.week.to <= now {
            day_for_input(m.week.to + TimeDelta::days(3), &m.zone)
        } else {
            String::new()
        },
        days: days.into_iter().map(|(_, day)| day).collect(),
        sum: span(worked),
        overtime: if overtime > 0 { span(TimeDelta::seconds(overtime)) } else { String::new() },
        forgotten: m.forgotten.iter().map(|l| entry(l, &m.zone, now)).collect(),
        t,
    }
}

fn entry(row: &LabourRow, zone: &str, now: DateTime<Utc>) -> Entry {
    let tz: Tz = zone.parse().unwrap_or(Tz::UTC);
    let clock = |at: DateTime<Utc>| at.with_timezone(&tz).format("%H:%M").to_string();
    let to = row.ended_at.map(clock).unwrap_or_default();
    let day = date_in_words(row.started_at.with_timezone(&tz).date_naive());
    Entry {
        form: format!("right-{}", row.id),
        id: row.id.to_string(),
        order_href: format!("/work-orders/{}", row.work_order_id),
        number: row.order_number,
        from: clock(row.started_at),
        length: span(length(row, now)),
        said: t!("time-entry", day = day, from = clock(row.started_at), to = to, number = row.order_number),
        from_input: for_input(row.started_at, zone),
        to_input: row.ended_at.map(|at| for_input(at, zone)).unwrap_or_default(),
        to,
    }
}

/// To the nearest minute.
fn length(row: &LabourRow, now: DateTime<Utc>) -> TimeDelta {
    let seconds = (row.ended_at.unwrap_or(now) - row.started_at).num_seconds();
    TimeDelta::minutes((seconds + 30).div_euclid(60))
}

async fn put_right(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<LabourId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let now = site.workshop.ambient.now();
    let zone = workflow::my_time(&site.workshop, &actor, now).await?.zone;
    workflow::labour_seen(&site.workshop, &actor, *id).await?;
    let outcome = match read(&form, &zone) {
        Ok(to) => workflow::put_labour_right(&site.workshop, &actor, *id, to, form.text("reason")).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok(_) => see_other("/my-time?done=saved"),
        Err(e) => {
            let at = moment(form.text("from"), &zone).unwrap_or(now);
            show(&site, &req, &actor, at, Typed::not_taken(&format!("right-{id}"), form, e)?).await
        }
    }
}

fn read(form: &Form, zone: &str) -> Result<Span, WorkflowError> {
    let from = moment(form.text("from"), zone).map_err(|sentence| refused("from", sentence))?;
    let to = moment(form.text("to"), zone).map_err(|sentence| refused("to", sentence))?;
    Ok(Span::new(from, to))
}
