//! Pictures of the demo: the two of the README, and one of every main page for somebody to look at. Not a test; run it
//! with `tests/run --ignored pictures` after the pages have changed.

use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use chock::demo::{self, Simulated};
use chock::domain::checklist::Load;
use chock::domain::ids::{CheckId, PersonId};
use chock::domain::person::{Actor, Role};
use chock::domain::standing::{Severity, Standing};
use chock::domain::unit::Hours;
use chock::storage::{Db, MachineFilter, PersonRow};
use chock::workflow::{self, SubmitCheck, Workshop};
use chrono::{DateTime, Utc};
use image::RgbImage;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use uuid::Uuid;

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::served::Served;
use crate::support::{all_well, fail};

/// For the README, so small that nobody waits for them.
const MOST_BYTES: usize = 150_000;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "takes the README's pictures: tests/run --ignored pictures"]
async fn pictures() {
    let folder = tempfile::tempdir().expect("a folder");
    // A fixed morning and seed: the same pictures until the pages change.
    let until: DateTime<Utc> = "2026-11-25T09:40:00Z".parse().expect("a time");
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
    for device in [Device::Desk, Device::Phone] {
        let screen = Screen::open(&driver, device, true, &served.url).await;
        screen.window.stop_the_clock(until).await;
        screen.go("/sign-in").await;
        keep(&screen, &to_look_at, "sign-in").await;
        screen.sign_in(demo::SIGN_INS[3].2, demo::PASSWORD).await;
        for (name, address) in &addresses {
            screen.go(address).await;
            if *name == "board" || *name == "queue" {
                screen.until("Live").await;
            }
            keep(&screen, &to_look_at, name).await;
            if (device, *name) == (Device::Desk, "board") {
                keep_small(&screen, &for_readme.join("board.png")).await;
            }
        }
        screen.window.close().await;
    }
    // The verdict as an operator has it in hand, a moment after the check.
    let (_, operator, email) = demo::SIGN_INS[0];
    let check = a_soft_pedal(&workshop, operator).await;
    let phone = Screen::open(&driver, Device::Phone, true, &served.url).await;
    phone.window.stop_the_clock(until).await;
    phone.go(&format!("/checks/{check}")).await;
    phone.sign_in(email, demo::PASSWORD).await;
    while phone.text().await.contains("mail on its way") {
        phone.go(&format!("/checks/{check}")).await;
    }
    keep(&phone, &to_look_at, "verdict").await;
    keep_small(&phone, &for_readme.join("verdict.png")).await;
    phone.window.close().await;
    served.stop().await;
}

/// Found by the operator of this name on the first utility vehicle that is fit for use.
async fn a_soft_pedal(w: &Workshop, operator: &str) -> CheckId {
    let operator = known(w, |p| p.name == operator).await;
    let fit = workflow::list_machines(w, &operator, &fit_for_use(), "", 1).await.expect("a list");
    let machine = fit.first().expect("a machine that is fit").machine.id;
    let form = workflow::checklist_form(w, &operator, machine).await.expect("its checklist");
    let mut answers = all_well(&form.checklist, Load::Unladen);
    for pad in answers.iter_mut().filter(|a| a.item.as_deref() == Some("brake-pad")) {
        pad.value = Some("7.5".to_owned());
    }
    fail(&mut answers, "brake-pedal", "");
    let check = SubmitCheck {
        id: form.id,
        machine,
        checklist: form.checklist_id,
        load: Load::Unladen,
        warmth: None,
        air_temperature: None,
        air_unit: None,
        watched: Vec::new(),
        engine_hours: form.last_hours.map(|h| Hours(h.0 + 4)),
        hours_confirmed: false,
        answers,
        note: String::new(),
        begun_at: None,
        recorded_at: None,
    };
    workflow::submit_check(w, &operator, check).await.expect("the check is taken").check
}

async fn known(w: &Workshop, is: impl Fn(&PersonRow) -> bool) -> Actor {
    let anybody = Actor {
        id: PersonId(Uuid::nil()),
        name: String::new(),
        roles: vec![Role::Owner],
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    };
    let people = workflow::people(w, &anybody).await.expect("people");
    let (row, roles, yards) = people.into_iter().find(|(p, ..)| is(p)).expect("somebody");
    Actor { id: row.id, name: row.name, roles, yards, by_pin: false, long_ago: false }
}

/// The main pages by name, each of the machine or work order that shows most.
async fn addresses(w: &Workshop) -> Vec<(&'static str, String)> {
    let owner = known(w, |p| p.email == demo::SIGN_INS[3].2).await;
    let machine = |unit: &'static str| workflow::find_machine(w, &owner, unit);
    let (leaking, worn) = (machine("u7").await.expect("U-07"), machine("u3").await.expect("U-03"));
    let fit = workflow::list_machines(w, &owner, &fit_for_use(), "", 1).await.expect("a list");
    let fit = fit.first().expect("a machine that is fit").machine.id;
    let gate = workflow::gate(w, &owner, leaking).await.expect("its gate");
    let defect = gate.defects.iter().find(|d| d.severity == Severity::OutOfService).expect("it leaks").id;
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
        ("verdict-later", format!("/checks/{check}")),
        ("defect", format!("/defects/{defect}")),
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

fn fit_for_use() -> MachineFilter {
    let class = "utility vehicle".to_owned();
    MachineFilter { class, standing: Some(Standing::FitForUse), ..Default::default() }
}

async fn keep(screen: &Screen, folder: &Path, name: &str) {
    let file: PathBuf = folder.join(format!("{name}-{}.png", screen.window.device.width()));
    std::fs::write(file, screen.window.picture(true).await).expect("a file");
}

/// The first screen, in as few colours and bytes as show it well.
async fn keep_small(screen: &Screen, file: &Path) {
    let mut picture =
        image::load_from_memory(&screen.window.picture(false).await).expect("a picture").to_rgb8();
    assert_eq!(picture.width(), screen.window.device.width());
    fewer_colours(&mut picture, 160);
    let mut packed = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut packed, CompressionType::Best, FilterType::NoFilter);
    picture.write_with_encoder(encoder).expect("a PNG");
    assert!(packed.len() < MOST_BYTES, "{} is {} bytes", file.display(), packed.len());
    std::fs::write(file, packed).expect("a file");
}

/// Keeps the colours that most of the picture has; the shades at the edges of letters become the nearest of them.
fn fewer_colours(picture: &mut RgbImage, most: usize) {
    let mut counts: BTreeMap<[u8; 3], usize> = BTreeMap::new();
    for pixel in picture.pixels() {
        *counts.entry(pixel.0).or_default() += 1;
    }
    let mut kept: Vec<([u8; 3], usize)> = counts.into_iter().collect();
    // A sign's colour counts for more than the many greys of letters.
    let colourful =
        |c: [u8; 3]| usize::from(c.into_iter().max().unwrap_or(0) - c.into_iter().min().unwrap_or(0));
    kept.sort_by_key(|(colour, count)| Reverse(count * (1 + colourful(*colour))));
    kept.truncate(most);
    let distance = |a: [u8; 3], b: [u8; 3]| -> u32 {
        a.iter().zip(b).map(|(a, b)| u32::from(a.abs_diff(b)).pow(2)).sum()
    };
    for pixel in picture.pixels_mut() {
        let nearest = kept.iter().map(|(colour, _)| *colour).min_by_key(|c| distance(*c, pixel.0));
        pixel.0 = nearest.unwrap_or(pixel.0);
    }
}
