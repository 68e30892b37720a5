//! Every page there is, on a phone and at a desk: it fits the width, has one heading, names its fields, is large enough
//! for a glove, and the browser has nothing to complain of. The list is that of `routes`, so a new page is in it. In Spanish, which
//! says the same in a quarter more letters; `everybody` looks at them in English.

use serde_json::json;

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::routes::pages;
use crate::routes::world::World;
use crate::support::{Bench, Engine, PASSWORD};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_page_fits() {
    let world = World::new(Bench::new(Engine::Sqlite).await).await;
    let driver = Driver::start().await;
    for device in [Device::Phone, Device::Desk] {
        // The owner sees everything but what only a mechanic does, and the drafts of the supervisor.
        for (letter, email) in
            [("w", "olga@yard.example"), ("s", "sara@yard.example"), ("m", "mats@yard.example")]
        {
            let screen = Screen::open(&driver, device, true, &world.served.url).await;
            screen.go("/sign-in").await;
            screen.sign_in(email, PASSWORD).await;
            let chosen = json!({"name": "language", "value": "es", "url": world.served.url});
            screen.window.devtools("Network.setCookie", chosen).await;
            let mut seen = 0;
            for route in
                pages::table(&world.names).iter().filter(|r| is_a_page(r.path) && r.who.contains(letter))
            {
                if route.method == "GET" && route.status == 200 {
                    screen.go(&world.path(route.path)).await;
                    seen += 1;
                }
            }
            assert!(seen > 15, "only {seen} pages were looked at");
            screen.go("/machines/no-such-machine").await;
            screen.says("Busque la máquina por su número de unidad").await;
            screen.window.close().await;
        }
    }
    drop(driver);
    world.close().await;
}

/// Other than what is fetched by a program, or comes as a file.
pub fn is_a_page(path: &str) -> bool {
    let others = ["/livez", "/readyz", "/metrics", "/assets/", "/live", "/photos/", "/sw.js"];
    let files = [".csv", "/file", "/archive"];
    !files.iter().any(|f| path.ends_with(f)) && !others.iter().any(|o| path.starts_with(o))
}
