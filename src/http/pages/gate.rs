//! The machine at the gate: “can I take it?”, answered on the first screen. The QR symbol on the machine opens it.

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::error::PageError;
use super::foreseen::{Foreseen, foreseen};
use super::frame::Frame;
use super::shown::{When, day, reached, when};
use super::typed::Typed;
use super::{Page, markup, page_with, see_other};
use crate::domain::ids::{MachineId, WorkOrderId};
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::standing::{Severity, Standing};
use crate::domain::work_order::OrderState;
use crate::http::Site;
use crate::http::gate_pages::{Asked, Made};
use crate::http::session::Signed;
use crate::words::Text;
use crate::workflow::{self, Gate, HoldRow, OpenDefect};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}", web::get().to(gate));
    cfg.route("/u/{unit}", web::get().to(by_unit_number));
}

#[derive(Template)]
#[template(path = "gate.html", config = ".askama.toml")]
struct GatePage {
    page: Frame,
    t: Typed,
    href: String,
    unit_number: String,
    about: String,
    standing: Standing,
    say: String,
    why: String,
    held: bool,
    retired: bool,
    defects: Vec<Defect>,
    holds: Vec<Hold>,
    /// Every one that has not ended.
    orders: Vec<Order>,
    may_open_order: bool,
    last: Option<Last>,
    /// “Last time 1200.0 h.” Empty when not known.
    last_hours: String,
    /// Why no check can be started; empty when one can.
    not_covered: String,
    may_write_checklists: bool,
}

struct Defect {
    what: String,
    severity: Severity,
    instruction: String,
    why: String,
    /// Empty when nobody says so.
    said_gone: String,
    came_back: bool,
    found: When,
    good_until: String,
    order_href: String,
    href: String,
}

struct Hold {
    /// Name of the form that lifts it.
    form: String,
    action: String,
    reason: String,
    placed_by: String,
    placed: When,
    /// Where the check that placed it arrived late.
    reached: String,
    from_defect: bool,
    may_lift: bool,
    /// Somebody else placed it: they will be told.
    others: bool,
}

struct Order {
    /// When it is foreseen to be back, and what drives it.
    foreseen: Foreseen,
    href: String,
    number: i64,
    state: String,
}

struct Last {
    href: String,
    at: When,
    by: String,
    verdict: Standing,
}

/// The page that is asked for most, by everybody at six in the morning: made once for whoever asks again before anything
/// has changed.
async fn gate(req: HttpRequest, id: web::Path<MachineId>, site: web::Data<Site>) -> Page {
    let asked = Asked::of(&req, &site, *id);
    let kept = asked.as_ref().and_then(|a| site.operation.gate_pages.find(a));
    let made = match kept {
        Some(made) => made,
        None => {
            let Signed(actor) = Signed::from_request(&req, &mut Payload::None).await?;
            let gate = workflow::gate(&site.workshop, &actor, *id).await?;
            let now = site.workshop.ambient.now();
            let shown = view(gate, &actor, Frame::new(&req, Some(&actor)), Typed::nothing(), now)?;
            let made = Made::new(shown.render().map_err(PageError::Template)?);
            if let Some(asked) = asked {
                site.operation.gate_pages.keep(asked, &made);
            }
            made
        }
    };
    Ok(made.answer(&req))
}

async fn by_unit_number(Signed(actor): Signed, unit: web::Path<String>, site: web::Data<Site>) -> Page {
    let id = workflow::find_machine(&site.workshop, &actor, &unit).await?;
    see_other(&format!("/machines/{id}"))
}

/// The page, also with a form on it that was not taken.
pub async fn show(site: &Site, actor: &Actor, req: &HttpRequest, id: MachineId, t: Typed) -> Page {
    let gate = workflow::gate(&site.workshop, actor, id).await?;
    let now = site.workshop.ambient.now();
    let status = t.status;
    let shown = view(gate, actor, Frame::new(req, Some(actor)), t, now)?;
    page_with(status, &shown)
}

