//! Asking a server: signed in for one command, and out again.

use std::net::IpAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use chock::clock::Ambient;
use clap::builder::PossibleValuesParser;
use reqwest::header::{AUTHORIZATION, CONTENT_TYPE, RETRY_AFTER};
use reqwest::redirect::Policy;
use reqwest::{Client, Method, Url};
use rustls::RootCertStore;
use rustls::crypto::ring::default_provider;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;
use serde_json::{Value, json};
use uuid::Uuid;

use super::said::text;

pub enum AskError {
    /// What the server said, and of which members.
    Refused(Vec<String>),
    /// There was no answer that could be understood.
    Failed(String),
    /// What was typed is no address of a server.
    NoAddress(String),
}

pub struct Server {
    client: Client,
    base: String,
    token: String,
    /// Of the sign-in of this command; none where the token was given.
    refresh: Option<String>,
}

const PATIENCE: Duration = Duration::from_secs(60);
/// Of the queue.
const MOST_PAGES: usize = 40;

impl Server {
    /// By CHOCK_TOKEN, or CHOCK_EMAIL and CHOCK_PASSWORD: never by a flag, which every process of the computer can read.
    pub async fn sign_in(url: &str, ca: Option<&Path>) -> Result<Self, AskError> {
        let url = url.trim_end_matches('/');
        if !is_address(url) {
            return Err(AskError::NoAddress(format!("{url} is no address of a server: write https://…")));
        }
        if is_in_clear(url) {
            eprintln!("chock: {url} is not encrypted: whoever is on the way reads your password.");
        }
        let client = client(ca).map_err(AskError::Failed)?;
        let mut server = Self { client, base: format!("{url}/api/v1"), token: String::new(), refresh: None };
        if let Ok(token) = std::env::var("CHOCK_TOKEN") {
            server.token = token;
            return Ok(server);
        }
        let given = |name: &str| {
            std::env::var(name)
                .map_err(|_| AskError::Failed(format!("{name} is not set; see chock remote --help")))
        };
        let mut who = json!({ "email": given("CHOCK_EMAIL")?, "password": given("CHOCK_PASSWORD")? });
        if let Ok(code) = std::env::var("CHOCK_CODE") {
            who["code"] = json!(code);
        }
        let session = server.post("/sessions", who).await?;
        text(&session["access_token"]).clone_into(&mut server.token);
        server.refresh = Some(text(&session["refresh_token"]).to_owned());
        Ok(server)
    }

    /// Best effort: the sign-in ends by itself as well.
    pub async fn sign_out(&self) {
        if let Some(token) = &self.refresh {
            let _ = self.ask(Method::DELETE, "/sessions", Some(json!({ "refresh_token": token }))).await;
        }
    }

    pub async fn get(&self, path: &str) -> Result<Value, AskError> {
        self.ask(Method::GET, path, None).await
    }

    pub async fn post(&self, path: &str, body: Value) -> Result<Value, AskError> {
        self.ask(Method::POST, path, Some(body)).await
    }

    pub async fn put(&self, path: &str, body: Value) -> Result<Value, AskError> {
        self.ask(Method::PUT, path, Some(body)).await
    }

    /// Records something under an id of ours. Where there is no answer nobody knows whether it is kept, so the id is said: sent
    /// again under it, it is recorded once.
    pub async fn put_once(&self, path: &str, id: Uuid, body: Value) -> Result<Value, AskError> {
        self.put(&format!("{path}/{id}"), body).await.map_err(|e| match e {
            AskError::Failed(why) => {
                let again =
                    format!("It may be recorded all the same. To be sure, send it again with --id {id}");
                AskError::Failed(format!("{why}\n{again}"))
            }
            other => other,
        })
    }

    /// By its unit number, however it is typed.
    pub async fn machine(&self, unit: &str) -> Result<Value, AskError> {
        let none = || AskError::Refused(vec![format!("{unit}: no machine of your yards has this number.")]);
        self.found(unit).await?.ok_or_else(none)
    }

    async fn found(&self, unit: &str) -> Result<Option<Value>, AskError> {
        let query = serde_urlencoded::to_string([("unit", unit)]).unwrap_or_default();
        let found = self.get(&format!("/machines?{query}")).await?;
        match found["machines"][0]["id"].as_str() {
            Some(id) => self.get(&format!("/machines/{id}")).await.map(Some),
            None => Ok(None),
        }
    }

