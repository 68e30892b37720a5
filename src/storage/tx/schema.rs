//! The schema of either engine: its migrations, and the guards after them.

use sqlx::{PgConnection, SqliteConnection};

use super::super::StorageError;
use super::Result;

pub static MIGRATOR: sqlx::migrate::Migrator = sqlx::migrate!("./migrations");

/// Migrations, and the guards after them.
pub async fn ready_for_rows(connection: &mut PgConnection) -> Result<()> {
    MIGRATOR.run(&mut *connection).await?;
    sqlx::raw_sql(POSTGRES_GUARDING).execute(&mut *connection).await?;
    let (guarded,): (bool,) = sqlx::query_as(POSTGRES_GUARDED).fetch_one(&mut *connection).await?;
    if !guarded {
        sqlx::raw_sql(POSTGRES_GUARDS).execute(connection).await?;
    }
    Ok(())
}

pub async fn migrate_sqlite(connection: &mut SqliteConnection) -> Result<()> {
    MIGRATOR.run(&mut *connection).await?;
    let (version,): (String,) = sqlx::query_as("SELECT sqlite_version()").fetch_one(&mut *connection).await?;
    // Before 3.51.3 a reset of the write-ahead log could corrupt the file.
    if numbers(&version) < [3, 51, 3] {
        return Err(StorageError::EngineTooOld(version));
    }
    sqlx::raw_sql(SQLITE_GUARDS).execute(connection).await?;
    Ok(())
}

fn numbers(version: &str) -> [u32; 3] {
    let mut parts = version.split('.').map(|n| n.parse().unwrap_or(0));
    std::array::from_fn(|_| parts.next().unwrap_or(0))
}

/// What must never be rewritten, by rule of the database and not of our good intentions.
const SQLITE_GUARDS: &str = "
CREATE TRIGGER IF NOT EXISTS audit_no_update BEFORE UPDATE ON audit
    BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
CREATE TRIGGER IF NOT EXISTS audit_no_delete BEFORE DELETE ON audit
    BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
CREATE TRIGGER IF NOT EXISTS trail_head_no_update BEFORE UPDATE ON trail_head
    BEGIN SELECT RAISE(ABORT, 'signed heads are append-only'); END;
CREATE TRIGGER IF NOT EXISTS trail_head_no_delete BEFORE DELETE ON trail_head
    BEGIN SELECT RAISE(ABORT, 'signed heads are append-only'); END;
CREATE TRIGGER IF NOT EXISTS trail_head_end_no_update BEFORE UPDATE ON trail_head_end
    BEGIN SELECT RAISE(ABORT, 'signed heads are append-only'); END;
CREATE TRIGGER IF NOT EXISTS trail_head_end_no_delete BEFORE DELETE ON trail_head_end
    BEGIN SELECT RAISE(ABORT, 'signed heads are append-only'); END;
CREATE TRIGGER IF NOT EXISTS movement_no_update BEFORE UPDATE ON stock_movement
    BEGIN SELECT RAISE(ABORT, 'the stock ledger is append-only'); END;
CREATE TRIGGER IF NOT EXISTS movement_no_delete BEFORE DELETE ON stock_movement
    BEGIN SELECT RAISE(ABORT, 'the stock ledger is append-only'); END;
CREATE TRIGGER IF NOT EXISTS check_no_update BEFORE UPDATE ON pre_use_check
    BEGIN SELECT RAISE(ABORT, 'a submitted check is immutable'); END;
CREATE TRIGGER IF NOT EXISTS check_kept BEFORE DELETE ON pre_use_check
    WHEN NOT EXISTS (SELECT 1 FROM removing r WHERE r.what = 'checks' AND OLD.recorded_at < r.before)
    BEGIN SELECT RAISE(ABORT, 'a submitted check is immutable'); END;
";

/// Servers that start at once wait for one another, to the end of the transaction that these statements make together.
const POSTGRES_GUARDING: &str = "
SELECT pg_advisory_xact_lock(4025);
CREATE OR REPLACE FUNCTION chock_refuse() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME; END $$;
CREATE OR REPLACE FUNCTION chock_keep_check() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN
        IF EXISTS (SELECT 1 FROM removing r WHERE r.what = 'checks' AND OLD.recorded_at < r.before) THEN RETURN OLD; END IF;
        RAISE EXCEPTION '% is append-only', TG_TABLE_NAME;
    END $$;
";

/// Those of [`POSTGRES_GUARDS`]. Whoever changes one gives it another name, here too.
const POSTGRES_GUARDED: &str = "SELECT COUNT(*) = 6 FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
    WHERE c.relnamespace = current_schema()::regnamespace AND t.tgenabled = 'O' AND t.tgname IN (
    'audit_append_only', 'trail_head_append_only', 'trail_head_end_append_only', 'movement_append_only',
    'check_append_only', 'check_kept')";

/// Each locks its table against whoever works with it, so they are only laid where one is missing.
const POSTGRES_GUARDS: &str = "
SELECT pg_advisory_xact_lock(4025);
CREATE OR REPLACE TRIGGER audit_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON audit
    FOR EACH STATEMENT EXECUTE FUNCTION chock_refuse();
CREATE OR REPLACE TRIGGER trail_head_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON trail_head
    FOR EACH STATEMENT EXECUTE FUNCTION chock_refuse();
CREATE OR REPLACE TRIGGER trail_head_end_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON trail_head_end
    FOR EACH STATEMENT EXECUTE FUNCTION chock_refuse();
CREATE OR REPLACE TRIGGER movement_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON stock_movement
    FOR EACH STATEMENT EXECUTE FUNCTION chock_refuse();
CREATE OR REPLACE TRIGGER check_append_only BEFORE UPDATE OR TRUNCATE ON pre_use_check
    FOR EACH STATEMENT EXECUTE FUNCTION chock_refuse();
CREATE OR REPLACE TRIGGER check_kept BEFORE DELETE ON pre_use_check
    FOR EACH ROW EXECUTE FUNCTION chock_keep_check();
";

#[cfg(test)]
mod tests {
    use super::{POSTGRES_GUARDED, POSTGRES_GUARDS};

    #[test]
    fn every_guard_is_asked_for() {
        let laid: Vec<&str> = POSTGRES_GUARDS
            .split("CREATE OR REPLACE TRIGGER ")
            .skip(1)
            .filter_map(|rest| rest.split(' ').next())
            .collect();
        assert!(POSTGRES_GUARDED.contains(&format!("COUNT(*) = {} ", laid.len())), "{laid:?}");
        for name in laid {
            assert!(POSTGRES_GUARDED.contains(&format!("'{name}'")), "{name}");
        }
    }
}
