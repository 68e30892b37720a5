//! Somebody at a browser: reads what is on the page, presses what has words on it, types. Every page they come to must
//! fit the width, be named, and be taken without a complaint of the browser.

use std::time::{Duration, Instant};

use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::driver::{Device, Driver, Window};

/// Other work may be going on on the same computer.
const PATIENCE: Duration = Duration::from_secs(30);
const BETWEEN_LOOKS: Duration = Duration::from_millis(50);

const PAGE: &str = include_str!("page.js");

pub struct Screen {
    pub window: Window,
    site: String,
}

/// One item of the check form.
#[derive(Clone, Debug, serde::Deserialize)]
pub struct Asked {
    /// From the outside in: the position, if it has one, and the item.
    pub legends: Vec<String>,
    pub answers: Vec<String>,
    pub limits: Vec<String>,
    pub measured: bool,
}

#[derive(Debug, serde::Deserialize)]
struct State {
    width: u32,
    scroll: u32,
    beyond: Vec<String>,
    headings: usize,
    title: String,
    twice: Vec<String>,
    nameless: Vec<String>,
    small: Vec<String>,
    scripts: bool,
}

impl Screen {
    pub async fn open(driver: &Driver, device: Device, scripts: bool, site: &str) -> Self {
        Self { window: driver.open(device, scripts).await, site: site.to_owned() }
    }

    /// Somebody at a window that is there already.
    pub fn over(window: Window, site: &str) -> Self {
        Self { window, site: site.to_owned() }
    }

    /// Types an address of the site.
    pub async fn go(&self, path: &str) {
        self.window.go(&format!("{}{path}", self.site)).await;
        self.arrive().await;
    }

    pub async fn sign_in(&self, email: &str, password: &str) {
        self.fill("Mail address", email).await;
        self.fill("Password", password).await;
        self.press("Sign in").await;
    }

    pub async fn sign_out(&self) {
        self.menu().await;
        self.press("Sign out").await;
    }

    /// Opens the menu where there is not room for all of it.
    pub async fn menu(&self) {
        if self.window.device == Device::Phone {
            self.tap("Menu").await;
        }
    }

    /// Presses what has these words on it and waits for the page it leads to.
    pub async fn press(&self, words: &str) {
        let at = self.place("press", json!([words])).await;
        let _: Value = self.see("mark", json!([])).await;
        self.touch(&at).await;
        self.arrive().await;
    }

    /// Presses what has these words on it; the page stays.
    pub async fn tap(&self, words: &str) {
        let at = self.place("press", json!([words])).await;
        self.touch(&at).await;
    }

    /// Types into the field of this label, over what stood in it.
    pub async fn fill(&self, label: &str, text: &str) {
        let at = self.place("field", json!([label])).await;
        self.write(&at, text).await;
    }

    /// Types into the one field of this kind of an item.
    pub async fn fill_in(&self, legends: &[&str], css: &str, text: &str) {
        let at = self.place("within", json!([legends, css])).await;
        self.write(&at, text).await;
    }

    /// Chooses from a list by the first letters of the choice, as from a keyboard.
    pub async fn choose(&self, label: &str, letters: &str) {
        let there: Value = self.see("focus", json!([label])).await;
        assert_eq!(there, json!({}), "at {}", self.path().await);
        for letter in letters.chars() {
            let key = json!({"type": "char", "text": letter.to_string()});
            self.window.devtools("Input.dispatchKeyEvent", key).await;
        }
        let chosen: String = self.see("chosen", json!([label])).await;
        assert!(chosen.starts_with(letters), "{label} is {chosen:?}, not {letters:?}…");
    }

    /// Chooses the unit of an item's figure, as from a keyboard.
    pub async fn take_unit(&self, legends: &[&str], unit: &str) {
        let there: Value = self.see("focus_within", json!([legends, ".measure select"])).await;
        assert_eq!(there, json!({}), "at {}", self.path().await);
        for letter in unit.chars() {
            let key = json!({"type": "char", "text": letter.to_string()});
            self.window.devtools("Input.dispatchKeyEvent", key).await;
        }
    }

    /// Gives one of the big answers.
    pub async fn answer(&self, legends: &[&str], words: &str) {
        let at = self.place("answer", json!([legends, words])).await;
        self.touch(&at).await;
    }

    pub async fn tick(&self, words: &str) {
        let at = self.place("tick", json!([words])).await;
        self.touch(&at).await;
    }

    pub async fn text(&self) -> String {
        self.see("text", json!([])).await
    }

    pub async fn path(&self) -> String {
        self.see("path", json!([])).await
    }

    /// The items of the check, in the order of the walk.
    pub async fn items(&self) -> Vec<Asked> {
        self.see("items", json!([])).await
    }

    /// Every field of the check that has something in it.
    pub async fn typed(&self) -> Vec<(String, String)> {
        self.see("typed", json!([])).await
    }

    /// Each sentence of the summary of errors, with the legend of the item it leads to.
    pub async fn summary(&self) -> Vec<(String, String)> {
        let links: Vec<Value> = self.see("summary", json!([])).await;
        let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
        links.iter().map(|l| (text(&l["says"]), text(&l["leads_to"]))).collect()
    }

