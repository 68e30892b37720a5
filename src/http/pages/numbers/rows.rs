//! The rows behind a number, as a page and as a file.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, SecondsFormat, Utc};

use super::super::frame::Frame;
use super::super::local_time;
use super::super::shown::{amount, span, when};
use super::super::{Page, page};
use super::{Asked, in_days, understood};
use crate::domain::checklist::System;
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::reliability::restoration::Phase;
use crate::http::Site;
use crate::http::csv::{Cell, Sheet};
use crate::http::session::Signed;
use crate::workflow::{self, Looking};

use super::super::error::PageError;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/numbers/rows", web::get().to(rows));
    cfg.route("/numbers/rows.csv", web::get().to(export));
}

#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default)]
struct Which {
    of: String,
    system: String,
    yard: String,
    class: String,
    from: String,
    to: String,
}

/// A cell of the page, and what stands for it in a file.
struct Shown {
    words: String,
    href: String,
    number: bool,
    filed: Cell,
}

struct List {
    title: String,
    head: Vec<(String, bool)>,
    /// In a file.
    names: Vec<&'static str>,
    rows: Vec<Vec<Shown>>,
}

impl List {
    /// Columns in which no row has a figure: on a page they only push the others out of sight. A file has them all.
    fn leave_out_what_is_empty(&mut self) {
        let keep: Vec<bool> = (0..self.head.len())
            .map(|n| self.rows.is_empty() || self.rows.iter().any(|row| !row[n].is_nil()))
            .collect();
        let mut kept = keep.iter();
        self.head.retain(|_| kept.next() == Some(&true));
        for row in &mut self.rows {
            let mut kept = keep.iter();
            row.retain(|_| kept.next() == Some(&true));
        }
    }
}

impl Shown {
    fn is_nil(&self) -> bool {
        self.words == NIL
    }
}

#[derive(Template)]
#[template(path = "numbers_rows.html", config = ".askama.toml")]
struct RowsPage {
    page: Frame,
    title: String,
    chosen: String,
    period: String,
    back: String,
    export: String,
    head: Vec<(String, bool)>,
    rows: Vec<Vec<Shown>>,
    cut: bool,
}

/// Stands where there is no figure.
const NIL: &str = "–";
const MOST: usize = 500;
const MOST_EXPORTED: usize = 50_000;

async fn rows(
    Signed(actor): Signed,
    req: HttpRequest,
    which: web::Query<Which>,
    site: web::Data<Site>,
) -> Page {
    let which = which.into_inner();
    let (looking, asked) = looked_at(&site, &actor, &which).await?;
    let mut list = list(&site, &actor, &which, &looking, MOST + 1).await?;
    let cut = list.rows.len() > MOST;
    list.rows.truncate(MOST);
    list.leave_out_what_is_empty();
    let zone = local_time::zone_of(&site, &actor).await?;
    let also = [("of", &which.of), ("system", &which.system)];
    let query = format!("{}&{}", serde_urlencoded::to_string(also).unwrap_or_default(), asked.query());
    page(&RowsPage {
        page: Frame::new(&req, Some(&actor)),
        title: list.title,
        chosen: asked.chosen(which.system.parse::<System>().ok().map(System::here)),
        period: in_days(looking.period, &zone),
        back: format!("/numbers?{}", asked.query()),
        export: format!("/numbers/rows.csv?{query}"),
        head: list.head,
        rows: list.rows,
        cut,
    })
}

async fn export(Signed(actor): Signed, which: web::Query<Which>, site: web::Data<Site>) -> Page {
    let which = which.into_inner();
    let (looking, _) = looked_at(&site, &actor, &which).await?;
    let list = list(&site, &actor, &which, &looking, MOST_EXPORTED).await?;
    let mut sheet = Sheet::new(&list.names);
    for row in list.rows {
        sheet.row(row.into_iter().map(|cell| cell.filed));
    }
    Ok(sheet.into_response("numbers.csv"))
}

async fn looked_at(site: &Site, actor: &Actor, which: &Which) -> Result<(Looking, Asked), PageError> {
    actor.must(Act::SeeNumbers)?;
    let asked = Asked {
        yard: which.yard.clone(),
        class: which.class.clone(),
        from: which.from.clone(),
        to: which.to.clone(),
    };
    let zone = local_time::zone_of(site, actor).await?;
    let (looking, asked, _) = understood(asked, &zone, site.workshop.ambient.now());
    Ok((looking, asked))
}

