//! The disk is full: changes are refused with 507 and a sentence, reading goes on, `/readyz` says it, and work goes on when
//! there is room again.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use chock::domain::checklist::Load;
use chock::domain::ids::{CheckId, HoldId};
use chock::workflow::{self, NewMachine};
use reqwest::StatusCode;
use serde_json::{Value, json};

use crate::support::browser::Browser;
use crate::support::process::{DEADLINE, Served, chock, run};
use crate::support::served;
use crate::support::{Bench, Engine, PASSWORD, all_well};

/// SQLite itself says that there is no room, by `max_page_count`: runs wherever the tests run.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_database_without_room_refuses_changes_and_goes_on_reading() {
    let b = Bench::new(Engine::Sqlite).await;
    b.ground(b.machine).await;
    crate::support::has_password(&b.workshop, b.operator.id).await;
    let served = served::Served::start(&b.workshop).await;
    // Sets the password, which ends what was signed in before.
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let client = crate::support::client().build().expect("a client");
    let asked = client.post(format!("{}/api/v1/sessions", served.url));
    let session: Value = asked
        .json(&json!({ "email": "otto@yard.example", "password": PASSWORD }))
        .send()
        .await
        .unwrap()
        .json()
        .await
        .unwrap();
    let token = session["access_token"].as_str().expect("a token").to_owned();
    b.workshop.db.limit_room(true).await.unwrap();
    let put = |id: CheckId| {
        let body = json!({
            "machine": b.second_machine, "checklist": b.checklist_id, "load": "unladen",
            "answers": all_well(&b.checklist, Load::Unladen),
        });
        client.put(format!("{}/api/v1/checks/{id}", served.url)).bearer_auth(&token).json(&body).send()
    };
    // Free pages of the file are used up first.
    let (mut taken, mut refused) = (Vec::new(), None);
    for _ in 0..200 {
        let id: CheckId = b.workshop.ambient.id();
        let answer = put(id).await.unwrap();
        if answer.status() == StatusCode::CREATED {
            taken.push(id);
            continue;
        }
        refused = Some((id, answer));
        break;
    }
    let (id, answer) = refused.expect("the database is full at last");
    assert_eq!(answer.status(), StatusCode::INSUFFICIENT_STORAGE);
    assert_eq!(answer.headers()["content-type"], "application/problem+json");
    let said: Value = answer.json().await.unwrap();
    assert_eq!((said["status"].as_u64(), said["title"].as_str()), (Some(507), Some("Insufficient Storage")));
    assert!(
        said["detail"].as_str().unwrap().contains("The disk of the server is full. Nothing was changed.")
    );

    // Reading goes on: that a machine is out of service is the last thing that may be hidden.
    otto.get(&format!("/machines/{}", b.machine)).await.is(200).says("out of service");
    b.assert_sound().await;
    // Many small changes still fit into pages that are there, so this is asked until one does not.
    let page = format!("/machines/{}/hold", b.second_machine);
    let full = {
        let mut tries = 0;
        loop {
            let id = b.workshop.ambient.id::<HoldId>().to_string();
            let answer =
                otto.send(&page, &[("id", &id), ("reason", &"It smells of fuel. ".repeat(14))]).await;
            if answer.status == 507 {
                break answer;
            }
            tries += 1;
            assert!(tries < 100, "the database is full and takes a hundred holds: {}", answer.status);
        }
    };
    full.says("The disk of the server is full. Nothing was changed.");
    let ready = client.get(format!("{}/readyz", served.url)).send().await.unwrap();
    println!("full after {} checks; readyz: {}", taken.len(), ready.status());
    // Room again: the same check is taken as if nothing had been.
    b.workshop.db.limit_room(false).await.unwrap();
    assert_eq!(put(id).await.unwrap().status(), StatusCode::CREATED);
    for id in taken {
        assert_eq!(put(id).await.unwrap().status(), StatusCode::OK, "what was taken is there");
    }
    served.stop().await;
    b.assert_sound().await;
}

/// A disk of its own for the data, unmounted at the end.
struct SmallDisk<'a>(&'a Path);

impl<'a> SmallDisk<'a> {
    fn mount(at: &'a Path) -> Option<Self> {
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=96m", "chock-test"])
            .arg(at)
            .output()
            .ok()
            .filter(|o| o.status.success());
        mounted.map(|_| Self(at))
    }
}

impl Drop for SmallDisk<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("--lazy").arg(self.0).status();
    }
}

