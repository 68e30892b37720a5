//! Who asks, what they chose for themselves, and a mechanic's own time.

use actix_web::{HttpRequest, HttpResponse, get, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::etag::{Stated, still, tagged};
use super::order_shapes::Labour;
use super::problem::ApiResult;
use super::words;
use crate::domain::person::Role;
use crate::domain::refusal::Refusal;
use crate::domain::unit::UnitSystem;
use crate::http::Site;
use crate::words::Lang;
use crate::workflow::{self, LabourRow};

#[derive(Serialize, ToSchema)]
pub struct Me {
    id: Uuid,
    name: String,
    email: String,
    #[schema(value_type = Vec<words::Role>)]
    roles: Vec<Role>,
    /// Where you work; an owner works in all of them.
    yards: Vec<Uuid>,
    /// BCP 47 tag of the language in which you are written to; none when you never chose.
    #[schema(example = "en")]
    language: Option<&'static str>,
    /// In which figures are asked for and limits shown; none for what the machine was last read in.
    #[schema(value_type = Option<words::UnitSystem>)]
    units: Option<UnitSystem>,
    /// Since when a calendar link of yours is there.
    calendar_link_since: Option<DateTime<Utc>>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseSettings {
    /// BCP 47 tag.
    #[schema(example = "en")]
    language: String,
    /// None in particular when left out.
    #[schema(value_type = Option<words::UnitSystem>)]
    units: Option<UnitSystem>,
}

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct OwnTimeQuery {
    /// A moment of the week; now when left out.
    at: Option<DateTime<Utc>>,
}

/// A mechanic's week.
#[derive(Serialize, ToSchema)]
pub struct OwnTime {
    /// By whose clock the week begins and ends: IANA name.
    zone: String,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    entries: Vec<OwnEntry>,
    /// Of any week: Chock ended them, and you put them right.
    forgotten: Vec<OwnEntry>,
}

#[derive(Serialize, ToSchema)]
pub struct OwnEntry {
    work_order: Uuid,
    work_order_number: i64,
    #[serde(flatten)]
    labour: Labour,
    overtime_seconds: i64,
}

/// See who you are here, and what you chose
#[utoipa::path(tag = "me", responses((status = 200, body = Me)))]
#[get("/me")]
pub async fn see_me(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &shown(&site, &asks).await?))
}

/// Choose your language and your units
#[utoipa::path(tag = "me", request_body = ChooseSettings, responses((status = 200, body = Me)))]
#[put("/me")]
pub async fn choose_settings(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<ChooseSettings>,
) -> ApiResult {
    still(&req, shown(&site, &asks)).await?;
    let lang = Lang::of_tag(&sent.0.language)
        .ok_or_else(|| Refusal::invalid("/language", said!("me-which-language")))?;
    workflow::choose_language(&site.workshop, &asks.0, lang).await?;
    workflow::choose_units(&site.workshop, &asks.0, sent.0.units).await?;
    Ok(tagged(&req, &shown(&site, &asks).await?))
}

/// See your own time of a week
#[utoipa::path(tag = "me", params(OwnTimeQuery), responses((status = 200, body = OwnTime)))]
#[get("/me/time")]
pub async fn see_own_time(site: web::Data<Site>, asks: Bearer, query: web::Query<OwnTimeQuery>) -> ApiResult {
    let now = site.workshop.ambient.now();
    let at = query.at.unwrap_or(now);
    // As far as calendars reach, and further than anybody's time.
    if (at - now).num_days().abs() > 36_600 {
        return Err(Refusal::invalid("/at", said!("numbers-odd-period")).into());
    }
    let found = workflow::my_time(&site.workshop, &asks.0, at).await?;
    let currency = &site.workshop.currency;
    let entry = |l: LabourRow| OwnEntry {
        work_order: l.work_order_id.0,
        work_order_number: l.order_number,
        overtime_seconds: l.overtime_seconds,
        labour: Labour::of(l, currency),
    };
    Ok(HttpResponse::Ok().json(OwnTime {
        zone: found.zone,
        from: found.week.from,
        to: found.week.to,
        entries: found.entries.into_iter().map(entry).collect(),
        forgotten: found.forgotten.into_iter().map(entry).collect(),
    }))
}

impl Stated for Me {
    fn state(&self) -> impl Serialize {
        (self.id, self.language, self.units)
    }
}

async fn shown(site: &Site, asks: &Bearer) -> ApiResult<Me> {
    let Bearer(me, _) = asks;
    Ok(Me {
        id: me.id.0,
        name: me.name.clone(),
        email: workflow::my_email(&site.workshop, me).await?,
        roles: me.roles.clone(),
        yards: me.yards.iter().map(|y| y.0).collect(),
        language: workflow::language_of(&site.workshop, me.id).await?.map(Lang::tag),
        units: workflow::units_of(&site.workshop, me.id).await?,
        calendar_link_since: workflow::calendar_link_since(&site.workshop, me).await?,
    })
}
