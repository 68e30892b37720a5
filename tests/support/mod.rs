//! A workshop of its own for every test: fresh database, set clock, a yard with people and machines.

mod answers;
pub mod browser;
pub mod bucket;
pub mod cluster;
pub mod link;
pub mod listener;
pub mod process;
mod ready;
pub mod served;
pub mod stubborn_mail;

use std::sync::{LazyLock, OnceLock};

use argon2::password_hash::PasswordHasher;
use argon2::password_hash::phc::PasswordHash;
use argon2::{Argon2, Params};
use chock::clock::Ambient;
use chock::demo::Simulated;
use chock::domain::checklist::{Checklist, Load, System};
use chock::domain::ids::{ChecklistId, MachineId, PartId, PersonId, WorkOrderId, YardId};
use chock::domain::person::{Actor, Role};
use chock::domain::risk::{Answers, Certain, Harm, YesOrNo};
use chock::domain::shipped::SHIPPED;
use chock::domain::standing::Standing;
use chock::domain::unit::Hours;
use chock::domain::watched::{Said, Watched};
use chock::storage::Db;
use chock::workflow::{
    self, Answered, DefectDone, NewMachine, NewPart, NewPerson, NewYard, RetestAnswers, SubmitCheck,
    WorkflowError, Workshop,
};
use chrono::{DateTime, TimeDelta, Utc};
use tempfile::TempDir;

pub use answers::{all_well, at, fail};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
}

/// Makes a test of `async fn name(bench: Bench)` on each engine.
macro_rules! on_both {
    ($($name:ident),* $(,)?) => {$(
        mod $name {
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                super::$name($crate::support::Bench::new($crate::support::Engine::Sqlite).await).await;
            }
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgres() {
                super::$name($crate::support::Bench::new($crate::support::Engine::Postgres).await).await;
            }
        }
    )*};
}
pub(crate) use on_both;

/// One yard, five people, two machines, one part.
pub struct Bench {
    pub workshop: Workshop,
    pub time: Simulated,
    pub database_url: String,
    /// Kept for as long as the database in it is used.
    pub folder: TempDir,
    pub yard: YardId,
    pub owner: Actor,
    pub supervisor: Actor,
    pub mechanic: Actor,
    pub other_mechanic: Actor,
    pub operator: Actor,
    pub machine: MachineId,
    pub second_machine: MachineId,
    pub part: PartId,
    pub checklist_id: ChecklistId,
    pub checklist: Checklist,
}

/// A Wednesday morning in winter.
pub fn six_in_the_morning() -> DateTime<Utc> {
    "2026-11-25T06:00:00Z".parse().expect("a time")
}

pub const PASSWORD: &str = "check before use";

/// Gives somebody [`PASSWORD`], kept with the least work that its algorithm allows: most stories only sign in by it, again and
/// again. What a server spends on one is for those that set it as people do (`people.rs`, `getting_in.rs`).
pub async fn has_password(workshop: &Workshop, id: PersonId) {
    static KEPT: LazyLock<String> = LazyLock::new(|| {
        let least = Params::new(Params::MIN_M_COST, 1, 1, None).expect("parameters");
        let hasher = Argon2::new(argon2::Algorithm::Argon2id, argon2::Version::V0x13, least);
        let hash: PasswordHash =
            hasher.hash_password_with_salt(PASSWORD.as_bytes(), b"as salt as can be").expect("a hash");
        hash.to_string()
    });
    let mut tx = workshop.db.begin().await.unwrap();
    tx.set_password(id, &KEPT).await.unwrap();
    tx.commit().await.unwrap();
}

impl Bench {
    /// By a clock that is set, in a copy of what is made once a run.
    pub async fn new(engine: Engine) -> Self {
        ready::copied(engine).await
    }

    /// By the real clock, for data that is shared with processes of the built program. Its `time` moves nothing.
    pub async fn on_real_time(engine: Engine) -> Self {
        Self::set_up(engine, Ambient::real(), Simulated::new(1, six_in_the_morning())).await
    }

