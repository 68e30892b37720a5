//! The moment by which a replica tells how far behind it is.

use super::{Result, Workshop};

/// Written now and then by every server that reads a replica.
pub async fn beat(workshop: &Workshop) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.beat(workshop.ambient.now()).await?;
    tx.commit().await?;
    Ok(())
}
