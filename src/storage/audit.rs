//! The audit trail: one hash chain per stream, so that chains never wait for one another.

use chrono::{DateTime, SecondsFormat, Utc};
use sha2::{Digest, Sha256};
use sqlx::FromRow;

use super::{Param, Result, Tx, guarded};
use crate::domain::ids::PersonId;
use crate::domain::trail::{act_said, acts_with, subject_said};
use crate::words::Text;

/// One change of state: who, when, from, to, why.
#[derive(Clone, Debug)]
pub struct Entry {
    pub by_id: Option<PersonId>,
    pub by_name: String,
    pub at: DateTime<Utc>,
    pub act: &'static str,
    /// What was changed, such as `defect 0198…`.
    pub subject: String,
    pub before: String,
    pub after: String,
    pub why: String,
}

/// Where an entry stands in the list of all of them, newest first.
#[derive(Clone, Debug, Default, FromRow)]
pub struct AuditPlace {
    pub at: DateTime<Utc>,
    pub stream: String,
    pub seq: i64,
}

#[derive(Clone, Debug, FromRow)]
pub struct AuditRow {
    pub stream: String,
    pub seq: i64,
    pub at: DateTime<Utc>,
    pub by_id: Option<PersonId>,
    pub by_name: String,
    pub act: String,
    pub subject: String,
    pub before: String,
    pub after: String,
    pub why: String,
    pub prev_hash: String,
    pub hash: String,
}

/// In hexadecimal.
pub fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|b| format!("{b:02x}")).collect()
}

/// In every language.
impl AuditRow {
    /// A name, or who it was when nobody is known.
    pub fn said_by_name(&self) -> Text {
        Text::from_kept(&self.by_name)
    }

    pub fn said_act(&self) -> Text {
        act_said(&self.act)
    }

    pub fn said_subject(&self) -> Text {
        subject_said(&self.subject)
    }

    pub fn said_stream(&self) -> Text {
        subject_said(&self.stream)
    }

    pub fn said_before(&self) -> Text {
        Text::from_kept(&self.before)
    }

    pub fn said_after(&self) -> Text {
        Text::from_kept(&self.after)
    }

    pub fn said_why(&self) -> Text {
        Text::from_kept(&self.why)
    }
}

impl AuditRow {
    /// What the hash of this row must be, given what it says: SHA-256 of [`AuditRow::hashed`].
    pub fn expected_hash(&self) -> String {
        sha256(&self.hashed())
    }

    /// The text whose hash this row's is, for whoever checks it by other means: a JSON array of everything the row says and
    /// the hash before it.
    pub fn hashed(&self) -> String {
        let said = serde_json::json!([
            self.stream,
            self.seq,
            self.at.to_rfc3339_opts(SecondsFormat::Micros, true),
            self.by_id,
            self.by_name,
            self.act,
            self.subject,
            self.before,
            self.after,
            self.why,
            self.prev_hash
        ]);
        said.to_string()
    }
}

/// The entries as rows, each with the hash of the one before it; the first follows the entry `end` with the hash `hash`.
fn chained(stream: &str, end: i64, mut hash: String, entries: &[Entry]) -> Vec<AuditRow> {
    let mut rows = Vec::with_capacity(entries.len());
    for (seq, e) in (end + 1..).zip(entries) {
        let mut row = AuditRow {
            stream: stream.to_owned(),
            seq,
            at: e.at,
            by_id: e.by_id,
            by_name: e.by_name.clone(),
            act: e.act.to_owned(),
            subject: e.subject.clone(),
            before: e.before.clone(),
            after: e.after.clone(),
            why: e.why.clone(),
            prev_hash: hash,
            hash: String::new(),
        };
        row.hash = row.expected_hash();
        hash = row.hash.clone();
        rows.push(row);
    }
    rows
}

pub(super) const CHAIN_HEAD: &str = "SELECT seq, hash FROM audit_head WHERE stream = $1";

impl Tx {
    /// Adds entries to the end of a stream's chain.
    pub async fn audit(&mut self, stream: &str, entries: &[Entry]) -> Result<()> {
        if entries.is_empty() {
            return Ok(());
        }
        let stream = stream.to_owned();
        let count = entries.len() as i64;
        // Taken with its lock, so that two changes of one stream queue up here.
        let head: Option<(i64, String)> = self
            .maybe(
                "UPDATE audit_head SET seq = seq + $2 WHERE stream = $1 RETURNING seq, hash",
                &[&stream, &count],
            )
            .await?;
        let (seq, hash, new) = match head {
            Some((seq, hash)) => (seq - count, hash, false),
            None => (0, String::new(), true),
        };
        let rows = chained(&stream, seq, hash, entries);
        self.insert_entries(&rows).await?;
        let Some((seq, hash)) = rows.last().map(|r| (r.seq, r.hash.clone())) else { return Ok(()) };
        if new {
            self.run(
                "INSERT INTO audit_head (stream, seq, hash) VALUES ($1, $2, $3)",
                &[&stream, &seq, &hash],
            )
            .await?;
            Ok(())
        } else {
            guarded(self.run("UPDATE audit_head SET hash = $2 WHERE stream = $1", &[&stream, &hash]).await?)
        }
    }

