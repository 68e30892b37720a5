//! Keeps the tasks going: one that fails says so in the log and goes on after a pause.

use std::sync::Arc;
use std::time::{Duration, Instant};

use tokio::sync::{broadcast, watch};
use tokio::task::JoinHandle;
use uuid::Uuid;

use super::deliver::{Post, deliver_once};
use super::post_webhooks::post_webhooks_once;
use crate::notify::Courier;
use crate::workflow::{self, Turn, WorkflowError, Workshop};

/// The running tasks.
pub struct Tasks {
    stop: watch::Sender<bool>,
    workshop: Workshop,
    /// Among those that share the database.
    server: Uuid,
    running: Vec<JoinHandle<()>>,
}

/// A watch set by another process ends within this of its date, and a mail's next attempt starts within this of its time.
const LONGEST_PAUSE: Duration = Duration::from_secs(20);
const BETWEEN_LOOKS: Duration = Duration::from_millis(100);
/// One look serves for all that a busy yard commits in the meantime.
const BETWEEN_FORECASTS: Duration = Duration::from_secs(1);
const AFTER_A_FAILURE: Duration = Duration::from_secs(5);
/// Open boards show what was, as long as nobody listens.
const BEFORE_LISTENING_AGAIN: Duration = Duration::from_secs(1);
const BETWEEN_BEATS: Duration = Duration::from_secs(2);
const BETWEEN_TIDYINGS: Duration = Duration::from_secs(3600);
const BETWEEN_REMOVALS: Duration = Duration::from_secs(24 * 3600);

/// Starts delivering by mail and by webhook, watching, foreseeing, relaying and tidying.
pub fn start(workshop: &Workshop, post: &Post, courier: &Arc<dyn Courier>) -> Tasks {
    let (stop, stopping) = watch::channel(false);
    let server: Uuid = workshop.ambient.id();
    let running = vec![
        tokio::spawn(deliver(workshop.clone(), post.clone(), stopping.clone())),
        tokio::spawn(post_webhooks(workshop.clone(), courier.clone(), stopping.clone())),
        tokio::spawn(watch_good_until(workshop.clone(), stopping.clone())),
        tokio::spawn(watch_promises(workshop.clone(), stopping.clone())),
        tokio::spawn(foresee(workshop.clone(), server, stopping.clone())),
        tokio::spawn(relay(workshop.clone(), stopping.clone())),
        tokio::spawn(tidy(workshop.clone(), server, stopping.clone())),
        tokio::spawn(remove_old(workshop.clone(), server, stopping.clone())),
        tokio::spawn(beat(workshop.clone(), stopping)),
    ];
    Tasks { stop, workshop: workshop.clone(), server, running }
}

impl Tasks {
    /// Lets each task finish what it is doing, then ends it.
    pub async fn stop(self) {
        let _ = self.stop.send(true);
        for task in self.running {
            let _ = task.await;
        }
        if let Err(e) = workflow::give_up_turns(&self.workshop, self.server).await {
            tracing::warn!(error = ?e, "other servers wait until the turns of this one end by themselves");
        }
    }
}

async fn deliver(workshop: Workshop, post: Post, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    loop {
        let pause = match deliver_once(&workshop, &post).await {
            Ok(0) => LONGEST_PAUSE,
            // More may be due: go on at once, unless told to stop.
            Ok(_) => Duration::ZERO,
            Err(e) => failed("deliver", &e),
        };
        // Whatever was committed may owe a mail.
        if !woken(&mut changes, &mut stopping, pause).await {
            return;
        }
    }
}

async fn post_webhooks(workshop: Workshop, courier: Arc<dyn Courier>, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    loop {
        let pause = match post_webhooks_once(&workshop, &courier).await {
            Ok(0) => LONGEST_PAUSE,
            Ok(_) => Duration::ZERO,
            Err(e) => failed("webhooks", &e),
        };
        if !woken(&mut changes, &mut stopping, pause).await {
            return;
        }
    }
}

async fn watch_good_until(workshop: Workshop, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    loop {
        let pause = match watch_once(&workshop).await {
            Ok(pause) => pause,
            Err(e) => failed("watch", &e),
        };
        // A meter reading may have ended a watch by engine hours.
        if !woken(&mut changes, &mut stopping, pause).await {
            return;
        }
    }
}

/// Ends what is due, and says how long to rest: until the next watch ends, so that its end is not late.
async fn watch_once(workshop: &Workshop) -> Result<Duration, WorkflowError> {
    workflow::end_watches(workshop).await?;
    workflow::close_forgotten_timers(workshop).await?;
    workflow::pass_on(workshop).await?;
    workflow::send_digests(workshop).await?;
    let watch = workflow::until_next_watch_end(workshop).await?;
    let timer = workflow::until_next_timer_end(workshop).await?;
    let in_line = workflow::until_next_in_line(workshop).await?;
    let digest = workflow::until_next_digest(workshop).await?;
    let next =
        watch.into_iter().chain(timer).chain(in_line).chain(digest).min().and_then(|d| d.to_std().ok());
    Ok(next.unwrap_or(LONGEST_PAUSE).clamp(BETWEEN_LOOKS, LONGEST_PAUSE))
}

