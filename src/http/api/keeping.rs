//! Bringing in files, taking everything out, and how long records are kept.

use actix_web::{HttpRequest, HttpResponse, get, post, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::bearer::Bearer;
use super::body::{Sent, SentFile};
use super::etag::{Stated, still, tagged};
use super::own_sessions::Proof;
use super::problem::{ApiError, ApiResult};
use super::words;
use crate::domain::import::{ImportKind, ImportOutcome};
use crate::domain::person::Act;
use crate::domain::retention::{RecordKind, Retention};
use crate::http::{Site, export};
use crate::workflow::{self, ExportError, Import, KeptKind};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ImportQuery {
    /// Only say what it would do.
    #[serde(default)]
    check: bool,
}

/// Which columns a table may have.
#[derive(Serialize, ToSchema)]
pub struct ImportColumns {
    columns: Vec<ImportColumn>,
}

/// Its name stands in the first line, in any order.
#[derive(Serialize, ToSchema)]
pub struct ImportColumn {
    name: &'static str,
    needed: bool,
    /// What belongs into it.
    about: String,
    example: &'static str,
}

/// What a file does, or would do.
#[derive(Serialize, ToSchema)]
pub struct Imported {
    /// False when it was only looked at.
    taken: bool,
    rows: Vec<ImportedRow>,
    /// Machines of a fleet's file that are not known here; they are left out.
    unknown: Vec<String>,
    /// While there is one, nothing is taken.
    faults: Vec<ImportFault>,
    /// Of everybody who is new.
    invited: Vec<InvitedPerson>,
}

#[derive(Serialize, ToSchema)]
pub struct ImportedRow {
    line: u64,
    name: String,
    #[schema(value_type = words::ImportOutcome)]
    outcome: ImportOutcome,
    changes: Vec<ImportedChange>,
}

#[derive(Serialize, ToSchema)]
pub struct ImportedChange {
    column: &'static str,
    before: String,
    after: String,
}

#[derive(Serialize, ToSchema)]
pub struct ImportFault {
    /// 0 for the file as a whole.
    line: u64,
    /// Empty for the whole line.
    column: String,
    detail: String,
}

#[derive(Serialize, ToSchema)]
pub struct InvitedPerson {
    name: String,
    mail_address: String,
    /// The path of the one-time link with which the person sets a password. Shown once, good for seven days.
    link: String,
}

/// How long records are kept.
#[derive(Serialize, ToSchema)]
pub struct RecordsKept {
    kinds: Vec<KindKept>,
}

#[derive(Serialize, ToSchema)]
pub struct KindKept {
    #[schema(value_type = words::RecordKind)]
    kind: RecordKind,
    /// None: for ever.
    months: Option<u32>,
    /// Nothing is removed sooner.
    least_months: u32,
    /// By what is set, or by what is usual where nothing is: what is older than this.
    before: DateTime<Utc>,
    /// How many would go, and from when the first of them is.
    would_go: i64,
    first_at: Option<DateTime<Utc>>,
}

/// Months by kind. One that is left out is kept for ever.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetRecordsKept {
    checks: Option<u32>,
    repairs: Option<u32>,
    alerts: Option<u32>,
    messages: Option<u32>,
}

/// See which columns a table of machines, people, parts or meter readings may have
#[utoipa::path(tag = "import and export", params(("kind" = inline(words::ImportKind), Path)),
    responses((status = 200, body = ImportColumns)))]
#[get("/import/{kind}")]
pub async fn see_import_columns(asks: Bearer, kind: web::Path<ImportKind>) -> ApiResult {
    workflow::may_import(&asks.0, *kind)?;
    let columns = kind.columns().iter().map(|c| ImportColumn {
        name: c.name,
        needed: c.needed,
        about: t!(c.about),
        example: c.example,
    });
    Ok(HttpResponse::Ok().json(ImportColumns { columns: columns.collect() }))
}

/// Take machines, people, parts or meter readings from a file: all of it or nothing
#[utoipa::path(tag = "import and export", params(ImportQuery, ("kind" = inline(words::ImportKind), Path)),
    request_body(content((String = "text/csv"), (String = "application/xml"), (String = "application/json"))),
    responses((status = 200, body = Imported), (status = 422, description = "Each error points to its line and column")))]
