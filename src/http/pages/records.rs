//! The owner's records: taking everything out, and how long it is kept.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::shown::{When, day};
use super::typed::Typed;
use super::{Page, page_with, see_other};
use crate::domain::person::{Act, Actor};
use crate::domain::retention::{AFTER_LEAVING, LOOKED_BACK_ON, RecordKind, Retention};
use crate::http::session::Signed;
use crate::http::{Site, export};
use crate::workflow::{self, ExportError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/records", web::get().to(records));
    cfg.route("/set-up/records", web::post().to(set));
    cfg.route("/set-up/records/export", web::post().to(take_out));
}

#[derive(Template)]
#[template(path = "records.html", config = ".askama.toml")]
struct RecordsPage {
    page: Frame,
    t: Typed,
    only_looking: bool,
    email: String,
    kinds: Vec<Kind>,
}

struct Kind {
    /// Of its field.
    name: &'static str,
    title: String,
    about: String,
    law: String,
    hint: String,
    months: String,
    set: bool,
    /// What would go.
    count: i64,
    before: When,
    first: Option<When>,
}

async fn records(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing(), None).await
}

async fn show(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    t: Typed,
    thought_of: Option<&Retention>,
) -> Page {
    actor.must(Act::SetRetention)?;
    let now = site.workshop.ambient.now();
    let zone =
        workflow::yards(&site.workshop, actor).await?.first().map_or("UTC".to_owned(), |y| y.zone.clone());
    let kinds = workflow::kept_kinds(&site.workshop, actor, thought_of).await?;
    let view = RecordsPage {
        page: Frame::new(req, Some(actor)),
        only_looking: thought_of.is_some(),
        email: workflow::my_email(&site.workshop, actor).await?,
        kinds: kinds
            .into_iter()
            .map(|k| Kind {
                name: k.kind.as_str(),
                title: k.kind.here(),
                about: about(k.kind),
                law: law(k.kind),
                hint: t!("records-months-hint", least = k.kind.least_months(), usual = k.kind.usual_months()),
                months: k.months.map(|m| m.to_string()).unwrap_or_default(),
                set: k.months.is_some(),
                count: k.would_go.count,
                before: day(k.before, &zone, now),
                first: k.would_go.first.map(|at| day(at, &zone, now)),
            })
            .collect(),
        t,
    };
    page_with(view.t.status, &view)
}

async fn set(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let outcome = match Retention::parse(|kind| form.text(kind.as_str())) {
        // What would go is seen before anything is set.
        Ok(to) if form.text("do") == "look" => {
            return show(&site, &req, &actor, Typed::nothing(), Some(&to)).await;
        }
        Ok(to) => workflow::set_retention(&site.workshop, &actor, &to).await,
        Err(refusal) => Err(refusal.into()),
    };
    match outcome {
        Ok(()) => see_other("/set-up/records?done=saved"),
        Err(e) => {
            actor.must(Act::SetRetention)?;
            show(&site, &req, &actor, Typed::not_taken("keep", form, e)?, None).await
        }
    }
}

async fn take_out(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let password = form.text("password");
    if let Err(e) = workflow::prove_for(&site.workshop, &actor, Act::TakeEverythingOut, password).await {
        actor.must_have_role_for(Act::TakeEverythingOut)?;
        // The password itself does not come back.
        let t = Typed::not_taken("export", Form::default(), e)?;
        return show(&site, &req, &actor, t, None).await;
    }
    export::archive(&site, &actor).await.map_err(|e| match e {
        ExportError::Workflow(e) => PageError::Workflow(e),
        ExportError::Write(e) => PageError::NotWritten(e),
    })
}

fn about(kind: RecordKind) -> String {
    match kind {
        RecordKind::Checks => t!("records-about-checks", months = LOOKED_BACK_ON),
        RecordKind::Repairs => t!("records-about-repairs", months = LOOKED_BACK_ON, left = AFTER_LEAVING),
        RecordKind::Alerts => t!("records-about-alerts"),
        RecordKind::Messages => t!("records-about-messages"),
    }
}

fn law(kind: RecordKind) -> String {
    match kind {
        RecordKind::Checks => t!("records-law-checks"),
        RecordKind::Repairs => t!("records-law-repairs"),
        RecordKind::Alerts | RecordKind::Messages => t!("records-law-alerts"),
    }
}
