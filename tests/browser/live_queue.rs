//! The queue before two mechanics at once: what one of them or the store does moves it in the other's window, which is never
//! loaded again.

use chock::workflow;
use serde_json::{Value, json};

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD};

/// The machines that are offered, from the top.
const OFFERED: &str =
    "return [...document.querySelectorAll('ol.queue > li .plate')].map((e) => e.textContent.trim())";

async fn offered(screen: &Screen) -> Value {
    screen.window.run(OFFERED, &json!([])).await.unwrap_or_default()
}

/// Polled with a deadline: it comes by itself, through the stream.
async fn comes_to(screen: &Screen, expected: Value) {
    let mut seen = Value::Null;
    for _ in 0..150 {
        seen = offered(screen).await;
        if seen == expected {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    panic!("{seen} is shown, not {expected}");
}

async fn two_windows(b: Bench) {
    let w = &b.workshop;
    for person in [&b.mechanic, &b.other_mechanic] {
        crate::support::has_password(w, person.id).await;
    }
    let first = b.ground(b.machine).await;
    b.wait(10);
    b.ground(b.second_machine).await;
    let served = Served::start(w).await;
    let driver = Driver::start().await;
    let mats = Screen::open(&driver, Device::Desk, true, &served.url).await;
    let mia = Screen::open(&driver, Device::Phone, true, &served.url).await;
    for (screen, mail) in [(&mats, "mats@yard.example"), (&mia, "mia@yard.example")] {
        screen.go("/queue").await;
        screen.sign_in(mail, PASSWORD).await;
        assert_eq!(screen.path().await, "/queue");
        comes_to(screen, json!(["U-07", "U-08"])).await;
    }
    mia.remember().await;

    // Mats claims the first in his window: in Mia's it is no longer offered, and stands with him.
    mats.press("Claim work order 1, U-07").await;
    comes_to(&mia, json!(["U-08"])).await;
    mia.until("with Mats Mechanic").await;
    // He asks for more than there is and gives it back: it waits for parts, and is not offered.
    workflow::reserve_part(w, &b.mechanic, first, b.part, "4").await.unwrap();
    workflow::hand_back(w, &b.mechanic, first).await.unwrap();
    mia.until("Nobody has it yet").await;
    comes_to(&mia, json!(["U-08"])).await;
    // The part arrives: it stands first again.
    workflow::receive_part(w, &b.owner, b.part, b.yard, "1", "30.00", "").await.unwrap();
    comes_to(&mia, json!(["U-07", "U-08"])).await;
    // And a supervisor's word.
    workflow::pin_order(w, &b.supervisor, second(&b).await).await.unwrap();
    comes_to(&mia, json!(["U-08", "U-07"])).await;
    assert!(mia.still_the_same_page().await, "the queue was never loaded again");
    b.assert_sound().await;
    for screen in [mats, mia] {
        screen.window.close().await;
    }
    served.stop().await;
}

async fn second(b: &Bench) -> chock::domain::ids::WorkOrderId {
    let found = workflow::queue(&b.workshop, &b.supervisor, 1).await.unwrap();
    found.next.last().expect("two are offered").order.id
}

mod what_one_does_moves_the_other_s_queue {
    use super::{Bench, Engine, two_windows};

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn sqlite() {
        two_windows(Bench::new(Engine::Sqlite).await).await;
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn postgres() {
        two_windows(Bench::new(Engine::Postgres).await).await;
    }
}
