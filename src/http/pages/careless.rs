//! Checks to look at: answered far quicker than usual, the same figures again, hours that do not fit. By machine; who made
//! a check stands on the check itself.

use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, Utc};

use super::frame::Frame;
use super::shown::{When, when};
use super::{Page, page};
use crate::domain::careless::{LOOK_AT, Sign};
use crate::domain::ids::YardId;
use crate::domain::person::Act;
use crate::domain::refusal::{Refusal, Thing};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, CarelessMachine};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/checks/careless", web::get().to(careless));
}

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    yard: String,
    #[serde(default)]
    after: String,
}

struct Choice {
    id: String,
    name: String,
    chosen: bool,
}

struct Machine {
    id: String,
    href: String,
    unit_number: String,
    lines: Vec<Line>,
}

struct Line {
    when: When,
    href: String,
    sign: Sign,
    sentence: String,
}

/// Of one machine, why nothing is said.
struct Silence {
    href: String,
    unit_number: String,
    sentences: Vec<String>,
}

#[derive(Template)]
#[template(path = "careless.html", config = ".askama.toml")]
struct CarelessPage {
    page: Frame,
    yards: Vec<Choice>,
    days: i64,
    looked_at: usize,
    machines: Vec<Machine>,
    silences: Vec<Silence>,
    how: Vec<(Sign, String)>,
    later: bool,
    first_href: String,
    next_href: String,
}

async fn careless(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    actor.must(Act::SeeCareless)?;
    let yards = workflow::yards(&site.workshop, &actor).await?;
    let yard: YardId = if asked.yard.is_empty() {
        yards.first().ok_or(Refusal::NotFound(Thing::Yard))?.id
    } else {
        asked.yard.parse().map_err(|_| Refusal::NotFound(Thing::Yard))?
    };
    let found = workflow::careless_checks(&site.workshop, &actor, yard, &asked.after).await?;
    let now = site.workshop.ambient.now();
    let (zone, href) = (found.yard.zone.as_str(), format!("/checks/careless?yard={yard}"));
    page(&CarelessPage {
        page: Frame::new(&req, Some(&actor)),
        yards: yards
            .into_iter()
            .map(|y| Choice { id: y.id.to_string(), chosen: y.id == yard, name: y.name })
            .collect(),
        days: LOOK_AT.num_days(),
        looked_at: found.looked_at,
        machines: found
            .machines
            .iter()
            .filter(|m| !m.looked.odd.is_empty())
            .map(|m| machine(m, zone, now))
            .collect(),
        silences: found.machines.iter().filter(|m| !m.looked.unsaid.is_empty()).map(silence).collect(),
        how: Sign::ALL.iter().map(|s| (*s, s.how().to_string())).collect(),
        later: !asked.after.is_empty(),
        // A unit key has letters and digits only.
        next_href: found.next.map(|after| format!("{href}&after={after}")).unwrap_or_default(),
        first_href: href,
    })
}

fn machine(m: &CarelessMachine, zone: &str, now: DateTime<Utc>) -> Machine {
    let line = |o: &crate::domain::careless::Odd| Line {
        when: when(o.at, zone, now),
        href: format!("/checks/{}", o.check),
        sign: o.sign,
        sentence: o.sentence.to_string(),
    };
    Machine {
        id: m.id.to_string(),
        href: format!("/machines/{}", m.id),
        unit_number: m.unit_number.clone(),
        lines: m.looked.odd.iter().map(line).collect(),
    }
}

fn silence(m: &CarelessMachine) -> Silence {
    Silence {
        href: format!("/machines/{}", m.id),
        unit_number: m.unit_number.clone(),
        sentences: m.looked.unsaid.iter().map(|u| u.sentence.to_string()).collect(),
    }
}
