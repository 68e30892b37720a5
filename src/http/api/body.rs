//! Bodies as they arrive: JSON with a pointer to whatever could not be understood, and plain text.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header::CONTENT_ENCODING;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer};
use serde_path_to_error::Segment;
use utoipa::openapi::schema::{ObjectBuilder, OneOfBuilder, Type};
use utoipa::openapi::{RefOr, Schema};

use super::problem::ApiError;
use crate::domain::import;
use crate::domain::refusal::Refusal;

/// No request of the API needs more.
pub const MOST_BYTES: usize = 256 * 1024;

/// A JSON body.
pub struct Sent<T>(pub T);

/// A text body: a checklist file.
pub struct SentText(pub String);

/// A file for an import: a table, or a fleet's hours in XML or JSON.
pub struct SentFile(pub Bytes);

/// A decimal figure, sent as a JSON number or as text, kept as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure(pub String);

type Extracting<T> = Pin<Box<dyn Future<Output = Result<T, ApiError>>>>;

impl<T: DeserializeOwned + 'static> FromRequest for Sent<T> {
    type Error = ApiError;
    type Future = Extracting<Self>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = req.content_type().to_ascii_lowercase();
        let plain = plain(req);
        let payload = web::Payload::from_request(req, payload);
        Box::pin(async move {
            plain?;
            if kind != "application/json" && !kind.ends_with("+json") {
                return Err(ApiError::WrongType(said!("problem-send-json")));
            }
            understand(&read(payload.await).await?).map(Self)
        })
    }
}

impl FromRequest for SentText {
    type Error = ApiError;
    type Future = Extracting<Self>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = req.content_type().to_ascii_lowercase();
        let plain = plain(req);
        let payload = web::Payload::from_request(req, payload);
        Box::pin(async move {
            plain?;
            if kind != "application/toml" && kind != "text/plain" {
                return Err(ApiError::WrongType(said!("problem-send-checklist-file")));
            }
            let bytes = read(payload.await).await?;
            let text = String::from_utf8(bytes.into())
                .map_err(|_| ApiError::Unreadable(said!("problem-not-utf-8")))?;
            Ok(Self(text))
        })
    }
}

impl FromRequest for SentFile {
    type Error = ApiError;
    type Future = Extracting<Self>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        const KINDS: [&str; 5] =
            ["text/csv", "text/plain", "application/xml", "text/xml", "application/json"];
        let kind = req.content_type().to_ascii_lowercase();
        let plain = plain(req);
        let payload = web::Payload::from_request(req, payload);
        Box::pin(async move {
            plain?;
            if !KINDS.contains(&kind.as_str()) {
                return Err(ApiError::WrongType(said!("problem-send-import-file")));
            }
            Ok(Self(read_up_to(payload.await, import::MOST_BYTES).await?))
        })
    }
}

impl<'de> Deserialize<'de> for Figure {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged, expecting = "a figure, as a number or as text")]
        enum Either {
            Text(String),
            Number(serde_json::Number),
        }
        Ok(Self(match Either::deserialize(d)? {
            Either::Text(text) => text,
            Either::Number(number) => number.to_string(),
        }))
    }
}

impl utoipa::PartialSchema for Figure {
    fn schema() -> RefOr<Schema> {
        OneOfBuilder::new()
            .item(ObjectBuilder::new().schema_type(Type::String))
            .item(ObjectBuilder::new().schema_type(Type::Number))
            .description(Some("A decimal figure; as text it is kept exactly as it is written."))
            .into()
    }
}

impl utoipa::ToSchema for Figure {}

/// RFC 9110, 15.5.16: a coding that is not taken. So nothing swells while it is unpacked.
fn plain(req: &HttpRequest) -> Result<(), ApiError> {
    let coding = req.headers().get(CONTENT_ENCODING);
    match coding.is_none_or(|c| c.as_bytes().eq_ignore_ascii_case(b"identity")) {
        true => Ok(()),
        false => Err(ApiError::WrongType(said!("problem-send-plain"))),
    }
}

async fn read(payload: Result<web::Payload, actix_web::Error>) -> Result<Bytes, ApiError> {
    read_up_to(payload, MOST_BYTES).await
}

