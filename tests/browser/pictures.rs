//! Pictures of the demo: the two of the README, and one of every main page for somebody to look at. Not a test; run it
//! with `tests/run --ignored pictures` after the pages have changed.

use std::path::{Path, PathBuf};

use chock::demo::{self, Simulated};
use chock::domain::standing::Standing;
use chock::storage::Db;
use chock::workflow::{self, Workshop};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::served::Served;

/// For the README, so small that nobody waits for them.
const MOST_BYTES: usize = 150_000;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "takes the README's pictures: tests/run --ignored pictures"]
async fn pictures() {
    let folder = tempfile::tempdir().expect("a folder");
    // A fixed morning and seed: the same pictures until the pages change.
    let until = "2026-11-25T09:40:00Z".parse().expect("a time");
    let time = Simulated::new(7, until);
    let db =
        Db::open(&format!("sqlite:{}", folder.path().join("chock.db").display())).await.expect("a database");
    db.relax_durability().await.expect("it may be lost");
    let workshop = Workshop::new(db, time.ambient(), "GBP");
    demo::fill(&workshop, &time, 7, until).await.expect("a history");
    time.set(until);
    let served = Served::start(&workshop).await;
    let driver = Driver::start().await;
    let repository = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (for_readme, to_look_at) = (repository.join("web/pictures"), repository.join("target/pictures"));
    for folder in [&for_readme, &to_look_at] {
        std::fs::create_dir_all(folder).expect("a folder");
    }
    let addresses = addresses(&workshop).await;
    for device in [Device::Phone, Device::Desk] {
        let screen = Screen::open(&driver, device, true, &served.url).await;
        screen.go("/sign-in").await;
        keep(&screen, &to_look_at, "sign-in").await;
        screen.sign_in(demo::SIGN_INS[3].2, demo::PASSWORD).await;
        for (name, address) in &addresses {
            screen.go(address).await;
            if *name == "board" || *name == "queue" {
                screen.until("Live").await;
            }
            keep(&screen, &to_look_at, name).await;
            match (device, *name) {
                (Device::Desk, "board") => keep_small(&screen, &for_readme.join("board.png")).await,
                (Device::Phone, "verdict") => keep_small(&screen, &for_readme.join("verdict.png")).await,
                _ => {}
            }
        }
        screen.window.close().await;
    }
    served.stop().await;
}

/// The main pages by name, each of the machine or work order that shows most.
async fn addresses(w: &Workshop) -> Vec<(&'static str, String)> {
    let people = workflow::people(w, &anybody()).await.expect("people");
    let (row, roles, yards) =
        people.iter().find(|(p, ..)| p.email == demo::SIGN_INS[3].2).expect("the owner");
    let owner = chock::domain::person::Actor {
        id: row.id,
        name: row.name.clone(),
        roles: roles.clone(),
        yards: yards.clone(),
    };
    let machine = |unit: &'static str| workflow::find_machine(w, &owner, unit);
    let (leaking, worn) = (machine("u7").await.expect("U-07"), machine("u3").await.expect("U-03"));
    let fit = workflow::list_machines(w, &owner, &fit_for_use(), "", 1).await.expect("a list");
    let fit = fit.first().expect("a machine that is fit").machine.id;
    let gate = workflow::gate(w, &owner, leaking).await.expect("its gate");
    let check = gate.last_check.expect("it was checked").id;
    let order = workflow::gate(w, &owner, worn).await.expect("its gate").order.expect("its work order").id;
    let board = workflow::board(w, &owner, "", 50).await.expect("a board");
    let done = board.grounded.iter().find(|g| g.unit_number == "U-09").and_then(|g| g.work_order_id);
    let mail = workflow::outbox(w, &owner, 1).await.expect("an outbox").first().expect("a mail").id;
    let part = workflow::store_parts(w, &owner).await.expect("parts").first().expect("a part").id;
    let checklist = workflow::checklists(w, &owner).await.expect("checklists").first().expect("one").id;
    let mut pages = vec![
        ("board", "/board".to_owned()),
        ("machines", "/machines".to_owned()),
        ("gate-held", format!("/machines/{leaking}")),
        ("gate-fit", format!("/machines/{fit}")),
        ("check", format!("/machines/{fit}/check")),
        ("verdict", format!("/checks/{check}")),
        ("record", format!("/machines/{leaking}/record")),
        ("report", format!("/machines/{leaking}/report")),
        ("hold", format!("/machines/{leaking}/hold")),
        ("tag", format!("/machines/{leaking}/tag")),
        ("queue", "/queue".to_owned()),
        ("work-order", format!("/work-orders/{order}")),
        ("my-reports", "/my-reports".to_owned()),
        ("store", "/store".to_owned()),
        ("part", format!("/store/{part}")),
        ("outbox", "/outbox".to_owned()),
        ("mail", format!("/outbox/{mail}")),
        ("audit", "/audit".to_owned()),
        ("set-up", "/set-up".to_owned()),
        ("yards", "/set-up/yards".to_owned()),
        ("set-up-machines", "/set-up/machines".to_owned()),
        ("people", "/set-up/people".to_owned()),
        ("checklist", format!("/set-up/checklists/{checklist}")),
    ];
    pages.extend(done.map(|o| ("release", format!("/work-orders/{o}"))));
    pages
}

fn anybody() -> chock::domain::person::Actor {
    chock::domain::person::Actor {
        id: chock::domain::ids::PersonId(uuid::Uuid::nil()),
        name: String::new(),
        roles: vec![chock::domain::person::Role::Owner],
        yards: Vec::new(),
    }
}

fn fit_for_use() -> chock::storage::MachineFilter {
    let class = "utility vehicle".to_owned();
    chock::storage::MachineFilter { class, standing: Some(Standing::FitForUse), ..Default::default() }
}

async fn keep(screen: &Screen, folder: &Path, name: &str) {
    let file: PathBuf = folder.join(format!("{name}-{}.png", screen.window.device.width()));
    std::fs::write(file, screen.window.picture(true).await).expect("a file");
}

/// The first screen, packed as tightly as PNG can.
async fn keep_small(screen: &Screen, file: &Path) {
    let picture = image::load_from_memory(&screen.window.picture(false).await).expect("a picture").to_rgb8();
    assert_eq!(picture.width(), screen.window.device.width());
    let mut packed = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut packed, CompressionType::Best, FilterType::Adaptive);
    picture.write_with_encoder(encoder).expect("a PNG");
    assert!(packed.len() < MOST_BYTES, "{} is {} bytes", file.display(), packed.len());
    std::fs::write(file, packed).expect("a file");
}
