//! Takes machines, people, parts and meter readings from a file: all of it or nothing, in one transaction. The file is
//! judged when it is shown and again when it is taken; in between nothing is kept. What is so already is left alone, so
//! that a file sent twice changes nothing the second time.

mod machines;
mod parts;
mod people;
mod readings;

use super::{Result, Workshop};
use crate::domain::import::sheet::{Line, Sheet};
use crate::domain::import::{Fault, ImportKind, ImportOutcome, MOST_FAULTS};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Problem, Refusal};
use crate::storage::{Tx, YardRow};
use crate::words::Text;

/// What a file would do.
#[derive(Clone, Debug, Default)]
pub struct Import {
    pub rows: Vec<ImportRow>,
    /// While there is one, nothing is taken.
    pub faults: Vec<Fault>,
    /// Machines of a fleet's file that are not known here. They are left out, never guessed.
    pub unknown: Vec<String>,
    /// Machines of the file whose class no checklist covers: they can be taken, and not be checked.
    pub not_covered: Vec<super::NotCovered>,
}

#[derive(Clone, Debug)]
pub struct ImportRow {
    pub line: u64,
    pub name: String,
    pub outcome: ImportOutcome,
    pub changes: Vec<ImportChange>,
}

/// What changes of something that is known, and what is said of something new beyond its name.
#[derive(Clone, Debug)]
pub struct ImportChange {
    pub column: &'static str,
    pub before: String,
    pub after: String,
}

/// What was taken.
#[derive(Clone, Debug)]
pub struct Imported {
    pub import: Import,
    /// Name, address, and the secret of the one-time link of everybody who is new.
    pub invited: Vec<(String, String, String)>,
}

impl Import {
    pub fn count(&self, outcome: ImportOutcome) -> usize {
        self.rows.iter().filter(|r| r.outcome == outcome).count()
    }

    /// Whether taking it would change anything.
    pub fn changes_something(&self) -> bool {
        self.faults.is_empty() && self.rows.iter().any(|r| r.outcome != ImportOutcome::AlreadySo)
    }

    fn add(&mut self, line: u64, name: &str, outcome: ImportOutcome, changes: Vec<ImportChange>) {
        self.rows.push(ImportRow { line, name: name.to_owned(), outcome, changes });
    }

    /// Takes over what was found wrong with a line; answers whether it may be taken.
    fn sound(&mut self, line: Line<'_>) -> bool {
        let sound = line.faults.is_empty();
        self.faults.extend(line.faults);
        sound
    }
}

/// What the file would do. Nothing is changed.
pub async fn preview_import(
    workshop: &Workshop,
    actor: &Actor,
    kind: ImportKind,
    file: &[u8],
) -> Result<Import> {
    may_import(actor, kind)?;
    let mut tx = workshop.db.read().await?;
    Ok(plan(workshop, &mut tx, actor, kind, file).await?.0)
}

/// Takes the whole file. With a fault in it nothing is changed, and every fault is said. People are given rights by it,
/// so that takes a password given lately.
pub async fn take_import(
    workshop: &Workshop,
    actor: &Actor,
    kind: ImportKind,
    file: &[u8],
) -> Result<Imported> {
    may_import(actor, kind)?;
    if kind == ImportKind::People {
        actor.must_be_fresh(Act::SetUpPeople)?;
    }
    again_when_changed!({
        let mut tx = workshop.db.begin().await?;
        let (import, steps) = plan(workshop, &mut tx, actor, kind, file).await?;
        if !import.faults.is_empty() {
            return Err(refusal(&import.faults).into());
        }
        let invited = match steps {
            Steps::Machines(steps) => {
                machines::take(workshop, &mut tx, actor, steps).await?;
                Vec::new()
            }
            Steps::People(steps) => people::take(workshop, &mut tx, actor, steps).await?,
            Steps::Parts(steps) => {
                parts::take(workshop, &mut tx, actor, steps).await?;
                Vec::new()
            }
            Steps::Readings(steps) => {
                readings::take(workshop, &mut tx, actor, steps).await?;
                Vec::new()
            }
        };
        tx.commit().await?;
        Ok(Imported { import, invited })
    })
}

pub fn may_import(actor: &Actor, kind: ImportKind) -> Result<()> {
    actor.must(Act::SetUpMachines)?;
    match kind {
        ImportKind::People => actor.must(Act::SetUpPeople)?,
        ImportKind::Parts => actor.must(Act::ReceiveParts)?,
        ImportKind::Machines | ImportKind::Readings => {}
    }
    Ok(())
}

