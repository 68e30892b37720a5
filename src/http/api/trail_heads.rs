//! Signed heads of the audit trail, and who gets them by mail.

use actix_web::{HttpRequest, get, post, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::etag::{Stated, still, tagged};
use super::every_answer::made;
use super::problem::ApiResult;
use super::words::Person;
use crate::domain::trail_head::write_out;
use crate::http::Site;
use crate::workflow::{self, HeadReaderRow, TrailHeadRow};

#[derive(Serialize, ToSchema)]
pub struct Heads {
    /// The key they are signed with now (Ed25519), in hexadecimal.
    public_key: String,
    /// Newest first.
    heads: Vec<Head>,
    /// For the owner: who could read them, and whether they are mailed to them.
    readers: Vec<HeadReader>,
}

/// What all chains of the audit trail were at a moment, signed.
#[derive(Serialize, ToSchema)]
pub struct Head {
    number: i64,
    at: DateTime<Utc>,
    chains: i64,
    entries: i64,
    digest: String,
    /// Hash of the head before.
    before: String,
    hash: String,
    signature: String,
    public_key: String,
    /// As `chock verify --against` reads it. Keep it elsewhere.
    written: String,
}

#[derive(Serialize, ToSchema)]
pub struct HeadReader {
    person: Person,
    email: String,
    reads: bool,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseHeadReaders {
    /// Whoever is left out gets none.
    people: Vec<Uuid>,
}

/// See the signed heads of the audit trail
#[utoipa::path(tag = "audit", responses((status = 200, body = Heads)))]
#[get("/audit/heads")]
pub async fn see_heads(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &shown(&site, &asks).await?))
}

/// Sign a head of the audit trail now
#[utoipa::path(tag = "audit", responses((status = 201, body = Head)))]
#[post("/audit/heads")]
pub async fn sign_head(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let head = workflow::sign_head(&site.workshop, &asks.0).await?;
    Ok(made("/audit/heads", &Head::from(head)))
}

/// Choose who gets the heads by mail
#[utoipa::path(tag = "audit", request_body = ChooseHeadReaders, responses((status = 200, body = Heads)))]
#[put("/audit/heads/readers")]
pub async fn choose_head_readers(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<ChooseHeadReaders>,
) -> ApiResult {
    still(&req, shown(&site, &asks)).await?;
    let people: Vec<_> = sent.0.people.into_iter().map(Into::into).collect();
    workflow::choose_head_readers(&site.workshop, &asks.0, &people).await?;
    Ok(tagged(&req, &shown(&site, &asks).await?))
}

/// Who reads them: a head that was signed meanwhile changes nobody's choice.
impl Stated for Heads {
    fn state(&self) -> impl Serialize {
        self.readers.iter().map(|r| (r.person.id(), r.reads)).collect::<Vec<_>>()
    }
}

async fn shown(site: &Site, asks: &Bearer) -> ApiResult<Heads> {
    let found = workflow::trail_heads(&site.workshop, &asks.0).await?;
    let reader = |r: HeadReaderRow| HeadReader {
        person: Person::new(r.person_id, &r.name),
        email: r.email,
        reads: r.reads,
    };
    Ok(Heads {
        public_key: found.public_key,
        heads: found.heads.into_iter().map(Into::into).collect(),
        readers: found.readers.into_iter().map(reader).collect(),
    })
}

impl From<TrailHeadRow> for Head {
    fn from(h: TrailHeadRow) -> Self {
        Self {
            written: write_out(&h.hash, &h.signed()),
            number: h.number,
            at: h.at,
            chains: h.chains,
            entries: h.entries,
            digest: h.digest,
            before: h.prev_hash,
            hash: h.hash,
            signature: h.signature,
            public_key: h.public_key,
        }
    }
}
