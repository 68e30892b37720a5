//! Other programs that are told: the owner sets the addresses up, and each event is put down for them in its own transaction.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};

use super::deliver::next_attempt;
use super::tell::{self, Asks};
use super::trail::Trail;
use super::{Result, Workshop, from_json, to_json};
use crate::domain::alert::{Alert, Event};
use crate::domain::hearing::AlertKind;
use crate::domain::ids::{WebhookId, WebhookMessageId, YardId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, optional_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::webhook::{SENT, TEST, address, host_of, type_of};
use crate::storage::{Tx, WebhookMessageRow, WebhookRow};
use crate::words::Lang;

#[derive(Clone, Debug, Default)]
pub struct NewWebhook {
    pub url: String,
    pub about: String,
    /// Every yard when none is named.
    pub yard: Option<YardId>,
    /// Everything that can be sent when empty.
    pub kinds: Vec<AlertKind>,
}

/// One message that is owed to one address.
#[derive(Clone, Debug)]
pub struct WebhookDelivery {
    pub id: WebhookMessageId,
    pub webhook: WebhookId,
    pub url: String,
    /// Of now: the signature says when it was sent.
    pub at: DateTime<Utc>,
    pub body: String,
    /// Whichever may still sign: the newest first.
    pub secrets: Vec<String>,
    pub attempts: i64,
    pub created_at: DateTime<Utc>,
}

/// So long the old secret signs beside the new one.
pub const BOTH_SECRETS: TimeDelta = TimeDelta::hours(24);
/// An address that has taken nothing for so long is switched off.
const FAILING_AT_MOST: TimeDelta = TimeDelta::days(5);
/// Longer than any try takes.
const LEASE: TimeDelta = TimeDelta::minutes(5);

pub async fn webhooks(workshop: &Workshop, actor: &Actor) -> Result<Vec<WebhookRow>> {
    actor.must(Act::SetUpPeople)?;
    Ok(workshop.db.read().await?.webhooks().await?)
}

/// One address with the newest of what was sent to it.
pub async fn webhook(
    workshop: &Workshop,
    actor: &Actor,
    id: WebhookId,
    most: i64,
) -> Result<(WebhookRow, Vec<WebhookMessageRow>)> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.read().await?;
    let hook = tx.webhook(id).await?.ok_or(Refusal::NotFound(Thing::Webhook))?;
    Ok((hook, tx.webhook_messages(id, most).await?))
}

/// Answers the secret, which is shown once.
pub async fn add_webhook(
    workshop: &Workshop,
    actor: &Actor,
    new: NewWebhook,
    private_too: bool,
) -> Result<(WebhookId, String)> {
    actor.must(Act::SetUpPeople)?;
    let now = workshop.ambient.now();
    let url = address(&new.url, private_too)?;
    let about = optional_text("/about", said!("what-webhook-for"), &new.about, 200)?;
    let kinds: Vec<AlertKind> = SENT.into_iter().filter(|k| new.kinds.contains(k)).collect();
    let (id, secret): (WebhookId, _) = (workshop.ambient.id(), new_secret(workshop));
    let mut tx = workshop.db.begin().await?;
    if let Some(yard) = new.yard {
        tx.yard(yard).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    }
    tx.insert_webhook(id, new.yard, &url, &about, &to_json(&kinds)?, &secret, actor.id, now).await?;
    record(tx, actor, id, &url, TrailAct::WebhookAdded, TrailState::InUse, now).await?;
    Ok((id, secret))
}

/// Answers the new secret; the old one goes on signing for a day.
pub async fn rotate_webhook(workshop: &Workshop, actor: &Actor, id: WebhookId) -> Result<String> {
    let now = workshop.ambient.now();
    let (mut tx, hook) = owned(workshop, actor, id).await?;
    let secret = new_secret(workshop);
    tx.rotate_webhook(id, &secret, now + BOTH_SECRETS).await?;
    record(tx, actor, id, &hook.url, TrailAct::WebhookRotated, TrailState::Set, now).await?;
    Ok(secret)
}

