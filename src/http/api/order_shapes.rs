//! A work order and the queue as the API shows them.

use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::checks::{MeasuredValue, Reading, SupportingReason};
use super::etag::Stated;
use super::machines::GoodUntil;
use super::order_more::{OrderNote, Outside};
use super::words::{self, Money, Person};
use crate::domain::checklist::{Item, Load, System, Warmth};
use crate::domain::defect::{DefectState, FailedItem};
use crate::domain::queue::order::Level;
use crate::domain::standing::Severity;
use crate::domain::store::Quantity;
use crate::domain::watched::Watched;
use crate::domain::work_order::{OrderState, OrderWord, WaitingFor};
use crate::workflow::{
    DefectOnOrder, LabourRow, LineRow, OrderPage, QueueEntry, QueuePage, ReleaseRow, RetestRow, SightingRow,
};

#[derive(Serialize, ToSchema)]
pub struct Queue {
    /// In the order the work should be taken: first what nobody has yet and can be begun, then what somebody has or
    /// what waits, your own first.
    work_orders: Vec<QueuedOrder>,
    page: usize,
    /// Whether a further page has more that nobody has yet.
    more: bool,
}

#[derive(Serialize, ToSchema)]
pub struct QueuedOrder {
    id: Uuid,
    number: i64,
    /// Why it stands where it stands.
    because: String,
    machine: Uuid,
    unit_number: String,
    class: String,
    yard_name: String,
    #[schema(value_type = words::OrderState)]
    state: OrderWord,
    mechanic: Option<Person>,
    /// Also of one that nobody has: then it waits for parts that it lacks.
    waiting: Option<Waiting>,
    defects: i64,
    held_defects: i64,
    first_defect: String,
    opened_at: DateTime<Utc>,
    good_until_at: Option<DateTime<Utc>>,
    cost: Money,
    /// What puts it ahead of the next place; null for the last.
    ahead_by: Option<AheadBy>,
    /// Why you may not take it, for want of skill; null when nothing is lacking.
    lacking: Option<String>,
    /// Of the supervisor who pinned it; null when nobody did.
    pinned_by: Option<String>,
    /// Half of the runs of the workshop are done by then; null when that is not known.
    likely_by: Option<DateTime<Utc>>,
    /// Nine in ten are.
    almost_surely_by: Option<DateTime<Utc>>,
}

/// What decides between two places, from the first that is looked at to the last.
#[derive(Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum AheadBy {
    Pin,
    Standing,
    Demand,
    GoodUntil,
    Age,
}

