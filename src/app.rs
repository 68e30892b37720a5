//! Builds everything from a [`Config`]: the only place that knows all rooms.

use std::net::TcpListener;
use std::path::Path;
use std::sync::Arc;

use actix_web::dev::Server;
use actix_web::middleware::{Compress, NormalizePath, from_fn};
use actix_web::{App, HttpServer, web};

use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};

use crate::clock::Ambient;
use crate::config::{Config, Tls};
use crate::http::pages::error;
use crate::http::photo_store::{Bucket, PhotoError, PhotoStore};
use crate::http::{Operation, Site, follow, head, language, routes, security, settled};
use crate::notify::{Courier, Folder, Http, MailConfig, Mailer, NotifyError, Smtp};
use crate::storage::{Db, StorageError};
use crate::tasks::{self, Post, Tasks};
use crate::workflow::{self, WorkflowError, Workshop};

#[derive(Debug, thiserror::Error)]
pub enum AppError {
    #[error("the data folder {folder} cannot be used: {source}")]
    Folder { folder: String, source: std::io::Error },
    #[error("{file}: there is no database here. Say with --data where it is; chock serve makes a new one")]
    NoDatabase { file: String },
    #[error("the address {address} cannot be listened on: {source}")]
    Listen { address: String, source: std::io::Error },
    #[error("the database cannot be used: {0}")]
    Database(#[from] StorageError),
    #[error(transparent)]
    Workflow(#[from] WorkflowError),
    #[error(transparent)]
    Notify(#[from] NotifyError),
    #[error(transparent)]
    Photos(#[from] PhotoError),
    #[error("{file}: cannot be read: {source}")]
    Certificate { file: String, source: std::io::Error },
    #[error("the server stopped: {0}")]
    Server(#[source] std::io::Error),
}

/// Everything needed to work with the data, without a server.
pub async fn open(config: &Config, ambient: Ambient) -> Result<Workshop, AppError> {
    let folder = |source| AppError::Folder { folder: config.data.display().to_string(), source };
    std::fs::create_dir_all(config.data.join("photos")).map_err(folder)?;
    let mut db = Db::open(&config.database_url).await?;
    if let Some(url) = &config.replica_url {
        db = db.with_replica(url)?;
    }
    Ok(Workshop::new(db, ambient, &config.currency))
}

/// Opens only what is there: a backup of a database that a slip of the pen has just made would be taken for one.
pub async fn open_existing(config: &Config, ambient: Ambient) -> Result<Workshop, AppError> {
    match config.database_url.strip_prefix("sqlite:") {
        Some(file) if !Path::new(file).exists() => Err(AppError::NoDatabase { file: file.to_owned() }),
        _ => open(config, ambient).await,
    }
}

/// A server that is ready and not yet waited for.
pub struct Running {
    pub server: Server,
    pub tasks: Tasks,
    pub address: std::net::SocketAddr,
}

/// Binds, starts the tasks, and answers requests until the returned server is stopped.
pub async fn start(config: &Config, workshop: &Workshop, workers: usize) -> Result<Running, AppError> {
    let listen = |source| AppError::Listen { address: config.listen.to_string(), source };
    let listener = TcpListener::bind(config.listen).map_err(listen)?;
    let address = listener.local_addr().map_err(listen)?;
    let post = post(config)?;
    let courier: Arc<dyn Courier> = Arc::new(Http::new(config.webhooks_private, WEBHOOK_PATIENCE)?);
    let site = Site {
        workshop: workshop.clone(),
        public_url: config.public_url.clone(),
        token_key: workflow::token_key(workshop).await?,
        photos: photos(config)?,
        webhooks_private: config.webhooks_private,
        operation: Arc::new(Operation {
            data: config.data.clone(),
            proxies: config.proxies.clone(),
            metrics_token: config.metrics_token.clone(),
            ..Operation::default()
        }),
        compose: {
            let post = post.clone();
            Arc::new(move |id, alert, name, address, lang| {
                // Whoever looks at it here is not whom the link is for.
                post.compose(id, alert, name, address, lang, None).ok().map(|m| (m.subject, m.text))
            })
        },
    };
    let server = HttpServer::new(move || {
        let site = Site { workshop: site.workshop.for_one_of(workers), ..site.clone() };
        App::new()
            .app_data(web::Data::new(site))
            .configure(routes::configure)
            .wrap(from_fn(error::framed))
            .wrap(from_fn(settled::settled))
            .wrap(from_fn(security::same_origin))
            .wrap(from_fn(language::speak))
            .wrap(from_fn(security::headers))
            .wrap(NormalizePath::trim())
            .wrap(Compress::default())
            .wrap(from_fn(head::as_get))
            .wrap(from_fn(follow::follow))
    })
    .workers(workers)
    // Requests are short; a board that listens would otherwise hold the stop up for as long as this.
    .shutdown_timeout(5);
    let server = match &config.tls {
        Some(tls) => server.listen_rustls_0_23(listener, tls_of(tls)?),
        None => server.listen(listener),
    }
    .map_err(listen)?
    .run();
    Ok(Running { server, tasks: tasks::start(workshop, &post, &courier), address })
}

/// For one whole try to reach another program; Standard Webhooks 1.0 recommends 15 to 30 seconds.
const WEBHOOK_PATIENCE: std::time::Duration = std::time::Duration::from_secs(20);

/// What is needed to speak TLS with a certificate of one's own. A renewed one is read at the next start.
fn tls_of(tls: &Tls) -> Result<ServerConfig, AppError> {
    let unreadable = |file: &std::path::Path, source: std::io::Error| AppError::Certificate {
        file: file.display().to_string(),
        source,
    };
    let bad = |file: &std::path::Path, e: &dyn std::error::Error| {
        unreadable(file, std::io::Error::new(std::io::ErrorKind::InvalidData, e.to_string()))
    };
    let chain: Vec<_> = CertificateDer::pem_file_iter(&tls.certificate)
        .and_then(Iterator::collect)
        .map_err(|e| bad(&tls.certificate, &e))?;
    let key = PrivateKeyDer::from_pem_file(&tls.key).map_err(|e| bad(&tls.key, &e))?;
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .and_then(|builder| builder.with_no_client_auth().with_single_cert(chain, key))
        .map_err(|e| bad(&tls.certificate, &e))
}

/// For one try to reach the bucket. A phone waits five minutes for a photo.
const PATIENCE: std::time::Duration = std::time::Duration::from_secs(20);

/// Where pictures are kept: in the configured bucket, or in the data folder.
pub fn photos(config: &Config) -> Result<PhotoStore, AppError> {
    let Some(photos) = &config.photos else {
        return Ok(PhotoStore::folder(&config.data.join("photos"))?);
    };
    let unreadable =
        |file: &std::path::Path, source| AppError::Certificate { file: file.display().to_string(), source };
    let bucket = Bucket {
        name: photos.bucket.clone(),
        prefix: photos.prefix.clone(),
        endpoint: photos.endpoint.clone(),
        region: photos.region.clone(),
        key: photos.key.clone(),
        secret: photos.secret.clone(),
        root: match &photos.root {
            Some(file) => Some(std::fs::read(file).map_err(|e| unreadable(file, e))?),
            None => None,
        },
        patience: PATIENCE,
    };
    Ok(PhotoStore::bucket(&bucket)?)
}

/// How mail leaves: by the configured server, or into the data folder.
pub fn post(config: &Config) -> Result<Post, AppError> {
    let mailer: Arc<dyn Mailer> = match &config.mail {
        Some(mail) => Arc::new(Smtp::new(&MailConfig {
            url: mail.url.clone(),
            from: config.mail_from.clone(),
            user: mail.user.clone(),
            password: mail.password.clone(),
            timeout: std::time::Duration::from_secs(60),
            root_certificate: mail.root.clone(),
        })?),
        None => Arc::new(Folder::new(config.data.join("mail"), &config.mail_from)?),
    };
    let domain = config.mail_from.trim_end_matches('>').rsplit('@').next().unwrap_or("localhost").to_owned();
    Ok(Post { mailer, public_url: config.public_url.clone(), domain })
}
