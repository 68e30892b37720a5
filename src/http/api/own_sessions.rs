//! Where the one who asks is signed in, and their own password.

use actix_web::{HttpResponse, get, post, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::problem::ApiResult;
use super::words;
use crate::domain::caller::SignInKind;
use crate::http::Site;
use crate::workflow::{self, Ending, OwnSession};

#[derive(Serialize, ToSchema)]
pub struct SignIns {
    sign_ins: Vec<SignInSeen>,
}

/// One sign-in, or a device on which your PIN works.
#[derive(Serialize, ToSchema)]
pub struct SignInSeen {
    id: Uuid,
    #[schema(value_type = words::SignInKind)]
    kind: SignInKind,
    since: DateTime<Utc>,
    /// To a quarter of an hour.
    last_used_at: Option<DateTime<Utc>>,
    /// The network it was made from, where it is known.
    network: Option<String>,
    /// What the program called itself.
    program: Option<String>,
    /// Who trusted the device.
    trusted_by: Option<String>,
    /// The one that asks.
    this_one: bool,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EndSignIns {
    #[schema(format = Password)]
    password: String,
    /// All but the one that asks when left out.
    which: Option<Vec<Uuid>>,
}

/// Before what gives rights away, makes a secret or takes everything out.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// Yours.
    #[schema(format = Password)]
    pub password: String,
}

#[derive(Serialize, ToSchema)]
pub struct SignInsEnded {
    ended: u64,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangePassword {
    /// As it is until now.
    #[schema(format = Password)]
    password: String,
    /// 10 to 256 characters, none of those that everybody tries first.
    #[schema(format = Password)]
    new: String,
}

/// See where you are signed in
#[utoipa::path(tag = "sessions", responses((status = 200, body = SignIns)))]
#[get("/me/sessions")]
pub async fn see_own_sessions(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let sign_ins = workflow::own_sessions(&site.workshop, &asks.0, &asks.1).await?;
    Ok(HttpResponse::Ok().json(SignIns { sign_ins: sign_ins.into_iter().map(seen).collect() }))
}

/// End sign-ins of yours, with your password
#[utoipa::path(tag = "sessions", request_body = EndSignIns, responses(
    (status = 200, body = SignInsEnded), (status = 404, description = "One of them is none of yours; none was ended")))]
#[post("/me/sessions/end")]
pub async fn end_own_sessions(site: web::Data<Site>, asks: Bearer, sent: Sent<EndSignIns>) -> ApiResult {
    let ending = sent.0.which.map_or(Ending::AllOthers, Ending::These);
    let ended =
        workflow::end_own_sessions(&site.workshop, &asks.0, &asks.1, ending, &sent.0.password).await?;
    Ok(HttpResponse::Ok().json(SignInsEnded { ended }))
}

/// Change your password; ends everything else that is signed in with it, and your PINs
#[utoipa::path(tag = "sessions", request_body = ChangePassword, responses((status = 204)))]
#[put("/me/password")]
pub async fn change_password(site: web::Data<Site>, asks: Bearer, sent: Sent<ChangePassword>) -> ApiResult {
    workflow::change_password(&site.workshop, &asks.0, &asks.1, &sent.0.password, &sent.0.new).await?;
    Ok(HttpResponse::NoContent().finish())
}

fn seen(one: OwnSession) -> SignInSeen {
    let known = |text: String| Some(text).filter(|t| !t.is_empty());
    SignInSeen {
        id: one.id,
        kind: one.kind,
        since: one.since,
        last_used_at: one.last_used_at,
        network: known(one.place),
        program: known(one.program),
        trusted_by: one.trusted_by,
        this_one: one.here,
    }
}
