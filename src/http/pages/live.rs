//! Server-sent events: tells an open board or queue that something in one of the person's yards has changed. It says
//! only that; the page asks again, so nothing is shown that the person may not see. Programs listen with their token.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use actix_web::http::header::{AUTHORIZATION, CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE};
use actix_web::{FromRequest, HttpRequest, HttpResponse, ResponseError, web};
use futures_util::stream;
use tokio::sync::broadcast::Receiver;
use tokio::sync::broadcast::error::RecvError;
use tokio::time::Interval;

use crate::domain::ids::YardId;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::http::api::bearer::Bearer;
use crate::http::session::{Signed, here_of};
use crate::workflow::{self, Here, WhoIsIn};

use super::Page;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/live", web::get().to(live));
}

/// Often enough that a proxy does not think the connection idle, and that an ended session is noticed.
const HEARTBEAT: Duration = Duration::from_secs(15);

struct Listening {
    site: web::Data<Site>,
    here: Here,
    actor: Actor,
    changes: Receiver<Arc<str>>,
    heartbeat: Interval,
}

async fn live(req: HttpRequest, site: web::Data<Site>) -> Page {
    let (actor, here) = if req.headers().contains_key(AUTHORIZATION) {
        match Bearer::extract(&req).await {
            Ok(Bearer(actor, here)) => (actor, here),
            Err(problem) => return Ok(problem.error_response()),
        }
    } else {
        (Signed::extract(&req).await?.0, here_of(&req))
    };
    let mut heartbeat = tokio::time::interval(HEARTBEAT);
    heartbeat.reset();
    let listening = Listening { changes: workflow::changes(&site.workshop), here, site, actor, heartbeat };
    let hello = stream::iter([Ok::<_, Infallible>(web::Bytes::from_static(b"retry: 5000\n: listening\n\n"))]);
    let events =
        stream::unfold(listening, |mut l| async move { next(&mut l).await.map(|text| (Ok(text.into()), l)) });
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "text/event-stream; charset=utf-8"))
        .insert_header((CACHE_CONTROL, "no-store"))
        // Compressed, events would sit in the compressor until it has a block full of them.
        .insert_header((CONTENT_ENCODING, "identity"))
        // Some proxies hold answers back unless told not to.
        .insert_header(("x-accel-buffering", "no"))
        .streaming(futures_util::StreamExt::chain(hello, events)))
}

/// The next thing to send; `None` when the session has ended or nothing will ever be announced again.
async fn next(l: &mut Listening) -> Option<String> {
    loop {
        tokio::select! {
            change = l.changes.recv() => match change {
                // Rights and sessions end at once, not with the next heartbeat.
                Ok(topic) if &*topic == workflow::WHO_IS_IN => {
                    if !is_still_in(l).await {
                        return None;
                    }
                }
                Ok(topic) if concerns(&l.actor, &topic) => return Some(event(&topic)),
                Ok(_) => {}
                // Missed some: look again at everything.
                Err(RecvError::Lagged(_)) => return Some(event("all")),
                Err(RecvError::Closed) => return None,
            },
            _ = l.heartbeat.tick() => {
                if !is_still_in(l).await {
                    return None;
                }
                return Some(": still here\n\n".to_owned());
            }
        }
    }
}

/// A database that does not answer is no reason to sign anybody out.
async fn is_still_in(l: &mut Listening) -> bool {
    let workshop = &l.site.workshop;
    let who = match (&l.here.session, l.here.family) {
        (_, Some(family)) => workflow::who_has_token(workshop, l.actor.id, family).await,
        (secret, None) => workflow::who_is_in(workshop, secret.as_deref().unwrap_or_default()).await,
    };
    match who {
        Ok(WhoIsIn::In(actor)) => l.actor = actor,
        Ok(WhoIsIn::Nobody | WhoIsIn::SecondStepFirst(_)) => return false,
        Err(e) => tracing::warn!(error = ?e, "a live page's session could not be looked up"),
    }
    true
}

/// A topic is a yard's id. A word that is none and not the outbox's means that some were missed.
fn concerns(actor: &Actor, topic: &str) -> bool {
    match topic.parse::<YardId>() {
        Ok(yard) => actor.in_yard(yard),
        Err(_) => topic != "outbox",
    }
}

fn event(topic: &str) -> String {
    format!("event: changed\ndata: {topic}\n\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::ids::PersonId;
    use crate::domain::person::Role;
    use uuid::Uuid;

    #[test]
    fn only_ones_own_yards_are_heard_of() {
        let (mine, other) = (YardId(Uuid::from_u128(1)), YardId(Uuid::from_u128(2)));
        let mut actor = Actor {
            id: PersonId(Uuid::nil()),
            name: String::new(),
            roles: vec![Role::Mechanic],
            yards: vec![mine],
            by_pin: false,
            long_ago: false,
        };
        assert!(concerns(&actor, &mine.to_string()));
        assert!(!concerns(&actor, &other.to_string()));
        assert!(!concerns(&actor, "outbox"));
        assert!(concerns(&actor, "all"));
        actor.roles = vec![Role::Owner];
        assert!(concerns(&actor, &other.to_string()));
    }
}
