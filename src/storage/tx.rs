//! With its rooms, the only place that knows which engine is underneath. A statement is written once, with `$n`, and runs on both.

use sqlx::postgres::{PgArguments, PgConnectOptions, PgListener, PgPoolOptions, PgRow};
use sqlx::sqlite::{
    SqliteArguments, SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteRow, SqliteSynchronous,
};
use sqlx::{
    Arguments, Connection, Encode, FromRow, PgConnection, PgPool, Postgres, Sqlite, SqliteConnection,
    SqlitePool, Type,
};
use std::path::Path;
use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::broadcast;

use super::StorageError;
use replica::Replica;
use schema::migrate_sqlite;
use together::Together;
use writer::{Writer, Writing};

mod at_once;
mod commits;
mod failing;
mod replica;
mod schema;
mod statements;
mod together;
mod writer;

pub(super) use at_once::Rows;
pub use failing::Failing;
pub(super) use schema::{MIGRATOR, ready_for_rows};

type Result<T, E = StorageError> = std::result::Result<T, E>;

/// A value that both engines can bind.
pub trait Param: Sync {
    fn bind_sqlite(&self, to: &mut SqliteArguments) -> Result<(), sqlx::error::BoxDynError>;
    fn bind_postgres(&self, to: &mut PgArguments) -> Result<(), sqlx::error::BoxDynError>;
}

impl<T> Param for T
where
    T: Sync,
    T: for<'q> Encode<'q, Sqlite> + Type<Sqlite>,
    T: for<'q> Encode<'q, Postgres> + Type<Postgres>,
{
    fn bind_sqlite(&self, to: &mut SqliteArguments) -> Result<(), sqlx::error::BoxDynError> {
        Arguments::add(to, self)
    }
    fn bind_postgres(&self, to: &mut PgArguments) -> Result<(), sqlx::error::BoxDynError> {
        Arguments::add(to, self)
    }
}

/// A row shape that both engines can fill.
pub trait Record: for<'r> FromRow<'r, SqliteRow> + for<'r> FromRow<'r, PgRow> + Send + Unpin {}
impl<T> Record for T where T: for<'r> FromRow<'r, SqliteRow> + for<'r> FromRow<'r, PgRow> + Send + Unpin {}

/// The database. SQLite has one connection that writes and a few that read; PostgreSQL has a pool.
#[derive(Clone)]
pub struct Db {
    engine: Engine,
    live: broadcast::Sender<Arc<str>>,
    replica: Option<Replica>,
    /// Never set but by tests.
    failing: Option<Failing>,
}

#[derive(Clone)]
enum Engine {
    Sqlite { reader: SqlitePool, writer: Writer },
    Postgres { pool: PgPool, options: Box<PgConnectOptions> },
}

