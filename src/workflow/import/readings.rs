//! Readings of hour meters, from a table or from a fleet's file by ISO 15143-3. A reading that is older than what is known
//! fills in history; one that is newer moves the meter, as reading it at the machine does: it may end a watch, and shows use
//! while out of service. A meter that falls, or leaps further than is likely, is refused unless the line confirms it.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;

use super::super::engine_hours::{MeterReading, take_reading_of};
use super::super::trail::Trail;
use super::super::{Result, Workshop};
use super::{Import, new};
use crate::domain::answers::hours_question;
use crate::domain::checklist::Load;
use crate::domain::ids::MachineId;
use crate::domain::import::hours_file::{is_hours_file, read_hours};
use crate::domain::import::sheet::Sheet;
use crate::domain::import::{Fault, ImportKind, ImportOutcome};
use crate::domain::machine::UnitNumber;
use crate::domain::person::Actor;
use crate::domain::reading::{Before, Context};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::TrailAct;
use crate::domain::unit::Hours;
use crate::storage::{KnownMachine, KnownReading, StorageError, Tx};
use crate::words::Text;

/// Everything new of one machine.
pub struct Step {
    machine: MachineId,
    unit_number: String,
    /// Older than what is known, or on the way to the last.
    history: Vec<(DateTime<Utc>, Hours)>,
    /// The last of them, where it moves the meter.
    moves: Option<(DateTime<Utc>, Hours)>,
    /// What the meter was taken to show before.
    from: Option<Hours>,
}

/// A clock somewhere else may be a little ahead of ours.
const AHEAD: TimeDelta = TimeDelta::minutes(10);

#[derive(Clone)]
struct Given {
    line: u64,
    at: DateTime<Utc>,
    hours: Hours,
    confirmed: bool,
    /// A fleet's file brings whatever the maker last heard: no column to speak of.
    column: &'static str,
}

pub async fn plan(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    file: &[u8],
    import: &mut Import,
) -> Result<Vec<Step>> {
    let known = tx.known_machines().await?;
    let zones: HashMap<_, Tz> = tx.yards().await?.into_iter().map(|y| (y.id, y.zone())).collect();
    let own: Vec<&KnownMachine> = known.iter().filter(|m| actor.in_yard(m.yard_id)).collect();
    let given =
        if is_hours_file(file) { of_fleet(file, &own, import) } else { of_table(file, &own, &zones, import) };
    let now = workshop.ambient.now();
    let mut steps = Vec::new();
    for (id, mut readings) in given {
        let Some(machine) = own.iter().find(|m| m.id == id) else { continue };
        let series = tx.meter_series(id).await?;
        readings.sort_by_key(|r| (r.at, r.hours));
        steps.extend(of_machine(machine, &series, &readings, now, import));
    }
    steps.sort_by_key(|s| s.machine);
    Ok(steps)
}

pub async fn take(workshop: &Workshop, tx: &mut Tx, actor: &Actor, steps: Vec<Step>) -> Result<()> {
    let now = workshop.ambient.now();
    for step in steps {
        let machine = tx.machine_for_change(step.machine).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
        if machine.engine_hours != step.from {
            // Read at the machine in the meantime: everything is judged again.
            return Err(StorageError::Changed.into());
        }
        let mut trail = Trail::new(actor, now);
        for (at, hours) in &step.history {
            tx.insert_meter_reading(machine.id, *at, *hours, actor.id, now).await?;
            let subject = format!("machine {}", step.unit_number);
            trail.add(TrailAct::HourMeterRead, subject, "", *hours, why(*at));
        }
        if let Some((at, hours)) = step.moves {
            // It was judged with those before it.
            let reading = MeterReading { hours, confirmed: true };
            take_reading_of(workshop, tx, actor, &machine, reading, at, why(at), &mut trail, now).await?;
        }
        trail.write_for_machine(tx, machine.id).await?;
        tx.announce(machine.yard_id);
    }
    Ok(())
}

fn why(at: DateTime<Utc>) -> Text {
    said!("trail-read-in-file", at = at.format("%Y-%m-%d %H:%M UTC").to_string())
}

fn of_table(
    file: &[u8],
    own: &[&KnownMachine],
    zones: &HashMap<crate::domain::ids::YardId, Tz>,
    import: &mut Import,
) -> BTreeMap<MachineId, Vec<Given>> {
    let mut given: BTreeMap<MachineId, Vec<Given>> = BTreeMap::new();
    let sheet = match Sheet::read(ImportKind::Readings, file) {
        Ok(sheet) => sheet,
        Err(faults) => {
            import.faults.extend(faults);
            return given;
        }
    };
    let by_key: HashMap<_, _> = own.iter().map(|m| (m.unit_key.as_str(), *m)).collect();
    for mut line in sheet.lines() {
        let key = UnitNumber::key_of(line.text("unit number"));
        let machine = by_key.get(key.as_str()).copied();
        if machine.is_none() {
            line.fault("unit number", said!("import-unknown-machine"));
        }
        let zone = machine.and_then(|m| zones.get(&m.yard_id)).copied().unwrap_or(Tz::UTC);
        let (hours, at) = (line.hours("engine hours"), line.moment("read at", zone));
        if hours.is_none() && line.text("engine hours").is_empty() {
            line.fault("engine hours", said!("import-cell-empty"));
        }
        if at.is_none() && line.text("read at").is_empty() {
            line.fault("read at", said!("import-cell-empty"));
        }
        let confirmed = line.yes("confirmed");
        let number = line.number();
        if import.sound(line)
            && let (Some(machine), Some(hours), Some(at)) = (machine, hours, at)
        {
            let reading = Given { line: number, at, hours, confirmed, column: "engine hours" };
            given.entry(machine.id).or_default().push(reading);
        }
    }
    given
}

