//! What a check was answered with: may it be used, what to do now, why, and who has been told.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::frame::Frame;
use super::gate::{say, sentence, why_beyond};
use super::order::retest_form::answer_in_words;
use super::shown::{When, reached, when};
use super::{Page, machines, page};
use crate::domain::checklist::{Checklist, Stop};
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

/// The kind of alert that tells of a defect that came back.
const CAME_BACK: &str = "defect came back";

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
    say: &'static str,
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
        list.extend(index.parse::<usize>().ok().and_then(|n| walk.get(n)).map(|s| s.title().to_string()));
    }
    page(&shown)
}

fn view(v: &Verdict, checklist: &Checklist, page: Frame, now: DateTime<Utc>) -> VerdictPage {
    let zone = v.yard.zone.as_str();
    let a = &v.answered;
    let hours = v.check.engine_hours.map_or(String::new(), |h| format!(", {h} h"));
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
        rules: format!("{}, version {}", a.checklist, a.version),
        watched: a
            .watched
            .iter()
            .map(|w| Watch {
                what: w.what.to_string(),
                now: w.now.to_string(),
                note: sentence(&w.note),
                outcome: w.outcome.to_string(),
            })
            .collect(),
        trends: a
            .trends
            .iter()
            .map(|t| (t.title.to_string(), t.words.to_string(), figures(t).to_owned()))
            .collect(),
        told: v.told.iter().map(|row| told(row, zone, now)).collect(),
        held_now: v.held_now,
        order_href: a.work_order.map(|o| format!("/work-orders/{o}")).unwrap_or_default(),
        context: format!("{}{hours}", v.check.context().in_words()),
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
        return "It was out of service when this check arrived, and it stays so: a check that arrives late puts nothing \
                back to use."
            .to_owned();
    }
    if a.held_already {
        return "It was held before this check, and it stays so whatever the check says.".to_owned();
    }
    match a.findings.as_slice() {
        [] if a.watched.iter().any(|w| w.now == Watched::Gone) => {
            "The check found nothing new. What is gone stays open until a mechanic has looked.".to_owned()
        }
        [] if a.standing == Standing::Monitored => {
            "The check found nothing new. Earlier defects are still being watched.".to_owned()
        }
        [] => "Every item was answered well.".to_owned(),
        [only] => sentence(only.what.here()),
        [first, rest @ ..] => format!("{} And {} more, below.", sentence(first.what.here()), rest.len()),
    }
}

/// The sentence of a trend without the title it stands under.
fn figures(t: &AnsweredTrend) -> &str {
    t.sentence
        .here()
        .strip_prefix(t.title.here())
        .map_or(t.sentence.here(), |rest| rest.trim_start_matches(": "))
}

fn since_then(v: &Verdict) -> String {
    let unit = &v.machine.unit_number;
    match (v.answered.standing, v.held_now) {
        (Standing::OutOfService, false) => {
            format!("Since this check {unit} was released. What it may be used for now is on its page.")
        }
        (Standing::FitForUse | Standing::Monitored, true) => {
            format!("Since this check {unit} was put out of service. Do not use it.")
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
    let grounded = v.answered.standing == Standing::OutOfService;
    for f in v.answered.findings.iter().filter(|f| !grounded || f.severity == Severity::OutOfService) {
        add(sentence(f.instruction.here()));
    }
    match v.answered.standing {
        Standing::OutOfService => {
            if v.answered.held_already {
                add(format!("Do not use {unit}."));
            }
            add("Take the key out and keep it from the next driver.".to_owned());
            add("Hang the tag where nobody can miss it: on the steering wheel or the handlebar.".to_owned());
        }
        Standing::Monitored => {
            add(format!("You may use {unit}. Stop and report it if anything gets worse."));
        }
        Standing::FitForUse => add(format!("You may use {unit}.")),
        Standing::Retired => add(format!("Do not use {unit}.")),
    }
    steps
}

fn finding(f: &AnsweredFinding) -> Finding {
    Finding {
        what: f.what.to_string(),
        severity: f.severity,
        instruction: sentence(f.instruction.here()),
        why: why_beyond(f.what.here(), f.why.here()),
        seen_before: f.seen_before,
        came_back: f.came_back,
        href: format!("/defects/{}", f.defect),
        supporting: f.supporting.iter().map(|r| r.sentence.to_string()).collect(),
    }
}

fn told(row: &OutboxRow, zone: &str, now: DateTime<Utc>) -> Told {
    let state = match (row.state, row.delivered_at) {
        (OutboxState::Delivered, Some(at)) => format!("mail sent {}", when(at, zone, now).words),
        (OutboxState::Delivered, None) => "mail sent".to_owned(),
        (OutboxState::Owed | OutboxState::Sending, _) if row.attempts > 1 => {
            "mail not delivered yet, it is tried again: tell them yourself".to_owned()
        }
        (OutboxState::Owed | OutboxState::Sending, _) => "mail on its way".to_owned(),
        (OutboxState::Failed, _) => "mail not delivered: tell them yourself".to_owned(),
    };
    let of = if row.kind == CAME_BACK { " (it came back)" } else { "" };
    Told { who: format!("{}{of}", row.person_name), state, failed: row.state == OutboxState::Failed }
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
