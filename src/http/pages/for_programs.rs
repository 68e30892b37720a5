//! What programs can ask, for the people who write them: made from the API's own document, group by group.

mod guide;

use actix_web::{HttpRequest, web};
use askama::Template;

use super::error::no_such_page;
use super::frame::Frame;
use super::{Page, markup, page};
use crate::domain::person::Role;
use crate::http::Site;
use crate::http::api::leaving::LEAVING;
use crate::http::session::Signed;
use guide::{Group, Kind, Member, Operation, Parameter, guide};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/for-programs", web::get().to(overview));
    cfg.route("/for-programs/{group}", web::get().to(group));
}

#[derive(Template)]
#[template(path = "for_programs.html", config = ".askama.toml")]
struct Overview {
    page: Frame,
    site: String,
    groups: &'static [Group],
    operations: usize,
    leaving: Vec<GoingOut>,
    only_pages: Vec<String>,
}

struct GoingOut {
    what: String,
    since: &'static str,
    until: &'static str,
    instead: &'static str,
}

#[derive(Template)]
#[template(path = "for_programs_group.html", config = ".askama.toml")]
struct GroupPage {
    page: Frame,
    group: &'static Group,
}

// What belongs to a site is the same for everybody, signed in or not.
async fn overview(signed: Option<Signed>, req: HttpRequest, site: web::Data<Site>) -> Page {
    let actor = signed.map(|Signed(actor)| actor);
    let groups = guide();
    page(&Overview {
        page: Frame::new(&req, actor.as_ref()),
        site: site.public_url.clone(),
        groups,
        operations: groups.iter().map(|g| g.operations.len()).sum(),
        leaving: LEAVING
            .iter()
            .map(|l| GoingOut {
                what: format!("{} {}", l.method, l.path),
                since: day(l.since),
                until: day(l.until),
                instead: l.instead,
            })
            .collect(),
        only_pages: vec![
            t!("programs-only-passkey"),
            t!("programs-only-pin"),
            t!("programs-only-welcome"),
            t!("programs-only-drafts"),
            t!("programs-only-narrow"),
            t!("programs-only-paper"),
        ],
    })
}

async fn group(signed: Option<Signed>, req: HttpRequest, name: web::Path<String>) -> Page {
    let actor = signed.map(|Signed(actor)| actor);
    match guide().iter().find(|g| g.address == *name) {
        Some(group) => page(&GroupPage { page: Frame::new(&req, actor.as_ref()), group }),
        None => Ok(no_such_page()),
    }
}

fn day(at: &'static str) -> &'static str {
    at.split('T').next().unwrap_or(at)
}

/// Who may ask, in a few words.
fn who(roles: &[Role]) -> String {
    match roles {
        [] => t!("programs-who-anybody"),
        all if all.len() == Role::ALL.len() => t!("programs-who-everybody"),
        some => some.iter().map(|r| r.here()).collect::<Vec<_>>().join(", "),
    }
}

/// Of which kind a member is, in words; what belongs to no language stands as the document has it.
fn kind_in_words(kind: &Kind) -> String {
    let one = if kind.words.is_empty() { kind.one.clone() } else { kind.words.join(" · ") };
    let many = if kind.list { t!("programs-list-of", what = one) } else { one };
    if kind.or_null { t!("programs-or-null", what = many) } else { many }
}

impl Operation {
    fn who_may(&self) -> String {
        who(self.roles)
    }
}

impl Parameter {
    fn place(&self) -> String {
        match self.place.as_str() {
            "path" => t!("programs-in-path"),
            "header" => t!("programs-in-header"),
            _ => t!("programs-in-query"),
        }
    }
}

impl Member {
    fn kind_words(&self) -> String {
        kind_in_words(&self.kind)
    }
}
