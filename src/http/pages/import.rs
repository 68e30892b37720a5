//! Bringing in a file: choose it, see what it would do, take all of it. Between looking and taking nothing is kept here: the
//! file's text goes along in the form, and is judged again.

use actix_multipart::Multipart;
use actix_web::http::StatusCode;
use actix_web::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use actix_web::{HttpMessage, HttpRequest, HttpResponse, web};
use askama::Template;

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::{Page, page, page_with};
use crate::domain::import::{ImportKind, ImportOutcome, MOST_BYTES};
use crate::domain::machine::class_said;
use crate::domain::person::Act;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::http::session::{Signed, here_of};
use crate::workflow::{self, Import, ImportChange, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/import", web::get().to(kinds));
    cfg.route("/set-up/import/{kind}", web::get().to(choose));
    cfg.route("/set-up/import/{kind}", web::post().to(sent));
    cfg.route("/set-up/import/{kind}/empty.csv", web::get().to(empty));
}

/// Rows that are shown of a large file.
const SHOWN: usize = 200;
const SHOWN_NOT_COVERED: usize = 20;

#[derive(Template)]
#[template(path = "import.html", config = ".askama.toml")]
struct KindsPage {
    page: Frame,
    kinds: Vec<(ImportKind, String)>,
}

#[derive(Template)]
#[template(path = "import_file.html", config = ".askama.toml")]
struct FilePage {
    page: Frame,
    kind: ImportKind,
    title: String,
    about: String,
    refused: String,
}

#[derive(Template)]
#[template(path = "import_preview.html", config = ".askama.toml")]
struct PreviewPage {
    page: Frame,
    kind: ImportKind,
    title: String,
    counts: Counts,
    faults: Vec<Fault>,
    unknown: Vec<String>,
    not_covered: Vec<String>,
    rows: Vec<Row>,
    more: usize,
    may_take: bool,
    /// Taking it gives rights away, and the password was given long ago.
    asks_password: bool,
    wrong_password: String,
    /// The file itself.
    text: String,
}

#[derive(Template)]
#[template(path = "import_taken.html", config = ".askama.toml")]
struct TakenPage {
    page: Frame,
    title: String,
    counts: Counts,
    unknown: Vec<String>,
    not_covered: Vec<String>,
    links: Vec<Link>,
}

struct Counts {
    added: usize,
    changed: usize,
    same: usize,
}

struct Fault {
    line: String,
    column: String,
    sentence: String,
}

struct Row {
    line: u64,
    name: String,
    outcome: String,
    changes: String,
}

struct Link {
    name: String,
    email: String,
    link: String,
}

async fn kinds(Signed(actor): Signed, req: HttpRequest) -> Page {
    actor.must(Act::SetUpMachines)?;
    let kinds = workflow::import_kinds(&actor);
    page(&KindsPage {
        page: Frame::new(&req, Some(&actor)),
        kinds: kinds.into_iter().map(|k| (k, about(k))).collect(),
    })
}

async fn choose(Signed(actor): Signed, req: HttpRequest, kind: web::Path<ImportKind>) -> Page {
    workflow::may_import(&actor, *kind)?;
    show(&req, &actor, *kind, StatusCode::OK, String::new())
}

fn show(
    req: &HttpRequest,
    actor: &crate::domain::person::Actor,
    kind: ImportKind,
    status: StatusCode,
    refused: String,
) -> Page {
    let view = FilePage {
        page: Frame::new(req, Some(actor)),
        kind,
        title: kind.here(),
        about: about(kind),
        refused,
    };
    page_with(status, &view)
}

async fn empty(Signed(actor): Signed, kind: web::Path<ImportKind>) -> Page {
    workflow::may_import(&actor, *kind)?;
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "text/csv; charset=utf-8; header=present"))
        .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"{kind}.csv\"")))
        .body(kind.template()))
}