/// By the serial number, then by the unit number. A serial that two machines have names neither.
fn of_fleet(file: &[u8], own: &[&KnownMachine], import: &mut Import) -> BTreeMap<MachineId, Vec<Given>> {
    let mut given: BTreeMap<MachineId, Vec<Given>> = BTreeMap::new();
    let fleet = match read_hours(file) {
        Ok(fleet) => fleet,
        Err(faults) => {
            import.faults.extend(faults);
            return given;
        }
    };
    let mut serials: HashMap<String, Vec<&KnownMachine>> = HashMap::new();
    for m in own.iter().filter(|m| !m.serial.trim().is_empty()) {
        serials.entry(m.serial.trim().to_lowercase()).or_default().push(m);
    }
    for equipment in fleet {
        let by_serial = [&equipment.serial, &equipment.pin]
            .into_iter()
            .filter(|s| !s.is_empty())
            .find_map(|s| serials.get(&s.to_lowercase()))
            .filter(|found| found.len() == 1)
            .map(|found| found[0]);
        let by_unit = || {
            let key = UnitNumber::key_of(&equipment.id);
            own.iter().copied().find(|m| !key.is_empty() && m.unit_key == key)
        };
        match by_serial.or_else(by_unit) {
            Some(machine) => given.entry(machine.id).or_default().extend(equipment.hours.iter().map(|h| {
                Given { line: equipment.line, at: h.at, hours: h.hours, confirmed: false, column: "Hour" }
            })),
            None => {
                let names: Vec<_> = [equipment.model.as_str()].into_iter().chain(equipment.names()).collect();
                import.unknown.push(names.join(" · ").trim_matches([' ', '·']).to_owned());
            }
        }
    }
    given
}

/// What the readings of one machine, in the order of their times, come to beside what is known of it.
fn of_machine(
    machine: &KnownMachine,
    series: &[KnownReading],
    readings: &[Given],
    now: DateTime<Utc>,
    import: &mut Import,
) -> Option<Step> {
    // Without any reading, the hours that were entered with the machine are known from then on.
    let entered = machine.engine_hours.filter(|_| series.is_empty()).map(|hours| (machine.created_at, hours));
    let mut step = Step {
        machine: machine.id,
        unit_number: machine.unit_number.clone(),
        history: Vec::new(),
        moves: None,
        from: machine.engine_hours,
    };
    let last_known = series.last().map(|r| r.at).or(entered.map(|(at, _)| at));
    let mut before: Option<&Given> = None;
    for (n, r) in readings.iter().enumerate() {
        let mut fault =
            |column: &str, sentence: Text| import.faults.push(Fault::new(r.line, column, sentence));
        let known_then = series.iter().find(|k| k.at == r.at);
        let repeated = before.filter(|b| b.at == r.at);
        if known_then.is_some_and(|k| k.hours == r.hours) || repeated.is_some_and(|b| b.hours == r.hours) {
            import.add(r.line, &machine.unit_number, ImportOutcome::AlreadySo, Vec::new());
            before = Some(r);
            continue;
        }
        if let Some(other) = known_then.map(|k| k.hours).or(repeated.map(|b| b.hours)) {
            fault(r.column, said!("import-reading-differs", hours = other));
            continue;
        }
        if r.at > now + AHEAD {
            fault("read at", said!("import-in-the-future"));
            continue;
        }
        let earlier = series.iter().rev().find(|k| k.at < r.at).map(|k| (k.at, k.hours));
        let earlier = [earlier, entered.filter(|(at, _)| *at < r.at), before.map(|b| (b.at, b.hours))];
        let last = earlier.into_iter().flatten().max_by_key(|(at, _)| *at).map(|(_, hours)| hours);
        let newest = last_known.is_none_or(|at| r.at > at);
        // The meter itself is the last word on what came before.
        let last = if newest && before.is_none_or(|b| last_known.is_some_and(|at| b.at <= at)) {
            machine.engine_hours.or(last)
        } else {
            last
        };
        let context = Context {
            engine_hours: Some(r.hours),
            hours_confirmed: r.confirmed,
            ..Context::of(Load::Unladen)
        };
        let asked = hours_question(&context, &Before { engine_hours: last });
        // History may leap: nobody was counting. It may not fall.
        if let Some(q) = asked.filter(|_| newest || last.is_some_and(|l| r.hours < l)) {
            fault(r.column, q.sentence);
            continue;
        }
        if !newest {
            let later = series.iter().find(|k| k.at > r.at).map(|k| (k.at, k.hours));
            let in_file =
                readings[n + 1..].iter().find(|b| b.at > r.at).map(|b| (b.at, b.hours, b.confirmed));
            let next = [
                later.map(|(at, h)| (at, h, false)),
                entered.filter(|(at, _)| *at > r.at).map(|(at, h)| (at, h, false)),
                in_file,
            ];
            let next = next.into_iter().flatten().min_by_key(|(at, ..)| *at);
            if let Some((_, hours, confirmed)) = next
                && hours < r.hours
                && !confirmed
                && !r.confirmed
            {
                fault(r.column, said!("import-falls-after", hours = r.hours, next = hours));
                continue;
            }
        }
        if newest && machine.retired_at.is_some() {
            fault("unit number", said!("machine-retired"));
            continue;
        }
        import.add(
            r.line,
            &machine.unit_number,
            ImportOutcome::Added,
            vec![new("engine hours", r.hours.to_string())],
        );
        if newest {
            step.history.extend(step.moves.take());
            step.moves = Some((r.at, r.hours));
        } else {
            step.history.push((r.at, r.hours));
        }
        before = Some(r);
    }
    (step.moves.is_some() || !step.history.is_empty()).then_some(step)
}
