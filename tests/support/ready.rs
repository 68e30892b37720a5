//! What every bench begins with, made by the workflows once a run and engine, and copied for each test: making it anew
//! took longer than most of the tests.

use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection};
use tokio::sync::OnceCell;

use super::{Bench, Engine, Simulated, postgres, six_in_the_morning};

/// Its workshop is closed.
struct Ready {
    bench: Bench,
    /// The whole file; empty on PostgreSQL, where the copy is made by the server.
    file: Vec<u8>,
}

/// The bench in a database of its own.
pub async fn copied(engine: Engine) -> Bench {
    static SQLITE: OnceCell<Ready> = OnceCell::const_new();
    static POSTGRES: OnceCell<Ready> = OnceCell::const_new();
    let ready = match engine {
        Engine::Sqlite => SQLITE.get_or_init(|| made(engine)).await,
        Engine::Postgres => POSTGRES.get_or_init(|| made(engine)).await,
    };
    let folder = tempfile::tempdir().expect("a folder");
    let database_url = match engine {
        Engine::Sqlite => {
            let file = folder.path().join("chock.db");
            std::fs::write(&file, &ready.file).expect("a copy");
            format!("sqlite:{}", file.display())
        }
        Engine::Postgres => {
            let (_, template) = ready.bench.database_url.rsplit_once('/').expect("a URL with a database");
            in_postgres(Some(template)).await
        }
    };
    // Other randomness than made what is in the copy, or than another test at the same time has: the same ids and secrets
    // would come again.
    static NEXT: AtomicU64 = AtomicU64::new(2);
    let time = Simulated::new(NEXT.fetch_add(1, Ordering::Relaxed), six_in_the_morning());
    ready.bench.again(database_url, folder, time).await
}

/// A new database, empty or like another to which nobody is connected.
pub async fn in_postgres(like: Option<&str>) -> String {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let n = NEXT.fetch_add(1, Ordering::Relaxed);
    let name = format!("chock_{}_{n}", std::process::id());
    let like = like.map(|template| format!(" TEMPLATE {template}")).unwrap_or_default();
    let mut admin = PgConnection::connect(postgres()).await.expect("PostgreSQL answers");
    // The names are ours.
    admin.execute(AssertSqlSafe(format!("CREATE DATABASE {name}{like}"))).await.expect("a database");
    let (base, _) = postgres().rsplit_once('/').expect("a URL with a database");
    format!("{base}/{name}")
}

async fn made(engine: Engine) -> Ready {
    let time = Simulated::new(1, six_in_the_morning());
    let bench = Bench::set_up(engine, time.ambient(), time).await;
    bench.workshop.db.close().await;
    let file = match engine {
        Engine::Sqlite => std::fs::read(bench.folder.path().join("chock.db")).expect("the file"),
        Engine::Postgres => Vec::new(),
    };
    let mut ready = Ready { bench, file };
    // What is kept for the run's length is never dropped, and its folder would stay.
    ready.bench.folder.disable_cleanup(false);
    std::fs::remove_dir_all(ready.bench.folder.path()).expect("the folder goes");
    ready
}
