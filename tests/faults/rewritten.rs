//! Somebody with every right to the database rewrites the trail by hand. Each way is caught: by the chain, by the signed heads
//! beside it, and where those are rewritten as well, by a head that was kept elsewhere.

use std::sync::Arc;

use chock::clock::Ambient;
use chock::domain::trail_head::{WrittenHead, read_back, write_out};
use chock::notify::Memory;
use chock::storage::{Db, StorageError};
use chock::tasks::{Post, deliver_once};
use chock::words::Lang;
use chock::workflow::{self, Workshop};
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection, SqliteConnection};

use crate::support::browser::Browser;
use crate::support::process::{chock_on, run};
use crate::support::{Bench, Engine, on_both, postgres};

on_both!(
    a_trail_that_is_rewritten_by_hand_is_caught,
    nothing_of_the_trail_is_changed_or_removed,
    a_head_is_mailed_to_whoever_was_chosen,
);

/// What is done to a copy of the database.
enum Deed {
    Sql(String),
    /// The second entry says another name, and every hash after it is reckoned anew, as is the end on record.
    Rewrite,
}

/// What, the deed, more of it, and what is said: by the database alone, and with the heads that were kept.
type Case<'a> = (&'a str, Deed, String, Option<String>, Option<&'a str>);

async fn by_hand(url: &str, sql: &str) {
    // Literals of this test, and ids.
    let sql = AssertSqlSafe(sql.to_owned());
    if let Some(file) = url.strip_prefix("sqlite:") {
        let mut c = SqliteConnection::connect(&format!("sqlite:{file}")).await.unwrap();
        c.execute(sql).await.unwrap();
        c.close().await.unwrap();
    } else {
        let mut c = PgConnection::connect(url).await.unwrap();
        c.execute(sql).await.unwrap();
        c.close().await.unwrap();
    }
}

fn without_guards(url: &str) -> &'static str {
    if url.starts_with("sqlite:") {
        "DROP TRIGGER audit_no_update; DROP TRIGGER audit_no_delete; DROP TRIGGER trail_head_no_update;
         DROP TRIGGER trail_head_no_delete; DROP TRIGGER trail_head_end_no_update; DROP TRIGGER trail_head_end_no_delete;"
    } else {
        "ALTER TABLE audit DISABLE TRIGGER ALL; ALTER TABLE trail_head DISABLE TRIGGER ALL;
         ALTER TABLE trail_head_end DISABLE TRIGGER ALL;"
    }
}

/// A copy of the database, which nobody has open.
async fn copy_of(b: &Bench, n: usize) -> String {
    match b.database_url.strip_prefix("sqlite:") {
        Some(file) => {
            let copy = format!("{file}.{n}");
            std::fs::copy(file, &copy).unwrap();
            format!("sqlite:{copy}")
        }
        None => {
            let (base, name) = b.database_url.rsplit_once('/').unwrap();
            let mut admin = PgConnection::connect(postgres()).await.unwrap();
            let sql = format!("CREATE DATABASE {name}_{n} TEMPLATE {name}");
            admin.execute(AssertSqlSafe(sql)).await.unwrap();
            format!("{base}/{name}_{n}")
        }
    }
}

async fn rewrite(db: &Db, stream: &str) {
    let mut tx = db.begin().await.unwrap();
    let rows = tx.chain_of(stream).await.unwrap();
    let mut before = String::new();
    for mut row in rows {
        if row.seq == 2 {
            row.by_name = "Nobody".to_owned();
        }
        row.prev_hash = before;
        row.hash = row.expected_hash();
        let sql = "UPDATE audit SET by_name = $3, prev_hash = $4, hash = $5 WHERE stream = $1 AND seq = $2";
        tx.run(sql, &[&row.stream, &row.seq, &row.by_name, &row.prev_hash, &row.hash]).await.unwrap();
        before = row.hash;
    }
    tx.run("UPDATE audit_head SET hash = $2 WHERE stream = $1", &[&stream.to_owned(), &before])
        .await
        .unwrap();
    tx.commit().await.unwrap();
}

async fn end_of(b: &Bench, stream: &str) -> i64 {
    b.workshop.db.read().await.unwrap().chain_head(stream).await.unwrap().expect("a chain").0
}

