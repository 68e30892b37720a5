//! Sends everything as one archive: written to a file of its own first, then read from it piece by piece, so that it never
//! is in memory as a whole. The file is gone when the answer is.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::PathBuf;

use actix_web::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_ENCODING, CONTENT_LENGTH, CONTENT_TYPE,
};
use actix_web::{HttpResponse, web};
use futures_util::stream;

use super::Site;
use crate::domain::person::Actor;
use crate::workflow::{self, ExportError};

const PIECE: usize = 64 * 1024;

/// The archive as an answer.
pub async fn archive(site: &Site, actor: &Actor) -> Result<HttpResponse, ExportError> {
    workflow::may_export(actor)?;
    let name = format!("chock-{}", site.workshop.ambient.secret());
    let path = std::env::temp_dir().join(name);
    let mut file = own_file(&path)?;
    let written = Gone(path);
    workflow::export_everything(&site.workshop, actor, io::BufWriter::new(&mut file)).await?;
    let length = file.seek(SeekFrom::End(0))?;
    file.seek(SeekFrom::Start(0))?;
    let day = site.workshop.ambient.now().format("%Y-%m-%d");
    let body = stream::unfold(Some((file, written)), |reading| async move {
        let (mut file, written) = reading?;
        let read = web::block(move || {
            let mut piece = vec![0; PIECE];
            file.read(&mut piece).map(|n| {
                piece.truncate(n);
                (piece, file)
            })
        });
        match read.await {
            Ok(Ok((piece, _))) if piece.is_empty() => None,
            Ok(Ok((piece, file))) => Some((Ok(web::Bytes::from(piece)), Some((file, written)))),
            Ok(Err(e)) => Some((Err(e), None)),
            Err(e) => Some((Err(io::Error::other(e)), None)),
        }
    });
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "application/zip"))
        .insert_header((CONTENT_ENCODING, "identity"))
        .insert_header((CACHE_CONTROL, "no-store"))
        .insert_header((CONTENT_LENGTH, length))
        .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"chock-{day}.zip\"")))
        .streaming(body))
}

/// Removed with the last use of it, also when whoever asked has gone.
struct Gone(PathBuf);

impl Drop for Gone {
    fn drop(&mut self) {
        if let Err(error) = std::fs::remove_file(&self.0) {
            tracing::warn!(?error, "an archive that was sent is still there");
        }
    }
}

/// Nobody else on the machine may read it.
fn own_file(path: &std::path::Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}
