//! What whoever runs a server sees of it: what its log says and keeps to itself, its metrics, whether it is ready, and TLS of
//! its own.

use std::fs::File;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::sync::Arc;

use actix_web::test::{TestRequest, call_service, init_service, read_body};
use actix_web::{App, web};
use chock::http::{Operation, Site, routes};
use serde_json::Value;

use crate::mail::{papers, python};
use crate::support::browser::Browser;
use crate::support::process::{Served, chock_on};
use crate::support::{Bench, Engine, PASSWORD};

const TOKEN: &str = "for the one who watches";

/// Every line is a JSON object; a request is found by the id that its answer carried, with the route and not the address.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_log_and_the_metrics_tell_of_requests_and_of_no_secret() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    crate::support::has_password(&b.workshop, b.operator.id).await;
    b.ground(b.machine).await;
    let log = b.folder.path().join("log");
    let mut serve = chock_on(&b, &["serve", "--proxies", "127.0.0.1"]);
    serve.env("CHOCK_METRICS_TOKEN", TOKEN).env("CHOCK_LOG_FORMAT", "json").env("CHOCK_LOG", "debug");
    let served = Served::start_logging(serve, Stdio::from(File::create(&log).unwrap()));
    let client = crate::support::client().build().unwrap();

    let welcome = "not-a-link-but-as-long-as-one-and-secret";
    let asked = client.get(format!("{}/welcome/{welcome}", served.base));
    let asked = asked.header("x-forwarded-for", "198.51.100.7").header("x-request-id", "front-1");
    let answer = asked.send().await.unwrap();
    assert_eq!(answer.headers()["x-request-id"], "front-1");
    let token = served.token(&client, "otto@yard.example").await;
    let machines = client.get(format!("{}/api/v1/machines", served.base)).bearer_auth(&token);
    let machines = machines.send().await.unwrap();
    assert_eq!(machines.status(), 200);
    let own_id = machines.headers()["x-request-id"].to_str().unwrap().to_owned();

    let metrics = format!("{}/metrics", served.base);
    assert_eq!(client.get(&metrics).send().await.unwrap().status(), 401);
    assert_eq!(client.get(&metrics).bearer_auth("for another").send().await.unwrap().status(), 401);
    let told = client.get(&metrics).bearer_auth(TOKEN).send().await.unwrap();
    assert!(told.headers()["content-type"].to_str().unwrap().starts_with("application/openmetrics-text"));
    let told = told.text().await.unwrap();
    let samples = samples(&told);
    let sample = |name: &str, labels: &[&str]| {
        let fits = |s: &&Value| {
            let (said, with) = (s[0].as_str().unwrap(), s[1].to_string());
            said == name && labels.iter().all(|l| with.contains(l))
        };
        let found: Vec<_> = samples.iter().filter(fits).collect();
        assert_eq!(found.len(), 1, "{name} {labels:?} in {told}");
        found[0][2].as_f64().unwrap()
    };
    assert_eq!(sample("chock_requests_total", &["/welcome/{secret}", "GET"]), 1.0);
    assert_eq!(sample("chock_requests_total", &["/metrics", "401"]), 2.0);
    assert_eq!(sample("chock_request_seconds_count", &["\"/api/v1/machines\""]), 1.0);
    assert_eq!((sample("chock_open_holds", &[]), sample("chock_open_work_orders", &[])), (1.0, 1.0));
    assert!(!told.contains(welcome) && !told.contains("otto"), "{told}");
    assert_eq!(served.stop().0, 0);

    let log = std::fs::read_to_string(&log).unwrap();
    let lines: Vec<Value> = log.lines().map(|l| serde_json::from_str(l).expect(l)).collect();
    let of = |id: &str| lines.iter().find(|l| l["span"]["id"] == id && l["message"] == "answered");
    let line = of("front-1").unwrap_or_else(|| panic!("{log}"));
    assert_eq!(line["span"]["route"], "/welcome/{secret}");
    assert_eq!(line["address"], "198.51.100.7");
    assert!(line["ms"].as_f64().is_some_and(|ms| ms > 0.0), "{line}");
    assert_eq!(of(&own_id).unwrap_or_else(|| panic!("{log}"))["status"], 200);
    for secret in [welcome, PASSWORD, TOKEN, &*token] {
        assert!(!log.contains(secret), "{secret} is in the log");
    }
}