    /// By the real clock, in an empty database that is there already.
    pub async fn in_database(url: String) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let time = Simulated::new(1, six_in_the_morning());
        Self::set_up_in(url, folder, Ambient::real(), time).await
    }

    /// By a clock of its own, in an empty database that is there already.
    pub async fn in_database_at_six(url: String) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let time = Simulated::new(1, six_in_the_morning());
        Self::set_up_in(url, folder, time.ambient(), time).await
    }

    async fn set_up(engine: Engine, ambient: Ambient, time: Simulated) -> Self {
        // What is answered with 500 says why in the log only.
        let errors = tracing_subscriber::fmt().with_max_level(tracing::Level::ERROR);
        let _ = errors.with_writer(std::io::stderr).try_init();
        let folder = tempfile::tempdir().expect("a folder");
        let database_url = database(engine, &folder).await;
        Self::set_up_in(database_url, folder, ambient, time).await
    }

    async fn set_up_in(database_url: String, folder: TempDir, ambient: Ambient, time: Simulated) -> Self {
        let db = Db::open(&database_url).await.expect("the database opens");
        let workshop = Workshop::new(db, ambient, "EUR");
        let w = &workshop;
        let link = workflow::first_owner_link(w).await.unwrap().expect("nobody is here yet");
        let owner =
            workflow::accept_invitation(w, &link, "Olga Owner", "olga@yard.example", PASSWORD).await.unwrap();
        has_password(w, owner).await;
        let owner = actor(w, owner).await;
        let new_yard = NewYard {
            name: "North yard".into(),
            zone: "Europe/Oslo".into(),
            one_person: false,
            altitude_m: None,
        };
        let yard = workflow::add_yard(w, &owner, new_yard).await.unwrap();
        let mut people = Vec::new();
        for (name, role, rate) in [
            ("Sara Supervisor", Role::Supervisor, 0),
            ("Mats Mechanic", Role::Mechanic, 6_000),
            ("Mia Mechanic", Role::Mechanic, 4_500),
            ("Otto Operator", Role::Operator, 0),
        ] {
            let email = format!("{}@yard.example", name.split(' ').next().unwrap_or_default().to_lowercase());
            let new = NewPerson {
                name: name.into(),
                email,
                roles: vec![role],
                yards: vec![yard],
                rate_minor: rate,
            };
            let (id, _) = workflow::add_person(w, &owner, new).await.unwrap();
            people.push(actor(w, id).await);
        }
        let (checklist_id, _) = workflow::upload_checklist(w, &owner, SHIPPED[0].1).await.unwrap();
        let (_, checklist) = workflow::uploaded_checklist(w, &owner, checklist_id).await.unwrap();
        let machine = add_machine(w, &owner, yard, "U-07", 12_000).await;
        let second_machine = add_machine(w, &owner, yard, "U-08", 3_000).await;
        let part = NewPart {
            number: "BP-1".into(),
            name: "Brake pad set".into(),
            unit: "set".into(),
            bin: "A1".into(),
            yard,
        };
        let part = workflow::add_part(w, &owner, part).await.unwrap();
        workflow::receive_part(w, &owner, part, yard, "3", "90.00", "").await.unwrap();
        let [supervisor, mechanic, other_mechanic, operator] =
            people.try_into().unwrap_or_else(|_| panic!("four people"));
        let checklist = checklist.as_ref().clone();
        Self {
            workshop,
            time,
            database_url,
            folder,
            yard,
            owner,
            supervisor,
            mechanic,
            other_mechanic,
            operator,
            machine,
            second_machine,
            part,
            checklist_id,
            checklist,
        }
    }

    /// The same people and things in a copy of its database.
    async fn again(&self, database_url: String, folder: TempDir, time: Simulated) -> Self {
        let db = Db::open(&database_url).await.expect("the database opens");
        Self {
            workshop: Workshop::new(db, time.ambient(), "EUR"),
            time,
            database_url,
            folder,
            owner: self.owner.clone(),
            supervisor: self.supervisor.clone(),
            mechanic: self.mechanic.clone(),
            other_mechanic: self.other_mechanic.clone(),
            operator: self.operator.clone(),
            checklist: self.checklist.clone(),
            ..*self
        }
    }

    /// A supervisor and mechanic of another yard.
    pub async fn somebody_elsewhere(&self) -> Actor {
        let yard = NewYard {
            name: "South yard".into(),
            zone: "Europe/Oslo".into(),
            one_person: false,
            altitude_m: None,
        };
        let yard = workflow::add_yard(&self.workshop, &self.owner, yard).await.unwrap();
        let new = NewPerson {
            name: "Stig Stranger".into(),
            email: "stig@yard.example".into(),
            roles: vec![Role::Supervisor, Role::Mechanic],
            yards: vec![yard],
            rate_minor: 0,
        };
        let (id, _) = workflow::add_person(&self.workshop, &self.owner, new).await.unwrap();
        actor(&self.workshop, id).await
    }

    pub fn now(&self) -> DateTime<Utc> {
        self.workshop.ambient.now()
    }

    pub fn wait(&self, minutes: i64) {
        self.time.set(self.now() + TimeDelta::minutes(minutes));
    }

    /// A check in which everything is well, with what is wrong put in afterwards.
    pub fn check(&self, machine: MachineId, hours: i64) -> SubmitCheck {
        SubmitCheck {
            id: self.workshop.ambient.id(),
            machine,
            checklist: self.checklist_id,
            load: Load::Unladen,
            warmth: None,
            air_temperature: None,
            air_unit: None,
            watched: Vec::new(),
            engine_hours: Some(Hours(hours)),
            hours_confirmed: false,
            answers: all_well(&self.checklist, Load::Unladen),
            note: String::new(),
            begun_at: None,
            recorded_at: None,
        }
    }

    /// A check that fails one condition item at one position.
    pub fn failed_check(&self, machine: MachineId, hours: i64, item: &str, position: &str) -> SubmitCheck {
        let mut check = self.check(machine, hours);
        fail(&mut check.answers, item, position);
        check
    }

    /// As it is asked for first: the same of every defect that is being watched.
    pub async fn all_the_same(&self, machine: MachineId) -> Vec<Said> {
        let form = workflow::checklist_form(&self.workshop, &self.operator, machine).await.unwrap();
        let watched = form.open_defects.iter().filter(|d| d.watched);
        watched.map(|d| Said { defect: d.id, now: Some(Watched::Same), note: String::new() }).collect()
    }

    pub async fn submit(&self, check: SubmitCheck) -> Answered {
        workflow::submit_check(&self.workshop, &self.operator, check).await.expect("the check is taken")
    }

    /// Grounds the machine by a fuel leak; answers its work order.
    pub async fn ground(&self, machine: MachineId) -> WorkOrderId {
        let hours = 20_000;
        let mut check = self.failed_check(machine, hours, "fuel-leak", "left-side");
        check.hours_confirmed = true;
        self.submit(check).await.work_order.expect("a work order")
    }

    /// Claims the order and says for every open defect what was done.
    pub async fn repair(&self, order: WorkOrderId) {
        workflow::claim(&self.workshop, &self.mechanic, order).await.unwrap();
        self.finish(order).await.unwrap();
    }

    pub async fn finish(&self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let page = workflow::order_page(&self.workshop, &self.owner, order).await.unwrap();
        let done = page
            .defects
            .iter()
            .filter(|d| d.defect.closed_at.is_none())
            .map(|d| DefectDone {
                defect: d.defect.id,
                cause: "Chafed".into(),
                remedy: "Replaced".into(),
                no_fault_found: false,
                part_replaced: false,
            })
            .collect();
        workflow::finish_work(&self.workshop, &self.mechanic, order, done, None).await
    }

    /// Retests every open defect of the order with passing answers.
    pub async fn pass_retests(&self, order: WorkOrderId) {
        for (defect, given) in self.passing_retests(order).await {
            let retested =
                workflow::retest(&self.workshop, &self.mechanic, order, defect, given).await.unwrap();
            assert!(retested.passed, "{}", retested.why);
        }
    }

    pub async fn passing_retests(
        &self,
        order: WorkOrderId,
    ) -> Vec<(chock::domain::ids::DefectId, RetestAnswers)> {
        let page = workflow::order_page(&self.workshop, &self.owner, order).await.unwrap();
        page.defects
            .iter()
            .filter(|d| d.defect.closed_at.is_none())
            .map(|d| {
                let mut given = RetestAnswers {
                    fault_gone: Some(true),
                    tried: "Drove it round the yard".into(),
                    ..RetestAnswers::default()
                };
                let all = all_well(&self.checklist, d.defect.load);
                for (f, _) in &d.failed {
                    let answer = all.iter().find(|a| {
                        a.item.as_deref() == Some(&f.item)
                            && a.position.clone().unwrap_or_default() == f.position
                    });
                    given.answers.extend(answer.cloned());
                }
                (d.defect.id, given)
            })
            .collect()
    }

    pub async fn standing(&self, machine: MachineId) -> Standing {
        workflow::gate(&self.workshop, &self.owner, machine).await.unwrap().standing
    }

    /// Every invariant that the database can be asked about.
    pub async fn assert_sound(&self) {
        let report = workflow::verify(&self.workshop).await.unwrap();
        assert!(report.sound(), "{:?} {}", report.breaches, report.integrity);
    }
}

