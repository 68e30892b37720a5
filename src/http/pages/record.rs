//! A machine's record: its checks, defects, work orders and releases in one line of time. Printable.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;

use super::frame::Frame;
use super::shown::{When, reached, when};
use super::{Page, page};
use crate::domain::careless::{LOOK_AT, Looked};
use crate::domain::ids::MachineId;
use crate::domain::money;
use crate::domain::person::Act;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, MachineRecord};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/record", web::get().to(record));
}

/// Rows of each kind, newest first.
const MOST: i64 = 200;

#[derive(Template)]
#[template(path = "record.html", config = ".askama.toml")]
struct RecordPage {
    page: Frame,
    href: String,
    unit_number: String,
    facts: Vec<(&'static str, String)>,
    /// Of recent checks that look careless, for those who may see that: what to say, and where it is shown.
    careless: Option<(String, String)>,
    /// What is measured, and what its trend says as of the newest check.
    trends: Vec<(String, String)>,
    entries: Vec<Entry>,
    cut: bool,
    made: String,
}

struct Entry {
    at: DateTime<Utc>,
    when: When,
    kind: &'static str,
    href: String,
    what: String,
    /// Empty where nobody did it: a work order that was opened by a check.
    by: String,
}

async fn record(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    let r = workflow::machine_record(&site.workshop, &actor, *id, MOST).await?;
    let careless = if actor.may(Act::SeeCareless) {
        let looked = workflow::careless_checks_of(&site.workshop, &actor, *id).await?;
        Some(careless(&looked, &r))
    } else {
        None
    };
    let now = site.workshop.ambient.now();
    let cost = actor.may(Act::SeeQueue).then_some(&*site.workshop.currency);
    let most = usize::try_from(MOST).unwrap_or(usize::MAX);
    let longest = [r.checks.len(), r.defects.len(), r.orders.len(), r.releases.len()].into_iter().max();
    let zone: Tz = r.yard.zone.parse().unwrap_or(Tz::UTC);
    page(&RecordPage {
        page: Frame::new(&req, Some(&actor)),
        href: format!("/machines/{id}"),
        facts: facts(&r),
        careless,
        trends: r.trends.iter().map(|t| (t.title.to_string(), t.words.to_string())).collect(),
        entries: entries(&r, cost, now),
        cut: longest >= Some(most),
        made: now.with_timezone(&zone).format("%-d %B %Y, %H:%M").to_string(),
        unit_number: r.machine.unit_number,
    })
}

fn with(what: String, reached: &str) -> String {
    if reached.is_empty() { what } else { format!("{what}. {reached}") }
}

fn facts(r: &MachineRecord) -> Vec<(&'static str, String)> {
    let m = &r.machine;
    let all = [
        ("Class", m.class.clone()),
        ("Description", m.description.clone()),
        ("Serial number", m.serial.clone()),
        ("Yard", r.yard.name.clone()),
        ("Engine hours", m.engine_hours.map(|h| format!("{h} h")).unwrap_or_default()),
    ];
    all.into_iter().filter(|(_, v)| !v.is_empty()).collect()
}

fn careless(looked: &Looked, r: &MachineRecord) -> (String, String) {
    let days = LOOK_AT.num_days();
    let said = match (looked.odd.len(), looked.unsaid.is_empty()) {
        (0, true) => format!("none in the last {days} days"),
        (0, false) => format!("none in the last {days} days, of what its history lets be said"),
        (1, _) => format!("1 sign in the last {days} days"),
        (n, _) => format!("{n} signs in the last {days} days"),
    };
    (said, format!("/checks/careless?yard={}#m{}", r.yard.id, r.machine.id))
}

fn entries(r: &MachineRecord, currency: Option<&str>, now: DateTime<Utc>) -> Vec<Entry> {
    let zone = r.yard.zone.as_str();
    let entry = |at, kind, href, what, by| Entry { at, when: when(at, zone, now), kind, href, what, by };
    let mut all: Vec<Entry> = Vec::new();
    for c in &r.checks {
        let hours = c.engine_hours.map_or(String::new(), |h| format!(", {h} h"));
        let what = format!("{}{hours}, {}", c.verdict, c.context().in_words());
        let what = with(what, &reached(c.recorded_at, c.received_at, zone, now));
        all.push(entry(c.recorded_at, "check", format!("/checks/{}", c.id), what, c.operator_name.clone()));
    }
    for d in &r.defects {
        let order = d.work_order_id.map(|o| format!("/work-orders/{o}")).unwrap_or_default();
        let back = if d.came_back { ", back soon after its release" } else { "" };
        let gone = if d.said_gone_at.is_some() { ", said to be gone" } else { "" };
        let what = format!("{} ({}{back}{gone})", d.what, d.severity);
        let by = r.reporters.get(&d.reported_by).cloned().unwrap_or_default();
        let what = with(what, &reached(d.found_at, d.raised_at, zone, now));
        all.push(entry(d.found_at, "defect raised", order.clone(), what, by));
        if let Some(at) = d.closed_at {
            let how = if d.no_fault_found {
                "no fault found".to_owned()
            } else {
                format!("cause: {}; done: {}", d.cause, d.remedy)
            };
            all.push(entry(at, "defect closed", order, format!("{}. {how}", d.what), String::new()));
        }
    }
    for o in &r.orders {
        let href = format!("/work-orders/{}", o.id);
        let opened = format!("work order {}", o.number);
        all.push(entry(o.opened_at, "work order opened", href.clone(), opened, String::new()));
        if let Some(at) = o.closed_at {
            let cost =
                currency.map_or(String::new(), |c| format!(", cost {}", money::shown(o.cost_minor, c)));
            let what = format!("work order {}: {}{cost}", o.number, o.word());
            all.push(entry(at, "work order ended", href, what, o.mechanic_name.clone()));
        }
    }
    for s in &r.releases {
        let repairer = if s.released_by_repairer { "released by the repairer" } else { "released" };
        let note = if s.note.is_empty() { String::new() } else { format!(". “{}”", s.note) };
        let href = format!("/work-orders/{}/note", s.work_order_id);
        all.push(entry(s.at, "release", href, format!("{repairer}{note}"), s.by_name.clone()));
    }
    all.sort_by_key(|e| std::cmp::Reverse(e.at));
    all
}
