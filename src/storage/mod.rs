//! The only room with SQL. Each file adds the statements of one family of tables to [`Tx`].

mod acknowledgements;
mod audit;
mod board;
mod calendar_links;
mod calendars;
mod careless;
mod checked_days;
mod checklist_drafts;
mod checklists;
mod checks;
mod codec;
mod defects;
mod devices;
mod downtime;
mod export;
mod fitted;
mod forecasts;
mod grounds;
mod hearing;
mod history;
mod holds;
mod imports;
mod labour;
mod labour_rates;
mod machines;
mod moving;
mod order_history;
mod order_notes;
mod orders;
mod outbox;
mod outside;
mod passkeys;
mod people;
mod photos;
mod queue;
mod readiness;
mod releases;
mod retention;
mod second_step;
mod sent_before;
mod sessions;
mod settings;
mod shortages;
mod skills;
mod store;
mod supply;
mod throttle;
mod trail_heads;
mod turns;
mod tx;
mod verify;
mod webhooks;

pub use acknowledgements::{AcknowledgementRow, AlertCount, AskedRow, ChainRow};
pub use audit::{AuditPlace, AuditRow, Entry, sha256};
pub use board::{ClassCount, ComingRow, GroundedRow, MonitoredRow, MovedRow};
pub use calendars::{AbsenceRow, HolidayRow};
pub use careless::{MachineName, RecentCheck, RecentValue};
pub use checked_days::CheckedDay;
pub use checklist_drafts::DraftRow;
pub use checklists::ChecklistRow;
pub use checks::{CheckRow, NewCheck, NewReading};
pub use defects::{DefectRow, SightingRow};
pub use devices::{DevicePinRow, OwnPinRow};
pub use downtime::{
    AgainRow, CheckedRow, CostRow, EndedRow, FleetRow, FoundRow, HeldRow, MeterRow, Scope, SpellRow,
    SystemCount,
};
pub use export::{AUDIT_COLUMNS, Cells, ExportTable, audit_cells, tables as export_tables};
pub use fitted::FittedRow;
pub use forecasts::{ForecastRow, PastLabour};
pub use grounds::Grounds;
pub use hearing::{DigestYard, HearerRow, HearingRuleRow, OwnHearingRow};
pub use history::{LookBack, LookedBack, MOST_ITEMS as MOST_HISTORY_ITEMS, ReleasedRow};
pub use holds::HoldRow;
pub use imports::{KnownMachine, KnownPart, KnownReading, KnownStock};
pub use labour::LabourRow;
pub use machines::{ListedMachine, MachineFilter, MachineRow, MachineStanding, YardRow};
pub use moving::{Compared, Move, MoveError};
pub use order_history::{EarlierRow, FixedByRow, UsedPartRow};
pub use order_notes::OrderNoteRow;
pub use orders::{OrderRow, QueueRow};
pub use outbox::{AlertTo, NewAlert, OutboxRow, OutboxState};
pub use outside::{OutsideRow, OutsideWordRow};
pub use passkeys::PasskeyRow;
pub use people::PersonRow;
pub use photos::PhotoRow;
pub use queue::PlacedRow;
pub use readiness::Amounts;
pub use releases::{ReleaseRow, RetestRow};
pub use retention::{Limits as RemovalLimits, RemovedSpan};
pub use sent_before::SentBefore;
pub use sessions::{ActorIn, NewSession, SessionRow};
pub use shortages::{ReservationRow, ShortageRow};
pub use store::{LineRow, MovementRow, NewMovement, PartRow};
pub use supply::{OnOrderRow, SupplyRow};
pub use trail_heads::{ChainEnd, HeadReaderRow, TrailHeadRow};
pub use tx::{Db, Failing, Param, Record, Tx};
pub use verify::Breach;
pub use webhooks::{WebhookMessageRow, WebhookRow};