async fn a_trail_that_is_rewritten_by_hand_is_caught(b: Bench) {
    let order = b.ground(b.machine).await;
    let stream = format!("machine {}", b.machine);
    let first = workflow::sign_head(&b.workshop, &b.owner).await.unwrap();
    let at_first = end_of(&b, &stream).await;
    b.repair(order).await;
    let second = workflow::sign_head(&b.workshop, &b.owner).await.unwrap();
    let kept: Vec<WrittenHead> =
        read_back(&[&first, &second].map(|h| write_out(&h.hash, &h.signed())).concat()).unwrap();
    // Told after the last head.
    b.pass_retests(order).await;
    let last = end_of(&b, &stream).await;
    let sound = workflow::verify_against(&b.workshop, &kept, Some(&first.public_key)).await.unwrap();
    assert!(sound.sound(), "{:?}", sound.breaches);
    assert_eq!(sound.heads, 2);
    b.workshop.db.close().await;

    let s = &stream;
    let end = |seq: i64| {
        format!(
            "UPDATE audit_head SET seq = {seq}, hash = (SELECT hash FROM audit WHERE stream = '{s}' AND seq = {seq})
             WHERE stream = '{s}';"
        )
    };
    let cut = |from: i64| format!("DELETE FROM audit WHERE stream = '{s}' AND seq > {from};");
    let columns = "stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash";
    let no_heads = "DELETE FROM trail_head_end; DELETE FROM trail_head;";
    let deeds: Vec<Case> = vec![
        (
            "one entry altered",
            Deed::Sql(format!("UPDATE audit SET by_name = 'Nobody' WHERE stream = '{s}' AND seq = 2")),
            String::new(),
            Some("altered: entry 2 does not say what was hashed".into()),
            None,
        ),
        (
            "its time altered",
            Deed::Sql(format!("UPDATE audit SET at = '2026-01-01 00:00:00+00:00' WHERE stream = '{s}' AND seq = 3")),
            String::new(),
            Some("altered: entry 3 does not say what was hashed".into()),
            None,
        ),
        (
            "the last entries deleted",
            Deed::Sql(cut(last - 2)),
            String::new(),
            Some(format!("missing: it ends at entry {}", last - 2)),
            None,
        ),
        (
            "one from the middle deleted",
            Deed::Sql(format!("DELETE FROM audit WHERE stream = '{s}' AND seq = 2")),
            String::new(),
            Some("missing: entry 2 before entry 3".into()),
            None,
        ),
        (
            "a whole chain deleted",
            Deed::Sql(cut(0)),
            String::new(),
            Some(format!("missing: all {last} entries")),
            None,
        ),
        (
            "one added at the end",
            Deed::Sql(format!(
                "INSERT INTO audit ({columns}) SELECT stream, seq + 1, at, by_id, 'Nobody', act, subject, before, after, why, hash, hash
                 FROM audit WHERE stream = '{s}' AND seq = {last}"
            )),
            String::new(),
            Some(format!("added: entry {} is past the end on record", last + 1)),
            None,
        ),
        (
            "a chain added",
            Deed::Sql(format!(
                "INSERT INTO audit ({columns}) SELECT 'machine x', 1, at, by_id, by_name, act, subject, before, after, why, '', hash
                 FROM audit WHERE stream = '{s}' AND seq = 1"
            )),
            String::new(),
            Some("chain “machine x”".into()),
            None,
        ),
        (
            "cut off, and its end on record as well",
            Deed::Sql(format!("{}{}", cut(at_first), end(at_first))),
            String::new(),
            Some("is missing since head 2 was signed".into()),
            None,
        ),
        (
            "rewritten whole, every hash reckoned anew",
            Deed::Rewrite,
            String::new(),
            Some("was rewritten since head 1 was signed".into()),
            None,
        ),
        (
            "the signed list of chains altered",
            Deed::Sql(format!("UPDATE trail_head_end SET seq = seq - 1 WHERE stream = '{s}' AND number = 2")),
            String::new(),
            Some("signed head 2".into()),
            None,
        ),
        (
            "a head altered",
            Deed::Sql("UPDATE trail_head SET entries = entries + 1 WHERE number = 1".into()),
            String::new(),
            Some("signed head 1".into()),
            None,
        ),
        (
            "a head deleted",
            Deed::Sql("DELETE FROM trail_head_end WHERE number = 1; DELETE FROM trail_head WHERE number = 1".into()),
            String::new(),
            Some("the one before is missing".into()),
            Some("head 1 that was kept: the database has no such head"),
        ),
        (
            "rewritten whole, and every head deleted",
            Deed::Rewrite,
            no_heads.into(),
            None,
            Some("head 1 that was kept: the database has no such head"),
        ),
        (
            "cut off, and the heads with it",
            Deed::Sql(format!("{}{}", cut(at_first), end(at_first))),
            no_heads.into(),
            None,
            Some("head 2 that was kept: the database has no such head"),
        ),
    ];
    let count = deeds.len();
    for (n, (what, deed, more, alone, with_kept)) in deeds.into_iter().enumerate() {
        let url = copy_of(&b, n).await;
        by_hand(&url, without_guards(&url)).await;
        match deed {
            Deed::Sql(sql) => by_hand(&url, &sql).await,
            Deed::Rewrite => {
                let db = Db::open(&url).await.unwrap();
                by_hand(&url, without_guards(&url)).await;
                rewrite(&db, &stream).await;
                db.close().await;
            }
        }
        if !more.is_empty() {
            by_hand(&url, &more).await;
        }
        let w = Workshop::new(Db::open(&url).await.unwrap(), Ambient::real(), "EUR");
        let found = workflow::verify(&w).await.unwrap().breaches;
        let said =
            |breaches: &[workflow::Breach], words: &str| breaches.iter().any(|f| f.what.contains(words));
        match &alone {
            Some(words) => assert!(said(&found, words), "{what}: {found:#?}"),
            None => assert!(found.is_empty(), "{what}: by itself nothing shows it: {found:#?}"),
        }
        let found = workflow::verify_against(&w, &kept, None).await.unwrap().breaches;
        assert!(!found.is_empty(), "{what}: not caught");
        if let Some(words) = with_kept {
            assert!(said(&found, words), "{what}: {found:#?}");
        }
        w.db.close().await;
    }

    // With the key as well, the heads are signed anew over what was rewritten: only what was kept elsewhere tells.
    let url = copy_of(&b, count).await;
    let db = Db::open(&url).await.unwrap();
    by_hand(&url, without_guards(&url)).await;
    rewrite(&db, &stream).await;
    by_hand(&url, no_heads).await;
    let w = Workshop::new(db, Ambient::real(), "EUR");
    for _ in 0..2 {
        workflow::sign_head(&w, &b.owner).await.unwrap();
    }
    assert!(workflow::verify(&w).await.unwrap().sound(), "whoever has the key can do this");
    let found = workflow::verify_against(&w, &kept, None).await.unwrap().breaches;
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(found[0].what.contains("head 1 that was kept: the database has another one"), "{found:#?}");
    w.db.close().await;
    println!("{} ways to rewrite the trail by hand, each caught", count + 1);
}

