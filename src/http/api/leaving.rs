//! What is on its way out: said in the document and, with every answer, in the headers of RFC 9745 (`Deprecation`) and
//! RFC 8594 (`Sunset`), with a link to what comes instead. Nothing leaves sooner than a year after it was said.

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::http::header::{HeaderName, HeaderValue, LINK};
use actix_web::middleware::Next;
use actix_web::web;
use chrono::{DateTime, Utc};
use utoipa::openapi::{Deprecated, OpenApi};

use super::operations;
use crate::http::Site;

/// Whoever builds on this API has at least so many months between being told and something being gone.
#[cfg(test)]
const LEAST_MONTHS: u32 = 12;
/// Where the pages say what is leaving.
pub const POLICY: &str = "/for-programs#leaving";

/// An operation that will be gone.
#[derive(Clone, Copy, Debug)]
pub struct Leaving {
    pub method: &'static str,
    /// As the document has it.
    pub path: &'static str,
    /// Since when it should not be built upon (RFC 3339).
    pub since: &'static str,
    /// From when it may be gone (RFC 3339).
    pub until: &'static str,
    /// What to ask instead, one sentence.
    pub instead: &'static str,
}

/// Nothing is, so far. What is entered here is said everywhere by itself.
pub const LEAVING: &[Leaving] = &[];

/// Another table, for a test.
#[derive(Clone, Copy, Debug)]
pub struct Table(pub &'static [Leaving]);

/// Says it with the answer, whatever the answer is.
pub async fn say<B: MessageBody + 'static>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, actix_web::Error> {
    let table = req.app_data::<web::Data<Table>>().map_or(LEAVING, |t| t.0);
    let mut answer = next.call(req).await?;
    if table.is_empty() {
        return Ok(answer);
    }
    let asked = answer.request().match_pattern().unwrap_or_default();
    let method = answer.request().method().clone();
    if let Some(leaving) = table.iter().find(|l| l.is(&method, &asked)) {
        let site = answer.request().app_data::<web::Data<Site>>().map(|s| s.public_url.clone());
        for (name, value) in leaving.headers(&site.unwrap_or_default()) {
            answer.headers_mut().append(name, value);
        }
    }
    Ok(answer)
}

/// Marks it in the document.
pub fn mark(api: &mut OpenApi, table: &[Leaving]) {
    for leaving in table {
        let Some(item) = api.paths.paths.get_mut(leaving.path) else { continue };
        for (method, operation) in operations(item) {
            if method == leaving.method {
                operation.deprecated = Some(Deprecated::True);
                operation.description = Some(format!(
                    "{} Gone from {} on.",
                    leaving.instead,
                    leaving.until.split('T').next().unwrap_or_default()
                ));
            }
        }
    }
}

impl Leaving {
    fn is(&self, method: &Method, pattern: &str) -> bool {
        self.method == method.as_str() && self.path == pattern
    }

    fn headers(&self, site: &str) -> Vec<(HeaderName, HeaderValue)> {
        let day = |text: &str| text.parse::<DateTime<Utc>>().unwrap_or_default();
        // RFC 9651, 3.3.7: a date is an @ and the seconds since 1970.
        let since = format!("@{}", day(self.since).timestamp());
        // RFC 9110, 5.6.7.
        let until = day(self.until).format("%a, %d %b %Y %H:%M:%S GMT").to_string();
        let link = format!("<{site}{POLICY}>; rel=\"deprecation\"; type=\"text/html\"");
        [
            (HeaderName::from_static("deprecation"), since),
            (HeaderName::from_static("sunset"), until),
            (LINK, link),
        ]
        .into_iter()
        .filter_map(|(name, value)| Some((name, HeaderValue::from_str(&value).ok()?)))
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::Months;

    const ONE: Leaving = Leaving {
        method: "GET",
        path: "/api/v1/yards",
        since: "2023-06-30T23:59:59Z",
        until: "2024-06-30T23:59:59Z",
        instead: "Ask GET /api/v1/places.",
    };

    /// Deprecation as in the example of RFC 9745, 2.1: `Deprecation: @1688169599` is Friday, 30 June 2023, 23:59:59 UTC. The
    /// form of Sunset as in RFC 8594, 3: `Sunset: Sat, 31 Dec 2018 23:59:59 GMT` (its weekday is the RFC's own slip).
    #[test]
    fn headers_as_the_rfcs_write_them() {
        let headers = ONE.headers("https://chock.example");
        let of = |name: &str| headers.iter().find(|(n, _)| n == name).unwrap().1.to_str().unwrap();
        assert_eq!(of("deprecation"), "@1688169599");
        assert_eq!(of("sunset"), "Sun, 30 Jun 2024 23:59:59 GMT");
        assert_eq!(
            of("link"),
            r#"<https://chock.example/for-programs#leaving>; rel="deprecation"; type="text/html""#
        );
    }

    #[test]
    fn nothing_leaves_sooner_than_was_promised() {
        let operations: Vec<(String, String)> = super::super::openapi()
            .paths
            .paths
            .iter_mut()
            .flat_map(|(path, item)| {
                operations(item).map(|(m, _)| (m.to_owned(), path.clone())).collect::<Vec<_>>()
            })
            .collect();
        for leaving in LEAVING.iter().chain([&ONE]) {
            let since: DateTime<Utc> = leaving.since.parse().unwrap();
            let until: DateTime<Utc> = leaving.until.parse().unwrap();
            assert!(until >= since + Months::new(LEAST_MONTHS), "{leaving:?}");
            assert!(leaving.instead.ends_with('.'), "{leaving:?}");
            let named = (leaving.method.to_owned(), leaving.path.to_owned());
            assert!(operations.contains(&named), "{leaving:?} is not there");
        }
    }

    #[test]
    fn the_document_says_it_too() {
        let mut api = super::super::openapi();
        mark(&mut api, &[ONE]);
        let document = serde_json::to_value(api).unwrap();
        let yards = &document["paths"]["/api/v1/yards"];
        assert_eq!(yards["get"]["deprecated"], true);
        assert!(
            yards["get"]["description"].as_str().unwrap().contains("Gone from 2024-06-30 on"),
            "{}",
            yards["get"]
        );
        assert_ne!(yards["post"]["deprecated"], true);
    }
}
