//! Parses and renders, nothing else: every read and every change passes through `workflow`.

pub mod api;
pub mod assets;
pub mod check_data;
pub mod csv;
pub mod gzip;
pub mod language;
pub mod pages;
pub mod photo_store;
mod picture;
pub mod routes;
pub mod security;
pub mod session;
pub mod status;
pub mod token;

use std::sync::Arc;

use crate::domain::alert::Alert;
use crate::domain::ids::AlertId;
use crate::words::Lang;
use crate::workflow::Workshop;
use photo_store::PhotoStore;

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
    /// Shows an alert as the mail it becomes. Handed in, because this room does not know `notify`.
    pub compose: ComposeMail,
}

/// Subject and text of the mail to somebody (name, address) in a language.
pub type ComposeMail =
    Arc<dyn Fn(AlertId, &Alert, &str, &str, Lang) -> Option<(String, String)> + Send + Sync>;

impl Site {
    /// Cookies are sent over TLS only when people reach the site over TLS.
    pub fn over_tls(&self) -> bool {
        self.public_url.starts_with("https://")
    }
}
