//! A hundred and twenty invented days, event by event, through the workflows.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap, HashSet};

use chrono::{DateTime, Datelike, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Europe::London;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::Made;
use super::faults::{Condition, answer, choose_fault, pick};
use super::scenario::{DAYS, NEWEST_MECHANIC, Placed, Trust, working_week};
use super::simulated::Simulated;
use super::walk::{began, look_at_watched, mild_air, passing};
use crate::domain::checklist::Load;
use crate::domain::ids::{MachineId, OutsideId, PartId, PersonId, WorkOrderId};
use crate::domain::person::{Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::shift::{Calendar, Week};
use crate::domain::standing::Standing;
use crate::domain::store::Quantity;
use crate::domain::unit::Hours;
use crate::domain::work_order::WaitingFor;
use crate::workflow::{
    self, DefectDone, Fitting, OutsideNews, RetestAnswers, SendOutside, SubmitCheck, WorkflowError, Workshop,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Step {
    EndWatches,
    Check(usize),
    Claim(WorkOrderId),
    Start(WorkOrderId),
    Wait(WorkOrderId),
    BackFromOutside(WorkOrderId),
    Finish(WorkOrderId),
    Retest(WorkOrderId),
    Release(WorkOrderId),
    Deliver,
}

struct Run<'a> {
    workshop: &'a Workshop,
    time: &'a Simulated,
    trust: Trust,
    random: StdRng,
    until: DateTime<Utc>,
    plan: BinaryHeap<Reverse<(DateTime<Utc>, u64, Step)>>,
    planned: u64,
    conditions: HashMap<MachineId, Condition>,
    /// Orders whose repair is already planned.
    known_orders: HashSet<WorkOrderId>,
    waited: HashSet<WorkOrderId>,
    /// Who took each order: nobody else has it until it is done.
    taken_by: HashMap<WorkOrderId, Actor>,
    away: HashMap<WorkOrderId, OutsideId>,
    /// With a repair under their hands.
    busy: HashSet<PersonId>,
    shifts: Calendar,
    made: Made,
}

/// The chance that a check finds something, on an ordinary day and on the last two.
const FAULT: f64 = 0.045;
const LATE_FAULT: f64 = 0.08;

pub async fn run(
    workshop: &Workshop,
    time: &Simulated,
    trust: Trust,
    seed: u64,
    until: DateTime<Utc>,
) -> Result<Made, WorkflowError> {
    let mut run = Run {
        workshop,
        time,
        trust,
        random: StdRng::seed_from_u64(seed),
        until,
        plan: BinaryHeap::new(),
        planned: 0,
        conditions: HashMap::new(),
        known_orders: HashSet::new(),
        waited: HashSet::new(),
        taken_by: HashMap::new(),
        away: HashMap::new(),
        busy: HashSet::new(),
        shifts: Calendar::new(London, Week::typed(&working_week())?),
        made: Made::default(),
    };
    for day in (0..=DAYS).rev() {
        run.plan_day(until - TimeDelta::days(day));
    }
    while let Some(Reverse((at, _, step))) = run.plan.pop() {
        if at > until {
            break;
        }
        run.time.set(at);
        match run.take(step).await {
            // Somebody else was faster, or the clock runs elsewhere: later.
            Err(WorkflowError::Refused(Refusal::Conflict(_) | Refusal::Forbidden(_))) => {
                if !matches!(step, Step::Check(_)) {
                    run.later(run.in_shift(at + TimeDelta::minutes(20)), step);
                }
            }
            done => done?,
        }
    }
    super::this_morning::stage(workshop, time, &run.trust, &mut run.made, until).await?;
    time.set(until);
    Ok(run.made)
}

impl Run<'_> {
    fn later(&mut self, at: DateTime<Utc>, step: Step) {
        self.planned += 1;
        self.plan.push(Reverse((at, self.planned, step)));
    }

    fn plan_day(&mut self, day: DateTime<Utc>) {
        let date = day.with_timezone(&London).date_naive();
        let at = |hour: u32, minute: i64| {
            let local = date.and_hms_opt(hour, 0, 0).unwrap_or_default();
            London.from_local_datetime(&local).earliest().map_or(day, |t| t.to_utc())
                + TimeDelta::minutes(minute)
        };
        self.later(at(5, 0), Step::EndWatches);
        self.later(at(20, 0), Step::Deliver);
        if matches!(date.weekday(), Weekday::Sat | Weekday::Sun) {
            return;
        }
        for index in 0..self.trust.machines.len() {
            if self.random.random_bool(0.72) {
                let minute = self.random.random_range(0..150);
                self.later(at(6, minute), Step::Check(index));
            }
        }
    }

    async fn take(&mut self, step: Step) -> Result<(), WorkflowError> {
        match step {
            Step::EndWatches => {
                workflow::end_watches(self.workshop).await?;
                self.plan_repairs().await
            }
            Step::Check(index) => self.check(index).await,
            Step::Claim(order) => self.claim(order).await,
            Step::Start(order) => self.start(order).await,
            Step::Wait(order) => self.wait(order).await,
            Step::BackFromOutside(order) => self.back_from_outside(order).await,
            Step::Finish(order) => self.finish(order).await,
            Step::Retest(order) => self.retest(order).await,
            Step::Release(order) => self.release(order).await,
            Step::Deliver => self.deliver().await,
        }
    }

    async fn check(&mut self, index: usize) -> Result<(), WorkflowError> {
        let Placed { id, yard, hours, unit_number } = self.trust.machines[index].clone();
        if super::this_morning::is_told_here(unit_number, self.time.ambient().now(), self.until) {
            return Ok(());
        }
        let operator = self.somebody(Role::Operator, |a| a.in_yard(yard));
        let form = match workflow::checklist_form(self.workshop, &operator, id).await {
            Ok(form) => form,
            Err(WorkflowError::Refused(Refusal::Conflict(_))) => return Ok(()),
            Err(e) => return Err(e),
        };
        if form.held {
            return Ok(());
        }
        let run_for = self.random.random_range(12..55);
        let engine_hours = hours.map(|h| Hours(h.0 + run_for));
        self.trust.machines[index].hours = engine_hours;
        let load = if self.random.random_bool(0.25) { Load::Laden } else { Load::Unladen };
        let late = self.until - self.time.ambient().now() < TimeDelta::days(2);
        let fault = self.random.random_bool(if late { LATE_FAULT } else { FAULT });
        let fault_at = if fault { choose_fault(&form.checklist, &mut self.random) } else { None };
        let condition = self.conditions.entry(id).or_default();
        let answers = answer(
            &form.checklist,
            &mut self.random,
            condition,
            load,
            f64::from(run_for as i32) / 10.0,
            fault_at,
        );
        let watched = look_at_watched(&form, &mut self.random);
        let command = SubmitCheck {
            id: form.id,
            machine: id,
            checklist: form.checklist_id,
            load,
            warmth: None,
            air_temperature: form.checklist.asks_air().then(|| mild_air(self.time.ambient().now())),
            air_unit: None,
            watched,
            engine_hours,
            hours_confirmed: true,
            answers,
            note: String::new(),
            begun_at: Some(began(&form)),
            recorded_at: None,
        };
        let answered = workflow::submit_check(self.workshop, &operator, command).await?;
        self.made.checks += 1;
        self.made.defects += answered.findings.iter().filter(|f| !f.seen_before).count();
        if answered.standing == Standing::Monitored && self.random.random_bool(0.5) {
            let supervisor = self.somebody(Role::Supervisor, |a| a.in_yard(yard));
            match workflow::open_order(self.workshop, &supervisor, id).await {
                Ok(order) => self.plan_repair(order).await?,
                Err(WorkflowError::Refused(_)) => {}
                Err(e) => return Err(e),
            }
        }
        if let Some(order) = answered.work_order {
            self.plan_repair(order).await?;
        }
        Ok(())
    }

    /// Every work order that nobody has planned to repair yet: those that no check opened. The whole queue is read for it.
    async fn plan_repairs(&mut self) -> Result<(), WorkflowError> {
        let owner = self.trust.owner.clone();
        let found = workflow::queue(self.workshop, &owner, 1).await?;
        for entry in found.next.into_iter().chain(found.taken) {
            self.plan_repair(entry.order.id).await?;
        }
        Ok(())
    }

    /// Whoever is free takes it when work begins, and what is new is foreseen, as the server does within the minute.
    async fn plan_repair(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        if self.known_orders.insert(order) {
            workflow::foresee(self.workshop).await?;
            let at = self.in_shift(self.time.ambient().now()) + minutes(self.random.random_range(2.0..15.0));
            self.later(at, Step::Claim(order));
        }
        Ok(())
    }

    /// The next moment at or after this one at which somebody works.
    fn in_shift(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        self.shifts.next_work(at).unwrap_or(at)
    }

    async fn claim(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let page = workflow::order_page(self.workshop, &self.trust.owner, order).await?;
        let yard = page.yard.id;
        let busy = self.busy.clone();
        let free = |a: &Actor| a.in_yard(yard) && a.name != NEWEST_MECHANIC && !busy.contains(&a.id);
        if !self.trust.people.iter().any(|a| a.has(Role::Mechanic) && free(a)) {
            let at = self.in_shift(self.time.ambient().now() + TimeDelta::minutes(10));
            self.later(at, Step::Claim(order));
            return Ok(());
        }
        let mechanic = self.somebody(Role::Mechanic, free);
        workflow::claim(self.workshop, &mechanic, order).await?;
        self.busy.insert(mechanic.id);
        self.taken_by.insert(order, mechanic);
        self.after(order, 1.0..6.0, Step::Start(order));
        Ok(())
    }

    async fn start(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let mechanic = self.mechanic_of(order)?;
        workflow::start_labour(self.workshop, &mechanic, order).await?;
        self.busy.insert(mechanic.id);
        if self.random.random_bool(WAITS_FOR_PARTS) && self.waited.insert(order) {
            self.after(order, 20.0..50.0, Step::Wait(order));
        } else {
            // Repair times are skewed: most are short, a few are long.
            let hours = (-0.2_f64 + 0.8 * normal(&mut self.random)).exp();
            let work = minutes(hours.clamp(0.2, 9.0) * 60.0);
            let now = self.time.ambient().now();
            self.later(self.shifts.after(now, work).unwrap_or(now + work), Step::Finish(order));
        }
        Ok(())
    }

    async fn wait(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let mechanic = self.mechanic_of(order)?;
        self.busy.remove(&mechanic.id);
        let hours = self.random.random_range(20.0..96.0);
        let until = self.time.ambient().now() + minutes(hours * 60.0);
        if OUTSIDE.contains(&self.waited.len()) {
            let sent = SendOutside {
                vendor: "Ardle Hydraulics (invented)".to_owned(),
                what: "Press out the seized pin, new bush".to_owned(),
                licensed: String::new(),
                back_by: Some(until),
            };
            let away = workflow::send_outside(self.workshop, &mechanic, order, sent).await?;
            self.away.insert(order, away);
            self.later(until + TimeDelta::minutes(30), Step::BackFromOutside(order));
            return Ok(());
        }
        let note = pick(&mut self.random, WAITS);
        workflow::wait_for(self.workshop, &mechanic, order, WaitingFor::Parts, Some(until), note).await?;
        self.later(self.in_shift(until + TimeDelta::minutes(30)), Step::Start(order));
        Ok(())
    }

    async fn back_from_outside(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let mechanic = self.mechanic_of(order)?;
        let Some(away) = self.away.remove(&order) else { return Ok(()) };
        let back = OutsideNews::Back { licence: String::new() };
        workflow::tell_of_outside(self.workshop, &mechanic, order, away, back).await?;
        let invoice = OutsideNews::Invoiced {
            number: format!("INV-{}", self.waited.len()),
            amount: "184.00".to_owned(),
            currency: String::new(),
        };
        workflow::tell_of_outside(self.workshop, &mechanic, order, away, invoice).await?;
        let at = self.in_shift(self.time.ambient().now() + TimeDelta::minutes(30));
        self.later(at, Step::Start(order));
        Ok(())
    }

    async fn finish(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let mechanic = self.mechanic_of(order)?;
        if self.random.random_bool(0.6) {
            let part = self.trust.parts[self.random.random_range(0..self.trust.parts.len())];
            match workflow::issue_part(self.workshop, &mechanic, order, part, "1").await {
                Ok(()) => {}
                Err(WorkflowError::Refused(Refusal::Conflict(_))) => {
                    self.delivered(part, order).await?;
                }
                Err(e) => return Err(e),
            }
        }
        let page = workflow::order_page(self.workshop, &mechanic, order).await?;
        let fitted = Self::fitted(&page);
        let mut done = Vec::new();
        for d in page.defects.iter().filter(|d| d.defect.closed_at.is_none()) {
            let no_fault_found = self.random.random_bool(0.05);
            let (cause, remedy) = REPAIRS[self.random.random_range(0..REPAIRS.len())];
            done.push(DefectDone {
                defect: d.defect.id,
                cause: if no_fault_found { String::new() } else { cause.to_owned() },
                remedy: if no_fault_found { String::new() } else { remedy.to_owned() },
                no_fault_found,
                part_replaced: false,
            });
            if let (Some(item), Some(condition)) =
                (&d.defect.item, self.conditions.get_mut(&d.defect.machine_id))
            {
                condition.renew(item, &d.defect.position);
            }
        }
        workflow::finish_work_fitting(self.workshop, &mechanic, order, done, fitted, None).await?;
        self.busy.remove(&mechanic.id);
        self.after(order, 5.0..40.0, Step::Retest(order));
        Ok(())
    }

    /// What ran out comes again.
    async fn delivered(&mut self, part: PartId, order: WorkOrderId) -> Result<(), WorkflowError> {
        let owner = self.trust.owner.clone();
        let yard = workflow::order_page(self.workshop, &owner, order).await?.order.yard_id;
        let note = "delivery, invented";
        workflow::receive_part(self.workshop, &owner, part, yard, "6", "174.00", note).await
    }

    /// What was issued is on the machine, with the batch that stands on the box.
    fn fitted(page: &workflow::OrderPage) -> Vec<Fitting> {
        let open = page.defects.iter().find(|d| d.defect.closed_at.is_none());
        let Some(defect) = open.map(|d| d.defect.id) else { return Vec::new() };
        let turn = usize::try_from(page.order.number).unwrap_or(0) % BATCHES.len();
        let batch = BATCHES[turn];
        let mut all = Vec::new();
        for line in &page.lines {
            let on = page.fitted.iter().filter(|f| f.part_id == line.part_id && f.removed_at.is_none());
            let left = line.issued - on.map(|f| f.quantity).sum::<i64>();
            if left > 0 {
                all.push(Fitting {
                    defect,
                    part: line.part_id,
                    quantity: Quantity(left).to_string(),
                    serial: String::new(),
                    batch: batch.to_owned(),
                });
            }
        }
        all
    }

    async fn retest(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let mechanic = self.mechanic_of(order)?;
        let page = workflow::order_page(self.workshop, &mechanic, order).await?;
        for d in page.defects.iter().filter(|d| d.defect.closed_at.is_none()) {
            let given = match &d.checklist {
                Some(checklist) if !d.failed.is_empty() => RetestAnswers {
                    answers: d.failed.iter().map(|(f, _)| passing(checklist, f, d.defect.load)).collect(),
                    air_temperature: d.defect.air.as_ref().map(|a| a.as_read.clone()),
                    air_unit: d.defect.air.as_ref().map(|a| a.unit.to_string()),
                    ..RetestAnswers::default()
                },
                _ => RetestAnswers {
                    fault_gone: Some(true),
                    tried: "Tried it three times under load.".to_owned(),
                    ..RetestAnswers::default()
                },
            };
            workflow::retest(self.workshop, &mechanic, order, d.defect.id, given).await?;
        }
        self.after(order, 15.0..240.0, Step::Release(order));
        Ok(())
    }

    async fn release(&mut self, order: WorkOrderId) -> Result<(), WorkflowError> {
        let page = workflow::order_page(self.workshop, &self.trust.owner, order).await?;
        let yard = page.yard.id;
        let supervisor = self.somebody(Role::Supervisor, |a| a.in_yard(yard));
        workflow::release(self.workshop, &supervisor, order, "").await?;
        self.made.releases += 1;
        Ok(())
    }

    /// Old mail is marked as never sent, since it is invented; that of the last days is left for the server to send.
    async fn deliver(&mut self) -> Result<(), WorkflowError> {
        const LEFT: TimeDelta = TimeDelta::days(2);
        if self.until - self.time.ambient().now() < LEFT {
            return Ok(());
        }
        loop {
            let owed = workflow::lease_deliveries(self.workshop, 100).await?;
            if owed.is_empty() {
                return Ok(());
            }
            for delivery in owed {
                workflow::delivered(self.workshop, &delivery, "invented history: nothing was sent").await?;
            }
        }
    }

    fn after(&mut self, _order: WorkOrderId, range: std::ops::Range<f64>, step: Step) {
        let wait = self.random.random_range(range);
        let at = self.time.ambient().now() + minutes(wait);
        self.later(at, step);
    }

    fn somebody(&mut self, role: Role, fits: impl Fn(&Actor) -> bool) -> Actor {
        let who: Vec<&Actor> = self.trust.people.iter().filter(|a| a.has(role) && fits(a)).collect();
        match who.len() {
            0 => self.trust.owner.clone(),
            n => who[self.random.random_range(0..n)].clone(),
        }
    }

    fn mechanic_of(&self, order: WorkOrderId) -> Result<Actor, WorkflowError> {
        let by = self.taken_by.get(&order).cloned();
        by.ok_or_else(|| Refusal::NotFound(Thing::WorkOrder).into())
    }
}

/// Sum of twelve uniforms less six: near enough to normal for an invented history.
fn normal(random: &mut StdRng) -> f64 {
    (0..12).map(|_| random.random_range(0.0..1.0)).sum::<f64>() - 6.0
}

fn minutes(count: f64) -> TimeDelta {
    TimeDelta::seconds((count * 60.0) as i64)
}

/// How many repairs turn out to need something that is not there.
const WAITS_FOR_PARTS: f64 = 0.12;

/// Which of the orders that had to wait went to somebody outside instead, counted from the first.
const OUTSIDE: [usize; 2] = [2, 5];

/// Of the boxes that parts came in.
const BATCHES: &[&str] = &["26-041", "26-044", "26-052"];

const WAITS: &[&str] =
    &["Part ordered, not in stock", "Waiting for the right size", "Supplier out until the week's end"];

const REPAIRS: &[(&str, &str)] = &[
    ("Worn out", "Replaced with new"),
    ("Worked loose", "Tightened and marked"),
    ("Chafed against a bracket", "Replaced and rerouted"),
    ("Corroded connector", "Cleaned and greased"),
    ("Seal hardened with age", "Seal replaced, system bled"),
    ("Mud packed behind it", "Cleaned out and checked"),
];
