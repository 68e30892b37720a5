//! Every address of the site.

use actix_web::error::InternalError;
use actix_web::{HttpResponse, web};

use super::pages::error::no_such_page;
use super::{api, assets, pages};

pub fn configure(cfg: &mut web::ServiceConfig) {
    // A word where an id belongs leads nowhere, and says so as a page does.
    cfg.app_data(
        web::PathConfig::default()
            .error_handler(|error, _| InternalError::from_response(error, no_such_page()).into()),
    );
    cfg.route("/livez", web::get().to(async || HttpResponse::Ok().body("alive\n")));
    cfg.route("/readyz", web::get().to(ready));
    cfg.route("/assets/{build}/{name}", web::get().to(assets::asset));
    api::configure(cfg);
    pages::routes(cfg);
    cfg.default_service(web::to(async || no_such_page()));
}

/// Ready when the database answers.
async fn ready(site: web::Data<super::Site>) -> HttpResponse {
    match crate::workflow::next_delivery_at(&site.workshop).await {
        Ok(_) => HttpResponse::Ok().body("ready\n"),
        Err(_) => HttpResponse::ServiceUnavailable()
            .insert_header(("Retry-After", "5"))
            .body("the database does not answer\n"),
    }
}
