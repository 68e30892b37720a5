//! The transaction of a passing check, written straight on sqlx: the floor that the server is held against.
//!
//! It is the same work only as long as it is the same statements. So one real check is listened to first, and the bench
//! refuses to run when what `workflow` sends is no longer what stands here.

use std::io::Write;
use std::str::FromStr;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use chock::clock::Ambient;
use chock::domain::ids::CheckId;
use chrono::{DateTime, Utc};
use sqlx::postgres::PgPoolOptions;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{AssertSqlSafe, Connection, PgConnection, PgPool, SqliteConnection};
use tracing_subscriber::Registry;
use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::reload;
use tracing_subscriber::util::SubscriberInitExt;
use uuid::Uuid;

use crate::Outcome;
use crate::traffic::Pace;
use crate::world::{Engine, World};

const MACHINE: &str =
    "SELECT id, yard_id, unit_number, class, description, serial, engine_hours, retired_at, version
    FROM machine WHERE id = $1";
const UNCHANGED: &str = "UPDATE machine SET version = version + 1, engine_hours = COALESCE($3, engine_hours)
    WHERE id = $1 AND version = $2";
const ALREADY: &str =
    "SELECT c.id, c.machine_id, c.checklist_id, c.operator_id, p.name AS operator_name, c.load, c.warmth, c.air,
    c.altitude_m, c.engine_hours, c.note, c.answers, c.fingerprint, c.verdict, a.answered, c.recorded_at, c.received_at
    FROM pre_use_check c JOIN person p ON p.id = c.operator_id JOIN check_answer a ON a.check_id = c.id WHERE c.id = $1";
const RETIRED: &str =
    "SELECT retired_at FROM checklist WHERE id = $1 AND retired_by IS NOT NULL AND retired_at IS NOT NULL";
const RELEASED: &str = "SELECT item, position, closed_at, part_replaced FROM defect
    WHERE machine_id = $1 AND item IS NOT NULL AND closed_at >= $2 ORDER BY closed_at";
macro_rules! newest {
    ($item:literal) => {
        concat!(
            "SELECT CAST(",
            $item,
            " AS TEXT) AS item, string_agg(point, '\n') AS points FROM (SELECT point FROM reading
    WHERE machine_id = $1 AND item = ",
            $item,
            " AND point IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3
    ORDER BY recorded_at DESC LIMIT $4 + 0) AS newest HAVING COUNT(*) > 0"
        )
    };
}

macro_rules! newest_of_each {
    ($before:literal) => {
        concat!(
            $before,
            newest!("$5"),
            " UNION ALL ",
            newest!("$6"),
            " UNION ALL ",
            newest!("$7"),
            " UNION ALL ",
            newest!("$8"),
            " UNION ALL ",
            newest!("$9"),
            " UNION ALL ",
            newest!("$10"),
            " UNION ALL ",
            newest!("$11"),
            " UNION ALL ",
            newest!("$12"),
            " UNION ALL ",
            newest!("$13"),
            " UNION ALL ",
            newest!("$14"),
            " UNION ALL ",
            newest!("$15"),
            " UNION ALL ",
            newest!("$16"),
        )
    };
}
const VALUES: &str = newest_of_each!("");
const PUT_RIGHT: &str = "SELECT item, position, corrected_base, engine_hours, recorded_at FROM reading
    WHERE machine_id = $1 AND item IN ($4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
      AND corrected_what IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3 ORDER BY recorded_at";
const YARD: &str = "SELECT id, name, zone, one_person, altitude_m FROM yard
    WHERE id = (SELECT yard_id FROM machine WHERE id = $1)";
const HOLDS: &str =
    "SELECT h.id, h.machine_id, h.yard_id, h.defect_id, h.reason, h.placed_by, p.name AS placed_by_name,
    h.since, h.placed_at, h.hours_at, h.lifted_at, h.lift_reason
    FROM hold h JOIN person p ON p.id = h.placed_by
    WHERE h.machine_id = $1 AND h.lifted_at IS NULL ORDER BY h.since, h.id";
const DEFECTS: &str =
    "SELECT id, machine_id, yard_id, what, system, item, position, load, warmth, air, altitude_m, severity,
    state, rule, checklist_id, final, why, instruction, supporting, failed, risk, good_until_at, good_until_hours,
    reported_by, check_id, work_order_id, prior_defect_id, came_back, said_gone_at, cause, remedy, repaired_by,
    no_fault_found, part_replaced, found_at, raised_at, closed_at, version
    FROM defect WHERE machine_id = $1 AND closed_at IS NULL ORDER BY raised_at, id";
const CHECK: &str =
    "INSERT INTO pre_use_check (id, machine_id, checklist_id, operator_id, load, warmth, air, altitude_m,
    engine_hours, note, answers, fingerprint, verdict, begun_at, recorded_at, received_at)
    VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)";
