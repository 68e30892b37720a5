//! Asks the database whether the invariants hold, walks every audit chain, and holds the trail against what was signed.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, SecondsFormat, Utc};

use super::trail_heads::{digest, in_order, is_signed};
use super::{Result, Workshop};
use crate::domain::trail_head::WrittenHead;
use crate::storage::{Breach, ChainEnd, TrailHeadRow, Tx, sha256};

#[derive(Debug)]
pub struct Report {
    pub breaches: Vec<Breach>,
    pub chains: usize,
    pub entries: u64,
    /// Signed heads in the database.
    pub heads: usize,
    /// The engine's own word on its file.
    pub integrity: String,
}

impl Report {
    pub fn sound(&self) -> bool {
        self.breaches.is_empty() && self.integrity == "ok"
    }
}

pub async fn verify(workshop: &Workshop) -> Result<Report> {
    verify_against(workshop, &[], None).await
}

/// The same, and against heads that were kept elsewhere; with the public key that was printed, also whether it signed them.
pub async fn verify_against(
    workshop: &Workshop,
    kept: &[WrittenHead],
    public_key: Option<&str>,
) -> Result<Report> {
    // Of one moment: others may write meanwhile.
    let mut tx = workshop.db.snapshot().await?;
    let mut breaches = tx.breaches().await?;
    let (chains, entries) = walk(&mut tx, &mut breaches).await?;
    let heads = tx.trail_heads(0).await?;
    look_at_heads(&mut tx, &heads, &mut breaches).await?;
    for head in kept {
        if let Some(what) = unlike(head, &heads, public_key) {
            breaches.push(broken(format!("head {} that was kept: {what}", head.number)));
        }
    }
    drop(tx);
    Ok(Report { breaches, chains, entries, heads: heads.len(), integrity: workshop.db.integrity().await? })
}

fn broken(what: String) -> Breach {
    Breach { invariant: 7, what }
}

