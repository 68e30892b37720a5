//! WCAG 2.2 AA on every page, with the sizes of targets and the enhanced contrast (7:1) held as well: looked at by
//! axe-core (Deque, MPL-2.0; for tests only) and measured, at the widths of a small phone, a phone, a tablet and a desk.

use std::fmt::Write as _;
use std::process::Command;
use std::time::{Duration, Instant};

use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::driver::{Device, Driver, Window};
use super::every_page::is_a_page;
use super::screen::Screen;
use crate::routes::pages;
use crate::routes::world::World;
use crate::support::{Bench, Engine, PASSWORD};

const PAGE: &str = include_str!("everybody.js");
/// Width, height, and whether it is touched. WCAG 2.2, 1.4.10 (from memory): no sideways scroll at 320 CSS px.
const SCREENS: [(u32, u32, bool); 4] =
    [(320, 640, true), (390, 780, true), (768, 1024, true), (1280, 860, false)];
/// Of the DevTools protocol.
const SHIFT: u32 = 8;
const PATIENCE: Duration = Duration::from_secs(30);

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_page_is_for_everybody() {
    let world = World::new(Bench::new(Engine::Sqlite).await).await;
    let driver = Driver::start().await;
    let look = Look::new(&driver, &world).await;
    let mut found = Found::default();
    look.at("/sign-in", &mut found).await;
    look.finds_what_is_wrong().await;
    look.at_refused("/sign-in", "sign-in", &mut found).await;

    let routes = pages::table(&world.names);
    let shown = |path: &str| {
        routes.iter().any(|r| r.path == path && r.method == "GET" && r.status == 200 && is_a_page(path))
    };
    let mut seen = Vec::new();
    // The owner sees everything but what only a mechanic does, and the drafts of the supervisor.
    for (letter, email) in
        [("w", "olga@yard.example"), ("s", "sara@yard.example"), ("m", "mats@yard.example")]
    {
        look.sign_in(email).await;
        for route in routes.iter().filter(|r| r.method == "GET" && r.who.contains(letter) && shown(r.path)) {
            // A work order shows each of them something else to press.
            if route.path != "/work-orders/{id}" && seen.contains(&route.path) {
                continue;
            }
            seen.push(route.path);
            look.at(&world.path(route.path), &mut found).await;
        }
        if letter == "w" {
            look.at("/machines/no-such-machine", &mut found).await;
            for (path, form) in [
                ("/machines/{id}/check", "check"),
                ("/machines/{id}/report", "report"),
                ("/machines/{id}/hold", "hold"),
                ("/set-up/people", "/set-up/people"),
                ("/work-orders/{id}", "/parts"),
            ] {
                look.at_refused(&world.path(path), form, &mut found).await;
            }
        }
    }
    assert!(seen.len() > 40, "only {} pages were looked at", seen.len());
    found.hold_nothing();
    look.screen.window.close().await;
    drop(driver);
    world.close().await;
}

/// WCAG 2.2, 2.4.11 and 2.4.12 (from memory): what the keyboard is on is not hidden by what the author put over it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_strip_never_covers_what_the_keyboard_is_on() {
    let world = World::new(Bench::new(Engine::Sqlite).await).await;
    let driver = Driver::start().await;
    let look = Look::new(&driver, &world).await;
    look.sign_in("olga@yard.example").await;
    for (width, height, touched) in [SCREENS[0], SCREENS[3]] {
        look.on(width, height, touched).await;
        look.go(&world.path("/machines/{id}/check")).await;
        // Forwards past 30 stops of the form, then back: upwards the strip is met from the other side.
        for (shift, stops) in [(0, 45), (SHIFT, 30)] {
            let (covered, on) = look.walk_by_keyboard(shift, stops).await;
            // Of nine places three may lie in the gap between round corners.
            assert!(covered <= 3, "at {width} px {covered} of 9 covered: {on}");
        }
    }
    // Without the room that the page keeps for the strip it would be covered, and seen to be.
    look.on(SCREENS[0].0, SCREENS[0].1, SCREENS[0].2).await;
    look.go(&world.path("/machines/{id}/check")).await;
    look.window().run("document.documentElement.style.scrollPadding = 0", &json!([])).await.expect("a style");
    let (covered, _) = look.walk_by_keyboard(0, 45).await;
    assert!(covered > 3, "nothing but {covered} of 9 was covered");
    look.screen.window.close().await;
    drop(driver);
    world.close().await;
}

