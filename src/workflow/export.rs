//! Everything an owner has here, in one archive of tables: as it was at one moment, written as it is read, never held in
//! memory as a whole. That somebody took it is on record before the first row is read.

use std::io::{self, Seek, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::trail::Trail;
use super::{Result, WorkflowError, Workshop};
use crate::domain::person::{Act, Actor};
use crate::domain::trail::TrailAct;
use crate::storage::{AUDIT_COLUMNS, StorageError, audit_cells, export_tables};
use crate::words::Lang;

#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    #[error(transparent)]
    Workflow(#[from] WorkflowError),
    #[error("the archive could not be written: {0}")]
    Write(#[from] io::Error),
}

impl From<StorageError> for ExportError {
    fn from(error: StorageError) -> Self {
        Self::Workflow(error.into())
    }
}

impl From<zip::result::ZipError> for ExportError {
    fn from(error: zip::result::ZipError) -> Self {
        Self::Write(error.into())
    }
}

impl From<csv::Error> for ExportError {
    fn from(error: csv::Error) -> Self {
        Self::Write(error.into())
    }
}

/// Whether the actor may take everything out.
pub fn may_export(actor: &Actor) -> Result<()> {
    Ok(actor.must(Act::TakeEverythingOut)?)
}

/// Writes the archive; answers how many rows are in it.
pub async fn export_everything(
    workshop: &Workshop,
    actor: &Actor,
    to: impl Write + Seek,
) -> Result<u64, ExportError> {
    may_export(actor)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::EverythingTakenOut, format!("person {}", actor.name), "", "", "");
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    tx.commit().await?;
    let (mut tx, behind) = workshop.db.snapshot_behind(now).await?;
    let now = behind.unwrap_or(now);
    let mut zip = ZipWriter::new(to);
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        // Of what somebody kept for ten years nobody knows the size before.
        .large_file(true);
    for lang in Lang::ALL {
        zip.start_file(t_in!(*lang, "export-readme-file"), options)?;
        let made = now.format("%Y-%m-%d %H:%M UTC").to_string();
        let currency = workshop.currency.as_ref();
        zip.write_all(t_in!(*lang, "export-readme", made = made, currency = currency).as_bytes())?;
        zip.write_all(b"\n")?;
    }
    let mut rows = 0;
    for table in export_tables() {
        zip.start_file(format!("{}.csv", table.name), options)?;
        let mut file = Table::new(&mut zip, &table.columns())?;
        tx.export(table, |row| file.row(&row.0)).await?;
        rows += file.end()?;
    }
    zip.start_file("audit.csv", options)?;
    let mut file = Table::new(&mut zip, &AUDIT_COLUMNS)?;
    tx.export_audit(|row| file.row(&audit_cells(&row))).await?;
    rows += file.end()?;
    zip.finish()?.flush()?;
    Ok(rows)
}

/// One file of the archive while it is written (RFC 4180).
struct Table<W: Write> {
    writer: csv::Writer<W>,
    rows: u64,
    fault: Option<csv::Error>,
}

impl<W: Write> Table<W> {
    fn new(to: W, columns: &[&str]) -> Result<Self, ExportError> {
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(to);
        writer.write_record(columns)?;
        Ok(Self { writer, rows: 0, fault: None })
    }

    /// Whether it could be written.
    fn row(&mut self, cells: &[String]) -> bool {
        self.rows += 1;
        self.fault = self.writer.write_record(cells).err();
        self.fault.is_none()
    }

    fn end(mut self) -> Result<u64, ExportError> {
        if let Some(fault) = self.fault.take() {
            return Err(fault.into());
        }
        self.writer.flush()?;
        Ok(self.rows)
    }
}
