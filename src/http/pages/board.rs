//! The owner's board: what is grounded, why and since when; what is watched; what each yard has against what it needs.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};

use super::foreseen::{Foreseen, foreseen};
use super::frame::Frame;
use super::shown::{When, amount, day, reached, span, when};
use super::waiting::noted;
use super::{Page, local_time, page};
use crate::domain::alert::AlertState;
use crate::domain::machine::class_said;
use crate::domain::money;
use crate::domain::outlook::DAYS;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::Refusal;
use crate::domain::unit::Hours;
use crate::domain::work_order::OrderWord;
use crate::http::Site;
use crate::http::csv::{Cell, Sheet};
use crate::http::session::Signed;
use crate::workflow::{self, AlertCount, Board, GroundedRow, MonitoredRow, MovedRow};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/board", web::get().to(board));
    cfg.route("/board.csv", web::get().to(export));
}

/// Rows of each list on the page. Who has more grounded machines than this narrows it to a yard.
const MOST: i64 = 500;

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    yard: String,
    #[serde(default)]
    class: String,
    #[serde(default)]
    fragment: String,
    /// Anything: large, and without what nobody taps.
    #[serde(default)]
    wall: String,
}

struct Grounded {
    machine_href: String,
    unit_number: String,
    yard: String,
    why: String,
    since: When,
    /// Where the check that found it arrived late.
    reached: String,
    down: String,
    with: String,
    waiting: String,
    foreseen: Foreseen,
    order_href: String,
    order_number: i64,
    /// Where a work order can be opened, for who may.
    open_href: String,
    cost: String,
    alerts: Alerts,
}

struct Monitored {
    machine_href: String,
    unit_number: String,
    yard: String,
    what: String,
    found: When,
    good_until: String,
    left: String,
}

/// What became of the alerts about a machine.
struct Alerts {
    words: String,
    /// Somebody was not reached, or nobody has said that they have seen it.
    bad: bool,
}

struct Moved {
    machine_href: String,
    unit_number: String,
    yard: String,
    said: String,
    last_check: String,
}

struct Ahead {
    class: String,
    yard: String,
    days: Vec<DayAhead>,
}

struct DayAhead {
    /// "8 of 10".
    words: String,
    short: bool,
}

struct Count {
    yard: String,
    class: String,
    needed: i64,
    fit: i64,
    out: i64,
    short: i64,
}

#[derive(Template)]
#[template(path = "board.html", config = ".askama.toml", blocks = ["live"])]
struct BoardPage {
    page: Frame,
    as_of: When,
    yard: String,
    class: String,
    yards: Vec<String>,
    classes: Vec<String>,
    /// `?yard=…&class=…`, for the export and for live.js.
    query: String,
    grounded: Vec<Grounded>,
    /// What their work orders cost; empty where not all of them are on the page.
    so_far: String,
    monitored: Vec<Monitored>,
    counts: Vec<Count>,
    /// Days to come, by name.
    days: Vec<String>,
    ahead: Vec<Ahead>,
    moved: Vec<Moved>,
    /// For a screen on the wall.
    wall: bool,
    other_view: String,
    several_yards: bool,
    more: bool,
    may_see_outbox: bool,
}

async fn board(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let asked = asked.into_inner();
    let found = narrowed(&site, &actor, &asked).await?;
    let yards = workflow::yards(&site.workshop, &actor).await?;
    let zone =
        yards.iter().find(|y| y.name == asked.yard).or(yards.first()).map_or("UTC", |y| y.zone.as_str());
    let now = found.board.at;
    let query =
        serde_urlencoded::to_string([("yard", &asked.yard), ("class", &asked.class)]).unwrap_or_default();
    let wall = !asked.wall.is_empty();
    let may_open = actor.may(Act::SeeQueue);
    let shown = BoardPage {
        page: Frame::new(&req, Some(&actor)),
        as_of: local_time::in_full(now, zone),
        several_yards: yards.len() > 1 && asked.yard.is_empty(),
        days: days_ahead(now, zone),
        yards: yards.into_iter().map(|y| y.name).collect(),
        classes: found.classes,
        other_view: if wall { format!("/board?{query}") } else { format!("/board?{query}&wall=1") },
        wall,
        query,
        so_far: if found.board.grounded.is_empty() || found.board.grounded.len() as i64 == MOST {
            String::new()
        } else {
            let whole = found.board.grounded.iter().map(|g| g.cost_minor).sum();
            amount(whole, &site.workshop.currency)
        },
        more: found.board.grounded.len() as i64 == MOST || found.board.monitored.len() as i64 == MOST,
        grounded: found.board.grounded.iter().map(|g| grounded(g, &found.board, &site, may_open)).collect(),
        monitored: found.board.monitored.iter().map(|m| monitored(m, now)).collect(),
        counts: found
            .board
            .classes
            .iter()
            .map(|c| {
                let fit = c.machines - c.out_of_service;
                Count {
                    yard: c.yard_name.clone(),
                    class: class_said(&c.class).to_string(),
                    needed: c.needed,
                    fit,
                    out: c.out_of_service,
                    short: (c.needed - fit).max(0),
                }
            })
            .collect(),
        ahead: found
            .board
            .classes
            .iter()
            .zip(&found.board.ahead)
            .filter(|(c, _)| c.needed > 0)
            .map(|(c, days)| Ahead {
                class: class_said(&c.class).to_string(),
                yard: c.yard_name.clone(),
                days: days
                    .iter()
                    .map(|fit| DayAhead {
                        words: t!("board-of-needed", fit = *fit, needed = c.needed),
                        short: *fit < c.needed,
                    })
                    .collect(),
            })
            .collect(),
        moved: found.board.moved.iter().map(|m| moved(m, now)).collect(),
        may_see_outbox: actor.may(Act::SeeOutbox),
        yard: asked.yard,
        class: asked.class,
    };
    if asked.fragment.is_empty() { page(&shown) } else { page(&shown.as_live()) }
}

