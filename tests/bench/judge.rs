//! What judging costs: a check of 40 items of a machine that was checked daily for two years, with everything that its
//! checklist's rules look back on.

use std::fmt::Write;
use std::hint::black_box;
use std::time::Instant;

use chock::domain::answers;
use chock::domain::checklist::{Checklist, Load};
use chock::domain::checklist_file::parse;
use chock::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use chock::domain::ids::CheckId;
use chock::domain::judge::judge;
use chock::domain::reading::{Before, Context};
use chock::domain::unit::Hours;
use chock::workflow::{self, NewMachine, SubmitCheck};
use chrono::{DateTime, TimeDelta, Utc};

use crate::answers::all_well;
use crate::raw::Statements;
use crate::report::{Aim, Report};
use crate::world::{Engine, World};
use crate::{Outcome, Plan};

const ITEMS: usize = 40;
const DAYS: i64 = 730;

/// A list of 40 stops: ten pads and tyres whose wear is followed, ten fluids whose topping up is counted, twenty things
/// to look at, with rules that look back on every one of them.
fn source(name: &str) -> String {
    let mut text = format!(
        "name = \"{name}\"\ntitle = \"Bench\"\nclasses = [\"{name}\"]\n[[zone]]\nkey = \"round\"\ntitle = \"Round\"\nstand = \"Here.\"\n",
    );
    let mut rules = String::new();
    let mut rule = |name: String, when: String| {
        let _ = write!(
            rules,
            "[[rule]]\nname = \"{name}\"\nseverity = \"out of service\"\nwhen = [{when}]\ninstruction = \"Stop.\"\n"
        );
    };
    for n in 0..ITEMS {
        let key = format!("item-{n}");
        let _ = write!(
            text,
            "[[zone.item]]\nkey = \"{key}\"\ntitle = \"Item {n}\"\ntodo = \"Look.\"\naccept = \"Right.\"\nsystem = \"brakes\"\nsafety = true\n"
        );
        // As many as one checklist may look back on are measured or topped up.
        match n {
            0..6 => {
                text += "asks = \"measure\"\n[zone.item.measure]\nbase = \"mm\"\nunits = [\"mm\"]\nresolution = \"0.1 mm\"\n\
                         plausible = [\"0 mm\", \"30 mm\"]\nlimits = [{ at_least = \"1.5 mm\" }]\n";
                rule(
                    format!("wear {n}"),
                    format!("{{ item = \"{key}\", trend = \"below limit\", within_hours = 50 }}"),
                );
                rule(format!("thin {n}"), format!("{{ item = \"{key}\", value = \"below limit\" }}"));
            }
            6..12 => {
                text += "asks = \"level\"\nmay_be_corrected = true\ncorrected_unit = \"L\"\n";
                rule(
                    format!("often {n}"),
                    format!("{{ item = \"{key}\", corrected_times = 3, within_hours = 50 }}"),
                );
                rule(format!("low {n}"), format!("{{ item = \"{key}\", level = \"below\" }}"));
            }
            _ => {
                text += "asks = \"condition\"\n";
                rule(format!("failed {n}"), format!("{{ item = \"{key}\", outcome = \"defect\" }}"));
                rule(format!("back {n}"), format!("{{ item = \"{key}\", back_within_days = 30 }}"));
            }
        }
    }
    text + &rules
}

fn checklist() -> Outcome<Checklist> {
    parse(&source("bench")).map_err(|faults| faults[0].to_string().into())
}

fn history(list: &Checklist, now: DateTime<Utc>) -> History {
    let mut history = History { now: Some(now), ..History::default() };
    for stop in list.walk() {
        let item = stop.item.key.clone();
        let day = |d: i64| now - TimeDelta::days(DAYS - d);
        let hours = |d: i64| Some(Hours(10_000 + 35 * d));
        if stop.item.measure().is_some() {
            let points = (0..DAYS).map(|d| Point {
                engine_hours: hours(d),
                at: day(d),
                base: f64::from(i32::try_from(290 - d / 4 + d % 3).unwrap_or(0)) / 10.0,
            });
            history.series.push(Series { item, position: None, points: points.collect() });
        } else if stop.item.may_be_corrected {
            history.corrected.extend((0..DAYS).map(|d| CorrectedAt {
                item: item.clone(),
                position: None,
                at: day(d),
                engine_hours: hours(d),
                amount_base: Some(0.2),
            }));
        } else {
            history.released.extend((0..8).map(|n| ReleasedAt {
                item: item.clone(),
                position: None,
                at: day(n * 90),
            }));
        }
    }
    history
}

