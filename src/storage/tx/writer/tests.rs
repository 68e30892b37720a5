//! Transactions that share a commit are as independent as if each had its own.

use std::future::Future;

use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode};
use sqlx::{Connection, SqliteConnection};
use tempfile::TempDir;

use super::{StorageError, Then, Together, Writer, Writing};

struct Kept {
    folder: TempDir,
    writer: Writer,
}

async fn kept() -> Kept {
    let folder = tempfile::tempdir().unwrap();
    let mut connection = connect(&folder).await;
    sqlx::raw_sql("CREATE TABLE note (n BIGINT PRIMARY KEY); PRAGMA wal_autocheckpoint = 0")
        .execute(&mut connection)
        .await
        .unwrap();
    let writer = Writer::new(connection, options(&folder), LOG_PAGES).await.unwrap();
    Kept { folder, writer }
}

const LOG_PAGES: u16 = 50;

fn options(folder: &TempDir) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(folder.path().join("notes.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
}

async fn connect(folder: &TempDir) -> SqliteConnection {
    SqliteConnection::connect_with(&options(folder)).await.unwrap()
}

impl Kept {
    /// As another process sees it.
    async fn notes(&self) -> Vec<i64> {
        let mut other = connect(&self.folder).await;
        let rows: Vec<(i64,)> =
            sqlx::query_as("SELECT n FROM note ORDER BY n").fetch_all(&mut other).await.unwrap();
        rows.into_iter().map(|(n,)| n).collect()
    }
}

async fn begin(writer: &Writer) -> Result<Writing, StorageError> {
    let mut writing = writer.writing();
    let first = writing.begin().await?.expect("its first turn");
    sqlx::raw_sql(first).execute(writing.connection()?).await?;
    Ok(writing)
}

fn nothing() -> Then {
    Box::new(|| ())
}

/// Handed in whole, by whoever has nothing to ask.
async fn hand_in(writer: &Writer, notes: &[i64]) -> Result<(), StorageError> {
    let mut whole = Together::default();
    for n in notes {
        whole.add("INSERT INTO note (n) VALUES ($1)", &[n], true)?;
    }
    writer.writing().hand_in(whole, nothing()).await
}

async fn note(writer: &Writer, n: i64) -> Result<(), Box<dyn std::error::Error + Send + Sync>> {
    let mut writing = begin(writer).await?;
    sqlx::query("INSERT INTO note (n) VALUES ($1)").bind(n).execute(writing.connection()?).await?;
    writing.commit(nothing()).await?;
    Ok(())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn those_in_line_are_all_kept_and_one_that_fails_is_undone_alone() {
    let kept = kept().await;
    let line: Vec<_> = (0..200_i64)
        .map(|n| {
            let writer = kept.writer.clone();
            // Every tenth wants a number that is there already, after having written another.
            tokio::spawn(async move {
                if n % 10 != 9 {
                    return note(&writer, n).await.is_ok();
                }
                let mut writing = begin(&writer).await.unwrap();
                let insert = "INSERT INTO note (n) VALUES ($1)";
                let connection = writing.connection().unwrap();
                sqlx::query(insert).bind(1000 + n).execute(&mut *connection).await.unwrap();
                sqlx::query(insert).bind(1000 + n).execute(&mut *connection).await.is_ok()
            })
        })
        .collect();
    for (n, done) in line.into_iter().enumerate() {
        assert_eq!(done.await.unwrap(), n % 10 != 9, "{n}");
    }
    let expected: Vec<i64> = (0..200).filter(|n| n % 10 != 9).collect();
    assert_eq!(kept.notes().await, expected);
}

#[tokio::test]
async fn what_was_answered_is_there_for_every_other_process() {
    let kept = kept().await;
    let together: Vec<_> = (0..8)
        .map(|n| {
            let writer = kept.writer.clone();
            tokio::spawn(async move { note(&writer, n).await.unwrap() })
        })
        .collect();
    let mut answered = 0;
    for one in together {
        one.await.unwrap();
        answered += 1;
        assert!(kept.notes().await.len() >= answered);
    }
}

#[tokio::test]
async fn a_transaction_given_up_keeps_nobody_out() {
    let kept = kept().await;
    let mut writing = begin(&kept.writer).await.unwrap();
    sqlx::query("INSERT INTO note (n) VALUES (1)").execute(writing.connection().unwrap()).await.unwrap();
    drop(writing);
    // The line is served before the next one: its turn tells that the undoing is done.
    drop(kept.writer.group.lock().await);
    let mut other = connect(&kept.folder).await;
    sqlx::raw_sql("PRAGMA busy_timeout = 0; INSERT INTO note (n) VALUES (2)")
        .execute(&mut other)
        .await
        .unwrap();
    note(&kept.writer, 3).await.unwrap();
    assert_eq!(kept.notes().await, [2, 3]);
}

#[tokio::test]
async fn a_commit_nobody_waits_for_any_more_still_happens() {
    let kept = kept().await;
    let mut writing = begin(&kept.writer).await.unwrap();
    sqlx::query("INSERT INTO note (n) VALUES (1)").execute(writing.connection().unwrap()).await.unwrap();
    let mut commit = Box::pin(writing.commit(nothing()));
    let polled = std::future::poll_fn(|cx| std::task::Poll::Ready(commit.as_mut().poll(cx).is_pending()));
    assert!(polled.await);
    drop(commit);
    note(&kept.writer, 2).await.unwrap();
    assert_eq!(kept.notes().await, [1, 2]);
}

#[tokio::test]
async fn closing_keeps_what_is_done_and_refuses_what_comes_after() {
    let kept = kept().await;
    note(&kept.writer, 1).await.unwrap();
    kept.writer.close().await;
    assert!(note(&kept.writer, 2).await.is_err());
    assert_eq!(kept.notes().await, [1]);
}

/// When the engine gives up the whole transaction (a full disk does that), nobody of the group is told "done".
#[tokio::test]
async fn when_the_whole_is_lost_everybody_is_told() {
    let kept = kept().await;
    let first = begin(&kept.writer).await.unwrap();
    // In line before the first is done, so that its commit is shared.
    let second = {
        let writer = kept.writer.clone();
        tokio::spawn(async move {
            let mut writing = begin(&writer).await.unwrap();
            // As the engine would.
            sqlx::raw_sql("ROLLBACK").execute(writing.connection().unwrap()).await.unwrap();
            writing.commit(nothing()).await.is_ok()
        })
    };
    tokio::task::yield_now().await;
    let mut first = first;
    sqlx::query("INSERT INTO note (n) VALUES (1)").execute(first.connection().unwrap()).await.unwrap();
    let first = first.commit(nothing()).await.is_ok();
    assert!(!second.await.unwrap());
    assert!(!first);
    assert!(kept.notes().await.is_empty());
    assert!(kept.writer.lost() > 0, "whoever was answered by it is told otherwise");
    note(&kept.writer, 3).await.unwrap();
    assert_eq!(kept.notes().await, [3]);
}

/// A turn that is given up may have seen what is not committed yet. Whoever answers by it waits first.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_seen_early_is_settled_before_it_is_told() {
    let kept = kept().await;
    // Somebody has begun, so that all others stand in line and share a commit.
    let first = begin(&kept.writer).await.unwrap();
    let in_line = {
        let writer = kept.writer.clone();
        tokio::spawn(async move { note(&writer, 1).await.is_ok() })
    };
    tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    let looks = {
        let writer = kept.writer.clone();
        tokio::spawn(async move {
            let mut writing = begin(&writer).await.unwrap();
            let seen: Vec<(i64,)> =
                sqlx::query_as("SELECT n FROM note").fetch_all(writing.connection().unwrap()).await.unwrap();
            drop(writing);
            let waits = writer.told.seen_early.load(std::sync::atomic::Ordering::SeqCst);
            writer.settled().await.unwrap();
            (seen.len(), waits)
        })
    };
    tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    drop(first);
    let (seen, waits) = looks.await.unwrap();
    // It saw the note before the commit or after it, by which of the two came first: told is only what is kept.
    assert_eq!(kept.notes().await.len().min(seen), seen, "seen {seen}, early: {waits}");
    assert!(in_line.await.unwrap());
    assert!(!kept.writer.told.seen_early.load(std::sync::atomic::Ordering::SeqCst));
    assert_eq!(kept.writer.lost(), 0);
}

/// It said that it begins, and went away before it did: nothing of the others is undone, or they are told of it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_that_never_began_takes_nobody_along() {
    let kept = kept().await;
    drop(kept.writer.writing());
    let first = begin(&kept.writer).await.unwrap();
    let line: Vec<_> = (4..=6_i64)
        .map(|n| {
            let writer = kept.writer.clone();
            tokio::spawn(async move {
                if n == 5 {
                    writer.writing().begin().await.unwrap();
                    return true;
                }
                note(&writer, n).await.is_ok()
            })
        })
        .collect();
    tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    drop(first);
    let mut told = Vec::new();
    for (n, one) in (4..=6).zip(line) {
        if one.await.unwrap() && n != 5 {
            told.push(n);
        }
    }
    assert_eq!(kept.notes().await, told);
}