struct Narrowed {
    board: Board,
    /// Of the yard, before the class was chosen.
    classes: Vec<String>,
}

async fn narrowed(site: &Site, actor: &Actor, asked: &Asked) -> Result<Narrowed, workflow::WorkflowError> {
    let mut board = workflow::board(&site.workshop, actor, &asked.yard, MOST).await?;
    let mut classes: Vec<String> = board.classes.iter().map(|c| c.class.clone()).collect();
    classes.sort();
    classes.dedup();
    if !asked.class.is_empty() {
        if !classes.contains(&asked.class) {
            // One that another yard has is a choice that fits nothing here, and no slip.
            let everywhere = workflow::board(&site.workshop, actor, "", MOST).await?.classes;
            if !everywhere.iter().any(|c| c.class == asked.class) {
                return Err(Refusal::invalid("/class", said!("refusal-no-such-class")).into());
            }
            classes.push(asked.class.clone());
        }
        board.grounded.retain(|g| g.class == asked.class);
        board.monitored.retain(|m| m.class == asked.class);
        let classes: Vec<bool> = board.classes.iter().map(|c| c.class == asked.class).collect();
        let mut keep = classes.iter();
        board.classes.retain(|_| keep.next() == Some(&true));
        let mut keep = classes.iter();
        board.ahead.retain(|_| keep.next() == Some(&true));
        board.moved.retain(|m| m.class == asked.class);
    }
    Ok(Narrowed { board, classes })
}

fn grounded(g: &GroundedRow, board: &Board, site: &Site, may_open: bool) -> Grounded {
    let now = board.at;
    Grounded {
        machine_href: format!("/machines/{}", g.machine_id),
        unit_number: g.unit_number.clone(),
        yard: g.yard_name.clone(),
        why: t!("board-more-holds", why = g.why, more = (g.holds - 1).max(0)),
        since: when(g.since, &g.zone, now),
        reached: reached(g.since, g.placed_at, &g.zone, now),
        down: span(now - g.since),
        with: if g.mechanic_name.is_empty() { t!("board-nobody-yet") } else { g.mechanic_name.clone() },
        waiting: waiting(g, now),
        foreseen: foreseen(&g.foreseen, true, &g.zone, now),
        order_href: g.work_order_id.map(|o| format!("/work-orders/{o}")).unwrap_or_default(),
        order_number: g.work_order_number.unwrap_or_default(),
        open_href: match g.work_order_id {
            None if may_open && g.open_defects > 0 => format!("/machines/{}/work-order", g.machine_id),
            _ => String::new(),
        },
        cost: amount(g.cost_minor, &site.workshop.currency),
        alerts: alerts(board.alerts.get(&g.machine_id), now),
    }
}

/// The worst of it is said first: somebody who was not reached does not know, and somebody who was may not have looked.
fn alerts(count: Option<&AlertCount>, now: DateTime<Utc>) -> Alerts {
    let Some(count) = count else { return Alerts { words: t!("board-told-nobody"), bad: false } };
    let state = workflow::alert_state(count);
    let words = match state {
        AlertState::NotDelivered => t!("board-undelivered", count = count.failed + count.in_vain),
        AlertState::NotAcknowledged if count.told == 0 => t!("board-under-way", count = count.under_way),
        AlertState::NotAcknowledged => {
            let since = count.asked_at.map_or_else(String::new, |at| span(now - at));
            t!("board-not-acknowledged", since = since)
        }
        AlertState::Told if count.under_way > 0 => t!("board-under-way", count = count.under_way),
        AlertState::Told if count.told > 0 => t!("board-told", count = count.told),
        AlertState::Told => t!("board-told-nobody"),
    };
    Alerts {
        words,
        bad: state == AlertState::NotDelivered || state == AlertState::NotAcknowledged && count.told > 0,
    }
}

