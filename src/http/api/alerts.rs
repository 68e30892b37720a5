//! Who hears what, and who has seen it.

use actix_web::{HttpRequest, HttpResponse, delete, get, post, put, web};
use chrono::NaiveTime;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::etag::{Stated, still, tagged};
use super::every_answer::made;
use super::own_sessions::Proof;
use super::problem::ApiResult;
use super::words;
use crate::domain::hearing::{AlertKind, QuietHours, Wanted};
use crate::domain::ids::{AlertId, YardId};
use crate::domain::person::Role;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::workflow::{self, HearingRuleRow, OwnChoice, YardAlertsWanted};

/// What one person hears.
#[derive(Serialize, ToSchema)]
pub struct OwnAlerts {
    quiet_hours: Option<Quiet>,
    yards: Vec<OwnYard>,
}

/// By the clock of the yard that an alert is from. What is about a hold never waits.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Quiet {
    #[schema(example = "22:00")]
    from: String,
    #[schema(example = "06:00")]
    to: String,
}

#[derive(Serialize, ToSchema)]
pub struct OwnYard {
    yard: Uuid,
    name: String,
    kinds: Vec<OwnKind>,
    /// Of these classes only; of all when empty.
    classes: Vec<String>,
}

#[derive(Serialize, ToSchema)]
pub struct OwnKind {
    #[schema(value_type = words::AlertKind)]
    kind: AlertKind,
    heard: bool,
    /// The owner requires it.
    required: bool,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseAlerts {
    quiet_hours: Option<Quiet>,
    /// A yard that is left out stays as it is.
    yards: Vec<ChooseYard>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseYard {
    yard: Uuid,
    /// What is heard; what is left out is not, unless the owner requires it.
    #[schema(value_type = Vec<words::AlertKind>)]
    heard: Vec<AlertKind>,
    #[serde(default)]
    classes: Vec<String>,
}

/// What the owner asks of a yard.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct YardAlerts {
    rules: Vec<Rule>,
    /// Who is told next where nobody acknowledges; the owners after 30 minutes when empty.
    chain: Vec<Step>,
    /// When the daily digest goes out, by the yard's clock.
    #[schema(example = "06:00")]
    digest_at: Option<String>,
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    #[schema(value_type = words::AlertKind)]
    kind: AlertKind,
    #[schema(value_type = words::Role)]
    role: Role,
    #[schema(value_type = words::AlertWanted)]
    wanted: Wanted,
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Step {
    person: Uuid,
    /// So many minutes after the one before.
    wait_minutes: i64,
}

/// Say that you have seen an alert, and see to it
#[utoipa::path(tag = "outbox", params(("id" = Uuid, Path)), responses((status = 204)))]
#[post("/outbox/{id}/acknowledge")]
pub async fn acknowledge_alert(site: web::Data<Site>, asks: Bearer, id: web::Path<AlertId>) -> ApiResult {
    workflow::acknowledge(&site.workshop, &asks.0, *id).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Send an alert again
#[utoipa::path(tag = "outbox", params(("id" = Uuid, Path)), responses((status = 204)))]
#[post("/outbox/{id}/resend")]
pub async fn resend_alert(site: web::Data<Site>, asks: Bearer, id: web::Path<AlertId>) -> ApiResult {
    workflow::resend(&site.workshop, &asks.0, *id).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// See which alerts you hear
#[utoipa::path(tag = "alerts", responses((status = 200, body = OwnAlerts)))]
#[get("/me/alerts")]
pub async fn see_own_alerts(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &own(&site, &asks).await?))
}

async fn own(site: &Site, asks: &Bearer) -> ApiResult<OwnAlerts> {
    let own = workflow::own_alerts(&site.workshop, &asks.0).await?;
    let kind = |(kind, heard, required)| OwnKind { kind, heard, required };
    let yards = own.yards.into_iter().map(|y| OwnYard {
        yard: y.yard.0,
        name: y.name,
        kinds: y.kinds.into_iter().map(kind).collect(),
        classes: y.classes,
    });
    let quiet_hours = own.quiet.map(|q| Quiet { from: written(q.from), to: written(q.to) });
    Ok(OwnAlerts { quiet_hours, yards: yards.collect() })
}

/// Choose which alerts you hear; somebody hears of every hold
#[utoipa::path(tag = "alerts", request_body = ChooseAlerts, responses(
    (status = 204), (status = 409, description = "Then nobody would hear of a hold")))]
