//! Lists that go on, lists that are cut, and names after the ? that nobody knows.

use serde_json::json;

use super::{Api, Client};
use crate::support::{Bench, on_both};

on_both!(lists_are_read_to_their_end);

/// A list goes on where it ended, each line once; what is cut without going on says so; and nothing is left out because of a
/// slip of the pen.
async fn lists_are_read_to_their_end(b: Bench) {
    let api = Api::new(&b).await;
    let (owner, supervisor) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.supervisor).await);
    let operator = api.sign_in(&b, &b.operator).await;
    operator.ground(b.machine).await;
    b.wait(1);
    operator.ground(b.second_machine).await;
    for n in 0..3 {
        let receipt = json!({ "id": b.workshop.ambient.id::<uuid::Uuid>(), "yard": b.yard, "quantity": n + 1, "value": "1" });
        owner.post(&format!("/parts/{}/receive", b.part), receipt).await.with(200);
    }
    let all = async |client: &Client<'_>, first: &str, member: &str| {
        let (mut found, mut path) = (Vec::new(), first.to_owned());
        loop {
            let answer = client.get(&path).await;
            let next = answer.header("link").to_owned();
            found.extend(answer.with(200)[member].as_array().unwrap().clone());
            let Some((next, _)) = next.strip_prefix("</api/v1").and_then(|n| n.split_once('>')) else {
                return found;
            };
            path = next.to_owned();
        }
    };
    for client in [&owner, &supervisor] {
        let whole = all(client, "/audit?limit=500", "entries").await;
        assert!(whole.len() > 6, "{}", whole.len());
        assert_eq!(all(client, "/audit?limit=2", "entries").await, whole);
        let of_the_part = format!("/audit?limit=1&stream=part%20{}", b.part);
        let found = all(client, &of_the_part, "entries").await;
        assert!(found.len() >= 3 && found.iter().all(|e| whole.contains(e)), "{found:?}");
    }
    assert_eq!(owner.get("/audit?before=7:nowhere").await.pointers(422), ["/before"]);
    assert_eq!(owner.get("/audit?before=nothing").await.pointers(422), ["/before"]);
    let whole = all(&owner, "/stock-ledger?limit=500", "movements").await;
    assert_eq!(whole.len(), 4);
    assert_eq!(all(&owner, "/stock-ledger?limit=1", "movements").await, whole);
    let nowhere = format!("/stock-ledger?before={}", b.machine);
    assert_eq!(owner.get(&nowhere).await.pointers(422), ["/before"]);

    assert_eq!(supervisor.get("/work-orders?page=41").await.pointers(422), ["/page"]);
    assert_eq!(supervisor.get("/work-orders?page=0").await.pointers(422), ["/page"]);
    for path in [
        "/work-orders?pgae=2",
        "/yards?limit=2",
        "/machines?unti=U-07",
        "/parts?yard=",
        "/board?limit=5&Limit=2",
    ] {
        let detail = supervisor.get(path).await.problem(400);
        assert!(detail["detail"].as_str().unwrap().contains("after the ?"), "{path}: {detail}");
    }
    let board = supervisor.get("/board?limit=1").await.with(200);
    assert_eq!((board["grounded"].as_array().unwrap().len(), &board["more"]), (1, &json!(true)));
    assert_eq!(supervisor.get("/board").await.with(200)["more"], false);
    // What is nobody's is not shown as nothing.
    let detail = supervisor.get("/board?yard=Nowhere").await.problem(404);
    assert!(detail["detail"].as_str().unwrap().contains("no such yard"), "{detail}");
    supervisor.get("/board?yard=North%20yard").await.with(200);
    for rows in ["", "/down", "/defects", "/work-orders", "/holds-acknowledged", "/unchecked"] {
        supervisor.get(&format!("/numbers{rows}?yard=Nowhere")).await.problem(404);
        assert_eq!(supervisor.get(&format!("/numbers{rows}?class=boat")).await.pointers(422), ["/class"]);
    }
    // What is asked at this very moment is of the next period.
    b.wait(1);
    let asked = supervisor.get("/numbers/holds-acknowledged?limit=1").await.with(200);
    assert_eq!((asked["holds"].as_array().unwrap().len(), &asked["more"]), (1, &json!(true)));
    b.assert_sound().await;
    api.was_as_promised();
}
