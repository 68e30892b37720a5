//! `/livez` and `/readyz`: for a service manager, a proxy or whoever is called at night. In English, as all that is read at
//! a terminal.

use std::path::Path;

use actix_web::http::header::RETRY_AFTER;
use actix_web::{HttpResponse, web};
use chrono::{DateTime, TimeDelta, Utc};
use tokio::sync::Mutex;

use super::Site;
use crate::workflow::{self, Readiness, WorkflowError};

/// With less, the next photo or the next thousand checks may not fit.
const LEAST_FREE_MB: u64 = 64;
/// Many may ask: one look serves all of them for as long as this.
const LOOK_HOLDS: TimeDelta = TimeDelta::seconds(1);

/// What the last look found.
#[derive(Default)]
pub struct LastLook(Mutex<Option<(DateTime<Utc>, Found)>>);

#[derive(Clone, Debug)]
struct Found {
    well: bool,
    lines: String,
}

pub async fn alive() -> HttpResponse {
    HttpResponse::Ok().body("alive\n")
}

/// 503 when a change could not be kept. Alerts that wait do not stop the server from being used, so they are only told.
pub async fn ready(site: web::Data<Site>) -> HttpResponse {
    let now = site.workshop.ambient.now();
    let mut last = site.operation.last_look.0.lock().await;
    let found = match &*last {
        Some((at, found)) if (TimeDelta::zero()..LOOK_HOLDS).contains(&(now - *at)) => found.clone(),
        _ => {
            let found = told(workflow::readiness(&site.workshop).await, free_mb(&site.operation.data));
            *last = Some((now, found.clone()));
            found
        }
    };
    drop(last);
    if found.well {
        return HttpResponse::Ok().body(found.lines);
    }
    HttpResponse::ServiceUnavailable().insert_header((RETRY_AFTER, "5")).body(found.lines)
}

fn told(database: Result<Readiness, WorkflowError>, free_mb: Option<u64>) -> Found {
    let mut lines = Vec::new();
    let mut well = true;
    let mut line = |is_well: bool, what: &str, said: String| {
        well &= is_well;
        lines.push(format!("{what}: {}{said}\n", if is_well { "" } else { "NOT WELL: " }));
    };
    match database {
        Ok(found) => {
            line(true, "database", "takes changes".to_owned());
            let apart = &found.migrations_apart;
            let said = match apart.is_empty() {
                true => "all taken".to_owned(),
                false => format!("the program and the database differ in {apart:?}"),
            };
            line(apart.is_empty(), "migrations", said);
            let said = match found.oldest_alert {
                Some(age) => {
                    format!("{} wait, the oldest for {} min", found.alerts_waiting, age.num_minutes())
                }
                None => "nothing waits".to_owned(),
            };
            line(true, "outbox", said);
        }
        Err(e) => {
            // The reason goes to the log: what runs here is nobody's business.
            tracing::error!(error = ?e, "the database takes no change");
            line(false, "database", "takes no change".to_owned());
        }
    }
    match free_mb {
        Some(mb) => line(mb >= LEAST_FREE_MB, "disk", format!("{mb} MB free")),
        None => line(false, "disk", "the data folder cannot be looked at".to_owned()),
    }
    Found { well, lines: lines.concat() }
}

/// What whoever runs the server may still write where the data are.
fn free_mb(folder: &Path) -> Option<u64> {
    let disk = rustix::fs::statvfs(folder).ok()?;
    Some(disk.f_bavail.saturating_mul(disk.f_frsize) / 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn database(apart: &[i64]) -> Result<Readiness, WorkflowError> {
        Ok(Readiness {
            migrations_apart: apart.to_vec(),
            alerts_waiting: 2,
            oldest_alert: Some(TimeDelta::minutes(7)),
        })
    }

    #[test]
    fn each_fault_is_named_and_none_hides_another() {
        let found = told(database(&[]), Some(LEAST_FREE_MB));
        assert!(found.well, "{}", found.lines);
        assert!(found.lines.contains("outbox: 2 wait, the oldest for 7 min\n"), "{}", found.lines);
        let found = told(database(&[3]), Some(LEAST_FREE_MB - 1));
        assert!(!found.well);
        for said in
            ["database: takes changes", "migrations: NOT WELL", "differ in [3]", "disk: NOT WELL: 63 MB"]
        {
            assert!(found.lines.contains(said), "{}", found.lines);
        }
        assert!(!told(database(&[]), None).well, "a folder that is gone");
    }
}
