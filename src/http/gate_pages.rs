//! Gate pages that were made a moment ago, for whoever asks for the same again: at six in the morning a whole yard does.
//!
//! A page is shown again only to the very session it was made for, and only as long as this process has changed nothing
//! at all (`workflow::unchanged`). What another process changes, such as a command beside the server, shows after
//! [`AT_MOST`] at the latest. With PostgreSQL other servers may change anything at any moment, so nothing is kept.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use actix_web::http::header::{ContentType, ETAG, EntityTag};
use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{DateTime, TimeDelta, Utc};
use sha2::{Digest, Sha256};

use super::Site;
use super::api::etag::has_it_already;
use super::session::{device_of, secret_of};
use crate::domain::ids::MachineId;
use crate::words::{Lang, here};
use crate::workflow;

/// Times that are shown, and the end of a session, are not late by more.
const AT_MOST: TimeDelta = TimeDelta::seconds(1);
/// Some 10 kB each.
const MOST_PAGES: usize = 2_000;

#[derive(Default)]
pub struct GatePages(Mutex<HashMap<Key, Kept>>);

/// Who asks for which page, and what nothing may have changed since.
pub struct Asked {
    key: Key,
    at: DateTime<Utc>,
    unchanged: u64,
}

#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    session: String,
    machine: MachineId,
    lang: Lang,
    /// A shared device shows a way to change person.
    shared_device: bool,
}

struct Kept {
    made: Made,
    at: DateTime<Utc>,
    unchanged: u64,
}

/// A page and its tag. Cheap to copy.
#[derive(Clone)]
pub struct Made {
    html: web::Bytes,
    tag: EntityTag,
}

impl Asked {
    /// None where it has to be made anew: nobody is signed in, something is to be said once, or something is being changed.
    pub fn of(req: &HttpRequest, site: &Site, machine: MachineId) -> Option<Self> {
        // Before anything is read.
        let unchanged = workflow::unchanged(&site.workshop)?;
        if !req.query_string().is_empty() {
            return None;
        }
        let key =
            Key { session: secret_of(req)?, machine, lang: here(), shared_device: device_of(req).is_some() };
        Some(Self { key, at: site.workshop.ambient.now(), unchanged })
    }
}

impl GatePages {
    pub fn find(&self, asked: &Asked) -> Option<Made> {
        let pages = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = pages.get(&asked.key)?;
        let fresh = kept.unchanged == asked.unchanged && (asked.at - kept.at).abs() < AT_MOST;
        fresh.then(|| kept.made.clone())
    }

    /// What was read after `asked` was made.
    pub fn keep(&self, asked: Asked, made: &Made) {
        let mut pages = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if pages.len() >= MOST_PAGES {
            pages.clear();
        }
        let Asked { key, at, unchanged } = asked;
        pages.insert(key, Kept { made: made.clone(), at, unchanged });
    }
}

impl Made {
    pub fn new(html: String) -> Self {
        let digest = Sha256::digest(html.as_bytes());
        // Weak: what is sent may be packed.
        let tag = EntityTag::new_weak(digest.iter().take(12).map(|b| format!("{b:02x}")).collect());
        Self { html: html.into(), tag }
    }

    /// The page, or that whoever asks has it already.
    pub fn answer(self, req: &HttpRequest) -> HttpResponse {
        let known = has_it_already(req, &self.tag);
        let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
        answer.insert_header((ETAG, self.tag.to_string()));
        if known {
            return answer.finish();
        }
        answer.insert_header(ContentType::html()).body(self.html)
    }
}
