//! Forms as browsers send them: urlencoded, or multipart where pictures come along.

use std::collections::HashMap;
use std::future::Future;
use std::pin::Pin;

use actix_multipart::Multipart;
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};
use futures_util::TryStreamExt;

use super::error::PageError;

impl FromRequest for Form {
    type Error = PageError;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageError>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        if req.content_type().eq_ignore_ascii_case("multipart/form-data") {
            let multipart = Multipart::new(req.headers(), payload.take());
            return Box::pin(Self::multipart(multipart));
        }
        let body = web::Bytes::from_request(req, payload);
        Box::pin(async move {
            let body = body.await.map_err(|_| PageError::Unreadable(t!("form-too-large")))?;
            Self::urlencoded(&body)
        })
    }
}

/// The fields of a form. A field sent several times (checkboxes) keeps every value.
#[derive(Clone, Debug, Default)]
pub struct Form {
    fields: Vec<(String, String)>,
    pub files: Vec<FormFile>,
}

#[derive(Clone, Debug)]
pub struct FormFile {
    /// Name of the input it came from.
    pub field: String,
    pub bytes: web::Bytes,
}

const MOST_TEXT: usize = 64 * 1024;
/// A photo as a phone takes it.
const MOST_FILE: usize = 15 * 1024 * 1024;
const MOST_FIELDS: usize = 2000;
/// Of one form, all its photos together: it is held in memory while it arrives.
const MOST_IN_ALL: usize = 100 * 1024 * 1024;

impl Form {
    pub fn urlencoded(body: &[u8]) -> Result<Self, PageError> {
        let fields: Vec<(String, String)> =
            serde_urlencoded::from_bytes(body).map_err(|_| PageError::Unreadable(t!("form-not-whole")))?;
        if fields.len() > MOST_FIELDS {
            return Err(PageError::Unreadable(t!("form-too-many-fields")));
        }
        Ok(Self { fields, files: Vec::new() })
    }

    pub async fn multipart(payload: Multipart) -> Result<Self, PageError> {
        Self::multipart_up_to(payload, MOST_TEXT).await
    }

    /// As [`Self::multipart`], where a field may be longer than what somebody types.
    pub async fn multipart_up_to(mut payload: Multipart, most_text: usize) -> Result<Self, PageError> {
        let unreadable = |e: actix_multipart::MultipartError| {
            PageError::Unreadable(t!("form-not-whole-because", fault = e.to_string()))
        };
        let mut form = Self::default();
        let mut in_all = 0;
        while let Some(mut field) = payload.try_next().await.map_err(unreadable)? {
            if form.fields.len() + form.files.len() >= MOST_FIELDS {
                return Err(PageError::Unreadable(t!("form-too-many-fields")));
            }
            let name = field.name().unwrap_or_default().to_owned();
            let is_file = field.content_disposition().is_some_and(|d| d.get_filename().is_some());
            let most = if is_file { MOST_FILE } else { most_text };
            let mut bytes = web::BytesMut::new();
            while let Some(chunk) = field.try_next().await.map_err(unreadable)? {
                if bytes.len() + chunk.len() > most {
                    return Err(PageError::Unreadable(t!(
                        "form-field-too-large",
                        name = name,
                        most = most / 1024 / 1024
                    )));
                }
                in_all += chunk.len();
                if in_all > MOST_IN_ALL {
                    return Err(PageError::Unreadable(t!(
                        "form-photos-too-large",
                        most = MOST_IN_ALL / 1024 / 1024
                    )));
                }
                bytes.extend_from_slice(&chunk);
            }
            if is_file {
                // An input left empty is sent as a file of no bytes.
                if !bytes.is_empty() {
                    form.files.push(FormFile { field: name, bytes: bytes.freeze() });
                }
            } else {
                form.fields.push((name, String::from_utf8_lossy(&bytes).into_owned()));
            }
        }
        Ok(form)
    }

    /// The field's text; empty when it was not sent.
    pub fn text(&self, name: &str) -> &str {
        self.fields.iter().rev().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.fields.iter().filter(move |(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    pub fn has(&self, name: &str) -> bool {
        self.fields.iter().any(|(n, _)| n == name)
    }

    /// Everything typed, for showing a form again with nothing lost.
    pub fn typed(&self) -> HashMap<String, String> {
        self.fields.iter().cloned().collect()
    }
}
