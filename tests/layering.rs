//! The arrows between the rooms point one way, and only one room knows each outside thing.

use std::fs;
use std::path::{Path, PathBuf};

/// Room, and what it may name of the crate.
const ROOMS: &[(&str, &[&str])] = &[
    ("words", &["words"]),
    ("domain", &["domain", "words"]),
    ("clock", &["clock"]),
    ("config", &["config"]),
    ("storage", &["words", "storage", "domain"]),
    ("workflow", &["words", "workflow", "storage", "domain", "clock"]),
    ("notify", &["words", "notify", "domain"]),
    ("tasks", &["words", "tasks", "workflow", "notify", "domain"]),
    ("http", &["words", "http", "workflow", "domain"]),
    ("demo", &["words", "demo", "workflow", "domain", "clock"]),
    ("app", &["app", "clock", "config", "domain", "http", "notify", "storage", "tasks", "words", "workflow"]),
];

/// Outside crate, and the only rooms that may name it.
const OUTSIDE: &[(&str, &[&str])] = &[
    ("sqlx::", &["storage"]),
    ("actix_web::", &["http", "app"]),
    ("lettre::", &["notify"]),
    ("reqwest::", &["notify", "http"]),
    ("icalendar::", &["http"]),
    ("tokio::", &["storage", "workflow", "notify", "tasks", "http"]),
    ("askama::", &["notify", "http"]),
    ("argon2::", &["workflow"]),
    ("webauthn_rp::", &["workflow"]),
    ("jsonwebtoken::", &["http"]),
    ("rand::", &["clock", "demo", "domain"]),
];

fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("src is there") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") {
            into.push(path);
        }
    }
}

fn room_of(path: &Path) -> Option<String> {
    let inside = path.strip_prefix(Path::new(env!("CARGO_MANIFEST_DIR")).join("src")).ok()?;
    let first = inside.iter().next()?.to_string_lossy();
    let room = first.trim_end_matches(".rs").to_owned();
    (!matches!(room.as_str(), "lib" | "main" | "commands")).then_some(room)
}

/// Code lines: no comments, and nothing after the test module begins.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .map(|(n, line)| (n + 1, line.split("//").next().unwrap_or_default()))
        .take_while(|(_, line)| !line.contains("#[cfg(test)]"))
}

#[test]
fn arrows_point_one_way() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    let (mut faults, mut arrows) = (Vec::new(), 0);
    for file in files {
        let Some(room) = room_of(&file) else { continue };
        // Tests look wherever they must.
        if file.to_string_lossy().ends_with("_tests.rs") {
            continue;
        }
        let (_, may) =
            ROOMS.iter().find(|(r, _)| *r == room).unwrap_or_else(|| panic!("{room}: a room without a rule"));
        let text = fs::read_to_string(&file).expect("a source file");
        for (line, words) in code(&text) {
            for to in words.split("crate::").skip(1) {
                let to: String = to.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                arrows += 1;
                if to.starts_with(char::is_lowercase) && !may.contains(&to.as_str()) {
                    faults.push(format!("{}:{line}: {room} may not use {to}", file.display()));
                }
            }
            for (outside, rooms) in OUTSIDE {
                if words.contains(outside) && !rooms.contains(&room.as_str()) {
                    faults.push(format!("{}:{line}: {room} may not use {outside}", file.display()));
                }
            }
        }
    }
    assert!(arrows > 100, "hardly any arrows were read: {arrows}");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn sql_text_that_was_put_together_is_only_where_it_must_be() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    for file in files {
        let text = fs::read_to_string(&file).expect("a source file");
        // A move takes its names from the schema itself, and nothing that anybody typed.
        let moving = file.parent().is_some_and(|folder| folder.ends_with("storage/moving"));
        let allowed =
            file.ends_with("storage/tx/statements.rs") || file.ends_with("storage/tx/together.rs") || moving;
        assert!(allowed || !text.contains("AssertSqlSafe"), "{}", file.display());
    }
}

/// What lets tests make the database fail is asked for by nothing that is shipped.
#[test]
fn nothing_that_is_shipped_makes_the_database_fail() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    let (engine, mut seen) = (src.join("storage/tx"), 0);
    for file in files {
        let text = fs::read_to_string(&file).expect("a source file");
        let asks = ["that_fails", "limit_room"].iter().any(|name| text.contains(name));
        seen += usize::from(asks);
        assert!(
            !asks || file.starts_with(&engine) || file == engine.with_extension("rs"),
            "{}",
            file.display()
        );
    }
    assert!(seen > 0, "the names in this test are no longer those of the code");
}
