//! The drill: a backup is made while people work, put into another place, and a server is started from it. Everything that
//! was acknowledged before the backup began is there.

use std::fs;
use std::path::Path;
use std::sync::{Arc, Mutex};

use chock::domain::checklist::Load;
use chock::domain::ids::CheckId;
use reqwest::StatusCode;
use serde_json::json;

use super::rounds;
use crate::support::process::{Served, chock, chock_on, run};
use crate::support::{Bench, Engine, all_well};

const WRITERS: usize = 4;

fn restore(file: &Path, data: &Path, more: &[&str]) -> (i32, String) {
    let mut command = chock(&["restore", file.to_str().unwrap(), "--data", data.to_str().unwrap()]);
    command.args(more);
    run(command)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_acknowledged_before_a_backup_is_served_from_it() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    crate::support::has_password(&b.workshop, b.operator.id).await;
    b.ground(b.second_machine).await;
    b.workshop.db.close().await;
    let served = Served::on(&b);
    let client = crate::support::client().build().expect("a client");
    let token = served.token(&client, "otto@yard.example").await;
    let body = json!({
        "machine": b.machine, "checklist": b.checklist_id, "load": "unladen",
        "answers": all_well(&b.checklist, Load::Unladen),
    });
    let acknowledged: Arc<Mutex<Vec<CheckId>>> = Arc::default();
    let writers: Vec<_> = (0..WRITERS)
        .map(|_| {
            let (client, base, token, body) =
                (client.clone(), served.base.clone(), token.clone(), body.clone());
            let (acknowledged, ambient) = (acknowledged.clone(), b.workshop.ambient.clone());
            tokio::spawn(async move {
                loop {
                    let id: CheckId = ambient.id();
                    let put =
                        client.put(format!("{base}/api/v1/checks/{id}")).bearer_auth(&token).json(&body);
                    let Ok(answer) = put.send().await else { return };
                    assert_eq!(answer.status(), StatusCode::CREATED);
                    acknowledged.lock().unwrap().push(id);
                }
            })
        })
        .collect();
    let so_far = || acknowledged.lock().unwrap().len();
    let (count, mut backups) = (rounds(2, 10), Vec::new());
    for n in 0..count {
        let least = so_far() + 2 * WRITERS;
        while so_far() < least {
            tokio::time::sleep(std::time::Duration::from_millis(5)).await;
        }
        let before = so_far();
        let file = b.folder.path().join(format!("backup-{n}.db"));
        let backup = chock_on(&b, &["backup", file.to_str().unwrap()]);
        let (code, said) = tokio::task::spawn_blocking(|| run(backup)).await.unwrap();
        assert_eq!(code, 0, "{said}");
        assert!(so_far() > before, "nobody worked while the backup was made");
        backups.push((file, acknowledged.lock().unwrap()[..before].to_vec()));
    }
    // A database that a server uses is not replaced, whatever is asked for.
    let data = b.folder.path();
    let (code, said) = restore(&backups[0].0, data, &[]);
    assert!(code == 1 && said.contains("there is a database already"), "{code}: {said}");
    let (code, said) = restore(&backups[0].0, data, &["--replace"]);
    assert!(code == 1 && said.contains("a server or another program uses it"), "{code}: {said}");
    let still = so_far();
    while so_far() == still {
        tokio::time::sleep(std::time::Duration::from_millis(5)).await;
    }
    assert_eq!(served.stop().0, 0);
    for writer in writers {
        writer.await.unwrap();
    }

    for (n, (file, there)) in backups.iter().enumerate() {
        let kept = fs::read(file).unwrap();
        let data = b.folder.path().join(format!("restored-{n}"));
        let (code, said) = restore(file, &data, &["--check"]);
        assert!(code == 0 && said.contains("whole and sound. Nothing was changed."), "{code}: {said}");
        assert!(!data.join("chock.db").exists(), "only looked at");
        let (code, said) = restore(file, &data, &[]);
        assert_eq!(code, 0, "{said}");
        assert!(fs::read(file).unwrap() == kept, "the backup stays as it is");
        let served = Served::start(chock(&["serve", "--data", data.to_str().unwrap()]));
        let token = served.token(&client, "otto@yard.example").await;
        for id in there {
            let put =
                client.put(format!("{}/api/v1/checks/{id}", served.base)).bearer_auth(&token).json(&body);
            assert_eq!(
                put.send().await.unwrap().status(),
                StatusCode::OK,
                "check {id} was acknowledged before"
            );
        }
        assert_eq!(served.stop().0, 0);
    }
    let (file, there) = backups.last().unwrap();
    let (code, said) = restore(file, data, &["--check"]);
    assert!(code == 0 && said.contains("more than the backup."), "{code}: {said}");
    // With --replace, what was there stays beside it.
    let (code, said) = restore(file, data, &["--replace"]);
    assert_eq!(code, 0, "{said}");
    let aside = fs::read_dir(data).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
    assert_eq!(aside.filter(|name| name.starts_with("chock.db.before-")).count(), 1);
    assert_eq!(run(chock_on(&b, &["verify"])).0, 0);

    // A file that is damaged, or none of ours, changes nothing.
    let good = fs::read(file).unwrap();
    let now = fs::read(data.join("chock.db")).unwrap();
    let bad = b.folder.path().join("bad.db");
    let mut flipped = good.clone();
    let middle = flipped.len() / 2;
    flipped[middle..middle + 4096].fill(0xA5);
    for damaged in [&good[..good.len() / 2], &flipped, b"no database at all".as_slice(), b"".as_slice()] {
        fs::write(&bad, damaged).unwrap();
        for more in [["--check"], ["--replace"]] {
            let (code, said) = restore(&bad, data, &more);
            assert_eq!(code, 3, "{} bytes {more:?}: {said}", damaged.len());
            assert!(said.contains("Nothing was changed."), "{said}");
        }
    }
    assert!(fs::read(data.join("chock.db")).unwrap() == now);
    println!(
        "{count} backups under {WRITERS} writers, each restored and served: {} checks acknowledged before the last one, all there",
        there.len()
    );
}