    /// By its id, or as the only one of a machine that was placed by hand.
    pub async fn hold_by_hand(&self, named: &str) -> Result<Uuid, AskError> {
        if let Ok(id) = named.parse() {
            return Ok(id);
        }
        let machine = self.machine(named).await?;
        let holds = machine["holds"].as_array().map(Vec::as_slice).unwrap_or_default();
        let by_hand: Vec<&Value> = holds.iter().filter(|h| h["defect"].is_null()).collect();
        match by_hand.as_slice() {
            [one] => text(&one["id"]).parse().map_err(|_| not_understood()),
            [] => Err(AskError::Refused(vec![format!("{named} has no hold that was placed by hand.")])),
            several => {
                let mut said = vec![format!("{named} has several holds; say which by its id:")];
                said.extend(several.iter().map(|h| format!("  {} {}", text(&h["id"]), text(&h["reason"]))));
                Err(AskError::Refused(said))
            }
        }
    }

    pub async fn order(&self, named: &str) -> Result<Value, AskError> {
        let id = self.order_id(named).await?;
        self.get(&format!("/work-orders/{id}")).await
    }

    /// By its id, as the one that is open on a machine, or by its number.
    pub async fn order_id(&self, named: &str) -> Result<Uuid, AskError> {
        if let Ok(id) = named.parse() {
            return Ok(id);
        }
        let Some(machine) = self.found(named).await? else {
            let none = || {
                AskError::Refused(vec![format!(
                    "{named}: no machine and no open work order has this number."
                )])
            };
            return self.numbered(named.parse().map_err(|_| none())?).await?.ok_or_else(none);
        };
        let record = self.get(&format!("/machines/{}/record", text(&machine["id"]))).await?;
        let orders = record["work_orders"].as_array().map(Vec::as_slice).unwrap_or_default();
        let open: Vec<&Value> = orders.iter().filter(|o| o["closed_at"].is_null()).collect();
        match open.as_slice() {
            [one] => text(&one["id"]).parse().map_err(|_| not_understood()),
            [] => Err(AskError::Refused(vec![format!("{named} has no open work order.")])),
            several => {
                let mut said = vec![format!("{named} has several open work orders; say which by its id:")];
                said.extend(
                    several.iter().map(|o| {
                        format!("  {} number {}, {}", text(&o["id"]), o["number"], text(&o["state"]))
                    }),
                );
                Err(AskError::Refused(said))
            }
        }
    }

    /// Among those that are open.
    async fn numbered(&self, number: i64) -> Result<Option<Uuid>, AskError> {
        for page in 1..=MOST_PAGES {
            let queue = self.get(&format!("/work-orders?page={page}")).await?;
            let orders = queue["work_orders"].as_array().map(Vec::as_slice).unwrap_or_default();
            if let Some(order) = orders.iter().find(|o| o["number"] == number) {
                return text(&order["id"]).parse().map(Some).map_err(|_| not_understood());
            }
            if queue["more"] != true {
                break;
            }
        }
        Ok(None)
    }

    async fn ask(&self, method: Method, path: &str, body: Option<Value>) -> Result<Value, AskError> {
        let mut request = self.client.request(method, format!("{}{path}", self.base));
        if !self.token.is_empty() {
            request = request.header(AUTHORIZATION, format!("Bearer {}", self.token));
        }
        if let Some(body) = body {
            request = request.header(CONTENT_TYPE, "application/json").body(body.to_string());
        }
        let failed = |e: reqwest::Error| {
            let place = self.base.trim_end_matches("/api/v1");
            AskError::Failed(format!(
                "No answer from {place}. Does the server run, and is the address right? ({})",
                in_full(&e)
            ))
        };
        let answer = request.send().await.map_err(failed)?;
        let status = answer.status();
        let wait = answer.headers().get(RETRY_AFTER).and_then(|v| v.to_str().ok()).map(str::to_owned);
        let bytes = answer.bytes().await.map_err(failed)?;
        let body = if bytes.is_empty() {
            Value::Null
        } else {
            serde_json::from_slice(&bytes).map_err(|_| not_understood())?
        };
        if status.is_success() {
            return Ok(body);
        }
        let said = sentences(&body, wait.as_deref());
        if status.is_server_error() {
            Err(AskError::Failed(said.join("\n")))
        } else {
            Err(AskError::Refused(said))
        }
    }
}