#[post("/import/{kind}")]
pub async fn import_file(
    site: web::Data<Site>,
    asks: Bearer,
    kind: web::Path<ImportKind>,
    query: web::Query<ImportQuery>,
    sent: SentFile,
) -> ApiResult {
    if query.check {
        let import = workflow::preview_import(&site.workshop, &asks.0, *kind, &sent.0).await?;
        return Ok(HttpResponse::Ok().json(imported(import, false, Vec::new())));
    }
    let taken = workflow::take_import(&site.workshop, &asks.0, *kind, &sent.0).await?;
    Ok(HttpResponse::Ok().json(imported(taken.import, true, taken.invited)))
}

/// Take everything out, as one archive of tables
#[utoipa::path(tag = "import and export", request_body = Proof, responses((status = 200, content_type = "application/zip", body = words::Bytes)))]
#[post("/export")]
pub async fn export_everything(site: web::Data<Site>, asks: Bearer, sent: Sent<Proof>) -> ApiResult {
    workflow::prove_for(&site.workshop, &asks.0, Act::TakeEverythingOut, &sent.0.password).await?;
    export::archive(&site, &asks.0).await.map_err(|e| match e {
        ExportError::Workflow(e) => e.into(),
        ExportError::Write(e) => ApiError::NotWritten(e),
    })
}

/// See how long records are kept, and what would go
#[utoipa::path(tag = "import and export", responses((status = 200, body = RecordsKept)))]
#[get("/retention")]
pub async fn see_retention(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &kept(&site, &asks, None).await?))
}

/// Set how long records are kept. What goes is gone: look first, with `check`, at what would go
#[utoipa::path(tag = "import and export", params(ImportQuery), request_body = SetRecordsKept,
    responses((status = 200, body = RecordsKept)))]
#[put("/retention")]
pub async fn set_retention(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<ImportQuery>,
    sent: Sent<SetRecordsKept>,
) -> ApiResult {
    asks.0.must(Act::SetRetention)?;
    still(&req, kept(&site, &asks, None)).await?;
    let months = |kind| match kind {
        RecordKind::Checks => sent.0.checks,
        RecordKind::Repairs => sent.0.repairs,
        RecordKind::Alerts => sent.0.alerts,
        RecordKind::Messages => sent.0.messages,
    };
    let typed: Vec<_> = RecordKind::ALL
        .iter()
        .map(|kind| (*kind, months(*kind).map(|m| m.to_string()).unwrap_or_default()))
        .collect();
    let to = Retention::parse(|kind| typed.iter().find(|(k, _)| *k == kind).map_or("", |(_, text)| text))?;
    if !query.check {
        workflow::set_retention(&site.workshop, &asks.0, &to).await?;
    }
    Ok(tagged(&req, &kept(&site, &asks, Some(&to)).await?))
}

async fn kept(site: &Site, asks: &Bearer, would_be: Option<&Retention>) -> ApiResult<RecordsKept> {
    let kinds = workflow::kept_kinds(&site.workshop, &asks.0, would_be).await?;
    Ok(RecordsKept { kinds: kinds.into_iter().map(Into::into).collect() })
}

/// What was set, and not what would go by now.
impl Stated for RecordsKept {
    fn state(&self) -> impl Serialize {
        self.kinds.iter().map(|k| (k.kind, k.months)).collect::<Vec<_>>()
    }
}

impl From<KeptKind> for KindKept {
    fn from(k: KeptKind) -> Self {
        Self {
            kind: k.kind,
            months: k.months,
            least_months: k.kind.least_months(),
            before: k.before,
            would_go: k.would_go.count,
            first_at: k.would_go.first,
        }
    }
}

fn imported(import: Import, taken: bool, invited: Vec<(String, String, String)>) -> Imported {
    let change =
        |c: workflow::ImportChange| ImportedChange { column: c.column, before: c.before, after: c.after };
    Imported {
        taken,
        rows: import
            .rows
            .into_iter()
            .map(|r| ImportedRow {
                line: r.line,
                name: r.name,
                outcome: r.outcome,
                changes: r.changes.into_iter().map(change).collect(),
            })
            .collect(),
        unknown: import.unknown,
        faults: import
            .faults
            .into_iter()
            .map(|f| ImportFault { line: f.line, column: f.column, detail: f.sentence.to_string() })
            .collect(),
        invited: invited
            .into_iter()
            .map(|(name, mail_address, secret)| InvitedPerson {
                name,
                mail_address,
                link: format!("/welcome/{secret}"),
            })
            .collect(),
    }
}