    pub async fn says(&self, words: &str) {
        let text = self.text().await;
        assert!(text.contains(words), "{words:?} is not on {}:\n{text}", self.path().await);
    }

    pub async fn says_not(&self, words: &str) {
        let text = self.text().await;
        assert!(!text.contains(words), "{words:?} is on {}:\n{text}", self.path().await);
    }

    /// Waits until the page says so by itself.
    pub async fn until(&self, words: &str) {
        let by = Instant::now() + PATIENCE;
        while !self.text().await.contains(words) {
            assert!(Instant::now() < by, "{words:?} never came:\n{}", self.text().await);
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
    }

    /// Something only this very page remembers: a page loaded anew has forgotten it.
    pub async fn remember(&self) {
        let _: Value = self.see("mark", json!([])).await;
    }

    pub async fn still_the_same_page(&self) -> bool {
        !self.see::<bool>("arrived", json!([])).await
    }

    /// The page after the last one, whole, and as every page must be.
    async fn arrive(&self) {
        let by = Instant::now() + PATIENCE;
        // While one page goes and the next comes there is nothing to ask.
        while self.asked("arrived", &json!([])).await != Ok(json!(true)) {
            if Instant::now() > by {
                let picture = format!("{}/no-page-came.png", env!("CARGO_TARGET_TMPDIR"));
                std::fs::write(&picture, self.window.picture(false).await).expect("a file");
                panic!("no page came after {}, see {picture}", self.path().await);
            }
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
        let at = self.path().await;
        let state: State = self.see("state", json!([])).await;
        let device = self.window.device;
        assert_eq!(state.width, device.width(), "{at} made the window wider: {:?}", state.beyond);
        assert!(
            state.scroll <= state.width,
            "{at} scrolls sideways: {} px, {:?}",
            state.scroll,
            state.beyond
        );
        assert_eq!(state.headings, 1, "{at} has one h1");
        assert!(state.title.len() > " · Chock".len(), "{at} is named: {:?}", state.title);
        assert!(state.twice.is_empty(), "{at} has ids twice: {:?}", state.twice);
        assert!(state.nameless.is_empty(), "{at} has fields without a name: {:?}", state.nameless);
        assert_eq!(state.scripts, self.window.scripts, "scripts on {at}");
        if device == Device::Phone {
            // WCAG 2.2, 2.5.5 (from memory): a target is at least 44 CSS px.
            assert!(state.small.is_empty(), "{at} has things too small for a glove: {:?}", state.small);
        }
        let complaints = self.window.complaints().await;
        // A form that comes back with a question has a status that the browser writes down.
        let question =
            format!("{}{at} - Failed to load resource: the server responded with a status of 4", self.site);
        // What scripts ask is refused with a sentence as well.
        let asked = ["/api/v1/", "/me/passkeys/", "/sign-in/passkey"].map(|at| format!("{}{at}", self.site));
        let refused = |c: &&String| {
            asked.iter().any(|at| c.starts_with(at)) && c.contains("the server responded with a status of 4")
        };
        let worse: Vec<&String> =
            complaints.iter().filter(|c| !c.starts_with(&question) && !refused(c)).collect();
        assert!(worse.is_empty(), "the browser complains at {at}: {worse:?}");
    }

    async fn place(&self, how: &str, arguments: Value) -> Value {
        let at: Value = self.see(how, arguments.clone()).await;
        if let Some(error) = at["error"].as_str() {
            panic!("{how} {arguments} at {}: {error}", self.path().await);
        }
        at
    }

    async fn touch(&self, at: &Value) {
        for kind in ["mousePressed", "mouseReleased"] {
            let event = json!({"type": kind, "x": at["x"], "y": at["y"], "button": "left", "clickCount": 1});
            self.window.devtools("Input.dispatchMouseEvent", event).await;
        }
    }

    async fn write(&self, at: &Value, text: &str) {
        self.touch(at).await;
        // Ctrl+A, so that what is typed replaces what stood there.
        for kind in ["rawKeyDown", "keyUp"] {
            let mut all = json!({"type": kind, "modifiers": 2, "key": "a", "code": "KeyA", "windowsVirtualKeyCode": 65});
            if kind == "rawKeyDown" {
                all["commands"] = json!(["selectAll"]);
            }
            self.window.devtools("Input.dispatchKeyEvent", all).await;
        }
        self.window.devtools("Input.insertText", json!({"text": text})).await;
    }

    async fn see<T: DeserializeOwned>(&self, what: &str, arguments: Value) -> T {
        let seen = self.asked(what, &arguments).await;
        let seen = seen.unwrap_or_else(|e| panic!("{what} {arguments}: {e}"));
        serde_json::from_value(seen.clone()).unwrap_or_else(|e| panic!("{what} {arguments}: {e}: {seen}"))
    }

    async fn asked(&self, what: &str, arguments: &Value) -> Result<Value, String> {
        let mut all = vec![json!(what)];
        all.extend(arguments.as_array().cloned().unwrap_or_default());
        self.window.run(PAGE, &json!(all)).await
    }
}
