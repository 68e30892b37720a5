//! A browser and the program that drives it, spoken to in W3C WebDriver and, through it, in the DevTools protocol.
//!
//! With scripts off in the page, the driver's own click and send-keys never answer: they wait for promises of the page.
//! So fingers and keys go through `Input.*` of the DevTools protocol, with scripts on and off alike.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

use base64::Engine;
use chrono::{DateTime, Utc};
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio::sync::{Mutex, MutexGuard};

/// One driver at a time: two browsers on a small computer only make each other late.
static TURN: Mutex<()> = Mutex::const_new(());

pub struct Driver {
    process: Child,
    port: u16,
    http: reqwest::Client,
    profiles: TempDir,
    /// Kept open: whoever writes to a closed pipe is ended.
    _said: BufReader<ChildStdout>,
    _turn: MutexGuard<'static, ()>,
}

/// What somebody holds or sits before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Device {
    /// 360 px wide, touched.
    Phone,
    /// 1280 px wide.
    Desk,
}

impl Device {
    pub const fn width(self) -> u32 {
        match self {
            Device::Phone => 360,
            Device::Desk => 1280,
        }
    }

    const fn height(self) -> u32 {
        match self {
            Device::Phone => 740,
            Device::Desk => 860,
        }
    }
}

/// One window in a browser of its own: fresh profile, own cookies.
pub struct Window {
    pub device: Device,
    pub scripts: bool,
    session: String,
    profile: PathBuf,
    /// Of the browser, where the driver says it.
    pid: Option<u64>,
    http: reqwest::Client,
}

impl Driver {
    pub async fn start() -> Self {
        let turn = TURN.lock().await;
        let mut process = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            // A Ctrl-C at the test must not reach it before its browsers are closed.
            .process_group(0)
            .spawn()
            .expect("chromedriver is here: tests/run --set-up installs it");
        let mut said = BufReader::new(process.stdout.take().expect("it is piped"));
        let port = (&mut said)
            .lines()
            .map_while(Result::ok)
            .find_map(|line| line.split(" successfully on port ").nth(1)?.trim_end_matches('.').parse().ok())
            .expect("chromedriver says its port");
        let http = crate::support::client().timeout(Duration::from_secs(120)).build().expect("a client");
        Self {
            process,
            port,
            http,
            profiles: tempfile::tempdir().expect("a folder"),
            _said: said,
            _turn: turn,
        }
    }

    pub async fn open(&self, device: Device, scripts: bool) -> Window {
        let profile = tempfile::tempdir_in(self.profiles.path()).expect("a folder").keep();
        self.open_as(device, scripts, profile).await
    }

    /// The same browser again after it was ended: what it had kept is still there.
    pub async fn open_again(&self, ended: Window) -> Window {
        let (device, scripts, profile) = (ended.device, ended.scripts, ended.profile.clone());
        ended.close().await;
        self.open_as(device, scripts, profile).await
    }

    async fn open_as(&self, device: Device, scripts: bool, profile: PathBuf) -> Window {
        let args = [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--lang=en-GB",
            // A page that is still gliding moves away from under the finger.
            "--force-prefers-reduced-motion",
            &format!("--user-data-dir={}", profile.display()),
        ];
        let phone = device == Device::Phone;
        let metrics = json!({
            "width": device.width(), "height": device.height(), "pixelRatio": 1, "touch": phone, "mobile": phone,
        });
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome",
            "goog:loggingPrefs": {"browser": "ALL"},
            "goog:chromeOptions": {
                "args": args,
                "prefs": {"profile.managed_default_content_settings.javascript": if scripts { 1 } else { 2 }},
                "mobileEmulation": {"deviceMetrics": metrics},
            },
        }}});
        let server = format!("http://127.0.0.1:{}/session", self.port);
        let session = send(&self.http, reqwest::Method::POST, &server, Some(&wanted)).await;
        let session = session.unwrap_or_else(|e| panic!("no browser: {e}"));
        let id = session["sessionId"].as_str().expect("a session has an id");
        let pid = session["capabilities"]["goog:processID"].as_u64();
        let session = format!("{server}/{id}");
        Window { device, scripts, session, profile, pid, http: self.http.clone() }
    }
}