enum Conn {
    SqliteWrite(Writing),
    SqliteRead(sqlx::pool::PoolConnection<Sqlite>),
    SqliteSnapshot(sqlx::Transaction<'static, Sqlite>),
    PostgresWrite(sqlx::Transaction<'static, Postgres>),
    PostgresRead(sqlx::pool::PoolConnection<Postgres>),
}

/// A transaction that writes, or a connection that only reads. Dropped without `commit`, a transaction never was.
pub struct Tx {
    conn: Conn,
    /// What is to be sent before anything else is.
    together: Together,
    announced: Vec<Arc<str>>,
    live: broadcast::Sender<Arc<str>>,
    failing: Option<Failing>,
}

enum Which<'c> {
    Sqlite(&'c mut SqliteConnection),
    Postgres(&'c mut PgConnection),
}

impl Conn {
    fn which(&mut self) -> Result<Which<'_>> {
        Ok(match self {
            Conn::SqliteWrite(writing) => Which::Sqlite(writing.connection()?),
            Conn::SqliteRead(conn) => Which::Sqlite(conn),
            Conn::SqliteSnapshot(tx) => Which::Sqlite(tx),
            Conn::PostgresWrite(tx) => Which::Postgres(tx),
            Conn::PostgresRead(conn) => Which::Postgres(conn),
        })
    }
}

/// To PostgreSQL; shared out among the threads that answer requests.
const MOST_CONNECTIONS: u32 = 16;
const SMALL_CACHE_KIB: &str = "-4096";
/// Of the connection that writes: what a morning's checks of some hundred machines touch, so that a group of them is not written
/// before its commit for want of room.
const WRITING_CACHE_KIB: &str = "-16384";
/// After so many pages the log is taken into the file. The pages that every check changes are then written there once in a while
/// and not every second; 16 MB of log.
const LOG_PAGES: u16 = 4_000;
/// Where it could not be done beside the writing, whoever commits does it.
const MOST_LOG_PAGES: &str = "16000";
/// After so long without use, a connection to PostgreSQL is asked whether it still stands.
const LONG_IDLE: Duration = Duration::from_secs(2);

impl Db {
    /// Opens and migrates. `sqlite:PATH` (made when missing) or `postgres://…`. Refused while something is moved into it.
    pub async fn open(url: &str) -> Result<Self> {
        Self::open_with(url, false).await
    }

    /// The same, also while something is moved into it: to look at that before anybody may use it.
    pub async fn open_moved(url: &str) -> Result<Self> {
        Self::open_with(url, true).await
    }

    async fn open_with(url: &str, moved: bool) -> Result<Self> {
        let (live, _) = broadcast::channel(256);
        let engine = if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            let options = PgConnectOptions::from_str(url)?;
            let pool = postgres_pool(MOST_CONNECTIONS).connect_with(options.clone()).await?;
            let asked = "SELECT to_regclass('move_under_way') IS NOT NULL";
            let (under_way,): (bool,) = sqlx::query_as(asked).fetch_one(&pool).await?;
            if under_way && !moved {
                return Err(StorageError::BeingMovedInto);
            }
            ready_for_rows(&mut *pool.acquire().await?).await?;
            Engine::Postgres { pool, options: Box::new(options) }
        } else if let Some(path) = url.strip_prefix("sqlite:") {
            let options = SqliteConnectOptions::new()
                .filename(Path::new(path))
                .create_if_missing(true)
                .journal_mode(SqliteJournalMode::Wal)
                .synchronous(SqliteSynchronous::Full)
                .foreign_keys(true)
                .busy_timeout(Duration::from_secs(5))
                .pragma("cache_size", SMALL_CACHE_KIB)
                .statement_cache_capacity(256)
                // Rows come from a thread of the engine's own; with fewer the two wait for one another.
                .row_buffer_size(1024);
            let writing = options
                .clone()
                .pragma("cache_size", WRITING_CACHE_KIB)
                .pragma("wal_autocheckpoint", MOST_LOG_PAGES)
                // What a savepoint may have to undo is kept in memory, not in a file.
                .pragma("temp_store", "MEMORY");
            let mut connection = SqliteConnection::connect_with(&writing).await?;
            migrate_sqlite(&mut connection).await?;
            let options = options.create_if_missing(false);
            let writer = Writer::new(connection, options.clone(), LOG_PAGES).await?;
            let reader = SqlitePoolOptions::new()
                .max_connections(4)
                // A file does not go away as a server may.
                .test_before_acquire(false)
                .connect_with(options)
                .await?;
            Engine::Sqlite { reader, writer }
        } else {
            return Err(StorageError::UnknownUrl(url.split(':').next().unwrap_or_default().to_owned()));
        };
        Ok(Self { engine, live, replica: None, failing: None })
    }

    /// The same database, failing where it is told to. For tests.
    pub fn that_fails(&self, failing: &Failing) -> Self {
        Self { failing: Some(failing.clone()), ..self.clone() }
    }

    /// The same database for one of `workers` threads that each have a reactor of their own. A connection's socket wakes
    /// the thread that opened it, so one that is used from another thread pays for two more switches with every
    /// statement; on PostgreSQL each thread therefore has its own connections.
    pub fn for_one_of(&self, workers: usize) -> Self {
        let engine = match &self.engine {
            Engine::Postgres { options, .. } => {
                let share = (MOST_CONNECTIONS / u32::try_from(workers).unwrap_or(1)).max(2);
                let pool = postgres_pool(share).connect_lazy_with((**options).clone());
                Engine::Postgres { pool, options: options.clone() }
            }
            sqlite @ Engine::Sqlite { .. } => sqlite.clone(),
        };
        let replica = self.replica.as_ref().map(Replica::again);
        Self { engine, live: self.live.clone(), replica, failing: self.failing.clone() }
    }

    /// A transaction that writes. On SQLite it holds the write lock from its first question on, so it never fails half-way
    /// for want of it.
    pub async fn begin(&self) -> Result<Tx> {
        self.step()?;
        match &self.engine {
            Engine::Sqlite { writer, .. } => Ok(self.tx(Conn::SqliteWrite(writer.writing()))),
            Engine::Postgres { pool, .. } => Ok(self.tx(Conn::PostgresWrite(pool.begin().await?))),
        }
    }

    /// A connection for reading.
    pub async fn read(&self) -> Result<Tx> {
        self.step()?;
        let conn = match &self.engine {
            Engine::Sqlite { reader, .. } => Conn::SqliteRead(reader.acquire().await?),
            Engine::Postgres { pool, .. } => Conn::PostgresRead(pool.acquire().await?),
        };
        Ok(self.tx(conn))
    }

    /// A connection for reading that sees everything as it was at one moment, however long the reading takes.
    pub async fn snapshot(&self) -> Result<Tx> {
        self.step()?;
        let conn = match &self.engine {
            Engine::Sqlite { reader, .. } => Conn::SqliteSnapshot(reader.begin().await?),
            Engine::Postgres { pool, .. } => {
                let mut tx = pool.begin().await?;
                let once = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY";
                sqlx::query(once).execute(&mut *tx).await?;
                Conn::PostgresWrite(tx)
            }
        };
        Ok(self.tx(conn))
    }

    fn tx(&self, conn: Conn) -> Tx {
        Tx {
            conn,
            together: Together::default(),
            announced: Vec::new(),
            live: self.live.clone(),
            failing: self.failing.clone(),
        }
    }

    fn step(&self) -> Result<()> {
        self.failing.as_ref().map_or(Ok(()), Failing::step)
    }

    /// What changed, as it is committed: the topic given to [`Tx::announce`].
    pub fn listen(&self) -> broadcast::Receiver<Arc<str>> {
        self.live.subscribe()
    }

    /// On PostgreSQL, passes on what other processes announce, until the connection is lost. On SQLite there is one
    /// process and nothing to pass on: never returns.
    pub async fn relay_announcements(&self) -> Result<()> {
        match &self.engine {
            Engine::Sqlite { .. } => std::future::pending().await,
            Engine::Postgres { pool, .. } => {
                let mut listener = PgListener::connect_with(pool).await?;
                listener.listen("chock").await?;
                loop {
                    // Whatever was missed while not listening: one announcement that means "look again".
                    let _ = self.live.send("reconnected".into());
                    // None: the connection was lost, and there is another one by now.
                    while let Some(note) = listener.try_recv().await? {
                        let _ = self.live.send(note.payload().into());
                    }
                }
            }
        }
    }

    /// How often this process has changed what is kept. None while it does, and on PostgreSQL, where others change it
    /// at any moment.
    pub fn changes(&self) -> Option<u64> {
        match &self.engine {
            Engine::Sqlite { writer, .. } => writer.commits().count(),
            Engine::Postgres { .. } => None,
        }
    }

    pub fn is_sqlite(&self) -> bool {
        matches!(self.engine, Engine::Sqlite { .. })
    }

    /// A consistent copy of an SQLite database into a new file, taken while others write.
    pub async fn copy_to(&self, file: &Path) -> Result<()> {
        match &self.engine {
            Engine::Sqlite { reader, .. } => {
                let name = file.to_string_lossy().into_owned();
                sqlx::query("VACUUM INTO $1").bind(name).execute(reader).await?;
                Ok(())
            }
            Engine::Postgres { .. } => {
                Err(StorageError::NotOnThisEngine("PostgreSQL is backed up with its own pg_dump"))
            }
        }
    }

    /// Of an SQLite file that nobody has open: takes its write-ahead log into it, so that the file alone is all of it.
    /// Refused while anybody has it open.
    pub async fn settle_file(file: &Path) -> Result<()> {
        let options = SqliteConnectOptions::new().filename(file).busy_timeout(Duration::from_secs(1));
        let mut connection = SqliteConnection::connect_with(&options).await?;
        // Only whoever is alone may leave the log.
        let outcome = sqlx::raw_sql("PRAGMA journal_mode = DELETE").execute(&mut connection).await;
        connection.close().await?;
        outcome?;
        Ok(())
    }

    /// Of an SQLite file that Chock has made, how many audit entries are in it; it is not changed. None for any other file:
    /// opening one would make it ours.
    pub async fn entries_in(file: &Path) -> Result<Option<u64>> {
        let options = SqliteConnectOptions::new().filename(file).read_only(true);
        let mut connection = SqliteConnection::connect_with(&options).await?;
        let count = "SELECT (SELECT COUNT(*) FROM audit) FROM _sqlx_migrations LIMIT 1";
        let entries: Result<Option<(i64,)>, _> = sqlx::query_as(count).fetch_optional(&mut connection).await;
        connection.close().await?;
        Ok(entries.ok().flatten().and_then(|(entries,)| u64::try_from(entries).ok()))
    }

    /// For tests: no room for more pages than there are now, or again as much as there is. SQLite refuses as it does on a
    /// full disk.
    pub async fn limit_room(&self, limited: bool) -> Result<()> {
        match &self.engine {
            // A limit below what there is counts as what there is.
            Engine::Sqlite { writer, .. } if limited => writer.pragma("PRAGMA max_page_count = 1").await,
            Engine::Sqlite { writer, .. } => writer.pragma("PRAGMA max_page_count = 4294967294").await,
            Engine::Postgres { .. } => Err(StorageError::NotOnThisEngine("PostgreSQL has its own disk")),
        }
    }

    /// How many commits were lost that others may have been answered by.
    pub fn lost(&self) -> u64 {
        match &self.engine {
            Engine::Sqlite { writer, .. } => writer.lost(),
            Engine::Postgres { .. } => 0,
        }
    }

    /// Waits until whatever somebody may have been answered by is committed. On SQLite, changes that share a commit see one
    /// another before it: a refusal, or the same answer to what was sent twice, must not leave before they are kept.
    /// Refused where any was lost since there were `lost`.
    pub async fn settled(&self, lost: u64) -> Result<()> {
        match &self.engine {
            Engine::Sqlite { writer, .. } => {
                writer.settled().await?;
                if writer.lost() == lost {
                    return Ok(());
                }
                Err(StorageError::Unavailable(sqlx::Error::Protocol("a shared commit was lost".to_owned())))
            }
            // Sees only what is committed.
            Engine::Postgres { .. } => Ok(()),
        }
    }

    /// The engine's own look at its file: `ok`, or what is wrong. PostgreSQL checks its pages itself.
    pub async fn integrity(&self) -> Result<String> {
        match &self.engine {
            Engine::Sqlite { reader, .. } => {
                let (answer,): (String,) = sqlx::query_as("PRAGMA integrity_check").fetch_one(reader).await?;
                Ok(answer)
            }
            Engine::Postgres { .. } => Ok("ok".to_owned()),
        }
    }

    pub async fn close(&self) {
        match &self.engine {
            Engine::Sqlite { reader, writer } => {
                reader.close().await;
                writer.close().await;
            }
            Engine::Postgres { pool, .. } => pool.close().await,
        }
        if let Some(replica) = &self.replica {
            replica.close().await;
        }
    }

    /// For loading a history that can be made again: trades durability for speed on SQLite until the next open.
    pub async fn relax_durability(&self) -> Result<()> {
        match &self.engine {
            Engine::Sqlite { writer, .. } => writer.pragma("PRAGMA synchronous = OFF").await,
            Engine::Postgres { .. } => Ok(()),
        }
    }
}

fn postgres_pool(most: u32) -> PgPoolOptions {
    PgPoolOptions::new()
        .max_connections(most)
        .acquire_timeout(Duration::from_secs(5))
        // A question to the server before every transaction would cost as much as a statement.
        .test_before_acquire(false)
        .before_acquire(|connection, meta| {
            Box::pin(async move {
                if meta.idle_for > LONG_IDLE {
                    connection.ping().await?;
                }
                Ok(true)
            })
        })
}
