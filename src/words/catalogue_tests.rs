//! The catalogues hold the same, and the code asks for nothing else.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};

use super::*;

/// Key → names of what is filled in.
type Sentences = BTreeMap<String, BTreeSet<String>>;

fn sentences(lang: Lang) -> (Sentences, BTreeMap<String, String>) {
    let (mut all, mut of_file) = (Sentences::new(), BTreeMap::new());
    for (name, text) in files(lang) {
        let resource = fluent_syntax::parser::parse(text.as_str())
            .unwrap_or_else(|(_, faults)| panic!("{}/{name}: {faults:?}", lang.tag()));
        for entry in &resource.body {
            let Entry::Message(message) = entry else { continue };
            let mut names = BTreeSet::new();
            names_in(message.value.as_ref().expect("every message has a text"), &mut names);
            let key = message.id.name.to_owned();
            assert!(all.insert(key.clone(), names).is_none(), "{}/{name}: {key} stands twice", lang.tag());
            of_file.insert(key, name.clone());
        }
    }
    (all, of_file)
}

fn names_in(pattern: &Pattern<&str>, into: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else { continue };
        let inline = match expression {
            Expression::Inline(inline) => inline,
            Expression::Select { selector, variants } => {
                variants.iter().for_each(|v| names_in(&v.value, into));
                selector
            }
        };
        if let InlineExpression::VariableReference { id } = inline {
            into.insert(id.name.to_owned());
        }
    }
}

#[test]
fn every_language_has_the_same_sentences_with_the_same_to_fill_in() {
    let (first, files) = sentences(Lang::En);
    assert!(!first.is_empty());
    for lang in &Lang::ALL[1..] {
        let (other, other_files) = sentences(*lang);
        let missing: Vec<_> = first.keys().filter(|k| !other.contains_key(*k)).collect();
        let unknown: Vec<_> = other.keys().filter(|k| !first.contains_key(*k)).collect();
        assert!(missing.is_empty(), "{} lacks {missing:?}", lang.tag());
        assert!(unknown.is_empty(), "only {} has {unknown:?}", lang.tag());
        let otherwise: Vec<_> =
            first.iter().filter(|(k, names)| other[*k] != **names).map(|(k, _)| k).collect();
        assert!(otherwise.is_empty(), "{} fills in otherwise: {otherwise:?}", lang.tag());
        let elsewhere: Vec<_> =
            files.iter().filter(|(k, file)| other_files[*k] != **file).map(|(k, _)| k).collect();
        assert!(elsewhere.is_empty(), "{} has in another file: {elsewhere:?}", lang.tag());
    }
}

/// A key is written out where it is asked for, never put together, except the words of closed vocabularies.
#[test]
fn what_the_code_asks_for_is_there_and_nothing_lies_idle() {
    let (known, _) = sentences(Lang::En);
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut text = String::new();
    for (folder, ends) in [("src", ".rs"), ("web/templates", ""), ("web/static", ".js")] {
        gather(&root.join(folder), ends, &mut text);
    }
    let written: BTreeSet<&str> = text.split(['"', '`', '\'']).collect();
    let vocabularies = crate::domain::spoken::spoken_words();
    let idle: Vec<_> =
        known.keys().filter(|k| !written.contains(k.as_str()) && !vocabularies.contains(*k)).collect();
    assert!(idle.is_empty(), "nobody says {idle:?}");
    let missing: Vec<_> = vocabularies.iter().filter(|k| !known.contains_key(*k)).collect();
    assert!(missing.is_empty(), "no words for {missing:?}");
    let mut unknown = Vec::new();
    for call in ["t!(", "said!(", "t_in!(", "marked!("] {
        for (at, _) in text.match_indices(call) {
            let before = text[..at].chars().next_back();
            let line = text[..at].rsplit('\n').next().unwrap_or_default();
            if line.trim_start().starts_with("//") || before.is_some_and(|c| c.is_alphanumeric() || c == '_')
            {
                continue;
            }
            // Up to the first argument that is a string; a key handed on as a value is checked where it is written.
            let first: String = text[at + call.len()..].chars().take(120).collect();
            let first = first.trim_start().strip_prefix("lang, ").unwrap_or(first.trim_start());
            if let Some(key) = first.strip_prefix('"').and_then(|r| r.split('"').next())
                && !known.contains_key(key)
            {
                unknown.push(key.to_owned());
            }
        }
    }
    assert!(unknown.is_empty(), "the code asks for {unknown:?}");
}

fn gather(folder: &Path, ends: &str, into: &mut String) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.ends_with("src/words") {
            continue;
        }
        if path.is_dir() {
            gather(&path, ends, into);
        } else if path.to_string_lossy().ends_with(ends) {
            into.push_str(&fs::read_to_string(&path).unwrap_or_default());
        }
    }
}

#[test]
fn one_and_many() {
    let count = |lang, n: i64| t_in!(lang, "markup-test", who = "A", count = n, what = "B");
    assert_eq!(
        (count(Lang::En, 1), count(Lang::En, 2)),
        ("A has 1 machine in B.".to_owned(), "A has 2 machines in B.".to_owned())
    );
    assert_eq!(
        (count(Lang::Es, 1), count(Lang::Es, 2)),
        ("A tiene 1 máquina en B.".to_owned(), "A tiene 2 máquinas en B.".to_owned())
    );
}

#[test]
fn scripts_get_pieces() {
    let text = "script-a = Sent { $count ->\n    [one] once\n   *[other] { $count } times\n } by { $who }.\n";
    let resource = fluent_syntax::parser::parse(text).unwrap();
    let Entry::Message(m) = &resource.body[0] else { panic!() };
    let pieces = pieces(m.value.as_ref().unwrap());
    assert_eq!(
        pieces.to_string(),
        r#"["Sent ",["count",{"one":["once"],"other":[["count"]," times"]}]," by ",["who"],"."]"#
    );
}
