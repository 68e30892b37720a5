//! Every address of the site.

use actix_web::web;

use super::pages::error::no_such_page;
use super::{api, assets, pages};

pub fn configure(cfg: &mut web::ServiceConfig) {
    cfg.route("/assets/{build}/{name}", web::get().to(assets::asset));
    api::configure(cfg);
    pages::routes(cfg);
    cfg.default_service(web::to(async || no_such_page()));
}
