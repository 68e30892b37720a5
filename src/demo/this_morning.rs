//! How the demo finds the trust: a few machines grounded since yesterday and this morning, each at another step of the
//! way back, so that every page has something to show.

use chrono::{DateTime, TimeDelta, Utc};
use rand::SeedableRng;
use rand::rngs::StdRng;

use super::Made;
use super::faults::{Condition, answer};
use super::scenario::{NEWEST_MECHANIC, Placed, Trust};
use super::simulated::Simulated;
use super::walk::mild_air;
use crate::domain::checklist::{Load, System};
use crate::domain::ids::WorkOrderId;
use crate::domain::person::{Actor, Role};
use crate::domain::risk::{Answers, Certain, Harm, YesOrNo};
use crate::domain::standing::Standing;
use crate::domain::store::Quantity;
use crate::domain::unit::Hours;
use crate::domain::watched::{Said, Watched};
use crate::domain::work_order::WaitingFor;
use crate::workflow::{self, DefectDone, ReportDefect, SendOutside, SubmitCheck, WorkflowError, Workshop};

/// How far the repair has come.
enum Reached {
    Queued,
    InWork,
    WaitingForParts(&'static str),
    /// Away for licensed work, promised for yesterday evening.
    Outside,
    WorkDone,
}

/// Minutes ago, unit number, item, position, value where it is measured, note, and how far it has come.
type Scene = (
    i64,
    &'static str,
    &'static str,
    &'static str,
    Option<(&'static str, &'static str)>,
    &'static str,
    Reached,
);

const SCENES: &[Scene] = &[
    (
        4_300,
        "T-02",
        "hydraulic-leak",
        "",
        None,
        "Oil mist at the loader's accumulator when it lifts.",
        Reached::Outside,
    ),
    (
        1_640,
        "U-05",
        "belt-latch",
        "driver",
        None,
        "Clicks in, pulls straight out again.",
        Reached::WaitingForParts("Seat belt with latch, ordered; the last one went into U-06"),
    ),
    (1_560, "U-02", "high-beam", "", None, "Left lamp stays dark.", Reached::Queued),
    (1_480, "U-09", "brake-pedal", "", None, "Goes soft when held down.", Reached::WorkDone),
    (210, "U-03", "brake-pad", "front-left", Some(("1.2", "mm")), "", Reached::InWork),
    (
        95,
        "U-07",
        "fuel-leak",
        "left-side",
        None,
        "Wet line below the filter, smells of fuel.",
        Reached::Queued,
    ),
    (80, "U-01", "horn", "", None, "Only a click.", Reached::Queued),
];

/// Whether the machine's part in the last days is told here: history leaves it alone from then on, for what happens to a
/// machine happens in one order.
pub fn is_told_here(unit_number: &str, at: DateTime<Utc>, until: DateTime<Utc>) -> bool {
    let told_from = SCENES.iter().find(|s| s.1 == unit_number).map(|s| s.0);
    told_from
        .or((unit_number == GROUNDED_BY_HAND.1).then_some(GROUNDED_BY_HAND.0))
        .or((unit_number == REPORTED.1).then_some(REPORTED.0))
        .is_some_and(|ago| at >= until - TimeDelta::minutes(ago))
}

/// Minutes ago, and the machine whose watched defect is said to be gone: a mechanic has yet to look.
const SAID_GONE: (i64, &str) = (140, "U-02");

/// Minutes ago, unit number and what is wrong.
const REPORTED: (i64, &str, &str) =
    (50, "K-03", "Seat cushion torn on the left, the foam comes out when you climb off");

/// Minutes ago and unit number.
const GROUNDED_BY_HAND: (i64, &str) = (35, "Q-03");

pub async fn stage(
    workshop: &Workshop,
    time: &Simulated,
    trust: &Trust,
    made: &mut Made,
    until: DateTime<Utc>,
) -> Result<(), WorkflowError> {
    let mut random = StdRng::seed_from_u64(1);
    for (ago, unit_number, item, position, value, note, reached) in SCENES {
        let at = until - TimeDelta::minutes(*ago);
        time.set(at);
        let Some(machine) = trust.machines.iter().find(|m| m.unit_number == *unit_number) else { continue };
        let operator = somebody(trust, |a| a.has(Role::Operator) && a.in_yard(machine.yard));
        let gate = workflow::gate(workshop, &operator, machine.id).await?;
        if gate.standing == Standing::OutOfService {
            continue;
        }
        let check =
            check(workshop, &operator, machine, &mut random, (*item, *position), *value, note).await?;
        let answered = workflow::submit_check(workshop, &operator, check).await?;
        made.checks += 1;
        made.defects += answered.findings.iter().filter(|f| !f.seen_before).count();
        if let Some(order) = answered.work_order {
            repair(workshop, time, trust, order, reached, at).await?;
        }
    }
    time.set(until - TimeDelta::minutes(SAID_GONE.0));
    if let Some(machine) = trust.machines.iter().find(|m| m.unit_number == SAID_GONE.1) {
        let operator = somebody(trust, |a| a.has(Role::Operator) && a.in_yard(machine.yard));
        let mut check = check(workshop, &operator, machine, &mut random, ("", ""), None, "").await?;
        for said in &mut check.watched {
            said.now = Some(Watched::Gone);
            said.note = "Both lamps burn again since I knocked on the housing.".to_owned();
        }
        workflow::submit_check(workshop, &operator, check).await?;
        made.checks += 1;
    }
    time.set(until - TimeDelta::minutes(REPORTED.0));
    if let Some(carrier) = trust.machines.iter().find(|m| m.unit_number == REPORTED.1) {
        let operator = somebody(trust, |a| a.has(Role::Operator) && a.in_yard(carrier.yard));
        let answers = Answers {
            affects: Some(System::BodyAndFrame),
            fire: YesOrNo::No,
            harm: Harm::DayOff,
            worse: YesOrNo::Yes,
            certain: Certain::Suspected,
        };
        let (id, what) = (workshop.ambient.id(), REPORTED.2.to_owned());
        let report = ReportDefect { id, machine: carrier.id, what, answers };
        workflow::report_defect(workshop, &operator, report).await?;
        made.defects += 1;
    }
    time.set(until - TimeDelta::minutes(GROUNDED_BY_HAND.0));
    if let Some(quad) = trust.machines.iter().find(|m| m.unit_number == GROUNDED_BY_HAND.1) {
        let operator = somebody(trust, |a| a.name == "Jon Fairlie");
        let reason = "Hit a stump last night, want the front axle looked at before anybody rides it";
        workflow::place_hold(workshop, &operator, workshop.ambient.id(), quad.id, reason).await?;
    }
    time.set(until);
    in_the_workshop(workshop, trust).await
}

/// One order is pinned and has a note, one is late to come back from outside; and every return is foreseen.
async fn in_the_workshop(workshop: &Workshop, trust: &Trust) -> Result<(), WorkflowError> {
    let owner = &trust.owner;
    let queue = workflow::queue(workshop, owner, 1).await?;
    if let Some(last) = queue.next.last() {
        workflow::pin_order(workshop, owner, last.order.id).await?;
        let note = "The volunteers need it on Saturday. The key is in the green box.";
        workflow::note_on_order(workshop, owner, last.order.id, workshop.ambient.id(), note).await?;
    }
    // The one that is away is late: its supervisors are told, as the server does it.
    workflow::tell_of_late_outside(workshop).await?;
    workflow::foresee(workshop).await?;
    Ok(())
}

async fn check(
    workshop: &Workshop,
    operator: &Actor,
    machine: &Placed,
    random: &mut StdRng,
    at: (&str, &str),
    value: Option<(&str, &str)>,
    note: &str,
) -> Result<SubmitCheck, WorkflowError> {
    let form = workflow::checklist_form(workshop, operator, machine.id).await?;
    let mut answers = answer(&form.checklist, random, &mut Condition::default(), Load::Unladen, 2.0, None);
    let failing = answers
        .iter_mut()
        .find(|a| a.item.as_deref() == Some(at.0) && a.position.as_deref().unwrap_or("") == at.1);
    if let Some(raw) = failing {
        match value {
            Some((value, unit)) => {
                raw.value = Some(value.to_owned());
                raw.unit = Some(unit.to_owned());
            }
            None => raw.outcome = Some("defect".to_owned()),
        }
        raw.note = Some(note.to_owned()).filter(|n| !n.is_empty());
    }
    let watched = form.open_defects.iter().filter(|d| d.watched);
    let watched =
        watched.map(|d| Said { defect: d.id, now: Some(Watched::Same), note: String::new() }).collect();
    Ok(SubmitCheck {
        id: form.id,
        machine: machine.id,
        checklist: form.checklist_id,
        load: Load::Unladen,
        warmth: None,
        air_temperature: form.checklist.asks_air().then(|| mild_air(workshop.ambient.now())),
        air_unit: None,
        watched,
        engine_hours: form.last_hours.map(|h| Hours(h.0 + 6)),
        hours_confirmed: true,
        answers,
        note: String::new(),
        begun_at: None,
        recorded_at: None,
    })
}

async fn repair(
    workshop: &Workshop,
    time: &Simulated,
    trust: &Trust,
    order: WorkOrderId,
    reached: &Reached,
    at: DateTime<Utc>,
) -> Result<(), WorkflowError> {
    if matches!(reached, Reached::Queued) {
        return Ok(());
    }
    let mechanic = somebody(trust, |a| a.name == NEWEST_MECHANIC);
    time.set(at + TimeDelta::minutes(25));
    // The machine's last work order may still be with somebody.
    match workflow::hand_back(workshop, &trust.owner, order).await {
        Ok(()) | Err(WorkflowError::Refused(_)) => {}
        Err(e) => return Err(e),
    }
    workflow::claim(workshop, &mechanic, order).await?;
    time.set(at + TimeDelta::minutes(35));
    workflow::start_labour(workshop, &mechanic, order).await?;
    match reached {
        Reached::Queued | Reached::InWork => {}
        Reached::WaitingForParts(note) => {
            time.set(at + TimeDelta::minutes(60));
            let until = Some(at + TimeDelta::days(3));
            // One more than the shelf has, so that it shows what is lacking and when it comes.
            let page = workflow::order_page(workshop, &mechanic, order).await?;
            let belt = trust.parts.get(2).and_then(|id| page.parts.iter().find(|p| p.id == *id));
            if let Some(belt) = belt {
                let (id, owner) = (workshop.ambient.id(), &trust.owner);
                workflow::order_part(workshop, owner, id, belt.id, belt.yard_id, "2", until).await?;
                let wanted = Quantity(belt.on_hand - belt.reserved + 1_000).to_string();
                workflow::reserve_part(workshop, &mechanic, order, belt.id, &wanted).await?;
            }
            workflow::wait_for(workshop, &mechanic, order, WaitingFor::Parts, until, note).await?;
        }
        Reached::Outside => {
            time.set(at + TimeDelta::minutes(60));
            let sent = SendOutside {
                vendor: "Ardle Hydraulics (invented)".to_owned(),
                what: "New accumulator, pressure test and certificate".to_owned(),
                licensed: "pressure vessels".to_owned(),
                back_by: Some(at + TimeDelta::days(2)),
            };
            workflow::send_outside(workshop, &mechanic, order, sent).await?;
        }
        Reached::WorkDone => {
            time.set(at + TimeDelta::minutes(130));
            let page = workflow::order_page(workshop, &mechanic, order).await?;
            let done = page
                .defects
                .iter()
                .filter(|d| d.defect.closed_at.is_none())
                .map(|d| DefectDone {
                    defect: d.defect.id,
                    cause: "Air in the line after the hose was changed".to_owned(),
                    remedy: "Bled all four corners, pedal firm".to_owned(),
                    no_fault_found: false,
                    part_replaced: false,
                })
                .collect();
            workflow::finish_work(workshop, &mechanic, order, done, None).await?;
        }
    }
    Ok(())
}

fn somebody(trust: &Trust, fits: impl Fn(&Actor) -> bool) -> Actor {
    trust.people.iter().find(|a| fits(a)).unwrap_or(&trust.owner).clone()
}
