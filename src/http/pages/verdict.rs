//! What a check was answered with: may it be used, what to do now, why, and who has been told.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::frame::Frame;
use super::gate::{say, sentence, why_beyond};
use super::order::retest_form::answer_in_words;
use super::shown::{When, reached, when};
use super::{Page, machines, markup, page};
use crate::domain::checklist::{Checklist, Stop};
use crate::domain::hearing::AlertKind;
use crate::domain::ids::CheckId;
use crate::domain::late::arrived_late;
use crate::domain::reading::{Outcome, Reading};
use crate::domain::standing::{Severity, Standing};
use crate::domain::watched::Watched;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, AnsweredFinding, AnsweredTrend, OutboxRow, OutboxState, Verdict};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/checks/{id}", web::get().to(verdict));
}

#[derive(Template)]
#[template(path = "verdict.html", config = ".askama.toml")]
struct VerdictPage {
    page: Frame,
    href: String,
    unit_number: String,
    about: String,
    at: When,
    /// Where it arrived late.
    reached: String,
    by: String,
    standing: Standing,
    say: String,
    why: String,
    /// Said when the machine's standing is another one by now.
    since_then: String,
    steps: Vec<String>,
    /// Machines to take instead: unit number and page.
    instead: Vec<(String, String)>,
    findings: Vec<Finding>,
    /// Whose rules judged it.
    rules: String,
    watched: Vec<Watch>,
    /// What is measured, and what its trend says.
    trends: Vec<(String, String, String)>,
    told: Vec<Told>,
    held_now: bool,
    order_href: String,
    context: String,
    note: String,
    zones: Vec<Zone>,
    /// Items whose photo was sent and not kept.
    lost_photos: Vec<String>,
    /// Those for which the store could not be reached.
    unstored_photos: Vec<String>,
}

struct Finding {
    what: String,
    severity: Severity,
    instruction: String,
    why: String,
    seen_before: bool,
    came_back: bool,
    href: String,
    supporting: Vec<String>,
}

struct Watch {
    what: String,
    now: String,
    note: String,
    outcome: String,
}

struct Told {
    who: String,
    state: String,
    failed: bool,
}

struct Zone {
    title: String,
    answers: Vec<Answer>,
}

struct Answer {
    title: String,
    answer: String,
    bad: bool,
    note: String,
    photos: Vec<String>,
}

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    photos: String,
}

async fn verdict(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<CheckId>,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    let v = workflow::verdict(&site.workshop, &actor, *id).await?;
    let (_, checklist) = workflow::uploaded_checklist(&site.workshop, &actor, v.check.checklist_id).await?;
    let mut shown = view(&v, &checklist, Frame::new(&req, Some(&actor)), site.workshop.ambient.now());
    if v.answered.standing == Standing::OutOfService {
        shown.instead = machines::instead_of(&site, &actor, &v.yard.name, &v.machine.class).await?;
    }
    let walk = checklist.walk();
    for lost in asked.photos.split('.') {
        let (index, list) = match lost.strip_suffix('s') {
            Some(index) => (index, &mut shown.unstored_photos),
            None => (lost, &mut shown.lost_photos),
        };
        list.extend(
            index.parse::<usize>().ok().and_then(|n| walk.get(n)).map(|stop| stop.title().to_string()),
        );
    }
    page(&shown)
}

fn view(v: &Verdict, checklist: &Checklist, page: Frame, now: DateTime<Utc>) -> VerdictPage {
    let zone = v.yard.zone.as_str();
    let a = &v.answered;
    let context = v.check.context().in_words().to_string();
    VerdictPage {
        page,
        href: format!("/machines/{}", v.machine.id),
        about: checklist.title.to_string(),
        at: when(v.check.recorded_at, zone, now),
        reached: reached(v.check.recorded_at, v.check.received_at, zone, now),
        by: v.check.operator_name.clone(),
        standing: a.standing,
        say: say(a.standing),
        why: why(v),
        since_then: since_then(v),
        steps: steps(v),
        instead: Vec::new(),
        findings: a.findings.iter().map(finding).collect(),
        rules: t!("verdict-page-rules", checklist = checklist.title, version = a.version),
        watched: a
            .watched
            .iter()
            .map(|w| Watch {
                what: w.what.to_string(),
                now: w.now.here(),
                note: sentence(&w.note),
                outcome: w.outcome.to_string(),
            })
            .collect(),
        trends: soonest_first(&a.trends)
            .map(|t| (t.title.to_string(), t.words.to_string(), figures(t)))
            .collect(),
        told: v.told.iter().map(|row| told(row, zone, now)).collect(),
        held_now: v.held_now,
        order_href: a.work_order.map(|o| format!("/work-orders/{o}")).unwrap_or_default(),
        context: match v.check.engine_hours {
            Some(hours) => t!("verdict-page-context-hours", context = context, hours = hours),
            None => context,
        },
        note: v.check.note.clone(),
        zones: zones(v, checklist),
        lost_photos: Vec::new(),
        unstored_photos: Vec::new(),
        unit_number: v.machine.unit_number.clone(),
    }
}

fn why(v: &Verdict) -> String {
    let a = &v.answered;
    if a.held_already && arrived_late(v.check.recorded_at, v.check.received_at) {
        return t!("verdict-page-held-when-arrived");
    }
    if a.held_already {
        return t!("verdict-page-held-before");
    }
    match a.findings.as_slice() {
        [] if a.watched.iter().any(|w| w.now == Watched::Gone) => {
            t!("verdict-page-gone-stays")
        }
        [] if a.standing == Standing::Monitored => {
            t!("verdict-page-still-watched")
        }
        [] => t!("verdict-page-all-well"),
        [only] => sentence(&only.what.to_string()),
        [first, rest @ ..] => {
            t!("verdict-page-and-more", first = sentence(&first.what.to_string()), count = rest.len())
        }
    }
}

