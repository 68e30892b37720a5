//! What was acknowledged survives kill -9, and what was not is wholly absent (invariant 9): servers of the built program,
//! killed in the middle of submissions. And two of them on one PostgreSQL: each hears what the other commits.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use chock::domain::checklist::Load;
use chock::domain::ids::{CheckId, ChecklistId, MachineId};
use chock::storage::Db;
use chock::workflow::{self, Answered, Credentials, NewMachine, NewYard};
use reqwest::StatusCode;
use serde_json::{Value, json};

use crate::faults::rounds;
use crate::support::process::{DEADLINE, Served, chock_on, run};
use crate::support::{Bench, Engine, PASSWORD, all_well, fail};

const OPERATOR: &str = "otto@yard.example";
const WRITERS: usize = 8;
const MACHINES: usize = 4;
/// What goes wrong in every other check: out of service, monitored, and both at once.
const FAULTS: [&[(&str, &str)]; 3] = [
    &[("fuel-leak", "left-side")],
    &[("oil-leak", "")],
    &[("fuel-leak", "right-side"), ("loose-parts", "left-side")],
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_acknowledged_is_lost_on_sqlite() {
    killed_in_the_middle(Engine::Sqlite, rounds(20, 200)).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_acknowledged_is_lost_on_postgres() {
    killed_in_the_middle(Engine::Postgres, rounds(10, 200)).await;
}

/// A check that was sent, and what came back.
struct Sent {
    id: CheckId,
    body: Value,
    failed: usize,
    acknowledged: Option<Value>,
}

async fn killed_in_the_middle(engine: Engine, rounds: usize) {
    let b = Bench::on_real_time(engine).await;
    crate::support::has_password(&b.workshop, b.operator.id).await;
    let mut machines = Vec::new();
    for n in 0..rounds * MACHINES {
        machines.push(another_machine(&b, b.yard, &format!("C-{n}")).await);
    }
    b.workshop.db.close().await;
    let client = crate::support::client().build().expect("a client");
    let mut all: HashMap<CheckId, Sent> = HashMap::new();
    let mut last: Vec<CheckId> = Vec::new();
    let mut acknowledged = 0;
    for round in 0..=rounds {
        let mut served = Served::on(&b);
        let token = served.token(&client, OPERATOR).await;
        let present = whole_or_absent(&b, &all).await;
        for id in last.drain(..) {
            let sent = all.get_mut(&id).expect("it was sent");
            sent_again(&client, &served.base, &token, sent, present.contains(&id)).await;
        }
        if round == rounds {
            break;
        }
        // Machines on which nothing is open yet, and fewer than writers, so that they meet.
        let machines = machines[round * MACHINES..][..MACHINES].to_vec();
        let sent = write_until_killed(&b, &client, &mut served, &token, machines).await;
        acknowledged += sent.iter().filter(|s| s.acknowledged.is_some()).count();
        last.extend(sent.iter().map(|s| s.id));
        all.extend(sent.into_iter().map(|s| (s.id, s)));
        let (code, said) = run(chock_on(&b, &["verify"]));
        assert_eq!(code, 0, "after kill {round}: {said}");
    }
    assert!(
        acknowledged >= rounds * WRITERS,
        "only {acknowledged} checks were acknowledged before the kills"
    );
    println!(
        "{engine:?}, killed {rounds} times: {acknowledged} acknowledged, {} in flight at a kill",
        all.len() - acknowledged
    );
}

/// Eight writers put checks one after another until the server is gone: killed at a moment nobody chose.
async fn write_until_killed(
    b: &Bench,
    client: &reqwest::Client,
    served: &mut Served,
    token: &str,
    machines: Vec<MachineId>,
) -> Vec<Sent> {
    let sent: Arc<Mutex<Vec<Sent>>> = Arc::default();
    let answered = Arc::new(AtomicUsize::new(0));
    let mut writers = Vec::new();
    for writer in 0..WRITERS {
        let well = all_well(&b.checklist, Load::Unladen);
        let (client, base, token) = (client.clone(), served.base.clone(), token.to_owned());
        let (sent, answered, machines) = (sent.clone(), answered.clone(), machines.clone());
        let (ambient, checklist) = (b.workshop.ambient.clone(), b.checklist_id);
        writers.push(tokio::spawn(async move {
            for n in writer.. {
                let (mut answers, mut failed) = (well.clone(), 0);
                if n % 2 == 1 {
                    for (item, position) in FAULTS[n / 2 % FAULTS.len()] {
                        fail(&mut answers, item, position);
                        failed += 1;
                    }
                }
                let id: CheckId = ambient.id();
                let machine = machines[n % machines.len()];
                let mut body = body(machine, checklist, &answers);
                let place = {
                    let mut sent = lock(&sent);
                    sent.push(Sent { id, body: body.clone(), failed, acknowledged: None });
                    sent.len() - 1
                };
                let said = loop {
                    let put =
                        client.put(format!("{base}/api/v1/checks/{id}")).bearer_auth(&token).json(&body);
                    // The server is gone, before or in the middle of its answer.
                    let Ok(answer) = put.send().await else { return };
                    let status = answer.status();
                    let Ok(said) = answer.json::<Value>().await else { return };
                    if status == StatusCode::CREATED {
                        break said;
                    }
                    // Another writer found something to watch meanwhile.
                    assert_eq!(said["errors"][0]["pointer"], "/watched", "{said}");
                    let Some(watched) = all_the_same(&client, &base, &token, &body).await else { return };
                    body["watched"] = watched;
                    lock(&sent)[place].body = body.clone();
                };
                lock(&sent)[place].acknowledged = Some(said);
                answered.fetch_add(1, Ordering::Relaxed);
            }
        }));
    }
    let start = Instant::now();
    while answered.load(Ordering::Relaxed) < WRITERS {
        assert!(start.elapsed() < DEADLINE, "hardly a check was acknowledged");
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    tokio::time::sleep(Duration::from_millis(rand::random_range(50..300))).await;
    served.kill();
    for writer in writers {
        writer.await.expect("a writer saw only answers it may see");
    }
    std::mem::take(&mut *lock(&sent))
}

/// Sending again: what is on record answers the same as it did, what is not is taken as if for the first time.
async fn sent_again(client: &reqwest::Client, base: &str, token: &str, sent: &mut Sent, present: bool) {
    let mut put = client.put(format!("{base}/api/v1/checks/{}", sent.id)).bearer_auth(token).json(&sent.body);
    let mut answer = put.send().await.expect("the server is back");
    if !present && answer.status() == StatusCode::UNPROCESSABLE_ENTITY {
        sent.body["watched"] = all_the_same(client, base, token, &sent.body).await.expect("a checklist");
        put = client.put(format!("{base}/api/v1/checks/{}", sent.id)).bearer_auth(token).json(&sent.body);
        answer = put.send().await.expect("the server is back");
    }
    let status = answer.status();
    let said: Value = answer.json().await.unwrap();
    let expected = if present { StatusCode::OK } else { StatusCode::CREATED };
    assert_eq!(status, expected, "check {}: {said}", sent.id);
    if let Some(first) = &sent.acknowledged {
        assert!(present, "check {} was acknowledged and is gone", sent.id);
        assert_eq!(&said, first, "check {} answers otherwise than it did", sent.id);
    }
    sent.acknowledged = Some(said);
}

/// What is being watched on the check's machine, all of it the same; None when the server is gone.
async fn all_the_same(client: &reqwest::Client, base: &str, token: &str, check: &Value) -> Option<Value> {
    let machine = check["machine"].as_str().expect("a machine");
    let asked = client.get(format!("{base}/api/v1/machines/{machine}/checklist")).bearer_auth(token);
    let form = asked.send().await.ok()?.json::<Value>().await.ok()?;
    let watched = form["open_defects"].as_array()?.iter().filter(|d| d["watched"] == true);
    Some(watched.map(|d| json!({ "defect": d["id"], "now": "same" })).collect())
}

/// Looks at every row that a check leads to: all of them are there, or none. Answers which checks are there.
async fn whole_or_absent(b: &Bench, all: &HashMap<CheckId, Sent>) -> Vec<CheckId> {
    let db = Db::open(&b.database_url).await.expect("the database opens after a kill");
    let mut tx = db.read().await.unwrap();
    let checks: Vec<(CheckId,)> = tx.all("SELECT id FROM pre_use_check", &[]).await.unwrap();
    let answers: Vec<(CheckId, String)> =
        tx.all("SELECT check_id, answered FROM check_answer", &[]).await.unwrap();
    let readings: Vec<(CheckId, i64)> =
        tx.all("SELECT check_id, COUNT(*) FROM reading GROUP BY check_id", &[]).await.unwrap();
    let sightings: Vec<(CheckId, i64)> = tx
        .all("SELECT check_id, COUNT(*) FROM sighting WHERE check_id IS NOT NULL GROUP BY check_id", &[])
        .await
        .unwrap();
    let defects: Vec<(CheckId, i64)> = tx
        .all("SELECT check_id, COUNT(*) FROM defect WHERE check_id IS NOT NULL GROUP BY check_id", &[])
        .await
        .unwrap();
    let held: Vec<(CheckId, i64)> = tx
        .all(
            "SELECT d.check_id, COUNT(*) FROM hold h JOIN defect d ON d.id = h.defect_id
             WHERE d.check_id IS NOT NULL GROUP BY d.check_id",
            &[],
        )
        .await
        .unwrap();
    let entries: Vec<(String, i64)> = tx
        .all("SELECT subject, COUNT(*) FROM audit WHERE act = 'check submitted' GROUP BY subject", &[])
        .await
        .unwrap();
    let alerts: Vec<(String, i64)> =
        tx.all("SELECT event_key, COUNT(*) FROM outbox GROUP BY event_key", &[]).await.unwrap();
    drop(tx);
    db.close().await;

    let answers: HashMap<_, _> = answers.into_iter().collect();
    let [readings, sightings, defects, held] =
        [readings, sightings, defects, held].map(|rows| rows.into_iter().collect::<HashMap<_, _>>());
    let [entries, alerts] = [entries, alerts].map(|rows| rows.into_iter().collect::<HashMap<_, _>>());
    let checks: Vec<CheckId> = checks.into_iter().map(|c| c.0).collect();
    let measured = all_well(&b.checklist, Load::Unladen).iter().filter(|a| a.value.is_some()).count();
    // The yard's supervisor and two mechanics, the owner, and the operator.
    const TOLD: i64 = 5;
    for id in &checks {
        let sent = all.get(id).unwrap_or_else(|| panic!("check {id} is on record and nobody sent it"));
        let answered: Answered = serde_json::from_str(&answers[id]).expect("an answer");
        let new = answered.findings.iter().filter(|f| !f.seen_before);
        let new_held = new.clone().filter(|f| f.severity == chock::domain::standing::Severity::OutOfService);
        let (new, new_held) = (new.count() as i64, new_held.count() as i64);
        let of = |rows: &HashMap<CheckId, i64>| rows.get(id).copied().unwrap_or_default();
        let subject = format!("check {id}");
        assert_eq!(of(&readings), (measured + sent.failed) as i64, "readings of {id}");
        // What a check finds itself is seen once, also where it is said to be the same.
        let found = |defect| answered.findings.iter().any(|f| f.defect == defect);
        let said = answered.watched.iter().filter(|w| !found(w.defect)).count();
        assert_eq!(of(&sightings), (sent.failed + said) as i64, "sightings of {id}");
        assert_eq!(of(&defects), new, "defects of {id}");
        assert_eq!(of(&held), new_held, "holds of {id}");
        assert_eq!(entries.get(&subject), Some(&1), "audit entries of {id}");
        let told = alerts.get(&subject).copied().unwrap_or_default();
        assert_eq!(told, if new_held > 0 { TOLD } else { 0 }, "alerts of {id}");
    }
    for (id, sent) in all.iter().filter(|(id, _)| !checks.contains(id)) {
        assert!(sent.acknowledged.is_none(), "check {id} was acknowledged and is gone");
        let rows = [&readings, &sightings, &defects, &held].map(|rows| rows.contains_key(id));
        assert_eq!(rows, [false; 4], "rows of check {id}, which is not on record");
        let subject = format!("check {id}");
        assert!(!entries.contains_key(&subject), "an audit entry of check {id}, which is not on record");
        assert!(!alerts.contains_key(&subject), "an alert of check {id}, which is not on record");
    }
    checks
}

/// The board that is open at one server learns within two seconds what was committed through the other.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_servers_on_one_postgres_hear_each_other() {
    let b = Bench::on_real_time(Engine::Postgres).await;
    let south = NewYard {
        name: "South yard".into(),
        zone: "Europe/Oslo".into(),
        one_person: false,
        altitude_m: None,
    };
    let south = workflow::add_yard(&b.workshop, &b.owner, south).await.unwrap();
    let southern = another_machine(&b, south, "S-01").await;
    let owner = Credentials { email: "olga@yard.example", password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(&b.workshop, owner).await.unwrap();
    b.workshop.db.close().await;
    let (listening, writing) = (Served::on(&b), Served::on(&b));
    let client = crate::support::client().build().expect("a client");
    let token = writing.token(&client, "olga@yard.example").await;
    let live = client.get(format!("{}/live", listening.base)).header("Cookie", format!("chock={secret}"));
    let mut live = live.send().await.unwrap();
    assert_eq!(live.status(), StatusCode::OK);
    let put = |machine| {
        let body = body(machine, b.checklist_id, &all_well(&b.checklist, Load::Unladen));
        let id: CheckId = b.workshop.ambient.id();
        let put = client.put(format!("{}/api/v1/checks/{id}", writing.base)).bearer_auth(&token).json(&body);
        async move { assert_eq!(put.send().await.unwrap().status(), StatusCode::CREATED) }
    };
    // A server that has just started listens to PostgreSQL a moment later. Until then, knock.
    let (start, mut heard) = (Instant::now(), String::new());
    while !heard.contains(&b.yard.to_string()) {
        assert!(start.elapsed() < DEADLINE, "the listening server never listened: {heard}");
        put(b.machine).await;
        if let Ok(chunk) = tokio::time::timeout(Duration::from_millis(500), live.chunk()).await {
            heard.push_str(&String::from_utf8_lossy(&chunk.unwrap().expect("the stream goes on")));
        }
    }
    assert!(!heard.contains(&south.to_string()), "nothing has happened in the other yard: {heard}");
    put(southern).await;
    let committed = Instant::now();
    while !heard.contains(&south.to_string()) {
        let left = Duration::from_secs(2).saturating_sub(committed.elapsed());
        let chunk = tokio::time::timeout(left, live.chunk()).await;
        let chunk = chunk.unwrap_or_else(|_| panic!("not heard within 2 s: {heard}")).unwrap();
        heard.push_str(&String::from_utf8_lossy(&chunk.expect("the stream goes on")));
    }
    let page = client.get(format!("{}/livez", listening.base)).send().await.unwrap();
    assert_eq!(page.status(), StatusCode::OK);
}

async fn another_machine(b: &Bench, yard: chock::domain::ids::YardId, unit_number: &str) -> MachineId {
    let machine = NewMachine {
        yard,
        unit_number: unit_number.into(),
        class: "utility vehicle".into(),
        description: "Two-seat".into(),
        serial: String::new(),
        engine_hours: None,
    };
    workflow::add_machine(&b.workshop, &b.owner, machine).await.unwrap()
}

fn body(machine: MachineId, checklist: ChecklistId, answers: &[chock::domain::reading::RawAnswer]) -> Value {
    json!({ "machine": machine, "checklist": checklist, "load": "unladen", "answers": answers })
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
