//! The table of OWASP ASVS 5.0 in DEVELOPERS.md: every requirement of levels 1 and 2 has one row, and what a row names is there.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Section, and how many of its requirements are of level 1 or 2, or which, where those of level 3 stand between. From
/// `OWASP_Application_Security_Verification_Standard_5.0.0_en.csv` of the project's repository: 70 of level 1, 183 of level 2.
const SECTIONS: &[(&str, u32)] = &[
    ("1.1", 2),
    ("1.2", 9),
    ("1.3", 11),
    ("1.4", 3),
    ("1.5", 2),
    ("2.1", 3),
    ("2.2", 3),
    ("2.3", 4),
    ("2.4", 1),
    ("3.2", 2),
    ("3.3", 4),
    ("3.4", 6),
    ("3.5", 5),
    ("3.7", 2),
    ("4.1", 3),
    ("4.2", 1),
    ("4.3", 2),
    ("4.4", 4),
    ("5.1", 1),
    ("5.2", 3),
    ("5.3", 2),
    ("5.4", 3),
    ("6.1", 3),
    ("6.2", 12),
    ("6.3", 4),
    ("6.4", 4),
    ("6.5", 5),
    ("6.6", 3),
    ("6.8", 4),
    ("7.1", 3),
    ("7.2", 4),
    ("7.3", 2),
    ("7.4", 5),
    ("7.5", 2),
    ("7.6", 2),
    ("8.1", 2),
    ("8.2", 3),
    ("8.3", 1),
    ("8.4", 1),
    ("9.1", 3),
    ("9.2", 4),
    ("10.1", 2),
    ("10.2", 2),
    ("10.3", 4),
    ("10.4", 11),
    ("10.5", 5),
    ("10.6", 2),
    ("10.7", 3),
    ("11.1", 2),
    ("11.2", 3),
    ("11.3", 3),
    ("11.4", 4),
    ("11.5", 1),
    ("11.6", 1),
    ("12.1", 3),
    ("12.2", 2),
    ("12.3", 4),
    ("13.1", 1),
    ("13.2", 5),
    ("13.3", 2),
    ("13.4", 5),
    ("14.1", 2),
    ("14.2", 4),
    ("14.3", 3),
    ("15.1", 3),
    ("15.2", 3),
    ("15.3", 7),
    ("16.1", 1),
    ("16.2", 5),
    ("16.3", 4),
    ("16.4", 3),
    ("16.5", 3),
    ("17.1", 1),
    ("17.2", 4),
    ("17.3", 2),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Numbers, and what is said of them.
fn rows() -> Vec<(Vec<String>, String)> {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let section = text.split("## OWASP ASVS 5.0").nth(1).expect("the section");
    let section = section.split("\n## ").next().unwrap_or_default();
    let rows = section.lines().filter_map(|l| l.strip_prefix("| ")?.split_once(" | "));
    rows.filter(|(numbers, _)| numbers.starts_with(|c: char| c.is_ascii_digit()))
        .map(|(numbers, said)| (numbers.split(' ').flat_map(one_by_one).collect(), said.to_owned()))
        .collect()
}

/// `1.2.5–1.2.9`, and a number alone.
fn one_by_one(numbers: &str) -> Vec<String> {
    let Some((first, last)) = numbers.split_once('–') else { return vec![numbers.to_owned()] };
    let (section, from) = first.rsplit_once('.').expect("a number");
    let (same, to) = last.rsplit_once('.').expect("a number");
    assert_eq!(section, same, "{numbers}");
    let (from, to): (u32, u32) = (from.parse().expect("a number"), to.parse().expect("a number"));
    (from..=to).map(|n| format!("{section}.{n}")).collect()
}

#[test]
fn every_requirement_has_its_row() {
    assert_eq!(SECTIONS.iter().map(|(_, n)| n).sum::<u32>(), 70 + 183);
    let mut said: BTreeMap<String, usize> = BTreeMap::new();
    for (numbers, _) in rows() {
        for number in numbers {
            *said.entry(number).or_default() += 1;
        }
    }
    let asked = SECTIONS.iter().flat_map(|(section, n)| (1..=*n).map(move |i| format!("{section}.{i}")));
    let asked: Vec<String> = asked.collect();
    let missing: Vec<_> = asked.iter().filter(|n| !said.contains_key(*n)).collect();
    let twice: Vec<_> = said.iter().filter(|(_, times)| **times > 1).map(|(n, _)| n).collect();
    let unknown: Vec<_> = said.keys().filter(|n| !asked.contains(n)).collect();
    assert!(
        missing.is_empty() && twice.is_empty() && unknown.is_empty(),
        "{missing:?} {twice:?} {unknown:?}"
    );
}

#[test]
fn what_a_row_names_is_there() {
    let mut sources = Vec::new();
    for folder in ["src", "tests"] {
        gather(&root().join(folder), &mut sources);
    }
    let mut named = 0;
    let mut gone = Vec::new();
    for (numbers, said) in rows() {
        for name in said.split('`').skip(1).step_by(2) {
            let there = match name.split_once("::") {
                Some((file, test)) => sources.iter().any(|(path, text)| {
                    path.to_string_lossy().ends_with(&format!("/{file}"))
                        && text.contains(&format!("fn {test}("))
                }),
                None if name.contains('/') && !name.starts_with('/') => root().join(name).exists(),
                None if name == "Cargo.lock" => root().join(name).exists(),
                None => continue,
            };
            named += 1;
            if !there {
                gone.push(format!("{numbers:?}: {name}"));
            }
        }
    }
    assert!(gone.is_empty(), "gone:\n{}", gone.join("\n"));
    assert!(named > 100, "only {named} were named");
}

fn gather(folder: &Path, into: &mut Vec<(PathBuf, String)>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            gather(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") {
            into.push((path.clone(), fs::read_to_string(&path).expect("text")));
        }
    }
}