async fn add_machine(w: &Workshop, owner: &Actor, yard: YardId, unit_number: &str, hours: i64) -> MachineId {
    let machine = NewMachine {
        yard,
        unit_number: unit_number.into(),
        class: "utility vehicle".into(),
        description: "Two-seat".into(),
        serial: String::new(),
        engine_hours: Some(Hours(hours)),
    };
    workflow::add_machine(w, owner, machine).await.unwrap()
}

pub async fn actor(workshop: &Workshop, id: PersonId) -> Actor {
    workflow::actor_of_token(workshop, id).await.unwrap().expect("the person is here")
}

/// The server that `tests/run` started. A test run by hand needs one too.
pub fn postgres() -> &'static str {
    static URL: OnceLock<String> = OnceLock::new();
    URL.get_or_init(|| {
        std::env::var("CHOCK_TEST_POSTGRES")
            .expect("CHOCK_TEST_POSTGRES names a PostgreSQL to make databases in; tests/run starts one")
    })
}

/// For asking a server that listens. `reqwest` brings no cryptography of its own.
pub fn client() -> reqwest::ClientBuilder {
    // Whoever is first installs it for all.
    let _ = rustls::crypto::ring::default_provider().install_default();
    reqwest::Client::builder()
}

/// Of a report that leaves the machine in use: negligible and occasional, a low risk.
pub const fn slight(affects: System) -> Answers {
    Answers {
        affects: Some(affects),
        fire: YesOrNo::No,
        harm: Harm::Nobody,
        worse: YesOrNo::No,
        certain: Certain::Likely,
    }
}

/// A new, empty database.
pub async fn database(engine: Engine, folder: &TempDir) -> String {
    match engine {
        Engine::Sqlite => format!("sqlite:{}", folder.path().join("chock.db").display()),
        Engine::Postgres => ready::in_postgres(None).await,
    }
}
