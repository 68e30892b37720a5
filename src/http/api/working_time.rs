//! When people work in a yard: its week by its own clock, its holidays, and who is away.

use actix_web::{HttpRequest, delete, get, post, put, web};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::etag::{Stated, still, tagged};
use super::problem::ApiResult;
use super::words::Person;
use crate::domain::ids::{AbsenceId, PersonId, YardId};
use crate::domain::shift::Span;
use crate::http::Site;
use crate::workflow;

#[derive(Serialize, ToSchema)]
pub struct WorkingTime {
    yard: Uuid,
    /// IANA name. All times of `week` are by this clock.
    zone: String,
    /// Monday first. An hour that the clocks leave out begins where they go on; of one that comes twice the first counts.
    #[schema(example = json!(["07:00-15:30", "07:00-15:30", "07:00-15:30", "07:00-15:30", "22:00-06:00", "", ""]))]
    week: Vec<String>,
    /// From today on.
    holidays: Vec<Holiday>,
    /// That are not over.
    absences: Vec<Absence>,
    /// The shifts of the next two weeks, or of those from `from` on, without the holidays.
    shifts: Vec<ShiftSpan>,
}

#[derive(Serialize, ToSchema)]
pub struct Holiday {
    day: NaiveDate,
    name: String,
}

#[derive(Serialize, ToSchema)]
pub struct Absence {
    id: Uuid,
    person: Person,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    note: String,
}

/// A shift as moments: what really passes, whatever the clocks do.
#[derive(Serialize, ToSchema)]
pub struct ShiftSpan {
    from: DateTime<Utc>,
    to: DateTime<Utc>,
}

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
pub struct Since {
    /// Shows the shifts of the two weeks from this moment on; now when left out.
    from: Option<DateTime<Utc>>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewWeek {
    /// Monday first: a text a day, several shifts with a comma between, empty for a day without work.
    #[schema(min_items = 7, max_items = 7)]
    week: [String; 7],
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewHoliday {
    day: String,
    name: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAbsence {
    person: Uuid,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    #[serde(default)]
    note: String,
}

/// See when people work in a yard
#[utoipa::path(tag = "yards", params(Since), responses((status = 200, body = WorkingTime)))]
#[get("/yards/{id}/working-time")]
pub async fn see_working_time(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    since: web::Query<Since>,
) -> ApiResult {
    Ok(tagged(&req, &shown(&site, &asks, YardId(*id), since.from).await?))
}

/// Say when people work in a yard, by its own clock
#[utoipa::path(tag = "yards", request_body = NewWeek, responses((status = 200, body = WorkingTime)))]
#[put("/yards/{id}/working-time/week")]
pub async fn set_week(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<NewWeek>,
) -> ApiResult {
    still(&req, shown(&site, &asks, YardId(*id), None)).await?;
    workflow::set_week(&site.workshop, &asks.0, YardId(*id), &sent.0.week).await?;
    Ok(tagged(&req, &shown(&site, &asks, YardId(*id), None).await?))
}

/// Enter a day on which nobody works
#[utoipa::path(tag = "yards", request_body = NewHoliday, responses((status = 200, body = WorkingTime)))]
#[post("/yards/{id}/working-time/holidays")]
pub async fn add_holiday(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<NewHoliday>,
) -> ApiResult {
    still(&req, shown(&site, &asks, YardId(*id), None)).await?;
    workflow::add_holiday(&site.workshop, &asks.0, YardId(*id), &sent.0.day, &sent.0.name).await?;
    Ok(tagged(&req, &shown(&site, &asks, YardId(*id), None).await?))
}

/// Take a holiday out again
#[utoipa::path(tag = "yards", responses((status = 200, body = WorkingTime)))]
#[delete("/yards/{id}/working-time/holidays/{day}")]
pub async fn remove_holiday(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, String)>,
) -> ApiResult {
    let (id, day) = path.into_inner();
    still(&req, shown(&site, &asks, YardId(id), None)).await?;
    workflow::remove_holiday(&site.workshop, &asks.0, YardId(id), &day).await?;
    Ok(tagged(&req, &shown(&site, &asks, YardId(id), None).await?))
}

/// Enter that somebody is away
#[utoipa::path(tag = "yards", request_body = NewAbsence, responses((status = 200, body = WorkingTime)))]
#[post("/yards/{id}/working-time/absences")]
pub async fn add_absence(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<NewAbsence>,
) -> ApiResult {
    let NewAbsence { person, from, to, note } = sent.0;
    let (yard, person, span) = (YardId(*id), PersonId(person), Span::new(from, to));
    still(&req, shown(&site, &asks, yard, None)).await?;
    workflow::add_absence(&site.workshop, &asks.0, yard, person, span, &note).await?;
    Ok(tagged(&req, &shown(&site, &asks, yard, None).await?))
}

/// Take an absence out again
#[utoipa::path(tag = "yards", responses((status = 200, body = WorkingTime)))]
#[delete("/yards/{id}/working-time/absences/{absence}")]
pub async fn remove_absence(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
) -> ApiResult {
    let (id, absence) = path.into_inner();
    still(&req, shown(&site, &asks, YardId(id), None)).await?;
    workflow::remove_absence(&site.workshop, &asks.0, YardId(id), AbsenceId(absence)).await?;
    Ok(tagged(&req, &shown(&site, &asks, YardId(id), None).await?))
}

/// What somebody entered, and not the shifts that follow from it and from the day.
impl Stated for WorkingTime {
    fn state(&self) -> impl Serialize {
        (self.yard, &self.zone, &self.week, &self.holidays, &self.absences)
    }
}

async fn shown(
    site: &Site,
    asks: &Bearer,
    yard: YardId,
    from: Option<DateTime<Utc>>,
) -> ApiResult<WorkingTime> {
    let found = workflow::working_time(&site.workshop, &asks.0, yard).await?;
    let from = from.unwrap_or_else(|| site.workshop.ambient.now());
    let shifts = workflow::shifts_from(&site.workshop, &asks.0, yard, from).await?;
    Ok(WorkingTime {
        yard: yard.0,
        zone: found.yard.zone,
        week: found.week.as_typed().to_vec(),
        holidays: found.holidays.into_iter().map(|h| Holiday { day: h.day, name: h.name }).collect(),
        absences: found
            .absences
            .into_iter()
            .map(|a| Absence {
                id: a.id.0,
                person: Person::new(a.person_id, &a.person_name),
                from: a.from_at,
                to: a.to_at,
                note: a.note,
            })
            .collect(),
        shifts: shifts.into_iter().map(|s| ShiftSpan { from: s.from, to: s.to }).collect(),
    })
}
