//! What the API answers when it does not do what was asked: RFC 9457 problem details, with a JSON Pointer (RFC 6901) to
//! each member that was not taken.

use std::fmt;

use actix_web::http::StatusCode;
use actix_web::http::header::{ALLOW, RETRY_AFTER, WWW_AUTHENTICATE};
use actix_web::{HttpResponse, ResponseError};
use serde::Serialize;
use utoipa::ToSchema;

use crate::domain::refusal::Refusal;
use crate::http::photo_store::PhotoError;
use crate::http::status::status_of;
use crate::http::token::TokenError;
use crate::words::Text;
use crate::workflow::WorkflowError;

pub const PROBLEM_JSON: &str = "application/problem+json";

pub type ApiResult<T = HttpResponse> = Result<T, ApiError>;

#[derive(Debug)]
pub enum ApiError {
    Workflow(WorkflowError),
    /// No access token came with the request.
    NoToken,
    BadToken,
    /// The cookie of a page session that has ended came instead of a token.
    SessionOver,
    /// Recorded on a phone by another person than is signed in there now.
    SomebodyElse,
    /// Password or refresh token not accepted.
    NotSignedIn(Text),
    Unreadable(Text),
    WrongType(Text),
    TooLarge,
    NoSuchAddress,
    WrongMethod(String),
    /// `If-Match` named another state of it than the present one.
    Stale,
    Token(TokenError),
    Photo(PhotoError),
    /// A file that was to be sent could not be written.
    NotWritten(std::io::Error),
}

/// RFC 9457 problem details.
#[derive(Debug, Serialize, ToSchema)]
pub struct Problem {
    /// `about:blank` where the status says what kind of problem it is. At sign-in `/for-programs#second-step-needed`: the
    /// password was right, send it again with the code. Anywhere `/for-programs#second-step-to-set-up`: the owner asks this
    /// person for a second step, which is set up on the pages or under `/me/second-step`. Of a 409
    /// `/for-programs#changed-meanwhile`: somebody changed the same at the same moment, and the same sent again may be taken;
    /// any other 409 is answered the same again until something else is done first.
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

impl From<WorkflowError> for ApiError {
    fn from(error: WorkflowError) -> Self {
        Self::Workflow(error)
    }
}

impl From<TokenError> for ApiError {
    fn from(error: TokenError) -> Self {
        Self::Token(error)
    }
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
            Self::Token(_) | Self::Photo(_) | Self::NotWritten(_) => StatusCode::INTERNAL_SERVER_ERROR,
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
            Self::NoToken
            | Self::SessionOver
            | Self::NotSignedIn(_)
            | Self::Workflow(WorkflowError::Refused(Refusal::CodeFirst)) => {
                answer.insert_header((WWW_AUTHENTICATE, r#"Bearer realm="chock""#));
            }
            Self::BadToken => {
                answer.insert_header((WWW_AUTHENTICATE, r#"Bearer realm="chock", error="invalid_token""#));
            }
            Self::WrongMethod(methods) => {
                answer.insert_header((ALLOW, methods.as_str()));
            }
            Self::Workflow(WorkflowError::Refused(Refusal::TooSoon { seconds })) => {
                answer.insert_header((RETRY_AFTER, *seconds));
            }
            _ if matches!(status, StatusCode::SERVICE_UNAVAILABLE | StatusCode::INSUFFICIENT_STORAGE) => {
                answer.insert_header((RETRY_AFTER, "5"));
            }
            _ => {}
        }
        answer.content_type(PROBLEM_JSON).json(Problem {
            kind: self.kind(),
            title: title(status),
            status: status.as_u16(),
            detail: self.detail(),
            errors: self.faults(),
        })
    }
}

impl ApiError {
    /// It may have been done, and nobody here can tell.
    pub const fn is_unsure(&self) -> bool {
        matches!(self, Self::Workflow(e) if e.is_unsure())
    }

    fn kind(&self) -> &'static str {
        match self {
            Self::Workflow(WorkflowError::Refused(Refusal::CodeFirst)) => "/for-programs#second-step-needed",
            Self::Workflow(WorkflowError::Refused(Refusal::SecondStepFirst)) => {
                "/for-programs#second-step-to-set-up"
            }
            Self::Workflow(e) if e.is_changed() => "/for-programs#changed-meanwhile",
            _ => "about:blank",
        }
    }

    /// For people; nothing of the inside of the server is in it.
    fn detail(&self) -> String {
        match self {
            Self::Workflow(WorkflowError::Refused(r)) => r.to_string(),
            Self::Workflow(e) if e.is_changed() => t!("problem-changed"),
            Self::Workflow(e) if e.is_unavailable() => t!("problem-unavailable"),
            Self::Workflow(e) if e.is_unsure() => t!("problem-unsure"),
            Self::Workflow(e) if e.is_full() => t!("problem-full"),
            Self::Workflow(e) if e.is_no_text() => t!("problem-no-text"),
            Self::Photo(e) if e.may_pass() => t!("problem-picture-later"),
            Self::Workflow(_) | Self::Token(_) | Self::Photo(_) | Self::NotWritten(_) => {
                t!("problem-on-the-server")
            }
            Self::NoToken => t!("problem-no-token"),
            Self::BadToken => t!("problem-bad-token"),
            Self::SessionOver => t!("problem-session-over"),
            Self::SomebodyElse => t!("problem-somebody-else"),
            Self::NotSignedIn(sentence) | Self::Unreadable(sentence) | Self::WrongType(sentence) => {
                sentence.to_string()
            }
            Self::TooLarge => t!("problem-too-large"),
            Self::NoSuchAddress => t!("problem-no-such-address"),
            Self::WrongMethod(methods) => t!("problem-wrong-method", methods = methods),
            Self::Stale => t!("problem-stale"),
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

impl fmt::Display for ApiError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.detail())
    }
}

impl std::error::Error for ApiError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Workflow(e) => Some(e),
            Self::Token(e) => Some(e),
            Self::Photo(e) => Some(e),
            Self::NotWritten(e) => Some(e),
            _ => None,
        }
    }
}

/// The phrase of RFC 9110 for the status; RFC 9457 lets it be said in another language.
fn title(status: StatusCode) -> String {
    match status.as_u16() {
        400 => t!("problem-title-bad-request"),
        401 => t!("problem-title-unauthorized"),
        403 => t!("problem-title-forbidden"),
        404 => t!("problem-title-not-found"),
        405 => t!("problem-title-method-not-allowed"),
        409 => t!("problem-title-conflict"),
        412 => t!("problem-title-precondition-failed"),
        413 => t!("problem-title-content-too-large"),
        415 => t!("problem-title-unsupported-media-type"),
        429 => t!("problem-title-too-many-requests"),
        422 => t!("problem-title-unprocessable-content"),
        503 => t!("problem-title-service-unavailable"),
        507 => t!("problem-title-insufficient-storage"),
        _ => t!("problem-title-internal-server-error"),
    }
}
