//! One defect, and a person's change of its severity.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, TimeDelta, Utc};

use super::form::Form;
use super::frame::Frame;
use super::local_time;
use super::shown::{When, day, reached, when};
use super::typed::Typed;
use super::{Page, markup, page_with, see_other};
use crate::domain::checklist::System;
use crate::domain::ids::DefectId;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::Refusal;
use crate::domain::risk::{Assessment, code};
use crate::domain::watched::Watched;
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::Text;
use crate::workflow::{self, DefectRow, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/defects/{id}", web::get().to(see));
    cfg.route("/defects/{id}/raise", web::post().to(raise));
    cfg.route("/defects/{id}/lower", web::post().to(lower));
}

#[derive(Template)]
#[template(path = "defect.html", config = ".askama.toml")]
struct Defect {
    page: Frame,
    t: Typed,
    href: String,
    machine_href: String,
    unit_number: String,
    what: String,
    severity: String,
    state: String,
    system: String,
    why: String,
    /// “rule “brake pad thin”, Daily check, utility vehicle, version 3”.
    decided_by: String,
    is_final: bool,
    instruction: String,
    supporting: Vec<String>,
    /// Of a guided report: question and answer.
    answers: Vec<(String, String)>,
    risk: String,
    good_until: String,
    raised: When,
    /// Where the check that found it arrived late.
    reached: String,
    reported_by: String,
    sightings: Vec<Sighting>,
    photos: Vec<String>,
    order_href: String,
    order_number: i64,
    prior_href: String,
    /// What was done last time.
    last_time: String,
    came_back: bool,
    /// Who says that it is gone, and since when; empty when nobody does.
    said_gone: String,
    /// The context it failed in, where it failed at a check.
    failed_in: String,
    cause: String,
    remedy: String,
    may_raise: bool,
    may_inspect_many: bool,
    may_lower: bool,
    /// Why a held defect cannot be lowered, for those who otherwise may.
    not_lowered: String,
    suggested_day: String,
}

struct Sighting {
    at: When,
    by: String,
    what: String,
    check_href: String,
}

type Shared = web::Data<Site>;
type Id = web::Path<DefectId>;

async fn see(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared) -> Page {
    show(&site, &actor, &req, *id, Typed::nothing()).await
}

async fn raise(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    match workflow::raise_severity(&site.workshop, &actor, *id, form.text("reason")).await {
        Ok(machine) => see_other(&format!("/machines/{machine}?done=held")),
        Err(e) => show(&site, &actor, &req, *id, Typed::not_taken("raise", form, e)?).await,
    }
}

async fn lower(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    // Whoever may not is told so before the form is questioned.
    actor.must(Act::LowerSeverity)?;
    let zone = workflow::defect_page(&site.workshop, &actor, *id).await?.yard.zone;
    let lowered = match local_time::day(form.text("good_until"), &zone) {
        Ok(Some(at)) => workflow::lower_severity(&site.workshop, &actor, *id, form.text("reason"), at).await,
        Ok(None) => Err(asked(said!("defect-page-give-day"))),
        Err(sentence) => Err(asked(sentence)),
    };
    match lowered {
        Ok(machine) => see_other(&format!("/machines/{machine}?done=lowered")),
        Err(e) => show(&site, &actor, &req, *id, Typed::not_taken("lower", form, e)?).await,
    }
}

fn last_time(prior: &DefectRow, zone: &str, now: DateTime<Utc>) -> String {
    let released = prior.closed_at.map(|at| when(at, zone, now).words).unwrap_or_default();
    if prior.no_fault_found {
        return t!("defect-page-released-no-fault", when = released);
    }
    t!("defect-page-released", when = released, cause = prior.cause, remedy = prior.remedy)
}

fn asked(sentence: Text) -> WorkflowError {
    Refusal::invalid("/good_until", sentence).into()
}

