//! What the API answers when it does not do what was asked: RFC 9457 problem details, with a JSON Pointer (RFC 6901) to
//! each member that was not taken.

use actix_web::http::StatusCode;
use actix_web::http::header::{ALLOW, RETRY_AFTER, WWW_AUTHENTICATE};
use actix_web::{HttpResponse, ResponseError};
use serde::Serialize;
use utoipa::ToSchema;

use crate::domain::refusal::Refusal;
use crate::http::photo_store::PhotoError;
use crate::http::status::status_of;
use crate::http::token::TokenError;
use crate::workflow::WorkflowError;

pub const PROBLEM_JSON: &str = "application/problem+json";

pub type ApiResult<T = HttpResponse> = Result<T, ApiError>;

#[derive(Debug, thiserror::Error)]
pub enum ApiError {
    #[error(transparent)]
    Workflow(#[from] WorkflowError),
    /// No access token came with the request.
    #[error("Send an access token with the request, in the Authorization header as Bearer.")]
    NoToken,
    #[error("The access token is not valid. Sign in again, or trade the refresh token for a new one.")]
    BadToken,
    /// The cookie of a page session that has ended came instead of a token.
    #[error("You are signed out. Sign in again; nothing you saved is lost.")]
    SessionOver,
    /// Recorded on a phone by another person than is signed in there now.
    #[error("Somebody else recorded it. It is sent when they sign in on this phone again.")]
    SomebodyElse,
    /// Password or refresh token not accepted.
    #[error("{0}")]
    NotSignedIn(String),
    #[error("{0}")]
    Unreadable(String),
    #[error("Send {0}.")]
    WrongType(&'static str),
    #[error("The body is larger than is taken here: 256 KiB, or 16 MiB for a photo.")]
    TooLarge,
    #[error("There is nothing at this address. What there is, is in /api/openapi.json.")]
    NoSuchAddress,
    #[error("This address takes {0}.")]
    WrongMethod(String),
    /// `If-Match` named another state of it than the present one.
    #[error("It has changed since you looked. Get it again, then decide.")]
    Stale,
    #[error(transparent)]
    Token(#[from] TokenError),
    #[error("a photo could not be kept")]
    Photo(#[source] PhotoError),
}

/// RFC 9457 problem details.
#[derive(Debug, Serialize, ToSchema)]
pub struct Problem {
    /// Always `about:blank`: the status says what kind of problem it is.
    #[serde(rename = "type")]
    kind: &'static str,
    title: String,
    status: u16,
    /// A sentence that can be shown as it is.
    detail: String,
    /// One entry for each member that was not taken.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    errors: Vec<Fault>,
}

/// One member that was not taken.
#[derive(Debug, Serialize, ToSchema)]
pub struct Fault {
    /// RFC 6901 pointer into the body; empty for the whole of it.
    pointer: String,
    detail: String,
}

impl From<Refusal> for ApiError {
    fn from(refusal: Refusal) -> Self {
        Self::Workflow(refusal.into())
    }
}

impl ResponseError for ApiError {
    fn status_code(&self) -> StatusCode {
        match self {
            Self::Workflow(e) => status_of(e),
            Self::NoToken | Self::BadToken | Self::SessionOver | Self::NotSignedIn(_) => {
                StatusCode::UNAUTHORIZED
            }
            Self::SomebodyElse => StatusCode::FORBIDDEN,
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::WrongType(_) => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::NoSuchAddress => StatusCode::NOT_FOUND,
            Self::WrongMethod(_) => StatusCode::METHOD_NOT_ALLOWED,
            Self::Stale => StatusCode::PRECONDITION_FAILED,
            Self::Photo(e) if e.may_pass() => StatusCode::SERVICE_UNAVAILABLE,
            Self::Token(_) | Self::Photo(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn error_response(&self) -> HttpResponse {
        let status = self.status_code();
        if status.is_server_error() {
            tracing::error!(error = ?self, "an API request failed");
        }
        let mut answer = HttpResponse::build(status);
        match self {
            // RFC 6750, 3.1: no error code when the request carried no token at all.
            Self::NoToken | Self::SessionOver | Self::NotSignedIn(_) => {
                answer.insert_header((WWW_AUTHENTICATE, r#"Bearer realm="chock""#));
            }
            Self::BadToken => {
                answer.insert_header((WWW_AUTHENTICATE, r#"Bearer realm="chock", error="invalid_token""#));
            }
            Self::WrongMethod(methods) => {
                answer.insert_header((ALLOW, methods.as_str()));
            }
            _ if status == StatusCode::SERVICE_UNAVAILABLE => {
                answer.insert_header((RETRY_AFTER, "5"));
            }
            _ => {}
        }
        answer.content_type(PROBLEM_JSON).json(Problem {
            kind: "about:blank",
            title: status.canonical_reason().unwrap_or("Problem").to_owned(),
            status: status.as_u16(),
            detail: self.detail(),
            errors: self.faults(),
        })
    }
}

impl ApiError {
    /// For people; nothing of the inside of the server is in it.
    fn detail(&self) -> String {
        match self {
            Self::Workflow(WorkflowError::Refused(r)) => capitalised(r.to_string()),
            Self::Workflow(e) if e.is_changed() => {
                "Somebody else changed this at the same moment. Get it again, then decide.".to_owned()
            }
            Self::Workflow(e) if e.is_unavailable() => {
                "The database does not answer just now. Nothing was changed. Try again in a moment."
                    .to_owned()
            }
            Self::Photo(e) if e.may_pass() => {
                "The place where pictures are kept cannot be reached just now. What it belongs to is in. Send the picture again.".to_owned()
            }
            Self::Workflow(_) | Self::Token(_) | Self::Photo(_) => {
                "Something went wrong on the server. Nothing was changed. It has been logged.".to_owned()
            }
            other => other.to_string(),
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Workflow(WorkflowError::Refused(Refusal::Invalid { problems })) => problems
                .iter()
                .map(|p| Fault { pointer: p.pointer.clone(), detail: p.sentence.to_string() })
                .collect(),
            _ => Vec::new(),
        }
    }
}

fn capitalised(sentence: String) -> String {
    let mut letters = sentence.chars();
    match letters.next() {
        Some(first) if first.is_lowercase() => format!("{}{}.", first.to_uppercase(), letters.as_str()),
        _ => sentence,
    }
}