async fn list(
    site: &Site,
    actor: &Actor,
    which: &Which,
    looking: &Looking,
    most: usize,
) -> Result<List, PageError> {
    let limit = i64::try_from(most).unwrap_or(i64::MAX);
    match which.of.as_str() {
        "defects" => defects(site, actor, which, looking, limit).await,
        "orders" => orders(site, actor, looking, limit).await,
        "acknowledged" => asked(site, actor, looking, limit).await,
        "unchecked" => unchecked(site, actor, looking, most).await,
        _ => downs(site, actor, looking, most).await,
    }
}

async fn downs(site: &Site, actor: &Actor, looking: &Looking, most: usize) -> Result<List, PageError> {
    let now = site.workshop.ambient.now();
    let found = workflow::numbers_downs(&site.workshop, actor, looking).await?;
    let mut head = vec![
        (t!("board-machine"), false),
        (t!("figures-from"), false),
        (t!("figures-to"), false),
        (t!("figures-length"), true),
        (t!("figures-failure-asked"), false),
    ];
    head.extend(Phase::ALL.iter().map(|p| (p.here(), true)));
    let mut names = vec!["unit number", "from", "to", "hours", "failure"];
    names.extend(Phase::ALL.iter().map(|p| p.as_str()));
    let row = |d: workflow::DownRow| {
        let to = if d.down.back { when(d.down.span.to, &d.zone, now).words } else { t!("figures-still") };
        let failure = if d.down.failure { t!("figures-a-failure") } else { t!("figures-no-failure") };
        let mut cells = vec![
            linked(d.unit_number, format!("/machines/{}/record", d.machine_id)),
            moment(d.down.span.from, when(d.down.span.from, &d.zone, now).words),
            Shown {
                filed: Cell::Figure(if d.down.back { filed(d.down.span.to) } else { String::new() }),
                ..text(to)
            },
            figure(span(d.down.span.length()), hours(d.down.span.length())),
            Shown { filed: Cell::from(if d.down.failure { "yes" } else { "no" }), ..text(failure) },
        ];
        cells.extend(Phase::ALL.iter().map(|p| match d.split.get(p) {
            Some(time) => figure(span(*time), hours(*time)),
            None => figure(NIL.to_owned(), "0.00".to_owned()),
        }));
        cells
    };
    let rows = found.into_iter().take(most).map(row).collect();
    Ok(List { title: t!("numbers-rows-down"), head, names, rows })
}

async fn defects(
    site: &Site,
    actor: &Actor,
    which: &Which,
    looking: &Looking,
    most: i64,
) -> Result<List, PageError> {
    let now = site.workshop.ambient.now();
    let system: Option<System> = which.system.parse().ok();
    let found = workflow::numbers_defects(&site.workshop, actor, looking, system, most).await?;
    let rows = found.into_iter().map(|d| {
        let closed = d.closed_at.map(|at| when(at, &d.zone, now).words).unwrap_or_else(|| t!("numbers-open"));
        vec![
            linked(d.unit_number, format!("/machines/{}/record", d.machine_id)),
            Shown {
                href: format!("/defects/{}", d.id),
                filed: Cell::from(d.what.here()),
                ..text(d.what.to_string())
            },
            Shown { filed: Cell::from(d.system.as_str()), ..text(d.system.here()) },
            Shown { filed: Cell::from(d.severity.as_str()), ..text(d.severity.here()) },
            moment(d.found_at, when(d.found_at, &d.zone, now).words),
            Shown { filed: Cell::Figure(d.closed_at.map(filed).unwrap_or_default()), ..text(closed) },
        ]
    });
    let words = [
        "board-machine",
        "board-what",
        "numbers-system",
        "numbers-severity",
        "board-found",
        "numbers-closed",
    ];
    Ok(List {
        title: t!("numbers-rows-defects"),
        head: words.iter().map(|w| (t!(w), false)).collect(),
        names: vec!["unit number", "what", "system", "severity", "found", "closed"],
        rows: rows.collect(),
    })
}

