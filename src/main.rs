//! The `chock` command.

use std::path::PathBuf;
use std::process::ExitCode;

use chock::config::Settings;
use chock::domain::import::ImportKind;
use clap::{Args, CommandFactory as _, FromArgMatches as _, Parser, Subcommand};

mod commands;

/// A row of SQLite is made on one thread and let go on another, which the system's own allocator takes its time over.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// From a failed pre-use check to a signed return to service.
///
/// Exit codes: 0 done; 1 could not be done; 2 the command line is wrong; 3 something was looked at and found faulty
/// (`verify`, `restore`, `move`, `checklist check`, `import`). Of `remote`: 3 the server refused; 4 nothing was done, look
/// first.
#[derive(Parser)]
#[command(version, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Run the server
    Serve(Common),
    /// Run the server on an invented land trust with 120 days of invented history
    Demo {
        /// Folder for the demo's data; made when missing, gone on with when it is a demo's already
        #[arg(long, value_name = "FOLDER", default_value = "data/demo")]
        data: PathBuf,
        /// Address to listen on
        #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:8080", value_parser = chock::config::address)]
        listen: std::net::SocketAddr,
        /// As people reach the server, for instance from a phone in the same network [default: http:// and the address]
        #[arg(long, value_name = "URL")]
        public_url: Option<String>,
        /// Seed of the invented history: the same seed makes the same history
        #[arg(long, value_name = "NUMBER", default_value_t = 7)]
        seed: u64,
        /// Database instead of an SQLite file in the folder; must be empty
        #[arg(long, env = "DATABASE_URL", value_name = "URL", hide_env_values = true)]
        database_url: Option<String>,
        /// Make the data and leave, without serving it
        #[arg(long)]
        only_data: bool,
    },
    /// People: add, list, disable, enable, invite, or drop a second step that is lost
    User {
        #[command(subcommand)]
        command: commands::UserCommand,
        #[command(flatten)]
        common: Common,
    },
    /// Say what is wrong with a checklist file
    Checklist {
        #[command(subcommand)]
        command: commands::ChecklistCommand,
    },
    /// Copy the SQLite database into a new file while the server runs, and verify the copy
    Backup {
        /// File to make; must not exist
        file: PathBuf,
        #[command(flatten)]
        common: Common,
    },
    /// Do the acts of a day on a server, over its API, for scripts
    ///
    /// Who you are is said by CHOCK_EMAIL and CHOCK_PASSWORD (and CHOCK_CODE, where there is a second step), or by
    /// CHOCK_TOKEN: never by a flag.
    ///
    /// Exit codes: 0 done; 1 could not be done, such as no answer; 2 the command line is wrong; 3 the server refused and
    /// said why; 4 nothing was done: somebody has to look at the machine first, and say so.
    Remote(commands::Remote),
    /// Put a backup in the place of the SQLite database, while no server runs; or only look at the backup
    Restore {
        /// A file that `chock backup` made
        file: PathBuf,
        /// Only say whether it is whole and sound, and what is in it; changes nothing
        #[arg(long)]
        check: bool,
        /// Where a database is there already: keep it under another name and put the backup in its place
        #[arg(long, conflicts_with = "check")]
        replace: bool,
        #[command(flatten)]
        common: Common,
    },
    /// Move everything from an SQLite file into an empty PostgreSQL database, while no server runs; goes on where it was
    /// broken off
    Move {
        /// Where everything is now, such as sqlite:/srv/chock/chock.db; it stays as it is
        #[arg(long, value_name = "URL")]
        from: String,
        /// Where it is to be: postgres://user@host/chock
        #[arg(long, env = "DATABASE_URL", value_name = "URL", hide_env_values = true)]
        to: String,
    },
    /// Check every invariant, walk every audit chain, and hold the trail against its signed heads
    Verify {
        /// File with heads that were mailed or printed, to hold the trail against
        #[arg(long, value_name = "FILE")]
        heads: Option<PathBuf>,
        /// The public key as it was printed: heads that another key signed are refused
        #[arg(long, value_name = "KEY")]
        public_key: Option<String>,
        #[command(flatten)]
        common: Common,
    },
    /// Sign what all chains of the audit trail are now, and print it: to be kept elsewhere
    Heads {
        /// Print every head that was signed, and sign none
        #[arg(long)]
        all: bool,
        #[command(flatten)]
        common: Common,
    },
    /// Bring in machines, people, parts or readings from a file: all of it or nothing
    Import {
        /// machines, people, parts or readings
        kind: ImportKind,
        /// A table (CSV); readings also as ISO 15143-3 (AEMP 2.0) XML or JSON
        file: PathBuf,
        /// Only say what it would do, and what is wrong with it
        #[arg(long)]
        check: bool,
        /// Mail address of the person in whose name it is done [default: the one owner]
        #[arg(long, value_name = "ADDRESS")]
        by: Option<String>,
        #[command(flatten)]
        common: Common,
    },
    /// Write everything into one archive (ZIP) of tables (CSV), while the server runs
    Export {
        /// File to make; must not exist
        #[arg(long, value_name = "FILE")]
        to: PathBuf,
        #[command(flatten)]
        common: Common,
    },
}

