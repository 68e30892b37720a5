//! Other programs are told as Standard Webhooks 1.0 has it. What arrives is verified by the specification's own Rust library.

use std::sync::Arc;
use std::time::Duration;

use chock::domain::hearing::AlertKind;
use chock::domain::ids::WebhookId;
use chock::domain::retention::{RecordKind, Retention};
use chock::notify::{Courier, Http};
use chock::tasks::post_webhooks_once;
use chock::workflow::{self, NewWebhook, OutboxState, WebhookMessageRow};
use chrono::TimeDelta;
use serde_json::Value;

use crate::support::listener::{Heard, Listener};
use crate::support::{Bench, on_both};

on_both!(
    what_arrives_is_signed_and_says_what_happened,
    only_what_was_asked_for_and_only_of_its_yard,
    both_secrets_sign_for_a_day,
    what_fails_is_tried_again_under_the_same_id,
    an_address_that_fails_for_days_is_switched_off_and_the_owners_are_told,
    an_address_that_is_gone_is_switched_off_at_once,
    nothing_is_sent_into_a_private_network_unless_the_settings_allow_it,
);

fn courier(private_too: bool) -> Arc<dyn Courier> {
    Arc::new(Http::new(private_too, Duration::from_secs(5)).unwrap())
}

async fn add(b: &Bench, listener: &Listener, kinds: &[AlertKind]) -> (WebhookId, String) {
    let new = NewWebhook { url: listener.url(), kinds: kinds.to_vec(), ..NewWebhook::default() };
    workflow::add_webhook(&b.workshop, &b.owner, new, true).await.unwrap()
}

async fn post_all(b: &Bench, courier: &Arc<dyn Courier>) -> usize {
    let mut tried = 0;
    loop {
        match post_webhooks_once(&b.workshop, courier).await.unwrap() {
            0 => return tried,
            n => tried += n,
        }
    }
}

async fn messages(b: &Bench, id: WebhookId) -> Vec<WebhookMessageRow> {
    workflow::webhook(&b.workshop, &b.owner, id, 500).await.unwrap().1
}

/// Whether one of the signatures is the one that the specification's own library makes. Its `verify` would compare the time with
/// the real clock, which the tests' is not.
fn verified(heard: &Heard, secret: &str) -> bool {
    let webhook = standardwebhooks::Webhook::new(secret).unwrap();
    let timestamp = heard.headers["webhook-timestamp"].parse().unwrap();
    let theirs = webhook.sign(&heard.headers["webhook-id"], timestamp, heard.body.as_bytes()).unwrap();
    heard.headers["webhook-signature"].split(' ').any(|ours| ours == theirs)
}

async fn what_arrives_is_signed_and_says_what_happened(b: Bench) {
    let listener = Listener::start().await;
    let (id, secret) = add(&b, &listener, &[]).await;
    assert!(secret.starts_with("whsec_"));
    b.ground(b.machine).await;
    assert_eq!(post_all(&b, &courier(true)).await, 1);
    let heard = listener.heard();
    assert_eq!(heard.len(), 1);
    assert!(verified(&heard[0], &secret));
    let mut forged = heard[0].clone();
    forged.body = forged.body.replace("U-07", "U-08");
    assert!(!verified(&forged, &secret), "another body is not signed");
    assert!(!verified(&heard[0], "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"), "nor by another secret");
    assert_eq!(heard[0].headers["webhook-timestamp"], b.now().timestamp().to_string());
    assert_eq!(heard[0].headers["content-type"], "application/json");
    let message = &messages(&b, id).await[0];
    assert_eq!(heard[0].headers["webhook-id"], message.id.to_string());
    assert_eq!((message.state, message.last_answer.as_str()), (OutboxState::Delivered, "200 heard"));
    // The three members the specification recommends: type, timestamp, data.
    let body: Value = serde_json::from_str(&heard[0].body).unwrap();
    assert_eq!(body["type"], "machine.held");
    assert_eq!(body["timestamp"], "2026-11-25T06:00:00Z");
    assert_eq!(body["data"]["unit_number"], "U-07");
    assert_eq!(body["data"]["machine"], b.machine.to_string());
    let why = &body["data"]["event"]["why"][0]["what"];
    assert!(why.is_string(), "in one language: {why}");
    b.assert_sound().await;
}