/// On again, or off: what is owed meanwhile waits.
pub async fn switch_webhook(workshop: &Workshop, actor: &Actor, id: WebhookId, on: bool) -> Result<()> {
    let now = workshop.ambient.now();
    let (mut tx, hook) = owned(workshop, actor, id).await?;
    tx.switch_webhook(id, (!on).then_some(now), "").await?;
    let state = if on { TrailState::InUse } else { TrailState::Disabled };
    record(tx, actor, id, &hook.url, TrailAct::WebhookSwitched, state, now).await
}

pub async fn remove_webhook(workshop: &Workshop, actor: &Actor, id: WebhookId) -> Result<()> {
    let now = workshop.ambient.now();
    let (mut tx, hook) = owned(workshop, actor, id).await?;
    tx.remove_webhook(id, now).await?;
    record(tx, actor, id, &hook.url, TrailAct::WebhookRemoved, TrailState::Ended, now).await
}

/// Sends a message that says nothing, to try the address out.
pub async fn try_webhook(workshop: &Workshop, actor: &Actor, id: WebhookId) -> Result<WebhookMessageId> {
    let now = workshop.ambient.now();
    let (mut tx, _) = owned(workshop, actor, id).await?;
    let message: WebhookMessageId = workshop.ambient.id();
    let body = to_json(&json!({"type": TEST, "timestamp": now, "data": {}}))?;
    tx.insert_webhook_messages(&[(message, id)], &format!("test {message}"), TEST, &body, now).await?;
    tx.announce("outbox");
    tx.commit().await?;
    Ok(message)
}

/// Puts a message back into the queue by hand; it keeps its id.
pub async fn resend_webhook_message(
    workshop: &Workshop,
    actor: &Actor,
    id: WebhookId,
    message: WebhookMessageId,
) -> Result<()> {
    let (mut tx, _) = owned(workshop, actor, id).await?;
    let row = tx.webhook_message(message).await?.filter(|m| m.webhook_id == id);
    row.ok_or(Refusal::NotFound(Thing::Alert))?;
    tx.resend_webhook_message(message, workshop.ambient.now()).await?;
    tx.announce("outbox");
    Ok(tx.commit().await?)
}

/// Puts an event down for every address that wants to know of it.
pub(super) async fn owe(
    workshop: &Workshop,
    tx: &mut Tx,
    yard: Option<YardId>,
    event_key: &str,
    alert: &Alert,
    now: DateTime<Utc>,
) -> Result<()> {
    let kind = alert.event.kind();
    let Some(kind_said) = type_of(kind) else { return Ok(()) };
    let mut to = Vec::new();
    for (hook, kinds) in tx.webhooks_for(yard).await? {
        let kinds: Vec<AlertKind> = from_json(&kinds)?;
        if kinds.is_empty() || kinds.contains(&kind) {
            to.push((workshop.ambient.id(), hook));
        }
    }
    if to.is_empty() {
        return Ok(());
    }
    let data = serde_json::to_value(alert).unwrap_or_default();
    let body = to_json(&json!({"type": kind_said, "timestamp": alert.at, "data": in_one_language(data)}))?;
    Ok(tx.insert_webhook_messages(&to, event_key, kind_said, &body, now).await?)
}

/// Leases up to `most` messages that are due.
pub async fn lease_webhook_deliveries(workshop: &Workshop, most: i64) -> Result<Vec<WebhookDelivery>> {
    let now = workshop.ambient.now();
    if !workshop.db.read().await?.webhook_message_is_due(now, now + LEASE).await? {
        return Ok(Vec::new());
    }
    let mut tx = workshop.db.begin().await?;
    let mut deliveries = Vec::new();
    for id in tx.lease_webhook_messages(now, now + LEASE, most).await? {
        let Some(message) = tx.webhook_message(id).await? else { continue };
        let Some(hook) = tx.webhook(message.webhook_id).await? else { continue };
        let old = hook.old_secret.filter(|_| hook.old_until.is_some_and(|until| now < until));
        deliveries.push(WebhookDelivery {
            id,
            webhook: hook.id,
            url: hook.url,
            at: now,
            body: message.body,
            secrets: std::iter::once(hook.secret).chain(old).collect(),
            attempts: message.attempts,
            created_at: message.created_at,
        });
    }
    tx.commit().await?;
    Ok(deliveries)
}

