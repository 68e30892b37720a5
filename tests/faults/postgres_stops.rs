//! PostgreSQL loses power in the middle of the work. People are told to try again, nothing acknowledged is lost, and the
//! server goes on by itself when the database is back.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use chock::domain::checklist::Load;
use chock::domain::ids::CheckId;
use reqwest::StatusCode;
use serde_json::{Value, json};

use super::rounds;
use crate::support::cluster::Cluster;
use crate::support::process::{DEADLINE, Served, chock_on, run};
use crate::support::{Bench, all_well};

const WRITERS: usize = 4;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_server_outlives_its_postgres() {
    let cluster = Cluster::start();
    let b = Bench::in_database(cluster.url.clone()).await;
    crate::support::has_password(&b.workshop, b.operator.id).await;
    b.workshop.db.close().await;
    let log = b.folder.path().join("log");
    let file = std::fs::File::create(&log).unwrap();
    let served = Served::start_logging(chock_on(&b, &["serve"]), file.into());
    let client = crate::support::client().timeout(DEADLINE).build().expect("a client");
    let token = served.token(&client, "otto@yard.example").await;
    let body = json!({
        "machine": b.machine, "checklist": b.checklist_id, "load": "unladen",
        "answers": all_well(&b.checklist, Load::Unladen),
    });
    let acknowledged: Arc<Mutex<Vec<CheckId>>> = Arc::default();
    let (taken, refused) = (Arc::new(AtomicUsize::new(0)), Arc::new(AtomicUsize::new(0)));
    let over = Arc::new(AtomicBool::new(false));
    let writers: Vec<_> = (0..WRITERS)
        .map(|_| {
            let (client, base, token, body) =
                (client.clone(), served.base.clone(), token.clone(), body.clone());
            let (acknowledged, taken, refused, over) =
                (acknowledged.clone(), taken.clone(), refused.clone(), over.clone());
            let ambient = b.workshop.ambient.clone();
            tokio::spawn(async move {
                while !over.load(Ordering::Relaxed) {
                    let id: CheckId = ambient.id();
                    // The same check until it is taken, as a phone sends it.
                    loop {
                        let put =
                            client.put(format!("{base}/api/v1/checks/{id}")).bearer_auth(&token).json(&body);
                        let answer = put.send().await.expect("the server itself is there all the time");
                        match answer.status() {
                            // 200: it had been taken, and the answer was lost.
                            StatusCode::CREATED | StatusCode::OK => {
                                acknowledged.lock().unwrap().push(id);
                                taken.fetch_add(1, Ordering::Relaxed);
                                break;
                            }
                            StatusCode::SERVICE_UNAVAILABLE => {
                                assert!(answer.headers().contains_key("retry-after"), "when to try again");
                                let kind = answer.headers()["content-type"].to_str().unwrap().to_owned();
                                assert_eq!(kind, "application/problem+json");
                                let said: Value = answer.json().await.unwrap();
                                let detail = said["detail"].as_str().unwrap();
                                assert!(
                                    detail.contains("Nothing was changed")
                                        || detail.contains("Try again")
                                        || detail.contains("may have been done"),
                                    "{said}"
                                );
                                refused.fetch_add(1, Ordering::Relaxed);
                                if over.load(Ordering::Relaxed) {
                                    return;
                                }
                            }
                            other => panic!("{other}: {}", answer.text().await.unwrap()),
                        }
                        tokio::time::sleep(Duration::from_millis(20)).await;
                    }
                }
            })
        })
        .collect();

    let (count, mut slowest) = (rounds(3, 20), Duration::ZERO);
    for _ in 0..count {
        more_than(&taken, taken.load(Ordering::Relaxed) + 2 * WRITERS).await;
        let before = refused.load(Ordering::Relaxed);
        tokio::task::block_in_place(|| cluster.halt());
        let alive = client.get(format!("{}/livez", served.base)).send().await.unwrap();
        assert_eq!(alive.status(), StatusCode::OK, "the server itself is well");
        is_ready(&client, &served.base, StatusCode::SERVICE_UNAVAILABLE).await;
        more_than(&refused, before).await;
        let sign_in = client.get(format!("{}/sign-in", served.base)).send().await.unwrap();
        assert_eq!(sign_in.status(), StatusCode::OK, "a page without the database");
        tokio::task::block_in_place(|| cluster.again());
        let (back, taken_before) = (Instant::now(), taken.load(Ordering::Relaxed));
        more_than(&taken, taken_before).await;
        slowest = slowest.max(back.elapsed());
        is_ready(&client, &served.base, StatusCode::OK).await;
    }
    over.store(true, Ordering::Relaxed);
    for writer in writers {
        if let Err(e) = writer.await {
            let said = std::fs::read_to_string(&log).unwrap();
            let why: Vec<&str> = said.lines().filter(|l| l.contains("ERROR")).collect();
            panic!("a writer saw what it may not see: {e:?}\n{why:#?}");
        }
    }
    let acknowledged = std::mem::take(&mut *acknowledged.lock().unwrap());
    for id in &acknowledged {
        let put = client.put(format!("{}/api/v1/checks/{id}", served.base)).bearer_auth(&token).json(&body);
        assert_eq!(
            put.send().await.unwrap().status(),
            StatusCode::OK,
            "check {id} was acknowledged and is gone"
        );
    }
    assert_eq!(served.stop().0, 0);
    let (code, said) = run(chock_on(&b, &["verify"]));
    assert_eq!(code, 0, "{said}");
    println!(
        "PostgreSQL stopped {count} times: {} checks acknowledged and there, {} refused with 503; work went on after at most {slowest:.1?}",
        acknowledged.len(),
        refused.load(Ordering::Relaxed)
    );
    assert!(slowest < Duration::from_secs(5), "{slowest:?}");
}

/// One look serves all who ask within a second.
async fn is_ready(client: &reqwest::Client, base: &str, expected: StatusCode) {
    let start = Instant::now();
    loop {
        let ready = client.get(format!("{base}/readyz")).send().await.unwrap();
        if ready.status() == expected {
            return;
        }
        assert!(start.elapsed() < DEADLINE, "{}: {}", ready.status(), ready.text().await.unwrap());
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}

async fn more_than(count: &AtomicUsize, least: usize) {
    let start = Instant::now();
    while count.load(Ordering::Relaxed) <= least {
        assert!(start.elapsed() < DEADLINE, "nothing goes on");
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}
