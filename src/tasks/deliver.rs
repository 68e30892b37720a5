//! Sends what the outbox owes.

use std::sync::Arc;

use crate::domain::alert::Alert;
use crate::domain::ids::AlertId;
use crate::notify::{Mail, Mailer, NotifyError, compose};
use crate::words::{Lang, speaking};
use crate::workflow::{self, WorkflowError, Workshop};

/// How alerts become mails, and how those leave the house.
#[derive(Clone)]
pub struct Post {
    pub mailer: Arc<dyn Mailer>,
    pub public_url: String,
    /// Right-hand side of every Message-ID.
    pub domain: String,
}

impl Post {
    pub fn compose(
        &self,
        id: AlertId,
        alert: &Alert,
        to_name: &str,
        to_address: &str,
        lang: Lang,
        acknowledge: Option<&str>,
    ) -> Result<Mail, NotifyError> {
        let (url, domain) = (&self.public_url, &self.domain);
        speaking(lang, || compose(alert, id, to_name, to_address, url, domain, acknowledge))
    }
}

// Few, so that even a server that hangs for a minute on each is done with them before the lease runs out.
const AT_ONCE: i64 = 4;

/// One round: leases what is due, sends each, and marks it. Answers how many were tried.
pub async fn deliver_once(workshop: &Workshop, post: &Post) -> Result<usize, WorkflowError> {
    let deliveries = workflow::lease_deliveries(workshop, AT_ONCE).await?;
    for delivery in &deliveries {
        let mail = match post.compose(
            delivery.id,
            &delivery.alert,
            &delivery.to_name,
            &delivery.to_address,
            delivery.lang,
            delivery.acknowledge.as_deref(),
        ) {
            Ok(mail) => mail,
            Err(e) => {
                // Nothing will make it composable later.
                workflow::not_delivered(workshop, delivery, true, &e.to_string()).await?;
                continue;
            }
        };
        match post.mailer.send(&mail).await {
            Ok(answer) => workflow::delivered(workshop, delivery, &answer).await?,
            Err(e) => workflow::not_delivered(workshop, delivery, e.permanent, &e.answer).await?,
        }
    }
    Ok(deliveries.len())
}
