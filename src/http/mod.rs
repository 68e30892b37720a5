//! Parses and renders, nothing else: every read and every change passes through `workflow`.

pub mod api;
pub mod assets;
pub mod check_data;
pub mod client;
pub mod csv;
pub mod export;
pub mod follow;
pub mod gate_pages;
pub mod gzip;
pub mod head;
pub mod language;
pub mod metrics;
pub mod pages;
pub mod photo_store;
pub mod picture;
pub mod ready;
pub mod routes;
pub mod security;
pub mod session;
pub mod settled;
pub mod status;
pub mod token;

use std::path::PathBuf;
use std::sync::Arc;

use actix_web::HttpRequest;
use actix_web::http::header::USER_AGENT;
use ipnet::IpNet;

use crate::domain::alert::Alert;
use crate::domain::caller::{Caller, program_named};
use crate::domain::ids::AlertId;
use crate::words::Lang;
use crate::workflow::Workshop;
use client::client_of;
use gate_pages::GatePages;
use metrics::Metrics;
use photo_store::PhotoStore;
use ready::LastLook;

/// Everything a handler needs, shared by all of a thread's as `web::Data<Site>`.
#[derive(Clone)]
pub struct Site {
    pub workshop: Workshop,
    /// As people reach it, without a trailing slash: `https://chock.example.org`.
    pub public_url: String,
    /// Signs access tokens (HS256), at least 32 bytes.
    pub token_key: Vec<u8>,
    pub photos: PhotoStore,
    /// Webhooks may go to addresses inside a private network.
    pub webhooks_private: bool,
    pub operation: Arc<Operation>,
    /// Shows an alert as the mail it becomes. Handed in, because this room does not know `notify`.
    pub compose: ComposeMail,
}

/// What running a server takes, whatever it serves.
#[derive(Default)]
pub struct Operation {
    /// Where pictures and an SQLite file lie.
    pub data: PathBuf,
    /// Networks of proxies whose word is taken for whom they were asked by.
    pub proxies: Vec<IpNet>,
    /// Without one there is nothing under `/metrics`.
    pub metrics_token: Option<String>,
    pub metrics: Metrics,
    pub last_look: LastLook,
    pub gate_pages: GatePages,
}

/// Subject and text of the mail to somebody (name, address) in a language.
pub type ComposeMail =
    Arc<dyn Fn(AlertId, &Alert, &str, &str, Lang) -> Option<(String, String)> + Send + Sync>;

impl Site {
    /// Of whoever asks, as far as it can be believed.
    pub fn caller(&self, req: &HttpRequest) -> Caller {
        let address = client_of(req, &self.operation.proxies).address;
        let program = req.headers().get(USER_AGENT).and_then(|v| v.to_str().ok()).map(program_named);
        Caller { address, program: program.unwrap_or_default() }
    }

    /// Cookies are sent over TLS only when people reach the site over TLS.
    pub fn over_tls(&self) -> bool {
        self.public_url.starts_with("https://")
    }
}