fn view(g: Gate, actor: &Actor, page: Frame, t: Typed, now: DateTime<Utc>) -> Result<GatePage, PageError> {
    let zone = g.yard.zone.as_str();
    let mut orders = Vec::new();
    for (o, forecast) in &g.orders {
        let state = o.state().map_err(workflow::WorkflowError::from)?;
        orders.push(Order {
            href: format!("/work-orders/{}", o.id),
            foreseen: forecast
                .as_ref()
                .map(|f| foreseen(&f.said, g.standing == Standing::OutOfService, zone, now))
                .unwrap_or_default(),
            number: o.number,
            state: state_in_words(&state, &o.mechanic_name, zone, now),
        });
    }
    let said = g.order.as_ref().map(|o| o.id);
    let unassigned = g.defects.iter().any(|d| d.work_order.is_none());
    let may_write_checklists = actor.may(Act::SetUpChecklists);
    let not_covered = match (g.covered, may_write_checklists) {
        (true, _) => String::new(),
        (false, true) => {
            t!("set-up-no-checklist", class = class_said(&g.machine.class), unit = g.machine.unit_number)
        }
        (false, false) => {
            t!("gate-no-checklist", class = class_said(&g.machine.class), unit = g.machine.unit_number)
        }
    };
    Ok(GatePage {
        page,
        t,
        not_covered,
        may_write_checklists,
        href: format!("/machines/{}", g.machine.id),
        about: about(&g),
        say: say(g.standing),
        why: why(&g, now),
        held: !g.holds.is_empty(),
        retired: g.standing == Standing::Retired,
        may_open_order: g.order.is_none() && unassigned && actor.may(Act::SeeQueue),
        last_hours: g.machine.engine_hours.map(|h| t!("gate-last-time", hours = h)).unwrap_or_default(),
        defects: worst_first(&g.defects).into_iter().map(|d| defect(d, said, zone, now)).collect(),
        holds: g.holds.iter().map(|h| hold(h, actor, zone, now)).collect(),
        orders,
        last: g.last_check.as_ref().map(|c| Last {
            href: format!("/checks/{}", c.id),
            at: when(c.recorded_at, zone, now),
            by: c.operator_name.clone(),
            verdict: c.verdict,
        }),
        standing: g.standing,
        unit_number: g.machine.unit_number,
    })
}

/// What a standing means for whoever stands before the machine.
pub fn say(standing: Standing) -> String {
    match standing {
        Standing::FitForUse => String::new(),
        Standing::Monitored => t!("gate-watch-these"),
        Standing::OutOfService | Standing::Retired => t!("gate-do-not-use"),
    }
}

fn about(g: &Gate) -> String {
    let m = &g.machine;
    let what =
        if m.description.is_empty() { class_said(&m.class) } else { Text::typed(m.description.as_str()) };
    format!("{what} · {}", g.yard.name)
}

fn why(g: &Gate, now: DateTime<Utc>) -> String {
    let zone = g.yard.zone.as_str();
    match g.standing {
        Standing::OutOfService => {
            let since = g.holds.first().map_or(String::new(), |h| when(h.since, zone, now).words);
            let reason = g.holds.first().map_or(String::new(), |h| h.reason.to_string());
            let held = t!("gate-held-since", reason = sentence(&reason), when = since);
            match g.holds.len() {
                ..=1 => held,
                n => format!("{held} {}", t!("gate-more-reasons", count = n - 1)),
            }
        }
        Standing::Monitored => {
            let watched: Vec<String> = g.defects.iter().map(|d| sentence(&d.what.to_string())).collect();
            watched.join(" ")
        }
        Standing::FitForUse => match &g.last_check {
            Some(c) => t!("gate-no-defect-checked", when = when(c.recorded_at, zone, now).words),
            None => t!("gate-no-defect-unchecked"),
        },
        Standing::Retired => {
            let at = g.machine.retired_at;
            at.map_or(String::new(), |at| t!("gate-retired", when = when(at, zone, now).words))
        }
    }
}

/// With a full stop at its end, whatever people typed.
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() || text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

