//! A signed head: what all chains of the audit trail were at a moment. Whoever keeps one elsewhere can tell later whether
//! anything before it was cut off or rewritten.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::{DateTime, SecondsFormat, Utc};

/// What is signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrailHead {
    /// From 1, without a gap.
    pub number: i64,
    pub at: DateTime<Utc>,
    pub chains: i64,
    pub entries: i64,
    /// Over where each chain ended.
    pub digest: String,
    /// Hash of the head before; empty for the first.
    pub prev_hash: String,
}

impl TrailHead {
    /// The text whose SHA-256 is the head's hash, and which is signed.
    pub fn signed_text(&self) -> String {
        format!(
            "chock head 1\nnumber {}\nat {}\nchains {}\nentries {}\ndigest {}\nbefore {}\n",
            self.number,
            self.at.to_rfc3339_opts(SecondsFormat::Micros, true),
            self.chains,
            self.entries,
            self.digest,
            self.prev_hash
        )
    }
}

/// The text whose SHA-256 is the digest: a line for each chain, in the order of their names' bytes.
pub fn ends_text<'a>(ends: impl IntoIterator<Item = (&'a str, i64, &'a str)>) -> String {
    let mut text = String::new();
    for (stream, seq, hash) in ends {
        // A stream's name has no line break: it is a word and an id.
        let _ = writeln!(text, "{hash} {seq} {stream}");
    }
    text
}

const BEGIN: &str = "-----BEGIN CHOCK HEAD-----";
const END: &str = "-----END CHOCK HEAD-----";

/// A head as it is mailed and printed, and as it comes back from there. What somebody typed from paper has the number and
/// the hash at least.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenHead {
    pub number: i64,
    pub hash: String,
    pub signed: Option<Signed>,
}

/// All of a head, as it came back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signed {
    pub head: TrailHead,
    pub signature: String,
    pub public_key: String,
}

/// A head on lines of its own, for a mail, a sheet of paper or a file.
pub fn write_out(hash: &str, signed: &Signed) -> String {
    let Signed { head, signature, public_key } = signed;
    let at = head.at.to_rfc3339_opts(SecondsFormat::Micros, true);
    let TrailHead { number, at: _, chains, entries, digest, prev_hash } = head;
    format!(
        "{BEGIN}\nnumber: {number}\nat: {at}\nchains: {chains}\nentries: {entries}\ndigest: {digest}\nbefore: {prev_hash}\nhash: {hash}\n\
         signature: {}\nsignature: {}\nkey: {public_key}\n{END}\n",
        &signature[..signature.len() / 2],
        &signature[signature.len() / 2..]
    )
}

/// Every head in a text, whatever stands around them: a mail as it was saved, quoted or not. The line that is wrong, where
/// one is.
pub fn read_back(text: &str) -> Result<Vec<WrittenHead>, usize> {
    let mut heads = Vec::new();
    let mut open: Option<(usize, BTreeMap<String, String>)> = None;
    for (at, line) in text.lines().enumerate() {
        let line = line.trim_start_matches(['>', ' ', '\t']).trim_end();
        if line == BEGIN {
            open = Some((at, BTreeMap::new()));
        } else if line == END {
            let (_, fields) = open.take().ok_or(at + 1)?;
            heads.push(head_of(&fields).ok_or(at + 1)?);
        } else if let Some((_, fields)) = &mut open
            && let Some((name, value)) = line.split_once(':')
        {
            // From paper, letters may come in any case and with spaces in between.
            let value = if name.trim() == "at" { value.trim().to_owned() } else { plain(value) };
            fields.entry(name.trim().to_owned()).or_default().push_str(&value);
        }
    }
    match open {
        Some((at, _)) => Err(at + 1),
        None => Ok(heads),
    }
}

