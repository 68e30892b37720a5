//! The work order as its page shows it: plain words and times, prepared here so that the template stays simple.

use actix_web::HttpRequest;
use askama::Template;
use chrono::{DateTime, TimeDelta, Utc};

use super::more::MoreView;
use super::parts::{LineView, PartChoice, ToFit, choice, fitted, line, to_fit};
use super::retest_form::{RetestForm, answer_in_words, reading_of, title};
use crate::domain::defect::DefectState;
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::reading::Outcome;
use crate::domain::standing::{Severity, Standing};
use crate::domain::watched::Watched;
use crate::domain::work_order::{OrderState, OrderWord, WaitingFor};
use crate::http::Site;
use crate::http::pages::frame::Frame;
use crate::http::pages::gate::{capital, sentence};
use crate::http::pages::local_time;
use crate::http::pages::markup;
use crate::http::pages::shown::{When, amount, day, when};
use crate::http::pages::typed::Typed;
use crate::http::pages::waiting::awaited;
use crate::workflow::{DefectOnOrder, MOST_FORESEEN, OrderPage};

#[derive(Template)]
#[template(path = "order.html", config = ".askama.toml")]
pub struct OrderView {
    page: Frame,
    t: Typed,
    here: String,
    number: i64,
    unit_number: String,
    machine_href: String,
    standing: Standing,
    /// Its state and who has it, in one line.
    in_short: String,
    state: String,
    with: String,
    facts: Vec<(String, String)>,
    opened: When,
    as_of: When,
    zone: String,
    cautions: Vec<String>,
    defects: Vec<DefectView>,
    labour: Vec<LabourView>,
    labour_time: String,
    labour_cost: String,
    /// When the clock of whoever looks was started here.
    running_since: Option<When>,
    running_for: String,
    now_for_input: String,
    lines: Vec<LineView>,
    lines_cost: String,
    parts: Vec<PartChoice>,
    /// What was fitted, one sentence each.
    fitted: Vec<String>,
    /// What was issued and is not fitted yet.
    to_fit: Vec<ToFit>,
    cost: String,
    /// Closed or cancelled: it costs no more.
    ended: bool,
    waits: &'static [WaitingFor],
    may: May,
    retests: Vec<RetestForm>,
    /// Said instead of the release form.
    cannot_release: String,
    by_the_repairer: bool,
    /// The release asks for the password then.
    by_pin: bool,
    long_ago: bool,
    release: Option<ReleaseView>,
    more: MoreView,
}

/// Which forms are shown. The workflow decides again when they are sent.
#[expect(clippy::struct_excessive_bools, reason = "one for each form")]
struct May {
    claim: bool,
    hand_back: bool,
    start: bool,
    /// Somebody else has it: the timer is for helping.
    helps: bool,
    enter_time: bool,
    take_parts: bool,
    wait: bool,
    finish: bool,
    release: bool,
    cancel: bool,
}

struct DefectView {
    id: String,
    what: String,
    severity: Severity,
    state: DefectState,
    open: bool,
    readings: Vec<ReadingView>,
    under: String,
    found: When,
    by: String,
    check_href: String,
    why: String,
    is_final: bool,
    instruction: String,
    supporting: Vec<String>,
    good_until: String,
    seen_before: bool,
    came_back: bool,
    /// Whose rule decided; empty where a person did.
    rules: String,
    /// Who says that it is gone; empty when nobody does.
    said_gone: String,
    sightings: Vec<(When, String, String)>,
    photos: Vec<String>,
    cause: String,
    remedy: String,
    no_fault_found: bool,
    part_replaced: bool,
    repaired_by: String,
    retests: Vec<RetestView>,
}

pub struct ReadingView {
    pub title: String,
    /// Not itself at fault: what the failed reading is held against.
    pub partner: bool,
    pub answer: String,
    pub limit: String,
    pub note: String,
}

struct RetestView {
    when: When,
    by: String,
    passed: bool,
    why: String,
}

