//! The ways out: a mail server, a folder where none is configured, and memory for tests.

use std::collections::VecDeque;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use async_trait::async_trait;
use lettre::message::Mailbox;

use super::mail::{Mail, cut, one_line};
use super::{NotifyError, Smtp};

/// Takes one mail away. What it answers is shown on the outbox page, so it is what the other side said.
#[async_trait]
pub trait Mailer: Send + Sync {
    async fn send(&self, mail: &Mail) -> Result<String, SendError>;
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{answer}")]
pub struct SendError {
    /// True when the same mail will be refused again. False when trying later can help, which includes a server that
    /// is down or refuses our sign-in: that is for somebody to mend, and no reason to give up on the mail.
    pub permanent: bool,
    pub answer: String,
}

impl SendError {
    pub fn later(answer: impl AsRef<str>) -> Self {
        Self { permanent: false, answer: answer_line(answer.as_ref()) }
    }

    pub fn never(answer: impl AsRef<str>) -> Self {
        Self { permanent: true, answer: answer_line(answer.as_ref()) }
    }
}

/// A mail that can not even be put together will not fare better tomorrow.
impl From<NotifyError> for SendError {
    fn from(error: NotifyError) -> Self {
        Self::never(error.to_string())
    }
}

/// Writes each mail as `<id>.eml`, which any mail program opens.
pub struct Folder {
    folder: PathBuf,
    from: Mailbox,
}

impl Folder {
    pub fn new(folder: impl Into<PathBuf>, from: &str) -> Result<Self, NotifyError> {
        Ok(Self { folder: folder.into(), from: sender(from)? })
    }
}

#[async_trait]
impl Mailer for Folder {
    async fn send(&self, mail: &Mail) -> Result<String, SendError> {
        let name = format!("{}.eml", mail.id()?);
        let bytes = mail.to_message(&self.from)?.formatted();
        let (folder, file) = (self.folder.clone(), name.clone());
        tokio::task::spawn_blocking(move || write_whole(&folder, &file, &bytes))
            .await
            .map_err(|error| SendError::later(format!("writing {name} broke off: {error}")))?
            .map_err(|error| SendError::later(format!("{name} could not be written: {error}")))?;
        Ok(format!("written to {name}"))
    }
}

/// Either the whole file under its name or no file: written aside, forced to the disk, then renamed.
fn write_whole(folder: &Path, name: &str, bytes: &[u8]) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    let aside = folder.join(format!(".{name}.part"));
    let mut file = std::fs::File::create(&aside)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    std::fs::rename(&aside, folder.join(name))?;
    // The name is only safe once the folder is (rename(2) says nothing about power loss).
    #[cfg(unix)]
    std::fs::File::open(folder)?.sync_all()?;
    Ok(())
}

/// Keeps what was sent, and answers as it was told to. For tests.
#[derive(Default)]
pub struct Memory {
    sent: Mutex<Vec<Mail>>,
    answers: Mutex<VecDeque<Result<String, SendError>>>,
}

impl Memory {
    pub fn new() -> Self {
        Self::default()
    }

    /// Everything accepted so far, oldest first.
    pub fn sent(&self) -> Vec<Mail> {
        self.sent.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// What the next mail not yet spoken for is answered with. Without any, mails are accepted.
    pub fn answer_next(&self, answer: Result<String, SendError>) {
        self.answers.lock().unwrap_or_else(PoisonError::into_inner).push_back(answer);
    }
}

#[async_trait]
impl Mailer for Memory {
    async fn send(&self, mail: &Mail) -> Result<String, SendError> {
        let answer = self.answers.lock().unwrap_or_else(PoisonError::into_inner).pop_front();
        let answer = answer.unwrap_or_else(|| Ok("kept in memory".to_owned()))?;
        self.sent.lock().unwrap_or_else(PoisonError::into_inner).push(mail.clone());
        Ok(answer)
    }
}

#[async_trait]
impl Mailer for Smtp {
    async fn send(&self, mail: &Mail) -> Result<String, SendError> {
        self.deliver(mail).await
    }
}

pub(super) fn sender(from: &str) -> Result<Mailbox, NotifyError> {
    let refused = || NotifyError::Sender { given: from.to_owned() };
    if from.chars().any(char::is_control) {
        return Err(refused());
    }
    from.parse().map_err(|_| refused())
}

/// Servers write as much as they like; the outbox keeps one line of it.
pub(super) fn answer_line(answer: &str) -> String {
    cut(&one_line(answer), 300)
}

#[cfg(test)]
#[path = "mailer_tests.rs"]
mod tests;
