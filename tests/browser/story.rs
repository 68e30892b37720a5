//! One machine's day: the operator grounds it by a check, the mechanic repairs it, the supervisor releases it, the
//! operator reads what became of it, and the owner sees it come and go on the board.

use chock::domain::person::Actor;
use chock::domain::standing::Standing;

use super::driver::{Device, Driver};
use super::screen::{Asked, Screen};
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD};

/// Scripts on: a phone in the yard, a shared computer in the workshop, and the owner's desk.
mod with_scripts {
    use super::{Bench, Device, Engine, day};

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn sqlite() {
        day(Bench::new(Engine::Sqlite).await, [Device::Phone, Device::Desk, Device::Desk], true).await;
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn postgres() {
        day(Bench::new(Engine::Postgres).await, [Device::Phone, Device::Desk, Device::Desk], true).await;
    }
}

/// Scripts off and a phone for everybody.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn without_scripts() {
    day(Bench::new(Engine::Sqlite).await, [Device::Phone; 3], false).await;
}

async fn day(b: Bench, [in_the_yard, in_the_workshop, at_the_desk]: [Device; 3], scripts: bool) {
    let people = [&b.operator, &b.mechanic, &b.supervisor];
    for person in people {
        crate::support::has_password(&b.workshop, person.id).await;
    }
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let yard = Screen::open(&driver, in_the_yard, scripts, &served.url).await;
    let workshop = Screen::open(&driver, in_the_workshop, scripts, &served.url).await;
    let desk = Screen::open(&driver, at_the_desk, scripts, &served.url).await;

    desk.go("/").await;
    desk.sign_in("olga@yard.example", PASSWORD).await;
    assert_eq!(desk.path().await, "/board");
    desk.says("No machine is out of service").await;
    desk.remember().await;

    the_operator_checks(&b, &yard).await;
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    on_the_board(&desk, "1 machine out of service").await;
    desk.says("U-07").await;
    desk.says("Seat belt latch, driver").await;
    desk.says("nobody yet").await;
    b.wait(20);
    the_mechanic_repairs(&b, &workshop).await;
    on_the_board(&desk, "retest and release").await;
    desk.says("Mats Mechanic").await;
    b.wait(1);
    the_mechanic_retests(&workshop).await;
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "a retest releases nothing");
    workshop.sign_out().await;
    workshop.says("You are signed out.").await;
    the_supervisor_releases(&workshop).await;
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    on_the_board(&desk, "No machine is out of service").await;
    desk.says_not("U-07").await;
    if scripts {
        assert!(desk.still_the_same_page().await, "the board was never loaded again");
    }
    the_operator_looks_what_became_of_it(&yard).await;
    b.assert_sound().await;
    for screen in [yard, workshop, desk] {
        screen.window.close().await;
    }
    served.stop().await;
}

/// With scripts it comes by itself; without, somebody looks again.
async fn on_the_board(desk: &Screen, words: &str) {
    if desk.window.scripts {
        desk.until(words).await;
    } else {
        desk.press("Look again").await;
        desk.says(words).await;
    }
}

async fn the_operator_checks(b: &Bench, yard: &Screen) {
    // As after reading the symbol on the machine: sign in, and be where one wanted to be.
    yard.go("/machines").await;
    yard.says("Sign in").await;
    yard.fill("Mail address", &address(&b.operator)).await;
    yard.fill("Password", "not the password").await;
    yard.press("Sign in").await;
    yard.says("You are not signed in").await;
    yard.sign_in(&address(&b.operator), PASSWORD).await;
    assert_eq!(yard.path().await, "/machines");
    yard.fill("Unit number", "u7").await;
    yard.press("Show").await;
    assert_eq!(yard.path().await, format!("/machines/{}", b.machine));
    yard.says("U-07").await;
    yard.says("Fit for use").await;
    yard.press("Start a check").await;

    let latch = ["Driver", "Seat belt latch"];
    let forgotten = ["Brake pedal"];
    yard.answer(&["Load"], "Unladen").await;
    yard.fill("Engine hours", "1201.5").await;
    let items = yard.items().await;
    let stops = b.checklist.walk().len();
    assert_eq!(items.iter().filter(|i| i.legends != ["Load"]).count(), stops, "every item is asked");
    for item in &items {
        let legends: Vec<&str> = item.legends.iter().map(String::as_str).collect();
        if legends == latch {
            yard.answer(&latch, "Does not work").await;
            yard.fill_in(&latch, "textarea", "Opens when pulled").await;
        } else if item.measured {
            yard.fill_in(&legends, ".measure input", &well_within(item)).await;
        } else if legends != forgotten && legends != ["Load"] {
            yard.answer(&legends, &item.answers[0]).await;
        }
    }
    let typed = yard.typed().await;
    if yard.window.scripts {
        // The phone asks by itself; the page stays.
        yard.tap("Send the check").await;
        yard.until("One answer needs your attention").await;
    } else {
        yard.press("Send the check").await;
    }
    let summary = yard.summary().await;
    assert_eq!(summary.len(), 1, "{summary:?}");
    assert!(summary[0].0.contains("Brake pedal"), "{summary:?}");
    assert_eq!(summary[0].1, "Brake pedal", "the summary leads to the item");
    assert_eq!(yard.typed().await, typed, "nothing that was given is lost");
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse, "what was not taken changes nothing");
    yard.answer(&forgotten, "Works").await;
    yard.press("Send the check").await;

    assert!(yard.path().await.starts_with("/checks/"), "{}", yard.path().await);
    for words in
        ["Out of service", "Do not use", "Seat belt latch, driver", "Do this now", "Who has been told"]
    {
        yard.says(words).await;
    }
    for told in ["Sara Supervisor: mail", "Mats Mechanic: mail", "Olga Owner: mail"] {
        yard.says(told).await;
    }
    yard.says("Fit for use here: U-08").await;
    yard.press("Print the tag").await;
    for words in ["DANGER", "DO NOT USE", "Seat belt latch, driver", "Otto Operator", "isolates no energy"] {
        yard.says(words).await;
    }
}

