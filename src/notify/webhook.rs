//! Sending to other programs as Standard Webhooks 1.0 has it: an id, a time and a signature beside the body.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use async_trait::async_trait;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use hmac::{Hmac, KeyInit, Mac};
use reqwest::dns::{Addrs, Name, Resolve, Resolving};
use reqwest::redirect::Policy;
use rustls::RootCertStore;
use rustls::crypto::ring::default_provider;
use sha2::Sha256;

use super::NotifyError;
use super::mailer::answer_line;
use crate::domain::webhook::is_public;

/// One message to one address.
#[derive(Clone, Debug)]
pub struct Parcel {
    pub url: String,
    /// The same however often it is sent, so that the other side can tell a second time from a second event.
    pub id: String,
    pub at: DateTime<Utc>,
    pub body: String,
    /// `whsec_…`; each signs.
    pub secrets: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PostError {
    /// The other side says that there is nothing any more (410): nothing is to be sent there again.
    pub gone: bool,
    pub answer: String,
}

/// Takes one message away; answers what the other side said.
#[async_trait]
pub trait Courier: Send + Sync {
    async fn post(&self, parcel: &Parcel) -> Result<String, PostError>;
}

/// Over HTTP, to addresses of the internet only unless told otherwise.
pub struct Http {
    client: reqwest::Client,
    private_too: bool,
}

const LONGEST_TO_CONNECT: Duration = Duration::from_secs(10);
/// Of the other side's answer, no more than this is read.
const MOST_READ: usize = 4096;

impl Http {
    /// `patience` is for one whole try.
    pub fn new(private_too: bool, patience: Duration) -> Result<Self, NotifyError> {
        let unusable = |e: &dyn std::fmt::Display| NotifyError::Tls(e.to_string());
        let roots = RootCertStore { roots: webpki_roots::TLS_SERVER_ROOTS.to_vec() };
        let tls = rustls::ClientConfig::builder_with_provider(Arc::new(default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|e| unusable(&e))?
            .with_root_certificates(roots)
            .with_no_client_auth();
        let client = reqwest::Client::builder()
            .tls_backend_preconfigured(tls)
            .connect_timeout(LONGEST_TO_CONNECT.min(patience))
            .timeout(patience)
            // Another address was never allowed, and a proxy would look the name up by itself.
            .redirect(Policy::none())
            .no_proxy()
            // A name may lead elsewhere the next time: no connection outlives its look-up.
            .pool_max_idle_per_host(0)
            .dns_resolver(Arc::new(Allowed { private_too }))
            .user_agent("Chock")
            .build()
            .map_err(|e| unusable(&e))?;
        Ok(Self { client, private_too })
    }
}

#[async_trait]
impl Courier for Http {
    async fn post(&self, parcel: &Parcel) -> Result<String, PostError> {
        let url = reqwest::Url::parse(&parcel.url).map_err(|e| failed(format!("{}: {e}", parcel.url)))?;
        if url.scheme() != "https" && !self.private_too {
            return Err(failed(REFUSED_CLEAR));
        }
        // An address written as figures is never looked up as a name.
        let host = url.host_str().unwrap_or_default().trim_matches(['[', ']']);
        if !self.private_too && host.parse::<IpAddr>().is_ok_and(|address| !is_public(address)) {
            return Err(failed(REFUSED_PRIVATE));
        }
        let timestamp = parcel.at.timestamp();
        let signatures: Result<Vec<String>, _> =
            parcel.secrets.iter().map(|s| sign(s, &parcel.id, timestamp, &parcel.body)).collect();
        let signatures = signatures.map_err(|e| failed(e.to_string()))?;
        let sent = self
            .client
            .post(url)
            .header("content-type", "application/json")
            .header("webhook-id", &parcel.id)
            .header("webhook-timestamp", timestamp.to_string())
            .header("webhook-signature", signatures.join(" "))
            .body(parcel.body.clone())
            .send()
            .await;
        let mut answer = sent.map_err(|e| failed(why(&e)))?;
        let status = answer.status();
        let mut said = Vec::new();
        while said.len() < MOST_READ
            && let Ok(Some(chunk)) = answer.chunk().await
        {
            said.extend_from_slice(&chunk);
        }
        said.truncate(MOST_READ);
        let said = answer_line(&format!("{} {}", status.as_u16(), String::from_utf8_lossy(&said)));
        // Only a 2xx is a yes; a redirect is not followed.
        if status.is_success() {
            Ok(said)
        } else {
            Err(PostError { gone: status.as_u16() == 410, answer: said })
        }
    }
}

const REFUSED_CLEAR: &str = "not sent: the address is not https";
const REFUSED_PRIVATE: &str =
    "not sent: the address lies in a private network, which this server's settings do not allow";

/// `v1,<base64>` of HMAC-SHA256 over id, time and body.
pub fn sign(secret: &str, id: &str, timestamp: i64, body: &str) -> Result<String, NotifyError> {
    let key = STANDARD
        .decode(secret.strip_prefix("whsec_").unwrap_or(secret))
        .map_err(|_| NotifyError::WebhookSecret)?;
    let mut mac = Hmac::<Sha256>::new_from_slice(&key).map_err(|_| NotifyError::WebhookSecret)?;
    mac.update(format!("{id}.{timestamp}.").as_bytes());
    mac.update(body.as_bytes());
    Ok(format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes())))
}

fn failed(answer: impl AsRef<str>) -> PostError {
    PostError { gone: false, answer: answer_line(answer.as_ref()) }
}

/// The innermost cause says most.
fn why(error: &reqwest::Error) -> String {
    let mut inner: &dyn std::error::Error = error;
    while let Some(cause) = inner.source() {
        inner = cause;
    }
    if error.is_timeout() { "no answer in time".to_owned() } else { inner.to_string() }
}

/// Looks a name up and lets through only what may be connected to, so that the address that was looked at is the one that is
/// connected to.
struct Allowed {
    private_too: bool,
}

impl Resolve for Allowed {
    fn resolve(&self, name: Name) -> Resolving {
        let (name, private_too) = (name.as_str().to_owned(), self.private_too);
        Box::pin(async move {
            let found: Vec<SocketAddr> = tokio::net::lookup_host((name.as_str(), 0)).await?.collect();
            let allowed: Vec<SocketAddr> =
                found.into_iter().filter(|a| private_too || is_public(a.ip())).collect();
            if allowed.is_empty() {
                return Err(REFUSED_PRIVATE.into());
            }
            Ok(Box::new(allowed.into_iter()) as Addrs)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signature_is_the_one_that_others_make() {
        // The example of the Standard Webhooks repository's own libraries (github.com/standard-webhooks/standard-webhooks,
        // secret, id, time, body and signature as in their tests).
        let signature = sign(
            "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            1_614_265_330,
            r#"{"test": 2432232314}"#,
        );
        assert_eq!(signature.unwrap(), "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
        assert!(sign("whsec_not base64", "a", 1, "").is_err());
    }
}