const READINGS: &str = "INSERT INTO reading (check_id, seq, machine_id, item, position, outcome, level, value_base, value_read, unit,
    corrected_what, corrected_base, engine_hours, recorded_at, point) VALUES ";
const READING_COLUMNS: usize = 15;
const ANSWER: &str = "INSERT INTO check_answer (check_id, answered) VALUES ($1, $2)";
const CHAIN: &str = "SELECT seq, hash FROM audit_head WHERE stream = $1";
const ENTRY: &str =
    "INSERT INTO audit (stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash)
    VALUES ($1,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11,$12)";
const CHAIN_END: &str = "UPDATE audit_head SET seq = $2, hash = $3 WHERE stream = $1 AND seq = $4";
const NOTIFY: &str = "SELECT pg_notify('chock', $1)";

/// As many as the server's own pool has.
const CONNECTIONS: u32 = 16;
const TASKS: usize = 64;
/// Of four wheels the newest sixty.
const MOST: i64 = 240;

/// One real check, to be written again and again under other ids.
pub struct Raw {
    engine: Engine,
    url: String,
    ambient: Ambient,
    insert_readings: String,
    streams: Vec<String>,
    yard: Uuid,
    checklist: Uuid,
    operator: Uuid,
    operator_name: String,
    load: String,
    note: String,
    answers: String,
    fingerprint: String,
    verdict: String,
    answered: String,
    readings: Vec<Kept>,
    looked_back_on: Vec<String>,
    world: Arc<World>,
    turns: AtomicUsize,
}

#[derive(sqlx::FromRow)]
struct Kept {
    seq: i64,
    item: String,
    position: String,
    outcome: String,
    level: Option<String>,
    value_base: Option<f64>,
    value_read: Option<String>,
    unit: Option<String>,
}

type PutRight = (String, String, Option<f64>, Option<i64>, DateTime<Utc>);
type CheckColumns = (Uuid, String, String, String, String, String, String);

