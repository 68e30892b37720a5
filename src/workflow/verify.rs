//! Asks the database whether the invariants hold, and walks every audit chain.

use super::{Result, Workshop};
use crate::storage::Breach;

#[derive(Debug)]
pub struct Report {
    pub breaches: Vec<Breach>,
    pub chains: usize,
    pub entries: u64,
    /// The engine's own word on its file.
    pub integrity: String,
}

impl Report {
    pub fn sound(&self) -> bool {
        self.breaches.is_empty() && self.integrity == "ok"
    }
}

pub async fn verify(workshop: &Workshop) -> Result<Report> {
    const PAGE: i64 = 1000;
    let mut breaches = Vec::new();
    let mut entries = 0;
    let mut tx = workshop.db.read().await?;
    breaches.extend(tx.breaches().await?);
    let heads = tx.chain_heads().await?;
    let (mut stream, mut seq, mut hash) = (String::new(), 0, String::new());
    // The ends that were walked to, to be held against the ends on record.
    let mut ends = Vec::new();
    loop {
        let page = tx.chain(&stream, seq, PAGE).await?;
        let Some(last) = page.last() else { break };
        let next = (last.stream.clone(), last.seq);
        for row in &page {
            if row.stream != stream {
                if !stream.is_empty() {
                    ends.push((stream.clone(), seq, hash.clone()));
                }
                (stream, seq, hash) = (row.stream.clone(), 0, String::new());
            }
            entries += 1;
            let fault = if row.seq != seq + 1 {
                Some("rows are missing before")
            } else if row.prev_hash != hash {
                Some("the chain is broken at")
            } else if row.hash != row.expected_hash() {
                Some("an altered row is")
            } else {
                None
            };
            if let Some(fault) = fault {
                breaches.push(Breach {
                    invariant: 7,
                    what: format!("audit: {fault} entry {} of “{}”", row.seq, row.stream),
                });
            }
            seq = row.seq;
            hash.clone_from(&row.hash);
        }
        debug_assert_eq!((&stream, seq), (&next.0, next.1));
    }
    if !stream.is_empty() {
        ends.push((stream, seq, hash));
    }
    for head in &heads {
        if !ends.contains(head) {
            let what = format!("audit: “{}” does not end at entry {} as recorded", head.0, head.1);
            breaches.push(Breach { invariant: 7, what });
        }
    }
    for end in &ends {
        if !heads.iter().any(|h| h.0 == end.0) {
            breaches
                .push(Breach { invariant: 7, what: format!("audit: “{}” has no recorded end", end.0) });
        }
    }
    drop(tx);
    Ok(Report { breaches, chains: heads.len(), entries, integrity: workshop.db.integrity().await? })
}
