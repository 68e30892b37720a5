//! What is measured on: one yard with an owner, an operator, a supervisor, two mechanics and many machines.

use std::net::SocketAddr;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

use actix_web::dev::ServerHandle;
use chock::app;
use chock::clock::Ambient;
use chock::config::{Config, Settings};
use chock::domain::checklist::{Checklist, Condition, Load};
use chock::domain::ids::{CheckId, ChecklistId, MachineId, PersonId, YardId};
use chock::domain::person::{Actor, Role};
use chock::domain::reading::RawAnswer;
use chock::domain::shipped::SHIPPED;
use chock::domain::unit::Hours;
use chock::tasks::Tasks;
use chock::workflow::{self, NewMachine, NewPerson, NewYard, SubmitCheck, Workshop};
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection};
use tempfile::TempDir;

use crate::Outcome;
use crate::answers::all_well;

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
}

pub struct World {
    pub engine: Engine,
    pub config: Config,
    pub workshop: Workshop,
    pub owner: Actor,
    pub operator: Actor,
    pub yard: YardId,
    pub machines: Vec<Machine>,
    pub checklist_id: ChecklistId,
    pub answers: Vec<RawAnswer>,
    /// Items whose past the checklist's rules ask for.
    pub looked_back_on: Vec<String>,
    /// The data folder, kept as long as it is used.
    pub folder: TempDir,
}

pub struct Machine {
    pub id: MachineId,
    /// In tenths; each check finds the meter a little further.
    hours: AtomicI64,
}

/// A server of this process, listening.
pub struct Served {
    pub address: SocketAddr,
    server: ServerHandle,
    tasks: Tasks,
}

pub const OPERATOR: &str = "otto@yard.example";
pub const OWNER: &str = "olga@yard.example";
pub const PASSWORD: &str = "check before use";

impl World {
    pub async fn new(engine: Engine, machines: usize) -> Outcome<Self> {
        let folder = tempfile::Builder::new().prefix("chock-bench-").tempdir()?;
        let database_url = match engine {
            Engine::Sqlite => None,
            Engine::Postgres => Some(postgres_database().await?),
        };
        let settings = Settings {
            data: Some(folder.path().to_owned()),
            database_url,
            listen: Some(SocketAddr::from(([127, 0, 0, 1], 0))),
            ..Settings::default()
        };
        let config = settings.resolve(None)?;
        let workshop = app::open(&config, Ambient::real()).await?;
        let w = &workshop;
        let link = workflow::first_owner_link(w).await?.ok_or("somebody is here already")?;
        let owner = workflow::accept_invitation(w, &link, "Olga Owner", OWNER, PASSWORD).await?;
        let owner = actor(w, owner).await?;
        let yard = NewYard {
            name: "North yard".into(),
            zone: "Europe/Oslo".into(),
            one_person: false,
            altitude_m: None,
        };
        let yard = workflow::add_yard(w, &owner, yard).await?;
        let mut operator = None;
        for (name, role) in [
            ("Sara Supervisor", Role::Supervisor),
            ("Mats Mechanic", Role::Mechanic),
            ("Mia Mechanic", Role::Mechanic),
            ("Otto Operator", Role::Operator),
        ] {
            let email = format!("{}@yard.example", name.split(' ').next().unwrap_or_default().to_lowercase());
            let new =
                NewPerson { name: name.into(), email, roles: vec![role], yards: vec![yard], rate_minor: 0 };
            operator = Some(workflow::add_person(w, &owner, new).await?.0);
        }
        let operator = operator.ok_or("nobody was added")?;
        workflow::set_password(w, operator, PASSWORD).await?;
        let operator = actor(w, operator).await?;
        let (checklist_id, _) = workflow::upload_checklist(w, &owner, SHIPPED[0].1).await?;
        let (_, checklist) = workflow::uploaded_checklist(w, &owner, checklist_id).await?;
        let answers = all_well(&Checklist::clone(&checklist), Load::Unladen);
        let mut looked_back_on = Vec::new();
        for condition in checklist.rules.iter().flat_map(|r| &r.when) {
            if let Condition::Trend { at, .. } | Condition::Corrected { at, .. } = condition
                && !looked_back_on.contains(&at.item)
            {
                looked_back_on.push(at.item.clone());
            }
        }
        let mut made = Vec::with_capacity(machines);
        for n in 0..machines {
            let machine = NewMachine {
                yard,
                unit_number: format!("U-{n}"),
                class: "utility vehicle".into(),
                description: "Two-seat".into(),
                serial: String::new(),
                engine_hours: Some(Hours(12_000)),
            };
            let id = workflow::add_machine(w, &owner, machine).await?;
            made.push(Machine { id, hours: AtomicI64::new(12_000) });
        }
        Ok(Self {
            engine,
            config,
            workshop,
            owner,
            operator,
            yard,
            machines: made,
            checklist_id,
            answers,
            looked_back_on,
            folder,
        })
    }

    /// A check of the machine in which everything is well.
    pub fn check(&self, machine: &Machine) -> SubmitCheck {
        SubmitCheck {
            id: self.workshop.ambient.id::<CheckId>(),
            machine: machine.id,
            checklist: self.checklist_id,
            load: Load::Unladen,
            warmth: None,
            air_temperature: None,
            air_unit: None,
            watched: Vec::new(),
            engine_hours: Some(machine.next_hours()),
            hours_confirmed: false,
            answers: self.answers.clone(),
            note: String::new(),
            begun_at: None,
            recorded_at: None,
        }
    }

    /// Serves it from this process, with as many workers as `chock serve` would take.
    pub async fn serve(&self) -> Outcome<Served> {
        let workers = std::thread::available_parallelism().map_or(2, usize::from);
        let running = app::start(&self.config, &self.workshop, workers).await?;
        let server = running.server.handle();
        actix_web::rt::spawn(running.server);
        Ok(Served { address: running.address, server, tasks: running.tasks })
    }

    /// Closes the database and drops one made on PostgreSQL.
    pub async fn clear_away(self) -> Outcome {
        self.workshop.db.close().await;
        if self.engine == Engine::Postgres {
            let (_, name) = self.config.database_url.rsplit_once('/').ok_or("a URL without a database")?;
            let mut admin = PgConnection::connect(&postgres()?).await?;
            // The name is ours.
            admin.execute(AssertSqlSafe(format!("DROP DATABASE {name} WITH (FORCE)"))).await?;
        }
        Ok(())
    }
}

impl Machine {
    pub fn next_hours(&self) -> Hours {
        Hours(self.hours.fetch_add(1, Ordering::Relaxed) + 1)
    }
}

impl Served {
    pub async fn stop(self) {
        self.server.stop(true).await;
        self.tasks.stop().await;
    }
}

impl Engine {
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sqlite => "SQLite",
            Self::Postgres => "PostgreSQL",
        }
    }
}

async fn actor(workshop: &Workshop, id: PersonId) -> Outcome<Actor> {
    Ok(workflow::actor_of_token(workshop, id).await?.ok_or("the person is not here")?)
}

fn postgres() -> Outcome<String> {
    Ok(std::env::var("CHOCK_TEST_POSTGRES")?)
}

async fn postgres_database() -> Outcome<String> {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let name = format!("chock_bench_{}_{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
    let url = postgres()?;
    let mut admin = PgConnection::connect(&url).await?;
    // The name is ours.
    admin.execute(AssertSqlSafe(format!("CREATE DATABASE {name}"))).await?;
    let (base, _) = url.rsplit_once('/').ok_or("a URL without a database")?;
    Ok(format!("{base}/{name}"))
}