/// One window that goes everywhere.
struct Look {
    screen: Screen,
    site: String,
}

#[derive(Default)]
struct Found(Vec<String>);

#[derive(serde::Deserialize)]
struct Sizes {
    beyond: Vec<String>,
    low_answers: Vec<String>,
    low: Vec<String>,
    close: Vec<String>,
    no_inputmode: Vec<String>,
    lead_nowhere: Vec<String>,
}

impl Look {
    async fn new(driver: &Driver, world: &World) -> Self {
        let site = world.served.url.clone();
        let screen = Screen::open(driver, Device::Desk, true, &site).await;
        // In every page before its own scripts; a page's policy does not bind the DevTools protocol.
        let axe = json!({"source": axe_core()});
        screen.window.devtools("Page.addScriptToEvaluateOnNewDocument", axe).await;
        Self { screen, site }
    }

    fn window(&self) -> &Window {
        &self.screen.window
    }

    async fn sign_in(&self, email: &str) {
        self.window().devtools("Network.clearBrowserCookies", json!({})).await;
        self.on(Device::Desk.width(), 860, false).await;
        // Forms that were refused are written down by the browser; what pages are complained of is seen elsewhere.
        let _ = self.window().complaints().await;
        self.screen.go("/sign-in").await;
        self.screen.sign_in(email, PASSWORD).await;
    }

    async fn on(&self, width: u32, height: u32, touched: bool) {
        let metrics = json!({
            "width": width, "height": height, "screenWidth": width, "screenHeight": height,
            "deviceScaleFactor": 1, "mobile": touched,
        });
        self.window().devtools("Emulation.setDeviceMetricsOverride", metrics).await;
        self.window().devtools("Emulation.setTouchEmulationEnabled", json!({"enabled": touched})).await;
    }

    async fn go(&self, path: &str) {
        self.window().go(&format!("{}{path}", self.site)).await;
        self.arrive().await;
    }

    async fn arrive(&self) {
        let by = Instant::now() + PATIENCE;
        while self.window().run(PAGE, &json!(["arrived"])).await != Ok(json!(true)) {
            assert!(Instant::now() < by, "no page came");
            tokio::time::sleep(Duration::from_millis(30)).await;
        }
    }

    async fn at(&self, path: &str, found: &mut Found) {
        self.go(path).await;
        self.all_around(path, found).await;
    }

    /// The page that comes back when the form is sent empty.
    async fn at_refused(&self, path: &str, form: &str, found: &mut Found) {
        self.go(path).await;
        let sent: Value = self.ask("send", json!([form])).await;
        assert_eq!(sent, json!({}), "at {path}");
        self.arrive().await;
        let wrong: bool = self.window().run("return !!document.querySelector('.errors a')", &json!([])).await
            == Ok(json!(true));
        assert!(wrong, "{path} sent empty comes back with a summary of what is wrong");
        self.all_around(&format!("{path} sent empty"), found).await;
    }

    async fn all_around(&self, page: &str, found: &mut Found) {
        for (width, height, touched) in SCREENS {
            self.on(width, height, touched).await;
            let at = format!("{page} at {width} px");
            // The longest of it. Between the narrowest and the widest only sizes change, which are measured at each.
            if [SCREENS[0].0, SCREENS[3].0].contains(&width) || std::env::var_os("CHOCK_TEST_LONG").is_some()
            {
                found.all(&at, "axe", self.ask("axe", json!([null])).await);
            }
            let sizes: Sizes = self.ask("sizes", json!([])).await;
            found.all(&at, "scrolls sideways", sizes.beyond);
            found.all(&at, "an answer less than 72 px high", sizes.low_answers);
            found.all(&at, "less than 48 px high", sizes.low);
            found.all(&at, "less than 16 px apart", sizes.close);
            found.all(&at, "no inputmode", sizes.no_inputmode);
            found.all(&at, "leads to no field", sizes.lead_nowhere);
        }
        self.colours("dark").await;
        let contrast: Vec<String> =
            self.ask("axe", json!([["color-contrast", "color-contrast-enhanced"]])).await;
        found.all(&format!("{page} in the dark"), "axe", contrast);
        self.colours("light").await;
    }