async fn nothing_of_the_trail_is_changed_or_removed(b: Bench) {
    b.ground(b.machine).await;
    workflow::sign_head(&b.workshop, &b.owner).await.unwrap();
    for sql in [
        "UPDATE audit SET why = 'x'",
        "DELETE FROM audit",
        "UPDATE trail_head SET at = at",
        "DELETE FROM trail_head",
        "UPDATE trail_head_end SET seq = seq",
        "DELETE FROM trail_head_end",
    ] {
        refused(&b, sql).await;
    }
    if !b.workshop.db.is_sqlite() {
        for sql in ["TRUNCATE audit", "TRUNCATE trail_head CASCADE", "TRUNCATE trail_head_end"] {
            refused(&b, sql).await;
        }
    }
    b.assert_sound().await;
}

async fn refused(b: &Bench, sql: &'static str) {
    let mut tx = b.workshop.db.begin().await.unwrap();
    let said = tx.run(sql, &[]).await.expect_err(sql);
    assert!(matches!(&said, StorageError::Failed(_) | StorageError::Rule(_)), "{sql}: {said:?}");
    assert!(format!("{said:?}").contains("append-only"), "{sql}: {said:?}");
}

async fn a_head_is_mailed_to_whoever_was_chosen(b: Bench) {
    let w = &b.workshop;
    b.ground(b.machine).await;
    let memory = Arc::new(Memory::new());
    let post = Post {
        mailer: memory.clone(),
        public_url: "https://chock.example.org".into(),
        domain: "chock.example.org".into(),
    };
    let deliver = async || while deliver_once(w, &post).await.unwrap() > 0 {};
    deliver().await;
    let (others, olga) = (memory.sent().len(), Browser::of(w, &b.owner).await);
    assert!(workflow::sign_head_when_due(w).await.unwrap());
    deliver().await;
    assert_eq!(memory.sent().len(), others, "nobody was chosen yet");
    // The supervisor's mailbox is elsewhere; she reads Spanish.
    workflow::choose_language(w, &b.supervisor, Lang::Es).await.unwrap();
    let sara = b.supervisor.id.to_string();
    olga.send("/audit/heads/readers", &[("reader", &sara)]).await.leads_to("?done=saved");
    let page = olga.get("/audit/heads").await;
    page.is(200).says("Head 1, ").says(&format!("value=\"{sara}\" checked"));
    assert!(!workflow::sign_head_when_due(w).await.unwrap(), "once a day");
    b.wait(24 * 60);
    assert!(workflow::sign_head_when_due(w).await.unwrap());
    deliver().await;
    let sent = memory.sent();
    let [mail] = &sent[others..] else { panic!("{} mails", sent.len() - others) };
    assert_eq!(mail.to_address, "sara@yard.example");
    assert_eq!(mail.subject, "Registro de auditoría: cabeza firmada 2");
    let heads = workflow::all_heads(w, &b.owner).await.unwrap();
    let kept = read_back(&mail.text).unwrap();
    assert_eq!(kept, read_back(&write_out(&heads[1].hash, &heads[1].signed())).unwrap(), "{}", mail.text);
    assert!(mail.html.contains(&heads[1].hash), "{}", mail.html);
    assert!(workflow::verify_against(w, &kept, Some(&heads[1].public_key)).await.unwrap().sound());
    // Whoever has left gets none.
    workflow::disable_person(w, &b.owner, b.supervisor.id, true).await.unwrap();
    workflow::sign_head(w, &b.owner).await.unwrap();
    deliver().await;
    assert_eq!(memory.sent().iter().filter(|m| m.subject.contains("cabeza")).count(), 1);
    b.assert_sound().await;
}

