//! Mail through a real server (aiosmtpd, installed by `tests/run`): TLS both ways, sign-in, refusals. What arrives is
//! read by Python's email package, so Chock's own idea of a message is not asked.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use chock::domain::alert::{Alert, Because, Event};
use chock::domain::ids::{AlertId, MachineId, PersonId};
use chock::notify::{Mail, MailConfig, Mailer as _, Smtp, compose};
use chock::words::Text;
use chrono::{DateTime, Utc};
use serde_json::Value;
use uuid::Uuid;

const USER: &str = "chock";
const PASSWORD: &str = "a wedge under each wheel";

#[tokio::test]
async fn starttls_with_sign_in_delivers_a_mail_another_parser_finds_sound() {
    let mut server = MailServer::start("starttls", Some((USER, PASSWORD)));
    let mail = mail_to("ama@example.org");
    let answer = server.smtp("smtp+starttls").send(&mail).await.unwrap();
    assert_eq!(answer, "250 2.0.0 kept as 7F3A");

    let got = server.next();
    assert_eq!(got["tls"], true);
    assert_eq!(got["user"], USER);
    assert_eq!(got["envelope_from"], "chock@example.org");
    assert_eq!(got["envelope_to"], serde_json::json!(["ama@example.org"]));
    assert_eq!(got["from"], serde_json::json!(["chock@example.org"]));
    assert_eq!(got["to"], serde_json::json!([["Ama Øsei, yard 2", "ama@example.org"]]));
    assert_eq!(field(&got, "Subject"), mail.subject);
    assert_eq!(field(&got, "Message-ID"), "<00000000-0000-0000-0000-000000000011@chock.example.org>");
    assert_eq!(field(&got, "Auto-Submitted"), "auto-generated");
    assert_eq!(got["date"], "2026-11-25T14:05:00+00:00");
    assert_eq!(
        got["parts"],
        serde_json::json!(["text/plain", "text/html"]),
        "plainest first: RFC 2046, 5.1.4"
    );
    for (part, sent) in [("text", &mail.text), ("html", &mail.html)] {
        // Lines end in CRLF on the way (RFC 5321, 2.3.8); nothing else may differ.
        assert_eq!(got[part].as_str().unwrap().replace("\r\n", "\n").trim_end(), sent.trim_end(), "{part}");
    }
    assert!(
        mail.text.contains("\n.") && mail.text.contains('°'),
        "the mail tries what is easily lost on the way"
    );
    assert_eq!(got["defects"], serde_json::json!([]));
    assert_eq!(got["bare_line_breaks"], 0);
    assert!(got["longest_line"].as_u64().unwrap() <= 78, "RFC 5322, 2.1.1: {}", got["longest_line"]);
}

#[tokio::test]
async fn tls_from_the_first_byte_delivers() {
    let mut server = MailServer::start("tls", Some((USER, PASSWORD)));
    server.smtp("smtps").send(&mail_to("ama@example.org")).await.unwrap();
    assert_eq!(server.next()["user"], USER);
}

#[tokio::test]
async fn in_clear_only_when_the_address_says_so() {
    let mut server = MailServer::start("clear", None);
    let mail = mail_to("ama@example.org");
    let hidden = server.smtp("smtp+starttls").send(&mail).await.unwrap_err();
    assert!(!hidden.permanent && hidden.answer.contains("STARTTLS"), "{hidden}");
    let mute = server.smtp("smtps").send(&mail).await.unwrap_err();
    assert!(!mute.permanent, "{mute}");
    server.smtp("smtp").send(&mail).await.unwrap();
    // The first thing that arrived is the one sent in clear on purpose: neither of the others got through.
    let got = server.next();
    assert_eq!(got["tls"], false);
    server.is_empty();
}

#[tokio::test]
async fn a_server_nobody_vouches_for_gets_nothing() {
    let mut server = MailServer::start("starttls", Some((USER, PASSWORD)));
    let config = MailConfig { root_certificate: None, ..server.config("smtp+starttls") };
    let error = Smtp::new(&config).unwrap().send(&mail_to("ama@example.org")).await.unwrap_err();
    assert!(!error.permanent && error.answer.to_lowercase().contains("certificate"), "{error}");
    // Neither does one whose certificate is sound but for another name.
    let config = server.config("smtp+starttls");
    let config = MailConfig { url: config.url.replace("localhost", "127.0.0.1"), ..config };
    let error = Smtp::new(&config).unwrap().send(&mail_to("ama@example.org")).await.unwrap_err();
    assert!(!error.permanent && error.answer.to_lowercase().contains("certificate"), "{error}");
    server.is_empty();
}

