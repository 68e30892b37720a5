//! Checklists: their versions, one of them as it is walked and judged, and uploading the next.

mod acts;

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::shown::{When, when};
use super::typed::{Typed, refused};
use super::{Page, local_time, page, page_with, see_other};
use crate::domain::checklist::{Checklist, Condition, Item, Load, Place, Rule};
use crate::domain::ids::ChecklistId;
use crate::domain::person::{Act, Actor};
use crate::domain::risk::RiskLevel;
use crate::domain::standing::Severity;
use crate::domain::unit::in_words;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/checklists", web::get().to(versions));
    cfg.route("/set-up/checklists", web::post().to(upload));
    cfg.route("/set-up/checklists/{id}", web::get().to(checklist));
    acts::routes(cfg);
}

struct Version {
    href: String,
    title: String,
    name: String,
    version: i64,
    since: When,
    state: &'static str,
    in_use: bool,
}

/// One's own draft.
struct Draft {
    href: String,
    title: String,
    name: String,
    changed: When,
}

#[derive(Template)]
#[template(path = "checklists.html", config = ".askama.toml")]
struct VersionsPage {
    page: Frame,
    t: Typed,
    versions: Vec<Version>,
    drafts: Vec<Draft>,
    may_upload: bool,
    /// What was sent and could not be understood, whether typed or chosen as a file.
    source: String,
}

struct ZoneView {
    title: String,
    stand: String,
    items: Vec<ItemView>,
}

struct ItemView {
    title: String,
    todo: String,
    accept: String,
    caution: String,
    asks: &'static str,
    positions: String,
    limits: Vec<String>,
    system: &'static str,
    safety: bool,
}

struct RuleView {
    name: String,
    severity: Severity,
    when: Vec<String>,
    instruction: String,
    is_final: bool,
    good_for: String,
    route: String,
}

#[derive(Template)]
#[template(path = "checklist.html", config = ".askama.toml")]
struct ChecklistPage {
    page: Frame,
    title: String,
    name: String,
    version: i64,
    classes: String,
    since: When,
    state: &'static str,
    in_use: bool,
    from: RiskLevel,
    zones: Vec<ZoneView>,
    rules: Vec<RuleView>,
    source: String,
    href: String,
    may_edit: bool,
    /// Other versions and checklists to compare with: address and words.
    others: Vec<(String, String)>,
}

async fn versions(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing(), String::new()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed, source: String) -> Page {
    let rows = workflow::checklists(&site.workshop, actor).await?;
    let zone = local_time::zone_of(site, actor).await?;
    let now = site.workshop.ambient.now();
    let may_upload = actor.may(Act::SetUpChecklists);
    let drafts = if may_upload { workflow::my_drafts(&site.workshop, actor).await? } else { Vec::new() };
    let view = VersionsPage {
        page: Frame::new(req, Some(actor)),
        versions: rows
            .into_iter()
            .map(|c| Version {
                href: format!("/set-up/checklists/{}", c.id),
                title: c.title.to_string(),
                name: c.name,
                version: c.version,
                since: when(c.created_at, &zone, now),
                state: state(c.retired_at.is_some(), c.retired_by.is_some()),
                in_use: c.retired_at.is_none(),
            })
            .collect(),
        drafts: drafts
            .into_iter()
            .map(|(row, draft)| Draft {
                href: format!("/set-up/drafts/{}", row.id),
                title: draft.title,
                name: row.name,
                changed: when(row.changed_at, &zone, now),
            })
            .collect(),
        may_upload,
        source,
        t,
    };
    page_with(view.t.status, &view)
}

/// Takes the file if one was chosen, else the text.
async fn upload(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    actor.must(Act::SetUpChecklists)?;
    let given = match form.files.iter().find(|f| f.field == "file") {
        Some(file) => String::from_utf8(file.bytes.to_vec()).map_err(|_| {
            refused("file", "This file is not text in UTF-8. Save it as UTF-8 and choose it again.")
        }),
        None => Ok(form.text("source").to_owned()),
    };
    let (outcome, source) = match given {
        Ok(source) => (take(&site, &actor, &source).await, source),
        Err(e) => (Err(e), form.text("source").to_owned()),
    };
    match outcome {
        Ok(id) => see_other(&format!("/set-up/checklists/{id}?done=saved")),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("checklist", form, e)?, source).await,
    }
}

async fn take(site: &Site, actor: &Actor, source: &str) -> Result<ChecklistId, WorkflowError> {
    if source.trim().is_empty() {
        return Err(refused("source", "Choose a file, or paste the checklist."));
    }
    Ok(workflow::upload_checklist(&site.workshop, actor, source).await?.0)
}

const fn state(replaced: bool, retired: bool) -> &'static str {
    match (retired, replaced) {
        (true, _) => "retired",
        (false, true) => "replaced by a later one",
        (false, false) => "in use",
    }
}