/// A fifth above the highest limit that is shown beside the field.
fn well_within(item: &Asked) -> String {
    let figures = item.limits.iter().flat_map(|l| l.split(' ')).filter_map(|w| w.parse::<f64>().ok());
    let limit = figures.fold(f64::NAN, f64::max);
    assert!(limit > 0.0, "no limit beside {:?}: {:?}", item.legends, item.limits);
    format!("{:.1}", limit * 1.2)
}

async fn the_mechanic_repairs(b: &Bench, workshop: &Screen) {
    workshop.go("/").await;
    workshop.sign_in(&address(&b.mechanic), PASSWORD).await;
    assert_eq!(workshop.path().await, "/queue");
    workshop.says("Seat belt latch, driver").await;
    workshop.press("Claim work order 1, U-07").await;
    workshop.says("The work order is yours.").await;
    workshop.says("Opens when pulled").await;
    workshop.press("Start the timer").await;
    workshop.says("Your time is running.").await;
    b.wait(45);
    workshop.choose("Part", "Brake").await;
    workshop.press("Issue").await;
    workshop.says("The parts are issued.").await;
    workshop.says("30.00 EUR").await;
    workshop.fill("Cause", "Spring of the latch broken").await;
    workshop.press("Work done").await;
    workshop.says("One answer needs your attention").await;
    workshop.fill("Remedy", "New latch, bolts to the maker's torque").await;
    workshop.press("Work done").await;
    workshop.says("The work is marked done. Now the retest.").await;
    // 45 minutes at 60.00 an hour, and one set of 30.00.
    workshop.says("75.00 EUR").await;
}

async fn the_mechanic_retests(workshop: &Screen) {
    workshop.answer(&["Seat belt latch, driver"], "Works").await;
    workshop.press("Record the retest").await;
    workshop.says("The retest passed.").await;
    workshop.says_not("Release U-07 to service?").await;
}

async fn the_supervisor_releases(workshop: &Screen) {
    workshop.sign_in("sara@yard.example", PASSWORD).await;
    assert_eq!(workshop.path().await, "/board");
    workshop.press("Work order 1").await;
    workshop.says("Release U-07 to service?").await;
    workshop.fill("Note", "Pulled hard three times, holds").await;
    workshop.press("Release U-07").await;
    workshop.says("One answer needs your attention").await;
    workshop.tick("I have seen the retest and the machine.").await;
    workshop.press("Release U-07").await;
    workshop.says("The machine is released.").await;
    workshop.press("Return-to-service note").await;
    for words in
        ["Spring of the latch broken", "Mats Mechanic", "Sara Supervisor", "Pulled hard three times, holds"]
    {
        workshop.says(words).await;
    }
}

async fn the_operator_looks_what_became_of_it(yard: &Screen) {
    yard.press("Back to U-07").await;
    yard.says("Fit for use").await;
    yard.menu().await;
    yard.press("My reports").await;
    for words in ["Seat belt latch, driver", "New latch, bolts to the maker's torque", "Closed"] {
        yard.says(words).await;
    }
    yard.sign_out().await;
}

fn address(person: &Actor) -> String {
    let first = person.name.split(' ').next().unwrap_or_default().to_lowercase();
    format!("{first}@yard.example")
}
