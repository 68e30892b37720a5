//! A machine's record: its checks, defects, work orders and releases in one line of time. Printable.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::error::PageError;
use super::figures::{Costs, Figures, KeepTyped, Worn, costs, definitions, figures, worn};
use super::frame::Frame;
use super::local_time::in_full;
use super::shown::{When, reached, when};
use super::{Page, page};
use crate::domain::careless::{LOOK_AT, Looked};
use crate::domain::ids::MachineId;
use crate::domain::machine::class_said;
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::here;
use crate::workflow::{self, MachineRecord};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/record", web::get().to(record));
}

/// Rows of each kind, newest first.
const MOST: i64 = 200;
/// Of the history, unless everything is asked for: as much as somebody reads on a phone.
const FIRST: usize = 30;
/// As many of the times out of service, and of the charts.
const FIRST_DOWNS: usize = 5;
const FIRST_CHARTS: usize = 4;

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    all: String,
}

#[derive(Template)]
#[template(path = "record.html", config = ".askama.toml", blocks = ["main"])]
pub struct RecordPage {
    page: Frame,
    href: String,
    unit_number: String,
    facts: Vec<(String, String)>,
    /// Of recent checks that look careless, for those who may see that: what to say, and where it is shown.
    careless: Option<(String, String)>,
    /// What is measured, and what its trend says as of the newest check.
    trends: Vec<(String, String)>,
    figures: Figures,
    definitions: Vec<(String, String)>,
    /// For whoever may see what repairs cost.
    costs: Option<Costs>,
    /// For whoever decides on machines.
    may_reckon: bool,
    typed: KeepTyped,
    /// For an inspector; empty for whoever may not give it away.
    archive_href: String,
    /// What is at its limit first comes first.
    wear: Vec<Worn>,
    /// Charts that are not shown.
    more_wear: usize,
    entries: Vec<Entry>,
    cut: bool,
    /// How many there are, where only the first are shown.
    of: usize,
    made: String,
}

struct Entry {
    at: DateTime<Utc>,
    when: When,
    kind: String,
    href: String,
    what: String,
    /// Empty where nobody did it: a work order that was opened by a check.
    by: String,
}

async fn record(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    (typed, asked): (web::Query<KeepTyped>, web::Query<Asked>),
    site: web::Data<Site>,
) -> Page {
    let mut found = shown(&actor, &req, *id, typed.into_inner(), &site).await?;
    if asked.all.is_empty() {
        if found.entries.len() > FIRST {
            found.of = found.entries.len();
            found.entries.truncate(FIRST);
        }
        if found.figures.downs.len() > FIRST_DOWNS {
            found.figures.downs.truncate(FIRST_DOWNS);
            found.figures.cut = true;
        }
        let with_an_end = found.wear.iter().filter(|w| w.ends_at.is_some()).count();
        let charts = FIRST_CHARTS.max(with_an_end).min(found.wear.len());
        found.more_wear = found.wear.len() - charts;
        found.wear.truncate(charts);
    }
    page(&found)
}

pub async fn shown(
    actor: &Actor,
    req: &HttpRequest,
    id: MachineId,
    typed: KeepTyped,
    site: &Site,
) -> Result<RecordPage, PageError> {
    let r = workflow::machine_record(&site.workshop, actor, id, MOST).await?;
    let careless = if actor.may(Act::SeeCareless) {
        let looked = workflow::careless_checks_of(&site.workshop, actor, id).await?;
        Some(careless(&looked, &r))
    } else {
        None
    };
    let now = site.workshop.ambient.now();
    let cost = actor.may(Act::SeeQueue).then_some(&*site.workshop.currency);
    let most = usize::try_from(MOST).unwrap_or(usize::MAX);
    let found = workflow::machine_figures(&site.workshop, actor, id).await?;
    let wear = workflow::machine_wear(&site.workshop, actor, id).await?;
    let mut wear: Vec<Worn> = wear.iter().map(|w| worn(w, now)).collect();
    wear.sort_by(|a, b| a.ends_at.unwrap_or(f64::INFINITY).total_cmp(&b.ends_at.unwrap_or(f64::INFINITY)));
    let longest = [r.checks.len(), r.defects.len(), r.orders.len(), r.releases.len()].into_iter().max();
    Ok(RecordPage {
        page: Frame::new(req, Some(actor)),
        href: format!("/machines/{id}"),
        facts: facts(&r),
        careless,
        trends: r.trends.iter().map(|t| (t.title.to_string(), t.words.to_string())).collect(),
        figures: figures(&found, &r.yard.zone),
        definitions: definitions(),
        costs: cost.map(|currency| costs(&found, &typed, currency)),
        may_reckon: actor.may(Act::SeeNumbers),
        typed,
        archive_href: if actor.may(Act::SeeAudit) {
            format!("/machines/{id}/archive")
        } else {
            String::new()
        },
        wear,
        more_wear: 0,
        entries: entries(&r, cost, now),
        cut: longest >= Some(most),
        of: 0,
        made: in_full(now, &r.yard.zone).words,
        unit_number: r.machine.unit_number,
    })
}