/// Which files somebody may bring in.
pub fn import_kinds(actor: &Actor) -> Vec<ImportKind> {
    ImportKind::ALL.iter().copied().filter(|kind| may_import(actor, *kind).is_ok()).collect()
}

/// What the rows come to.
enum Steps {
    Machines(Vec<machines::Step>),
    People(Vec<people::Step>),
    Parts(Vec<parts::Step>),
    Readings(Vec<readings::Step>),
}

async fn plan(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    kind: ImportKind,
    file: &[u8],
) -> Result<(Import, Steps)> {
    let mut import = Import::default();
    if kind == ImportKind::Readings {
        let steps = readings::plan(workshop, tx, actor, file, &mut import).await?;
        return Ok((ordered(import), Steps::Readings(steps)));
    }
    let sheet = match Sheet::read(kind, file) {
        Ok(sheet) => sheet,
        Err(faults) => return Ok((Import { faults, ..import }, Steps::Machines(Vec::new()))),
    };
    let yards = Yards { all: tx.yards().await?, actor };
    let steps = match kind {
        ImportKind::People => Steps::People(people::plan(workshop, tx, &sheet, &yards, &mut import).await?),
        ImportKind::Parts => Steps::Parts(parts::plan(workshop, tx, &sheet, &yards, &mut import).await?),
        ImportKind::Machines | ImportKind::Readings => {
            Steps::Machines(machines::plan(tx, &sheet, &yards, &mut import).await?)
        }
    };
    Ok((ordered(import), steps))
}

/// As the file has them.
fn ordered(mut import: Import) -> Import {
    import.rows.sort_by_key(|r| r.line);
    import.faults.sort_by_key(|f| f.line);
    import.faults.truncate(MOST_FAULTS);
    import
}

fn refusal(faults: &[Fault]) -> Refusal {
    let problems = faults.iter().map(|f| {
        // Names of columns have no sign that a pointer would mark (RFC 6901).
        let pointer = match (f.line, f.column.as_str()) {
            (0, _) => String::new(),
            (line, "") => format!("/{line}"),
            (line, column) => format!("/{line}/{column}"),
        };
        Problem::new(pointer, f.said())
    });
    Refusal::Invalid { problems: problems.collect() }
}

/// The yards, of which the actor may name their own.
struct Yards<'a> {
    all: Vec<YardRow>,
    actor: &'a Actor,
}

impl Yards<'_> {
    fn own(&self) -> impl Iterator<Item = &YardRow> {
        self.all.iter().filter(|y| self.actor.in_yard(y.id))
    }

    fn named(&self, name: &str) -> Option<&YardRow> {
        let name = name.trim();
        self.own()
            .find(|y| y.name == name)
            .or_else(|| self.own().find(|y| y.name.to_lowercase() == name.to_lowercase()))
    }

    /// The yard of a line; a fault says which there are.
    fn of(&self, line: &mut Line<'_>, column: &str) -> Option<&YardRow> {
        let name = line.text(column).to_owned();
        let found = self.named(&name);
        if found.is_none() {
            line.fault(column, self.unknown(&name));
        }
        found
    }

    fn unknown(&self, name: &str) -> Text {
        const SHOWN: usize = 8;
        let mut names: Vec<_> = self.own().map(|y| y.name.as_str()).collect();
        if names.is_empty() {
            return said!("import-no-yards");
        }
        if names.len() > SHOWN {
            names.truncate(SHOWN);
            names.push("…");
        }
        said!("import-unknown-yard", name = name, known = names.join(", "))
    }
}

/// The column of something known, if the file has it and says otherwise.
fn change(column: &'static str, before: &str, after: &str) -> Option<ImportChange> {
    (before != after).then(|| ImportChange { column, before: before.to_owned(), after: after.to_owned() })
}

/// What is said of something new.
fn new(column: &'static str, after: impl Into<String>) -> ImportChange {
    ImportChange { column, before: String::new(), after: after.into() }
}

/// "class: quad → tractor" of everything that changes, for the trail.
fn in_trail(changes: &[ImportChange], side: impl Fn(&ImportChange) -> &str) -> String {
    changes.iter().map(|c| format!("{}: {}", c.column, side(c))).collect::<Vec<_>>().join("; ")
}