/// The statements inside the transaction, once for each of sqlx's two kinds of connection.
macro_rules! statements {
    ($name:ident, $connection:ty) => {
        async fn $name(&self, tx: &mut $connection, nth: usize) -> Outcome {
            let id = self.ambient.id::<CheckId>().0;
            let now: DateTime<Utc> = self.ambient.now();
            let (machine, stream) = (&self.world.machines[nth], &self.streams[nth]);
            let (machine, hours) = (machine.id.0, machine.next_hours().0);
            let row = sqlx::query(MACHINE).bind(machine).fetch_one(&mut *tx).await?;
            let version: i64 = sqlx::Row::get(&row, "version");
            sqlx::query(ALREADY).bind(id).fetch_optional(&mut *tx).await?;
            sqlx::query(RETIRED).bind(self.checklist).fetch_optional(&mut *tx).await?;
            sqlx::query(YARD).bind(machine).fetch_optional(&mut *tx).await?;
            sqlx::query(DEFECTS).bind(machine).fetch_all(&mut *tx).await?;
            sqlx::query(HOLDS).bind(machine).fetch_all(&mut *tx).await?;
            let from = now - chrono::TimeDelta::days(730);
            sqlx::query(RELEASED).bind(machine).bind(from).fetch_all(&mut *tx).await?;
            let item = |n: usize| self.looked_back_on.get(n).map_or("", String::as_str);
            let mut values = sqlx::query_as::<_, (String, String)>(VALUES);
            values = values.bind(machine).bind(from).bind(now).bind(MOST);
            let mut put_right = sqlx::query_as::<_, PutRight>(PUT_RIGHT);
            put_right = put_right.bind(machine).bind(from).bind(now);
            for n in 0..12 {
                (values, put_right) = (values.bind(item(n)), put_right.bind(item(n)));
            }
            // Made into values, as the server must to judge them.
            std::hint::black_box(read(values.fetch_all(&mut *tx).await?)?);
            std::hint::black_box(put_right.fetch_all(&mut *tx).await?);
            let head: Option<(i64, String)> =
                sqlx::query_as(CHAIN).bind(stream).fetch_optional(&mut *tx).await?;
            let (end, hash) = head.ok_or("the machine has no chain")?;
            sqlx::query(UNCHANGED).bind(machine).bind(version).bind(hours).execute(&mut *tx).await?;
            let check = sqlx::query(CHECK).bind(id).bind(machine).bind(self.checklist).bind(self.operator);
            let check = check.bind(&self.load).bind(None::<String>).bind(None::<String>).bind(None::<i64>);
            let check = check.bind(hours).bind(&self.note).bind(&self.answers);
            let check = check.bind(&self.fingerprint).bind(&self.verdict).bind(None::<DateTime<Utc>>);
            let check = check.bind(now).bind(now);
            check.execute(&mut *tx).await?;
            let mut readings = sqlx::query(AssertSqlSafe(self.insert_readings.clone()));
            for r in &self.readings {
                readings = readings.bind(id).bind(r.seq).bind(machine).bind(&r.item).bind(&r.position);
                readings = readings.bind(&r.outcome).bind(&r.level).bind(r.value_base).bind(&r.value_read);
                readings =
                    readings.bind(&r.unit).bind(None::<String>).bind(None::<f64>).bind(hours).bind(now);
                readings = readings.bind(r.value_base.map(|v| point(v, hours, now, &r.position)));
            }
            readings.execute(&mut *tx).await?;
            sqlx::query(ANSWER).bind(id).bind(&self.answered).execute(&mut *tx).await?;
            let (seq, moved) = (end + 1, sqlx::query(CHAIN_END).bind(stream));
            moved.bind(seq).bind(&hash).bind(end).execute(&mut *tx).await?;
            let entry = sqlx::query(ENTRY).bind(stream).bind(seq).bind(now).bind(self.operator);
            let entry = entry.bind(&self.operator_name).bind("check submitted").bind(format!("check {id}"));
            let entry = entry.bind("").bind(&self.verdict).bind("").bind(&hash).bind(&hash);
            entry.execute(&mut *tx).await?;
            Ok(())
        }
    };
}

impl Raw {
    /// Takes the newest check of the world as what is written again, after seeing that the statements are the same.
    pub async fn new(world: &Arc<World>, heard: &[String]) -> Outcome<Self> {
        let url = world.config.database_url.clone();
        let mut tx = world.workshop.db.read().await?;
        let check: CheckColumns = tx
            .one(
                "SELECT c.id, c.load, c.note, c.answers, c.fingerprint, c.verdict, a.answered FROM pre_use_check c
                 JOIN check_answer a ON a.check_id = c.id ORDER BY c.received_at DESC LIMIT 1",
                &[],
            )
            .await?;
        let readings: Vec<Kept> = tx
            .all(
                "SELECT seq, item, position, outcome, level, value_base, value_read, unit FROM reading
                 WHERE check_id = $1 ORDER BY seq",
                &[&check.0],
            )
            .await?;
        let (_, load, note, answers, fingerprint, verdict, answered) = check;
        let raw = Self {
            engine: world.engine,
            url,
            ambient: world.workshop.ambient.clone(),
            insert_readings: format!(
                "{READINGS}{}",
                placeholders(world.engine, readings.len(), READING_COLUMNS)
            ),
            streams: world.machines.iter().map(|m| format!("machine {}", m.id)).collect(),
            yard: world.yard.0,
            checklist: world.checklist_id.0,
            operator: world.operator.id.0,
            operator_name: world.operator.name.clone(),
            load,
            note,
            answers,
            fingerprint,
            verdict,
            answered,
            readings,
            looked_back_on: world.looked_back_on.clone(),
            world: world.clone(),
            turns: AtomicUsize::new(0),
        };
        let mut ours = vec![
            MACHINE,
            ALREADY,
            RETIRED,
            YARD,
            DEFECTS,
            HOLDS,
            RELEASED,
            VALUES,
            PUT_RIGHT,
            CHAIN,
            UNCHANGED,
            CHECK,
            &raw.insert_readings,
            ANSWER,
        ];
        ours.extend([CHAIN_END, ENTRY]);
        if world.engine == Engine::Postgres {
            ours.push(NOTIFY);
        }
        let ours: Vec<String> = ours.into_iter().map(|sql| unnumbered(&in_one_line(sql))).collect();
        if ours != heard {
            let differs = ours.iter().zip(heard).find(|(a, b)| a != b);
            return Err(format!(
                "the transaction written here is no longer what a check leads to ({} statements here, {} there); first \
                 difference: {differs:#?}",
                ours.len(),
                heard.len()
            )
            .into());
        }
        Ok(raw)
    }

