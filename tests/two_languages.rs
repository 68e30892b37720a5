//! Every page in both languages, side by side, as the same person sees it: what reads the same in both and is no data of
//! the test's own site was forgotten.

mod read;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use reqwest::header::{ACCEPT_LANGUAGE, HeaderMap, HeaderValue};

use crate::routes::world::World;
use crate::routes::{api, pages};
use crate::support::Bench;
use crate::support::on_both;
use read::{letters_left, texts};

on_both!(no_page_speaks_the_other_language, no_problem_speaks_the_other_language);

/// What the test's own site holds, typed by its people: it reads the same in every language.
const DATA: &[&str] = &[
    "Olga Owner",
    "Sara Supervisor",
    "Mats Mechanic",
    "Mia Mechanic",
    "Otto Operator",
    "Stig Stranger",
    "Spare",
    "Invited",
    "North yard",
    "South yard",
    "utility vehicle",
    "quad",
    "utility-vehicle-daily",
    "U-07",
    "U-08",
    "u7",
    "Brake pad set",
    "BP-1",
    "A1",
    "set",
    "Looked odd",
    "Side panel hangs loose",
    "Seen on the walk round",
    "Two-seat",
    "Drove it round the yard",
    "Chafed",
    "Replaced",
    // What the post said: kept as it came.
    "written to",
];

/// Right in both: names, signs, and words that happen to be spelled alike.
const ALIKE: &[&str] = &[
    "Chock",
    "PIN",
    "CSV",
    "TOML",
    "JSON",
    "UTC",
    "QR",
    "ISO",
    "IANA",
    "MIL-STD-882E",
    "English",
    "Español",
    "EUR",
    "kPa",
    "bar",
    "psi",
    "mm",
    "in",
    "mL",
    "US qt",
    "US fl oz",
    "min",
    "Europe/Oslo",
    "No",
    "no",
    "Total",
    "Motor",
    "supervisor",
    "Supervisor",
];

async fn no_page_speaks_the_other_language(b: Bench) {
    let world = World::new(b).await;
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut read = 0;
    for route in pages::table(&world.names) {
        // What a form that is not taken says is a page as well. What is taken changes the site, and leads elsewhere.
        let stays = route.method == "GET" || (400..500).contains(&route.status);
        if !stays || route.path == "/live" {
            continue;
        }
        for person in world.everybody() {
            world.ready_for(&route).await;
            let english = world.ask(&route, person, in_language("en")).await;
            let spanish = world.ask(&route, person, in_language("es")).await;
            if !english.is_a_page() || !spanish.is_a_page() {
                continue;
            }
            read += 1;
            let english: BTreeSet<String> = texts(&english.text).into_iter().collect();
            for text in texts(&spanish.text) {
                if english.contains(&text) && letters_left(&text, &[DATA, ALIKE]) {
                    found.entry(text).or_default().insert(format!("{} {}", route.method, route.path));
                }
            }
        }
    }
    assert!(read > 300, "only {read} pages were read");
    assert!(found.is_empty(), "{} texts are the same in both languages:\n{}", found.len(), by_file(&found));
    world.close().await;
}

async fn no_problem_speaks_the_other_language(b: Bench) {
    let world = World::new(b).await;
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut read = 0;
    for route in api::table(&world.names) {
        for person in world.everybody().filter(|p| !route.who.contains(p.letter)) {
            let english = world.call(&route, person, in_language("en")).await;
            let spanish = world.call(&route, person, in_language("es")).await;
            read += 1;
            let english: BTreeSet<String> = said_of(&english.text).into_iter().collect();
            for text in said_of(&spanish.text) {
                if english.contains(&text) {
                    found.entry(text).or_default().insert(format!("{} {}", route.method, route.path));
                }
            }
        }
    }
    assert!(read > 30, "only {read} problems were read");
    assert!(found.is_empty(), "{} texts are the same in both languages:\n{}", found.len(), by_file(&found));
    world.close().await;
}

/// Title, detail, and what is said of each member.
fn said_of(problem: &str) -> Vec<String> {
    let problem: serde_json::Value = serde_json::from_str(problem).expect("a problem");
    let of_members = problem["errors"].as_array().into_iter().flatten().map(|e| &e["detail"]);
    [&problem["title"], &problem["detail"]]
        .into_iter()
        .chain(of_members)
        .map(|text| text.as_str().expect("a text").to_owned())
        .collect()
}

#[test]
fn a_sentence_that_is_left_in_one_language_is_seen() {
    let page = |lang: &str, word: &str, planted: &str| {
        format!(
            "<html lang={lang}><title>{word} · Chock</title><main><h1>U-07</h1><p>{word}, {planted}</p>\
             <p>{planted}</p><button aria-label=\"{planted} 7\">{word}</button><td data-label='{word}'>12 mm</td>\
             <code>left alone</code><p>Olga Owner, BP-1</p></main>"
        )
    };
    let same = |planted: &str| -> Vec<String> {
        let english: BTreeSet<String> = texts(&page("en", "Held", planted)).into_iter().collect();
        let spanish = texts(&page("es", "Retenida", planted));
        spanish.into_iter().filter(|t| english.contains(t) && letters_left(t, &[DATA, ALIKE])).collect()
    };
    assert_eq!(same("Not translated"), ["Not translated", "Not translated 7"]);
    assert_eq!(same("Sara Supervisor"), [""; 0]);
    // A name inside a longer word hides nothing of it.
    assert_eq!(same("Reset"), ["Reset", "Reset 7"]);
}

fn in_language(tag: &'static str) -> HeaderMap {
    HeaderMap::from_iter([(ACCEPT_LANGUAGE, HeaderValue::from_static(tag))])
}

/// The texts under the file that says them, as far as it is found, with one of the pages that show them.
fn by_file(found: &BTreeMap<String, BTreeSet<String>>) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in ["web/templates", "src"] {
        gather(&root.join(folder), &mut files);
    }
    let mut lines: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (text, pages) in found {
        let file = files.iter().find(|(_, said)| said.contains(text.as_str()));
        let name = file.map_or("(put together)", |(name, _)| name.as_str());
        let page = pages.first().map_or("", String::as_str);
        lines.entry(name.to_owned()).or_default().push(format!("    {text:?}  ({page})"));
    }
    lines.iter().map(|(file, texts)| format!("{file}: {}\n{}\n", texts.len(), texts.join("\n"))).collect()
}

fn gather(folder: &Path, into: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            gather(&path, into);
        } else if path.to_string_lossy().contains("tests") {
            // They quote what others say.
        } else if let Ok(said) = fs::read_to_string(&path) {
            let root = Path::new(env!("CARGO_MANIFEST_DIR"));
            let name = path.strip_prefix(root).unwrap_or(&path).display().to_string();
            into.push((name, said));
        }
    }
}
