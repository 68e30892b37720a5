//! What the check page weighs on the way to a phone: with its style, its modules, its drawings and whatever they load.

use std::collections::BTreeSet;

use reqwest::header::{ACCEPT_ENCODING, CONTENT_ENCODING, COOKIE};

use crate::support::browser::Browser;
use crate::support::served::Served;
use crate::support::{Bench, on_both};

on_both!(the_check_page_with_everything_is_at_most_60_kb);

const MOST: usize = 60 * 1024;

async fn the_check_page_with_everything_is_at_most_60_kb(b: Bench) {
    let otto = Browser::of(&b.workshop, &b.operator).await;
    let served = Served::start(&b.workshop).await;
    // Not told to unpack what it gets, so that what is counted is what was sent.
    let client = crate::support::client().build().expect("a client");
    let check = format!("/machines/{}/check", b.machine);
    let (mut open, mut seen) = (vec![check], BTreeSet::new());
    let (mut weight, mut drawings) = (0, 0);
    while let Some(path) = open.pop() {
        if !seen.insert(path.clone()) {
            continue;
        }
        let plain = otto.get(&path).await;
        plain.is(200);
        let request = client.get(format!("{}{path}", served.url)).header(ACCEPT_ENCODING, "gzip");
        let sent = request.header(COOKIE, format!("chock={}", otto.secret)).send().await.unwrap();
        assert_eq!(sent.status(), 200, "{path}");
        let packed = sent.headers().get(CONTENT_ENCODING).is_some();
        assert!(packed || !path.contains(".svg") && !path.contains(".js"), "{path} is sent unpacked");
        let bytes = sent.bytes().await.unwrap().len();
        println!("{bytes:>6} {path}");
        weight += bytes;
        drawings += usize::from(path.contains("/draw-"));
        let folder = path.rsplit_once('/').map(|(folder, _)| folder).unwrap_or_default();
        open.extend(
            named(&plain.html, "src=\"")
                .chain(named(&plain.html, "href=\""))
                // Of the words of scripts the longer, Spanish ones are counted below.
                .filter(|p| p.starts_with("/assets/") && !p.ends_with("/words.en.json")),
        );
        if path.ends_with(".js") {
            let modules = named(&plain.html, "from \"./").chain(named(&plain.html, "import(\"./"));
            open.extend(modules.map(|m| format!("{folder}/{m}")));
        }
        if path.ends_with("/words.js") {
            open.push(format!("{folder}/words.es.json"));
        }
    }
    served.stop().await;
    println!("{weight} bytes in {} files", seen.len());
    assert!(drawings >= 8 && seen.len() > 12, "{seen:?}");
    assert!(weight <= MOST, "{weight} bytes, at most {MOST}");
}

/// What stands between the mark and the next quote, wherever the mark is.
fn named(text: &str, mark: &'static str) -> impl Iterator<Item = String> {
    text.split(mark).skip(1).filter_map(|rest| Some(rest.split_once('"')?.0.to_owned()))
}