async fn read_up_to(payload: Result<web::Payload, actix_web::Error>, most: usize) -> Result<Bytes, ApiError> {
    let broken = || ApiError::Unreadable(said!("problem-body-cut-short"));
    let payload = payload.map_err(|_| broken())?;
    payload.to_bytes_limited(most).await.map_err(|_| ApiError::TooLarge)?.map_err(|_| broken())
}

fn understand<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, ApiError> {
    // A list would be taken for an object whose members come in their order.
    if bytes.iter().find(|b| !b.is_ascii_whitespace()) == Some(&b'[') {
        return Err(Refusal::invalid("", said!("problem-give-object")).into());
    }
    let mut json = serde_json::Deserializer::from_slice(bytes);
    let understood = serde_path_to_error::deserialize(&mut json).map_err(|e| {
        let pointer = pointer_to(e.path());
        not_understood(pointer, e.inner())
    })?;
    json.end().map_err(|e| not_understood(String::new(), &e))?;
    Ok(understood)
}

/// No JSON at all is a bad request; JSON that says something else than was asked for is refused with its place.
fn not_understood(mut pointer: String, error: &serde_json::Error) -> ApiError {
    if !error.is_data() {
        return ApiError::Unreadable(said!("problem-not-json", error = error.to_string()));
    }
    let message = error.to_string();
    let message = message.rsplit_once(" at line ").map_or(message.as_str(), |(said, _)| said);
    let sentence = match message.strip_prefix("missing field `").and_then(|rest| rest.strip_suffix('`')) {
        Some(member) => {
            pointer = format!("{pointer}/{}", escaped(member));
            said!("problem-give-member", member = member)
        }
        None => said!("problem-not-understood", message = message),
    };
    Refusal::invalid(pointer, sentence).into()
}

fn pointer_to(path: &serde_path_to_error::Path) -> String {
    path.iter()
        .filter_map(|segment| match segment {
            Segment::Seq { index } => Some(format!("/{index}")),
            Segment::Map { key } => Some(format!("/{}", escaped(key))),
            Segment::Enum { .. } | Segment::Unknown => None,
        })
        .collect()
}

fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workflow::WorkflowError;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Outer {
        #[expect(dead_code, reason = "only whether it is there matters")]
        name: String,
        #[serde(default)]
        inner: Vec<Inner>,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        figure: Figure,
    }

    fn pointer_of(body: &str) -> String {
        match understand::<Outer>(body.as_bytes()) {
            Err(ApiError::Workflow(WorkflowError::Refused(Refusal::Invalid { problems }))) => {
                assert_eq!(problems.len(), 1);
                problems[0].pointer.clone()
            }
            other => panic!("{body}: {other:?}"),
        }
    }

    /// Pointers as RFC 6901 writes them.
    #[test]
    fn a_pointer_to_what_was_not_understood() {
        assert_eq!(pointer_of("{}"), "/name");
        assert_eq!(pointer_of(r#"{"name": 7}"#), "/name");
        assert_eq!(pointer_of(r#"{"name": "a", "inner": [{"figure": 1}, {}]}"#), "/inner/1/figure");
        assert_eq!(pointer_of(r#"{"name": "a", "inner": [{"figure": true}]}"#), "/inner/0/figure");
        assert_eq!(pointer_of(r#"{"name": "a", "inner": [{"figure": 1, "a/b~c": 2}]}"#), "/inner/0/a~1b~0c");
    }

    #[test]
    fn what_is_no_json_is_no_request() {
        for body in ["", "{", "name=a", r#"{"name": "a"} more"#, "\u{0}"] {
            assert!(matches!(understand::<Outer>(body.as_bytes()), Err(ApiError::Unreadable(_))), "{body:?}");
        }
    }

    #[test]
    fn figures_come_as_text_or_as_numbers() {
        let of = |figure: &str| {
            let body = format!(r#"{{"name": "a", "inner": [{{"figure": {figure}}}]}}"#);
            understand::<Outer>(body.as_bytes()).unwrap().inner.remove(0).figure.0
        };
        assert_eq!(of("14.5"), "14.5");
        assert_eq!(of(r#""14,50""#), "14,50");
        assert_eq!(of("-3"), "-3");
    }
}