    pub fn readings(&self) -> usize {
        self.readings.len()
    }

    /// Transactions a second: on SQLite by one connection, for one at a time can write; on PostgreSQL by as many
    /// connections as the server has.
    pub async fn pace(self: &Arc<Self>, window: Duration) -> Outcome<Pace> {
        let raw = self.clone();
        tokio::task::spawn_blocking(move || {
            let workers = std::thread::available_parallelism().map_or(2, usize::from);
            let runtime =
                tokio::runtime::Builder::new_multi_thread().worker_threads(workers).enable_all().build()?;
            runtime.block_on(async {
                match raw.engine {
                    Engine::Sqlite => raw.serially(window).await,
                    Engine::Postgres => raw.together(window).await,
                }
            })
        })
        .await?
    }

    async fn serially(&self, window: Duration) -> Outcome<Pace> {
        // As `storage` opens it, but nobody takes the log into the file for it.
        let options = SqliteConnectOptions::from_str(&self.url)?
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(Duration::from_secs(5))
            .pragma("cache_size", "-16384")
            .pragma("wal_autocheckpoint", "4000")
            .statement_cache_capacity(256);
        let mut connection = SqliteConnection::connect_with(&options).await?;
        let (start, mut waits) = (Instant::now(), Vec::new());
        while start.elapsed() < window {
            let asked = Instant::now();
            let mut tx = connection.begin_with("BEGIN IMMEDIATE").await?;
            self.on_sqlite(&mut tx, self.next_machine()).await?;
            tx.commit().await?;
            waits.push(asked.elapsed().as_secs_f64() * 1000.0);
        }
        let pace = Pace::of(waits, start);
        connection.close().await?;
        Ok(pace)
    }

    async fn together(self: &Arc<Self>, window: Duration) -> Outcome<Pace> {
        let pool = PgPoolOptions::new().max_connections(CONNECTIONS).min_connections(CONNECTIONS);
        let pool = pool.connect(&self.url).await?;
        let start = Instant::now();
        let running: Vec<_> = (0..TASKS)
            .map(|_| tokio::spawn(self.clone().one_after_another(pool.clone(), start + window)))
            .collect();
        let mut waits = Vec::new();
        for task in running {
            waits.extend(task.await??);
        }
        let pace = Pace::of(waits, start);
        pool.close().await;
        Ok(pace)
    }

    async fn one_after_another(self: Arc<Self>, pool: PgPool, until: Instant) -> Outcome<Vec<f64>> {
        let yard = self.yard.to_string();
        let mut waits = Vec::new();
        while Instant::now() < until {
            let asked = Instant::now();
            let mut tx = pool.begin().await?;
            self.on_postgres(&mut tx, self.next_machine()).await?;
            sqlx::query(NOTIFY).bind(&yard).execute(&mut *tx).await?;
            tx.commit().await?;
            waits.push(asked.elapsed().as_secs_f64() * 1000.0);
        }
        Ok(waits)
    }