impl From<Level> for AheadBy {
    fn from(level: Level) -> Self {
        match level {
            Level::Pin => Self::Pin,
            Level::Standing => Self::Standing,
            Level::Demand => Self::Demand,
            Level::GoodUntil => Self::GoodUntil,
            Level::Age => Self::Age,
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct WorkOrder {
    id: Uuid,
    number: i64,
    version: i64,
    machine: Uuid,
    unit_number: String,
    class: String,
    yard: Uuid,
    yard_name: String,
    #[schema(value_type = words::OrderState)]
    state: OrderWord,
    mechanic: Option<Person>,
    waiting: Option<Waiting>,
    cancel_reason: Option<String>,
    opened_at: DateTime<Utc>,
    done_at: Option<DateTime<Utc>>,
    closed_at: Option<DateTime<Utc>>,
    cost: Money,
    defects: Vec<OrderDefect>,
    labour: Vec<Labour>,
    parts: Vec<PartLine>,
    release: Option<Release>,
    notes: Vec<OrderNote>,
    /// Ids of the pictures taken at the work.
    photos: Vec<Uuid>,
    outside: Vec<Outside>,
    /// Split off from another order of the machine.
    split_off: bool,
    pinned: bool,
    likely_by: Option<DateTime<Utc>>,
    almost_surely_by: Option<DateTime<Utc>>,
    /// Whether you have it.
    mine: bool,
    /// Whether your clock runs on it.
    my_clock_runs: bool,
}

#[derive(Serialize, ToSchema)]
pub struct Waiting {
    #[schema(value_type = words::WaitingFor)]
    pub waiting_for: WaitingFor,
    pub until: Option<DateTime<Utc>>,
    pub note: String,
}

#[derive(Serialize, ToSchema)]
pub struct OrderDefect {
    id: Uuid,
    what: String,
    #[schema(value_type = words::System)]
    system: System,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    #[schema(value_type = words::DefectState)]
    state: DefectState,
    /// The rule that decided, and why.
    rule: String,
    /// Name and version of the checklist that has the rule; null where a person decided.
    rules: Option<String>,
    why: String,
    instruction: String,
    supporting: Vec<SupportingReason>,
    good_until: GoodUntil,
    reported_by: Person,
    check: Option<Uuid>,
    /// Before it was raised, where a check arrived late.
    found_at: DateTime<Utc>,
    raised_at: DateTime<Utc>,
    closed_at: Option<DateTime<Utc>>,
    /// The load it failed in, and is retested in.
    #[schema(value_type = words::Load)]
    load: Load,
    /// As the load: what else it failed in.
    #[schema(value_type = Option<words::Warmth>)]
    warmth: Option<Warmth>,
    /// Where it was judged at one. The retest then asks for the temperature of the air again.
    air_temperature: Option<MeasuredValue>,
    /// What the retest must repeat; none for a defect reported outside a check.
    failed: Vec<FailedAt>,
    /// Of the failed items, at the check that raised it.
    readings: Vec<Reading>,
    sightings: Vec<Sighting>,
    /// Ids of its pictures.
    photos: Vec<Uuid>,
    retests: Vec<RetestRecord>,
    cause: String,
    remedy: String,
    no_fault_found: bool,
    prior_defect: Option<Uuid>,
    /// Back too soon after its release: the supervisors were told.
    came_back: bool,
    /// Since when operators say that it is gone. A mechanic looks, and closes it.
    said_gone_at: Option<DateTime<Utc>>,
}

/// A failed item, with the checklist's own words.
#[derive(Serialize, ToSchema)]
pub struct FailedAt {
    item: String,
    /// Empty for an item without positions.
    position: String,
    /// Stands before the step that can hurt; show it first.
    caution: Option<String>,
    title: Option<String>,
    todo: Option<String>,
    accept: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub struct Sighting {
    by: Person,
    at: DateTime<Utc>,
    check: Option<Uuid>,
    what: String,
    /// What a check said of the defect under watch.
    #[schema(value_type = Option<words::Watched>)]
    said: Option<Watched>,
}

#[derive(Serialize, ToSchema)]
pub struct RetestRecord {
    by: Person,
    at: DateTime<Utc>,
    passed: bool,
    why: String,
}

#[derive(Serialize, ToSchema)]
pub struct Labour {
    id: Uuid,
    mechanic: Person,
    from: DateTime<Utc>,
    /// None while the clock runs.
    to: Option<DateTime<Utc>>,
    cost: Money,
}

/// A part on the order. Quantities are decimal figures in the part's unit.
#[derive(Serialize, ToSchema)]
pub struct PartLine {
    part: Uuid,
    number: String,
    name: String,
    unit: String,
    bin: String,
    reserved: String,
    /// Asked for and not there; the work order waits for it.
    lacking: String,
    /// Issued less returned.
    issued: String,
    cost: Money,
}

#[derive(Serialize, ToSchema)]
pub struct Release {
    id: Uuid,
    by: Person,
    at: DateTime<Utc>,
    note: String,
    released_by_repairer: bool,
}

/// Everything that a step changes, by what names it. Not what it costs, which a clock that runs makes dearer, nor when it will
/// be done.
impl Stated for WorkOrder {
    fn state(&self) -> impl Serialize {
        let waiting = self.waiting.as_ref().map(|w| (w.waiting_for, w.until));
        let defects = self.defects.iter().map(|d| {
            let said = (&d.cause, &d.remedy, d.no_fault_found);
            (d.id, d.severity, d.state, d.sightings.len(), d.retests.len(), &d.photos, said)
        });
        let parts = self.parts.iter().map(|p| (p.part, &p.reserved, &p.lacking, &p.issued));
        let outside = self.outside.iter().map(|o| (o.id, o.promised_at, o.returned_at, o.called_off_at));
        (
            (self.id, self.version, self.state, waiting, self.pinned, self.closed_at),
            self.mechanic.as_ref().map(Person::id),
            defects.collect::<Vec<_>>(),
            self.labour.iter().map(|l| (l.id, l.from, l.to)).collect::<Vec<_>>(),
            parts.collect::<Vec<_>>(),
            self.notes.iter().map(OrderNote::id).collect::<Vec<_>>(),
            &self.photos,
            outside.collect::<Vec<_>>(),
        )
    }
}

impl Queue {
    pub fn of(found: QueuePage, currency: &str) -> Self {
        let entries = found.next.into_iter().chain(found.taken);
        Self {
            work_orders: entries.map(|e| QueuedOrder::of(e, currency)).collect(),
            page: found.page,
            more: found.more,
        }
    }
}

impl QueuedOrder {
    fn of(entry: QueueEntry, currency: &str) -> Self {
        let o = entry.order;
        let lacked =
            entry.parts.map(|p| Waiting { waiting_for: WaitingFor::Parts, until: p.until, note: p.note });
        Self {
            id: o.id.0,
            number: o.number,
            because: entry.because.to_string(),
            machine: o.machine_id.0,
            unit_number: o.unit_number,
            class: o.class,
            yard_name: o.yard_name,
            state: o.state,
            mechanic: o.mechanic_id.map(|id| Person::new(id, &o.mechanic_name)),
            waiting: o
                .waiting_for
                .map(|waiting_for| Waiting {
                    waiting_for,
                    until: o.waiting_until,
                    note: o.waiting_note.unwrap_or_default(),
                })
                .or(lacked),
            defects: o.defects,
            held_defects: o.held_defects,
            first_defect: o.first_what.to_string(),
            opened_at: o.opened_at,
            good_until_at: o.good_until_at,
            cost: Money::new(o.cost_minor, currency),
            ahead_by: entry.why.ahead_by.map(Into::into),
            lacking: entry.lacking.map(|l| l.to_string()),
            pinned_by: Some(o.pinned_by_name).filter(|n| !n.is_empty()),
            likely_by: o.likely_by,
            almost_surely_by: o.almost_surely_by,
        }
    }
}

impl WorkOrder {
    pub fn of(page: OrderPage, currency: &str) -> Self {
        let (waiting, cancel_reason) = match page.state {
            OrderState::Waiting { wait, .. } => {
                let waiting = Waiting { waiting_for: wait.waiting_for, until: wait.until, note: wait.note };
                (Some(waiting), None)
            }
            OrderState::Cancelled { reason } => (None, Some(reason.to_string())),
            _ => (None, None),
        };
        let o = page.order;
        Self {
            id: o.id.0,
            number: o.number,
            version: o.version,
            machine: page.machine.id.0,
            unit_number: page.machine.unit_number,
            class: page.machine.class,
            yard: page.yard.id.0,
            yard_name: page.yard.name,
            state: o.word(),
            mechanic: o.mechanic_id.map(|id| Person::new(id, &o.mechanic_name)),
            waiting,
            cancel_reason,
            opened_at: o.opened_at,
            done_at: o.done_at,
            closed_at: o.closed_at,
            cost: Money::new(o.cost_minor, currency),
            defects: page.defects.into_iter().map(Into::into).collect(),
            labour: page.labour.into_iter().map(|l| Labour::of(l, currency)).collect(),
            parts: page.lines.into_iter().map(|l| PartLine::of(l, currency)).collect(),
            release: page.release.map(Into::into),
            notes: page.more.notes.into_iter().map(Into::into).collect(),
            photos: page.more.photos.iter().map(|p| p.id.0).collect(),
            outside: page.more.outside.into_iter().map(Into::into).collect(),
            split_off: o.side,
            pinned: o.pin_rank.is_some(),
            likely_by: page.more.forecast.as_ref().and_then(|f| f.likely_by),
            almost_surely_by: page.more.forecast.as_ref().and_then(|f| f.almost_surely_by),
            mine: page.mine,
            my_clock_runs: page.my_clock_runs,
        }
    }
}

impl From<DefectOnOrder> for OrderDefect {
    fn from(on_order: DefectOnOrder) -> Self {
        let d = on_order.defect;
        Self {
            id: d.id.0,
            what: d.what.to_string(),
            system: d.system,
            severity: d.severity,
            state: d.state,
            rule: d.rule,
            rules: on_order.rules.map(|r| r.to_string()),
            why: d.why.to_string(),
            instruction: d.instruction.to_string(),
            supporting: on_order.supporting.into_iter().map(Into::into).collect(),
            good_until: GoodUntil { at: d.good_until_at, engine_hours: d.good_until_hours },
            reported_by: Person::new(d.reported_by, &on_order.reported_by_name),
            check: d.check_id.map(|c| c.0),
            found_at: d.found_at,
            raised_at: d.raised_at,
            closed_at: d.closed_at,
            load: d.load,
            warmth: d.warmth,
            air_temperature: d.air.map(Into::into),
            failed: on_order.failed.into_iter().map(Into::into).collect(),
            readings: on_order.readings.into_iter().map(Into::into).collect(),
            sightings: on_order.sightings.into_iter().map(Into::into).collect(),
            photos: on_order.photos.iter().map(|p| p.id.0).collect(),
            retests: on_order.retests.into_iter().map(Into::into).collect(),
            cause: d.cause,
            remedy: d.remedy,
            no_fault_found: d.no_fault_found,
            prior_defect: d.prior_defect_id.map(|p| p.0),
            came_back: d.came_back,
            said_gone_at: d.said_gone_at,
        }
    }
}

impl From<(FailedItem, Option<Item>)> for FailedAt {
    fn from((failed, item): (FailedItem, Option<Item>)) -> Self {
        let (caution, words) = match item {
            Some(i) => {
                let words = (i.title.to_string(), i.todo.to_string(), i.accept.to_string());
                (i.caution.map(|c| c.to_string()), Some(words))
            }
            None => (None, None),
        };
        let (title, todo, accept) = match words {
            Some((title, todo, accept)) => (Some(title), Some(todo), Some(accept)),
            None => (None, None, None),
        };
        Self { item: failed.item, position: failed.position, caution, title, todo, accept }
    }
}

impl From<SightingRow> for Sighting {
    fn from(s: SightingRow) -> Self {
        Self {
            by: Person::new(s.by_id, &s.by_name),
            at: s.at,
            check: s.check_id.map(|c| c.0),
            what: s.what.to_string(),
            said: s.said,
        }
    }
}

impl From<RetestRow> for RetestRecord {
    fn from(r: RetestRow) -> Self {
        Self { by: Person::new(r.by_id, &r.by_name), at: r.at, passed: r.passed, why: r.why.to_string() }
    }
}

impl Labour {
    pub fn of(l: LabourRow, currency: &str) -> Self {
        Self {
            id: l.id.0,
            mechanic: Person::new(l.mechanic_id, &l.mechanic_name),
            from: l.started_at,
            to: l.ended_at,
            cost: Money::new(l.cost_minor, currency),
        }
    }
}

impl PartLine {
    pub fn of(l: LineRow, currency: &str) -> Self {
        Self {
            part: l.part_id.0,
            number: l.number,
            name: l.name,
            unit: l.unit,
            bin: l.bin,
            reserved: Quantity(l.reserved).to_string(),
            lacking: Quantity(l.lacking).to_string(),
            issued: Quantity(l.issued).to_string(),
            cost: Money::new(l.cost_minor, currency),
        }
    }
}

impl From<ReleaseRow> for Release {
    fn from(r: ReleaseRow) -> Self {
        Self {
            id: r.id.0,
            by: Person::new(r.by_id, &r.by_name),
            at: r.at,
            note: r.note.to_string(),
            released_by_repairer: r.released_by_repairer,
        }
    }
}