fn head_of(fields: &BTreeMap<String, String>) -> Option<WrittenHead> {
    let hex = |name: &str, length: usize| fields.get(name).filter(|v| is_hex(v, length)).cloned();
    let figure = |name: &str| fields.get(name).and_then(|v| v.parse::<i64>().ok());
    let (number, hash) = (figure("number").filter(|n| *n > 0)?, hex("hash", 64)?);
    if fields.keys().all(|name| matches!(name.as_str(), "number" | "hash")) {
        return Some(WrittenHead { number, hash, signed: None });
    }
    let head = TrailHead {
        number,
        at: fields.get("at")?.parse().ok()?,
        chains: figure("chains")?,
        entries: figure("entries")?,
        digest: hex("digest", 64)?,
        prev_hash: fields.get("before").filter(|v| v.is_empty() || is_hex(v, 64))?.clone(),
    };
    let signed = Signed { head, signature: hex("signature", 128)?, public_key: hex("key", 64)? };
    Some(WrittenHead { number, hash, signed: Some(signed) })
}

/// A public key as people compare it: in groups of four.
pub fn in_groups(hex: &str) -> String {
    let groups: Vec<&str> =
        (0..hex.len()).step_by(4).filter_map(|i| hex.get(i..(i + 4).min(hex.len()))).collect();
    groups.join(" ")
}

pub fn plain(hex: &str) -> String {
    hex.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

fn is_hex(text: &str, length: usize) -> bool {
    text.len() == length && text.bytes().all(|b| b.is_ascii_hexdigit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_mailed_is_read_back_also_when_quoted_and_what_was_typed_from_paper() {
        let head = TrailHead {
            number: 3,
            at: "2026-11-26T03:00:00Z".parse().unwrap(),
            chains: 2,
            entries: 9,
            digest: "ab".repeat(32),
            prev_hash: "cd".repeat(32),
        };
        let hash = "12".repeat(32);
        let signed = Signed { head, signature: "34".repeat(64), public_key: "56".repeat(32) };
        let written = write_out(&hash, &signed);
        assert!(
            written.lines().all(|l| l.len() <= 76),
            "a mail program would break a longer line: {written}"
        );
        let quoted: String = written.lines().map(|l| format!("> {l}\r\n")).collect();
        let mail = format!("Dear all,\n\n{quoted}\nKind regards\n{written}");
        let expected = WrittenHead { number: 3, hash: hash.clone(), signed: Some(signed) };
        assert_eq!(read_back(&mail).unwrap(), [expected.clone(), expected]);

        let typed = format!("{BEGIN}\nnumber: 3\nhash: {}\n{END}\n", in_groups(&hash.to_uppercase()));
        assert_eq!(read_back(&typed).unwrap(), [WrittenHead { number: 3, hash: hash.clone(), signed: None }]);
        // The line up to which one cannot be read.
        assert_eq!(read_back(&written.replace(&hash, "12")), Err(12), "a hash cut short");
        assert_eq!(read_back(&written.replace("chains: 2\n", "")), Err(11), "a line lost");
        assert_eq!(read_back(BEGIN), Err(1), "never ended");
        assert_eq!(read_back(END), Err(1), "never begun");
        assert_eq!(read_back("no head at all").unwrap(), []);
    }

    #[test]
    fn every_member_is_in_what_is_signed() {
        let head = TrailHead {
            number: 1,
            at: DateTime::UNIX_EPOCH,
            chains: 2,
            entries: 3,
            digest: "d".into(),
            prev_hash: "p".into(),
        };
        let others = [
            TrailHead { number: 2, ..head.clone() },
            TrailHead { at: DateTime::UNIX_EPOCH + chrono::TimeDelta::microseconds(1), ..head.clone() },
            TrailHead { chains: 3, ..head.clone() },
            TrailHead { entries: 4, ..head.clone() },
            TrailHead { digest: "e".into(), ..head.clone() },
            TrailHead { prev_hash: "q".into(), ..head.clone() },
        ];
        for other in others {
            assert_ne!(other.signed_text(), head.signed_text());
        }
    }
}
