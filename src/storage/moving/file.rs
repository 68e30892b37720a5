//! The file that is moved: held, and known again by its digest.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;

use super::{MoveError, Result};
use crate::storage::tx::MIGRATOR;

/// A reader keeps everybody from writing a file that has no write-ahead log; nobody can give it one meanwhile either.
pub async fn take_hold(source: &mut SqliteConnection) -> Result<()> {
    sqlx::raw_sql("BEGIN; SELECT COUNT(*) FROM sqlite_master").execute(source).await?;
    Ok(())
}

pub async fn is_without_log(source: &mut SqliteConnection) -> Result<bool> {
    let (mode,): (String,) = sqlx::query_as("PRAGMA journal_mode").fetch_one(source).await?;
    Ok(mode == "delete")
}

/// Has all migrations of this program and no others.
pub async fn made_by_this_version(source: &mut SqliteConnection) -> Result<bool> {
    let applied: Vec<(i64, Vec<u8>)> =
        sqlx::query_as("SELECT version, checksum FROM _sqlx_migrations WHERE success ORDER BY version")
            .fetch_all(source)
            .await?;
    Ok(applied.len() == MIGRATOR.iter().count()
        && MIGRATOR
            .iter()
            .zip(&applied)
            .all(|(m, (version, sum))| m.version == *version && *m.checksum == **sum))
}

/// Of every byte of it, and what it was read through. That is to be closed last of all: a process that closes a file gives up
/// every lock that it has on it, whichever of its own doings took them (sqlite.org, "How To Corrupt", 2.2).
pub async fn digest(file: &Path) -> Result<(String, File)> {
    let file = file.to_owned();
    let read = move || -> Result<(String, File)> {
        let unreadable = |e| MoveError::Reading(file.clone(), e);
        let (mut open, mut hasher) = (File::open(&file).map_err(unreadable)?, Sha256::new());
        let mut piece = vec![0; 1 << 20];
        loop {
            match open.read(&mut piece).map_err(unreadable)? {
                0 => return Ok((hasher.finalize().iter().map(|b| format!("{b:02x}")).collect(), open)),
                n => hasher.update(&piece[..n]),
            }
        }
    };
    tokio::task::spawn_blocking(read)
        .await
        .unwrap_or_else(|e| Err(MoveError::Reading(PathBuf::new(), std::io::Error::other(e))))
}