async fn only_what_was_asked_for_and_only_of_its_yard(b: Bench) {
    let (listener, other) = (Listener::start().await, Listener::start().await);
    let (id, _) = add(&b, &listener, &[AlertKind::Released]).await;
    let elsewhere = b.somebody_elsewhere().await.yards[0];
    let new = NewWebhook { url: other.url(), yard: Some(elsewhere), ..NewWebhook::default() };
    workflow::add_webhook(&b.workshop, &b.owner, new, true).await.unwrap();
    workflow::webhooks(&b.workshop, &b.supervisor).await.expect_err("the owner's business");
    let order = b.ground(b.machine).await;
    b.repair(order).await;
    b.wait(1);
    b.pass_retests(order).await;
    workflow::release(&b.workshop, &b.supervisor, order, "").await.unwrap();
    assert_eq!(post_all(&b, &courier(true)).await, 1);
    assert!(listener.heard()[0].body.contains("machine.released"));
    assert!(other.heard().is_empty());
    // A test message goes whatever was asked for; nothing goes to what was switched off or removed.
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    assert_eq!(post_all(&b, &courier(true)).await, 1);
    assert!(listener.heard()[1].body.contains("webhook.test"));
    workflow::switch_webhook(&b.workshop, &b.owner, id, false).await.unwrap();
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    assert_eq!(post_all(&b, &courier(true)).await, 0);
    workflow::switch_webhook(&b.workshop, &b.owner, id, true).await.unwrap();
    assert_eq!(post_all(&b, &courier(true)).await, 1, "what was owed waited");
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    workflow::remove_webhook(&b.workshop, &b.owner, id).await.unwrap();
    assert_eq!(post_all(&b, &courier(true)).await, 0);
    b.assert_sound().await;
}

async fn both_secrets_sign_for_a_day(b: Bench) {
    let listener = Listener::start().await;
    let (id, old) = add(&b, &listener, &[]).await;
    let new = workflow::rotate_webhook(&b.workshop, &b.owner, id).await.unwrap();
    assert_ne!(old, new);
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    post_all(&b, &courier(true)).await;
    let heard = listener.heard();
    assert!(verified(&heard[0], &old) && verified(&heard[0], &new));
    assert_eq!(heard[0].headers["webhook-signature"].split(' ').count(), 2);
    b.wait(24 * 60);
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    post_all(&b, &courier(true)).await;
    let heard = listener.heard();
    assert!(!verified(&heard[1], &old) && verified(&heard[1], &new));
}

async fn what_fails_is_tried_again_under_the_same_id(b: Bench) {
    let listener = Listener::start().await;
    let (id, _) = add(&b, &listener, &[]).await;
    let courier = courier(true);
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    let elsewhere = Listener::start().await;
    let redirect = format!("302 Found\r\nlocation: {}", elsewhere.url());
    for (answer, wait) in [("503 Service Unavailable", 1), ("404 Not Found", 5), (redirect.as_str(), 15)] {
        listener.answer_next(answer);
        assert_eq!(post_all(&b, &courier).await, 1);
        let message = messages(&b, id).await.remove(0);
        assert_eq!(message.state, OutboxState::Owed, "{answer}");
        assert_eq!(message.next_at - b.now(), TimeDelta::minutes(wait), "{answer}");
        assert!(message.last_answer.starts_with(&answer[..3]), "{}", message.last_answer);
        b.wait(wait);
    }
    assert_eq!(elsewhere.connections(), 0, "a redirect is not followed");
    assert_eq!(post_all(&b, &courier).await, 1);
    assert_eq!(messages(&b, id).await[0].state, OutboxState::Delivered);
    let mut ids: Vec<String> = listener.heard().iter().map(|h| h.headers["webhook-id"].clone()).collect();
    assert_eq!(ids.len(), 4);
    ids.dedup();
    assert_eq!(ids.len(), 1);
    let hook = workflow::webhooks(&b.workshop, &b.owner).await.unwrap().remove(0);
    assert_eq!(hook.failing_since, None, "it takes something again");
    // What was taken goes after the time that the owner sets; what was not stays.
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    listener.answer_next("503 Service Unavailable");
    post_all(&b, &courier).await;
    let keep = |kind| if kind == RecordKind::Messages { "3" } else { "" };
    workflow::set_retention(&b.workshop, &b.owner, &Retention::parse(keep).unwrap()).await.unwrap();
    b.wait(60 * 24 * 80);
    assert_eq!(workflow::remove_once(&b.workshop).await.unwrap(), 0, "younger than three months");
    b.wait(60 * 24 * 20);
    assert_eq!(workflow::remove_once(&b.workshop).await.unwrap(), 1);
    let left = messages(&b, id).await;
    assert!(left.len() == 1 && left[0].state == OutboxState::Owed, "{left:?}");
}

