//! `/metrics` in the OpenMetrics text format, for whoever knows the token. Only what is always true of a server and of the
//! job: nothing that names a person or a machine.

use std::sync::atomic::AtomicU64;
use std::time::Duration;

use actix_web::http::header::{AUTHORIZATION, WWW_AUTHENTICATE};
use actix_web::{HttpRequest, HttpResponse, web};
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::{Registry, Unit};
use sha2::{Digest, Sha256};

use super::Site;
use super::pages::error::no_such_page;
use crate::workflow;

/// The pattern of the route and never the address: an address may carry a secret.
#[derive(Clone, Debug, Hash, PartialEq, Eq, EncodeLabelSet)]
struct Asked {
    method: &'static str,
    route: String,
    status: u16,
}

#[derive(Clone, Debug, Hash, PartialEq, Eq, EncodeLabelSet)]
struct Route {
    method: &'static str,
    route: String,
}

pub struct Metrics {
    registry: Registry,
    requests: Family<Asked, Counter>,
    took: Family<Route, Histogram>,
    open_holds: Gauge,
    open_orders: Gauge,
    alerts_waiting: Gauge,
    alerts_failed: Gauge,
    oldest_alert: Gauge<f64, AtomicU64>,
}

/// From a page that is there already to one that people call slow.
const STEPS: [f64; 10] = [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 1.0, 5.0];

impl Default for Metrics {
    fn default() -> Self {
        let mut registry = Registry::with_prefix("chock");
        let requests = Family::default();
        let took = Family::new_with_constructor((|| Histogram::new(STEPS)) as fn() -> Histogram);
        let (open_holds, open_orders) = (Gauge::default(), Gauge::default());
        let (alerts_waiting, alerts_failed, oldest_alert) =
            (Gauge::default(), Gauge::default(), Gauge::default());
        registry.register("requests", "Requests answered", requests.clone());
        registry.register_with_unit("request", "Time to the answer", Unit::Seconds, took.clone());
        registry.register("open_holds", "Holds that are not lifted", open_holds.clone());
        registry.register("open_work_orders", "Work orders that are not closed", open_orders.clone());
        registry.register("alerts_waiting", "Alerts owed to somebody", alerts_waiting.clone());
        registry.register("alerts_failed", "Alerts given up on", alerts_failed.clone());
        registry.register_with_unit(
            "oldest_alert",
            "Since when the oldest owed alert waits",
            Unit::Seconds,
            oldest_alert.clone(),
        );
        registry.register("build", "What runs", Info::new([("version", env!("CARGO_PKG_VERSION"))]));
        Self {
            registry,
            requests,
            took,
            open_holds,
            open_orders,
            alerts_waiting,
            alerts_failed,
            oldest_alert,
        }
    }
}

impl Metrics {
    pub fn answered(&self, method: &'static str, route: &str, status: u16, took: Duration) {
        let asked = Asked { method, route: route.to_owned(), status };
        self.requests.get_or_create(&asked).inc();
        let route = Route { method, route: asked.route };
        self.took.get_or_create(&route).observe(took.as_secs_f64());
    }
}

/// Not there unless a token is set.
pub async fn metrics(req: HttpRequest, site: web::Data<Site>) -> HttpResponse {
    let Some(token) = &site.operation.metrics_token else { return no_such_page() };
    let given = req.headers().get(AUTHORIZATION).and_then(|v| v.to_str().ok());
    let given = given.and_then(|v| v.strip_prefix("Bearer ")).unwrap_or_default();
    // Hashes are compared, so that how long it takes says nothing of the token.
    if Sha256::digest(given) != Sha256::digest(token) {
        return HttpResponse::Unauthorized().insert_header((WWW_AUTHENTICATE, "Bearer")).finish();
    }
    let m = &site.operation.metrics;
    match workflow::amounts(&site.workshop).await {
        Ok(now) => {
            m.open_holds.set(now.open_holds);
            m.open_orders.set(now.open_orders);
            m.alerts_waiting.set(now.alerts_waiting);
            m.alerts_failed.set(now.alerts_failed);
            let waits = now.oldest_alert.map(|at| site.workshop.ambient.now() - at);
            m.oldest_alert.set(waits.map_or(0.0, |w| w.as_seconds_f64()));
        }
        Err(e) => {
            tracing::error!(error = ?e, "the amounts cannot be read");
            return HttpResponse::ServiceUnavailable().insert_header(("Retry-After", "5")).finish();
        }
    }
    let mut text = String::new();
    match encode(&mut text, &m.registry) {
        Ok(()) => HttpResponse::Ok()
            .content_type("application/openmetrics-text; version=1.0.0; charset=utf-8")
            .body(text),
        Err(_) => HttpResponse::InternalServerError().finish(),
    }
}