#[derive(Args, Clone)]
struct Common {
    /// File with settings (TOML; the same names as the flags, without the dashes in front)
    #[arg(long, global = true, env = "CHOCK_CONFIG", value_name = "FILE")]
    config: Option<PathBuf>,
    #[command(flatten)]
    settings: Settings,
}

/// Every command takes every setting, for all read the same file; but whoever adds a person need not read about mail
/// servers: only `serve` lists them all.
fn command_line() -> clap::Command {
    Cli::command().mut_subcommands(|command| {
        let name = command.get_name().to_owned();
        if name == "serve" || name == "demo" || name == "checklist" {
            return command;
        }
        let listed = |setting: &str| match setting {
            "public_url" => name == "user" || name == "import",
            "currency" => name == "import" || name == "export",
            other => !Settings::of_the_server().contains(&other),
        };
        command
            .mut_args(|a| {
                let hidden = !listed(a.get_id().as_str());
                if hidden { a.hide(true) } else { a }
            })
            .after_help("All other settings are those of `chock serve`; --config reads them from its file.")
    })
}

/// To standard error, a line an event: every request where the server is run in earnest, else only what went wrong.
/// `CHOCK_LOG` says which (`warn,chock=debug`), `CHOCK_LOG_FORMAT=json` makes each line a JSON object.
fn log(requests: bool) {
    let usual = if requests { "warn,chock=info" } else { "warn" };
    let filter = tracing_subscriber::EnvFilter::try_from_env("CHOCK_LOG").unwrap_or_else(|_| usual.into());
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    match std::env::var("CHOCK_LOG_FORMAT").as_deref() {
        Ok("json") => log.json().flatten_event(true).with_span_list(false).init(),
        _ => log.init(),
    }
}

fn main() -> ExitCode {
    let cli = Cli::from_arg_matches(&command_line().get_matches()).unwrap_or_else(|e| e.exit());
    log(matches!(cli.command, Command::Serve(_)));
    let outcome = actix_web::rt::System::new().block_on(async {
        match cli.command {
            Command::Serve(c) => commands::serve(c.settings.resolve(c.config.as_deref())?).await,
            Command::Demo { data, listen, public_url, seed, database_url, only_data } => {
                let settings = Settings {
                    data: Some(data),
                    listen: Some(listen),
                    public_url,
                    database_url,
                    currency: Some("GBP".to_owned()),
                    mail_from: Some("Chock <chock@ternfield.example>".to_owned()),
                    ..Settings::default()
                };
                commands::demo(settings.resolve(None)?, seed, only_data).await
            }
            Command::User { command, common } => {
                commands::user(common.settings.resolve(common.config.as_deref())?, command).await
            }
            Command::Checklist { command } => commands::checklist(&command),
            Command::Remote(remote) => commands::remote(remote).await,
            Command::Backup { file, common } => {
                commands::backup(common.settings.resolve(common.config.as_deref())?, &file).await
            }
            Command::Import { kind, file, check, by, common } => {
                let config = common.settings.resolve(common.config.as_deref())?;
                commands::import(config, kind, &file, check, by.as_deref()).await
            }
            Command::Export { to, common } => {
                commands::export(common.settings.resolve(common.config.as_deref())?, &to).await
            }
            Command::Restore { file, check, replace, common } => {
                let config = common.settings.resolve(common.config.as_deref())?;
                commands::restore(config, &file, check, replace).await
            }
            Command::Move { from, to } => commands::move_site(&from, &to).await,
            Command::Verify { heads, public_key, common } => {
                let config = common.settings.resolve(common.config.as_deref())?;
                commands::verify(config, heads.as_deref(), public_key.as_deref()).await
            }
            Command::Heads { all, common } => {
                commands::heads(common.settings.resolve(common.config.as_deref())?, all).await
            }
        }
    });
    match outcome {
        Ok(code) => code,
        Err(e) => {
            eprintln!("chock: {e}");
            let mut source = std::error::Error::source(&*e);
            let mut said = e.to_string();
            while let Some(deeper) = source {
                let text = deeper.to_string();
                if !said.contains(&text) {
                    eprintln!("  because: {text}");
                    said.push_str(&text);
                }
                source = deeper.source();
            }
            ExitCode::from(1)
        }
    }
}