struct LabourView {
    who: String,
    from: When,
    to: Option<When>,
    length: String,
    cost: String,
}

struct ReleaseView {
    by: String,
    when: When,
    note: String,
    by_the_repairer: bool,
}

impl OrderView {
    pub fn new(site: &Site, req: &HttpRequest, actor: &Actor, o: OrderPage, t: Typed) -> Self {
        let now = site.workshop.ambient.now();
        let zone = o.yard.zone.clone();
        let money = |minor| amount(minor, &site.workshop.currency);
        let here = format!("/work-orders/{}", o.order.id);
        let running = o.labour.iter().find(|l| l.mechanic_id == actor.id && l.ended_at.is_none());
        let defects: Vec<DefectView> = o.defects.iter().map(|d| defect(d, &zone, now)).collect();
        let retests = if o.order.word() == OrderWord::WorkDone && actor.may(Act::Retest) {
            o.defects
                .iter()
                .filter(|d| worked_on(d))
                .map(|d| RetestForm::new(d, &here, passed(d, &zone, now)))
                .collect()
        } else {
            Vec::new()
        };
        let labour_cost: i64 = o.labour.iter().map(|l| l.cost_minor).sum();
        let worked: TimeDelta = o.labour.iter().map(|l| l.ended_at.unwrap_or(now) - l.started_at).sum();
        Self {
            page: Frame::new(req, Some(actor)),
            more: MoreView::new(actor, &o, now),
            number: o.order.number,
            unit_number: o.machine.unit_number.clone(),
            machine_href: format!("/machines/{}", o.machine.id),
            standing: o.standing,
            in_short: in_short(&o, &zone, now),
            state: state_in_words(&o.state, &zone, now),
            with: o.order.mechanic_name.clone(),
            facts: facts(&o),
            opened: when(o.order.opened_at, &zone, now),
            as_of: local_time::in_full(now, &zone),
            cautions: cautions(&o),
            labour: o
                .labour
                .iter()
                .map(|l| LabourView {
                    who: l.mechanic_name.clone(),
                    from: when(l.started_at, &zone, now),
                    to: l.ended_at.map(|at| when(at, &zone, now)),
                    length: in_hours(l.ended_at.unwrap_or(now) - l.started_at),
                    cost: if l.ended_at.is_some() { money(l.cost_minor) } else { "–".to_owned() },
                })
                .collect(),
            labour_time: in_hours(worked),
            labour_cost: money(labour_cost),
            running_since: running.map(|l| when(l.started_at, &zone, now)),
            running_for: running.map(|l| clock(now - l.started_at)).unwrap_or_default(),
            now_for_input: local_time::for_input(now, &zone),
            lines: o.lines.iter().map(|l| line(l, money(l.cost_minor))).collect(),
            lines_cost: money(o.lines.iter().map(|l| l.cost_minor).sum()),
            parts: o.parts.iter().map(|p| choice(p, &zone, now)).collect(),
            fitted: o.fitted.iter().filter(|f| f.removed_at.is_none()).map(|f| fitted(f, &o)).collect(),
            to_fit: to_fit(&o),
            cost: money(o.order.cost_minor),
            ended: matches!(o.order.word(), OrderWord::Closed | OrderWord::Cancelled),
            waits: WaitingFor::ALL,
            may: may(actor, &o),
            retests,
            cannot_release: o.may_release.as_ref().err().map(ToString::to_string).unwrap_or_default(),
            by_the_repairer: o.may_release.as_ref().is_ok_and(|s| s.by_the_repairer),
            by_pin: actor.by_pin,
            long_ago: actor.long_ago,
            release: o.release.as_ref().map(|r| ReleaseView {
                by: r.by_name.clone(),
                when: when(r.at, &zone, now),
                note: r.note.to_string(),
                by_the_repairer: r.released_by_repairer,
            }),
            defects,
            here,
            zone,
            t,
        }
    }
}

