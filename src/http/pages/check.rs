//! The pre-use check on the phone: one walk round the machine, every answer on one form, and every question back at
//! the field it is about with nothing typed lost.

mod filled;
mod view;

pub use filled::answers_of as answers;

use actix_multipart::Multipart;
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::{Page, page_with, see_other};
use crate::domain::checklist::Checklist;
use crate::domain::ids::{CheckId, ChecklistId, MachineId};
use crate::domain::person::Actor;
use crate::domain::refusal::{Problem, Refusal};
use crate::http::Site;
use crate::http::session::Signed;
use crate::http::status::status_of;
use crate::words::Text;
use crate::workflow::{self, PhotoOf, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/check", web::get().to(form));
    cfg.route("/machines/{id}/check", web::post().to(submit));
}

async fn form(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    show(&site, &actor, &req, *id, None).await
}

async fn submit(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
    payload: web::Payload,
) -> Page {
    // Read only now: the body of somebody who is not signed in is not worth the memory.
    let sent = if req.headers().get("content-type").is_some_and(|t| t.as_bytes().starts_with(b"multipart/")) {
        Form::multipart(Multipart::new(req.headers(), payload)).await?
    } else {
        let body = payload.to_bytes_limited(MOST_WITHOUT_PHOTOS).await;
        let body = body
            .ok()
            .and_then(Result::ok)
            .ok_or_else(|| PageError::Unreadable(t!("check-form-too-large")))?;
        Form::urlencoded(&body)?
    };
    let checklist_id: ChecklistId = sent.text("checklist").parse().map_err(|_| unreadable())?;
    let check: CheckId = sent.text("check").parse().map_err(|_| unreadable())?;
    let (_, checklist) = workflow::uploaded_checklist(&site.workshop, &actor, checklist_id).await?;
    let done = match filled::read(&sent, check, *id, checklist_id, &checklist) {
        Ok(command) => workflow::submit_check(&site.workshop, &actor, command).await,
        Err(problems) => Err(Refusal::Invalid { problems }.into()),
    };
    match done {
        Ok(_) => {
            let lost = keep_photos(&site, &actor, check, &checklist, &sent).await;
            see_other(&format!("/checks/{check}{lost}"))
        }
        Err(e) => {
            let not_taken = NotTaken::new(e, sent, checklist_id)?;
            show(&site, &actor, &req, *id, Some(not_taken)).await
        }
    }
}

/// A whole check without photos is some 20 KB.
const MOST_WITHOUT_PHOTOS: usize = 256 * 1024;

fn unreadable() -> PageError {
    PageError::Unreadable(t!("check-form-not-whole"))
}

/// A form that comes back, and why.
struct NotTaken {
    status: StatusCode,
    problems: Vec<Problem>,
    sent: Form,
    checklist: ChecklistId,
}

impl NotTaken {
    fn new(error: WorkflowError, sent: Form, checklist: ChecklistId) -> Result<Self, PageError> {
        let status = status_of(&error);
        let whole = |sentence: Text| vec![Problem { pointer: String::new(), sentence }];
        let problems = match &error {
            WorkflowError::Refused(Refusal::Invalid { problems }) => problems.clone(),
            WorkflowError::Refused(Refusal::Conflict(sentence)) => whole(sentence.clone()),
            e if e.is_changed() => whole(said!("check-form-changed")),
            _ => return Err(error.into()),
        };
        Ok(Self { status, problems, sent, checklist })
    }
}

async fn show(
    site: &Site,
    actor: &Actor,
    req: &HttpRequest,
    id: MachineId,
    not_taken: Option<NotTaken>,
) -> Page {
    let mut form = workflow::checklist_form(&site.workshop, actor, id).await?;
    let mut status = StatusCode::OK;
    let mut problems = Vec::new();
    let mut sent = Form::default();
    if let Some(n) = not_taken {
        // The version it was filled in on, even if a newer one has come meanwhile.
        if n.checklist != form.checklist_id {
            (_, form.checklist) = workflow::uploaded_checklist(&site.workshop, actor, n.checklist).await?;
            form.checklist_id = n.checklist;
        }
        form.id = n.sent.text("check").parse().unwrap_or(form.id);
        (status, problems, sent) = (n.status, n.problems, n.sent);
    }
    let now = site.workshop.ambient.now();
    page_with(status, &view::check_page(Frame::new(req, Some(actor)), &form, &sent, problems, now))
}

/// The check is in whatever becomes of its photos. Answers what the verdict page must be told: `?photos=` and the
/// stops whose photo was not kept, with an `s` where it was the store that failed.
async fn keep_photos(
    site: &Site,
    actor: &Actor,
    check: CheckId,
    checklist: &Checklist,
    sent: &Form,
) -> String {
    let mut lost: Vec<String> = Vec::new();
    for stop in checklist.walk() {
        let field = format!("a.{}.photo", stop.index);
        for file in sent.files.iter().filter(|f| f.field == field) {
            let mut unreached = "";
            let kept = async {
                let stored = site
                    .photos
                    .keep(file.bytes.clone())
                    .await
                    .inspect_err(|e| unreached = if e.may_pass() { "s" } else { "" })
                    .map_err(|e| tracing::warn!(error = %e, %check, "a photo was not kept"))?;
                let place = stop.place();
                let of =
                    PhotoOf::Check { check, item: place.item, position: place.position.unwrap_or_default() };
                workflow::attach_photo(&site.workshop, actor, of, stored)
                    .await
                    .map_err(|e| tracing::error!(error = ?e, %check, "a photo was not attached"))
            };
            if kept.await.is_err() {
                lost.push(format!("{}{unreached}", stop.index));
            }
        }
    }
    if lost.is_empty() { String::new() } else { format!("?photos={}", lost.join(".")) }
}