impl RecordPage {
    /// Without what is around every page.
    pub fn as_main_alone(&self) -> Result<String, PageError> {
        self.as_main().render().map_err(PageError::Template)
    }
}

fn with(what: String, reached: &str) -> String {
    if reached.is_empty() { what } else { format!("{what}. {reached}") }
}

fn facts(r: &MachineRecord) -> Vec<(String, String)> {
    let m = &r.machine;
    let all = [
        (t!("machines-class"), class_said(&m.class).to_string()),
        (t!("record-description"), m.description.clone()),
        (t!("record-serial"), m.serial.clone()),
        (t!("machines-yard"), r.yard.name.clone()),
        (
            t!("gate-engine-hours"),
            m.engine_hours.map(|h| t!("machines-hours", hours = h)).unwrap_or_default(),
        ),
    ];
    all.into_iter().filter(|(_, v)| !v.is_empty()).collect()
}

fn careless(looked: &Looked, r: &MachineRecord) -> (String, String) {
    let days = LOOK_AT.num_days();
    let said = match (looked.odd.len(), looked.unsaid.is_empty()) {
        (0, true) => t!("record-careless-none", days = days),
        (0, false) => t!("record-careless-none-said", days = days),
        (n, _) => t!("record-careless-signs", count = n, days = days),
    };
    (said, format!("/checks/careless?yard={}#m{}", r.yard.id, r.machine.id))
}

fn entries(r: &MachineRecord, currency: Option<&str>, now: DateTime<Utc>) -> Vec<Entry> {
    let zone = r.yard.zone.as_str();
    let entry = |at, kind: &str, href, what, by| Entry {
        at,
        when: when(at, zone, now),
        kind: t!(kind),
        href,
        what,
        by,
    };
    let mut all: Vec<Entry> = Vec::new();
    for c in &r.checks {
        let context = c.context().in_words();
        let what = match c.engine_hours {
            Some(hours) => t!("record-check-hours", verdict = c.verdict, hours = hours, context = context),
            None => t!("record-check", verdict = c.verdict, context = context),
        };
        let what = with(what, &reached(c.recorded_at, c.received_at, zone, now));
        all.push(entry(
            c.recorded_at,
            "record-kind-check",
            format!("/checks/{}", c.id),
            what,
            c.operator_name.clone(),
        ));
    }
    for d in &r.defects {
        let order = d.work_order_id.map(|o| format!("/work-orders/{o}")).unwrap_or_default();
        let mut marks = vec![d.severity.here()];
        marks.extend(d.came_back.then(|| t!("record-back-soon")));
        marks.extend(d.said_gone_at.map(|_| t!("record-said-gone")));
        let what = t!("record-defect", what = d.what, marks = marks.join(", "));
        let by = r.reporters.get(&d.reported_by).cloned().unwrap_or_default();
        let what = with(what, &reached(d.found_at, d.raised_at, zone, now));
        all.push(entry(d.found_at, "record-kind-defect-raised", order.clone(), what, by));
        if let Some(at) = d.closed_at {
            let what = if d.no_fault_found {
                t!("record-closed-no-fault", what = d.what)
            } else {
                t!("record-closed", what = d.what, cause = d.cause, remedy = d.remedy)
            };
            all.push(entry(at, "record-kind-defect-closed", order, what, String::new()));
        }
    }
    for o in &r.orders {
        let href = format!("/work-orders/{}", o.id);
        let opened = t!("record-order", number = o.number);
        all.push(entry(o.opened_at, "record-kind-order-opened", href.clone(), opened, String::new()));
        if let Some(at) = o.closed_at {
            let what = match currency {
                None => t!("record-order-ended", number = o.number, how = o.word()),
                Some(c) => {
                    let cost = here().figure(&money::shown(o.cost_minor, c));
                    t!("record-order-ended-cost", number = o.number, how = o.word(), cost = cost)
                }
            };
            all.push(entry(at, "record-kind-order-ended", href, what, o.mechanic_name.clone()));
        }
    }
    for s in &r.releases {
        let how =
            if s.released_by_repairer { t!("record-released-by-repairer") } else { t!("record-released") };
        let what =
            if s.note.is_empty() { how } else { t!("record-released-noted", how = how, note = s.note) };
        let href = format!("/work-orders/{}/note", s.work_order_id);
        all.push(entry(s.at, "record-kind-release", href, what, s.by_name.clone()));
    }
    all.sort_by_key(|e| std::cmp::Reverse(e.at));
    all
}
