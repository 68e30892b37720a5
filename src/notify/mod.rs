//! What an alert says, and how it leaves the house. Nothing here decides who is told or when to try again: the outbox
//! does. A mail is made from the facts kept with its outbox row alone, so making it twice gives the same bytes.

mod compose;
mod mail;
mod mailer;
mod smtp;
mod webhook;

pub use compose::compose;
pub use mail::Mail;
pub use mailer::{Folder, Mailer, Memory, SendError};
pub use smtp::{MailConfig, Smtp};
pub use webhook::{Courier, Http, Parcel, PostError};

/// What keeps a mail from being made, or a mailer from being set up. Each sentence says what to change.
#[derive(Debug, thiserror::Error)]
pub enum NotifyError {
    #[error("{given:?} is not a mail address: write it as name@example.org")]
    Address { given: String },
    #[error("{given:?} can not be a sender: write it as \"Chock <chock@example.org>\"")]
    Sender { given: String },
    #[error("{given:?} can not stand after the @ of a Message-ID: give a domain name such as example.org")]
    MailDomain { given: String },
    #[error("the Message-ID {given:?} is not of the form <id@domain>")]
    MessageId { given: String },
    #[error("{given:?} can not start a link: give the address people type, as https://chock.example.org")]
    PublicUrl { given: String },
    #[error("{given} is outside the dates a mail can bear")]
    Date { given: String },
    #[error("mail server: {0}")]
    MailUrl(&'static str),
    #[error("mail server: a user needs a password and a password needs a user")]
    HalfOfCredentials,
    #[error(
        "mail server: smtp:// would send the password in clear; use smtp+starttls:// or smtps:// \
         (a server on this same computer is exempt)"
    )]
    PasswordInClear,
    #[error("mail server: the root certificate {file}: {reason}")]
    RootCertificate { file: String, reason: String },
    #[error("mail server: TLS can not be set up: {0}")]
    Tls(String),
    #[error("a webhook's secret is not of the form whsec_<base64>")]
    WebhookSecret,
    #[error("the mail can not be put together: {0}")]
    Message(#[from] lettre::error::Error),
    #[error("the mail's template failed: {0}")]
    Template(#[from] askama::Error),
}
