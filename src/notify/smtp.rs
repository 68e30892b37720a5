//! Delivery to a mail server (RFC 5321), over TLS unless the address says otherwise.

use std::fmt;
use std::net::IpAddr;
use std::path::PathBuf;
use std::time::Duration;

use lettre::message::Mailbox;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{AsyncSmtpConnection, Certificate, TlsParameters};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::response::Response;

use super::mailer::{answer_line, sender};
use super::{Mail, NotifyError, SendError};

#[derive(Clone)]
pub struct MailConfig {
    /// `smtp+starttls://host[:587]`, `smtps://host[:465]`, or in clear `smtp://host[:25]`.
    pub url: String,
    /// The one sender, as `Chock <chock@example.org>`.
    pub from: String,
    pub user: Option<String>,
    pub password: Option<String>,
    /// For one whole delivery, from the connection to the server's last answer.
    pub timeout: Duration,
    /// PEM file with the roots of a private server, believed beside the public ones.
    pub root_certificate: Option<PathBuf>,
}

/// Leaves the password out: this gets into logs.
impl fmt::Debug for MailConfig {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("MailConfig")
            .field("url", &self.url)
            .field("from", &self.from)
            .field("user", &self.user)
            .field("timeout", &self.timeout)
            .field("root_certificate", &self.root_certificate)
            .finish_non_exhaustive()
    }
}

/// One connection a mail. Alerts are few, and a connection kept open would have to be proved fit for use again after
/// every timeout: an answer that arrives late must never be taken for the answer to the next mail.
pub struct Smtp {
    server: Server,
    from: Mailbox,
    credentials: Option<Credentials>,
    tls: Option<TlsParameters>,
    timeout: Duration,
    hello: ClientId,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Security {
    Clear,
    StartTls,
    Tls,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Server {
    security: Security,
    host: String,
    port: u16,
}

impl Smtp {
    pub fn new(config: &MailConfig) -> Result<Self, NotifyError> {
        let server = Server::parse(&config.url)?;
        let credentials = match (&config.user, &config.password) {
            (None, None) => None,
            (Some(user), Some(password)) => Some(Credentials::new(user.clone(), password.clone())),
            _ => return Err(NotifyError::HalfOfCredentials),
        };
        if credentials.is_some() && server.security == Security::Clear && !server.is_this_computer() {
            return Err(NotifyError::PasswordInClear);
        }
        let tls = match server.security {
            Security::Clear => None,
            Security::StartTls | Security::Tls => Some(tls(&server.host, config)?),
        };
        Ok(Self {
            server,
            from: sender(&config.from)?,
            credentials,
            tls,
            timeout: config.timeout,
            hello: ClientId::default(),
        })
    }

    pub(super) async fn deliver(&self, mail: &Mail) -> Result<String, SendError> {
        let message = mail.to_message(&self.from)?;
        let (envelope, bytes) = (message.envelope().clone(), message.formatted());
        let delivery = async {
            let mut connection = self.connect().await?;
            // From here on the server speaks about this mail, so a 5xx is final for it.
            let response = connection.send(&envelope, &bytes).await.map_err(|error| SendError {
                permanent: (error.is_permanent() && !about_sign_in(&error)) || error.is_client(),
                answer: said(&error),
            })?;
            Ok::<_, SendError>((connection, response))
        };
        let late = || SendError::later(format!("no answer from {} within {:?}", self.server, self.timeout));
        let (mut connection, response) =
            tokio::time::timeout(self.timeout, delivery).await.map_err(|_| late())??;
        // The mail is the server's now: whether it also takes leave politely changes nothing.
        let _ = tokio::time::timeout(Duration::from_secs(2), connection.quit()).await;
        Ok(accepted(&response))
    }

    /// A connection over which mails may be sent. Nothing that fails here is the mail's fault, so nothing is final.
    async fn connect(&self) -> Result<AsyncSmtpConnection, SendError> {
        let failed = |step: &'static str| {
            move |error: lettre::transport::smtp::Error| {
                SendError::later(format!("{step} {}: {}", self.server, said(&error)))
            }
        };
        let at_once = if self.server.security == Security::Tls { self.tls.clone() } else { None };
        let address = (self.server.host.as_str(), self.server.port);
        let mut connection =
            AsyncSmtpConnection::connect_tokio1(address, Some(self.timeout), &self.hello, at_once, None)
                .await
                .map_err(failed("connecting to"))?;
        if self.server.security == Security::StartTls {
            // Without this a server in the middle that hides STARTTLS would get the mail in clear.
            if !connection.can_starttls() {
                connection.abort().await;
                return Err(SendError::later(format!("{} does not offer STARTTLS", self.server)));
            }
            if let Some(tls) = self.tls.clone() {
                connection.starttls(tls, &self.hello).await.map_err(failed("STARTTLS with"))?;
            }
        }
        if let Some(credentials) = &self.credentials {
            connection
                .auth(&[Mechanism::Plain, Mechanism::Login], credentials)
                .await
                .map_err(failed("signing in to"))?;
        }
        Ok(connection)
    }
}

impl Server {
    fn parse(url: &str) -> Result<Self, NotifyError> {
        let refused = |why| Err(NotifyError::MailUrl(why));
        let Some((scheme, rest)) = url.split_once("://") else {
            return refused("write it as smtp+starttls://mail.example.org, smtps://… or smtp://…");
        };
        let (security, usual_port) = match scheme {
            "smtp" => (Security::Clear, 25),
            "smtp+starttls" => (Security::StartTls, 587),
            "smtps" => (Security::Tls, 465),
            _ => return refused("the scheme is one of smtp+starttls, smtps and smtp (in clear)"),
        };
        let rest = rest.strip_suffix('/').unwrap_or(rest);
        if rest.contains('@') {
            // An address is shown on pages and in logs.
            return refused("give user and password apart from the address");
        }
        let (host, port) = match rest.strip_prefix('[').map(|inner| inner.split_once(']')) {
            Some(Some((host, ""))) => (host, None),
            Some(Some((host, after))) => match after.strip_prefix(':') {
                Some(port) => (host, Some(port)),
                None => return refused("after ] comes :port or nothing"),
            },
            Some(None) => return refused("the [ of an IPv6 address is not closed"),
            None => match rest.split_once(':') {
                Some((host, port)) => (host, Some(port)),
                None => (rest, None),
            },
        };
        let bracketed = rest.starts_with('[');
        let known = if bracketed {
            host.parse::<std::net::Ipv6Addr>().is_ok()
        } else {
            super::mail::is_mail_domain(&host.replace('_', "-"))
        };
        if !known {
            return refused(
                "the host is a name such as mail.example.org, an IPv4 address, or [an IPv6 address]",
            );
        }
        let port = match port.map(str::parse::<u16>) {
            None => usual_port,
            Some(Ok(port)) if port > 0 => port,
            Some(_) => return refused("the port is a number from 1 to 65535"),
        };
        Ok(Self { security, host: host.to_owned(), port })
    }

