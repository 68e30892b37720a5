//! Every address of the site, asked by everybody: who gets in, who is refused, and what every answer carries. The tables
//! name each route once; a route that is not in them, or is no more, fails.

pub mod api;
pub mod pages;
pub mod source;
pub mod world;

use reqwest::StatusCode;
use reqwest::header::{HeaderMap, HeaderName, LOCATION, ORIGIN};
use serde_json::Value;

use crate::support::{Bench, Engine, on_both};
use world::{Person, World};

on_both!(pages_by_role, the_api_by_role, another_site_changes_nothing, what_is_not_there_is_not_found);

/// What a route answers, and to whom.
pub struct Route {
    pub method: &'static str,
    /// As the source has it.
    pub path: &'static str,
    /// `o`perator, `m`echanic, `s`upervisor, o`w`ner, and `n`obody signed in.
    pub who: &'static str,
    /// To whoever may.
    pub status: u16,
    /// Text is sent as it is, anything else as JSON.
    body: Option<Value>,
}

/// Whatever says that one may ask.
const ANY: u16 = 0;

impl Route {
    fn lets_in(&self, person: &Person) -> bool {
        self.who.contains(person.letter)
    }

    fn named(&self) -> (String, String) {
        (self.method.to_owned(), self.path.to_owned())
    }

    fn changes(&self) -> bool {
        self.method != "GET"
    }
}

#[test]
fn every_route_is_in_the_tables_and_no_other() {
    let names = api::Names::default();
    for (source, table) in
        [(source::page_routes(), pages::table(&names)), (source::operations(), api::table(&names))]
    {
        let table: Vec<_> = table.iter().map(Route::named).collect();
        let missing: Vec<_> = source.iter().filter(|r| !table.contains(r)).collect();
        let gone: Vec<_> = table.iter().filter(|r| !source.contains(r)).collect();
        assert!(missing.is_empty(), "not in the table: {missing:?}");
        assert!(gone.is_empty(), "only in the table: {gone:?}");
        assert_eq!(source.len(), table.len(), "a route stands twice");
    }
}

/// Whatever a form changes, a program can as well, or the page for programs says that it cannot.
#[test]
fn every_form_has_its_operation() {
    let document = serde_json::to_value(chock::http::api::openapi()).expect("a document");
    let items = document["paths"].as_object().expect("paths").values();
    let operations: Vec<_> = items
        .flat_map(|item| item.as_object().expect("operations").values())
        .map(|o| &o["operationId"])
        .collect();
    let page = ["src/http/pages/for_programs.rs", "web/templates/for_programs.html"]
        .map(|file| std::fs::read_to_string(file).expect("text"))
        .concat();
    let forms: Vec<_> = pages::table(&api::Names::default()).into_iter().filter(Route::changes).collect();
    for form in &forms {
        let mut by = pages::BY_PROGRAM.iter().filter(|(path, _)| *path == form.path).map(|(_, by)| *by);
        let (by, None) = (by.next().unwrap_or_default(), by.next()) else {
            panic!("{} stands twice", form.path)
        };
        let said = by.starts_with("programs-") && page.contains(&format!("\"{by}\""));
        assert!(said || operations.iter().any(|o| *o == by), "{}: {by:?}", form.path);
    }
    assert_eq!(forms.len(), pages::BY_PROGRAM.len(), "one of them is no form any more");
}

/// What the document says of who may is what each operation is asked for below.
#[test]
fn the_document_says_who_may() {
    let document = serde_json::to_value(chock::http::api::openapi()).expect("a document");
    let letter = |role: &Value| match role.as_str().expect("a role") {
        "owner" => 'w',
        role => role.chars().next().expect("a letter"),
    };
    for route in api::table(&api::Names::default()) {
        let operation = &document["paths"][route.path][route.method.to_lowercase()];
        let said: String = operation["x-who-may"].as_array().expect("roles").iter().map(letter).collect();
        let table = if route.who.contains('n') { "" } else { route.who };
        assert_eq!(said, table, "{} {}", route.method, route.path);
        let open = operation["security"] == serde_json::json!([]);
        assert_eq!(open, said.is_empty(), "{} {}: {}", route.method, route.path, operation["security"]);
    }
}

