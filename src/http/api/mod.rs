//! The API for programs: JSON under `/api/v1`, described by `/api/openapi.json`.

mod alerts;
pub(super) mod bearer;
mod board;
mod body;
mod careless;
mod check_data;
mod checklists;
mod checks;
mod defect_record;
mod defects;
mod devices;
pub(super) mod etag;
mod every_answer;
mod examples;
mod figures;
mod keeping;
mod labour;
pub mod leaving;
mod machine_record;
mod machines;
mod number_rows;
mod once;
mod order_more;
mod order_shapes;
mod orders;
mod own_more;
mod own_sessions;
mod own_settings;
mod people;
mod photos;
pub(super) mod problem;
mod queries;
mod second_step;
mod sessions;
mod stock;
mod store;
mod supply;
mod trail;
mod trail_heads;
mod wear;
mod webhooks;
mod who_may;
pub(super) mod words;
mod working_time;
mod yards;

use std::sync::OnceLock;

use actix_web::dev::ResourceDef;
use actix_web::http::header::{CACHE_CONTROL, ContentType, ETAG, EntityTag};
use actix_web::middleware::from_fn;
use actix_web::{App, HttpRequest, HttpResponse, ResponseError, web};
use utoipa::OpenApi as _;
use utoipa::openapi::path::Operation;
use utoipa::openapi::security::{Http, HttpAuthScheme, SecurityScheme};
use utoipa::openapi::{OpenApi, PathItem};
use utoipa_actix_web::AppExt;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::domain::person::Role;
use etag::{has_it_already, tag_of_bytes};
use problem::ApiError;

const BASE: &str = "/api/v1";

/// Mounts the API. What is under `/api` and leads nowhere is answered with a problem, not with a page.
pub fn configure(cfg: &mut web::ServiceConfig) {
    cfg.service(
        web::scope("/api")
            .app_data(web::PathConfig::default().error_handler(|_, req| no_answer(req).into()))
            .app_data(web::QueryConfig::default().error_handler(|e, _| {
                ApiError::Unreadable(said!("problem-query", error = e.to_string())).into()
            }))
            .route("/openapi.json", web::get().to(document))
            .service(
                web::scope("/v1")
                    .configure(routes)
                    .default_service(web::to(nowhere))
                    .wrap(from_fn(once::once))
                    .wrap(from_fn(queries::known))
                    .wrap(from_fn(leaving::say)),
            )
            .default_service(web::to(nowhere)),
    );
}

/// The roles of which one is enough for an operation; none where nobody needs to be signed in.
pub fn roles_of(operation: &str) -> &'static [Role] {
    who_may::roles(operation)
}

/// The OpenAPI document, made from the handlers themselves.
pub fn openapi() -> OpenApi {
    let scope = utoipa_actix_web::scope(BASE).configure(described);
    let (_, mut api) =
        App::new().into_utoipa_app().openapi(Described::openapi()).service(scope).split_for_parts();
    for (path, item) in &mut api.paths.paths {
        for (method, operation) in operations(item) {
            every_answer::say(method, operation);
            once::say(method, path, operation);
            who_may::say(operation);
            examples::add(operation);
        }
    }
    if let Some(components) = &mut api.components {
        every_answer::components(components);
        let scheme = Http::builder().scheme(HttpAuthScheme::Bearer).bearer_format("JWT").build();
        components.add_security_scheme("access-token", SecurityScheme::Http(scheme));
    }
    leaving::mark(&mut api, leaving::LEAVING);
    api
}

#[derive(utoipa::OpenApi)]
#[openapi(
    info(title = "Chock", description = "From a failed pre-use check to a signed return to service."),
    components(schemas(problem::Problem, problem::Fault)),
    security(("access-token" = []))
)]
struct Described;