/// By the hours at which the limit may be reached; what has none comes last.
fn soonest_first(trends: &[AnsweredTrend]) -> impl Iterator<Item = &AnsweredTrend> {
    let mut sorted: Vec<&AnsweredTrend> = trends.iter().collect();
    let hours = |t: &AnsweredTrend| t.earliest_hours.or(t.expected_hours).unwrap_or(f64::INFINITY);
    sorted.sort_by(|a, b| hours(a).total_cmp(&hours(b)));
    sorted.into_iter()
}

/// The sentence of a trend without the title it stands under.
fn figures(t: &AnsweredTrend) -> String {
    let sentence = t.sentence.to_string();
    match sentence.strip_prefix(&t.title.to_string()) {
        Some(rest) => rest.trim_start_matches(": ").to_owned(),
        None => sentence,
    }
}

fn since_then(v: &Verdict) -> String {
    let unit = &v.machine.unit_number;
    match (v.answered.standing, v.held_now) {
        (Standing::OutOfService, false) => {
            t!("verdict-page-since-released", unit = unit)
        }
        (Standing::FitForUse | Standing::Monitored, true) => {
            t!("verdict-page-since-held", unit = unit)
        }
        _ => String::new(),
    }
}

/// The worst finding's instruction first; then what holds for every machine that must stay.
fn steps(v: &Verdict) -> Vec<String> {
    let unit = &v.machine.unit_number;
    let mut steps: Vec<String> = Vec::new();
    let mut add = |step: String| {
        if !steps.contains(&step) {
            steps.push(step);
        }
    };
    // How to use a machine with a watched defect is no advice for one that must not be used.
    let grounded = v.answered.standing == Standing::OutOfService || v.held_now;
    for f in v.answered.findings.iter().filter(|f| !grounded || f.severity == Severity::OutOfService) {
        add(sentence(&f.instruction.to_string()));
    }
    match v.answered.standing {
        // Somebody put it out of service since: what the check said then is no leave to use it now.
        Standing::FitForUse | Standing::Monitored if v.held_now => {
            add(t!("verdict-page-do-not-use", unit = unit))
        }
        Standing::OutOfService => {
            if v.answered.held_already {
                add(t!("verdict-page-do-not-use", unit = unit));
            }
            add(t!("verdict-page-take-key"));
            add(t!("verdict-page-hang-tag"));
        }
        Standing::Monitored => add(t!("verdict-page-may-use-watched", unit = unit)),
        Standing::FitForUse => add(t!("verdict-page-may-use", unit = unit)),
        Standing::Retired => add(t!("verdict-page-do-not-use", unit = unit)),
    }
    steps
}

fn finding(f: &AnsweredFinding) -> Finding {
    Finding {
        what: f.what.to_string(),
        severity: f.severity,
        instruction: sentence(&f.instruction.to_string()),
        why: why_beyond(&f.what.to_string(), &f.why.to_string()),
        seen_before: f.seen_before,
        came_back: f.came_back,
        href: format!("/defects/{}", f.defect),
        supporting: f.supporting.iter().map(|r| r.sentence.to_string()).collect(),
    }
}

fn told(row: &OutboxRow, zone: &str, now: DateTime<Utc>) -> Told {
    let state = match (row.state, row.delivered_at) {
        (OutboxState::Delivered, Some(at)) => {
            t!("verdict-page-mail-sent-at", when = when(at, zone, now).words)
        }
        (OutboxState::Delivered, None) => t!("verdict-page-mail-sent"),
        (OutboxState::Owed | OutboxState::Sending, _) if row.attempts > 1 => {
            t!("verdict-page-mail-again")
        }
        (OutboxState::Owed | OutboxState::Sending, _) => t!("verdict-page-mail-going"),
        (OutboxState::Failed, _) => t!("verdict-page-mail-failed"),
    };
    let who = if row.kind == AlertKind::CameBack {
        t!("verdict-page-told-came-back", name = row.person_name)
    } else {
        row.person_name.clone()
    };
    Told { who, state, failed: row.state == OutboxState::Failed }
}

fn zones(v: &Verdict, checklist: &Checklist) -> Vec<Zone> {
    let walk = checklist.walk();
    walk.chunk_by(|a, b| a.zone.key == b.zone.key)
        .map(|stops| Zone {
            title: stops[0].zone.title.to_string(),
            answers: stops.iter().filter_map(|s| answer(v, s)).collect(),
        })
        .collect()
}

fn answer(v: &Verdict, stop: &Stop<'_>) -> Option<Answer> {
    let position = stop.position.map(|p| p.key.as_str());
    let reading: &Reading = v.readings.iter().find(|r| r.is_at(&stop.item.key, position))?;
    let photos = v
        .photos
        .iter()
        .filter(|p| p.item.as_deref() == Some(&stop.item.key) && p.position == position.unwrap_or_default());
    Some(Answer {
        title: stop.title().to_string(),
        answer: answer_in_words(reading, Some(stop.item)),
        bad: reading.outcome == Outcome::Defect,
        note: reading.note.clone().unwrap_or_default(),
        photos: photos.map(|p| format!("/photos/{}", p.id)).collect(),
    })
}