/// What the database answered when it did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StorageError {
    /// Something with the same key is already there (told by the kind of violation: SQLite does not name the constraint).
    #[error("it is already there")]
    Duplicate(#[source] sqlx::Error),
    /// Another row that this one needs is missing, or a rule of the table would be broken.
    #[error("a rule of the database would be broken")]
    Rule(#[source] sqlx::Error),
    /// Somebody else changed the row since it was read.
    #[error("somebody else changed it in the meantime")]
    Changed,
    /// The database cannot be reached or is overloaded; trying again later may help.
    #[error("the database does not answer")]
    Unavailable(#[source] sqlx::Error),
    /// The connection broke while PostgreSQL was told to commit: it may be kept, or not.
    #[error("the database broke off while this was being kept")]
    Unsure(#[source] sqlx::Error),
    /// Nothing more can be kept until somebody makes room; what is there can be read.
    #[error("the disk is full")]
    Full(#[source] sqlx::Error),
    /// PostgreSQL keeps no text with the character NUL in it.
    #[error("a text that cannot be kept")]
    NoText(#[source] sqlx::Error),
    #[error("the database failed")]
    Failed(#[source] sqlx::Error),
    #[error("a value could not be bound")]
    Bind(#[source] sqlx::error::BoxDynError),
    #[error("a migration failed")]
    Migrate(#[from] sqlx::migrate::MigrateError),
    #[error("what is kept cannot be understood: {0}")]
    Unreadable(String),
    #[error("SQLite {0} is too old: 3.51.3 or later is needed, earlier ones can corrupt the file")]
    EngineTooOld(String),
    #[error("{0}: is no database Chock knows; give sqlite:FILE or postgres://…")]
    UnknownUrl(String),
    #[error("{0}")]
    NotOnThisEngine(&'static str),
    #[error("a move into this database is not finished; run chock move again, or begin with an empty one")]
    BeingMovedInto,
}

impl From<sqlx::Error> for StorageError {
    fn from(error: sqlx::Error) -> Self {
        use sqlx::error::ErrorKind;
        match &error {
            sqlx::Error::Database(db) => match db.kind() {
                ErrorKind::UniqueViolation => Self::Duplicate(error),
                ErrorKind::ForeignKeyViolation | ErrorKind::NotNullViolation | ErrorKind::CheckViolation => {
                    Self::Rule(error)
                }
                // PostgreSQL: serialisation failure and deadlock; class 57 is an operator's intervention, 08 a connection that
                // broke, 53 too little of something, 58 trouble of its computer, 55P03 a lock that is not to be had. SQLite: BUSY and LOCKED with what is
                // told apart of them (RECOVERY, SNAPSHOT, TIMEOUT, SHAREDCACHE).
                _ => match db.code().as_deref() {
                    Some("40001" | "40P01") => Self::Changed,
                    Some(
                        "57014" | "57P01" | "57P02" | "57P03" | "57P05" | "08000" | "08001" | "08003"
                        | "08004" | "08006" | "08P01" | "53200" | "53300" | "53400" | "58000" | "58030"
                        | "55P03" | "5" | "261" | "517" | "773" | "6" | "262",
                    ) => Self::Unavailable(error),
                    // PostgreSQL: disk full. SQLite: FULL, and IOERR_SHMSIZE, which is the same for the log's index.
                    Some("53100" | "13" | "4874") => Self::Full(error),
                    Some("22021") => Self::NoText(error),
                    _ => Self::Failed(error),
                },
            },
            // What came is no answer: the line broke in the middle of one, as when PostgreSQL is ended.
            sqlx::Error::Io(_)
            | sqlx::Error::Protocol(_)
            | sqlx::Error::PoolTimedOut
            | sqlx::Error::PoolClosed
            | sqlx::Error::Tls(_) => Self::Unavailable(error),
            _ => Self::Failed(error),
        }
    }
}

impl StorageError {
    /// Of a commit that was sent to another machine. Only what the database itself says of it is known.
    fn of_commit(error: sqlx::Error) -> Self {
        match Self::from(error) {
            Self::Unavailable(error) | Self::Failed(error) if error.as_database_error().is_none() => {
                Self::Unsure(error)
            }
            told => told,
        }
    }

    /// The same trouble, for another transaction that was lost with this one.
    fn for_another(&self) -> Self {
        let said = sqlx::Error::Protocol(format!("shared a commit that failed: {self:?}"));
        match self {
            Self::Unavailable(_) => Self::Unavailable(said),
            Self::Full(_) => Self::Full(said),
            _ => Self::Failed(said),
        }
    }
}

type Result<T, E = StorageError> = std::result::Result<T, E>;

/// Rows guarded by a version or a state: exactly one must have been touched.
fn guarded(touched: u64) -> Result<()> {
    if touched == 1 { Ok(()) } else { Err(StorageError::Changed) }
}
