//! The try-it box: readings and a history that nobody took, and what a checklist would say of them. Nothing is recorded.

mod given;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

use super::Page;
use super::checklists::condition;
use super::form::Form;
use super::frame::Frame;
use super::page_with;
use super::typed::{Shown, Typed};
use crate::domain::checklist::{Asks, Checklist, Condition, Load, Rule, Stop, Warmth};
use crate::domain::ids::{ChecklistId, DraftId};
use crate::domain::judge::{Finding, Judgement};
use crate::domain::person::Actor;
use crate::domain::reading::{Level, Outcome};
use crate::domain::refusal::Refusal;
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::Unit;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, TriedOut, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/checklists/{id}/try", web::get().to(version_form));
    cfg.route("/set-up/checklists/{id}/try", web::post().to(try_version));
    cfg.route("/set-up/drafts/{id}/try", web::get().to(draft_form));
    cfg.route("/set-up/drafts/{id}/try", web::post().to(try_draft));
}

#[derive(Template)]
#[template(path = "try_out.html", config = ".askama.toml")]
struct TryOut {
    page: Frame,
    problems: Vec<Shown>,
    back: String,
    href: String,
    title: String,
    context: Vec<Choose>,
    hours: String,
    air: String,
    open_is_unanswered: bool,
    zones: Vec<Zone>,
    past: Vec<Past>,
    said: Option<Said>,
}

struct Zone {
    title: String,
    stops: Vec<StopRow>,
}

struct StopRow {
    n: usize,
    title: String,
    wrong: Vec<String>,
    answer: Choose,
    /// Units to choose from; empty for an item that is not measured.
    units: Vec<Choice>,
    value: String,
    /// Units of what is added when it is put right; empty when it takes no amount.
    amount_units: Vec<Choice>,
    amount: String,
}

struct Choose {
    name: String,
    label: String,
    options: Vec<Choice>,
}

struct Choice {
    value: String,
    words: String,
    chosen: bool,
}

/// What was before, at one stop that a rule looks back on.
struct Past {
    n: usize,
    title: String,
    wrong: Vec<String>,
    /// Rows of figures, for a rule that follows their trend.
    series: Option<String>,
    unit: String,
    corrected: Option<String>,
    released: Option<String>,
}

/// The verdict, and everything behind it.
struct Said {
    standing: Standing,
    findings: Vec<Found>,
    trends: Vec<String>,
}

struct Found {
    what: String,
    severity: Severity,
    why: String,
    instruction: String,
    rule: String,
    is_final: bool,
    /// The conditions of the rule; empty where no rule of the checklist decided.
    when: String,
    supporting: Vec<(String, String)>,
}

type Shared = web::Data<Site>;

async fn version_form(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<ChecklistId>,
    site: Shared,
) -> Page {
    form(&site, &req, &actor, TriedOut::Version(*id)).await
}

async fn try_version(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<ChecklistId>,
    site: Shared,
    sent: Form,
) -> Page {
    judged(&site, &req, &actor, TriedOut::Version(*id), sent).await
}

async fn draft_form(Signed(actor): Signed, req: HttpRequest, id: web::Path<DraftId>, site: Shared) -> Page {
    form(&site, &req, &actor, TriedOut::Draft(*id)).await
}

async fn try_draft(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<DraftId>,
    site: Shared,
    sent: Form,
) -> Page {
    judged(&site, &req, &actor, TriedOut::Draft(*id), sent).await
}

async fn form(site: &Site, req: &HttpRequest, actor: &Actor, what: TriedOut) -> Page {
    let checklist = workflow::tried_out(&site.workshop, actor, what).await?;
    show(req, actor, what, &checklist, &Form::default(), Vec::new(), StatusCode::OK, None)
}

