//! What the server is told: by flags, else by environment, else by a file, else by default.

use std::net::{IpAddr, SocketAddr};
use std::path::{Path, PathBuf};

use clap::Args;
use ipnet::IpNet;
use serde::Deserialize;

/// What can be set. Every field may come from a flag, from the environment or from the file named by `--config`.
#[derive(Args, Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Settings {
    /// Folder for the database, pictures and mail [default: data]
    #[arg(long, global = true, env = "CHOCK_DATA", value_name = "FOLDER")]
    pub data: Option<PathBuf>,
    /// Database instead of the SQLite file in the data folder, such as postgres://user@host/chock
    #[arg(long, global = true, env = "DATABASE_URL", value_name = "URL", hide_env_values = true)]
    pub database_url: Option<String>,
    /// A PostgreSQL database that follows the other one (streaming replication): numbers and exports are read there
    #[arg(long, global = true, env = "CHOCK_REPLICA_URL", value_name = "URL", hide_env_values = true)]
    pub replica_url: Option<String>,
    /// Address to listen on [default: 127.0.0.1:8080]
    #[arg(long, global = true, env = "CHOCK_LISTEN", value_name = "ADDRESS", value_parser = address)]
    pub listen: Option<SocketAddr>,
    /// As people reach the server; in mails and QR codes [default: http:// and the address listened on]
    #[arg(long, global = true, env = "CHOCK_PUBLIC_URL", value_name = "URL")]
    pub public_url: Option<String>,
    /// Certificate (PEM, with its chain) to speak TLS without a proxy in front; needs --tls-key
    #[arg(long, global = true, env = "CHOCK_TLS_CERTIFICATE", value_name = "FILE")]
    pub tls_certificate: Option<PathBuf>,
    /// Its private key (PEM)
    #[arg(long, global = true, env = "CHOCK_TLS_KEY", value_name = "FILE")]
    pub tls_key: Option<PathBuf>,
    /// Networks of proxies in front, such as 127.0.0.1/32,10.0.0.0/8: what they say of who asks is believed [default: none]
    #[arg(long, global = true, env = "CHOCK_PROXIES", value_name = "NETWORKS")]
    pub proxies: Option<String>,
    /// What a reader of /metrics must give as a bearer token, at least 16 characters [default: there is no /metrics]
    #[arg(long, global = true, env = "CHOCK_METRICS_TOKEN", value_name = "TEXT", hide_env_values = true)]
    pub metrics_token: Option<String>,
    /// ISO 4217 currency of rates and parts [default: EUR]
    #[arg(long, global = true, env = "CHOCK_CURRENCY", value_name = "CODE")]
    pub currency: Option<String>,
    /// Mail server: smtp+starttls://host:587, smtps://host:465, or smtp://host:25 for one without TLS
    /// [default: mails are written to the data folder]
    #[arg(long, global = true, env = "CHOCK_MAIL_URL", value_name = "URL")]
    pub mail_url: Option<String>,
    /// Sender of mails, such as "Chock <chock@example.org>" [default: Chock <chock@localhost>]
    #[arg(long, global = true, env = "CHOCK_MAIL_FROM", value_name = "ADDRESS")]
    pub mail_from: Option<String>,
    /// User for the mail server
    #[arg(long, global = true, env = "CHOCK_MAIL_USER", value_name = "NAME")]
    pub mail_user: Option<String>,
    /// Password for the mail server; better by environment or file than by flag
    #[arg(long, global = true, env = "CHOCK_MAIL_PASSWORD", value_name = "TEXT", hide_env_values = true)]
    pub mail_password: Option<String>,
    /// Extra root certificate (PEM) for a mail server of one's own
    #[arg(long, global = true, env = "CHOCK_MAIL_ROOT", value_name = "FILE")]
    pub mail_root: Option<PathBuf>,
    /// Where pictures are kept: s3://bucket/prefix, in any store that speaks S3 [default: a folder in the data folder]
    #[arg(long, global = true, env = "CHOCK_PHOTOS", value_name = "URL")]
    pub photos: Option<String>,
    /// Address of the store of pictures, such as https://store.example.org:9000 [default: Amazon's of the region]
    #[arg(long, global = true, env = "CHOCK_PHOTOS_ENDPOINT", value_name = "URL")]
    pub photos_endpoint: Option<String>,
    /// Region of the bucket [default: us-east-1]
    #[arg(long, global = true, env = "CHOCK_PHOTOS_REGION", value_name = "NAME")]
    pub photos_region: Option<String>,
    /// Name of the key for the store of pictures
    #[arg(long, global = true, env = "CHOCK_PHOTOS_KEY", value_name = "NAME")]
    pub photos_key: Option<String>,
    /// Its secret; better by environment or file than by flag
    #[arg(long, global = true, env = "CHOCK_PHOTOS_SECRET", value_name = "TEXT", hide_env_values = true)]
    pub photos_secret: Option<String>,
    /// Extra root certificate (PEM) for a store of pictures of one's own
    #[arg(long, global = true, env = "CHOCK_PHOTOS_ROOT", value_name = "FILE")]
    pub photos_root: Option<PathBuf>,
    /// Let webhooks go to addresses inside a private network, and without TLS
    #[arg(long, global = true, env = "CHOCK_WEBHOOKS_PRIVATE", value_name = "true|false", num_args = 0..=1, default_missing_value = "true")]
    pub webhooks_private: Option<bool>,
}

