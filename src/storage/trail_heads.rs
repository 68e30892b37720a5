//! Signed heads of the audit trail: what all its chains were at a moment.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Param, Result, Tx};
use crate::domain::ids::PersonId;
use crate::domain::trail_head::{Signed, TrailHead};

#[derive(Clone, Debug, FromRow)]
pub struct TrailHeadRow {
    pub number: i64,
    pub at: DateTime<Utc>,
    pub chains: i64,
    pub entries: i64,
    pub digest: String,
    pub prev_hash: String,
    pub hash: String,
    pub signature: String,
    pub public_key: String,
}

/// Where a chain ended.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct ChainEnd {
    pub stream: String,
    pub seq: i64,
    pub hash: String,
}

/// A chain that does not hold what a head was signed over.
#[derive(Clone, Debug, FromRow)]
pub struct UnlikeSigned {
    pub number: i64,
    pub at: DateTime<Utc>,
    pub stream: String,
    pub seq: i64,
    /// False where the entry is missing.
    pub there: bool,
}

/// Somebody who may read the trail, and whether heads are mailed to them.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct HeadReaderRow {
    pub person_id: PersonId,
    pub name: String,
    pub email: String,
    pub reads: bool,
}

impl TrailHeadRow {
    pub fn signed(&self) -> Signed {
        Signed {
            head: TrailHead {
                number: self.number,
                at: self.at,
                chains: self.chains,
                entries: self.entries,
                digest: self.digest.clone(),
                prev_hash: self.prev_hash.clone(),
            },
            signature: self.signature.clone(),
            public_key: self.public_key.clone(),
        }
    }
}

impl Tx {
    /// Refused as already there where somebody else signed the same number.
    pub async fn insert_trail_head(&mut self, hash: &str, signed: &Signed, moved: &[ChainEnd]) -> Result<()> {
        let Signed { head, signature, public_key } = signed;
        self.run(
            "INSERT INTO trail_head (number, at, chains, entries, digest, prev_hash, hash, signature, public_key)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            &[
                &head.number,
                &head.at,
                &head.chains,
                &head.entries,
                &head.digest,
                &head.prev_hash,
                &hash.to_owned(),
                signature,
                public_key,
            ],
        )
        .await?;
        let values: Vec<Vec<&dyn Param>> =
            moved.iter().map(|e| vec![&head.number as &dyn Param, &e.stream, &e.seq, &e.hash]).collect();
        self.insert_rows("trail_head_end (number, stream, seq, hash)", &values).await
    }

    pub async fn last_trail_head(&mut self) -> Result<Option<TrailHeadRow>> {
        self.maybe(
            "SELECT number, at, chains, entries, digest, prev_hash, hash, signature, public_key FROM trail_head
             ORDER BY number DESC LIMIT 1",
            &[],
        )
        .await
    }

    /// Oldest first, after this number.
    pub async fn trail_heads(&mut self, after: i64) -> Result<Vec<TrailHeadRow>> {
        self.all(
            "SELECT number, at, chains, entries, digest, prev_hash, hash, signature, public_key FROM trail_head
             WHERE number > $1 ORDER BY number",
            &[&after],
        )
        .await
    }

    /// The chains that had moved when this head was signed.
    pub async fn ends_moved_at(&mut self, number: i64) -> Result<Vec<ChainEnd>> {
        self.all("SELECT stream, seq, hash FROM trail_head_end WHERE number = $1", &[&number]).await
    }

    /// Where each chain ended by the newest head.
    pub async fn ends_signed_last(&mut self) -> Result<Vec<ChainEnd>> {
        self.all(
            "SELECT e.stream, e.seq, e.hash FROM trail_head_end e
             WHERE NOT EXISTS (SELECT 1 FROM trail_head_end l WHERE l.stream = e.stream AND l.number > e.number)",
            &[],
        )
        .await
    }

    pub async fn ends_now(&mut self) -> Result<Vec<ChainEnd>> {
        self.all("SELECT stream, seq, hash FROM audit_head", &[]).await
    }

    /// What was signed and is not in the trail any more, the oldest head first.
    pub async fn unlike_signed(&mut self) -> Result<Vec<UnlikeSigned>> {
        self.all(
            "SELECT e.number, h.at, e.stream, e.seq, a.hash IS NOT NULL AS there
             FROM trail_head_end e JOIN trail_head h ON h.number = e.number
             LEFT JOIN audit a ON a.stream = e.stream AND a.seq = e.seq
             WHERE a.hash IS NULL OR a.hash <> e.hash ORDER BY e.number, e.stream",
            &[],
        )
        .await
    }

    /// Everybody who may be sent heads: owners and supervisors who are here.
    pub async fn head_readers(&mut self) -> Result<Vec<HeadReaderRow>> {
        self.all(
            "SELECT p.id AS person_id, p.name, p.email,
                EXISTS (SELECT 1 FROM trail_head_reader t WHERE t.person_id = p.id) AS reads
             FROM person p WHERE p.disabled_at IS NULL
               AND EXISTS (SELECT 1 FROM person_role r WHERE r.person_id = p.id AND r.role IN ('owner', 'supervisor'))
             ORDER BY p.name, p.id",
            &[],
        )
        .await
    }

    pub async fn set_head_readers(&mut self, people: &[PersonId]) -> Result<()> {
        self.run("DELETE FROM trail_head_reader", &[]).await?;
        let values: Vec<Vec<&dyn Param>> = people.iter().map(|p| vec![p as &dyn Param]).collect();
        self.insert_rows("trail_head_reader (person_id)", &values).await
    }
}
