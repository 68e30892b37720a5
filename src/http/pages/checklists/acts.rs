//! What may be done with a version: edit it as a draft, copy it, compare it, take its file, retire it.

use actix_web::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use crate::domain::ids::ChecklistId;
use crate::domain::person::{Act, Actor};
use crate::http::Site;
use crate::http::pages::drafts::{Differs, differs};
use crate::http::pages::form::Form;
use crate::http::pages::frame::Frame;
use crate::http::pages::typed::Typed;
use crate::http::pages::{Page, page, page_with, see_other};
use crate::http::session::Signed;
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/checklists/{id}/file", web::get().to(file));
    cfg.route("/set-up/checklists/{id}/compare", web::get().to(compare));
    cfg.route("/set-up/checklists/{id}/edit", web::post().to(edit));
    cfg.route("/set-up/checklists/{id}/copy", web::get().to(copy_form));
    cfg.route("/set-up/checklists/{id}/copy", web::post().to(copy));
    cfg.route("/set-up/checklists/{id}/retire", web::get().to(retire_form));
    cfg.route("/set-up/checklists/{id}/retire", web::post().to(retire));
    cfg.route("/set-up/new-checklist", web::get().to(new_form));
    cfg.route("/set-up/new-checklist", web::post().to(new));
}

type Id = web::Path<ChecklistId>;
type Shared = web::Data<Site>;

#[derive(Template)]
#[template(path = "checklist_copy.html", config = ".askama.toml")]
struct CopyPage {
    page: Frame,
    t: Typed,
    action: String,
    back: String,
    /// Title of what is copied; empty when it begins from nothing.
    of: String,
}

#[derive(Template)]
#[template(path = "checklist_compare.html", config = ".askama.toml")]
struct ComparePage {
    page: Frame,
    back: String,
    before: String,
    after: String,
    differences: Vec<Differs>,
}

#[derive(Template)]
#[template(path = "checklist_retire.html", config = ".askama.toml")]
struct RetirePage {
    page: Frame,
    t: Typed,
    href: String,
    title: String,
    name: String,
    version: i64,
    /// Empty when every machine has another one.
    left_without_sentence: String,
}

/// As it was uploaded or saved, for keeping or for editing elsewhere.
async fn file(Signed(actor): Signed, id: Id, site: Shared) -> Page {
    let (row, _) = workflow::uploaded_checklist(&site.workshop, &actor, *id).await?;
    let name = format!("attachment; filename=\"{}-version-{}.toml\"", row.name, row.version);
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "application/toml; charset=utf-8"))
        .insert_header((CONTENT_DISPOSITION, name))
        .body(row.source))
}

async fn compare(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared) -> Page {
    let with = req.query_string().split('&').find_map(|pair| pair.strip_prefix("with="));
    // With nothing to compare it is compared with itself: no difference.
    let with: ChecklistId = with.and_then(|w| w.parse().ok()).unwrap_or(*id);
    let (mut before, mut after, mut found) =
        workflow::compare_checklists(&site.workshop, &actor, with, *id).await?;
    if before.name == after.name && before.version > after.version {
        // Always from the older one to the newer one.
        (before, after, found) = workflow::compare_checklists(&site.workshop, &actor, *id, with).await?;
    }
    page(&ComparePage {
        page: Frame::new(&req, Some(&actor)),
        back: format!("/set-up/checklists/{id}"),
        before: t!("checklists-version-title", title = before.title, version = before.version),
        after: t!("checklists-version-title", title = after.title, version = after.version),
        differences: found.iter().map(differs).collect(),
    })
}

async fn edit(Signed(actor): Signed, id: Id, site: Shared) -> Page {
    let draft = workflow::edit_checklist(&site.workshop, &actor, *id).await?;
    see_other(&format!("/set-up/drafts/{draft}"))
}

async fn copy_form(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared) -> Page {
    show_copy(&site, &req, &actor, Some(*id), Typed::nothing()).await
}

async fn copy(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    begin(&site, &req, &actor, Some(*id), form).await
}

async fn new_form(Signed(actor): Signed, req: HttpRequest, site: Shared) -> Page {
    show_copy(&site, &req, &actor, None, Typed::nothing()).await
}

async fn new(Signed(actor): Signed, req: HttpRequest, site: Shared, form: Form) -> Page {
    begin(&site, &req, &actor, None, form).await
}

async fn begin(site: &Site, req: &HttpRequest, actor: &Actor, of: Option<ChecklistId>, form: Form) -> Page {
    actor.must(Act::SetUpChecklists)?;
    let (title, classes) = (form.text("title"), form.text("classes"));
    match workflow::copy_checklist(&site.workshop, actor, of, title, classes).await {
        Ok(draft) => see_other(&format!("/set-up/drafts/{draft}")),
        Err(e) => show_copy(site, req, actor, of, Typed::not_taken("copy", form, e)?).await,
    }
}

async fn show_copy(site: &Site, req: &HttpRequest, actor: &Actor, of: Option<ChecklistId>, t: Typed) -> Page {
    actor.must(Act::SetUpChecklists)?;
    let (action, back, title) = match of {
        Some(id) => {
            let (row, _) = workflow::uploaded_checklist(&site.workshop, actor, id).await?;
            let back = format!("/set-up/checklists/{id}");
            (format!("{back}/copy"), back, row.title.to_string())
        }
        None => ("/set-up/new-checklist".to_owned(), "/set-up/checklists".to_owned(), String::new()),
    };
    page_with(t.status, &CopyPage { page: Frame::new(req, Some(actor)), t, action, back, of: title })
}

async fn retire_form(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared) -> Page {
    show_retire(&site, &req, &actor, *id, Typed::nothing()).await
}

async fn retire(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    match workflow::retire_checklist(&site.workshop, &actor, *id, form.text("reason")).await {
        Ok(()) => see_other("/set-up/checklists?done=checklist-retired"),
        Err(e) => show_retire(&site, &req, &actor, *id, Typed::not_taken("retire", form, e)?).await,
    }
}

async fn show_retire(site: &Site, req: &HttpRequest, actor: &Actor, id: ChecklistId, t: Typed) -> Page {
    let retiring = workflow::retiring_checklist(&site.workshop, actor, id).await?;
    page_with(
        t.status,
        &RetirePage {
            page: Frame::new(req, Some(actor)),
            t,
            href: format!("/set-up/checklists/{id}"),
            title: retiring.row.title.to_string(),
            name: retiring.row.name,
            version: retiring.row.version,
            left_without_sentence: left_without(&retiring.left_without, retiring.elsewhere),
        },
    )
}

fn left_without(here: &[String], elsewhere: usize) -> String {
    let listed = here.join(", ");
    let machines = match (here.is_empty(), elsewhere) {
        (true, 0) => return String::new(),
        (false, 0) => listed,
        (true, n) => t!("checklists-elsewhere", count = n),
        (false, n) => {
            t!("checklists-list-and", list = listed, last = t!("checklists-elsewhere", count = n))
        }
    };
    t!("checklists-left-without", machines = machines)
}
