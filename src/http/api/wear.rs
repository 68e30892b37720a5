//! What is measured on a machine, as series: what the pictures on its record's page are drawn from.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

use super::bearer::Bearer;
use super::problem::ApiResult;
use super::words;
use crate::domain::history::Since;
use crate::domain::ids::MachineId;
use crate::domain::unit::{Hours, Unit};
use crate::http::Site;
use crate::workflow::{self, Wear};

#[derive(Serialize, ToSchema)]
pub struct MachineWear {
    /// Of whatever was read at least three times, in the order of the checklist.
    series: Vec<WearSeries>,
}

/// Readings of one item at one position, since its part was replaced or put right.
#[derive(Serialize, ToSchema)]
pub struct WearSeries {
    title: String,
    /// In which the figures are given.
    #[schema(value_type = words::Unit)]
    unit: Unit,
    since: WearSince,
    at_least: Option<f64>,
    at_most: Option<f64>,
    /// Oldest first.
    readings: Vec<WearReading>,
}

#[derive(Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum WearSince {
    TheBeginning,
    PartReplaced,
    PutRight,
}

#[derive(Serialize, ToSchema)]
pub struct WearReading {
    at: DateTime<Utc>,
    #[schema(value_type = Option<String>)]
    engine_hours: Option<Hours>,
    value: f64,
}

/// See what is measured on a machine, as series of readings with their limits
#[utoipa::path(tag = "machines", params(("id" = Uuid, Path)), responses((status = 200, body = MachineWear)))]
#[get("/machines/{id}/wear")]
pub async fn see_wear(site: web::Data<Site>, asks: Bearer, id: web::Path<MachineId>) -> ApiResult {
    let series = workflow::machine_wear(&site.workshop, &asks.0, *id).await?;
    Ok(HttpResponse::Ok().json(MachineWear { series: series.into_iter().map(Into::into).collect() }))
}

impl From<Wear> for WearSeries {
    fn from(w: Wear) -> Self {
        let shown = |base: f64| (w.unit.from_base(base) * 100.0).round() / 100.0;
        Self {
            title: w.title.to_string(),
            unit: w.unit,
            since: match w.since {
                Since::TheBeginning => WearSince::TheBeginning,
                Since::PartReplaced => WearSince::PartReplaced,
                Since::PutRight => WearSince::PutRight,
            },
            at_least: w.at_least.map(shown),
            at_most: w.at_most.map(shown),
            readings: w
                .readings
                .into_iter()
                .map(|p| WearReading { at: p.at, engine_hours: p.engine_hours, value: shown(p.base) })
                .collect(),
        }
    }
}
