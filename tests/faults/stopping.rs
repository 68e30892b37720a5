//! The server is told to stop (SIGTERM) while many ask: whatever it has kept was also answered, and it ends well.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use chock::domain::checklist::Load;
use chock::domain::ids::CheckId;
use chock::storage::Db;
use reqwest::StatusCode;
use serde_json::json;

use super::rounds;
use crate::support::process::{DEADLINE, Served};
use crate::support::{Bench, Engine, all_well};

const WRITERS: usize = 8;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_taken_is_answered_on_sqlite() {
    told_to_stop(Engine::Sqlite).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_taken_is_answered_on_postgres() {
    told_to_stop(Engine::Postgres).await;
}

async fn told_to_stop(engine: Engine) {
    let b = Bench::on_real_time(engine).await;
    crate::support::has_password(&b.workshop, b.operator.id).await;
    b.workshop.db.close().await;
    let client = crate::support::client().build().expect("a client");
    let body = json!({
        "machine": b.machine, "checklist": b.checklist_id, "load": "unladen",
        "answers": all_well(&b.checklist, Load::Unladen),
    });
    let (count, mut answered, mut unanswered, mut slowest) =
        (rounds(2, 20), BTreeSet::new(), 0, Duration::ZERO);
    for _ in 0..count {
        let served = Served::on(&b);
        let token = served.token(&client, "otto@yard.example").await;
        let taken = Arc::new(AtomicUsize::new(0));
        let writers: Vec<_> = (0..WRITERS)
            .map(|_| {
                let (client, base, token, body) =
                    (client.clone(), served.base.clone(), token.clone(), body.clone());
                let (taken, ambient) = (taken.clone(), b.workshop.ambient.clone());
                tokio::spawn(async move {
                    let mut mine = BTreeSet::new();
                    loop {
                        let id: CheckId = ambient.id();
                        let put =
                            client.put(format!("{base}/api/v1/checks/{id}")).bearer_auth(&token).json(&body);
                        match put.send().await {
                            Ok(answer) => {
                                assert_eq!(answer.status(), StatusCode::CREATED, "an answer is a whole one");
                                mine.insert(id);
                                taken.fetch_add(1, Ordering::Relaxed);
                            }
                            // Nobody listens any more.
                            Err(_) => return mine,
                        }
                    }
                })
            })
            .collect();
        let start = Instant::now();
        while taken.load(Ordering::Relaxed) < 2 * WRITERS {
            assert!(start.elapsed() < DEADLINE, "hardly a check was taken");
            tokio::time::sleep(Duration::from_millis(2)).await;
        }
        let told = Instant::now();
        let (code, _) = tokio::task::block_in_place(|| served.stop());
        slowest = slowest.max(told.elapsed());
        assert_eq!(code, 0, "it ends well");
        for writer in writers {
            answered.extend(writer.await.expect("a writer saw only answers it may see"));
            unanswered += 1;
        }
    }
    let db = Db::open(&b.database_url).await.unwrap();
    let kept: Vec<(CheckId,)> =
        db.read().await.unwrap().all("SELECT id FROM pre_use_check", &[]).await.unwrap();
    db.close().await;
    let kept: BTreeSet<CheckId> = kept.into_iter().map(|k| k.0).collect();
    assert_eq!(kept, answered, "kept and answered are the same");
    println!(
        "{engine:?}: told to stop {count} times under {WRITERS} writers: {} checks kept, each answered; {unanswered} calls came too late; it took at most {slowest:.1?}",
        kept.len()
    );
}