    fn is_this_computer(&self) -> bool {
        self.host == "localhost" || self.host.parse::<IpAddr>().is_ok_and(|address| address.is_loopback())
    }
}

impl fmt::Display for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.host.contains(':') {
            write!(f, "[{}]:{}", self.host, self.port)
        } else {
            write!(f, "{}:{}", self.host, self.port)
        }
    }
}

fn tls(host: &str, config: &MailConfig) -> Result<TlsParameters, NotifyError> {
    let mut builder = TlsParameters::builder(host.to_owned());
    if let Some(file) = &config.root_certificate {
        let refused =
            |reason: String| NotifyError::RootCertificate { file: file.display().to_string(), reason };
        let pem = std::fs::read(file).map_err(|error| refused(error.to_string()))?;
        // A file without a single certificate parses; believing nobody new without a word would be found out late.
        if !String::from_utf8_lossy(&pem).contains("-----BEGIN CERTIFICATE-----") {
            return Err(refused("holds no certificate in PEM form".to_owned()));
        }
        builder = builder
            .add_root_certificate(Certificate::from_pem(&pem).map_err(|error| refused(error.to_string()))?);
    }
    builder.build_rustls().map_err(|error| NotifyError::Tls(error.to_string()))
}

/// `250 …` as the server put it.
fn accepted(response: &Response) -> String {
    let lines: Vec<&str> = response.message().collect();
    answer_line(&format!("{} {}", response.code(), lines.join(" ")))
}

/// A server that wants a sign-in says so only when the mail is offered (RFC 4954, 6). To be mended in our settings.
fn about_sign_in(error: &lettre::transport::smtp::Error) -> bool {
    error.status().is_some_and(|code| matches!(code.to_string().as_str(), "530" | "534" | "535" | "538"))
}

/// What the server said, with its code in front; or, where it said nothing, what went wrong on the way.
fn said(error: &lettre::transport::smtp::Error) -> String {
    let cause = std::error::Error::source(error).map(ToString::to_string).unwrap_or_default();
    match error.status() {
        Some(code) => answer_line(&format!("{code} {cause}")),
        None => answer_line(&error.to_string()),
    }
}

#[cfg(test)]
#[path = "smtp_tests.rs"]
mod tests;