async fn judged(site: &Site, req: &HttpRequest, actor: &Actor, what: TriedOut, sent: Form) -> Page {
    let checklist = workflow::tried_out(&site.workshop, actor, what).await?;
    let tried = match given::read(&sent, &checklist, site.workshop.ambient.now()) {
        Ok(attempt) => workflow::try_out(&site.workshop, actor, what, &attempt).await,
        Err(problems) => Err(WorkflowError::from(Refusal::Invalid { problems })),
    };
    match tried {
        Ok((_, judgement)) => {
            let said = said(&checklist, judgement);
            show(req, actor, what, &checklist, &sent, Vec::new(), StatusCode::OK, Some(said))
        }
        Err(e) => {
            let t = Typed::not_taken("try", sent.clone(), e)?;
            show(req, actor, what, &checklist, &sent, t.problems, t.status, None)
        }
    }
}

#[expect(clippy::too_many_arguments, reason = "who tried what, with what, and what came of it")]
fn show(
    req: &HttpRequest,
    actor: &Actor,
    what: TriedOut,
    checklist: &Checklist,
    sent: &Form,
    problems: Vec<Shown>,
    status: StatusCode,
    said: Option<Said>,
) -> Page {
    let back = match what {
        TriedOut::Version(id) => format!("/set-up/checklists/{id}"),
        TriedOut::Draft(id) => format!("/set-up/drafts/{id}"),
    };
    let walk = checklist.walk();
    let wrong = |start: &str| -> Vec<String> {
        let here =
            problems.iter().filter(|p| p.target == start || p.target.starts_with(&format!("{start}-")));
        here.map(|p| p.sentence.clone()).collect()
    };
    let zones = walk.chunk_by(|a, b| a.zone.key == b.zone.key).map(|stops| Zone {
        title: stops[0].zone.title.to_string(),
        stops: stops.iter().map(|s| stop_row(s, sent, wrong(&format!("try-answers-{}", s.index)))).collect(),
    });
    let past = walk.iter().filter_map(|s| past(checklist, s, sent, wrong(&format!("try-past-{}", s.index))));
    let loads = Load::ALL.iter().map(|l| (l.as_str(), l.here())).collect();
    let warmths =
        [("", t!("try-out-not-said"))].into_iter().chain(Warmth::ALL.iter().map(|w| (w.as_str(), w.here())));
    page_with(
        status,
        &TryOut {
            page: Frame::new(req, Some(actor)),
            href: format!("{back}/try"),
            back,
            title: checklist.title.to_string(),
            context: vec![
                choose("load".to_owned(), t!("try-out-load"), loads, sent.text("load")),
                choose(
                    "warmth".to_owned(),
                    t!("try-out-cold-or-warm"),
                    warmths.collect(),
                    sent.text("warmth"),
                ),
            ],
            hours: sent.text("hours").to_owned(),
            air: sent.text("air").to_owned(),
            open_is_unanswered: sent.has("open_is_unanswered"),
            zones: zones.collect(),
            past: past.collect(),
            problems,
            said,
        },
    )
}