/// RFC 9110, 9.3.2: what GET would answer, without the body.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn head_is_get_without_the_body() {
    let world = World::new(Bench::new(Engine::Sqlite).await).await;
    let told = |a: &Answer| {
        // Of each answer its own; how long it is, is compared below, and a stream does not say.
        let own = ["date", "x-request-id", "set-cookie", "content-length", "transfer-encoding"];
        let mut said: Vec<_> = a.headers.iter().filter(|(n, _)| !own.contains(&n.as_str())).collect();
        said.sort_by_key(|(n, _)| n.as_str());
        said.into_iter().map(|(n, v)| (n.clone(), v.clone())).collect::<Vec<_>>()
    };
    let tables = [pages::table(&world.names), api::table(&world.names)];
    let mut asked = 0;
    for route in tables.into_iter().flatten().filter(|r| !r.changes()) {
        let person = world.everybody().filter(|p| route.lets_in(p)).last().expect("somebody");
        let head = Route { method: "HEAD", body: None, ..route };
        let (got, headed) = if route.path.starts_with("/api/") {
            (
                world.call(&route, person, HeaderMap::new()).await,
                world.call(&head, person, HeaderMap::new()).await,
            )
        } else {
            (
                world.ask(&route, person, HeaderMap::new()).await,
                world.ask(&head, person, HeaderMap::new()).await,
            )
        };
        assert_eq!(headed.status, got.status, "{}", route.path);
        assert_eq!(told(&headed), told(&got), "{}", route.path);
        assert_eq!(headed.text, "", "{}", route.path);
        if got.headers.contains_key("content-length") {
            assert_eq!(headed.header("content-length"), got.header("content-length"), "{}", route.path);
        }
        asked += 1;
    }
    assert!(asked > 120, "only {asked} were asked");
    world.close().await;
}

/// As the document has it: what carries a tag is not sent again to whoever has it, and each step that takes one is
/// refused when it was meant for another state.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_carries_a_tag_takes_it() {
    let world = World::new(Bench::new(Engine::Sqlite).await).await;
    let document = serde_json::to_value(chock::http::api::openapi()).expect("a document");
    let with = |name: &'static str, value: &str| {
        HeaderMap::from_iter([(HeaderName::from_static(name), value.parse().expect("a header"))])
    };
    let (mut gave, mut took) = (0, 0);
    for route in api::table(&world.names) {
        let operation = &document["paths"][route.path][route.method.to_lowercase()];
        let person = world.everybody().filter(|p| route.lets_in(p)).last().expect("somebody");
        if !operation["responses"]["304"].is_null() {
            let tag = world.call(&route, person, HeaderMap::new()).await.header("etag").to_owned();
            assert!(tag.starts_with('"'), "{}: {tag:?}", route.path);
            let again =
                world.call(&route, person, with("if-none-match", &format!("\"else\", W/{tag}"))).await;
            assert_eq!((again.status(), again.text.as_str()), (304, ""), "{}", route.path);
            assert_eq!(again.header("etag"), tag, "{}", route.path);
            let other = world.call(&route, person, with("if-none-match", "\"else\"")).await;
            assert_eq!(other.status(), 200, "{}", route.path);
            gave += 1;
        }
        let parameters = operation["parameters"].as_array().map(Vec::as_slice).unwrap_or_default();
        if parameters.iter().any(|p| p["name"] == "If-Match") {
            let stale = world.call(&route, person, with("if-match", "\"0.0\"")).await;
            assert_eq!(stale.status(), 412, "{} {}: {}", route.method, route.path, stale.text);
            took += 1;
        }
    }
    assert!(gave >= 16 && took >= 50, "{gave} gave a tag, {took} took one");

    // Read in another language it is the same state.
    let mechanic = world.everybody().find(|p| p.letter == 'm').expect("a mechanic");
    let order = "/api/v1/work-orders/{id}";
    let look = Route { method: "GET", path: order, who: "m", status: 200, body: None };
    let claim =
        Route { method: "POST", path: "/api/v1/work-orders/{id}/claim", body: Some(Value::Null), ..look };
    world.ready_for(&claim).await;
    let english = world.call(&look, mechanic, HeaderMap::new()).await;
    let spanish = world.call(&look, mechanic, with("accept-language", "es")).await;
    let state = |a: &Answer| a.header("etag").split('.').next().expect("a tag").to_owned();
    assert_ne!(english.header("etag"), spanish.header("etag"));
    assert_eq!(state(&english), state(&spanish));
    let claimed = world.call(&claim, mechanic, with("if-match", spanish.header("etag"))).await;
    assert_eq!(claimed.status(), 200, "{}", claimed.text);
    assert_ne!(state(&claimed), state(&english));
    world.close().await;
}

