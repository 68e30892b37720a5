//! Style, symbols and modules, built into the binary. Their address carries the build's hash, so they never go stale and
//! never need asking for twice.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use actix_web::http::header::{CACHE_CONTROL, ContentType};
use actix_web::{HttpRequest, HttpResponse, web};
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

use super::gzip::smallest;
use crate::words::{Lang, for_scripts};

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
    for said in SAID.values() {
        hash.update(said.as_bytes());
    }
    let hash: String = hash.finalize().iter().take(6).map(|b| format!("{b:02x}")).collect();
    format!("/assets/{hash}")
});

/// Files with words in them, by name, one for each language: what scripts say (`words.es.json`), and what a phone is told
/// when Chock is put on its first screen (`chock.es.webmanifest`).
static SAID: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| {
    let mut said = BTreeMap::new();
    for lang in Lang::ALL {
        let words = serde_json::to_string(&for_scripts(*lang)).expect("texts are JSON");
        said.insert(format!("words.{}.json", lang.tag()), words);
        let mut manifest: serde_json::Value =
            serde_json::from_str(&text("chock.webmanifest")).expect("the manifest is JSON");
        manifest["lang"] = lang.tag().into();
        manifest["description"] = t_in!(*lang, "parts-manifest").into();
        said.insert(format!("chock.{}.webmanifest", lang.tag()), manifest.to_string());
    }
    said
});

/// A file that is text; empty when it is not there.
pub fn text(name: &str) -> String {
    Static::get(name).map(|f| String::from_utf8_lossy(&f.data).into_owned()).unwrap_or_default()
}

pub async fn asset(req: HttpRequest, path: web::Path<(String, String)>) -> HttpResponse {
    let (build, name) = path.into_inner();
    let file = match SAID.get(&name) {
        Some(said) => Some(said.clone().into_bytes()),
        None => Static::get(&name).map(|f| f.data.into_owned()),
    };
    let Some(file) = file else { return HttpResponse::NotFound().finish() };
    let fresh = BASE.ends_with(&build);
    let cache = if fresh { "public, max-age=31536000, immutable" } else { "no-cache" };
    let mut answer = HttpResponse::Ok();
    answer
        .insert_header((CACHE_CONTROL, cache))
        .insert_header(ContentType(media_type(&name).parse().unwrap_or(mime_octets())));
    let written = name.ends_with(".js") || name.ends_with(".css");
    let body = match (written, std::str::from_utf8(&file)) {
        (true, Ok(text)) => without_comments(text).into_bytes(),
        _ => file,
    };
    if name.ends_with(".png") {
        return answer.body(body);
    }
    let body = smallest(&req, &mut answer, body);
    answer.body(body)
}

/// A module or a style sheet as it is sent to phones: without the comments that take a line or more, without the types in
/// front of a bracket, and without what lines are set in by. Ours have nothing else that looks like these; a test holds
/// them to it.
pub fn without_comments(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut in_comment = false;
    for line in text.lines() {
        let mut line = line.trim_start();
        if in_comment || line.starts_with("/*") {
            let Some((_, rest)) = line.split_once("*/") else {
                in_comment = true;
                continue;
            };
            in_comment = false;
            line = rest.trim_start();
        }
        if line.is_empty() || line.starts_with("//") {
            continue;
        }
        while let Some((before, rest)) = line.split_once("/** @type ") {
            let Some((_, after)) = rest.split_once("*/") else { break };
            kept.push_str(before);
            line = after.trim_start();
        }
        kept.push_str(line);
        kept.push('\n');
    }
    kept
}

fn media_type(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("json") => "application/json",
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

    fn scripts() -> impl Iterator<Item = (String, String)> {
        Static::iter().filter(|n| n.ends_with(".js")).map(|name| {
            let file = Static::get(&name).expect("it is listed");
            (name.into_owned(), String::from_utf8(file.data.into_owned()).expect("text"))
        })
    }

    #[test]
    fn comments_stay_here_and_code_is_sent() {
        let script = "// @ts-check\n// Why.\n\n/** @type {Map<number, string>} */\nconst a = new Map();\n\
            /**\n * Adds.\n * @param {number} b\n */\nexport function add(b) {\n  // so\n  \
            return /** @type {number} */ (a.get(b)) + \"http://x\"; // kept\n}\n";
        let sent =
            "const a = new Map();\nexport function add(b) {\nreturn (a.get(b)) + \"http://x\"; // kept\n}\n";
        assert_eq!(without_comments(script), sent);
    }

    #[test]
    fn style_is_sent_without_its_remarks() {
        let style = "/* Chock:\n   ink. */\n.a { b: c; }\n@media print {\n  /* Why. */\n  .a { b: d; }\n}\n";
        assert_eq!(without_comments(style), ".a { b: c; }\n@media print {\n.a { b: d; }\n}\n");
        for name in ["chock.css", "paper.css", "desk.css"] {
            let sent = without_comments(&text(name));
            assert!(sent.len() > 500 && !sent.contains("/*") && !sent.contains("//"), "{name}: {sent}");
            assert_eq!(sent.matches('{').count(), sent.matches('}').count(), "{name}");
        }
    }

    /// Text over several lines would lose what it is set in by, and an ordinary block comment is not looked for.
    #[test]
    fn scripts_have_nothing_that_is_taken_for_a_comment() {
        for (name, script) in scripts() {
            for (n, line) in script.lines().enumerate() {
                let at = format!("{name}, line {}", n + 1);
                assert!(line.matches('`').count() % 2 == 0, "{at}: a text over several lines");
                assert!(!line.contains("/*") || line.contains("/**"), "{at}: an ordinary block comment");
            }
            let sent = without_comments(&script);
            assert!(!sent.contains("/**") && !sent.contains("*/"), "{name}: {sent}");
        }
    }

    /// What judges a check on the phone comes over a weak signal.
    #[test]
    fn what_judges_on_the_phone_is_small() {
        let parts = ["judge.js", "matching.js", "trend.js", "answers.js", "checklist.js", "figures.js"];
        let req =
            actix_web::test::TestRequest::get().insert_header(("accept-encoding", "gzip")).to_http_request();
        let size = |script: &str| {
            let body = without_comments(script).into_bytes();
            smallest(&req, &mut HttpResponse::Ok(), body).len()
        };
        let sent: usize = scripts()
            .filter(|(name, _)| parts.contains(&name.as_str()))
            .map(|(_, script)| size(&script))
            .sum();
        println!("{sent} bytes");
        assert!((5_000..15_500).contains(&sent), "{sent} bytes");
    }

    #[test]
    fn the_manifest_is_in_the_language_of_the_page() {
        let manifest = |lang: &str| -> serde_json::Value {
            serde_json::from_str(&SAID[&format!("chock.{lang}.webmanifest")]).expect("JSON")
        };
        let (english, spanish) = (manifest("en"), manifest("es"));
        assert_eq!((&english["lang"], &spanish["lang"]), (&"en".into(), &"es".into()));
        assert_ne!(english["description"], spanish["description"]);
        assert_eq!(english["icons"], spanish["icons"]);
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
