//! Bringing in files, and taking everything out.

use actix_web::{HttpResponse, post, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::bearer::Bearer;
use super::body::{Sent, SentFile};
use super::own_sessions::Proof;
use super::problem::{ApiError, ApiResult};
use super::words;
use crate::domain::import::{ImportKind, ImportOutcome};
use crate::domain::person::Act;
use crate::http::{Site, export};
use crate::workflow::{self, ExportError, Import};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ImportQuery {
    /// Only say what it would do.
    #[serde(default)]
    check: bool,
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