async fn pages_by_role(b: Bench) {
    let world = World::new(b).await;
    let mut wrong = Vec::new();
    for route in pages::table(&world.names) {
        for person in world.everybody() {
            world.ready_for(&route).await;
            let answer = world.ask(&route, person, HeaderMap::new()).await;
            let expected = if route.lets_in(person) {
                Expected::Status(route.status)
            } else if person.is_nobody() {
                Expected::SignIn
            } else {
                Expected::Status(403)
            };
            wrong.extend(answer.unlike(&expected, &route, person));
            if route.path == "/sign-out" && !person.is_nobody() {
                let after = world.get("/machines", person).await;
                assert!(after.leads_to_sign_in(), "{} is still signed in", person.letter);
                world.sign_in_again(person).await;
            }
        }
        // What belongs to a yard is not there for whoever works in another, whatever their roles.
        let stranger = world.stranger();
        let answer = world.ask(&route, stranger, HeaderMap::new()).await;
        if pages::is_of_a_yard(route.path) {
            wrong.extend(answer.unlike(&Expected::Status(404), &route, stranger));
        }
        if world.tells_of_the_machine(&answer) {
            wrong.push(format!("{} {} shows somebody of another yard a machine", route.method, route.path));
        }
        world.sign_in_again(stranger).await;
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    world.close().await;
}

async fn the_api_by_role(b: Bench) {
    let world = World::new(b).await;
    let mut wrong = Vec::new();
    for route in api::table(&world.names) {
        for person in world.everybody() {
            world.ready_for(&route).await;
            let answer = world.call(&route, person, HeaderMap::new()).await;
            let expected = if route.lets_in(person) {
                Expected::Status(route.status)
            } else if person.is_nobody() {
                Expected::Status(401)
            } else {
                Expected::Status(403)
            };
            wrong.extend(answer.unlike(&expected, &route, person));
        }
        let stranger = world.stranger();
        let answer = world.call(&route, stranger, HeaderMap::new()).await;
        if api::is_of_a_yard(route.path) {
            wrong.extend(answer.unlike(&Expected::Status(404), &route, stranger));
        }
        if world.tells_of_the_machine(&answer) {
            wrong.push(format!("{} {} shows somebody of another yard a machine", route.method, route.path));
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    world.close().await;
}

/// With the owner's own cookie or token, as a page of another site would have a browser send it.
async fn another_site_changes_nothing(b: Bench) {
    let world = World::new(b).await;
    let owner = world.everybody().find(|p| p.letter == 'w').expect("an owner");
    let fetch = HeaderName::from_static("sec-fetch-site");
    let mut asked = 0;
    for (name, value) in [
        (&fetch, "cross-site"),
        (&fetch, "same-site"),
        (&ORIGIN, "https://elsewhere.example"),
        (&ORIGIN, "null"),
    ] {
        let headers = HeaderMap::from_iter([(name.clone(), value.parse().expect("a header"))]);
        let tables = [pages::table(&world.names), api::table(&world.names)];
        for route in tables.iter().flatten().filter(|r| r.changes()) {
            let answer = if route.path.starts_with("/api/") {
                world.call(route, owner, headers.clone()).await
            } else {
                world.ask(route, owner, headers.clone()).await
            };
            assert_eq!(
                answer.status,
                StatusCode::FORBIDDEN,
                "{} {} with {name}: {value}",
                route.method,
                route.path
            );
            assert!(answer.text.contains("another site"), "{} {}: {}", route.method, route.path, answer.text);
            asked += 1;
        }
    }
    assert!(asked > 200, "only {asked} requests were made");
    world.close().await;
}

/// An id that nothing has, and a word that is no id at all: asked by the owner, who may see everything there is.
async fn what_is_not_there_is_not_found(b: Bench) {
    let mut world = World::new(b).await;
    let names = world.names.clone();
    world.names = api::Names { checklist: names.checklist, ..api::Names::nowhere() };
    let mut wrong = Vec::new();
    let mut asked = 0;
    let owner = world.everybody().find(|p| p.letter == 'w').expect("an owner");
    let makes_it = |r: &Route| {
        r.method == "PUT"
            || ["{unit}", "{build}", "{secret}", "{kind}", "{group}"].iter().any(|p| r.path.contains(p))
    };
    for route in pages::table(&world.names).into_iter().chain(api::table(&world.names)) {
        if !route.path.contains('{')
            || makes_it(&route)
            || route.path.contains("/checklists/")
            || !route.lets_in(owner)
        {
            continue;
        }
        asked += 1;
        let is_api = route.path.starts_with("/api/");
        let no_id: &'static str = Box::leak(route.path.replace("{id}", "u7").into_boxed_str());
        for path in [route.path, no_id] {
            let route = Route { path, body: route.body.clone(), ..route };
            let answer = if is_api {
                world.call(&route, owner, HeaderMap::new()).await
            } else {
                world.ask(&route, owner, HeaderMap::new()).await
            };
            wrong.extend(answer.unlike(&Expected::Status(404), &route, owner));
            let kind = if is_api { "application/problem+json" } else { "text/html; charset=utf-8" };
            if answer.header("content-type") != kind {
                wrong.push(format!("{} {path} answers {:?}", route.method, answer.header("content-type")));
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(asked > 40, "only {asked} were asked");
    world.close().await;
}

enum Expected {
    Status(u16),
    SignIn,
}

pub struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    pub text: String,
}

impl Answer {
    async fn of(response: reqwest::Response, is_stream: bool) -> Self {
        let (status, headers) = (response.status(), response.headers().clone());
        let text = if is_stream { String::new() } else { response.text().await.expect("a whole answer") };
        let answer = Self { status, headers, text };
        answer.carries_what_every_answer_must();
        answer
    }

    pub fn status(&self) -> u16 {
        self.status.as_u16()
    }

    pub fn is_a_page(&self) -> bool {
        self.header("content-type").starts_with("text/html")
    }

    fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|v| v.to_str().ok()).unwrap_or_default()
    }

    fn leads_to_sign_in(&self) -> bool {
        self.status == StatusCode::SEE_OTHER && self.header(LOCATION.as_str()).starts_with("/sign-in")
    }

    fn unlike(&self, expected: &Expected, route: &Route, person: &Person) -> Option<String> {
        let (fits, wanted) = match expected {
            Expected::SignIn => (self.leads_to_sign_in(), "the way to sign in".to_owned()),
            // Whoever is let in is not sent to sign in, although that is a 303 too.
            Expected::Status(ANY) => (
                !matches!(self.status.as_u16(), 401 | 403 | 404 | 500..) && !self.leads_to_sign_in(),
                "an answer".to_owned(),
            ),
            Expected::Status(status) => {
                let signed_out = route.path == "/sign-out";
                (
                    self.status.as_u16() == *status && (signed_out || !self.leads_to_sign_in()),
                    status.to_string(),
                )
            }
        };
        let first: String =
            self.text.split_whitespace().collect::<Vec<_>>().join(" ").chars().take(600).collect();
        let said = first.split("<h1>").nth(1).unwrap_or(&first);
        (!fits).then(|| {
            format!(
                "{} {} by {}: {}, not {wanted}: {said}",
                route.method, route.path, person.letter, self.status
            )
        })
    }

    /// OWASP's list of secure headers, as far as it applies to pages that load nothing from elsewhere; from memory.
    fn carries_what_every_answer_must(&self) {
        assert_eq!(self.header("x-content-type-options"), "nosniff");
        assert!(!self.header("cache-control").is_empty());
        assert_eq!(self.header("server"), "", "what runs here is nobody's business");
        if self.header("content-type").starts_with("text/html") {
            assert_eq!(self.header("cache-control"), "no-store");
        }
        // Style is obeyed by the page that loads it, whose policy says what it may do.
        if self.header("content-type").starts_with("text/css") {
            return;
        }
        let policy = self.header("content-security-policy");
        for part in [
            "default-src 'none'",
            "script-src 'self'",
            "form-action 'self'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        ] {
            assert!(policy.split(';').any(|p| p.trim() == part), "{part} is not in {policy:?}");
        }
        assert!(!policy.contains("unsafe"), "{policy}");
        // Nobody at all is told of an address that is itself a secret.
        let referrer = self.header("referrer-policy");
        assert!(["same-origin", "no-referrer"].contains(&referrer), "{referrer}");
        assert_eq!(self.header("cross-origin-opener-policy"), "same-origin");
    }
}
