//! Sends other programs what they are owed.

use std::sync::Arc;

use futures_util::future::join_all;

use crate::notify::{Courier, Parcel};
use crate::workflow::{self, WorkflowError, Workshop};

/// Sent side by side, so that one address that hangs does not keep the others waiting.
const AT_ONCE: i64 = 8;

/// One round: leases what is due, sends, and marks. Answers how many were tried.
pub async fn post_webhooks_once(
    workshop: &Workshop,
    courier: &Arc<dyn Courier>,
) -> Result<usize, WorkflowError> {
    let deliveries = workflow::lease_webhook_deliveries(workshop, AT_ONCE).await?;
    let sent = join_all(deliveries.iter().map(|delivery| async move {
        let parcel = Parcel {
            url: delivery.url.clone(),
            id: delivery.id.to_string(),
            at: delivery.at,
            body: delivery.body.clone(),
            secrets: delivery.secrets.clone(),
        };
        courier.post(&parcel).await
    }))
    .await;
    for (delivery, outcome) in deliveries.iter().zip(sent) {
        match outcome {
            Ok(answer) => workflow::webhook_delivered(workshop, delivery, &answer).await?,
            Err(e) => workflow::webhook_not_delivered(workshop, delivery, e.gone, &e.answer).await?,
        }
    }
    Ok(deliveries.len())
}
