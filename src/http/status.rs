//! The one table from what went wrong to an HTTP status; pages and API share it.

use actix_web::http::StatusCode;

use crate::domain::refusal::Refusal;
use crate::workflow::WorkflowError;

pub fn status_of(error: &WorkflowError) -> StatusCode {
    match error {
        WorkflowError::Refused(
            Refusal::Forbidden(_)
            | Refusal::PasswordFirst(_)
            | Refusal::PasswordAgain(_)
            | Refusal::SecondStepFirst,
        ) => StatusCode::FORBIDDEN,
        WorkflowError::Refused(Refusal::CodeFirst) => StatusCode::UNAUTHORIZED,
        WorkflowError::Refused(Refusal::TooSoon { .. }) => StatusCode::TOO_MANY_REQUESTS,
        WorkflowError::Refused(Refusal::NotFound(_)) => StatusCode::NOT_FOUND,
        WorkflowError::Refused(Refusal::Conflict(_)) => StatusCode::CONFLICT,
        WorkflowError::Refused(Refusal::Invalid { .. }) => StatusCode::UNPROCESSABLE_ENTITY,
        e if e.is_changed() => StatusCode::CONFLICT,
        e if e.is_unavailable() || e.is_unsure() => StatusCode::SERVICE_UNAVAILABLE,
        e if e.is_full() => StatusCode::INSUFFICIENT_STORAGE,
        e if e.is_no_text() => StatusCode::UNPROCESSABLE_ENTITY,
        WorkflowError::Storage(_) => StatusCode::INTERNAL_SERVER_ERROR,
    }
}