fn moved(m: &MovedRow, now: DateTime<Utc>) -> Moved {
    let gained = Hours(m.hours.0 - m.before.0);
    let at = when(m.at, &m.zone, now).words;
    Moved {
        machine_href: format!("/machines/{}", m.machine_id),
        unit_number: m.unit_number.clone(),
        yard: m.yard_name.clone(),
        said: t!("board-moved-said", gained = gained, hours = m.hours, at = at),
        last_check: m.last_check_at.map_or_else(|| t!("board-never"), |at| when(at, &m.zone, now).words),
    }
}

/// Today, and the week to come: "Thu 26 Nov".
fn days_ahead(now: DateTime<Utc>, zone: &str) -> Vec<String> {
    (0..DAYS).map(|n| day(now + TimeDelta::days(n as i64), zone, now).words).collect()
}

/// What the machine waits for at this moment: every grounded machine waits for something.
fn waiting(g: &GroundedRow, now: DateTime<Utc>) -> String {
    match (g.state, g.waiting_for) {
        (None, _) if g.open_defects == 0 => t!("board-waits-look"),
        (None, _) => t!("board-waits-order"),
        (Some(OrderWord::Waiting), Some(what)) => {
            let what = noted(Some(what), &g.waiting_note);
            match g.waiting_until {
                Some(at) if at < now => {
                    t!("board-waits-late", what = what, day = day(at, &g.zone, now).words)
                }
                Some(at) => t!("board-waits-dated", what = what, day = day(at, &g.zone, now).words),
                None => what,
            }
        }
        (Some(OrderWord::Queued), _) if g.lacks_parts => t!("board-waits-parts-and-mechanic"),
        (Some(OrderWord::Queued), _) => t!("board-waits-mechanic"),
        (Some(OrderWord::WorkDone), _) => t!("board-waits-release"),
        (Some(OrderWord::Claimed), _) => t!("board-waits-start"),
        (Some(_), _) => t!("board-waits-repair"),
    }
}

fn monitored(m: &MonitoredRow, now: DateTime<Utc>) -> Monitored {
    let until_day = m.good_until_at.map(|at| day(at, &m.zone, now).words);
    let until_hours = m.good_until_hours.map(|h| t!("board-hours", hours = h));
    let left_days = m.good_until_at.map(|at| if at > now { span(at - now) } else { t!("board-none-left") });
    let left_hours = m
        .good_until_hours
        .zip(m.engine_hours)
        .map(|(until, at)| t!("board-engine-hours", hours = Hours((until.0 - at.0).max(0))));
    let list = |a: Option<String>, b: Option<String>| {
        let both: Vec<String> = a.into_iter().chain(b).collect();
        if both.is_empty() { "–".to_owned() } else { both.join(", ") }
    };
    Monitored {
        machine_href: format!("/machines/{}", m.machine_id),
        unit_number: m.unit_number.clone(),
        yard: m.yard_name.clone(),
        what: m.what.to_string(),
        found: when(m.found_at, &m.zone, now),
        good_until: list(until_day, until_hours),
        left: list(left_days, left_hours),
    }
}

async fn export(Signed(actor): Signed, asked: web::Query<Asked>, site: web::Data<Site>) -> Page {
    let Narrowed { board, .. } = narrowed(&site, &actor, &asked).await?;
    let mut sheet = Sheet::new(&[
        "unit number",
        "class",
        "yard",
        "standing",
        "why",
        "since",
        "known since",
        "with",
        "waiting for",
        "expected",
        "cost so far",
        "currency",
        "good until",
        "good until engine hours",
    ]);
    let time = |at: Option<DateTime<Utc>>| {
        Cell::Figure(at.map(|a| a.to_rfc3339_opts(SecondsFormat::Secs, true)).unwrap_or_default())
    };
    for g in &board.grounded {
        let cost = money::shown(g.cost_minor, "");
        sheet.row([
            Cell::from(g.unit_number.as_str()),
            Cell::from(g.class.as_str()),
            Cell::from(g.yard_name.as_str()),
            Cell::from("out of service"),
            Cell::from(g.why.here()),
            time(Some(g.since)),
            time(Some(g.placed_at)),
            Cell::from(g.mechanic_name.as_str()),
            Cell::Text(waiting(g, board.at)),
            time(g.waiting_until),
            Cell::Figure(cost.trim().to_owned()),
            Cell::from(&*site.workshop.currency),
            Cell::from(""),
            Cell::from(""),
        ]);
    }
    for m in &board.monitored {
        let hours = m.good_until_hours.map(|h| h.to_string()).unwrap_or_default();
        sheet.row([
            Cell::from(m.unit_number.as_str()),
            Cell::from(m.class.as_str()),
            Cell::from(m.yard_name.as_str()),
            Cell::from("monitored"),
            Cell::from(m.what.here()),
            time(Some(m.found_at)),
            Cell::from(""),
            Cell::from(""),
            Cell::from(""),
            Cell::from(""),
            Cell::from(""),
            Cell::from(""),
            time(m.good_until_at),
            Cell::Figure(hours),
        ]);
    }
    let zone = local_time::zone_of(&site, &actor).await?;
    Ok(sheet.into_response(&format!("yard-board-{}.csv", local_time::day_for_input(board.at, &zone))))
}