#[put("/me/alerts")]
pub async fn choose_alerts(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<ChooseAlerts>,
) -> ApiResult {
    still(&req, own(&site, &asks)).await?;
    let quiet = match &sent.0.quiet_hours {
        Some(q) => Some(QuietHours {
            from: clock("/quiet_hours/from", &q.from)?,
            to: clock("/quiet_hours/to", &q.to)?,
        }),
        None => None,
    };
    let choices = sent.0.yards.into_iter().map(|y| OwnChoice {
        yard: y.yard.into(),
        heard: AlertKind::OF_A_YARD.iter().map(|kind| (*kind, y.heard.contains(kind))).collect(),
        classes: y.classes,
    });
    workflow::choose_alerts(&site.workshop, &asks.0, quiet, choices.collect()).await?;
    Ok(HttpResponse::NoContent().finish())
}

#[derive(Serialize, ToSchema)]
pub struct CalendarLink {
    /// For a calendar program (RFC 5545). Whoever has it can read it; shown once.
    link: String,
}

/// Make a link for your calendar program; it ends the one before
#[utoipa::path(tag = "alerts", request_body = Proof, responses((status = 201, body = CalendarLink)))]
#[post("/me/calendar")]
pub async fn make_calendar_link(site: web::Data<Site>, asks: Bearer, sent: Sent<Proof>) -> ApiResult {
    workflow::prove_password(&site.workshop, &asks.0, &sent.0.password).await?;
    let secret = workflow::make_calendar_link(&site.workshop, &asks.0).await?;
    let link = format!("{}/calendar/{secret}.ics", site.public_url);
    Ok(made("/me/calendar", &CalendarLink { link }))
}

/// End the link for your calendar program
#[utoipa::path(tag = "alerts", responses((status = 204)))]
#[delete("/me/calendar")]
pub async fn end_calendar_link(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    workflow::end_calendar_link(&site.workshop, &asks.0).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// See what the owner asks of a yard
#[utoipa::path(tag = "alerts", params(("id" = Uuid, Path)), responses((status = 200, body = YardAlerts)))]
#[get("/yards/{id}/alerts")]
pub async fn see_yard_alerts(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<YardId>,
) -> ApiResult {
    Ok(tagged(&req, &asked_of_yard(&site, &asks, *id).await?))
}

async fn asked_of_yard(site: &Site, asks: &Bearer, yard: YardId) -> ApiResult<YardAlerts> {
    let set = workflow::yard_alerts(&site.workshop, &asks.0, yard).await?;
    let rule = |r: HearingRuleRow| Rule { kind: r.kind, role: r.role, wanted: r.wanted };
    let step = |c: workflow::ChainRow| Step { person: c.person_id.0, wait_minutes: c.wait_minutes };
    Ok(YardAlerts {
        rules: set.rules.into_iter().map(rule).collect(),
        chain: set.chain.into_iter().map(step).collect(),
        digest_at: set.digest.map(written),
    })
}

/// Set what the owner asks of a yard
#[utoipa::path(tag = "alerts", params(("id" = Uuid, Path)), request_body = YardAlerts, responses(
    (status = 204), (status = 409, description = "Then nobody would hear of a hold")))]
#[put("/yards/{id}/alerts")]
pub async fn set_yard_alerts(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<YardId>,
    sent: Sent<YardAlerts>,
) -> ApiResult {
    still(&req, asked_of_yard(&site, &asks, *id)).await?;
    let digest = sent.0.digest_at.as_deref().map(|at| clock("/digest_at", at)).transpose()?;
    let rule = |r: Rule| HearingRuleRow { kind: r.kind, role: r.role, wanted: r.wanted };
    let chain = sent.0.chain.into_iter().map(|s| (s.person.into(), s.wait_minutes)).collect();
    let wanted = YardAlertsWanted { rules: sent.0.rules.into_iter().map(rule).collect(), chain, digest };
    workflow::set_yard_alerts(&site.workshop, &asks.0, *id, wanted).await?;
    Ok(HttpResponse::NoContent().finish())
}

impl Stated for OwnAlerts {
    fn state(&self) -> impl Serialize {
        self
    }
}

impl Stated for YardAlerts {
    fn state(&self) -> impl Serialize {
        self
    }
}

fn written(at: NaiveTime) -> String {
    at.format("%H:%M").to_string()
}

fn clock(pointer: &str, text: &str) -> Result<NaiveTime, Refusal> {
    NaiveTime::parse_from_str(text, "%H:%M")
        .map_err(|_| Refusal::invalid(pointer, said!("hearing-give-clock")))
}
