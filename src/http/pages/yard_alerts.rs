//! What the owner asks of a yard: who hears what, who is told next, and when the digest goes out.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::my_alerts::clock;
use super::typed::{Typed, refused};
use super::{Page, page_with, see_other};
use crate::domain::hearing::{AlertKind, Wanted};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::person::{Actor, Role};
use crate::domain::refusal::{Problem, Refusal};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, HearingRuleRow, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/yards/{id}/alerts", web::get().to(yard_alerts));
    cfg.route("/set-up/yards/{id}/alerts/rules", web::post().to(rules));
    cfg.route("/set-up/yards/{id}/alerts/chain", web::post().to(chain));
    cfg.route("/set-up/yards/{id}/alerts/digest", web::post().to(digest));
}

/// Places in a chain on the page.
const LONGEST_CHAIN: usize = 4;

#[derive(Template)]
#[template(path = "yard_alerts.html", config = ".askama.toml")]
struct YardAlertsPage {
    page: Frame,
    t: Typed,
    here: String,
    yard: String,
    roles: Vec<String>,
    kinds: Vec<Kind>,
    steps: Vec<Step>,
    people: Vec<Person>,
    digest: String,
}

struct Kind {
    words: String,
    choices: Vec<Choice>,
}

struct Choice {
    id: String,
    name: String,
    label: String,
    options: Vec<(&'static str, String, bool)>,
}

struct Step {
    label: String,
    person_field: String,
    person: String,
    wait_field: String,
    wait: String,
}

struct Person {
    id: String,
    name: String,
}

async fn yard_alerts(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
) -> Page {
    show(&site, &req, &actor, *id, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, id: YardId, t: Typed) -> Page {
    let set = workflow::yard_alerts(&site.workshop, actor, id).await?;
    let choice = |n: usize, rule: &HearingRuleRow| {
        let name = field_of(rule.kind, rule.role);
        let now = t.value_or("rules", &name, rule.wanted.as_str()).to_owned();
        Choice {
            id: format!("rule-{n}-{}", rule.role),
            label: t!("yard-alerts-of-role", kind = rule.kind, role = rule.role),
            options: Wanted::ALL.iter().map(|w| (w.as_str(), w.here(), w.as_str() == now)).collect(),
            name,
        }
    };
    let kinds = AlertKind::OF_A_YARD
        .iter()
        .enumerate()
        .map(|(n, kind)| Kind {
            words: kind.here(),
            choices: set.rules.iter().filter(|r| r.kind == *kind).map(|r| choice(n, r)).collect(),
        })
        .collect();
    let step = |n: usize| {
        let (person_field, wait_field) = (format!("person-{n}"), format!("wait-{n}"));
        let kept = set.chain.get(n);
        let (person, wait) = (
            kept.map(|c| c.person_id.to_string()).unwrap_or_default(),
            kept.map(|c| c.wait_minutes.to_string()).unwrap_or_default(),
        );
        Step {
            label: t!("yard-alerts-step", step = n + 1),
            person: t.value_or("chain", &person_field, &person).to_owned(),
            wait,
            person_field,
            wait_field,
        }
    };
    let shown = YardAlertsPage {
        page: Frame::new(req, Some(actor)),
        here: format!("/set-up/yards/{id}/alerts"),
        roles: Role::ALL.iter().map(|r| r.here()).collect(),
        kinds,
        steps: (0..LONGEST_CHAIN.max(set.chain.len())).map(step).collect(),
        people: set.people.into_iter().map(|(id, name)| Person { id: id.to_string(), name }).collect(),
        digest: set.digest.map(|at| at.format("%H:%M").to_string()).unwrap_or_default(),
        yard: set.yard.name,
        t,
    };
    page_with(shown.t.status, &shown)
}

async fn rules(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let set = workflow::yard_alerts(&site.workshop, &actor, *id).await?.rules;
    // What was not on the form stays as it is.
    let read = |rule: HearingRuleRow| match form.text(&field_of(rule.kind, rule.role)) {
        "" => Ok(rule),
        word => word.parse().map(|wanted| HearingRuleRow { wanted, ..rule }),
    };
    let outcome = match set.into_iter().map(read).collect::<Result<Vec<_>, _>>() {
        Ok(rules) => workflow::require_alerts(&site.workshop, &actor, *id, rules).await,
        Err(_) => Err(refused("rules", said!("yard-alerts-which"))),
    };
    after(&site, &req, &actor, *id, ("rules", form), outcome).await
}

async fn chain(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome = match read_chain(&form) {
        Ok(steps) => {
            let chain = steps.iter().map(|(_, person, wait)| (*person, *wait)).collect();
            let set = workflow::set_chain(&site.workshop, &actor, *id, chain).await;
            set.map_err(|e| at_their_fields(e, &steps))
        }
        Err(e) => Err(e),
    };
    after(&site, &req, &actor, *id, ("chain", form), outcome).await
}

/// Of a place that was left empty nothing is in the chain: the third field may hold its second step.
fn at_their_fields(e: WorkflowError, steps: &[(usize, PersonId, i64)]) -> WorkflowError {
    let WorkflowError::Refused(Refusal::Invalid { problems }) = e else { return e };
    let moved = |p: Problem| {
        let mut parts = p.pointer.split('/').skip(2);
        let step = parts.next().and_then(|n| n.parse::<usize>().ok()).and_then(|n| steps.get(n));
        match (step, parts.next()) {
            (Some((field, ..)), Some("wait_minutes")) => Problem { pointer: format!("/wait-{field}"), ..p },
            (Some((field, ..)), _) => Problem { pointer: format!("/person-{field}"), ..p },
            (None, _) => p,
        }
    };
    WorkflowError::Refused(Refusal::Invalid { problems: problems.into_iter().map(moved).collect() })
}

/// Each step with the number of its fields.
fn read_chain(form: &Form) -> Result<Vec<(usize, PersonId, i64)>, WorkflowError> {
    let (mut chain, mut problems) = (Vec::new(), Vec::new());
    for n in 0..20 {
        let person = form.text(&format!("person-{n}"));
        if person.is_empty() {
            continue;
        }
        let minutes = form.text(&format!("wait-{n}")).trim().parse::<i64>();
        match (person.parse::<PersonId>(), minutes) {
            (Ok(person), Ok(minutes)) => chain.push((n, person, minutes)),
            (Err(_), _) => {
                problems.push(Problem::new(format!("/person-{n}"), said!("hearing-not-of-this-yard")));
            }
            (_, Err(_)) => problems.push(Problem::new(format!("/wait-{n}"), said!("set-up-refuse-number"))),
        }
    }
    if problems.is_empty() { Ok(chain) } else { Err(Refusal::Invalid { problems }.into()) }
}

async fn digest(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<YardId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome = match clock(form.text("at")) {
        Ok(at) => workflow::set_digest(&site.workshop, &actor, *id, at).await,
        Err(sentence) => Err(refused("at", sentence)),
    };
    after(&site, &req, &actor, *id, ("digest", form), outcome).await
}

async fn after(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: YardId,
    (name, form): (&str, Form),
    outcome: Result<(), WorkflowError>,
) -> Page {
    match outcome {
        Ok(()) => see_other(&format!("/set-up/yards/{id}/alerts?done=saved")),
        Err(e) => show(site, req, actor, id, Typed::not_taken(name, form, e)?).await,
    }
}

fn field_of(kind: AlertKind, role: Role) -> String {
    format!("{kind}/{role}")
}