    /// As [`Tx::audit`], of a chain whose end was read before: [`super::StorageError::Changed`], perhaps only at the commit, when it
    /// no longer ends there.
    pub async fn audit_after(&mut self, stream: &str, end: (i64, String), entries: &[Entry]) -> Result<()> {
        let (end, hash) = end;
        let rows = chained(stream, end, hash, entries);
        let Some(last) = rows.last() else { return Ok(()) };
        let moved = "UPDATE audit_head SET seq = $2, hash = $3 WHERE stream = $1 AND seq = $4";
        self.later_guarded(moved, &[&last.stream, &last.seq, &last.hash, &end]).await?;
        self.insert_entries(&rows).await
    }

    async fn insert_entries(&mut self, rows: &[AuditRow]) -> Result<()> {
        let values: Vec<Vec<&dyn Param>> = rows
            .iter()
            .map(|r| {
                vec![
                    &r.stream as &dyn Param,
                    &r.seq,
                    &r.at,
                    &r.by_id,
                    &r.by_name,
                    &r.act,
                    &r.subject,
                    &r.before,
                    &r.after,
                    &r.why,
                    &r.prev_hash,
                    &r.hash,
                ]
            })
            .collect();
        self.insert_rows(
            "audit (stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash)",
            &values,
        )
        .await
    }

    /// Newest first, after the first `skipped`; `stream` empty for all. `query` is looked for in who, act, subject and why.
    pub async fn audit_rows(
        &mut self,
        stream: &str,
        query: &str,
        before: Option<&AuditPlace>,
        most: i64,
        skipped: i64,
    ) -> Result<Vec<AuditRow>> {
        let anywhere = before.is_none();
        let AuditPlace { at, stream: behind, seq } = before.cloned().unwrap_or_default();
        let like = format!("%{}%", query.to_lowercase().replace(['%', '_'], ""));
        let acts: Vec<_> = acts_with(query.trim()).iter().map(|act| act.as_str()).collect();
        let acts = format!("|{}|", acts.join("|"));
        self.all(
            "SELECT stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash FROM audit
             WHERE ($1 = '' OR stream = $1)
               AND ($2 = '%%' OR LOWER(by_name) LIKE $2 OR act LIKE $2 OR $5 LIKE '%|' || act || '|%' OR LOWER(subject) LIKE $2 OR LOWER(why) LIKE $2)
               AND ($6 OR at < $7 OR (at = $7 AND (stream > $8 OR (stream = $8 AND seq < $9))))
             ORDER BY at DESC, stream, seq DESC LIMIT $3 OFFSET $4",
            &[&stream.to_owned(), &like, &most, &skipped, &acts, &anywhere, &at, &behind, &seq],
        )
        .await
    }

    pub async fn audit_place(&mut self, stream: &str, seq: i64) -> Result<Option<AuditPlace>> {
        self.maybe(
            "SELECT at, stream, seq FROM audit WHERE stream = $1 AND seq = $2",
            &[&stream.to_owned(), &seq],
        )
        .await
    }

    /// A stream's chain from `after_seq` on, oldest first.
    pub async fn chain(&mut self, after_stream: &str, after_seq: i64, most: i64) -> Result<Vec<AuditRow>> {
        self.all(
            "SELECT stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash FROM audit
             WHERE (stream, seq) > ($1, $2) ORDER BY stream, seq LIMIT $3",
            &[&after_stream.to_owned(), &after_seq, &most],
        )
        .await
    }

    /// One stream's chain, whole, oldest first.
    pub async fn chain_of(&mut self, stream: &str) -> Result<Vec<AuditRow>> {
        self.all(
            "SELECT stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash FROM audit
             WHERE stream = $1 ORDER BY seq",
            &[&stream.to_owned()],
        )
        .await
    }

    /// Where it ends: the number of its last entry, and that one's hash.
    pub async fn chain_head(&mut self, stream: &str) -> Result<Option<(i64, String)>> {
        self.maybe(CHAIN_HEAD, &[&stream.to_owned()]).await
    }

    pub async fn chain_heads(&mut self) -> Result<Vec<(String, i64, String)>> {
        self.all("SELECT stream, seq, hash FROM audit_head ORDER BY stream", &[]).await
    }
}