async fn an_address_that_fails_for_days_is_switched_off_and_the_owners_are_told(b: Bench) {
    let listener = Listener::start().await;
    let (id, _) = add(&b, &listener, &[]).await;
    let courier = courier(true);
    // A new one each day: no single message is tried for longer than five days.
    for day in 0..=5 {
        workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
        for _ in 0..50 {
            listener.answer_next("500 Internal Server Error");
        }
        post_all(&b, &courier).await;
        let hook = workflow::webhooks(&b.workshop, &b.owner).await.unwrap().remove(0);
        assert_eq!(hook.disabled_at.is_some(), day == 5, "day {day}");
        b.wait(24 * 60);
    }
    let outbox = workflow::outbox(&b.workshop, &b.owner, 50).await.unwrap();
    let told: Vec<_> = outbox.iter().filter(|o| o.kind == AlertKind::WebhookOff).collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].person_id, b.owner.id);
    assert!(told[0].alert.contains("localhost") && told[0].alert.contains("500"), "{}", told[0].alert);
    assert_eq!(post_all(&b, &courier).await, 0);
    assert!(
        workflow::outbox(&b.workshop, &b.supervisor, 50).await.unwrap().is_empty(),
        "the owners' own matter"
    );
    b.assert_sound().await;
}

async fn an_address_that_is_gone_is_switched_off_at_once(b: Bench) {
    let listener = Listener::start().await;
    let (id, _) = add(&b, &listener, &[]).await;
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    // Standard Webhooks 1.0: a 410 asks for no more messages.
    listener.answer_next("410 Gone");
    assert_eq!(post_all(&b, &courier(true)).await, 1);
    let hook = workflow::webhooks(&b.workshop, &b.owner).await.unwrap().remove(0);
    assert!(hook.disabled_at.is_some() && hook.disabled_why.starts_with("410"), "{hook:?}");
    assert_eq!(messages(&b, id).await[0].state, OutboxState::Failed);
}

async fn nothing_is_sent_into_a_private_network_unless_the_settings_allow_it(b: Bench) {
    let listener = Listener::start().await;
    let new = |url: String| NewWebhook { url, ..NewWebhook::default() };
    workflow::add_webhook(&b.workshop, &b.owner, new(listener.url()), false).await.expect_err("not https");
    let port = listener.port;
    // Names and figures that lead to this computer, in several spellings; the look-up decides, not the text.
    for host in ["localhost", "127.0.0.1", "[::1]", "2130706433", "0x7f.1", "[::ffff:127.0.0.1]"] {
        let url = format!("https://{host}:{port}/");
        let (id, _) = workflow::add_webhook(&b.workshop, &b.owner, new(url), false).await.unwrap();
        workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
        assert_eq!(post_all(&b, &courier(false)).await, 1, "{host}");
        let message = messages(&b, id).await.remove(0);
        assert!(message.last_answer.contains("private network"), "{host}: {}", message.last_answer);
        workflow::remove_webhook(&b.workshop, &b.owner, id).await.unwrap();
    }
    assert_eq!(listener.connections(), 0, "nobody knocked");
    let (id, _) = add(&b, &listener, &[]).await;
    workflow::try_webhook(&b.workshop, &b.owner, id).await.unwrap();
    post_all(&b, &courier(true)).await;
    assert_eq!(listener.heard().len(), 1, "the settings allow it");
}