/// Those that ask nothing go by themselves or with those that do, and one that is refused is undone alone.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_handed_in_is_kept_or_undone_alone() {
    let kept = kept().await;
    let line: Vec<_> = (0..300_i64)
        .map(|n| {
            let writer = kept.writer.clone();
            tokio::spawn(async move {
                match n % 10 {
                    // The second of the two is there already.
                    9 => hand_in(&writer, &[1000 + n, 1000 + n]).await.is_ok(),
                    3 => note(&writer, n).await.is_ok(),
                    _ => hand_in(&writer, &[n]).await.is_ok(),
                }
            })
        })
        .collect();
    for (n, done) in line.into_iter().enumerate() {
        assert_eq!(done.await.unwrap(), n % 10 != 9, "{n}");
    }
    let expected: Vec<i64> = (0..300).filter(|n| n % 10 != 9).collect();
    assert_eq!(kept.notes().await, expected);
    assert!(kept.writer.commits().count().is_some(), "none is under way any more");
    kept.writer.close().await;
    assert!(hand_in(&kept.writer, &[7000]).await.is_err());
}

/// Whoever handed it in may go away: it is kept, and whoever listens is told.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_handed_in_is_kept_when_nobody_waits_for_it() {
    let kept = kept().await;
    let held = begin(&kept.writer).await.unwrap();
    let (tell, told) = tokio::sync::oneshot::channel();
    let mut whole = Together::default();
    whole.add("INSERT INTO note (n) VALUES ($1)", &[&1_i64], true).unwrap();
    let then = Box::new(move || tell.send(()).unwrap());
    let mut handed_in = Box::pin(kept.writer.writing().hand_in(whole, then));
    let polled = std::future::poll_fn(|cx| std::task::Poll::Ready(handed_in.as_mut().poll(cx).is_pending()));
    assert!(polled.await);
    drop(handed_in);
    drop(held);
    told.await.unwrap();
    assert_eq!(kept.notes().await, [1]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_log_is_taken_into_the_file_while_others_write() {
    let kept = kept().await;
    let in_the_log =
        || std::fs::metadata(kept.folder.path().join("notes.db-wal")).map_or(0, |m| m.len() / 4_096);
    let file = || std::fs::metadata(kept.folder.path().join("notes.db")).unwrap().len();
    let (before, mut n) = (file(), 0);
    // Without anybody who does it the log would be as long as all that was ever written.
    while n < 1_200 {
        let line: Vec<_> = (n..n + 2)
            .map(|n| {
                let writer = kept.writer.clone();
                tokio::spawn(async move { note(&writer, n).await.is_ok() })
            })
            .collect();
        for one in line {
            assert!(one.await.unwrap());
        }
        n += 2;
    }
    assert!(file() > before, "nothing is in the file");
    assert!(in_the_log() < 500, "{} pages in the log", in_the_log());
    kept.writer.close().await;
    assert_eq!(in_the_log(), 0, "the last to close has taken over all of it");
    assert_eq!(kept.notes().await.len(), 1_200);
}