/// Everything decided.
#[derive(Clone, Debug)]
pub struct Config {
    pub data: PathBuf,
    pub database_url: String,
    /// `None` reads everything from the one database.
    pub replica_url: Option<String>,
    pub listen: SocketAddr,
    pub public_url: String,
    /// `None` speaks plain HTTP.
    pub tls: Option<Tls>,
    pub proxies: Vec<IpNet>,
    pub metrics_token: Option<String>,
    pub currency: String,
    /// `None` writes mails to the data folder.
    pub mail: Option<Mail>,
    pub mail_from: String,
    /// `None` keeps pictures in the data folder.
    pub photos: Option<Photos>,
    /// Webhooks may go to addresses inside a private network.
    pub webhooks_private: bool,
}

/// A certificate of one's own.
#[derive(Clone, Debug)]
pub struct Tls {
    pub certificate: PathBuf,
    pub key: PathBuf,
}

/// A bucket for pictures.
#[derive(Clone, Debug)]
pub struct Photos {
    pub bucket: String,
    /// May be empty.
    pub prefix: String,
    pub endpoint: Option<String>,
    pub region: String,
    pub key: String,
    pub secret: String,
    pub root: Option<PathBuf>,
}

#[derive(Clone, Debug)]
pub struct Mail {
    pub url: String,
    pub user: Option<String>,
    pub password: Option<String>,
    pub root: Option<PathBuf>,
}

#[derive(Debug, thiserror::Error)]
pub enum ConfigError {
    #[error("{file}: cannot be read: {source}")]
    File { file: PathBuf, source: std::io::Error },
    #[error("{file}: {message}")]
    Syntax { file: PathBuf, message: String },
    #[error("{0}")]
    Value(String),
}

/// An address to listen on, as it is typed.
pub fn address(typed: &str) -> Result<SocketAddr, String> {
    typed.parse().map_err(|_| "give an address and a port, such as 127.0.0.1:8080 or 0.0.0.0:8080".to_owned())
}