/// What the API answers, for either kind of configuration: the one that answers, and the one that also describes. The
/// latter gathers megabytes of schemas, which every thread of a server would keep.
macro_rules! answers_with {
    ($cfg:ident) => {
        $cfg.service(sessions::sign_in).service(sessions::refresh).service(sessions::sign_out);
        $cfg.service(own_sessions::see_own_sessions)
            .service(own_sessions::end_own_sessions)
            .service(own_sessions::change_password);
        $cfg.service(own_settings::see_me)
            .service(own_settings::choose_settings)
            .service(own_settings::see_own_time);
        $cfg.service(second_step::see_own_second_step)
            .service(second_step::begin_second_step)
            .service(second_step::confirm_second_step)
            .service(second_step::renew_recovery_codes)
            .service(second_step::remove_own_second_step)
            .service(second_step::see_second_step_rule)
            .service(second_step::set_second_step_rule);
        $cfg.service(machines::list_machines)
            .service(machines::see_machine)
            .service(machines::add_machine)
            .service(machines::read_meter);
        $cfg.service(machine_record::see_record)
            .service(machine_record::see_archive)
            .service(machine_record::retire_machine);
        $cfg.service(checklists::next_check)
            .service(checklists::list_checklists)
            .service(checklists::see_checklist)
            .service(checklists::upload_checklist)
            .service(checklists::retire_checklist);
        // Before the address that takes any id.
        $cfg.service(careless::see_careless_checks);
        $cfg.service(check_data::see_check_data).service(check_data::see_check_data_of);
        $cfg.service(checks::submit_check).service(checks::see_check).service(photos::photo_of_check);
        $cfg.service(photos::photo_of_defect).service(photos::photo_of_order).service(photos::see_photo);
        $cfg.service(defect_record::see_defect)
            .service(defect_record::raise_defect)
            .service(defect_record::lower_defect)
            .service(defect_record::see_own_reports);
        $cfg.service(defects::report_defect).service(defects::place_hold).service(defects::lift_hold);
        // Before the address that takes any id.
        $cfg.service(order_more::see_away);
        $cfg.service(orders::see_queue)
            .service(orders::open_work_order)
            .service(orders::see_work_order)
            .service(orders::claim_work_order)
            .service(orders::hand_back_work_order)
            .service(orders::start_labour)
            .service(orders::stop_labour)
            .service(orders::enter_labour)
            .service(orders::reserve_part)
            .service(orders::issue_part)
            .service(orders::return_part)
            .service(orders::wait_for)
            .service(orders::finish_work)
            .service(orders::retest_defect)
            .service(orders::release_machine)
            .service(orders::cancel_work_order);
        $cfg.service(order_more::pin_work_order)
            .service(order_more::unpin_work_order)
            .service(order_more::leave_note)
            .service(order_more::split_work_order)
            .service(order_more::merge_work_orders)
            .service(order_more::send_outside)
            .service(order_more::ask_after_outside)
            .service(order_more::back_from_outside)
            .service(order_more::invoice_outside);
        $cfg.service(order_more::see_forecasts)
            .service(order_more::one_more_mechanic)
            .service(order_more::comes_earlier);
        $cfg.service(board::see_board);
        $cfg.service(figures::see_numbers);
        $cfg.service(figures::see_figures);
        $cfg.service(wear::see_wear);
        $cfg.service(number_rows::see_downs)
            .service(number_rows::see_defects_found)
            .service(number_rows::see_orders_ended)
            .service(number_rows::see_holds_acknowledged)
            .service(number_rows::see_unchecked);
        $cfg.service(store::list_parts)
            .service(store::see_part)
            .service(store::add_part)
            .service(store::receive_part);
        $cfg.service(stock::adjust_stock)
            .service(stock::transfer_stock)
            .service(stock::order_part)
            .service(stock::take_stock)
            .service(stock::see_reorder)
            .service(stock::see_fitted)
            .service(stock::raise_same);
        $cfg.service(supply::place_part)
            .service(supply::set_supply)
            .service(supply::expect_part)
            .service(supply::drop_on_order)
            .service(supply::see_reorder_rules)
            .service(supply::set_reorder_rules)
            .service(supply::read_stock_ledger);
        $cfg.service(yards::list_yards)
            .service(yards::see_yard)
            .service(yards::add_yard)
            .service(yards::set_yard_need)
            .service(yards::set_yard_altitude)
            .service(yards::set_one_person_yard);
        $cfg.service(working_time::see_working_time)
            .service(working_time::set_week)
            .service(working_time::add_holiday)
            .service(working_time::remove_holiday)
            .service(working_time::add_absence)
            .service(working_time::remove_absence);
        // The entry's address takes any id: last.
        $cfg.service(labour::see_labour_settings)
            .service(labour::set_rate)
            .service(labour::set_overtime)
            .service(labour::set_skills_needed)
            .service(labour::set_labour_of)
            .service(labour::put_labour_right);
        $cfg.service(people::list_people)
            .service(people::add_person)
            .service(people::see_person)
            .service(people::change_person)
            .service(people::disable_person)
            .service(people::invite_person)
            .service(people::remove_second_step_of_person);
        $cfg.service(devices::list_devices).service(devices::forget_device);
        $cfg.service(keeping::see_import_columns)
            .service(keeping::import_file)
            .service(keeping::export_everything)
            .service(keeping::see_retention)
            .service(keeping::set_retention);
        $cfg.service(alerts::acknowledge_alert)
            .service(alerts::resend_alert)
            .service(alerts::see_own_alerts)
            .service(alerts::choose_alerts)
            .service(alerts::see_yard_alerts)
            .service(alerts::set_yard_alerts);
        $cfg.service(webhooks::list_webhooks)
            .service(webhooks::add_webhook)
            .service(webhooks::see_webhook)
            .service(webhooks::see_webhook_messages)
            .service(webhooks::rotate_webhook)
            .service(webhooks::try_webhook)
            .service(webhooks::switch_webhook)
            .service(webhooks::resend_webhook_message)
            .service(webhooks::remove_webhook);
        $cfg.service(own_more::see_own_passkeys).service(own_more::remove_own_passkey);
        $cfg.service(own_more::see_own_calendar)
            .service(alerts::make_calendar_link)
            .service(alerts::end_calendar_link);
        $cfg.service(trail::see_outbox).service(trail::see_alert).service(trail::read_audit);
        $cfg.service(trail_heads::see_heads)
            .service(trail_heads::sign_head)
            .service(trail_heads::choose_head_readers);
    };
}