impl Drop for Driver {
    /// Also after a failure no browser stays behind: the driver closes its own when asked to end.
    fn drop(&mut self) {
        if let Ok(mut line) = TcpStream::connect(("127.0.0.1", self.port)) {
            let _ = line.set_read_timeout(Some(Duration::from_secs(20)));
            let asked = format!(
                "GET /shutdown HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n",
                self.port
            );
            let _ = line.write_all(asked.as_bytes());
            let _ = line.read_to_end(&mut Vec::new());
        }
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl Window {
    pub async fn go(&self, url: &str) {
        let to = json!({"url": url});
        self.command("url", &to).await.unwrap_or_else(|e| panic!("{url}: {e}"));
    }

    /// Runs a script with its `arguments`; an error while a page is being left is ordinary.
    pub async fn run(&self, script: &str, arguments: &Value) -> Result<Value, String> {
        self.command("execute/sync", &json!({"script": script, "args": arguments})).await
    }

    /// One command of the DevTools protocol.
    pub async fn devtools(&self, command: &str, params: Value) -> Value {
        let answer = self.command("goog/cdp/execute", &json!({"cmd": command, "params": params})).await;
        answer.unwrap_or_else(|e| panic!("{command}: {e}"))
    }

    /// Gives the browser an authenticator of its own, as a phone has one, whose owner is there and proves it.
    pub async fn authenticator(&self) -> String {
        let wanted = json!({
            "protocol": "ctap2", "transport": "internal", "hasResidentKey": true,
            "hasUserVerification": true, "isUserConsenting": true, "isUserVerified": true,
        });
        let id = self.command("webauthn/authenticator", &wanted).await;
        id.unwrap_or_else(|e| panic!("no authenticator: {e}")).as_str().expect("an id").to_owned()
    }

    /// Whether whoever holds it can prove to be its owner.
    pub async fn verifies(&self, authenticator: &str, owner: bool) {
        let path = format!("webauthn/authenticator/{authenticator}/uv");
        self.command(&path, &json!({"isUserVerified": owner})).await.unwrap_or_else(|e| panic!("{e}"));
    }

    /// The page on paper, with the sizes its style asks for and as a browser prints unless told otherwise.
    pub async fn printed(&self) -> Vec<u8> {
        let printed = self.devtools("Page.printToPDF", json!({"preferCSSPageSize": true})).await;
        decoded(&printed["data"])
    }

    /// The page on a sheet of this many inches, as from a printer that has no other.
    pub async fn printed_on(&self, [width, height]: [f64; 2]) -> Vec<u8> {
        let paper = json!({"paperWidth": width, "paperHeight": height});
        decoded(&self.devtools("Page.printToPDF", paper).await["data"])
    }

    /// A PNG of the window, or of the whole page down to its end.
    pub async fn picture(&self, whole: bool) -> Vec<u8> {
        let mut params = json!({"format": "png", "captureBeyondViewport": whole});
        if whole {
            let size = self.devtools("Page.getLayoutMetrics", json!({})).await["cssContentSize"].clone();
            params["clip"] =
                json!({"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1});
        }
        decoded(&self.devtools("Page.captureScreenshot", params).await["data"])
    }

    /// From the next page on it is this moment for the page's scripts, and no scroll bar shows: for pictures that stay the
    /// same.
    pub async fn stop_the_clock(&self, at: DateTime<Utc>) {
        let source = format!(
            "globalThis.Date = class extends Date {{ constructor(...a) {{ if (a.length) super(...a); else super({0}); }} \
             static now() {{ return {0}; }} }};",
            at.timestamp_millis()
        );
        self.devtools("Page.addScriptToEvaluateOnNewDocument", json!({"source": source})).await;
        self.devtools("Emulation.setTimezoneOverride", json!({"timezoneId": "Europe/London"})).await;
        self.devtools("Emulation.setScrollbarsHidden", json!({"hidden": true})).await;
    }

    /// What the browser has complained of since it was asked last.
    pub async fn complaints(&self) -> Vec<String> {
        let log = self.command("se/log", &json!({"type": "browser"})).await;
        let log = log.unwrap_or_else(|e| panic!("no log: {e}"));
        let entries = log.as_array().cloned().unwrap_or_default();
        let serious = entries.iter().filter(|e| e["level"] == "SEVERE" || e["source"] == "security");
        serious.map(|e| e["message"].as_str().unwrap_or_default().to_owned()).collect()
    }

    /// As when the battery is gone: nothing is put in order first.
    pub fn kill(&self) {
        let pid = self.pid.expect("the driver says the browser's process");
        let killed = Command::new("kill").args(["-9", &pid.to_string()]).status();
        assert!(killed.is_ok_and(|s| s.success()), "the browser {pid} could not be ended");
    }

    pub async fn close(self) {
        let _ = send(&self.http, reqwest::Method::DELETE, &self.session, None).await;
    }

    async fn command(&self, path: &str, body: &Value) -> Result<Value, String> {
        send(&self.http, reqwest::Method::POST, &format!("{}/{path}", self.session), Some(body)).await
    }
}

async fn send(
    http: &reqwest::Client,
    method: reqwest::Method,
    url: &str,
    body: Option<&Value>,
) -> Result<Value, String> {
    let mut request = http.request(method, url);
    if let Some(body) = body {
        request = request.json(body);
    }
    let answer = request.send().await.map_err(|e| e.to_string())?;
    let fine = answer.status().is_success();
    let mut answer: Value = answer.json().await.map_err(|e| e.to_string())?;
    let value = answer["value"].take();
    if fine { Ok(value) } else { Err(value["message"].as_str().unwrap_or("no reason given").to_owned()) }
}

fn decoded(data: &Value) -> Vec<u8> {
    let text = data.as_str().expect("base64");
    base64::engine::general_purpose::STANDARD.decode(text).expect("base64")
}