impl Settings {
    /// The fields that only a running server needs.
    pub fn of_the_server() -> &'static [&'static str] {
        &[
            "listen",
            "public_url",
            "tls_certificate",
            "tls_key",
            "proxies",
            "metrics_token",
            "currency",
            "mail_url",
            "mail_from",
            "mail_user",
            "mail_password",
            "mail_root",
            "photos",
            "photos_endpoint",
            "photos_region",
            "photos_key",
            "photos_secret",
            "photos_root",
            "webhooks_private",
        ]
    }

    /// Fills what was not given from the file, then from the defaults.
    pub fn resolve(self, file: Option<&Path>) -> Result<Config, ConfigError> {
        let from_file = match file {
            Some(path) => read(path)?,
            None => Settings::default(),
        };
        let data = self.data.or(from_file.data).unwrap_or_else(|| PathBuf::from("data"));
        let listen = self.listen.or(from_file.listen).unwrap_or(SocketAddr::from(([127, 0, 0, 1], 8080)));
        let tls =
            match (self.tls_certificate.or(from_file.tls_certificate), self.tls_key.or(from_file.tls_key)) {
                (Some(certificate), Some(key)) => Some(Tls { certificate, key }),
                (None, None) => None,
                _ => return Err(ConfigError::Value("give the certificate and its key, both".to_owned())),
            };
        let scheme = if tls.is_some() { "https" } else { "http" };
        let public_url = self
            .public_url
            .or(from_file.public_url)
            .map_or_else(|| Ok(format!("{scheme}://{listen}")), |url| checked_url(&url))?;
        let proxies = networks(&self.proxies.or(from_file.proxies).unwrap_or_default())?;
        let metrics_token = self.metrics_token.or(from_file.metrics_token);
        if metrics_token.as_ref().is_some_and(|t| t.len() < 16) {
            let short = "the token for /metrics is short: give at least 16 characters";
            return Err(ConfigError::Value(short.to_owned()));
        }
        let database_url = self
            .database_url
            .or(from_file.database_url)
            .unwrap_or_else(|| format!("sqlite:{}", data.join("chock.db").display()));
        let replica_url = self.replica_url.or(from_file.replica_url);
        let currency = self.currency.or(from_file.currency).unwrap_or_else(|| "EUR".to_owned());
        if currency.len() != 3 || !currency.chars().all(|c| c.is_ascii_uppercase()) {
            return Err(ConfigError::Value(format!(
                "{currency}: give the currency by its ISO 4217 code, such as EUR"
            )));
        }
        let mail = self.mail_url.or(from_file.mail_url).map(|url| Mail {
            url,
            user: self.mail_user.or(from_file.mail_user),
            password: self.mail_password.or(from_file.mail_password),
            root: self.mail_root.or(from_file.mail_root),
        });
        let photos = match self.photos.or(from_file.photos) {
            Some(url) => {
                let (bucket, prefix) = bucket(&url)?;
                let given = |value: Option<String>, what: &str| {
                    value.ok_or_else(|| ConfigError::Value(format!("{url}: give {what} as well")))
                };
                Some(Photos {
                    bucket,
                    prefix,
                    endpoint: self
                        .photos_endpoint
                        .or(from_file.photos_endpoint)
                        .map(|url| checked_url(&url))
                        .transpose()?,
                    region: self
                        .photos_region
                        .or(from_file.photos_region)
                        .unwrap_or_else(|| "us-east-1".to_owned()),
                    key: given(self.photos_key.or(from_file.photos_key), "CHOCK_PHOTOS_KEY")?,
                    secret: given(self.photos_secret.or(from_file.photos_secret), "CHOCK_PHOTOS_SECRET")?,
                    root: self.photos_root.or(from_file.photos_root),
                })
            }
            None => None,
        };
        let mail_from =
            self.mail_from.or(from_file.mail_from).unwrap_or_else(|| "Chock <chock@localhost>".to_owned());
        let webhooks_private = self.webhooks_private.or(from_file.webhooks_private).unwrap_or(false);
        Ok(Config {
            data,
            database_url,
            replica_url,
            listen,
            public_url,
            tls,
            proxies,
            metrics_token,
            currency,
            mail,
            mail_from,
            photos,
            webhooks_private,
        })
    }
}

fn read(path: &Path) -> Result<Settings, ConfigError> {
    let text = std::fs::read_to_string(path)
        .map_err(|source| ConfigError::File { file: path.to_owned(), source })?;
    toml::from_str(&text).map_err(|e| ConfigError::Syntax { file: path.to_owned(), message: e.to_string() })
}

/// Networks with commas between; a single address is a network of one.
fn networks(list: &str) -> Result<Vec<IpNet>, ConfigError> {
    let each = list.split(',').map(str::trim).filter(|n| !n.is_empty());
    each.map(|n| n.parse().or_else(|_| n.parse::<IpAddr>().map(IpNet::from)))
        .collect::<Result<_, _>>()
        .map_err(|_| {
            ConfigError::Value(format!(
                "{list}: give proxies as 127.0.0.1 or 10.0.0.0/8, with commas between"
            ))
        })
}