/// The built program on a disk that another program fills. Where nobody may mount one, the test above is all there is.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_on_a_full_disk_says_so_and_goes_on_when_there_is_room() {
    let place = tempfile::tempdir().unwrap();
    let Some(_disk) = SmallDisk::mount(place.path()) else {
        println!(
            "NOT RUN: a disk of its own could not be mounted (that takes root); max_page_count stands for it"
        );
        return;
    };
    let data = place.path().join("data");
    let served = Served::start(chock(&["serve", "--data", data.to_str().unwrap()]));
    let mut secret = None;
    while secret.is_none() {
        secret = served.line().split_once("/welcome/").map(|(_, secret)| secret.trim().to_owned());
    }
    let db = chock::storage::Db::open(&format!("sqlite:{}", data.join("chock.db").display())).await.unwrap();
    let w = workflow::Workshop::new(db, chock::clock::Ambient::real(), "EUR");
    let owner = workflow::accept_invitation(
        &w,
        &secret.unwrap_or_default(),
        "Olga Owner",
        "olga@yard.example",
        PASSWORD,
    )
    .await;
    let owner = crate::support::actor(&w, owner.expect("the link works")).await;
    let yard = workflow::NewYard {
        name: "North yard".into(),
        zone: "Europe/Oslo".into(),
        one_person: false,
        altitude_m: None,
    };
    let yard = workflow::add_yard(&w, &owner, yard).await.unwrap();
    let machine = NewMachine {
        yard,
        unit_number: "U-07".into(),
        class: "utility vehicle".into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: None,
    };
    let machine = workflow::add_machine(&w, &owner, machine).await.unwrap();
    w.db.close().await;
    let client = crate::support::client().build().expect("a client");
    let token = served.token(&client, "olga@yard.example").await;
    let ids: Vec<HoldId> = (0..20_000).map(|_| w.ambient.id()).collect();
    let hold = |n: usize| {
        let body = json!({ "machine": machine, "reason": format!("Looks odd, for the time no. {n}") });
        client.put(format!("{}/api/v1/holds/{}", served.base, ids[n])).bearer_auth(&token).json(&body).send()
    };
    let first = hold(0).await.unwrap();
    assert!(first.status().is_success(), "{}: {}", first.status(), first.text().await.unwrap());

    // Another program takes what is left, to the last byte.
    let ballast = place.path().join("ballast");
    let mut file = fs::File::create(&ballast).unwrap();
    let mut chunk = vec![7_u8; 1 << 20];
    while !chunk.is_empty() {
        if std::io::Write::write_all(&mut file, &chunk).is_err() {
            chunk.truncate(chunk.len() / 2);
        }
    }
    let (start, mut n, mut kept) = (Instant::now(), 1, 1);
    let full = loop {
        assert!(start.elapsed() < DEADLINE, "a full disk takes everything");
        let answer = hold(n).await.unwrap();
        if !answer.status().is_success() {
            break answer;
        }
        (n, kept) = (n + 1, kept + 1);
    };
    assert_eq!(full.status(), StatusCode::INSUFFICIENT_STORAGE, "{}", full.text().await.unwrap());
    let read = client
        .get(format!("{}/api/v1/machines/{machine}", served.base))
        .bearer_auth(&token)
        .send()
        .await
        .unwrap();
    assert_eq!(read.status(), StatusCode::OK, "reading goes on");
    assert_eq!(read.json::<Value>().await.unwrap()["standing"], "out of service");
    tokio::time::sleep(std::time::Duration::from_millis(1_100)).await;
    let ready = client.get(format!("{}/readyz", served.base)).send().await.unwrap();
    assert_eq!(ready.status(), StatusCode::SERVICE_UNAVAILABLE);
    let said = ready.text().await.unwrap();
    assert!(said.contains("disk: NOT WELL: 0 MB free"), "{said}");
    assert!(client.get(format!("{}/livez", served.base)).send().await.unwrap().status().is_success());

    drop(file);
    fs::remove_file(&ballast).unwrap();
    let again = hold(n).await.unwrap();
    assert!(again.status().is_success(), "{}", again.text().await.unwrap());
    assert_eq!(served.stop().0, 0);
    let (code, said) = run(chock(&["verify", "--data", data.to_str().unwrap()]));
    assert_eq!(code, 0, "{said}");
    println!(
        "a full disk took {} more holds, then answered 507; verify: {}",
        kept - 1,
        said.lines().last().unwrap_or_default()
    );
}