/// Tells of repairs outside whose promise has passed.
async fn watch_promises(workshop: Workshop, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    loop {
        let pause = match workflow::tell_of_late_outside(&workshop).await {
            Ok(_) => LONGEST_PAUSE,
            Err(e) => failed("promises", &e),
        };
        if !woken(&mut changes, &mut stopping, pause).await {
            return;
        }
    }
}

/// Foresees anew when something changed, every few minutes at most.
async fn foresee(workshop: Workshop, server: Uuid, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    let mut turn = Turn::new("foresee", server);
    let (mut last, mut changed) = (None, true);
    loop {
        match turn.is_mine(&workshop).await {
            Ok(true) => match workflow::foresee_when_due(&workshop, last, changed).await {
                Ok(Some(at)) => (last, changed) = (Some(at), false),
                Ok(None) => {}
                Err(e) => {
                    failed("foresee", &e);
                }
            },
            // What another foresaw is not this server's to go on from.
            Ok(false) => last = None,
            Err(e) => {
                failed("foresee", &e);
            }
        }
        tokio::select! {
            biased;
            _ = stopping.changed() => return,
            _ = changes.recv() => changed = true,
            () = tokio::time::sleep(LONGEST_PAUSE) => continue,
        }
        tokio::select! {
            biased;
            _ = stopping.changed() => return,
            () = tokio::time::sleep(BETWEEN_FORECASTS) => changes = changes.resubscribe(),
        }
    }
}

/// Waits until something was committed, or for `pause`; false when it is time to stop. A yard that is busy commits much at
/// once, and one look serves for all of it.
async fn woken(
    changes: &mut broadcast::Receiver<Arc<str>>,
    stopping: &mut watch::Receiver<bool>,
    pause: Duration,
) -> bool {
    tokio::select! {
        biased;
        _ = stopping.changed() => return false,
        _ = changes.recv(), if !pause.is_zero() => {}
        () = tokio::time::sleep(pause) => return true,
    }
    tokio::select! {
        biased;
        _ = stopping.changed() => return false,
        () = tokio::time::sleep(BETWEEN_LOOKS) => {}
    }
    *changes = changes.resubscribe();
    true
}

/// On PostgreSQL, passes on what other processes committed.
async fn relay(workshop: Workshop, mut stopping: watch::Receiver<bool>) {
    loop {
        tokio::select! {
            _ = stopping.changed() => return,
            lost = workflow::relay_changes(&workshop) => {
                if let Err(e) = lost {
                    failed("relay", &e);
                }
            }
        }
        tokio::select! {
            _ = stopping.changed() => return,
            () = tokio::time::sleep(BEFORE_LISTENING_AGAIN) => {}
        }
    }
}

/// Once an hour, by one server for all; the others ask whether it is still there.
async fn tidy(workshop: Workshop, server: Uuid, mut stopping: watch::Receiver<bool>) {
    let mut turn = Turn::new("tidy", server);
    let mut last: Option<Instant> = None;
    loop {
        match turn.is_mine(&workshop).await {
            Ok(true) if last.is_none_or(|at| at.elapsed() >= BETWEEN_TIDYINGS) => {
                tidy_once(&workshop).await;
                last = Some(Instant::now());
            }
            Ok(_) => {}
            Err(e) => {
                failed("tidy", &e);
            }
        }
        tokio::select! {
            _ = stopping.changed() => return,
            () = tokio::time::sleep(LONGEST_PAUSE) => {}
        }
    }
}

async fn tidy_once(workshop: &Workshop) {
    if let Err(e) = workflow::tidy(workshop).await {
        failed("tidy", &e);
    }
    if let Err(e) = workflow::sum_checked_days(workshop).await {
        failed("sum", &e);
    }
    if let Err(e) = workflow::sign_head_when_due(workshop).await {
        failed("sign", &e);
    }
}

/// Once a day, what has been kept long enough: a little at a time, with room for others in between.
async fn remove_old(workshop: Workshop, server: Uuid, mut stopping: watch::Receiver<bool>) {
    let mut turn = Turn::new("remove", server);
    let mut next = Instant::now();
    loop {
        let mut pause = LONGEST_PAUSE;
        match turn.is_mine(&workshop).await {
            Ok(true) if next <= Instant::now() => {
                next = Instant::now()
                    + match workflow::remove_once(&workshop).await {
                        Ok(0) => BETWEEN_REMOVALS,
                        Ok(_) => BETWEEN_LOOKS,
                        Err(e) => {
                            failed("remove", &e);
                            BETWEEN_TIDYINGS
                        }
                    };
                pause = pause.min(next - Instant::now());
            }
            Ok(_) => {}
            Err(e) => {
                failed("remove", &e);
            }
        }
        tokio::select! {
            _ = stopping.changed() => return,
            () = tokio::time::sleep(pause) => {}
        }
    }
}

/// Where a replica is read: so that it is known how far behind it is.
async fn beat(workshop: Workshop, mut stopping: watch::Receiver<bool>) {
    while workshop.db.has_replica() {
        if let Err(e) = workflow::beat(&workshop).await {
            failed("beat", &e);
        }
        tokio::select! {
            _ = stopping.changed() => return,
            () = tokio::time::sleep(BETWEEN_BEATS) => {}
        }
    }
}

fn failed(task: &str, error: &WorkflowError) -> Duration {
    tracing::error!(task, error = ?error, "a task failed and goes on");
    AFTER_A_FAILURE
}