fn choose(name: String, label: String, options: Vec<(&'static str, String)>, chosen: &str) -> Choose {
    let options = options.into_iter().map(|(value, words)| Choice {
        value: value.to_owned(),
        words,
        chosen: value == chosen,
    });
    Choose { name, label, options: options.collect() }
}

fn stop_row(stop: &Stop<'_>, sent: &Form, wrong: Vec<String>) -> StopRow {
    let n = stop.index;
    let text = |name: &str| sent.text(&format!("a.{n}.{name}"));
    let defect = Outcome::Defect.as_str();
    let mut options: Vec<(&str, String)> = match &stop.item.asks {
        Asks::Condition => vec![
            ("", t!("try-out-left-open")),
            (Outcome::Ok.as_str(), t!("try-out-ok")),
            (defect, t!("try-out-defect")),
        ],
        Asks::Function => vec![
            ("", t!("try-out-left-open")),
            (Outcome::Ok.as_str(), t!("try-out-works")),
            (defect, t!("try-out-works-not")),
        ],
        Asks::Level => vec![
            ("", t!("try-out-left-open")),
            (Level::Between.as_str(), t!("try-out-between")),
            (Level::Below.as_str(), t!("try-out-below")),
            (Level::Above.as_str(), t!("try-out-above")),
            (defect, t!("try-out-cannot-read")),
        ],
        Asks::Measure(_) => vec![("", t!("try-out-as-measured")), (defect, t!("try-out-cannot-measure"))],
    };
    if stop.item.may_be_corrected {
        options.push((Outcome::Corrected.as_str(), t!("try-out-put-right")));
    }
    if stop.item.may_be_not_applicable {
        options.push((Outcome::NotApplicable.as_str(), t!("try-out-not-fitted")));
    }
    let units = |all: Vec<Unit>, chosen: &str| -> Vec<Choice> {
        let choice = |u: Unit| Choice {
            value: u.as_str().to_owned(),
            words: u.as_str().to_owned(),
            chosen: u.as_str() == chosen,
        };
        all.into_iter().map(choice).collect()
    };
    let of_amount = stop.item.corrected_unit.filter(|_| stop.item.may_be_corrected).map(|usual| {
        let others = Unit::ALL.iter().copied().filter(|u| *u != usual && u.quantity() == usual.quantity());
        std::iter::once(usual).chain(others).collect()
    });
    StopRow {
        n,
        title: stop.title().to_string(),
        wrong,
        answer: choose(format!("a.{n}.outcome"), t!("try-out-answer"), options, text("outcome")),
        units: units(stop.item.measure().map(|m| m.units.clone()).unwrap_or_default(), text("unit")),
        value: text("value").to_owned(),
        amount_units: units(of_amount.unwrap_or_default(), text("amount_unit")),
        amount: text("amount").to_owned(),
    }
}

/// The fields about what was before, where a rule asks for it.
fn past(checklist: &Checklist, stop: &Stop<'_>, sent: &Form, wrong: Vec<String>) -> Option<Past> {
    let looks = |kind: fn(&Condition) -> bool| {
        checklist.rules.iter().flat_map(|r| &r.when).any(|c| {
            let here = c.at().is_some_and(|at| {
                let position = stop.position.map(|p| p.key.as_str());
                at.item == stop.item.key && (at.position.is_none() || at.position.as_deref() == position)
            });
            here && kind(c)
        })
    };
    let field = |name: &str| sent.text(&format!("past.{}.{name}", stop.index)).to_owned();
    let past = Past {
        n: stop.index,
        title: stop.title().to_string(),
        wrong,
        series: looks(|c| matches!(c, Condition::Trend { .. })).then(|| field("series")),
        unit: stop.item.measure().and_then(|m| m.units.first()).map_or(String::new(), |u| u.to_string()),
        // A figure that was put right begins a new trend.
        corrected: (looks(|c| matches!(c, Condition::Corrected { .. }))
            || (stop.item.may_be_corrected && looks(|c| matches!(c, Condition::Trend { .. }))))
        .then(|| field("corrected")),
        released: looks(|c| matches!(c, Condition::Recurs { .. } | Condition::Corrected { .. }))
            .then(|| field("released")),
    };
    let asked = past.series.is_some() || past.corrected.is_some() || past.released.is_some();
    asked.then_some(past)
}

fn said(checklist: &Checklist, judgement: Judgement) -> Said {
    let standing = judgement.verdict();
    let named = |name: &str| checklist.rules.iter().find(|r| r.name == name);
    let words = |r: &Rule| -> String {
        let all = r.when.iter().map(|c| condition(c, checklist));
        all.reduce(|one, other| t!("try-out-and", one = one, other = other)).unwrap_or_default()
    };
    let found = |f: Finding| Found {
        when: named(&f.rule).map(words).unwrap_or_default(),
        what: f.what.to_string(),
        severity: f.severity,
        why: f.why.to_string(),
        instruction: f.instruction.to_string(),
        is_final: f.final_,
        rule: f.rule,
        supporting: f.supporting.into_iter().map(|r| (r.rule, r.sentence.to_string())).collect(),
    };
    let walk = checklist.walk();
    let trends = judgement.trends.iter().map(|t| {
        let stop = walk.iter().find(|s| s.is(&t.item, t.position.as_deref()));
        let title = stop.map_or(t.item.clone(), |s| s.title().to_string());
        if t.sentence.here().starts_with(&title) {
            t.sentence.to_string()
        } else {
            t!("try-out-trend-of", title = title, sentence = t.sentence)
        }
    });
    Said { trends: trends.collect(), findings: judgement.findings.into_iter().map(found).collect(), standing }
}