    fn next_machine(&self) -> usize {
        self.turns.fetch_add(1, Ordering::Relaxed) % self.streams.len()
    }

    statements!(on_sqlite, SqliteConnection);
    statements!(on_postgres, PgConnection);
}

fn point(value: f64, hours: i64, at: DateTime<Utc>, position: &str) -> String {
    format!("{:x} {hours} {} {position}", value.to_bits(), at.timestamp_micros())
}

fn read(items: Vec<(String, String)>) -> Outcome<Vec<(f64, i64, i64, String)>> {
    let mut all = Vec::new();
    for point in items.iter().flat_map(|(_, points)| points.lines()) {
        let parts: Vec<&str> = point.splitn(4, ' ').collect();
        let [value, hours, at, position] = parts[..] else { return Err(format!("the point {point}").into()) };
        let value = f64::from_bits(u64::from_str_radix(value, 16)?);
        all.push((value, hours.parse()?, at.parse()?, position.to_owned()));
    }
    Ok(all)
}

/// Listens to what is sent to the database. Asleep except while told to listen: the driver's own log then costs nothing.
pub struct Statements {
    heard: Arc<Mutex<Vec<u8>>>,
    filter: reload::Handle<Targets, Registry>,
}

impl Statements {
    pub fn listening() -> Self {
        let heard: Arc<Mutex<Vec<u8>>> = Arc::default();
        let (filter, handle) =
            reload::Layer::new(Targets::new().with_target("sqlx::query", LevelFilter::DEBUG));
        let ear = heard.clone();
        let said = tracing_subscriber::fmt::layer().json().with_writer(move || Ear(ear.clone()));
        tracing_subscriber::registry().with(filter).with(said).init();
        Self { heard, filter: handle }
    }

    /// Listens from here on.
    pub fn forget(&self) -> Outcome {
        self.filter.reload(Targets::new().with_target("sqlx::query", LevelFilter::DEBUG))?;
        lock(&self.heard).clear();
        Ok(())
    }

    /// What was heard since; sleeps from here on.
    pub fn heard(&self) -> Outcome<Vec<String>> {
        self.filter.reload(Targets::new())?;
        let said = std::mem::take(&mut *lock(&self.heard));
        let mut statements = Vec::new();
        for line in str::from_utf8(&said)?.lines() {
            let event: serde_json::Value = serde_json::from_str(line)?;
            // The driver says a short statement in the summary only.
            let whole = event["fields"]["db.statement"].as_str().unwrap_or_default();
            let short = event["fields"]["summary"].as_str().unwrap_or_default();
            let said = in_one_line(if whole.is_empty() { short } else { whole });
            // What was sent in one go is written here, and sent, one by one.
            for statement in said.split(';').map(|s| unnumbered(s.trim())) {
                // Of the two kinds of transaction only one passes by the log; both are begun and committed here too.
                if !["BEGIN IMMEDIATE", "COMMIT"].contains(&&*statement) {
                    statements.push(statement);
                }
            }
        }
        Ok(statements)
    }
}

struct Ear(Arc<Mutex<Vec<u8>>>);

impl Write for Ear {
    fn write(&mut self, said: &[u8]) -> std::io::Result<usize> {
        lock(&self.0).extend_from_slice(said);
        Ok(said.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn in_one_line(sql: &str) -> String {
    sql.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// However the parameters are called.
fn unnumbered(sql: &str) -> String {
    let mut parts = sql.split('$');
    let mut said = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        said.push('?');
        said.push_str(part.trim_start_matches(|c: char| c.is_ascii_digit()));
    }
    said
}

/// `($1,$2),($3,$4)`; SQLite takes them without numbers, which it would look up one after the other.
fn placeholders(engine: Engine, rows: usize, columns: usize) -> String {
    let name = |n: usize| if engine == Engine::Sqlite { "?".to_owned() } else { format!("${n}") };
    let row = |r: usize| {
        let names: Vec<String> = (1..=columns).map(|c| name(r * columns + c)).collect();
        format!("({})", names.join(","))
    };
    (0..rows).map(row).collect::<Vec<_>>().join(",")
}
