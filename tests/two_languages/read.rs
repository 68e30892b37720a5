//! What people read of a page.

use tl::{Node, NodeHandle, Parser, ParserOptions};

/// Attributes that are read out or shown.
const READ: [&str; 5] = ["aria-label", "title", "alt", "placeholder", "data-label"];

/// Code, what somebody typed, and what nobody reads.
const NOT_READ: [&str; 6] = ["script", "style", "code", "pre", "textarea", "kbd"];

/// Every text of a page, in its order: the nodes and the attributes, with spaces as they are seen.
pub fn texts(html: &str) -> Vec<String> {
    let dom = tl::parse(html, ParserOptions::default()).expect("a page");
    let mut found = Vec::new();
    for child in dom.children() {
        walk(child, dom.parser(), &mut found);
    }
    found.retain(|text| !text.is_empty());
    found
}

fn walk(node: &NodeHandle, parser: &Parser<'_>, found: &mut Vec<String>) {
    match node.get(parser) {
        // What says of itself in which language it is, such as the language's own name.
        Some(Node::Tag(tag)) if tag.name() != "html" && tag.attributes().get("lang").is_some() => {}
        Some(Node::Tag(tag)) => {
            for name in READ {
                if let Some(Some(value)) = tag.attributes().get(name) {
                    found.push(as_seen(&value.as_utf8_str()));
                }
            }
            if !NOT_READ.contains(&tag.name().as_utf8_str().as_ref()) {
                for child in tag.children().top().iter() {
                    walk(child, parser, found);
                }
            }
        }
        Some(Node::Raw(text)) => found.push(as_seen(&text.as_utf8_str())),
        Some(Node::Comment(_)) | None => {}
    }
}

fn as_seen(text: &str) -> String {
    let mut text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for (written, sign) in [
        ("&#39;", "'"),
        ("&#34;", "\""),
        ("&quot;", "\""),
        ("&#60;", "<"),
        ("&lt;", "<"),
        ("&#62;", ">"),
        ("&gt;", ">"),
        ("&nbsp;", " "),
        ("&#38;", "&"),
        ("&amp;", "&"),
    ] {
        text = text.replace(written, sign);
    }
    text
}

/// Whether two letters in a row are left once whole words that are known, addresses and ids are taken out.
pub fn letters_left(text: &str, known: &[&[&str]]) -> bool {
    let mut known: Vec<&str> = known.iter().copied().flatten().copied().collect();
    known.sort_by_key(|k| std::cmp::Reverse(k.len()));
    let mut left: String = text
        .split(' ')
        .filter(|w| !w.contains('@') && !w.contains("://") && !w.starts_with('/') && !is_id(w))
        .collect::<Vec<_>>()
        .join(" ");
    for word in known {
        left = without(&left, word);
    }
    let letters: Vec<bool> = left.chars().map(char::is_alphabetic).collect();
    letters.windows(2).any(|two| two[0] && two[1])
}

/// Hexadecimal, whole or with its middle left out: ids and hashes.
fn is_id(word: &str) -> bool {
    let digits = |c: char| c.is_ascii_digit();
    let word = word.trim_end_matches(".eml");
    word.contains(digits) && word.chars().all(|c| c.is_ascii_hexdigit() || matches!(c, '-' | '…'))
}

fn without(text: &str, word: &str) -> String {
    let mut left = String::with_capacity(text.len());
    let mut from = 0;
    for (at, _) in text.match_indices(word) {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        if before.into_iter().chain(after).any(char::is_alphanumeric) || at < from {
            continue;
        }
        left.push_str(&text[from..at]);
        from = at + word.len();
    }
    left + &text[from..]
}