fn routes(cfg: &mut web::ServiceConfig) {
    answers_with!(cfg);
}

fn described(cfg: &mut ServiceConfig) {
    answers_with!(cfg);
}

/// The same for everybody, and for as long as the server runs.
async fn document(req: HttpRequest) -> HttpResponse {
    static DOCUMENT: OnceLock<(String, EntityTag)> = OnceLock::new();
    let (document, tag) = DOCUMENT.get_or_init(|| {
        let document = openapi().to_json().unwrap_or_default();
        let tag = tag_of_bytes(document.as_bytes());
        (document, tag)
    });
    let known = has_it_already(&req, tag);
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    answer.insert_header((ETAG, tag.to_string())).insert_header((CACHE_CONTROL, "no-cache"));
    if known {
        return answer.finish();
    }
    answer.insert_header(ContentType::json()).body(document.as_str())
}

/// An address that is known takes other methods; any other leads nowhere.
async fn nowhere(req: HttpRequest) -> HttpResponse {
    no_answer(&req).error_response()
}

fn no_answer(req: &HttpRequest) -> ApiError {
    match methods_of(req.path()) {
        Some(methods) if !methods.split(", ").any(|m| m == req.method().as_str()) => {
            ApiError::WrongMethod(methods.to_owned())
        }
        _ => ApiError::NoSuchAddress,
    }
}

/// What an address takes. One that is written out is not also one of those that take any id.
fn methods_of(path: &str) -> Option<&'static str> {
    static ADDRESSES: OnceLock<Vec<(ResourceDef, String)>> = OnceLock::new();
    let known = ADDRESSES.get_or_init(|| {
        let mut paths = openapi().paths.paths;
        // Whatever is got is also asked for by HEAD (`http/head.rs`).
        let written = |m: &'static str| if m == "GET" { "GET, HEAD" } else { m };
        let methods =
            |item: &mut PathItem| operations(item).map(|(m, _)| written(m)).collect::<Vec<_>>().join(", ");
        let mut known: Vec<_> =
            paths.iter_mut().map(|(path, item)| (ResourceDef::new(path.as_str()), methods(item))).collect();
        known.push((ResourceDef::new("/api/openapi.json"), "GET, HEAD".to_owned()));
        known.sort_by_key(|(address, _)| address.pattern().is_some_and(|p| p.contains('{')));
        known
    });
    known.iter().find(|(address, _)| address.is_match(path)).map(|(_, methods)| methods.as_str())
}

/// The methods a path takes. The API uses these four.
fn operations(item: &mut PathItem) -> impl Iterator<Item = (&'static str, &mut Operation)> {
    let PathItem { get, put, post, delete, .. } = item;
    [("GET", get), ("PUT", put), ("POST", post), ("DELETE", delete)]
        .into_iter()
        .filter_map(|(method, operation)| operation.as_mut().map(|o| (method, o)))
}

#[cfg(test)]
mod tests;
