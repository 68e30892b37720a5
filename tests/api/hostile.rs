//! Bodies that are made to be too much: too deep, too many, too long, or larger than they look.

use std::io::Write;

use actix_web::test::TestRequest;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde_json::json;
use uuid::Uuid;

use super::{Api, Client};
use crate::support::{Bench, on_both};

on_both!(what_is_too_much_is_refused_and_the_next_is_answered);

async fn put(b: &Bench, client: &Client<'_>, how: &[(&'static str, &str)], body: Vec<u8>) -> super::Answer {
    let mut request = TestRequest::put().set_payload(body);
    for (name, value) in how {
        request = request.insert_header((*name, (*value).to_owned()));
    }
    client.send(request, &format!("/holds/{}", b.workshop.ambient.id::<Uuid>())).await
}

fn packed(plain: &[u8]) -> Vec<u8> {
    let mut packer = GzEncoder::new(Vec::new(), Compression::best());
    packer.write_all(plain).unwrap();
    packer.finish().unwrap()
}

async fn what_is_too_much_is_refused_and_the_next_is_answered(b: Bench) {
    let api = Api::new(&b).await;
    let client = api.sign_in(&b, &b.operator).await;
    let hold = json!({ "machine": b.machine, "reason": "Stood in the flood" }).to_string();
    let json = ("Content-Type", "application/json");

    // RFC 8259, 9: a reader may limit the depth of nesting. 100,000 levels would take a recursive one's stack.
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        let deep = format!("{}1{}", open.repeat(30_000), close.repeat(30_000));
        let refused = put(&b, &client, &[json], deep.into_bytes()).await;
        assert!([400, 422].contains(&refused.status), "{}: {}", refused.status, refused.body);
    }
    let long = json!({ "machine": b.machine, "reason": "x".repeat(300_000) }).to_string();
    put(&b, &client, &[json], long.into_bytes()).await.problem(413);
    // Twenty megabytes of spaces in twenty kilobytes: nothing is unpacked, and whoever packed a sound body is told.
    for packed_body in
        [packed(&vec![b' '; 20 * 1024 * 1024]), packed(hold.as_bytes()), b"no gzip at all".to_vec()]
    {
        assert!(packed_body.len() < 50_000);
        put(&b, &client, &[json, ("Content-Encoding", "gzip")], packed_body).await.problem(415);
    }
    put(&b, &client, &[json, ("Content-Encoding", "identity")], hold.into_bytes()).await.with(201);

    // Lists are held to what a checklist can hold, not to what fits the body.
    let answers: Vec<_> = (0..4_000).map(|n| json!({ "item": format!("i{n}"), "outcome": "ok" })).collect();
    let check = json!({ "machine": b.machine, "checklist": b.checklist_id.0, "load": "unladen",
        "engine_hours": "1300", "answers": answers });
    let sent = TestRequest::put().set_json(check);
    let refused = client.send(sent, &format!("/checks/{}", b.workshop.ambient.id::<Uuid>())).await;
    assert!([413, 422].contains(&refused.status), "{}: {}", refused.status, refused.body);

    // A table of many lines, and one line without end.
    for body in ["x,".repeat(3_000_000), "unit number,yard,class\n".to_owned() + &"\n".repeat(6_000_000)] {
        let owner = api.sign_in(&b, &b.owner).await;
        let sent = TestRequest::post().insert_header(("Content-Type", "text/csv")).set_payload(body);
        let refused = owner.send(sent, "/import/machines").await;
        assert!([413, 422].contains(&refused.status), "{}: {}", refused.status, refused.body);
        assert!(refused.body.to_string().len() < 100_000, "the refusal is as large as what it refuses");
    }
    client.get(&format!("/machines/{}", b.machine)).await.with(200);
}
