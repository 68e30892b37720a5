//! Every address of the site.

use actix_web::web;

use super::pages::error::no_such_page;
use super::{assets, pages};

pub fn configure(cfg: &mut web::ServiceConfig) {
    cfg.route("/assets/{build}/{name}", web::get().to(assets::asset));
    pages::routes(cfg);
    cfg.default_service(web::to(async || no_such_page()));
}