async fn orders(site: &Site, actor: &Actor, looking: &Looking, most: i64) -> Result<List, PageError> {
    let now = site.workshop.ambient.now();
    let currency = &*site.workshop.currency;
    let found = workflow::numbers_orders(&site.workshop, actor, looking, most).await?;
    let rows = found.into_iter().map(|o| {
        let cost = money::shown(o.cost_minor, "").trim().to_owned();
        vec![
            linked(o.unit_number, format!("/machines/{}/record", o.machine_id)),
            Shown {
                href: format!("/work-orders/{}", o.id),
                filed: Cell::Figure(o.number.to_string()),
                ..text(t!("board-order", number = o.number))
            },
            moment(o.opened_at, when(o.opened_at, &o.zone, now).words),
            moment(o.closed_at, when(o.closed_at, &o.zone, now).words),
            figure(amount(o.cost_minor, currency), cost),
        ]
    });
    let words = ["board-machine", "numbers-order", "numbers-opened", "numbers-ended", "numbers-cost-of"];
    Ok(List {
        title: t!("numbers-rows-orders"),
        head: words.iter().map(|w| (t!(w), *w == "numbers-cost-of")).collect(),
        names: vec!["unit number", "work order", "opened", "ended", "cost"],
        rows: rows.collect(),
    })
}

async fn unchecked(site: &Site, actor: &Actor, looking: &Looking, most: usize) -> Result<List, PageError> {
    let now = site.workshop.ambient.now();
    let found = workflow::numbers_gaps(&site.workshop, actor, looking).await?;
    let rows = found.into_iter().take(most).map(|g| {
        vec![
            linked(g.unit_number, format!("/machines/{}/record", g.machine_id)),
            moment(g.gap.before, when(g.gap.before, &g.zone, now).words),
            moment(g.gap.after, when(g.gap.after, &g.zone, now).words),
            figure(t!("board-hours", hours = g.gap.gained), g.gap.gained.to_string()),
            figure(g.gap.days.to_string(), g.gap.days.to_string()),
        ]
    });
    let words = ["board-machine", "numbers-check", "numbers-next-check", "numbers-ran", "numbers-days"];
    Ok(List {
        title: t!("numbers-rows-unchecked"),
        head: words.iter().map(|w| (t!(w), matches!(*w, "numbers-ran" | "numbers-days"))).collect(),
        names: vec!["unit number", "check", "next check", "engine hours between", "days without a check"],
        rows: rows.collect(),
    })
}

async fn asked(site: &Site, actor: &Actor, looking: &Looking, most: i64) -> Result<List, PageError> {
    let now = site.workshop.ambient.now();
    let found = workflow::numbers_asked(&site.workshop, actor, looking, most).await?;
    let rows = found.into_iter().map(|a| {
        let took = a.acknowledged_at.map(|at| at - a.asked_at);
        let seen = match a.acknowledged_at {
            Some(at) => when(at, &a.zone, now).words,
            None => t!("numbers-not-acknowledged"),
        };
        vec![
            linked(a.unit_number, format!("/machines/{}/record", a.machine_id)),
            moment(a.asked_at, when(a.asked_at, &a.zone, now).words),
            Shown { filed: Cell::Figure(a.acknowledged_at.map(filed).unwrap_or_default()), ..text(seen) },
            text(a.acknowledged_by),
            match took {
                Some(took) => figure(span(took), hours(took)),
                None => figure(NIL.to_owned(), String::new()),
            },
            figure(a.step.to_string(), a.step.to_string()),
        ]
    });
    let words = [
        "board-machine",
        "numbers-asked-at",
        "numbers-seen-at",
        "numbers-seen-by",
        "numbers-took",
        "numbers-passed-on",
    ];
    Ok(List {
        title: t!("numbers-rows-acknowledged"),
        head: words.iter().map(|w| (t!(w), matches!(*w, "numbers-took" | "numbers-passed-on"))).collect(),
        names: vec!["unit number", "asked", "acknowledged", "by", "hours", "passed on"],
        rows: rows.collect(),
    })
}

fn text(words: String) -> Shown {
    Shown { filed: Cell::Text(words.clone()), words, href: String::new(), number: false }
}

fn linked(words: String, href: String) -> Shown {
    Shown { href, ..text(words) }
}

fn figure(words: String, filed: String) -> Shown {
    Shown { words, href: String::new(), number: true, filed: Cell::Figure(filed) }
}

fn moment(at: DateTime<Utc>, words: String) -> Shown {
    Shown { filed: Cell::Figure(filed(at)), ..text(words) }
}

fn filed(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Secs, true)
}

fn hours(time: chrono::TimeDelta) -> String {
    format!("{:.2}", time.as_seconds_f64() / 3600.0)
}