pub async fn webhook_delivered(workshop: &Workshop, delivery: &WebhookDelivery, answer: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.webhook_message_delivered(delivery.id, answer, workshop.ambient.now()).await?;
    tx.webhook_failing(delivery.webhook, None).await?;
    Ok(tx.commit().await?)
}

/// Tried again as mails are. An address that is gone, or that has taken nothing for days, is switched off, and the owners are
/// told.
pub async fn webhook_not_delivered(
    workshop: &Workshop,
    delivery: &WebhookDelivery,
    gone: bool,
    answer: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let next_at = if gone { None } else { next_attempt(delivery.created_at, now, delivery.attempts) };
    tx.webhook_message_not_delivered(delivery.id, answer, next_at, now).await?;
    let Some(hook) = tx.webhook(delivery.webhook).await? else { return Ok(tx.commit().await?) };
    let since = hook.failing_since.unwrap_or(now);
    if hook.failing_since.is_none() {
        tx.webhook_failing(hook.id, Some(now)).await?;
    }
    if hook.disabled_at.is_none() && (gone || now - since >= FAILING_AT_MOST) {
        tx.switch_webhook(hook.id, Some(now), answer).await?;
        let owners = tx.owners().await?;
        if let Some(first) = owners.first() {
            let actor = Actor {
                id: *first,
                name: "Chock".to_owned(),
                roles: vec![],
                yards: vec![],
                by_pin: false,
                long_ago: false,
            };
            let host = host_of(&hook.url).to_owned();
            let event = Event::WebhookOff { host, since, last_answer: answer.to_owned() };
            let key = format!("webhook {} off {}", hook.id, now.timestamp_micros());
            let asks = Asks { event_key: "", people: &[] };
            tell::send(workshop, &mut tx, &actor, None, None, &key, event, &owners, asks, now).await?;
            let mut trail = Trail::new(&actor, now);
            let subject = format!("webhook {}", host_of(&hook.url));
            trail.add(TrailAct::WebhookSwitched, subject, TrailState::InUse, TrailState::Disabled, answer);
            trail.write(&mut tx, &format!("webhook {}", hook.id)).await?;
        }
    }
    tx.announce("outbox");
    Ok(tx.commit().await?)
}

async fn owned(workshop: &Workshop, actor: &Actor, id: WebhookId) -> Result<(Tx, WebhookRow)> {
    actor.must(Act::SetUpPeople)?;
    let mut tx = workshop.db.begin().await?;
    let hook = tx.webhook(id).await?.ok_or(Refusal::NotFound(Thing::Webhook))?;
    Ok((tx, hook))
}

async fn record(
    mut tx: Tx,
    actor: &Actor,
    id: WebhookId,
    url: &str,
    act: TrailAct,
    state: TrailState,
    now: DateTime<Utc>,
) -> Result<()> {
    let mut trail = Trail::new(actor, now);
    trail.add(act, format!("webhook {}", host_of(url)), "", state, "");
    trail.write(&mut tx, &format!("webhook {id}")).await?;
    tx.announce("outbox");
    Ok(tx.commit().await?)
}

/// 256 bits, as Standard Webhooks writes a symmetric secret.
fn new_secret(workshop: &Workshop) -> String {
    format!("whsec_{}", STANDARD.encode(workshop.ambient.bytes::<32>()))
}

/// Programs read one language: where a text is there in several, the first.
fn in_one_language(value: Value) -> Value {
    match value {
        Value::Object(mut fields) => {
            let is_text = !fields.is_empty() && fields.keys().all(|k| Lang::of_tag(k).is_some());
            if is_text && let Some(text) = fields.remove(Lang::En.tag()) {
                return text;
            }
            Value::Object(fields.into_iter().map(|(k, v)| (k, in_one_language(v))).collect())
        }
        Value::Array(items) => Value::Array(items.into_iter().map(in_one_language).collect()),
        other => other,
    }
}
