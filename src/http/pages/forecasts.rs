//! When machines are back, how good that was foreseen so far, and what would change it.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, TimeDelta, Utc};

use super::foreseen::{Foreseen, by, foreseen};
use super::frame::Frame;
use super::shown::span;
use super::{Page, page_with};
use crate::domain::forecast::score::{FEWEST, Score, Scored};
use crate::domain::ids::YardId;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::http::session::Signed;
use crate::http::status::status_of;
use crate::words::here;
use crate::workflow::{self, Asked, Difference, MOST_FORESEEN, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/forecasts", web::get().to(forecasts));
}

#[derive(serde::Deserialize)]
struct Question {
    #[serde(default)]
    what: String,
    #[serde(default)]
    yard: String,
    #[serde(default)]
    order: String,
    #[serde(default)]
    days: String,
}

#[derive(Template)]
#[template(path = "forecasts.html", config = ".askama.toml")]
struct ForecastsView {
    page: Frame,
    open: Vec<Open>,
    not_foreseen: i64,
    yards: Vec<(String, String)>,
    /// Number and unit number of what waits for something with a date.
    dated: Vec<(i64, String)>,
    /// What was asked, in words.
    asked: String,
    score: Option<ScoreView>,
    counted: usize,
    question: Question,
    /// Not asked, or not understood.
    wrong: String,
    /// None until something was asked.
    differences: Option<Vec<Changed>>,
}

struct Open {
    href: String,
    unit_number: String,
    number: i64,
    foreseen: Foreseen,
}

struct ScoreView {
    counted: usize,
    likely: String,
    surely: String,
    hours: String,
    /// Beside "as long as last time"; empty where too few had a last time.
    ours: String,
    last_time: String,
    beside: usize,
}

struct Changed {
    href: String,
    unit_number: String,
    number: i64,
    before: String,
    after: String,
    by: String,
    sooner: bool,
}

async fn forecasts(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Question>,
    site: web::Data<Site>,
) -> Page {
    let found = workflow::forecasts(&site.workshop, &actor).await?;
    let now = site.workshop.ambient.now();
    let question = asked.into_inner();
    let mut status = actix_web::http::StatusCode::OK;
    let (mut differences, mut wrong) = (None, String::new());
    if !question.what.is_empty() {
        let outcome = match read(&question) {
            Ok(asked) => workflow::what_if(&site.workshop, &actor, asked).await,
            Err(e) => Err(e.into()),
        };
        match outcome {
            Ok(changed) => differences = Some(changed.into_iter().map(|d| change(d, now)).collect()),
            Err(WorkflowError::Refused(refusal @ Refusal::Invalid { .. })) => {
                wrong = refusal.to_string();
                status = status_of(&refusal.into());
            }
            Err(e) => return Err(e.into()),
        }
    }
    let (score, counted) = match found.scored {
        Scored::TooFew { counted, .. } => (None, counted),
        Scored::Score(s) => (Some(score_view(&s)), s.counted),
    };
    let view = ForecastsView {
        page: Frame::new(&req, Some(&actor)),
        open: found
            .open
            .into_iter()
            .map(|o| Open {
                href: format!("/work-orders/{}", o.id),
                foreseen: foreseen(&o.foreseen, o.held_defects > 0, &o.zone, now),
                unit_number: o.unit_number,
                number: o.number,
            })
            .collect(),
        not_foreseen: found.not_foreseen,
        dated: found.dated,
        asked: in_words(&question, &found.yards),
        yards: found.yards.into_iter().map(|y| (y.id.to_string(), y.name)).collect(),
        score,
        counted,
        question,
        wrong,
        differences,
    };
    page_with(status, &view)
}

fn in_words(question: &Question, yards: &[workflow::YardRow]) -> String {
    match read(question) {
        Ok(Asked::OneMoreMechanic { yard }) => {
            let name = yards.iter().find(|y| y.id == yard).map_or("", |y| y.name.as_str());
            t!("forecasts-asked-mechanic", yard = name)
        }
        Ok(Asked::Earlier { order, days }) => t!("forecasts-asked-earlier", number = order, days = days),
        Err(_) => String::new(),
    }
}

fn read(question: &Question) -> Result<Asked, Refusal> {
    match question.what.as_str() {
        "mechanic" => {
            let yard: YardId = question
                .yard
                .parse()
                .map_err(|_| Refusal::invalid("/yard", said!("forecast-choose-yard")))?;
            Ok(Asked::OneMoreMechanic { yard })
        }
        _ => Ok(Asked::Earlier {
            order: question
                .order
                .trim()
                .parse()
                .map_err(|_| Refusal::invalid("/order", said!("forecast-no-such-order")))?,
            days: question
                .days
                .trim()
                .parse()
                .map_err(|_| Refusal::invalid("/days", said!("forecast-days")))?,
        }),
    }
}

fn change(d: Difference, now: DateTime<Utc>) -> Changed {
    let zone = d.order.zone.clone();
    let words = |likely: Option<DateTime<Utc>>, surely| {
        likely.map(|at| by(at, surely, d.order.held_defects > 0, &zone, now)).unwrap_or_default()
    };
    Changed {
        href: format!("/work-orders/{}", d.order.id),
        before: words(d.before, d.surely_before),
        after: words(d.after, d.surely_after),
        by: span(if d.sooner < TimeDelta::zero() { -d.sooner } else { d.sooner }),
        sooner: d.sooner > TimeDelta::zero(),
        unit_number: d.order.unit_number,
        number: d.order.number,
    }
}

fn score_view(s: &Score) -> ScoreView {
    let percent = |share: f64| here().figure(&format!("{:.0} %", share * 100.0));
    let hours = |h: f64| here().figure(&format!("{h:.1}"));
    let beside = s.beside_last_time.as_ref();
    ScoreView {
        counted: s.counted,
        likely: percent(s.likely_held),
        surely: percent(s.almost_surely_held),
        hours: hours(s.mean_error_hours),
        ours: beside.map(|b| hours(b.ours_hours)).unwrap_or_default(),
        last_time: beside.map(|b| hours(b.last_time_hours)).unwrap_or_default(),
        beside: beside.map_or(0, |b| b.counted),
    }
}
