//! What is open is found in an index of what is open: a statement that goes through all that ever was is slower every year. SQLite
//! says how it goes about each one, of tables of which it knows nothing, as in every file that was never analysed.

use std::collections::HashSet;
use std::path::Path;

use sqlx::{AssertSqlSafe, Connection, SqliteConnection};

use crate::support::{Bench, Engine};

/// Tables that grow with the years.
const PAST: [&str; 8] =
    ["hold", "defect", "work_order", "outbox", "pre_use_check", "reading", "audit", "acknowledgement"];
/// What is asked of them as long as it is open.
const OPEN: [&str; 4] = ["lifted_at IS NULL", "closed_at IS NULL", "'owed'", "'queued', 'claimed'"];
/// These read everything, and say so.
const OF_EVERYTHING: [&str; 2] = ["verify.rs", "export.rs"];

#[tokio::test]
async fn no_statement_about_what_is_open_reads_the_past() {
    let b = Bench::new(Engine::Sqlite).await;
    let mut connection = SqliteConnection::connect(&b.database_url).await.unwrap();
    let indexes: Vec<(String, String)> =
        sqlx::query_as("SELECT name, COALESCE(sql, '') FROM sqlite_master WHERE type = 'index'")
            .fetch_all(&mut connection)
            .await
            .unwrap();
    let of_a_part: Vec<&str> =
        indexes.iter().filter(|(_, sql)| sql.contains(" WHERE ")).map(|(name, _)| name.as_str()).collect();
    let (mut looked_at, mut read_the_past) = (0, Vec::new());
    let storage = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/storage");
    for file in std::fs::read_dir(storage).unwrap().map(|f| f.unwrap().path()).filter(|f| f.is_file()) {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        if OF_EVERYTHING.contains(&name.as_str()) {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        for sql in statements(&text).filter(|sql| OPEN.iter().any(|o| sql.contains(o))) {
            let explained = AssertSqlSafe(format!("EXPLAIN QUERY PLAN {sql}"));
            let plan: Result<Vec<(i64, i64, i64, String)>, _> =
                sqlx::query_as(explained).fetch_all(&mut connection).await;
            // A part of a statement is none.
            let Ok(plan) = plan else { continue };
            looked_at += 1;
            let tables = called(sql);
            for step in plan.iter().filter_map(|(.., step)| step.strip_prefix("SCAN ")) {
                let (called, how) = step.split_once(' ').unwrap_or((step, ""));
                let index = how.rsplit(' ').next().unwrap_or_default();
                if tables.contains(called) && !of_a_part.contains(&index) {
                    read_the_past.push(format!("{name}: {step}\n{sql}"));
                }
            }
        }
    }
    assert!(looked_at >= 20, "only {looked_at} statements");
    assert!(read_the_past.is_empty(), "{}", read_the_past.join("\n\n"));
}

/// The texts that begin as a statement does, unless a macro goes on with a condition of its own.
fn statements(text: &str) -> impl Iterator<Item = &str> {
    let pieces: Vec<&str> = text.split('"').collect();
    let with_what_follows: Vec<(&str, &str)> = pieces.windows(2).map(|two| (two[0], two[1])).collect();
    let whole = |(text, then): &(&str, &str)| {
        let begins = ["SELECT ", "UPDATE ", "DELETE "].iter().any(|verb| text.starts_with(verb));
        begins && !then.trim_start_matches([',', ' ', '\n']).starts_with('$')
    };
    with_what_follows.into_iter().filter(whole).map(|(text, _)| text)
}

/// The names by which a statement calls tables that grow.
fn called(sql: &str) -> HashSet<&str> {
    let words = sql.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|w| !w.is_empty());
    let words: Vec<&str> = words.collect();
    let with_the_next = words.windows(2).filter(|two| PAST.contains(&two[0]));
    // Behind the table stands the letter or two that it is called by, or whatever comes next.
    with_the_next.flatten().copied().filter(|w| PAST.contains(w) || w.len() <= 2).collect()
}
