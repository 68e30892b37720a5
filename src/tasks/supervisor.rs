//! Keeps the tasks going: one that fails says so in the log and goes on after a pause.

use std::time::Duration;

use tokio::sync::watch;
use tokio::task::JoinHandle;

use super::deliver::{Post, deliver_once};
use crate::workflow::{self, WorkflowError, Workshop};

/// The running tasks.
pub struct Tasks {
    stop: watch::Sender<bool>,
    running: Vec<JoinHandle<()>>,
}

/// Watches end within this of their date, and a mail's next attempt starts within this of its time.
const LONGEST_PAUSE: Duration = Duration::from_secs(20);
const AFTER_A_FAILURE: Duration = Duration::from_secs(5);
const BETWEEN_TIDYINGS: Duration = Duration::from_secs(3600);

/// Starts delivering, watching, relaying and tidying.
pub fn start(workshop: &Workshop, post: &Post) -> Tasks {
    let (stop, stopping) = watch::channel(false);
    let running = vec![
        tokio::spawn(deliver(workshop.clone(), post.clone(), stopping.clone())),
        tokio::spawn(watch_good_until(workshop.clone(), stopping.clone())),
        tokio::spawn(relay(workshop.clone(), stopping.clone())),
        tokio::spawn(tidy(workshop.clone(), stopping)),
    ];
    Tasks { stop, running }
}

impl Tasks {
    /// Lets each task finish what it is doing, then ends it.
    pub async fn stop(self) {
        let _ = self.stop.send(true);
        for task in self.running {
            let _ = task.await;
        }
    }
}

async fn deliver(workshop: Workshop, post: Post, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    loop {
        let pause = match deliver_once(&workshop, &post).await {
            Ok(0) => LONGEST_PAUSE,
            Ok(_) => continue,
            Err(e) => failed("deliver", &e),
        };
        tokio::select! {
            _ = stopping.changed() => return,
            // Whatever was committed may owe a mail.
            _ = changes.recv() => {}
            () = tokio::time::sleep(pause) => {}
        }
    }
}

async fn watch_good_until(workshop: Workshop, mut stopping: watch::Receiver<bool>) {
    let mut changes = workflow::changes(&workshop);
    loop {
        let pause = match workflow::end_watches(&workshop).await {
            Ok(_) => LONGEST_PAUSE,
            Err(e) => failed("watch", &e),
        };
        tokio::select! {
            _ = stopping.changed() => return,
            // A meter reading may have ended a watch by engine hours.
            _ = changes.recv() => {}
            () = tokio::time::sleep(pause) => {}
        }
    }
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
            () = tokio::time::sleep(AFTER_A_FAILURE) => {}
        }
    }
}

async fn tidy(workshop: Workshop, mut stopping: watch::Receiver<bool>) {
    loop {
        if let Err(e) = workflow::tidy(&workshop).await {
            failed("tidy", &e);
        }
        tokio::select! {
            _ = stopping.changed() => return,
            () = tokio::time::sleep(BETWEEN_TIDYINGS) => {}
        }
    }
}

fn failed(task: &str, error: &WorkflowError) -> Duration {
    tracing::error!(task, error = ?error, "a task failed and goes on");
    AFTER_A_FAILURE
}
