//! The routes as the source and the API's document have them.

use std::path::Path;

/// Method and path of every `cfg.route("…", web::…())` in `src/http`, sorted.
pub fn page_routes() -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut handlers = 0;
    for text in sources(Path::new("src/http")) {
        handlers += ["get", "post", "put", "patch", "delete", "head", "method"]
            .iter()
            .map(|m| text.matches(&format!("web::{m}(")).count())
            .sum::<usize>();
        found.extend(text.split("cfg.route(").skip(1).map(route));
    }
    // The API's document is mounted by hand inside its scope.
    assert_eq!(handlers, found.len() + 1, "a route is mounted in a way this test does not read");
    found.sort();
    found
}

/// Method and path of every operation of the API's document, sorted.
pub fn operations() -> Vec<(String, String)> {
    let document = serde_json::to_value(chock::http::api::openapi()).expect("a document");
    let paths = document["paths"].as_object().expect("paths");
    let mut found: Vec<_> = paths
        .iter()
        .flat_map(|(path, item)| {
            let methods = item.as_object().expect("operations").keys();
            methods.filter(|m| *m != "parameters").map(|m| (m.to_uppercase(), path.clone()))
        })
        .collect();
    found.sort();
    found
}

/// `"/machines/{id}", web::get().to(gate));`
fn route(text: &str) -> (String, String) {
    let mut parts = text.split('"');
    let path = parts.nth(1).expect("a path in quotes");
    let method = parts.next().and_then(|t| t.split_once("web::")).expect("a method").1;
    let method = method.split('(').next().expect("a method");
    (method.to_uppercase(), path.to_owned())
}

fn sources(folder: &Path) -> Vec<String> {
    let folder = std::fs::read_dir(folder).expect("a folder of the source");
    let mut found = Vec::new();
    for entry in folder {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(std::fs::read_to_string(&path).expect("text"));
        }
    }
    found
}