async fn checklist(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<ChecklistId>,
    site: web::Data<Site>,
) -> Page {
    let (row, checklist) = workflow::uploaded_checklist(&site.workshop, &actor, *id).await?;
    let zone = local_time::zone_of(&site, &actor).await?;
    let all = workflow::checklists(&site.workshop, &actor).await?;
    // Its own versions first.
    let (own, foreign): (Vec<_>, Vec<_>) =
        all.into_iter().filter(|c| c.id != row.id).partition(|c| c.name == row.name);
    let others = own.into_iter().chain(foreign.into_iter().filter(|c| c.retired_at.is_none()));
    page(&ChecklistPage {
        page: Frame::new(&req, Some(&actor)),
        state: state(row.retired_at.is_some(), row.retired_by.is_some()),
        from: checklist.out_of_service_from,
        href: format!("/set-up/checklists/{id}"),
        may_edit: actor.may(Act::SetUpChecklists),
        others: others.map(|c| (c.id.to_string(), format!("{}, version {}", c.title, c.version))).collect(),
        title: row.title.to_string(),
        name: row.name,
        version: row.version,
        classes: checklist.classes.join(", "),
        since: when(row.created_at, &zone, site.workshop.ambient.now()),
        in_use: row.retired_at.is_none(),
        zones: checklist
            .zones
            .iter()
            .map(|z| ZoneView {
                title: z.title.to_string(),
                stand: z.stand.to_string(),
                items: z.items.iter().map(item).collect(),
            })
            .collect(),
        rules: checklist.rules.iter().map(|r| rule(r, &checklist)).collect(),
        source: row.source,
    })
}

fn item(i: &Item) -> ItemView {
    let mut limits: Vec<String> = Vec::new();
    if let Some((m, unit)) = i.measure().and_then(|m| Some((m, *m.units.first()?))) {
        for load in Load::ALL {
            let limit = m.limit_in_words(*load, unit).map(|l| l.to_string());
            if let Some(limit) = limit.filter(|l| !limits.contains(l)) {
                limits.push(limit);
            }
        }
    }
    ItemView {
        title: i.title.to_string(),
        todo: i.todo.to_string(),
        accept: i.accept.to_string(),
        caution: i.caution.clone().unwrap_or_default().to_string(),
        asks: i.asks.kind().as_str(),
        positions: i.positions.iter().map(|p| p.title.here()).collect::<Vec<_>>().join(", "),
        limits,
        system: i.system.as_str(),
        safety: i.safety,
    }
}

fn rule(r: &Rule, checklist: &Checklist) -> RuleView {
    let days = r.good_for_days.map(|d| format!("{d} days"));
    let hours = r.good_for_hours.map(|h| format!("{h} engine hours"));
    RuleView {
        name: r.name.clone(),
        severity: r.severity,
        when: r.when.iter().map(|c| condition(c, checklist)).collect(),
        instruction: r.instruction.to_string(),
        is_final: r.final_,
        good_for: days.into_iter().chain(hours).collect::<Vec<_>>().join(" or "),
        route: r.route.clone().unwrap_or_default(),
    }
}

/// A condition in words, with the titles of the checklist.
pub fn condition(c: &Condition, checklist: &Checklist) -> String {
    let place = |at: &Place| {
        let item = checklist.item(&at.item);
        let title = item.map_or(at.item.as_str(), |i| i.title.here());
        let position = at
            .position
            .as_deref()
            .map(|key| item.and_then(|i| i.position(key)).map_or(key, |p| p.title.here()));
        match position {
            Some(position) => format!("{title}, {position}"),
            None => title.to_owned(),
        }
    };
    match c {
        Condition::Outcome { at, is } => format!("{}: {is}", place(at)),
        Condition::Limit { at, side, at_temperature } => {
            format!("{}: {side}{}", place(at), brought_to(*at_temperature))
        }
        Condition::Level { at, is } => format!("{}: {is} its marks", place(at)),
        Condition::Load { is } => format!("the machine is {is}"),
        Condition::Figure { at, below, above, at_temperature } => {
            let unit = checklist.item(&at.item).and_then(|i| i.measure()).map(|m| m.base);
            let figure = |f: &f64| unit.map_or_else(|| f.to_string(), |u| in_words(*f, u));
            let bounds: Vec<String> = below
                .as_ref()
                .map(|f| format!("below {}", figure(f)))
                .into_iter()
                .chain(above.as_ref().map(|f| format!("above {}", figure(f))))
                .collect();
            format!("{}: {}{}", place(at), bounds.join(" and "), brought_to(*at_temperature))
        }
        Condition::Warmth { is } => format!("the machine is {is}"),
        Condition::Difference { at, more_than, .. } => {
            let unit = checklist.item(&at.item).and_then(|i| i.measure()).map(|m| m.base);
            let figure = unit.map_or_else(|| more_than.to_string(), |u| in_words(*more_than, u));
            format!("{}: positions differ by more than {figure}", place(at))
        }
        Condition::Corrected { at, times, amount, within } => {
            let unit = checklist.item(&at.item).and_then(|i| i.corrected_unit).map(|u| u.quantity().base());
            let often = times.map(|n| format!("{n} times"));
            let much = amount.map(|a| unit.map_or_else(|| a.to_string(), |u| in_words(a, u)));
            let what: Vec<String> = often.into_iter().chain(much).collect();
            format!("{}: put right {} within {}", place(at), what.join(" or "), within.in_words())
        }
        Condition::Recurs { at, within_days } => {
            format!("{}: back within {within_days} days of its release", place(at))
        }
        Condition::Trend { at, side, within_hours } => {
            format!("{}: may be {side} within {within_hours} engine hours, by its trend", place(at))
        }
    }
}

fn brought_to(temperature: Option<f64>) -> String {
    temperature.map_or_else(String::new, |t| format!(", brought to {t} °C"))
}