/// Of the failed items, each once.
pub fn cautions(o: &OrderPage) -> Vec<String> {
    let mut cautions: Vec<String> = Vec::new();
    for caution in o.defects.iter().flat_map(|d| &d.failed).filter_map(|(_, i)| i.as_ref()?.caution.clone()) {
        let caution = caution.to_string();
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    cautions
}

fn may(actor: &Actor, o: &OrderPage) -> May {
    let word = o.order.word();
    let under_way = matches!(word, OrderWord::Claimed | OrderWord::InWork | OrderWord::Waiting);
    let supervises = actor.has(Role::Supervisor) || actor.has(Role::Owner);
    let works = o.mine && actor.may(Act::WorkOnOrder);
    // Whoever helps works beside the claimant; at skilled work only under somebody who has the skill.
    let skill = o.more.skill.as_ref();
    let helps = !o.mine
        && actor.may(Act::WorkOnOrder)
        && matches!(word, OrderWord::Claimed | OrderWord::InWork)
        && skill.is_none_or(|s| s.mine || s.of_claimant);
    let works_skilled = works && skill.is_none_or(|s| s.mine);
    May {
        claim: word == OrderWord::Queued && actor.may(Act::ClaimWorkOrder) && skill.is_none_or(|s| s.mine),
        hand_back: under_way && (supervises || works),
        helps,
        start: (under_way && works_skilled || helps) && !o.my_clock_runs,
        enter_time: under_way && works_skilled || helps,
        take_parts: o.state.is_taking() && actor.may(Act::SeeStore) && (supervises || o.mine),
        wait: under_way && works,
        finish: works_skilled && matches!(word, OrderWord::Claimed | OrderWord::InWork),
        release: word == OrderWord::WorkDone && actor.may(Act::Release),
        cancel: actor.may(Act::CancelWorkOrder) && !matches!(word, OrderWord::Closed | OrderWord::Cancelled),
    }
}

pub fn facts(o: &OrderPage) -> Vec<(String, String)> {
    let mut facts = vec![
        (t!("order-fact-yard"), o.yard.name.clone()),
        (t!("order-fact-class"), class_said(&o.machine.class).to_string()),
    ];
    if !o.machine.description.is_empty() {
        facts.push((t!("order-machine"), o.machine.description.clone()));
    }
    if !o.machine.serial.is_empty() {
        facts.push((t!("order-fact-serial"), o.machine.serial.clone()));
    }
    if let Some(hours) = o.machine.engine_hours {
        facts.push((t!("order-fact-hours"), t!("order-hours", hours = hours)));
    }
    facts
}

/// What was read of each failed item, and its limit.
pub fn readings(d: &DefectOnOrder) -> Vec<ReadingView> {
    let row = &d.defect;
    d.failed
        .iter()
        .filter_map(|(f, item)| {
            let reading = reading_of(&d.readings, f)?;
            let unit = reading.value.as_ref().map(|v| v.unit);
            let measure = item.as_ref().and_then(|i| i.measure());
            let limit = measure
                .and_then(|m| m.limit_in_words(&row.context(), unit.unwrap_or(m.units.first().copied()?)));
            let own = row.item.as_deref() == Some(f.item.as_str()) && row.position == f.position;
            Some(ReadingView {
                title: title(f, item.as_ref()),
                partner: !own && reading.outcome != Outcome::Defect,
                answer: answer_in_words(reading, item.as_ref()),
                limit: limit.unwrap_or_default().to_string(),
                note: reading.note.clone().unwrap_or_default(),
            })
        })
        .collect()
}

/// How the machine was when it failed.
pub fn under(d: &DefectOnOrder) -> String {
    let row = &d.defect;
    let mut under = if row.check_id.is_some() { row.context().in_words().to_string() } else { String::new() };
    if let Some(hours) = d.hours_at {
        under = t!("order-under-hours", under = under, hours = hours);
    }
    under
}

fn defect(d: &DefectOnOrder, zone: &str, now: DateTime<Utc>) -> DefectView {
    let row = &d.defect;
    let until_day = row.good_until_at.map(|at| day(at, zone, now).words);
    let until_hours = row.good_until_hours.map(|h| t!("order-engine-hours", hours = h));
    let good_until = match (until_day, until_hours) {
        (Some(day), Some(hours)) => t!("order-or", one = day, other = hours),
        (one, other) => one.or(other).unwrap_or_default(),
    };
    DefectView {
        id: row.id.to_string(),
        what: row.what.to_string(),
        severity: row.severity,
        state: row.state,
        open: row.closed_at.is_none(),
        readings: readings(d),
        under: under(d),
        found: when(row.found_at, zone, now),
        by: d.reported_by_name.clone(),
        check_href: row.check_id.map(|c| format!("/checks/{c}")).unwrap_or_default(),
        why: row.why.to_string(),
        is_final: row.is_final,
        instruction: row.instruction.to_string(),
        supporting: d.supporting.iter().map(|r| r.sentence.to_string()).collect(),
        good_until: if row.severity == Severity::Monitor { good_until } else { String::new() },
        seen_before: row.prior_defect_id.is_some(),
        came_back: row.came_back,
        rules: d.rules.clone().unwrap_or_default().to_string(),
        said_gone: match (row.said_gone_at, d.sightings.iter().rev().find(|s| s.said == Some(Watched::Gone)))
        {
            (Some(at), Some(s)) => {
                t!("order-gone-says", by = s.by_name, when = when(at, zone, now).words, what = s.what)
            }
            _ => String::new(),
        },
        // The first sighting is the one that raised it.
        sightings: d
            .sightings
            .iter()
            .filter(|s| s.seq > 1)
            .map(|s| (when(s.at, zone, now), s.by_name.clone(), s.what.to_string()))
            .collect(),
        photos: d.photos.iter().map(|p| format!("/photos/{}", p.id)).collect(),
        cause: row.cause.clone(),
        remedy: row.remedy.clone(),
        no_fault_found: row.no_fault_found,
        part_replaced: row.part_replaced,
        repaired_by: d.repaired_by_name.clone(),
        retests: d
            .retests
            .iter()
            .map(|r| RetestView {
                when: when(r.at, zone, now),
                by: r.by_name.clone(),
                passed: r.passed,
                why: r.why.to_string(),
            })
            .collect(),
    }
}

fn worked_on(d: &DefectOnOrder) -> bool {
    matches!(d.defect.state, DefectState::Repaired | DefectState::NoFaultFound)
}

fn passed(d: &DefectOnOrder, zone: &str, now: DateTime<Utc>) -> String {
    match &d.retest_since {
        Some(r) if r.passed => t!("order-passed", when = when(r.at, zone, now).words, by = r.by_name),
        _ => String::new(),
    }
}

fn state_in_words(state: &OrderState, zone: &str, now: DateTime<Utc>) -> String {
    match state {
        OrderState::Waiting { wait, .. } => {
            let what = awaited(Some(wait.waiting_for), &wait.note, wait.until, zone, now);
            t!("order-state-waiting", what = what)
        }
        OrderState::Cancelled { reason } => t!("order-state-cancelled", reason = reason),
        other => other.word().here(),
    }
}

fn in_short(o: &OrderPage, zone: &str, now: DateTime<Utc>) -> String {
    let state = state_in_words(&o.state, zone, now);
    let line = match o.state.claimant() {
        Some(_) => t!("order-state-with", state = state, mechanic = o.order.mechanic_name),
        None => state,
    };
    sentence(&capital(&line))
}

/// `12 min`, `31 h 5 min`: work is counted in hours, however long.
fn in_hours(length: TimeDelta) -> String {
    let minutes = length.num_minutes().max(0);
    match (minutes / 60, minutes % 60) {
        (0, m) => t!("span-minutes", minutes = m),
        (h, m) => t!("span-hours", hours = h, minutes = m),
    }
}

fn clock(length: TimeDelta) -> String {
    let seconds = length.num_seconds().max(0);
    format!("{}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}