/// As the Python library of the same project reads OpenMetrics: name, labels, value.
fn samples(told: &str) -> Vec<Value> {
    let script = "import sys, json\n\
        from prometheus_client.openmetrics.parser import text_string_to_metric_families as read\n\
        print(json.dumps([[s.name, s.labels, s.value] for f in read(sys.stdin.read()) for s in f.samples]))";
    let mut reader = Command::new(python())
        .args(["-c", script])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the tests' Python; tests/run makes it");
    reader.stdin.take().unwrap().write_all(told.as_bytes()).unwrap();
    let read = reader.wait_with_output().unwrap();
    assert!(read.status.success(), "not OpenMetrics: {told}");
    serde_json::from_slice(&read.stdout).unwrap()
}

/// Without a proxy: a certificate of one's own, checked by a client that knows its root, and nothing in the clear.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_speaks_tls_with_a_certificate_of_its_own() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    let papers = papers();
    let mut serve = chock_on(&b, &["serve"]);
    serve.arg("--tls-certificate").arg(papers.join("server.pem"));
    serve.arg("--tls-key").arg(papers.join("server.key"));
    let served = Served::start(serve);
    let port = served.base.strip_prefix("https://127.0.0.1:").expect(&served.base);
    let root = reqwest::Certificate::from_pem(&std::fs::read(papers.join("root.pem")).unwrap()).unwrap();
    let client = crate::support::client().tls_certs_only([root]).build().unwrap();
    let answer =
        client.get(format!("https://localhost:{port}/sign-in")).send().await.expect("a trusted server");
    assert_eq!(answer.status(), 200);
    assert_eq!(answer.headers()["strict-transport-security"], "max-age=31536000");
    let stranger = crate::support::client().build().unwrap().get(format!("https://localhost:{port}/sign-in"));
    assert!(stranger.send().await.is_err(), "a certificate that nobody vouches for");
    let in_the_clear = client.get(format!("http://localhost:{port}/sign-in")).send().await;
    assert!(in_the_clear.is_err(), "{in_the_clear:?}");
    assert_eq!(served.stop().0, 0);

    let mut mismatched = chock_on(&b, &["serve"]);
    mismatched.arg("--tls-certificate").arg(papers.join("server.pem"));
    mismatched.arg("--tls-key").arg(papers.join("root.key"));
    let (code, said) = crate::support::process::run(mismatched);
    assert!(code == 1 && said.contains("server.pem"), "{code}: {said}");
}

/// Ready with a database that takes changes and a folder that can be written; not without either.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_that_could_keep_no_change_is_not_ready() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    let somebody = Browser::of(&b.workshop, &b.operator).await;
    let asked = async |data: &std::path::Path| {
        let operation = Arc::new(Operation { data: data.to_owned(), ..Operation::default() });
        let site = web::Data::new(Site { operation, ..Site::clone(&somebody.site) });
        let app = init_service(App::new().app_data(site).configure(routes::configure)).await;
        let answer = call_service(&app, TestRequest::get().uri("/readyz").to_request()).await;
        let (status, later) = (answer.status(), answer.headers().contains_key("retry-after"));
        (status.as_u16(), later, String::from_utf8(read_body(answer).await.to_vec()).unwrap())
    };
    let (status, _, said) = asked(b.folder.path()).await;
    assert_eq!(status, 200, "{said}");
    assert!(said.contains("database: takes changes") && said.contains("migrations: all taken"), "{said}");
    let (status, later, said) = asked(&b.folder.path().join("gone")).await;
    assert!(status == 503 && later && said.contains("disk: NOT WELL"), "{status} {later} {said}");
    b.workshop.db.close().await;
    let (status, later, said) = asked(b.folder.path()).await;
    assert!(status == 503 && later && said.contains("database: NOT WELL"), "{status} {later} {said}");
}
