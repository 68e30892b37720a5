//! Checklists: their versions, one of them as it is walked and judged, and uploading the next.

mod acts;

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::markup;
use super::shown::{When, when};
use super::typed::{Typed, refused};
use super::{Page, local_time, page, page_with, see_other};
use crate::domain::checklist::{Checklist, Condition, Item, Load, Place, Rule};
use crate::domain::checklist_draft::title_said;
use crate::domain::ids::ChecklistId;
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::Level;
use crate::domain::risk::RiskLevel;
use crate::domain::standing::Severity;
use crate::domain::unit::{Unit, in_words};
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::here;
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
    state: String,
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
    may_set_up: bool,
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
    asks: String,
    positions: String,
    limits: Vec<String>,
    system: String,
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
    state: String,
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
                title: title_said(&draft.title, &draft.translated, here()),
                name: row.name,
                changed: when(row.changed_at, &zone, now),
            })
            .collect(),
        may_set_up: actor.may(Act::SetUpMachines),
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
        Some(file) => {
            String::from_utf8(file.bytes.to_vec()).map_err(|_| refused("file", said!("checklists-not-utf8")))
        }
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
        return Err(refused("source", said!("checklists-refuse-none")));
    }
    Ok(workflow::upload_checklist(&site.workshop, actor, source).await?.0)
}

fn state(replaced: bool, retired: bool) -> String {
    match (retired, replaced) {
        (true, _) => t!("checklists-is-retired"),
        (false, true) => t!("checklists-is-replaced"),
        (false, false) => t!("checklists-in-use"),
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
        others: others
            .map(|c| (c.id.to_string(), t!("checklists-version-title", title = c.title, version = c.version)))
            .collect(),
        title: row.title.to_string(),
        name: row.name,
        version: row.version,
        classes: checklist.classes.iter().map(|c| class_said(c).to_string()).collect::<Vec<_>>().join(", "),
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
        caution: i.caution.as_ref().map(ToString::to_string).unwrap_or_default(),
        asks: i.asks.kind().here(),
        positions: i.positions.iter().map(|p| p.title.here()).collect::<Vec<_>>().join(", "),
        limits,
        system: i.system.here(),
        safety: i.safety,
    }
}

fn rule(r: &Rule, checklist: &Checklist) -> RuleView {
    let days = r.good_for_days.map(|d| t!("checklists-days", count = d));
    let hours = r.good_for_hours.map(|h| t!("checklists-hours", hours = h));
    RuleView {
        name: r.shown().to_string(),
        severity: r.severity,
        when: r.when.iter().map(|c| condition(c, checklist)).collect(),
        instruction: r.instruction.to_string(),
        is_final: r.final_,
        good_for: either(days, hours),
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
            Some(position) => t!("checklists-place", item = title, position = position),
            None => title.to_owned(),
        }
    };
    match c {
        Condition::Outcome { at, is } => t!("checklists-when-is", at = place(at), is = is),
        Condition::Limit { at, side, at_temperature } => {
            brought_to(t!("checklists-when-is", at = place(at), is = side), *at_temperature)
        }
        Condition::Level { at, is } => match is {
            Level::Below => t!("checklists-when-below-marks", at = place(at)),
            Level::Between => t!("checklists-when-between-marks", at = place(at)),
            Level::Above => t!("checklists-when-above-marks", at = place(at)),
        },
        Condition::Load { is } => t!("checklists-when-machine", how = is),
        Condition::Figure { at, below, above, at_temperature } => {
            let unit = checklist.item(&at.item).and_then(|i| i.measure()).map(|m| m.base);
            let figure = |f: &f64| figure_of(*f, unit);
            let bounds = match (below, above) {
                (Some(low), Some(high)) => {
                    t!("checklists-below-and-above", low = figure(low), high = figure(high))
                }
                (Some(low), None) => t!("checklists-below", figure = figure(low)),
                (None, Some(high)) => t!("checklists-above", figure = figure(high)),
                (None, None) => String::new(),
            };
            brought_to(t!("checklists-when-is", at = place(at), is = bounds), *at_temperature)
        }
        Condition::Warmth { is } => t!("checklists-when-machine", how = is),
        Condition::Difference { at, more_than, .. } => {
            let unit = checklist.item(&at.item).and_then(|i| i.measure()).map(|m| m.base);
            let figure = figure_of(*more_than, unit);
            t!("checklists-when-apart", at = place(at), figure = figure)
        }
        Condition::Corrected { at, times, amount, within } => {
            let unit = checklist.item(&at.item).and_then(|i| i.corrected_unit).map(|u| u.quantity().base());
            let often = times.map(|n| t!("checklists-times", count = n));
            let much = amount.map(|a| figure_of(a, unit));
            t!(
                "checklists-when-corrected",
                at = place(at),
                often = either(often, much),
                time = within.in_words()
            )
        }
        Condition::Recurs { at, within_days } => {
            t!("checklists-when-recurs", at = place(at), days = within_days)
        }
        Condition::Trend { at, side, within_hours } => {
            t!("checklists-when-trend", at = place(at), side = side, hours = within_hours)
        }
    }
}

fn figure_of(base: f64, unit: Option<Unit>) -> String {
    here().figure(&unit.map_or_else(|| base.to_string(), |u| in_words(base, u)))
}

fn brought_to(what: String, temperature: Option<f64>) -> String {
    match temperature {
        Some(t) => t!("checklists-brought-to", what = what, temperature = here().figure(&t.to_string())),
        None => what,
    }
}

fn either(one: Option<String>, other: Option<String>) -> String {
    match (one, other) {
        (Some(one), Some(other)) => t!("checklists-or", one = one, other = other),
        (one, other) => one.or(other).unwrap_or_default(),
    }
}