#[tokio::test]
async fn try_later_and_never_are_told_apart() {
    let mut server = MailServer::start("clear", None);
    let smtp = server.smtp("smtp");
    // RFC 5321, 4.2.1: 4yz transient, 5yz permanent.
    for (to, permanent, answer) in [
        ("busy@example.org", false, "451 4.3.0 the mailbox is being moved, try later"),
        ("nobody@example.org", true, "550 5.1.1 there is nobody of that name"),
        ("toobig@example.org", true, "552 5.3.4 too big for this mailbox"),
    ] {
        let error = smtp.send(&mail_to(to)).await.unwrap_err();
        assert_eq!((error.permanent, error.answer.as_str()), (permanent, answer), "{to}");
    }
    smtp.send(&mail_to("ama@example.org")).await.expect("one refusal does not spoil the next mail");
    // The first to arrive: nothing refused was kept.
    assert_eq!(server.next()["envelope_to"], serde_json::json!(["ama@example.org"]));
}

#[tokio::test]
async fn a_refused_sign_in_does_not_lose_the_mail() {
    let mut server = MailServer::start("starttls", Some((USER, PASSWORD)));
    let config = MailConfig { password: Some("wrong".to_owned()), ..server.config("smtp+starttls") };
    let error = Smtp::new(&config).unwrap().send(&mail_to("ama@example.org")).await.unwrap_err();
    // RFC 4954, 6: 535 is the answer to wrong credentials. A 5yz, yet nothing about this mail.
    assert!(!error.permanent && error.answer.contains("535"), "{error}");
    assert!(!error.answer.contains("wrong") && !error.answer.contains(PASSWORD), "{error}");
    let config = MailConfig { user: None, password: None, ..server.config("smtp+starttls") };
    let error = Smtp::new(&config).unwrap().send(&mail_to("ama@example.org")).await.unwrap_err();
    assert!(error.answer.contains("530"), "RFC 4954, 6: authentication required: {error}");
    assert!(!error.permanent, "{error}");
    server.is_empty();
}

#[tokio::test]
async fn a_server_that_falls_silent_is_left_in_time() {
    let mut server = MailServer::start("clear", None);
    let config = MailConfig { timeout: Duration::from_millis(700), ..server.config("smtp") };
    let started = Instant::now();
    let error = Smtp::new(&config).unwrap().send(&mail_to("silent@example.org")).await.unwrap_err();
    assert!(!error.permanent && error.answer.contains("no answer"), "{error}");
    assert!(started.elapsed() >= Duration::from_millis(700), "left before its time");
    server.is_empty();
}

#[tokio::test]
async fn a_server_that_is_down_is_tried_again_later() {
    let config = {
        let server = MailServer::start("clear", None);
        server.config("smtp")
    };
    let error = Smtp::new(&config).unwrap().send(&mail_to("ama@example.org")).await.unwrap_err();
    assert!(!error.permanent && error.answer.starts_with("connecting to"), "{error}");
}

fn mail_to(address: &str) -> Mail {
    let alert = Alert {
        machine: Some(MachineId(Uuid::from_u128(0xaa))),
        unit_number: "U-07".to_owned(),
        yard_name: "Fenside".to_owned(),
        at: "2026-11-25T14:05:00Z".parse::<DateTime<Utc>>().unwrap(),
        zone: chrono_tz::Europe::London,
        by: "Rowan Pike".to_owned(),
        by_id: PersonId(Uuid::from_u128(3)),
        event: Event::MachineHeld {
            why: vec![Because::new(
                &Text::typed(
                    "Coolant: 97 °C, at most 95 °C, and a hose that sweats where it enters the radiator",
                ),
                &Text::default(),
            )],
            // A line that begins with a dot, which SMTP doubles on the way (RFC 5321, 4.5.2).
            instruction: Text::typed(
                ". Leave it where it is. Let it cool for an hour before you open the cap, and tell the workshop.",
            ),
            work_order: None,
            recorded_at: None,
        },
    };
    compose(
        &alert,
        AlertId(Uuid::from_u128(0x11)),
        "Ama Øsei, yard 2",
        address,
        "https://chock.example.org",
        "chock.example.org",
        None,
    )
    .unwrap()
}

