//! The audit trail: who did what, when, from what to what, and why.

use std::collections::{BTreeMap, BTreeSet};

use actix_web::{HttpRequest, web};
use askama::Template;

use super::frame::Frame;
use super::markup;
use super::shown::to_the_second;
use super::{Page, local_time, page};
use crate::domain::ids::MachineId;
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::http::csv::{Cell, Sheet};
use crate::http::session::Signed;
use crate::workflow::{self, AuditRow, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/audit", web::get().to(audit));
    cfg.route("/audit.csv", web::get().to(export));
}

const ON_A_PAGE: usize = 50;
/// Whoever looks further back narrows the search, or exports.
const LAST_PAGE: usize = 100;
const MOST_EXPORTED: i64 = 50_000;

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    q: String,
    /// A unit number, however it is typed.
    #[serde(default)]
    machine: String,
    /// A chain by its name, from a link on the page.
    #[serde(default)]
    stream: String,
    /// From 1; the newest entries are on the first.
    page: Option<usize>,
}

struct Entry {
    at: String,
    machine_time: String,
    by: String,
    act: String,
    subject: String,
    before: String,
    after: String,
    why: String,
    seq: i64,
    hash: String,
    stream_href: String,
    stream: String,
}

#[derive(Template)]
#[template(path = "audit.html", config = ".askama.toml")]
struct AuditPage {
    page: Frame,
    q: String,
    machine: String,
    stream: String,
    query: String,
    entries: Vec<Entry>,
    /// Of the first entry on this page, counted from the newest.
    first: usize,
    /// None on the last page.
    older: Option<usize>,
    zone: String,
}

async fn audit(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let number = asked.page.unwrap_or(1).clamp(1, LAST_PAGE);
    let upto = i64::try_from(number * ON_A_PAGE + 1).unwrap_or(i64::MAX);
    let mut rows = rows(&site, &actor, &asked, upto).await?;
    let more = rows.len() > number * ON_A_PAGE && number < LAST_PAGE;
    rows.truncate(number * ON_A_PAGE);
    rows.drain(..rows.len().min((number - 1) * ON_A_PAGE));
    let zone = local_time::zone_of(&site, &actor).await?;
    let machines: BTreeSet<MachineId> = rows.iter().filter_map(|r| machine_of(&r.stream)).collect();
    let units = workflow::unit_numbers(&site.workshop, &actor, machines).await?;
    let Asked { q, machine, stream, .. } = asked.into_inner();
    let query = [("q", &q), ("machine", &machine), ("stream", &stream)];
    page(&AuditPage {
        page: Frame::new(&req, Some(&actor)),
        query: serde_urlencoded::to_string(query).unwrap_or_default(),
        first: (number - 1) * ON_A_PAGE + 1,
        older: more.then_some(number + 1),
        entries: rows.into_iter().map(|r| entry(r, &units, &zone)).collect(),
        q,
        machine,
        stream,
        zone,
    })
}

async fn rows(site: &Site, actor: &Actor, asked: &Asked, most: i64) -> Result<Vec<AuditRow>, WorkflowError> {
    let stream = if asked.machine.trim().is_empty() {
        asked.stream.clone()
    } else {
        match workflow::find_machine(&site.workshop, actor, &asked.machine).await {
            Ok(id) => format!("machine {id}"),
            Err(WorkflowError::Refused(Refusal::NotFound(_))) => return Ok(Vec::new()),
            Err(e) => return Err(e),
        }
    };
    workflow::audit_trail(&site.workshop, actor, &stream, &asked.q, most).await
}

fn machine_of(stream: &str) -> Option<MachineId> {
    stream.strip_prefix("machine ")?.parse().ok()
}

fn entry(r: AuditRow, units: &BTreeMap<MachineId, String>, zone: &str) -> Entry {
    // Ids in full are for machines; people tell them apart by their ends.
    let short = |text: &str| match text.rsplit_once(' ') {
        Some((what, id)) if id.len() == 36 => format!("{what} …{}", &id[28..]),
        _ => text.to_owned(),
    };
    let ends = |hash: &str| match (hash.get(..4), hash.get(hash.len().saturating_sub(4)..)) {
        (Some(first), Some(last)) => format!("{first}…{last}"),
        _ => hash.to_owned(),
    };
    Entry {
        at: to_the_second(r.at, zone),
        machine_time: r.at.to_rfc3339(),
        by: r.said_by_name().to_string(),
        act: r.said_act().to_string(),
        subject: short(&r.said_subject().to_string()),
        before: r.said_before().to_string(),
        after: r.said_after().to_string(),
        why: r.said_why().to_string(),
        seq: r.seq,
        hash: ends(&r.hash),
        stream_href: format!(
            "/audit?{}",
            serde_urlencoded::to_string([("stream", &r.stream)]).unwrap_or_default()
        ),
        stream: match machine_of(&r.stream).and_then(|id| units.get(&id)) {
            Some(unit) => unit.clone(),
            None => short(&r.said_stream().to_string()),
        },
    }
}

async fn export(Signed(actor): Signed, asked: web::Query<Asked>, site: web::Data<Site>) -> Page {
    let rows = rows(&site, &actor, &asked, MOST_EXPORTED).await?;
    let mut sheet = Sheet::new(&[
        "chain",
        "number",
        "when",
        "who",
        "act",
        "subject",
        "from",
        "to",
        "why",
        "hash before",
        "hash",
    ]);
    for r in &rows {
        sheet.row([
            Cell::from(r.stream.as_str()),
            Cell::Figure(r.seq.to_string()),
            Cell::Figure(r.at.to_rfc3339()),
            Cell::from(r.said_by_name().here()),
            Cell::from(r.act.as_str()),
            Cell::from(r.subject.as_str()),
            Cell::from(r.said_before().here()),
            Cell::from(r.said_after().here()),
            Cell::from(r.said_why().here()),
            Cell::from(r.prev_hash.as_str()),
            Cell::from(r.hash.as_str()),
        ]);
    }
    Ok(sheet.into_response("audit.csv"))
}