/// Bucket and prefix of `s3://bucket/some/prefix`.
fn bucket(url: &str) -> Result<(String, String), ConfigError> {
    let (name, prefix) = match url.strip_prefix("s3://") {
        Some(rest) => rest.split_once('/').unwrap_or((rest, "")),
        None => ("", ""),
    };
    if name.is_empty() || name.contains(|c: char| !c.is_ascii_alphanumeric() && !"-._".contains(c)) {
        return Err(ConfigError::Value(format!(
            "{url}: give the bucket for pictures as s3://bucket or s3://bucket/prefix"
        )));
    }
    Ok((name.to_owned(), prefix.trim_matches('/').to_owned()))
}

fn checked_url(url: &str) -> Result<String, ConfigError> {
    let url = url.trim_end_matches('/');
    let rest = url.strip_prefix("https://").or_else(|| url.strip_prefix("http://"));
    match rest {
        Some(host) if !host.is_empty() && !host.contains('/') => Ok(url.to_owned()),
        _ => Err(ConfigError::Value(format!(
            "{url}: give the address as https://host or http://host:port, without a path"
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flags_win_over_the_file_and_the_file_over_defaults() {
        let folder = std::env::temp_dir().join(format!("chock-config-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join("chock.toml");
        std::fs::write(&file, "data = \"/srv/chock\"\ncurrency = \"NOK\"\n").unwrap();
        let flags = Settings { currency: Some("GBP".into()), ..Settings::default() };
        let config = flags.resolve(Some(&file)).unwrap();
        assert_eq!((config.currency.as_str(), config.data.as_path()), ("GBP", Path::new("/srv/chock")));
        assert_eq!(config.database_url, "sqlite:/srv/chock/chock.db");
        std::fs::write(&file, "colour = 1\n").unwrap();
        assert!(Settings::default().resolve(Some(&file)).is_err());
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_bucket_comes_with_its_key() {
        assert_eq!(bucket("s3://ternfield").unwrap(), ("ternfield".to_owned(), String::new()));
        assert_eq!(bucket("s3://ternfield/chock/photos/").unwrap().1, "chock/photos");
        for bad in ["ternfield", "s3://", "s3:///photos", "https://ternfield", "s3://tern field"] {
            assert!(bucket(bad).is_err(), "{bad}");
        }
        let mut flags = Settings { photos: Some("s3://ternfield".into()), ..Settings::default() };
        flags.photos_key = Some("yard".into());
        let missing = flags.clone().resolve(None).unwrap_err().to_string();
        assert_eq!(missing, "s3://ternfield: give CHOCK_PHOTOS_SECRET as well");
        flags.photos_secret = Some("gate".into());
        let photos = flags.resolve(None).unwrap().photos.unwrap();
        assert_eq!((photos.region.as_str(), photos.endpoint), ("us-east-1", None));
    }

    #[test]
    fn what_stands_in_front_is_said_whole() {
        let networks = |list: &str| networks(list).map(|n| n.len());
        assert_eq!(networks("").unwrap(), 0);
        assert_eq!(networks("127.0.0.1, 10.0.0.0/8,::1").unwrap(), 3);
        assert!(networks("10.0.0.0/33").is_err() && networks("proxy.example.org").is_err());
        let mut flags = Settings { tls_certificate: Some("a.pem".into()), ..Settings::default() };
        assert!(flags.clone().resolve(None).is_err(), "a certificate without its key");
        flags.tls_key = Some("a.key".into());
        assert_eq!(flags.resolve(None).unwrap().public_url, "https://127.0.0.1:8080");
        let short = Settings { metrics_token: Some("short".into()), ..Settings::default() };
        assert!(short.resolve(None).is_err());
    }

    #[test]
    fn a_public_url_is_an_origin() {
        assert_eq!(checked_url("https://chock.example.org/").unwrap(), "https://chock.example.org");
        for bad in ["chock.example.org", "https://", "https://a/b", "ftp://a"] {
            assert!(checked_url(bad).is_err(), "{bad}");
        }
    }
}
