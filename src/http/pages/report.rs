//! Reporting a defect at any time, and what became of what one reported.

use actix_multipart::Multipart;
use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::form::Form;
use super::frame::Frame;
use super::gate::good_until;
use super::shown::{When, when};
use super::typed::Typed;
use super::{Page, markup, page, page_with, see_other};
use crate::domain::checklist::System;
use crate::domain::defect::DefectState;
use crate::domain::ids::{DefectId, MachineId};
use crate::domain::person::Actor;
use crate::domain::risk::{Answers, Certain, Harm, RiskLevel, YesOrNo};
use crate::domain::standing::Severity;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, DefectRow, PhotoOf, ReportDefect, ReportedDefect, YardRow};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/report", web::get().to(form));
    cfg.route("/machines/{id}/report", web::post().to(report));
    cfg.route("/my-reports", web::get().to(mine));
}

/// Reports shown of one person, newest first.
const MOST: i64 = 100;

#[derive(Template)]
#[template(path = "report.html", config = ".askama.toml")]
struct ReportPage {
    page: Frame,
    t: Typed,
    href: String,
    unit_number: String,
    questions: Vec<Question>,
    /// From this risk level on the machine is out of service.
    from: RiskLevel,
    /// Title of the checklist that says so; empty for our own default.
    checklist: String,
    id: DefectId,
}