fn field<'a>(got: &'a Value, name: &str) -> &'a str {
    let mut values = got["fields"].as_array().unwrap().iter().filter(|field| field[0] == name);
    let value = values.next().unwrap_or_else(|| panic!("no {name} in {got}"));
    assert!(values.next().is_none(), "{name} comes twice");
    value[1].as_str().unwrap()
}

struct MailServer {
    child: Child,
    lines: BufReader<ChildStdout>,
    port: u16,
    credentials: Option<(&'static str, &'static str)>,
}

impl MailServer {
    fn start(security: &str, credentials: Option<(&'static str, &'static str)>) -> Self {
        let python = python();
        let mut command = Command::new(&python);
        command.arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/smtp_server.py"));
        command.args(["--security", security]);
        let papers = papers();
        command
            .arg("--certificate")
            .arg(papers.join("server.pem"))
            .arg("--key")
            .arg(papers.join("server.key"));
        if let Some((user, password)) = credentials {
            command.args(["--user", user, "--password", password]);
        }
        let mut child =
            command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap_or_else(|error| {
                panic!("{}: {error}; run tests/run, which sets it up", python.display())
            });
        let lines = BufReader::new(child.stdout.take().unwrap());
        let mut server = Self { child, lines, port: 0, credentials };
        server.port = server.next()["port"].as_u64().unwrap().try_into().unwrap();
        server
    }

    fn config(&self, scheme: &str) -> MailConfig {
        MailConfig {
            url: format!("{scheme}://localhost:{}", self.port),
            from: "Chock <chock@example.org>".to_owned(),
            user: self.credentials.map(|c| c.0.to_owned()),
            password: self.credentials.map(|c| c.1.to_owned()),
            timeout: Duration::from_secs(20),
            root_certificate: Some(papers().join("root.pem")),
        }
    }

    fn smtp(&self, scheme: &str) -> Smtp {
        Smtp::new(&self.config(scheme)).unwrap()
    }

    /// The next thing the server has to say; it says a mail before it accepts it, so there is nothing to wait for.
    fn next(&mut self) -> Value {
        let mut line = String::new();
        self.lines.read_line(&mut line).unwrap();
        serde_json::from_str(&line).unwrap_or_else(|_| panic!("the mail server ended early, saying {line:?}"))
    }

    /// Nothing more arrived. Ends the server, and with it its output.
    fn is_empty(&mut self) {
        let _ = self.child.kill();
        let mut rest = String::new();
        self.lines.read_line(&mut rest).unwrap();
        assert_eq!(rest, "", "a mail arrived that should not have");
    }
}

impl Drop for MailServer {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The Python that has aiosmtpd: made by `tests/run`.
pub fn python() -> PathBuf {
    std::env::var_os("CHOCK_TEST_PYTHON").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("target/test-python/bin/python"),
        PathBuf::from,
    )
}

/// A root of our own and a server certificate for localhost under it, made afresh for each run.
pub fn papers() -> &'static Path {
    static PAPERS: OnceLock<PathBuf> = OnceLock::new();
    PAPERS.get_or_init(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("papers-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let curve = "-newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2";
        openssl(
            &folder,
            &format!(
                "req -x509 {curve} -keyout root.key -out root.pem -subj /CN=test-root \
                 -addext basicConstraints=critical,CA:TRUE -addext keyUsage=critical,keyCertSign"
            ),
        );
        openssl(
            &folder,
            &format!(
                "req -x509 {curve} -keyout server.key -out server.pem -subj /CN=localhost -CA root.pem -CAkey root.key \
                 -addext basicConstraints=critical,CA:FALSE -addext subjectAltName=DNS:localhost"
            ),
        );
        folder
    })
}

fn openssl(folder: &Path, arguments: &str) {
    let done = Command::new("openssl")
        .args(arguments.split_whitespace())
        .current_dir(folder)
        .output()
        .expect("the openssl command; tests/run says how to get it");
    assert!(done.status.success(), "openssl {arguments}: {}", String::from_utf8_lossy(&done.stderr));
}
