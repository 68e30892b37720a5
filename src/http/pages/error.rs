//! A page that could not be shown or a form that was not taken, in a clear sentence.

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{Payload, ServiceRequest, ServiceResponse};
use actix_web::http::header::{ContentType, LOCATION, RETRY_AFTER};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::{Error, FromRequest, HttpMessage, HttpRequest, HttpResponse, ResponseError};
use askama::Template;

use super::frame::Frame;
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::http::photo_store::PhotoError;
use crate::http::session::Signed;
use crate::http::{assets, status::status_of};
use crate::words::here;
use crate::workflow::WorkflowError;

#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// Nobody is signed in: goes to the sign-in page and comes back afterwards.
    #[error("sign in first")]
    SignIn { back_to: String },
    /// The owner asks for a second step, which is set up first.
    #[error("set up the second step first")]
    SecondStepFirst,
    #[error(transparent)]
    Workflow(#[from] WorkflowError),
    /// Not done, and where to go on from there: an address and the words of its button.
    #[error("{refusal}")]
    GoOnAt { refusal: Refusal, href: String, words: String },
    /// What was sent is no form we know.
    #[error("{0}")]
    Unreadable(String),
    #[error("the page could not be rendered")]
    Template(#[source] askama::Error),
    #[error("a picture could not be read")]
    Photo(#[source] PhotoError),
    #[error("a file could not be written")]
    NotWritten(#[source] std::io::Error),
}

impl From<Refusal> for PageError {
    fn from(refusal: Refusal) -> Self {
        Self::Workflow(refusal.into())
    }
}

#[derive(Template)]
#[template(path = "error.html", config = ".askama.toml")]
struct ErrorPage {
    page: Frame,
    status: u16,
    title: String,
    sentences: Vec<String>,
    /// The way on is to give the password.
    password_first: bool,
    /// Something was typed that the browser still has.
    typed: bool,
    /// Address and words of the first button.
    go_on: Option<(String, String)>,
}

impl ResponseError for PageError {
    fn status_code(&self) -> StatusCode {
        match self {
            Self::SignIn { .. } | Self::SecondStepFirst => StatusCode::SEE_OTHER,
            Self::Workflow(e) => status_of(e),
            Self::GoOnAt { refusal, .. } => status_of(&WorkflowError::Refused(refusal.clone())),
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::Photo(e) if e.may_pass() => StatusCode::SERVICE_UNAVAILABLE,
            Self::Template(_) | Self::Photo(_) | Self::NotWritten(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn error_response(&self) -> HttpResponse {
        if let Self::SignIn { back_to } = self {
            let to = format!("/sign-in?to={}", escape(back_to));
            return HttpResponse::SeeOther().insert_header((LOCATION, to)).finish();
        }
        if let Self::SecondStepFirst = self {
            return HttpResponse::SeeOther().insert_header((LOCATION, "/me/second-step")).finish();
        }
        let status = self.status_code();
        if status.is_server_error() {
            tracing::error!(error = ?self, "a page failed");
        }
        let mut answer = HttpResponse::build(status);
        answer.insert_header(ContentType::html());
        if matches!(status, StatusCode::SERVICE_UNAVAILABLE | StatusCode::INSUFFICIENT_STORAGE) {
            answer.insert_header((RETRY_AFTER, "5"));
        }
        answer.body(self.shown(bare()))
    }
}

/// A refusal is shown with the menu of whoever is signed in around it.
pub async fn framed<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let res = next.call(req).await?;
    let actor = res.request().extensions().get::<Actor>().cloned();
    let error = res.response().error().and_then(|e| e.as_error::<PageError>());
    match (error, actor) {
        (Some(error), Some(actor)) if error.status_code().is_client_error() => {
            let page = error.shown(around(res.request(), &actor));
            let answer =
                HttpResponse::build(error.status_code()).insert_header(ContentType::html()).body(page);
            Ok(res.into_response(answer).map_into_right_body())
        }
        _ => Ok(res.map_into_left_body()),
    }
}

impl PageError {
    fn shown(&self, page: Frame) -> String {
        let go_on = match self {
            Self::GoOnAt { href, words, .. } => Some((href.clone(), words.clone())),
            _ => None,
        };
        render(page, self.status_code(), self.sentences(), self.is_password_first(), go_on)
    }

    const fn is_password_first(&self) -> bool {
        matches!(self, Self::Workflow(WorkflowError::Refused(Refusal::PasswordFirst(_))))
    }

    fn sentences(&self) -> Vec<String> {
        match self {
            Self::Workflow(WorkflowError::Refused(Refusal::Invalid { problems })) => {
                problems.iter().map(|p| p.sentence.to_string()).collect()
            }
            Self::Workflow(WorkflowError::Refused(r)) | Self::GoOnAt { refusal: r, .. } => {
                vec![r.to_string()]
            }
            Self::Workflow(e) if e.is_changed() => vec![t!("error-changed")],
            Self::Workflow(e) if e.is_unavailable() => vec![t!("error-unavailable")],
            Self::Workflow(e) if e.is_unsure() => vec![t!("error-unsure")],
            Self::Workflow(e) if e.is_full() => vec![t!("error-full")],
            Self::Workflow(e) if e.is_no_text() => vec![t!("problem-no-text")],
            Self::Photo(e) if e.may_pass() => vec![t!("error-picture-later")],
            Self::Unreadable(sentence) => vec![sentence.clone()],
            _ => vec![t!("error-on-the-server")],
        }
    }
}

tokio::task_local! {
    /// Whether something was sent along with what is asked for: then there is something to go back for.
    static SENT: bool;
}

/// Lets the page of an error know whether something was sent.
pub async fn knowing_what_was_sent<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    let sent = req.method() == Method::POST;
    SENT.scope(sent, next.call(req)).await
}

/// The page for an address that leads nowhere.
pub fn no_such_page() -> HttpResponse {
    nothing_here(bare())
}

/// The same, for whoever may be signed in.
pub async fn no_such_page_for(req: HttpRequest) -> HttpResponse {
    let signed = Signed::from_request(&req, &mut Payload::None).await;
    nothing_here(signed.map_or_else(|_| bare(), |Signed(actor)| around(&req, &actor)))
}

fn nothing_here(page: Frame) -> HttpResponse {
    let (status, sentence) = (StatusCode::NOT_FOUND, t!("error-no-such-page"));
    let body = render(page, status, vec![sentence], false, None);
    HttpResponse::NotFound().insert_header(ContentType::html()).body(body)
}

fn around(req: &HttpRequest, actor: &Actor) -> Frame {
    let mut page = Frame::new(req, Some(actor));
    // An address that was refused is not one to come back to.
    "/".clone_into(&mut page.path);
    if !req.method().is_safe() {
        // What was sent cannot be asked for again in another language.
        page.other_languages.clear();
    }
    page
}

/// For when nobody is known to be signed in.
fn bare() -> Frame {
    Frame {
        assets: &assets::BASE,
        path: String::new(),
        person: None,
        links: Vec::new(),
        notice: None,
        change_person: false,
        once: uuid::Uuid::nil(),
        lang: here(),
        // The address of an error is not one to come back to.
        other_languages: Vec::new(),
    }
}

fn render(
    page: Frame,
    status: StatusCode,
    sentences: Vec<String>,
    password_first: bool,
    go_on: Option<(String, String)>,
) -> String {
    let title = match status.as_u16() {
        403 => t!("error-title-not-allowed"),
        404 => t!("error-title-not-found"),
        409 => t!("error-title-not-done"),
        400 | 422 => t!("error-title-not-taken"),
        429 | 503 | 507 => t!("error-title-not-now"),
        _ => t!("error-title-went-wrong"),
    };
    let typed = SENT.try_with(|sent| *sent).unwrap_or(false) && !matches!(status.as_u16(), 403 | 404);
    let page = ErrorPage { page, status: status.as_u16(), title, sentences, password_first, typed, go_on };
    page.render().unwrap_or(page.title)
}

fn escape(text: &str) -> String {
    text.bytes()
        .map(|b| match b {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' => char::from(b).to_string(),
            _ => format!("%{b:02X}"),
        })
        .collect()
}
