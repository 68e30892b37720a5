//! A table without what makes finding quick, while very much is put into it: each index is made once, at the end, in the
//! order of its keys, where keeping it would move pages about with every row.

use sqlx::{AssertSqlSafe, Connection, PgConnection, SqliteConnection};

use crate::Outcome;
use crate::world::{Engine, World};

/// What makes the indexes again.
pub struct Bare {
    made_by: Vec<String>,
}

impl Bare {
    /// Drops every index of these tables but those that a key or a rule needs.
    pub async fn strip(world: &World, tables: &[&str]) -> Outcome<Self> {
        let named = |columns: &str, from: &str, table: &str| {
            let list: Vec<String> = tables.iter().map(|t| format!("'{t}'")).collect();
            format!("SELECT {columns} FROM {from} WHERE {table} IN ({})", list.join(", "))
        };
        let found: Vec<(String, String)> = match world.engine {
            Engine::Sqlite => {
                let asked = named("name, sql", "sqlite_master", "tbl_name")
                    + " AND type = 'index' AND sql IS NOT NULL";
                sqlx::query_as(AssertSqlSafe(asked)).fetch_all(&mut sqlite(world).await?).await?
            }
            Engine::Postgres => {
                let asked = named("indexname, indexdef", "pg_indexes", "tablename")
                    + " AND indexname NOT IN (SELECT conname FROM pg_constraint)";
                sqlx::query_as(AssertSqlSafe(asked)).fetch_all(&mut postgres(world).await?).await?
            }
        };
        let dropped = found.iter().map(|(name, _)| format!("DROP INDEX {name}")).collect();
        run(world, dropped).await?;
        Ok(Self { made_by: found.into_iter().map(|(_, sql)| sql).collect() })
    }

    pub async fn dress(self, world: &World) -> Outcome {
        run(world, self.made_by).await
    }
}

async fn run(world: &World, statements: Vec<String>) -> Outcome {
    match world.engine {
        Engine::Sqlite => {
            let mut connection = sqlite(world).await?;
            for sql in statements {
                sqlx::raw_sql(AssertSqlSafe(sql)).execute(&mut connection).await?;
            }
            connection.close().await?;
        }
        Engine::Postgres => {
            let mut connection = postgres(world).await?;
            for sql in statements {
                sqlx::raw_sql(AssertSqlSafe(sql)).execute(&mut connection).await?;
            }
            connection.close().await?;
        }
    }
    Ok(())
}

async fn sqlite(world: &World) -> Outcome<SqliteConnection> {
    let mut connection = SqliteConnection::connect(&world.config.database_url).await?;
    // Room for sorting the keys, and nobody waits for the disk.
    let settings = "PRAGMA synchronous = OFF; PRAGMA cache_size = -262144; PRAGMA busy_timeout = 5000";
    sqlx::raw_sql(settings).execute(&mut connection).await?;
    Ok(connection)
}

async fn postgres(world: &World) -> Outcome<PgConnection> {
    let mut connection = PgConnection::connect(&world.config.database_url).await?;
    sqlx::raw_sql("SET maintenance_work_mem = '256MB'").execute(&mut connection).await?;
    Ok(connection)
}