    /// The most of nine places that was covered of anything the keyboard came to, and what that was.
    async fn walk_by_keyboard(&self, modifiers: u32, stops: u32) -> (u64, String) {
        let mut worst = (0, String::new());
        for stop in 1..=stops {
            for kind in ["rawKeyDown", "keyUp"] {
                let key = json!({
                    "type": kind, "modifiers": modifiers, "key": "Tab", "code": "Tab", "windowsVirtualKeyCode": 9,
                });
                self.window().devtools("Input.dispatchKeyEvent", key).await;
            }
            let on: Value = self.ask("focused", json!([])).await;
            let covered = on["covered"].as_u64().expect("a count");
            if covered > worst.0 {
                worst = (covered, format!("stop {stop}, {}", on["on"]));
            }
        }
        worst
    }

    async fn colours(&self, scheme: &str) {
        let media = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.window().devtools("Emulation.setEmulatedMedia", media).await;
    }

    /// A look that cannot find anything is none.
    async fn finds_what_is_wrong(&self) {
        let _: Value = self.ask("spoil", json!([])).await;
        let axe: Vec<String> = self.ask("axe", json!([null])).await;
        for rule in [
            "color-contrast",
            "color-contrast-enhanced",
            "image-alt",
            "label",
            "heading-order",
            "target-size",
        ] {
            let rule = format!("{rule}: ");
            assert!(axe.iter().any(|v| v.starts_with(&rule)), "{rule} is not found: {axe:#?}");
        }
        let sizes: Sizes = self.ask("sizes", json!([])).await;
        assert!(sizes.low.iter().any(|v| v.starts_with("12.0 px")), "{:#?}", sizes.low);
        assert!(!sizes.close.is_empty());
    }

    async fn ask<T: DeserializeOwned>(&self, what: &str, arguments: Value) -> T {
        let mut all = vec![json!(what)];
        all.extend(arguments.as_array().cloned().unwrap_or_default());
        let seen = self.window().run(PAGE, &json!(all)).await.unwrap_or_else(|e| panic!("{what}: {e}"));
        serde_json::from_value(seen.clone()).unwrap_or_else(|e| panic!("{what}: {e}: {seen}"))
    }
}

impl Found {
    fn all(&mut self, at: &str, what: &str, those: Vec<String>) {
        self.0.extend(those.into_iter().map(|t| format!("{what}: {t}\n    {at}")));
    }

    fn hold_nothing(mut self) {
        self.0.sort();
        let mut told = String::new();
        for one in &self.0 {
            let _ = writeln!(told, "{one}");
        }
        assert!(self.0.is_empty(), "{} found:\n{told}", self.0.len());
    }
}

/// The Python package that carries axe-core is there for this file alone; none of its code runs.
fn axe_core() -> String {
    let python = std::env::var("CHOCK_TEST_PYTHON")
        .unwrap_or_else(|_| concat!(env!("CARGO_MANIFEST_DIR"), "/target/test-python/bin/python").to_owned());
    let ask = "import importlib.util as u; print(u.find_spec('axe_playwright_python').submodule_search_locations[0])";
    let said = Command::new(&python).args(["-c", ask]).output();
    let said = said.unwrap_or_else(|e| panic!("{python}: {e}: tests/run --set-up installs it"));
    let folder = String::from_utf8(said.stdout).expect("a path in letters");
    let file = format!("{}/axe.min.js", folder.trim());
    std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{file}: {e}: tests/run --set-up fetches it"))
}