/// Why, without saying again what was found: “Rule: brake fluid leak.”
pub fn why_beyond(what: &str, why: &str) -> String {
    let rest = why.strip_prefix(what).map(str::trim_start);
    match rest.and_then(|r| r.strip_prefix('(')).and_then(|r| r.strip_suffix(").")) {
        Some(rule) => sentence(&capital(rule)),
        None => sentence(why),
    }
}

pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn worst_first(defects: &[OpenDefect]) -> Vec<&OpenDefect> {
    let mut sorted: Vec<&OpenDefect> = defects.iter().collect();
    sorted.sort_by_key(|d| std::cmp::Reverse(d.severity));
    sorted
}

/// `said` is the work order that the page names anyway.
fn defect(d: &OpenDefect, said: Option<WorkOrderId>, zone: &str, now: DateTime<Utc>) -> Defect {
    Defect {
        what: d.what.to_string(),
        severity: d.severity,
        instruction: d.instruction.to_string(),
        why: why_beyond(d.what.here(), d.why.here()),
        said_gone: d.said_gone_at.map(|at| when(at, zone, now).words).unwrap_or_default(),
        came_back: d.came_back,
        found: when(d.found_at, zone, now),
        good_until: good_until(d.good_until_at, d.good_until_hours, zone, now),
        href: format!("/defects/{}", d.id),
        order_href: d
            .work_order
            .filter(|o| Some(*o) != said)
            .map(|o| format!("/work-orders/{o}"))
            .unwrap_or_default(),
    }
}

/// “Wed 2 Dec or 1500.0 h, whichever comes first”; empty when no watch was set.
pub fn good_until(
    at: Option<DateTime<Utc>>,
    hours: Option<crate::domain::unit::Hours>,
    zone: &str,
    now: DateTime<Utc>,
) -> String {
    match (at, hours) {
        (Some(at), Some(h)) => t!("gate-until-either", day = day(at, zone, now).words, hours = h),
        (Some(at), None) => day(at, zone, now).words,
        (None, Some(h)) => t!("gate-until-hours", hours = h),
        (None, None) => String::new(),
    }
}

fn hold(h: &HoldRow, actor: &Actor, zone: &str, now: DateTime<Utc>) -> Hold {
    let own = h.placed_by == actor.id;
    let from_defect = h.defect_id.is_some();
    let act = if own { Act::LiftOwnHold } else { Act::LiftOthersHold };
    Hold {
        form: format!("lift-{}", h.id),
        action: format!("/holds/{}/lift", h.id),
        reason: h.reason.to_string(),
        placed_by: h.placed_by_name.clone(),
        placed: when(h.since, zone, now),
        reached: reached(h.since, h.placed_at, zone, now),
        from_defect,
        may_lift: !from_defect && actor.may(act),
        others: !own,
    }
}

fn state_in_words(state: &OrderState, mechanic: &str, zone: &str, now: DateTime<Utc>) -> String {
    match state {
        OrderState::Queued => t!("gate-order-queued"),
        OrderState::Waiting { wait, .. } => match wait.until.map(|at| day(at, zone, now).words) {
            None => t!("gate-order-waiting", mechanic = mechanic, what = wait.waiting_for),
            Some(day) => {
                t!("gate-order-waiting-until", mechanic = mechanic, what = wait.waiting_for, when = day)
            }
        },
        OrderState::Claimed { .. } | OrderState::InWork { .. } => t!("gate-order-with", mechanic = mechanic),
        OrderState::WorkDone { .. } => t!("gate-order-done"),
        OrderState::Closed => t!("gate-order-closed"),
        OrderState::Cancelled { reason } => t!("gate-order-cancelled", reason = reason),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_said_twice() {
        assert_eq!(why_beyond("Horn: fails", "Horn: fails (rule: horn fails)."), "Rule: horn fails.");
        assert_eq!(why_beyond("Pad: 1.2 mm", "The reporter is not sure"), "The reporter is not sure.");
        assert_eq!(sentence("Stop!"), "Stop!");
    }
}
