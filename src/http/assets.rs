//! Style, symbols and modules, built into the binary. Their address carries the build's hash, so they never go stale and
//! never need asking for twice.

use std::sync::LazyLock;

use actix_web::http::header::{CACHE_CONTROL, ContentType};
use actix_web::{HttpResponse, web};
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

#[derive(RustEmbed)]
#[folder = "web/static"]
struct Static;

/// `/assets/<hash of everything in it>`.
pub static BASE: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Static::iter().collect();
    names.sort();
    let mut hash = Sha256::new();
    for name in names {
        hash.update(name.as_bytes());
        if let Some(file) = Static::get(&name) {
            hash.update(&file.data);
        }
    }
    let hash: String = hash.finalize().iter().take(6).map(|b| format!("{b:02x}")).collect();
    format!("/assets/{hash}")
});

/// A file that is text; empty when it is not there.
pub fn text(name: &str) -> String {
    Static::get(name).map(|f| String::from_utf8_lossy(&f.data).into_owned()).unwrap_or_default()
}

pub async fn asset(path: web::Path<(String, String)>) -> HttpResponse {
    let (build, name) = path.into_inner();
    let Some(file) = Static::get(&name) else { return HttpResponse::NotFound().finish() };
    let fresh = BASE.ends_with(&build);
    let cache = if fresh { "public, max-age=31536000, immutable" } else { "no-cache" };
    HttpResponse::Ok()
        .insert_header((CACHE_CONTROL, cache))
        .insert_header(ContentType(media_type(&name).parse().unwrap_or(mime_octets())))
        .body(file.data.into_owned())
}

fn media_type(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("webmanifest") => "application/manifest+json",
        _ => "application/octet-stream",
    }
}

fn mime_octets() -> actix_web::mime::Mime {
    actix_web::mime::APPLICATION_OCTET_STREAM
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::checklist::Picture;

    /// Every drawing that a checklist may ask for is there, says what it shows, draws no words and stays small.
    #[test]
    fn every_picture_is_there_and_none_is_forgotten() {
        for picture in Picture::ALL {
            let file = Static::get(&format!("draw-{picture}.svg")).unwrap_or_else(|| panic!("{picture}"));
            let text = std::str::from_utf8(&file.data).expect("text");
            let title =
                text.split_once("<title>").and_then(|(_, t)| t.split_once("</title>")).expect("a title").0;
            assert!(title.len() > 15 && text.contains("role=\"img\""), "{picture}");
            for never in ["<text", "<script", "<style", "style=", "href", "<image", "on"] {
                let tags = text.replace(title, "");
                let found = if never == "on" { tags.contains(" on") } else { tags.contains(never) };
                assert!(!found, "{picture} has {never}");
            }
            assert!(file.data.len() < 1024, "{picture}: {} bytes", file.data.len());
        }
        let drawn = Static::iter().filter(|n| n.starts_with("draw-")).count();
        assert_eq!(drawn, Picture::ALL.len());
    }

    /// A drawing is asked for by whoever wrote a list that comes with Chock, each at least once.
    #[test]
    fn every_picture_is_shown_by_some_shipped_checklist() {
        use crate::domain::{checklist_file::parse, shipped::SHIPPED};
        let lists: Vec<_> = SHIPPED.iter().map(|(_, text)| parse(text).expect("a sound list")).collect();
        for picture in Picture::ALL {
            let shown = lists.iter().flat_map(|l| l.items()).any(|i| i.picture == Some(*picture));
            assert!(shown, "{picture}");
        }
    }
}