/// As an administrator does it: sign and print, and months later hold the trail against what was printed.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_head_that_was_printed_is_held_against_the_trail() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    b.workshop.db.close().await;
    let (code, printed) = run(chock_on(&b, &["heads"]));
    assert_eq!(code, 0, "{printed}");
    let (code, again) = run(chock_on(&b, &["heads"]));
    assert!(code == 0 && again.contains("number: 2\n"), "{again}");
    let (_, all) = run(chock_on(&b, &["heads", "--all"]));
    assert_eq!(all, format!("{printed}{again}"));
    let file = b.folder.path().join("kept.txt");
    std::fs::write(&file, format!("> From the mail\n{all}")).unwrap();
    let file = file.to_str().unwrap();
    let key = all.lines().find_map(|l| l.strip_prefix("key: ")).unwrap();
    let (code, said) = run(chock_on(&b, &["verify", "--heads", file, "--public-key", key]));
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("The trail holds all that was signed in 2 heads of the file."), "{said}");
    let other = "ab".repeat(32);
    let (code, said) = run(chock_on(&b, &["verify", "--heads", file, "--public-key", &other]));
    assert!(code == 3 && said.contains("signed by another key"), "{code}: {said}");
    std::fs::write(file, all.replace("entries: ", "entries: 1")).unwrap();
    let (code, said) = run(chock_on(&b, &["verify", "--heads", file]));
    assert!(code == 3 && said.contains("it was altered after it left here"), "{code}: {said}");
    std::fs::write(file, "nothing at all").unwrap();
    let (code, said) = run(chock_on(&b, &["verify", "--heads", file]));
    assert!(code == 1 && said.contains("there is no head in it"), "{code}: {said}");
}