/// What was refused, and where; each sentence once.
fn sentences(problem: &Value, wait: Option<&str>) -> Vec<String> {
    let whole = text(&problem["detail"]);
    let faults = problem["errors"].as_array().map(Vec::as_slice).unwrap_or_default();
    let mut said = Vec::new();
    if !faults.iter().any(|f| whole.contains(text(&f["detail"]))) {
        said.push(whole.to_owned());
    }
    said.extend(faults.iter().map(|f| format!("{}: {}", text(&f["pointer"]), text(&f["detail"]))));
    said.extend(wait.map(|seconds| format!("Try again in {seconds} seconds.")));
    said
}

/// One of the words of a closed vocabulary, which `--help` then lists.
pub fn words<T: Copy>(all: &[T], word: fn(T) -> &'static str) -> PossibleValuesParser {
    all.iter().map(|w| word(*w)).collect::<Vec<_>>().into()
}

/// With a signature, for a token that was made long ago: empty where none is set.
pub fn password() -> String {
    std::env::var("CHOCK_PASSWORD").unwrap_or_default()
}

/// Of what is recorded from here. Version 7.
pub fn new_id() -> Uuid {
    Ambient::real().id()
}

fn client(ca: Option<&Path>) -> Result<Client, String> {
    let mut roots = RootCertStore { roots: webpki_roots::TLS_SERVER_ROOTS.to_vec() };
    if let Some(file) = ca {
        let named = |e: &dyn std::fmt::Display| format!("{}: {e}", file.display());
        for certificate in CertificateDer::pem_file_iter(file).map_err(|e| named(&e))? {
            roots.add(certificate.map_err(|e| named(&e))?).map_err(|e| named(&e))?;
        }
    }
    let tls = rustls::ClientConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|e| e.to_string())?
        .with_root_certificates(roots)
        .with_no_client_auth();
    Client::builder()
        .tls_backend_preconfigured(tls)
        .timeout(PATIENCE)
        // A password goes to the server that was named, and to no other.
        .redirect(Policy::none())
        .user_agent("chock remote")
        .build()
        .map_err(|e| in_full(&e))
}

fn is_address(url: &str) -> bool {
    Url::parse(url).is_ok_and(|url| matches!(url.scheme(), "http" | "https") && url.has_host())
}

/// Not on this computer, and not by TLS.
fn is_in_clear(url: &str) -> bool {
    let Some(rest) = url.strip_prefix("http://") else { return false };
    let host = rest.split('/').next().unwrap_or_default();
    let host = match host.strip_prefix('[').and_then(|h| h.split_once(']')) {
        Some((host, _)) => host,
        None => host.split(':').next().unwrap_or_default(),
    };
    host != "localhost" && !host.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

fn not_understood() -> AskError {
    AskError::Failed("what answered is no Chock server".to_owned())
}

fn in_full(e: &dyn std::error::Error) -> String {
    let mut said = e.to_string();
    let mut source = e.source();
    while let Some(deeper) = source {
        said = format!("{said}: {deeper}");
        source = deeper.source();
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sentence_is_said_once() {
        let fault = json!({ "pointer": "/reason", "detail": "Give a reason." });
        let one = json!({ "detail": "Give a reason.", "errors": [fault] });
        assert_eq!(sentences(&one, None), ["/reason: Give a reason."]);
        let more = json!({ "detail": "Two answers need your attention.", "errors": [fault, fault] });
        assert_eq!(sentences(&more, None).len(), 3);
        let wait = json!({ "detail": "Too many tries." });
        assert_eq!(sentences(&wait, Some("7")), ["Too many tries.", "Try again in 7 seconds."]);
    }

    #[test]
    fn an_address_has_a_scheme_and_a_host() {
        for url in ["https://yard.example", "http://127.0.0.1:8080"] {
            assert!(is_address(url), "{url}");
        }
        for url in ["yard.example", "ftp://yard.example", "foo", "", "localhost:8080"] {
            assert!(!is_address(url), "{url}");
        }
    }

    #[test]
    fn only_another_computer_by_plain_http_is_in_clear() {
        for url in
            ["https://yard.example", "http://localhost:8080", "http://127.0.0.1:1", "http://[::1]:8080"]
        {
            assert!(!is_in_clear(url), "{url}");
        }
        for url in
            ["http://yard.example", "http://10.0.0.2:8080/", "http://127.0.0.1.example", "http://[fd00::1]"]
        {
            assert!(is_in_clear(url), "{url}");
        }
    }
}