fn when(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// Where a chain ends, or has ended so far.
struct End {
    seq: i64,
    hash: String,
    at: Option<DateTime<Utc>>,
    /// Only the first thing that is wrong with a chain is told: all after it follows from it.
    faulty: bool,
}

/// Every chain, entry by entry; answers how many of both there are.
async fn walk(tx: &mut Tx, breaches: &mut Vec<Breach>) -> Result<(usize, u64)> {
    const PAGE: i64 = 1000;
    let recorded: BTreeMap<String, ChainEnd> =
        tx.ends_now().await?.into_iter().map(|e| (e.stream.clone(), e)).collect();
    let mut ends: BTreeMap<String, End> = BTreeMap::new();
    let (mut stream, mut seq, mut entries) = (String::new(), 0, 0);
    loop {
        let page = tx.chain(&stream, seq, PAGE).await?;
        let Some(last) = page.last() else { break };
        (stream, seq) = (last.stream.clone(), last.seq);
        for row in &page {
            entries += 1;
            let end = ends.entry(row.stream.clone()).or_insert_with(|| End {
                seq: 0,
                hash: String::new(),
                at: None,
                faulty: false,
            });
            let fault = if row.seq != end.seq + 1 {
                let (first, last) = (end.seq + 1, row.seq - 1);
                let missing = if first == last { first.to_string() } else { format!("{first} to {last}") };
                Some(format!("missing: entry {missing} before entry {}", row.seq))
            } else if recorded.get(&row.stream).is_none_or(|r| row.seq > r.seq) {
                Some(format!("added: entry {} is past the end on record", row.seq))
            } else if row.hash != row.expected_hash() {
                Some(format!("altered: entry {} does not say what was hashed", row.seq))
            } else if row.prev_hash != end.hash {
                Some(format!("rewritten: entry {} does not follow from the one before", row.seq))
            } else {
                None
            };
            if let Some(fault) = fault.filter(|_| !end.faulty) {
                let at = when(row.at);
                breaches.push(broken(format!("audit, chain “{}”, {at}: {fault}", row.stream)));
                end.faulty = true;
            }
            (end.seq, end.at) = (row.seq, Some(row.at));
            end.hash.clone_from(&row.hash);
        }
    }
    for (stream, on_record) in &recorded {
        let fault = match ends.get(stream) {
            None => format!("missing: all {} entries", on_record.seq),
            Some(end) if end.faulty => continue,
            Some(end) if end.seq < on_record.seq => {
                let last = end.at.map(when).unwrap_or_default();
                format!(
                    "missing: it ends at entry {}, {last}, and not at {} as recorded",
                    end.seq, on_record.seq
                )
            }
            Some(end) if end.hash != on_record.hash => {
                format!("rewritten: entry {} is not the end on record", end.seq)
            }
            Some(_) => continue,
        };
        breaches.push(broken(format!("audit, chain “{stream}”: {fault}")));
    }
    Ok((recorded.len(), entries))
}

/// The heads follow one another, are signed, and say what the trail says.
async fn look_at_heads(tx: &mut Tx, heads: &[TrailHeadRow], breaches: &mut Vec<Breach>) -> Result<()> {
    let (mut number, mut hash) = (0, String::new());
    let mut ends: BTreeMap<String, ChainEnd> = BTreeMap::new();
    for row in heads {
        ends.extend(tx.ends_moved_at(row.number).await?.into_iter().map(|e| (e.stream.clone(), e)));
        let mut sorted: Vec<ChainEnd> = ends.values().cloned().collect();
        in_order(&mut sorted);
        let signed = row.signed();
        let fault = if row.number != number + 1 {
            Some("the one before is missing")
        } else if row.prev_hash != hash {
            Some("it does not follow from the one before")
        } else if row.hash != sha256(&signed.head.signed_text()) || !is_signed(&signed) {
            Some("it does not say what was signed")
        } else if row.digest != digest(&sorted)
            || (row.chains, row.entries) != (sorted.len() as i64, sorted.iter().map(|e| e.seq).sum())
        {
            Some("its list of chains is not the one that was signed")
        } else {
            None
        };
        if let Some(fault) = fault {
            breaches.push(broken(format!("signed head {}, {}: {fault}", row.number, when(row.at))));
        }
        number = row.number;
        hash.clone_from(&row.hash);
    }
    let mut told = BTreeSet::new();
    for end in tx.unlike_signed().await? {
        if told.insert(end.stream.clone()) {
            let what = if end.there { "was rewritten" } else { "is missing" };
            breaches.push(broken(format!(
                "audit, chain “{}”: entry {} {what} since head {} was signed, {}",
                end.stream,
                end.seq,
                end.number,
                when(end.at)
            )));
        }
    }
    Ok(())
}

/// What is wrong with a head that was kept elsewhere, held against those of the database.
fn unlike(kept: &WrittenHead, heads: &[TrailHeadRow], public_key: Option<&str>) -> Option<String> {
    if let Some(signed) = &kept.signed {
        if public_key.is_some_and(|key| key != signed.public_key) {
            return Some("signed by another key than the one given".to_owned());
        }
        if kept.hash != sha256(&signed.head.signed_text()) || !is_signed(signed) {
            return Some(
                "what was kept is not what was signed: it was altered after it left here".to_owned(),
            );
        }
    }
    let at = kept.signed.as_ref().map(|s| format!(" of {}", when(s.head.at))).unwrap_or_default();
    match heads.iter().find(|h| h.number == kept.number) {
        None => Some(format!("the database has no such head{at}: the trail was cut off, or is an older one")),
        Some(row) if row.hash != kept.hash => {
            Some(format!("the database has another one{at}: the trail was rewritten"))
        }
        Some(row) if public_key.is_some_and(|key| key != row.public_key) => {
            Some("signed by another key than the one given".to_owned())
        }
        Some(_) => None,
    }
}
