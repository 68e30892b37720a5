//! The list of machines, what each may be used for now, and the way to one by its unit number.

use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::{DateTime, SecondsFormat, Utc};

use super::error::PageError;
use super::frame::Frame;
use super::shown::{When, when};
use super::{Page, page, see_other};
use crate::domain::machine::{UnitNumber, class_said};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::Refusal;
use crate::domain::standing::Standing;
use crate::http::Site;
use crate::http::csv::{Cell, Sheet};
use crate::http::session::Signed;
use crate::workflow::{self, ListedMachine, MachineFilter, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines", web::get().to(machines));
    cfg.route("/machines.csv", web::get().to(export));
}

/// Machines on one page.
const A_PAGE: usize = 50;
/// Rows fetched at a time for the file.
const A_FETCH: i64 = 500;

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    q: String,
    #[serde(default)]
    yard: String,
    #[serde(default)]
    class: String,
    #[serde(default)]
    standing: String,
    #[serde(default)]
    after: String,
}

struct Line {
    href: String,
    unit_number: String,
    standing: Standing,
    class: String,
    yard: String,
    last_check: Option<(When, String)>,
    hours: String,
}

/// One choice of a filter.
struct Choice {
    value: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "machines.html", config = ".askama.toml")]
struct MachinesPage {
    page: Frame,
    q: String,
    yards: Vec<Choice>,
    classes: Vec<Choice>,
    /// Each with whether it is chosen.
    standings: Vec<(Standing, bool)>,
    lines: Vec<Line>,
    narrowed: bool,
    later: bool,
    first_href: String,
    next_href: String,
    csv_href: String,
    may_set_up: bool,
    may_see_careless: bool,
}

async fn machines(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    if !asked.q.trim().is_empty() && asked.after.is_empty() {
        match workflow::find_machine(&site.workshop, &actor, &asked.q).await {
            Ok(id) => return see_other(&format!("/machines/{id}")),
            Err(WorkflowError::Refused(Refusal::NotFound(_))) => {}
            Err(e) => return Err(e.into()),
        }
    }
    let now = site.workshop.ambient.now();
    let most = i64::try_from(A_PAGE).unwrap_or(i64::MAX) + 1;
    let filter = filter(&asked);
    let mut found = workflow::list_machines(&site.workshop, &actor, &filter, &asked.after, most).await?;
    let more = found.len() > A_PAGE;
    found.truncate(A_PAGE);
    let next_href = match found.last().filter(|_| more) {
        Some(last) => format!("/machines?{}", query(&asked, &last.unit_key)),
        None => String::new(),
    };
    let yards = workflow::yards(&site.workshop, &actor).await?.into_iter().map(|y| y.name).collect();
    page(&MachinesPage {
        page: Frame::new(&req, Some(&actor)),
        yards: choices(yards, &asked.yard),
        classes: choices(workflow::machine_classes(&site.workshop, &actor).await?, &asked.class),
        standings: Standing::ALL.iter().map(|s| (*s, s.as_str() == asked.standing)).collect(),
        lines: found.iter().map(|m| line(m, now)).collect(),
        narrowed: [&asked.q, &asked.yard, &asked.class, &asked.standing].iter().any(|f| !f.trim().is_empty()),
        later: !asked.after.is_empty(),
        first_href: format!("/machines?{}", query(&asked, "")),
        next_href,
        csv_href: format!("/machines.csv?{}", query(&asked, "")),
        may_set_up: actor.may(Act::SetUpMachines),
        may_see_careless: actor.may(Act::SeeCareless),
        q: asked.into_inner().q,
    })
}

async fn export(
    Signed(actor): Signed,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Result<HttpResponse, PageError> {
    let mut sheet = Sheet::new(&[
        "unit number",
        "standing",
        "class",
        "description",
        "yard",
        "engine hours",
        "open holds",
        "open monitored defects",
        "last check",
        "last checked by",
    ]);
    let filter = filter(&asked);
    let mut after = String::new();
    loop {
        let found = workflow::list_machines(&site.workshop, &actor, &filter, &after, A_FETCH).await?;
        for m in &found {
            sheet.row(row(m));
        }
        match found.last() {
            Some(last) => after.clone_from(&last.unit_key),
            None => break,
        }
    }
    Ok(sheet.into_response("machines.csv"))
}

fn row(listed: &ListedMachine) -> [Cell; 10] {
    let m = &listed.machine;
    let hours = m.engine_hours.map(|h| h.to_string()).unwrap_or_default();
    let checked =
        listed.last_check_at.map(|at| at.to_rfc3339_opts(SecondsFormat::Secs, true)).unwrap_or_default();
    [
        Cell::from(m.unit_number.as_str()),
        Cell::from(m.standing().as_str()),
        Cell::from(m.class.as_str()),
        Cell::from(m.description.as_str()),
        Cell::from(m.yard_name.as_str()),
        Cell::Figure(hours),
        Cell::Figure(m.open_holds.to_string()),
        Cell::Figure(m.open_monitored.to_string()),
        Cell::Figure(checked),
        Cell::from(listed.last_check_by.as_deref().unwrap_or_default()),
    ]
}

fn line(listed: &ListedMachine, now: DateTime<Utc>) -> Line {
    let m = &listed.machine;
    Line {
        href: format!("/machines/{}", m.id),
        unit_number: m.unit_number.clone(),
        standing: m.standing(),
        class: class_said(&m.class).to_string(),
        yard: m.yard_name.clone(),
        last_check: listed
            .last_check_at
            .map(|at| (when(at, &listed.zone, now), listed.last_check_by.clone().unwrap_or_default())),
        hours: m.engine_hours.map_or_else(|| "–".to_owned(), |h| t!("machines-hours", hours = h)),
    }
}

fn filter(asked: &Asked) -> MachineFilter {
    MachineFilter {
        key: UnitNumber::key_of(&asked.q),
        yard: asked.yard.clone(),
        class: asked.class.clone(),
        standing: asked.standing.parse().ok(),
    }
}

/// The same question again, from another place in the list.
fn query(asked: &Asked, after: &str) -> String {
    let pairs: Vec<(&str, &str)> = [
        ("q", asked.q.as_str()),
        ("yard", &asked.yard),
        ("class", &asked.class),
        ("standing", &asked.standing),
        ("after", after),
    ]
    .into_iter()
    .filter(|(_, v)| !v.trim().is_empty())
    .collect();
    serde_urlencoded::to_string(pairs).unwrap_or_default()
}

impl Choice {
    fn class_said(&self) -> String {
        class_said(&self.value).to_string()
    }
}

fn choices(values: Vec<String>, chosen: &str) -> Vec<Choice> {
    values.into_iter().map(|value| Choice { chosen: value == chosen, value }).collect()
}

/// Machines of the same class in the same yard that are fit for use, for somebody who was just told “do not use”.
pub async fn instead_of(
    site: &Site,
    actor: &Actor,
    yard: &str,
    class: &str,
) -> Result<Vec<(String, String)>, PageError> {
    let filter = MachineFilter {
        yard: yard.to_owned(),
        class: class.to_owned(),
        standing: Some(Standing::FitForUse),
        ..MachineFilter::default()
    };
    let found = workflow::list_machines(&site.workshop, actor, &filter, "", 4).await?;
    Ok(found.into_iter().map(|m| (m.machine.unit_number, format!("/machines/{}", m.machine.id))).collect())
}
