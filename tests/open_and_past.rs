//! What is open is found in an index of what is open: a statement that goes through all that ever was, or through all that one
//! machine ever had, is slower every year. SQLite says how it goes about each one, of tables of which it knows nothing, as in
//! every file that was never analysed.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use sqlx::{AssertSqlSafe, Connection, SqliteConnection};

use crate::support::{Bench, Engine};

/// Tables that grow with the years.
const PAST: [&str; 9] = [
    "hold",
    "defect",
    "work_order",
    "outbox",
    "pre_use_check",
    "reading",
    "audit",
    "acknowledgement",
    "labour",
];
/// What is asked of them as long as it is open.
const OPEN: [&str; 6] = [
    "lifted_at IS NULL",
    "closed_at IS NULL",
    "acknowledged_at IS NULL",
    "ended_at IS NULL",
    "'owed'",
    "'queued', 'claimed'",
];
/// One of these has as much of a past as of years, so finding it alone is not finding what is open of it. Its last check is.
const HAS_A_PAST: [&str; 4] = ["(machine_id=?)", "(mechanic_id=?)", "(person_id=?)", "(yard_id=?)"];
const OF_THE_LAST: [&str; 1] = ["pre_use_check_machine"];
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
        for sql in statements(&text).iter().filter(|sql| OPEN.iter().any(|o| sql.contains(o))) {
            let explained = AssertSqlSafe(format!("EXPLAIN QUERY PLAN {sql}"));
            let plan: Result<Vec<(i64, i64, i64, String)>, _> =
                sqlx::query_as(explained).fetch_all(&mut connection).await;
            // A part of a statement is none.
            let Ok(plan) = plan else { continue };
            looked_at += 1;
            let tables = called(sql);
            for (.., step) in &plan {
                let mut words = step.split(' ');
                let (how, table) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
                let index = words.skip_while(|w| *w != "INDEX").nth(1).unwrap_or_default();
                let all_of_it =
                    how == "SCAN" || !step.contains('(') || HAS_A_PAST.iter().any(|of| step.contains(of));
                let of_few = of_a_part.contains(&index) || OF_THE_LAST.contains(&index);
                if ["SCAN", "SEARCH"].contains(&how) && tables.contains(table) && all_of_it && !of_few {
                    read_the_past.push(format!("{name}: {step}\n{sql}"));
                }
            }
        }
    }
    assert!(looked_at >= 45, "only {looked_at} statements");
    assert!(read_the_past.is_empty(), "{}", read_the_past.join("\n\n"));
}

/// Every statement a file holds: written out, or put together by a macro that begins it from what it is given to end it.
fn statements(text: &str) -> Vec<String> {
    let pieces: Vec<&str> = text.split('"').collect();
    let mut begun: HashMap<&str, &str> = HashMap::new();
    let mut found = Vec::new();
    for three in pieces.windows(3).step_by(2) {
        let &[before, sql, after] = three else { unreachable!("three of them") };
        let macro_named = before.rsplit_once("macro_rules! ").and_then(|(_, rest)| rest.split_once(' '));
        let called = before
            .trim_end()
            .strip_suffix("!(")
            .map(|b| b.rsplit([' ', '(', '\n']).next().unwrap_or_default());
        if let (Some((name, _)), true) =
            (macro_named, after.trim_start_matches([',', ' ', '\n']).starts_with('$'))
        {
            begun.insert(name, sql);
        } else if let Some(begins) = called.and_then(|name| begun.get(name)) {
            found.push(format!("{begins}{sql}"));
        } else if ["SELECT ", "UPDATE ", "DELETE "].iter().any(|verb| sql.starts_with(verb)) {
            found.push(sql.to_owned());
        }
    }
    found
}

/// The names by which a statement calls tables that grow.
fn called(sql: &str) -> HashSet<&str> {
    let words = sql.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|w| !w.is_empty());
    let words: Vec<&str> = words.collect();
    let with_the_next = words.windows(2).filter(|two| PAST.contains(&two[0]));
    // Behind the table stands the letter or two that it is called by, or whatever comes next.
    with_the_next.flatten().copied().filter(|w| PAST.contains(w) || w.len() <= 2).collect()
}
