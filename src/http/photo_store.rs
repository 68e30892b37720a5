//! Where pictures are kept, each under its content hash: a folder, or a bucket that speaks S3. Who may see one is decided
//! before anybody asks here.

mod bucket;

use std::path::Path as Folder;
use std::sync::Arc;

use actix_web::web::Bytes;
use object_store::local::LocalFileSystem;
use object_store::path::Path;
use object_store::{ObjectStore, ObjectStoreExt};
use sha2::{Digest, Sha256};
use tokio::sync::Semaphore;

pub use bucket::Bucket;

use super::picture::{MOST_MEGAPIXELS, made_safe};
use crate::words::Text;
use crate::workflow::StoredPhoto;

#[derive(Debug, thiserror::Error)]
pub enum PhotoError {
    #[error("it is no JPEG or PNG picture that can be read")]
    Unreadable(#[source] image::ImageError),
    #[error("it is no JPEG or PNG picture")]
    UnknownFormat,
    #[error("it is larger than {MOST_MEGAPIXELS} megapixels")]
    TooLarge,
    #[error("the place where pictures are kept cannot be reached")]
    Store(#[from] object_store::Error),
    #[error("the place where pictures are kept cannot be used: {0}")]
    Unusable(String),
    /// Somebody else than Chock has written there.
    #[error("what is kept is not the picture that was stored")]
    Altered,
    #[error("it could not be read")]
    Disk(#[from] std::io::Error),
    #[error("the work on it was interrupted")]
    Interrupted,
}

impl PhotoError {
    /// The same picture may be kept when it is sent again.
    pub const fn may_pass(&self) -> bool {
        matches!(self, Self::Store(_) | Self::Interrupted | Self::Disk(_))
    }

    /// For whoever sent the picture.
    pub fn why_not_kept(&self) -> Text {
        match self {
            Self::Unreadable(_) => said!("photo-unreadable"),
            Self::UnknownFormat => said!("photo-unknown-format"),
            Self::TooLarge => said!("photo-too-large", most = MOST_MEGAPIXELS),
            e if e.may_pass() => said!("problem-picture-later"),
            _ => said!("problem-on-the-server"),
        }
    }
}

/// Decoding 40 megapixels takes some 160 MB for a moment; one at a time keeps a small server alive.
static AT_ONCE: Semaphore = Semaphore::const_new(1);

#[derive(Clone, Debug)]
pub struct PhotoStore {
    objects: Arc<dyn ObjectStore>,
    /// Before every name; empty in a folder.
    prefix: Path,
}

impl PhotoStore {
    /// The folder is there already. What is written is whole or absent, and on the disk when it is answered for.
    pub fn folder(folder: &Folder) -> Result<Self, PhotoError> {
        let objects = LocalFileSystem::new_with_prefix(folder)?.with_fsync(true);
        Ok(Self { objects: Arc::new(objects), prefix: Path::default() })
    }

    pub fn bucket(bucket: &Bucket) -> Result<Self, PhotoError> {
        Ok(Self { objects: Arc::new(bucket.open()?), prefix: Path::from(bucket.prefix.as_str()) })
    }

    /// Makes a picture safe and keeps it. The same picture twice is one object.
    pub async fn keep(&self, bytes: Bytes) -> Result<StoredPhoto, PhotoError> {
        let safe = {
            let _turn = AT_ONCE.acquire().await.map_err(|_| PhotoError::Interrupted)?;
            actix_web::web::block(move || made_safe(&bytes)).await.map_err(|_| PhotoError::Interrupted)??
        };
        let sha256 = hash(&safe);
        let bytes = i64::try_from(safe.len()).unwrap_or(i64::MAX);
        self.objects.put(&self.name(&sha256), safe.into()).await?;
        Ok(StoredPhoto { sha256, bytes })
    }

    /// The picture's bytes, which are those that were stored.
    pub async fn read(&self, sha256: &str) -> Result<Bytes, PhotoError> {
        let bytes = self.objects.get(&self.name(sha256)).await?.bytes().await?;
        if hash(&bytes) == sha256 { Ok(bytes) } else { Err(PhotoError::Altered) }
    }

    /// A folder for each first byte, so that no folder grows to a million files.
    fn name(&self, sha256: &str) -> Path {
        self.prefix.clone().join(sha256.get(..2).unwrap_or("xx")).join(format!("{sha256}.jpg"))
    }
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Cursor;

    fn png() -> Bytes {
        let picture = image::DynamicImage::ImageRgb8(image::RgbImage::new(64, 64));
        let mut out = Vec::new();
        picture.write_to(&mut Cursor::new(&mut out), image::ImageFormat::Png).unwrap();
        out.into()
    }

    #[actix_web::test]
    async fn the_same_picture_is_one_file_under_its_hash() {
        let folder = tempfile::tempdir().unwrap();
        let store = PhotoStore::folder(folder.path()).unwrap();
        let first = store.keep(png()).await.unwrap();
        let second = store.keep(png()).await.unwrap();
        assert_eq!(first.sha256, second.sha256);
        let kept = store.read(&first.sha256).await.unwrap();
        assert_eq!(i64::try_from(kept.len()).unwrap(), first.bytes);
        assert_eq!(&kept[..2], [0xff, 0xd8], "a JPEG begins so");
        let place = folder.path().join(&first.sha256[..2]);
        let there: Vec<_> = std::fs::read_dir(&place).unwrap().map(|f| f.unwrap().file_name()).collect();
        assert_eq!(there, [format!("{}.jpg", first.sha256).as_str()]);
        // Somebody with a hand on the folder puts another picture in its place.
        std::fs::write(place.join(&there[0]), b"another").unwrap();
        assert!(matches!(store.read(&first.sha256).await, Err(PhotoError::Altered)));
        // Sent again, it is mended.
        store.keep(png()).await.unwrap();
        assert_eq!(store.read(&first.sha256).await.unwrap(), kept);
    }
}
