//! The pages: HTML that works without JavaScript.

#[macro_use]
pub mod markup;

pub mod archive;
pub mod audit;
pub mod board;
pub mod calendar;
pub mod careless;
pub mod chart;
pub mod check;
pub mod checklists;
pub mod defect;
pub mod devices;
pub mod drafts;
pub mod error;
pub mod figures;
pub mod fitted;
pub mod for_programs;
pub mod forecasts;
pub mod foreseen;
pub mod form;
pub mod frame;
pub mod gate;
pub mod hold;
pub mod import;
pub mod labels;
pub mod language;
pub mod live;
pub mod local_time;
pub mod machines;
pub mod me;
pub mod meter;
pub mod my_alerts;
pub mod my_time;
pub mod numbers;
pub mod order;
pub mod outbox;
pub mod outside;
pub mod own_sessions;
pub mod passkeys;
pub mod password;
pub mod people;
pub mod phone;
pub mod photo;
pub mod pin;
pub mod qr;
pub mod queue;
pub mod record;
pub mod records;
pub mod release_note;
pub mod report;
pub mod second_step;
pub mod set_up;
pub mod set_up_labour;
pub mod shown;
pub mod sign_in;
pub mod store;
pub mod tag;
pub mod told;
pub mod trail_heads;
pub mod try_out;
pub mod typed;
pub mod verdict;
pub mod waiting;
pub mod webhooks;
pub mod working_time;
pub mod yard_alerts;

use actix_web::error::InternalError;
use actix_web::http::header::{ContentType, LOCATION};
use actix_web::{HttpResponse, web};
use askama::Template;

use error::PageError;

pub type Page = Result<HttpResponse, PageError>;

/// Renders a page with status 200.
pub fn page(template: &impl Template) -> Page {
    page_with(actix_web::http::StatusCode::OK, template)
}

pub fn page_with(status: actix_web::http::StatusCode, template: &impl Template) -> Page {
    let html = template.render().map_err(PageError::Template)?;
    Ok(HttpResponse::build(status).insert_header(ContentType::html()).body(html))
}

/// After a change: see the page that shows it, so that reloading does not do it twice.
pub fn see_other(to: &str) -> Page {
    Ok(HttpResponse::SeeOther().insert_header((LOCATION, to)).finish())
}

pub fn routes(cfg: &mut actix_web::web::ServiceConfig) {
    // An address with something else where an id belongs is an address that leads nowhere.
    cfg.app_data(
        web::PathConfig::default()
            .error_handler(|e, _| InternalError::from_response(e, error::no_such_page()).into()),
    );
    language::routes(cfg);
    me::routes(cfg);
    own_sessions::routes(cfg);
    passkeys::routes(cfg);
    password::routes(cfg);
    second_step::routes(cfg);
    my_alerts::routes(cfg);
    calendar::routes(cfg);
    told::routes(cfg);
    sign_in::routes(cfg);
    machines::routes(cfg);
    // Before the address that takes any id.
    labels::routes(cfg);
    gate::routes(cfg);
    defect::routes(cfg);
    check::routes(cfg);
    // Before the address that takes any id.
    careless::routes(cfg);
    verdict::routes(cfg);
    record::routes(cfg);
    archive::routes(cfg);
    report::routes(cfg);
    hold::routes(cfg);
    meter::routes(cfg);
    tag::routes(cfg);
    phone::routes(cfg);
    photo::routes(cfg);
    devices::routes(cfg);
    pin::routes(cfg);
    queue::routes(cfg);
    order::routes(cfg);
    outside::routes(cfg);
    forecasts::routes(cfg);
    for_programs::routes(cfg);
    release_note::routes(cfg);
    board::routes(cfg);
    numbers::routes(cfg);
    live::routes(cfg);
    store::routes(cfg);
    fitted::routes(cfg);
    outbox::routes(cfg);
    audit::routes(cfg);
    trail_heads::routes(cfg);
    set_up::routes(cfg);
    webhooks::routes(cfg);
    working_time::routes(cfg);
    yard_alerts::routes(cfg);
    set_up_labour::routes(cfg);
    my_time::routes(cfg);
    people::routes(cfg);
    import::routes(cfg);
    records::routes(cfg);
    checklists::routes(cfg);
    drafts::routes(cfg);
    try_out::routes(cfg);
}
