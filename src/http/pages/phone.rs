//! What is on the phone and not with the server yet. The page is a frame: the phone fills it in, also without a signal.

use actix_web::http::header::{CACHE_CONTROL, ContentType};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use super::frame::Frame;
use super::{Page, page};
use crate::http::assets::{self, without_comments};
use crate::http::gzip::smallest;
use crate::http::session::Signed;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/phone", web::get().to(on_phone));
    cfg.route("/sw.js", web::get().to(worker));
}

#[derive(Template)]
#[template(path = "phone.html", config = ".askama.toml")]
struct OnPhonePage {
    page: Frame,
}

async fn on_phone(Signed(actor): Signed, req: HttpRequest) -> Page {
    page(&OnPhonePage { page: Frame::new(&req, Some(&actor)) })
}

/// The worker stands at the root, so that it may keep every page; what it imports is where all modules are. Browsers ask
/// for it anew each time: a new build is taken up at once.
async fn worker(req: HttpRequest) -> HttpResponse {
    let text = without_comments(&assets::text("sw.js")).replace("\"./", &format!("\"{}/", *assets::BASE));
    let mut answer = HttpResponse::Ok();
    answer.insert_header((CACHE_CONTROL, "no-cache")).insert_header(ContentType(
        "text/javascript; charset=utf-8".parse().unwrap_or(ContentType::octet_stream().0),
    ));
    let body = smallest(&req, &mut answer, text.into_bytes());
    answer.body(body)
}
