//! A bucket for tests: as much of S3 as keeping and reading an object needs, with the signature of every request checked.
//! It can be told to fail and to hang.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use actix_web::dev::ServerHandle;
use actix_web::http::Method;
use actix_web::web::{Bytes, Data};
use actix_web::{App, HttpRequest, HttpResponse, HttpServer, web};
use chock::config::Photos;
use chrono::{NaiveDateTime, TimeDelta, Utc};
use sha2::{Digest, Sha256};

pub const KEY: &str = "yard-key";
pub const SECRET: &str = "under the third stone";
pub const REGION: &str = "fen-1";
pub const NAME: &str = "ternfield";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mood {
    Well,
    /// Answers 500 to everything.
    Ill,
    /// Takes the request and never answers.
    Silent,
}

#[derive(Default)]
struct Inside {
    objects: HashMap<String, Bytes>,
    mood: Option<Mood>,
    asked: usize,
    /// Why requests were turned away.
    refused: Vec<String>,
}

pub struct Bucket {
    pub url: String,
    inside: Arc<Mutex<Inside>>,
    server: ServerHandle,
}

impl Bucket {
    pub fn start() -> Self {
        let inside = Arc::new(Mutex::new(Inside::default()));
        let data = Data::new(inside.clone());
        let server = HttpServer::new(move || {
            App::new()
                .app_data(data.clone())
                .app_data(web::PayloadConfig::new(4 << 20))
                .default_service(web::to(answer))
        })
        .workers(1)
        .disable_signals()
        .bind("127.0.0.1:0")
        .expect("a port");
        let url = format!("http://{}", server.addrs()[0]);
        let running = server.run();
        let handle = running.handle();
        tokio::spawn(running);
        Self { url, inside, server: handle }
    }

    pub fn settings(&self) -> Photos {
        Photos {
            bucket: NAME.to_owned(),
            prefix: "chock/photos".to_owned(),
            endpoint: Some(self.url.clone()),
            region: REGION.to_owned(),
            key: KEY.to_owned(),
            secret: SECRET.to_owned(),
            root: None,
        }
    }

    pub fn be(&self, mood: Mood) {
        self.inside.lock().unwrap().mood = Some(mood);
    }

    pub fn asked(&self) -> usize {
        self.inside.lock().unwrap().asked
    }

    pub fn refused(&self) -> Vec<String> {
        self.inside.lock().unwrap().refused.clone()
    }

    /// Names in the bucket and what is under them.
    pub fn objects(&self) -> Vec<(String, Bytes)> {
        let inside = self.inside.lock().unwrap();
        inside.objects.iter().map(|(name, bytes)| (name.clone(), bytes.clone())).collect()
    }

    pub fn put(&self, name: &str, bytes: &'static [u8]) {
        self.inside.lock().unwrap().objects.insert(name.to_owned(), Bytes::from_static(bytes));
    }

    pub async fn stop(self) {
        self.server.stop(false).await;
    }
}

async fn answer(req: HttpRequest, body: Bytes, inside: Data<Arc<Mutex<Inside>>>) -> HttpResponse {
    let mood = {
        let mut inside = inside.lock().unwrap();
        inside.asked += 1;
        inside.mood.unwrap_or(Mood::Well)
    };
    match mood {
        Mood::Well => {}
        Mood::Ill => return HttpResponse::InternalServerError().finish(),
        Mood::Silent => {
            tokio::time::sleep(Duration::from_secs(600)).await;
            return HttpResponse::InternalServerError().finish();
        }
    }
    let mut inside = inside.lock().unwrap();
    if let Err(why) = is_signed(&req, &body) {
        inside.refused.push(why);
        return HttpResponse::Forbidden().finish();
    }
    let Some(name) = req.path().strip_prefix(&format!("/{NAME}/")).map(str::to_owned) else {
        return HttpResponse::NotFound().finish();
    };
    match *req.method() {
        Method::PUT => {
            inside.objects.insert(name, body);
            HttpResponse::Ok().insert_header(("etag", "\"1\"")).finish()
        }
        Method::GET => match inside.objects.get(&name) {
            Some(bytes) => HttpResponse::Ok()
                .insert_header(("etag", "\"1\""))
                .insert_header(("last-modified", "Wed, 25 Nov 2026 06:00:00 GMT"))
                .body(bytes.clone()),
            None => HttpResponse::NotFound().finish(),
        },
        _ => HttpResponse::MethodNotAllowed().finish(),
    }
}