/// With the file, what it would do; with its text and the word to take it, it is taken.
async fn sent(
    Signed(actor): Signed,
    req: HttpRequest,
    kind: web::Path<ImportKind>,
    site: web::Data<Site>,
    payload: web::Payload,
) -> Page {
    let kind = *kind;
    workflow::may_import(&actor, kind)?;
    let form = form_of(&req, payload).await?;
    let file = form.files.iter().find(|f| f.field == "file");
    let taking = form.text("do") == "take";
    let bytes: &[u8] = match file {
        Some(file) => &file.bytes,
        None if form.has("text") => form.text("text").as_bytes(),
        None => return show(&req, &actor, kind, StatusCode::UNPROCESSABLE_ENTITY, t!("import-no-file")),
    };
    if taking {
        let signer = if kind == ImportKind::People {
            workflow::to_sign(&site.workshop, &actor, &here_of(&req), form.text("password")).await
        } else {
            Ok(actor.clone())
        };
        let signer = match signer {
            Ok(signer) => signer,
            Err(WorkflowError::Refused(refusal @ Refusal::Invalid { .. })) => {
                let import = workflow::preview_import(&site.workshop, &actor, kind, bytes).await?;
                return preview(&req, &actor, kind, import, bytes, refusal.to_string());
            }
            Err(e) => return Err(e.into()),
        };
        match workflow::take_import(&site.workshop, &signer, kind, bytes).await {
            Ok(taken) => {
                let link = |(name, email, secret): (String, String, String)| Link {
                    name,
                    email,
                    link: format!("{}/welcome/{secret}", site.public_url),
                };
                return page(&TakenPage {
                    page: Frame::new(&req, Some(&actor)),
                    title: kind.here(),
                    counts: counts(&taken.import),
                    not_covered: not_covered(&taken.import),
                    unknown: taken.import.unknown,
                    links: taken.invited.into_iter().map(link).collect(),
                });
            }
            // Something changed since it was looked at: shown again, with what is wrong now.
            Err(WorkflowError::Refused(Refusal::Invalid { .. })) => {}
            Err(e) => return Err(e.into()),
        }
    }
    let import = workflow::preview_import(&site.workshop, &actor, kind, bytes).await?;
    preview(&req, &actor, kind, import, bytes, String::new())
}

fn preview(
    req: &HttpRequest,
    actor: &crate::domain::person::Actor,
    kind: ImportKind,
    import: Import,
    bytes: &[u8],
    wrong_password: String,
) -> Page {
    let may_take = import.changes_something();
    let sound = import.faults.is_empty() && wrong_password.is_empty();
    let status = if sound { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let view = PreviewPage {
        page: Frame::new(req, Some(actor)),
        kind,
        title: kind.here(),
        counts: counts(&import),
        faults: import
            .faults
            .iter()
            .map(|f| Fault {
                line: if f.line == 0 { String::new() } else { f.line.to_string() },
                column: f.column.clone(),
                sentence: f.sentence.to_string(),
            })
            .collect(),
        not_covered: not_covered(&import),
        unknown: import.unknown,
        more: import.rows.len().saturating_sub(SHOWN),
        rows: import
            .rows
            .iter()
            .take(SHOWN)
            .map(|r| Row {
                line: r.line,
                name: r.name.clone(),
                outcome: r.outcome.here(),
                changes: r.changes.iter().map(detail).collect::<Vec<_>>().join("; "),
            })
            .collect(),
        text: if may_take { String::from_utf8_lossy(bytes).into_owned() } else { String::new() },
        may_take,
        asks_password: kind == ImportKind::People && (actor.by_pin || actor.long_ago),
        wrong_password,
    };
    page_with(status, &view)
}

/// The first of them: one checklist may cover many.
fn not_covered(import: &Import) -> Vec<String> {
    let said = |m: &workflow::NotCovered| {
        t!("set-up-no-checklist", class = class_said(&m.class), unit = m.unit_number)
    };
    import.not_covered.iter().take(SHOWN_NOT_COVERED).map(said).collect()
}

fn detail(change: &ImportChange) -> String {
    let shown = |text: &str| if text.is_empty() { t!("import-empty-cell") } else { text.to_owned() };
    if change.before.is_empty() {
        t!("import-is", column = change.column, after = shown(&change.after))
    } else {
        t!("import-from-to", column = change.column, before = change.before, after = shown(&change.after))
    }
}

fn counts(import: &Import) -> Counts {
    Counts {
        added: import.count(ImportOutcome::Added),
        changed: import.count(ImportOutcome::Changed),
        same: import.count(ImportOutcome::AlreadySo),
    }
}

fn about(kind: ImportKind) -> String {
    match kind {
        ImportKind::Machines => t!("import-about-machines"),
        ImportKind::People => t!("import-about-people"),
        ImportKind::Parts => t!("import-about-parts"),
        ImportKind::Readings => t!("import-about-readings"),
    }
}

async fn form_of(req: &HttpRequest, payload: web::Payload) -> Result<Form, PageError> {
    if !req.content_type().eq_ignore_ascii_case("multipart/form-data") {
        return Ok(Form::default());
    }
    // Browsers send a text with two bytes for the end of a line.
    Form::multipart_up_to(Multipart::new(req.headers(), payload), 2 * MOST_BYTES).await
}
