//! What is on its way out, as a client sees it: the headers of RFC 9745 and RFC 8594. Nothing is, so this has a table of its own.

use actix_web::http::header::LINK;
use chock::http::api::leaving::Leaving;

use super::Api;
use crate::support::{Bench, Engine};

const SOME: &[Leaving] = &[
    Leaving {
        method: "GET",
        path: "/api/v1/machines",
        since: "2026-11-01T00:00:00Z",
        until: "2027-11-01T00:00:00Z",
        instead: "Ask GET /api/v1/board.",
    },
    Leaving {
        method: "POST",
        path: "/api/v1/work-orders/{id}/pin",
        since: "2026-11-01T00:00:00Z",
        until: "2028-01-01T00:00:00Z",
        instead: "Ask nothing.",
    },
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_going_out_says_so_with_every_answer() {
    let b = Bench::new(Engine::Sqlite).await;
    let api = Api::with(&b, SOME).await;
    let owner = api.sign_in(&b, &b.owner).await;
    let page = owner.get("/machines?limit=1").await;
    // 2026-11-01 00:00:00 UTC is 1,793,491,200 seconds after the beginning of 1970 (`date -u -d 2026-11-01 +%s`).
    assert_eq!(page.header("deprecation"), "@1793491200");
    assert_eq!(page.header("sunset"), "Mon, 01 Nov 2027 00:00:00 GMT");
    let links: Vec<_> = page.headers.get_all(LINK).map(|l| l.to_str().unwrap().to_owned()).collect();
    assert!(links.iter().any(|l| l.contains(r#"rel="next""#)), "{links:?}");
    let policy = r#"<http://chock.example/for-programs#leaving>; rel="deprecation"; type="text/html""#;
    assert!(links.iter().any(|l| l == policy), "{links:?}");
    page.with(200);
    // Whatever the answer is.
    let order = owner.ground(b.machine).await;
    let pinned = owner.post(&format!("/work-orders/{order}/pin"), serde_json::json!({})).await;
    assert_eq!(pinned.header("sunset"), "Sat, 01 Jan 2028 00:00:00 GMT");
    let wrong = owner.get("/machines?limit=many").await;
    assert_eq!(wrong.header("deprecation"), "@1793491200");
    wrong.problem(400);
    // Another method of the address, and everything else, stays.
    for path in ["/yards", "/board"] {
        assert_eq!(owner.get(path).await.header("deprecation"), "");
    }
    let unpinned = owner.post(&format!("/work-orders/{order}/unpin"), serde_json::json!({})).await;
    assert_eq!(unpinned.header("sunset"), "");
}