/// One of the guided questions, with its answers.
struct Question {
    name: &'static str,
    asks: String,
    /// Empty when it needs none.
    hint: String,
    /// Value and words.
    answers: Vec<(&'static str, String)>,
}

#[derive(Template)]
#[template(path = "my_reports.html", config = ".askama.toml")]
struct MyReportsPage {
    page: Frame,
    reports: Vec<MyReport>,
}

struct MyReport {
    href: String,
    unit_number: String,
    what: String,
    severity: Severity,
    open: bool,
    reported: When,
    became: String,
}

async fn form(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    show(&site, &actor, &req, *id, site.workshop.ambient.id(), Typed::nothing()).await
}

async fn report(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
    payload: web::Payload,
) -> Page {
    // Read only now: the body of somebody who is not signed in is not worth the memory.
    let form = Form::multipart(Multipart::new(req.headers(), payload)).await?;
    let defect: DefectId = form.text("id").parse().unwrap_or_else(|_| site.workshop.ambient.id());
    let command = ReportDefect {
        id: defect,
        machine: *id,
        what: form.text("what").to_owned(),
        answers: answers(&form),
    };
    if let Err(e) = workflow::report_defect(&site.workshop, &actor, command).await {
        let t = Typed::not_taken("report", form, e)?;
        return show(&site, &actor, &req, *id, defect, t).await;
    }
    let mut done = "reported";
    for file in form.files.iter().filter(|f| f.field == "photo") {
        match site.photos.keep(file.bytes.clone()).await {
            Ok(stored) => {
                let of = PhotoOf::Defect(defect);
                workflow::attach_photo(&site.workshop, &actor, of, stored).await?;
            }
            // The report is in and stays in; the page says what is missing.
            Err(e) => {
                tracing::warn!(error = %e, %defect, "a photo was not kept");
                done = if e.may_pass() { "reported-photo-later" } else { "reported-no-photo" };
            }
        }
    }
    see_other(&format!("/machines/{id}?done={done}"))
}

/// What was left open, or is no answer to its question, is "not sure".
fn answers(form: &Form) -> Answers {
    let unsure = Answers::default();
    Answers {
        affects: form.text("affects").parse().ok(),
        fire: form.text("fire").parse().unwrap_or(unsure.fire),
        harm: form.text("harm").parse().unwrap_or(unsure.harm),
        worse: form.text("worse").parse().unwrap_or(unsure.worse),
        certain: form.text("certain").parse().unwrap_or(unsure.certain),
    }
}

fn questions() -> Vec<Question> {
    let systems = System::ALL.iter().filter(|s| **s != System::General).map(|s| (s.as_str(), s.here()));
    let yes_no_unsure = || YesOrNo::ALL.iter().map(|y| (y.as_str(), y.here())).collect();
    let unsure = || ("not sure", t!("report-answer-not-sure"));
    vec![
        Question {
            name: "affects",
            asks: t!("report-ask-affects"),
            hint: t!("report-ask-affects-hint"),
            answers: systems
                .chain([(System::General.as_str(), t!("report-answer-none-of-these")), unsure()])
                .collect(),
        },
        Question {
            name: "fire",
            asks: t!("report-ask-fire"),
            hint: t!("report-ask-fire-hint"),
            answers: yes_no_unsure(),
        },
        Question {
            name: "harm",
            asks: t!("report-ask-harm"),
            hint: t!("report-ask-harm-hint"),
            answers: Harm::ALL.iter().map(|h| (h.as_str(), h.here())).collect(),
        },
        Question {
            name: "worse",
            asks: t!("report-ask-worse"),
            hint: String::new(),
            answers: yes_no_unsure(),
        },
        Question {
            name: "certain",
            asks: t!("report-ask-certain"),
            hint: String::new(),
            answers: vec![
                (Certain::Seen.as_str(), t!("report-answer-seen")),
                (Certain::Likely.as_str(), t!("report-answer-likely")),
                (Certain::Suspected.as_str(), t!("report-answer-suspected")),
                unsure(),
            ],
        },
    ]
}

async fn show(
    site: &Site,
    actor: &Actor,
    req: &HttpRequest,
    id: MachineId,
    defect: DefectId,
    t: Typed,
) -> Page {
    let gate = workflow::gate(&site.workshop, actor, id).await?;
    let (from, checklist) = workflow::report_threshold(&site.workshop, actor, id).await?;
    page_with(
        t.status,
        &ReportPage {
            page: Frame::new(req, Some(actor)),
            t,
            href: format!("/machines/{id}"),
            unit_number: gate.machine.unit_number,
            questions: questions(),
            from,
            checklist: checklist.map(|title| title.to_string()).unwrap_or_default(),
            id: defect,
        },
    )
}

async fn mine(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    let now = site.workshop.ambient.now();
    let yards = workflow::yards(&site.workshop, &actor).await?;
    let reports = workflow::my_reports(&site.workshop, &actor, MOST).await?;
    let reports = reports.into_iter().map(|r| my_report(r, &yards, now)).collect();
    page(&MyReportsPage { page: Frame::new(&req, Some(&actor)), reports })
}

fn my_report(r: ReportedDefect, yards: &[YardRow], now: DateTime<Utc>) -> MyReport {
    let d = &r.defect;
    let zone = yards.iter().find(|y| y.id == d.yard_id).map_or("UTC", |y| y.zone.as_str());
    MyReport {
        href: format!("/machines/{}", d.machine_id),
        what: d.what.to_string(),
        severity: d.severity,
        open: d.state.is_open(),
        reported: when(d.found_at, zone, now),
        became: became(d, r.retested, zone, now),
        unit_number: r.unit_number,
    }
}

/// “I reported that last week, what happened?”
fn became(d: &DefectRow, retested: bool, zone: &str, now: DateTime<Utc>) -> String {
    match d.state {
        DefectState::Monitored => match good_until(d.good_until_at, d.good_until_hours, zone, now) {
            until if until.is_empty() => t!("my-reports-watched"),
            until => t!("my-reports-watched-until", until = until),
        },
        DefectState::Held => t!("my-reports-held"),
        DefectState::Repaired if retested => t!("my-reports-retested", remedy = d.remedy),
        DefectState::NoFaultFound if retested => t!("my-reports-no-fault-retested"),
        DefectState::Repaired => t!("my-reports-repaired", remedy = d.remedy),
        DefectState::NoFaultFound => t!("my-reports-no-fault"),
        DefectState::Closed => {
            let closed = d.closed_at.map_or(String::new(), |at| when(at, zone, now).words);
            if d.no_fault_found {
                t!("my-reports-closed-no-fault", when = closed)
            } else {
                t!("my-reports-closed", when = closed, cause = d.cause, remedy = d.remedy)
            }
        }
    }
}