async fn show(site: &Site, actor: &Actor, req: &HttpRequest, id: DefectId, t: Typed) -> Page {
    let now = site.workshop.ambient.now();
    let p = workflow::defect_page(&site.workshop, actor, id).await?;
    let (d, zone) = (&p.defect, p.yard.zone.as_str());
    let until_day = d.good_until_at.map(|at| day(at, zone, now).words);
    let good_until = match (until_day, d.good_until_hours) {
        (Some(day), Some(hours)) => t!("defect-page-until-either", day = day, hours = hours),
        (None, Some(hours)) => t!("defect-page-until-meter", hours = hours),
        (day, None) => day.unwrap_or_default(),
    };
    let decided_by = match &p.rules {
        Some(rules) => t!("defect-page-rule-of", rule = p.rule, rules = rules),
        None => t!("defect-page-rule", rule = p.rule),
    };
    let gone = p.sightings.iter().rev().find(|s| s.said == Some(Watched::Gone));
    let last_time = p.prior.as_ref().map(|prior| last_time(prior, zone, now));
    let held = d.severity == crate::domain::standing::Severity::OutOfService && d.closed_at.is_none();
    page_with(
        t.status,
        &Defect {
            page: Frame::new(req, Some(actor)),
            t,
            href: format!("/defects/{id}"),
            machine_href: format!("/machines/{}", p.machine.id),
            unit_number: p.machine.unit_number.clone(),
            what: d.what.to_string(),
            severity: d.severity.to_string(),
            state: d.state.here(),
            system: d.system.here(),
            why: d.why.to_string(),
            decided_by,
            is_final: d.is_final,
            instruction: d.instruction.to_string(),
            supporting: p.supporting.iter().map(|r| r.sentence.to_string()).collect(),
            answers: p.risk.as_ref().map(answers_in_words).unwrap_or_default(),
            risk: p.risk.as_ref().map(risk_in_words).unwrap_or_default(),
            good_until,
            raised: when(d.found_at, zone, now),
            reached: reached(d.found_at, d.raised_at, zone, now),
            reported_by: p.reported_by_name.clone(),
            sightings: p
                .sightings
                .iter()
                .map(|s| Sighting {
                    at: when(s.at, zone, now),
                    by: s.by_name.clone(),
                    what: s.what.to_string(),
                    check_href: s.check_id.map(|c| format!("/checks/{c}")).unwrap_or_default(),
                })
                .collect(),
            photos: p.photos.iter().map(|f| format!("/photos/{}", f.id)).collect(),
            order_href: d.work_order_id.map(|o| format!("/work-orders/{o}")).unwrap_or_default(),
            order_number: p.order_number.unwrap_or_default(),
            last_time: last_time.unwrap_or_default(),
            came_back: d.came_back,
            said_gone: match (d.said_gone_at, gone) {
                (Some(at), Some(s)) => {
                    let at = when(at, zone, now).words;
                    t!("defect-page-gone-by", who = s.by_name, when = at, what = s.what)
                }
                _ => String::new(),
            },
            failed_in: if d.check_id.is_some() { d.context().in_words().to_string() } else { String::new() },
            prior_href: d.prior_defect_id.map(|i| format!("/defects/{i}")).unwrap_or_default(),
            cause: d.cause.clone(),
            remedy: d.remedy.clone(),
            may_raise: p.may_raise,
            may_inspect_many: actor.may(Act::InspectMany),
            may_lower: p.may_lower.is_ok() && held,
            not_lowered: match &p.may_lower {
                Err(Refusal::Conflict(sentence)) if held => sentence.to_string(),
                Err(first @ Refusal::PasswordFirst(_)) if held => first.to_string(),
                _ => String::new(),
            },
            suggested_day: local_time::day_for_input(now + TimeDelta::days(3), zone),
        },
    )
}

/// "Serious, 2C: critical, occasional; out of service from serious."
fn risk_in_words(risk: &Assessment) -> String {
    t!(
        "defect-page-risk-words",
        level = risk.level,
        code = code(risk.category, risk.probability),
        category = risk.category,
        probability = risk.probability,
        from = risk.out_of_service_from
    )
}

fn answers_in_words(risk: &Assessment) -> Vec<(String, String)> {
    let a = &risk.answers;
    vec![
        (t!("report-ask-affects"), a.affects.map_or_else(|| t!("report-answer-not-sure"), System::here)),
        (t!("report-ask-fire"), a.fire.here()),
        (t!("report-ask-harm"), a.harm.here()),
        (t!("report-ask-worse"), a.worse.here()),
        (t!("report-ask-certain"), a.certain.here()),
    ]
}
