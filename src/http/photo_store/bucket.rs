//! A bucket of any store that speaks S3. Its address, also one of one's own network, is the owner's setting.

use std::sync::Arc;
use std::time::Duration;

use object_store::aws::{AmazonS3, AmazonS3Builder};
use object_store::client::{HttpClient, HttpConnector};
use object_store::{BackoffConfig, ClientOptions, RetryConfig};
use rustls::RootCertStore;
use rustls::crypto::ring::default_provider;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;

use super::PhotoError;

#[derive(Clone, Debug)]
pub struct Bucket {
    pub name: String,
    /// Before every name in the bucket, without slashes at its ends; may be empty.
    pub prefix: String,
    /// None for Amazon's own of the region.
    pub endpoint: Option<String>,
    pub region: String,
    pub key: String,
    pub secret: String,
    /// PEM of a root certificate beside the public ones.
    pub root: Option<Vec<u8>>,
    /// For one try. There are two more when it fails, all within thrice this; a phone waits longer for a photo.
    pub patience: Duration,
}

const LONGEST_TO_CONNECT: Duration = Duration::from_secs(5);

impl Bucket {
    pub(super) fn open(&self) -> Result<AmazonS3, PhotoError> {
        let retry = RetryConfig {
            max_retries: 2,
            retry_timeout: self.patience * 3,
            backoff: BackoffConfig {
                init_backoff: Duration::from_millis(200),
                max_backoff: Duration::from_secs(2),
                base: 2.0,
            },
        };
        let mut builder = AmazonS3Builder::new()
            .with_bucket_name(&self.name)
            .with_region(&self.region)
            .with_access_key_id(&self.key)
            .with_secret_access_key(&self.secret)
            .with_retry(retry)
            .with_http_connector(Connector { client: self.client()? });
        if let Some(endpoint) = &self.endpoint {
            builder = builder.with_endpoint(endpoint).with_allow_http(endpoint.starts_with("http://"));
        }
        Ok(builder.build()?)
    }

    /// Trusts the same public roots as the mail, whatever the machine has installed.
    fn client(&self) -> Result<HttpClient, PhotoError> {
        let unusable = |e: &dyn std::fmt::Display| PhotoError::Unusable(e.to_string());
        let mut roots = RootCertStore { roots: webpki_roots::TLS_SERVER_ROOTS.to_vec() };
        for certificate in self.root.iter().flat_map(|pem| CertificateDer::pem_slice_iter(pem)) {
            let certificate = certificate.map_err(|e| unusable(&e))?;
            roots.add(certificate).map_err(|e| unusable(&e))?;
        }
        let tls = rustls::ClientConfig::builder_with_provider(Arc::new(default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|e| unusable(&e))?
            .with_root_certificates(roots)
            .with_no_client_auth();
        let client = reqwest::Client::builder()
            .tls_backend_preconfigured(tls)
            .connect_timeout(LONGEST_TO_CONNECT.min(self.patience))
            .timeout(self.patience)
            // A signature is for one address.
            .redirect(reqwest::redirect::Policy::none())
            .build()
            .map_err(|e| unusable(&e))?;
        Ok(HttpClient::new(client))
    }
}

#[derive(Debug)]
struct Connector {
    client: HttpClient,
}

impl HttpConnector for Connector {
    fn connect(&self, _options: &ClientOptions) -> object_store::Result<HttpClient> {
        Ok(self.client.clone())
    }
}