/// In `domain` alone, whatever the engine.
pub fn in_domain(plan: &Plan, report: &mut Report) -> Outcome {
    let list = checklist()?;
    let now: DateTime<Utc> = "2026-11-25T06:00:00Z".parse()?;
    let past = history(&list, now);
    let context = Context { engine_hours: Some(Hours(10_000 + 35 * DAYS)), ..Context::of(Load::Unladen) };
    let mut given = all_well(&list, Load::Unladen);
    // Something is wrong with half of it: saying so is part of the work.
    for answer in given.iter_mut().skip(20) {
        answer.outcome = Some("defect".to_owned());
    }
    let readings =
        answers::read(&list, &context, &given, &Before::default()).map_err(|q| q[0].sentence.to_string())?;
    let found = judge(&list, &context, &readings, &past);
    let looked_back = past.series.iter().map(|s| s.points.len()).sum::<usize>() + past.corrected.len();
    println!(
        "\njudging {} readings by {} rules over {looked_back} earlier ones: {} findings, {} trends",
        readings.len(),
        list.rules.len(),
        found.findings.len(),
        found.trends.len(),
    );
    if found.findings.len() < 20 || found.trends.iter().filter(|t| t.trend.line().is_some()).count() < 6 {
        return Err("the history that was made up is not looked at".into());
    }
    let mut samples = Vec::new();
    for _ in 0..plan.rounds {
        let (start, mut times) = (Instant::now(), 0_u32);
        while start.elapsed() < plan.window / 4 {
            black_box(judge(black_box(&list), &context, black_box(&readings), black_box(&past)));
            times += 1;
        }
        samples.push(start.elapsed().as_secs_f64() * 1000.0 / f64::from(times.max(1)));
    }
    report.add("judging 40 items with 2 years of daily history", "ms", Some(Aim::AtMost(1.0)), samples);
    Ok(())
}

/// The statements that load what the rules look back on: earlier readings, and what was put right.
pub async fn loading(engine: Engine, statements: &Statements, report: &mut Report) -> Outcome {
    let world = World::new(engine, 1).await?;
    let all = statements_of_a_check(&world, statements, "bench").await?;
    let looking_back =
        |s: &&String| s.contains("FROM reading") || s.contains("FROM defect WHERE machine_id = $1 AND item");
    let loads = all.iter().filter(looking_back).count();
    println!(
        "{}: {} statements for a check, {loads} of them for what its rules look back on",
        engine.name(),
        all.len()
    );
    if loads == 0 {
        return Err("nothing was loaded to look back on".into());
    }
    let name = format!("{}: statements that load what rules look back on", engine.name());
    report.add(name, "", Some(Aim::AtMost(3.0)), vec![f64::from(u32::try_from(loads)?)]);
    world.clear_away().await
}

async fn statements_of_a_check(world: &World, statements: &Statements, name: &str) -> Outcome<Vec<String>> {
    let w = &world.workshop;
    let machine = NewMachine {
        yard: world.yard,
        unit_number: name.into(),
        class: name.into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: Some(Hours(10_000)),
    };
    let machine = workflow::add_machine(w, &world.owner, machine).await?;
    let (id, _) = workflow::upload_checklist(w, &world.owner, &source(name)).await?;
    let (_, list) = workflow::uploaded_checklist(w, &world.owner, id).await?;
    let mut heard = Vec::new();
    // The first check of a server also loads the checklist.
    for hours in [10_010, 10_020] {
        statements.forget()?;
        let check = SubmitCheck {
            id: w.ambient.id::<CheckId>(),
            machine,
            checklist: id,
            engine_hours: Some(Hours(hours)),
            answers: all_well(&list, Load::Unladen),
            ..world.check(&world.machines[0])
        };
        workflow::submit_check(w, &world.operator, check).await?;
        heard = statements.heard()?;
    }
    Ok(heard)
}
