//! The whole server over a test's workshop, listening, as `chock serve` starts it.

use std::net::{SocketAddr, TcpListener};

use chock::app;
use chock::config::{Config, Photos};
use chock::tasks::Tasks;
use chock::workflow::Workshop;
use tempfile::TempDir;

pub struct Served {
    pub url: String,
    server: actix_web::dev::ServerHandle,
    tasks: Tasks,
    /// Pictures and mail.
    _data: TempDir,
}

impl Served {
    pub async fn start(workshop: &Workshop) -> Self {
        Self::with_photos(workshop, None).await
    }

    /// Under a name, as passkeys need one.
    pub async fn by_name(workshop: &Workshop) -> Self {
        Self::under("localhost", workshop, None).await
    }

    /// With the pictures in a bucket.
    pub async fn with_photos(workshop: &Workshop, photos: Option<Photos>) -> Self {
        Self::under("127.0.0.1", workshop, photos).await
    }

    async fn under(host: &str, workshop: &Workshop, photos: Option<Photos>) -> Self {
        let data = tempfile::tempdir().expect("a folder");
        // Mails and QR symbols carry the address, so it must be known before the server listens on it.
        let listen = free_address();
        let config = Config {
            data: data.path().to_owned(),
            database_url: String::new(),
            replica_url: None,
            listen,
            public_url: format!("http://{host}:{}", listen.port()),
            tls: None,
            proxies: Vec::new(),
            metrics_token: None,
            currency: "EUR".to_owned(),
            mail: None,
            mail_from: "Chock <chock@yard.example>".to_owned(),
            photos,
            webhooks_private: false,
        };
        std::fs::create_dir_all(data.path().join("photos")).expect("a folder for pictures");
        let running = app::start(&config, workshop, 1).await.expect("the server starts");
        let server = running.server.handle();
        tokio::spawn(running.server);
        Self { url: config.public_url, server, tasks: running.tasks, _data: data }
    }

    pub async fn stop(self) {
        self.server.stop(false).await;
        self.tasks.stop().await;
    }
}

fn free_address() -> SocketAddr {
    let probe = TcpListener::bind("127.0.0.1:0").expect("a port");
    probe.local_addr().expect("its address")
}