/// By what the published algorithm says a server checks: the body is the one that was signed, the time is now, and the
/// signature is what the secret gives.
fn is_signed(req: &HttpRequest, body: &[u8]) -> Result<(), String> {
    let header = |name: &str| {
        let value = req.headers().get(name).ok_or_else(|| format!("no {name}"))?;
        value.to_str().map(str::to_owned).map_err(|e| e.to_string())
    };
    if header("x-amz-content-sha256")? != hex(&Sha256::digest(body)) {
        return Err("the body is not the one that was signed".to_owned());
    }
    let date = header("x-amz-date")?;
    let at = NaiveDateTime::parse_from_str(&date, "%Y%m%dT%H%M%SZ").map_err(|e| e.to_string())?.and_utc();
    // The real clock: it is the client's own, not that of the test.
    #[expect(clippy::disallowed_methods, reason = "the client of the store signs by the real clock")]
    let now = Utc::now();
    if (now - at).abs() > TimeDelta::minutes(15) {
        return Err(format!("signed at {date}"));
    }
    let authorization = header("authorization")?;
    let part = |name: &str| {
        let (_, rest) = authorization.split_once(&format!("{name}=")).ok_or(format!("no {name}"))?;
        Ok::<_, String>(rest.split(',').next().unwrap_or_default().trim().to_owned())
    };
    let scope = format!("{}/{REGION}/s3/aws4_request", &date[..8]);
    if part("Credential")? != format!("{KEY}/{scope}") {
        return Err(format!("not our key: {authorization}"));
    }
    let names = part("SignedHeaders")?;
    for needed in ["host", "x-amz-content-sha256", "x-amz-date"] {
        if !names.split(';').any(|n| n == needed) {
            return Err(format!("{needed} is not signed"));
        }
    }
    let headers: Vec<(String, String)> =
        names.split(';').map(|n| Ok((n.to_owned(), header(n)?))).collect::<Result<_, String>>()?;
    let signature = signature(
        req.method().as_str(),
        req.uri().path(),
        req.uri().query().unwrap_or_default(),
        &headers,
        &header("x-amz-content-sha256")?,
        &date,
        (SECRET, REGION),
    );
    if part("Signature")? == signature { Ok(()) } else { Err("the signature is another".to_owned()) }
}

/// Signature Version 4 as Amazon publishes it for S3: "Authenticating Requests: Using the Authorization Header", Amazon
/// Simple Storage Service API Reference. Path and query as they stand in the request; a query here has one pair at most.
fn signature(
    method: &str,
    path: &str,
    query: &str,
    headers: &[(String, String)],
    body_hash: &str,
    date: &str,
    (secret, region): (&str, &str),
) -> String {
    let names: Vec<&str> = headers.iter().map(|(n, _)| n.as_str()).collect();
    let lines: String = headers.iter().map(|(n, v)| format!("{n}:{}\n", v.trim())).collect();
    let canonical = format!("{method}\n{path}\n{query}\n{lines}\n{}\n{body_hash}", names.join(";"));
    let scope = format!("{}/{region}/s3/aws4_request", &date[..8]);
    let to_sign = format!("AWS4-HMAC-SHA256\n{date}\n{scope}\n{}", hex(&Sha256::digest(canonical)));
    let mut key = format!("AWS4{secret}").into_bytes();
    for step in scope.split('/') {
        key = hmac(&key, step.as_bytes()).to_vec();
    }
    hex(&hmac(&key, to_sign.as_bytes()))
}

/// RFC 2104 with SHA-256, whose block is 64 bytes.
fn hmac(key: &[u8], message: &[u8]) -> [u8; 32] {
    let mut block = [0_u8; 64];
    if key.len() > block.len() {
        block[..32].copy_from_slice(&Sha256::digest(key));
    } else {
        block[..key.len()].copy_from_slice(key);
    }
    let padded = |pad: u8| block.map(|b| b ^ pad);
    let inner = Sha256::new().chain_update(padded(0x36)).chain_update(message).finalize();
    Sha256::new().chain_update(padded(0x5c)).chain_update(inner).finalize().into()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// The example "GET Object" of the same page of the reference, with its key, its headers and its signature.
#[test]
fn the_published_example_has_its_published_signature() {
    let of_nothing = hex(&Sha256::digest(b""));
    let headers = [
        ("host", "examplebucket.s3.amazonaws.com"),
        ("range", "bytes=0-9"),
        ("x-amz-content-sha256", of_nothing.as_str()),
        ("x-amz-date", "20130524T000000Z"),
    ];
    let headers = headers.map(|(n, v)| (n.to_owned(), v.to_owned()));
    let with = ("wJalrXUtnFEMI/K7MDENG/bPxRfiCYEXAMPLEKEY", "us-east-1");
    let signed = signature("GET", "/test.txt", "", &headers, &of_nothing, "20130524T000000Z", with);
    assert_eq!(signed, "f0e8bdb87c964420e857bd35b5d6ed310bd44f0170aba48dd91039c6036bdb41");
}
