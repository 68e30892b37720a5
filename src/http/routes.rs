//! Every address of the site.

use actix_web::error::InternalError;
use actix_web::web;

use super::pages::error::{no_such_page, no_such_page_for};
use super::{api, assets, metrics, pages, ready};

pub fn configure(cfg: &mut web::ServiceConfig) {
    // A word where an id belongs leads nowhere, and says so as a page does.
    cfg.app_data(
        web::PathConfig::default()
            .error_handler(|error, _| InternalError::from_response(error, no_such_page()).into()),
    );
    cfg.route("/livez", web::get().to(ready::alive));
    cfg.route("/readyz", web::get().to(ready::ready));
    cfg.route("/metrics", web::get().to(metrics::metrics));
    cfg.route("/assets/{build}/{name}", web::get().to(assets::asset));
    api::configure(cfg);
    pages::routes(cfg);
    cfg.default_service(web::to(no_such_page_for));
}
