//! What people do, one file each, and the reads that authorise. The only room that writes: a use case is one
//! transaction: load → decide (`domain`) → save with a guard → audit → outbox → commit.

/// Does a whole transaction again when somebody else changed what it read, or the database broke a deadlock with it.
macro_rules! again_when_changed {
    ($whole:block) => {{
        let mut left = 5;
        loop {
            let outcome = async { $whole }.await;
            left -= 1;
            match outcome {
                Err(e) if left > 0 && $crate::workflow::WorkflowError::is_changed(&e) => {}
                outcome => break outcome,
            }
        }
    }};
}

mod acknowledge;
mod calendar;
mod checked_days;
mod checklist_drafts;
mod checklists;
mod claim;
mod deliver;
mod devices;
mod digest;
mod engine_hours;
mod export;
mod finish_work;
mod foresee;
mod forgotten_timers;
mod hearing;
mod history;
mod import;
mod judged_check;
mod labour_cost;
mod labour_rates;
mod log_labour;
mod look;
mod machines;
mod my_time;
mod order_of_defect;
mod outside;
mod own_sessions;
mod own_settings;
mod part_fitted;
mod part_shortage;
mod part_store;
mod part_supply;
mod passkey;
mod password;
mod people;
mod photos;
mod pin;
mod place_hold;
mod places;
mod raise;
mod readiness;
mod release;
mod replica;
mod report_defect;
mod retention;
mod retest;
mod same_defect;
mod second_step;
mod sent_before;
mod settled;
mod severity;
mod sign_in;
mod skilled;
mod split_order;
mod stock_put_right;
mod submit_check;
mod tell;
mod throttle;
mod trail;
mod trail_heads;
mod turns;
mod verify;
mod watch;
mod watched;
mod webhooks;
mod working_time;

pub use acknowledge::{
    AskedToAcknowledge, acknowledge, acknowledge_by_link, asked_by_link, mark_of, pass_on, until_next_in_line,
};
pub use calendar::{
    Calendar, CalendarEntry, CalendarWhat, calendar, calendar_link_since, end_calendar_link,
    make_calendar_link,
};
pub use checked_days::sum_checked_days;
pub use checklist_drafts::{
    DraftPage, change_draft, classes_of, compare_checklists, copy_checklist, discard_draft, draft_page,
    edit_checklist, my_drafts, save_draft,
};
pub use checklists::{
    CheckForm, KnownDefect, Retiring, checklist_form, checklists, retire_checklist, retiring_checklist,
    upload_checklist, uploaded_checklist,
};
pub use claim::{cancel_order, claim, hand_back, open_order, wait_for};
pub use deliver::{Delivery, delivered, lease_deliveries, next_delivery_at, not_delivered, resend};
pub use devices::{TrustedDevice, forget_lost_device, trusted_devices};
pub use digest::{send_digests, until_next_digest};
pub use engine_hours::{MeterReading, read_meter};
pub use export::{ExportError, export_everything, may_export};
pub use finish_work::{DefectDone, finish_work};
pub use foresee::{
    Asked, Difference, ForecastsPage, MOST_FORESEEN, forecasts, foresee, foresee_first, foresee_when_due,
    what_if,
};
pub use forgotten_timers::{close_forgotten_timers, until_next_timer_end};
pub use hearing::{
    OwnAlerts, OwnChoice, OwnYard, YardAlerts, YardAlertsWanted, choose_alerts, own_alerts, require_alerts,
    set_chain, set_digest, set_yard_alerts, yard_alerts,
};
pub use import::{
    Import, ImportChange, ImportRow, Imported, import_kinds, may_import, preview_import, take_import,
};
pub use labour_rates::{
    LabourSetUp, labour_set_up, set_grades, set_labour_of, set_overtime, set_rate, set_skills,
    set_skills_needed,
};
pub use log_labour::{enter_labour, labour_seen, put_labour_right, start_labour, stop_labour};
pub use look::alerts::{alert_state, alert_states};
pub use look::archive::{ArchivedOrder, MachineArchive, machine_archive};
pub use look::board::{Board, board};
pub use look::careless::{CarelessChecks, CarelessMachine, careless_checks, careless_checks_of};
pub use look::check_data::{CheckData, MachineData, check_data, check_data_of};
pub use look::defect::{DefectPage, defect_page};
pub use look::gate::{Gate, NotCovered, OpenDefect, find_machine, gate, machines, not_covered};
pub use look::list::{list_machines, machine_classes};
pub use look::live::{WHO_IS_IN, changes, relay_changes, unchanged};
pub use look::numbers::{
    DownRow, GapRow, Looking, Numbers, PeriodNumbers, numbers, numbers_asked, numbers_defects, numbers_downs,
    numbers_gaps, numbers_orders,
};
pub use look::order::{DefectOnOrder, OrderPage, order_page};
pub use look::order_more::{Earlier, OrderMore};
pub use look::outbox::{OutboxAsked, OutboxPage, alert_of, outbox, outbox_page};
pub use look::queue::{LAST_PAGE, ON_A_PAGE, PartsLacking, QueueEntry, QueuePage, queue};
pub use look::record::{MachineRecord, ReportedDefect, machine_record, my_reports};
pub use look::reliability::{MachineFigures, YEAR, machine_figures};
pub use look::reorder::{Proposed, Reorder, reorder};
pub use look::store::{
    FittedPage, StorePart, part_fitted, stock_ledger, store_part, store_parts, store_yards,
};
pub use look::trail::{audit_before, audit_trail, no_such_place, unit_numbers};
pub use look::try_out::{Attempt, TriedOut, tried_out, try_out};
pub use look::verdict::{Verdict, verdict};
pub use look::wear::{Wear, machine_wear};
pub use machines::{
    NewMachine, NewYard, add_machine, add_yard, retire_machine, set_altitude, set_need, set_one_person, yards,
};
pub use my_time::{MyTime, my_time};
pub use outside::{
    OutsideNews, OutsidePage, SendOutside, away, outside_page, send_outside, tell_of_late_outside,
    tell_of_outside,
};
pub use own_sessions::{Ending, Here, OwnSession, end_own_sessions, own_sessions};
pub use own_settings::{choose_language, choose_units, language_of, units_of};
pub use part_fitted::{Fitting, finish_work_fitting};
pub use part_shortage::{lacking_in_words, last_expected};
pub use part_store::{
    NewPart, Reserved, add_part, issue_part, move_part_once, receive_part, receive_part_once, reserve_part,
    reserve_part_once, return_part,
};
pub use part_supply::{
    NewSupply, StorePolicy, drop_on_order, expect_part, order_part, set_store_policy, set_supply,
};
pub use passkey::{
    Challenge, Passkey, PasskeySite, add_passkey, begin_passkey, begin_passkey_sign_in,
    finish_passkey_sign_in, my_passkeys, remove_passkey,
};
pub use password::{change_password, prove_for, prove_password, to_sign};
pub use people::{
    Invitation, NewPerson, accept_invitation, add_person, change_person, disable_person, first_owner_link,
    invitation_for, invite_again, people, set_password,
};
pub use photos::{PhotoOf, StoredPhoto, attach_photo, photo};
pub use pin::{ByPin, NewPin, end_my_pin, forget_device, people_on_device, set_pin, sign_in_by_pin};
pub use place_hold::{lift_hold, place_hold, put_hold};
pub use places::{pin_order, unpin_order};
pub use readiness::{Amounts, Readiness, amounts, readiness};
pub use release::{Released, release};
pub use replica::beat;
pub use report_defect::{ReportDefect, Reported, put_report, report_defect, report_threshold};
pub use retention::{KeptKind, kept_kinds, remove_once, set_retention};
pub use retest::{RetestAnswers, Retested, retest};
pub use same_defect::{OnWhich, Round, RoundPage, ToInspect, raise_same, same_defect};
pub use second_step::{
    SecondStep, ask_for_second_step, begin_second_step, begun_second_step, confirm_second_step,
    finish_sign_in, lost_second_step, remove_second_step, remove_second_step_of, renew_recovery_codes,
    second_step, with_second_step,
};
pub use sent_before::{begin_once, give_key_back, keep_answer};
pub use settled::{Settling, settling};
pub use severity::{lower_severity, raise_severity};
pub use sign_in::{
    Credentials, Entered, RefreshGrant, WhoIsIn, actor_of_session, actor_of_token, my_email, refresh,
    sign_in_api, sign_in_api_with, sign_in_page, sign_in_page_on, sign_out_page, sign_out_token, tidy,
    token_key, who_has_token, who_is_in,
};
pub use skilled::SkillAsked;
pub use split_order::{merge_orders, note_on_order, split_order};
pub use stock_put_right::{Adjustment, Counted, adjust_stock, count_stock, place_part, transfer_stock};
pub use submit_check::{
    Answered, AnsweredFinding, AnsweredTrend, AnsweredWatch, SubmitCheck, put_check, submit_check,
};
pub use trail_heads::{
    TrailHeads, all_heads, choose_head_readers, sign_head, sign_head_when_due, trail_heads,
};
pub use turns::{TURN, Turn, give_up_turns};
pub use verify::{Report, verify, verify_against};
pub use watch::{end_watches, until_next_watch_end};
pub use webhooks::{
    NewWebhook, WebhookDelivery, add_webhook, lease_webhook_deliveries, remove_webhook,
    resend_webhook_message, rotate_webhook, switch_webhook, try_webhook, webhook, webhook_delivered,
    webhook_not_delivered, webhooks,
};
pub use working_time::{
    WorkingTime, add_absence, add_holiday, remove_absence, remove_holiday, set_week, shifts_from,
    working_time,
};

use std::collections::HashMap;
use std::sync::{Arc, Mutex};

use chrono::{DateTime, Utc};
use tokio::sync::Semaphore;

use crate::clock::Ambient;
use crate::domain::checklist::Checklist;
use crate::domain::forecast::times::Times;
use crate::domain::ids::{ChecklistId, MachineId, WorkOrderId};
use crate::domain::judge::{decides_by, rule_in_words};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::{Db, StorageError, Tx};
use crate::words::Text;

// The shapes that reads answer with; `http` and `tasks` know them by this room.
pub use crate::storage::{
    AbsenceRow, AgainRow, AlertCount, AskedRow, AuditRow, Breach, ChainRow, CheckRow, ChecklistRow,
    ClassCount, CostRow, DefectRow, DraftRow, EarlierRow, EndedRow, FittedRow, FixedByRow, ForecastRow,
    FoundRow, GroundedRow, HeadReaderRow, HearingRuleRow, HoldRow, LabourRow, LineRow, ListedMachine,
    MachineFilter, MachineRow, MachineStanding, MonitoredRow, MovedRow, MovementRow, OnOrderRow,
    OrderNoteRow, OrderRow, OutboxRow, OutboxState, OutsideRow, OutsideWordRow, PartRow, PersonRow, PhotoRow,
    QueueRow, ReleaseRow, RetestRow, SentBefore, ShortageRow, SightingRow, SupplyRow, TrailHeadRow,
    UsedPartRow, WebhookMessageRow, WebhookRow, YardRow,
};

/// What every use case needs: the database, the clock, and what was set for the business.
#[derive(Clone)]
pub struct Workshop {
    pub db: Db,
    pub ambient: Ambient,
    /// ISO 4217, shown beside every amount.
    pub currency: Arc<str>,
    /// Versions of checklists never change, so they are understood once.
    known_checklists: Arc<Mutex<HashMap<ChecklistId, Rulebook>>>,
    /// Learned from what is done, now and then.
    repair_times: Arc<Mutex<Option<Learned>>>,
    /// Bounds how many passwords are hashed at once: each takes 19 MiB and a core.
    hashing: Arc<Semaphore>,
}

/// How long repairs take, and when that was learned.
type Learned = (DateTime<Utc>, Arc<Times>);

/// One version of a checklist.
#[derive(Clone, Debug)]
pub struct Rulebook {
    pub version: i64,
    /// Since when this version is there.
    pub since: DateTime<Utc>,
    pub checklist: Arc<Checklist>,
}

/// Why a use case did not happen. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum WorkflowError {
    #[error(transparent)]
    Refused(#[from] Refusal),
    #[error(transparent)]
    Storage(#[from] StorageError),
}

/// What a use case answered that may be asked for again under the same id.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Put<T> {
    pub answer: T,
    /// False when it had been recorded before, and nothing was changed now.
    pub first: bool,
}

pub type Result<T, E = WorkflowError> = std::result::Result<T, E>;

impl Workshop {
    pub fn new(db: Db, ambient: Ambient, currency: &str) -> Self {
        Self {
            db,
            ambient,
            currency: currency.into(),
            known_checklists: Arc::default(),
            repair_times: Arc::default(),
            hashing: Arc::new(Semaphore::new(2)),
        }
    }

    /// The same workshop for one of `workers` threads (see [`Db::for_one_of`]).
    pub fn for_one_of(&self, workers: usize) -> Self {
        Self { db: self.db.for_one_of(workers), ..self.clone() }
    }

    async fn checklist(&self, tx: &mut Tx, id: ChecklistId) -> Result<Arc<Checklist>> {
        Ok(self.rulebook(tx, id).await?.checklist)
    }

    /// Name and version of the checklist whose rule decided on a defect; None where a person did.
    async fn rules_of(&self, tx: &mut Tx, defect: &DefectRow) -> Result<Option<Text>> {
        match defect.checklist_id {
            Some(id) => Ok(self.rulebook(tx, id).await?.that_decided(&defect.rule)),
            None => Ok(None),
        }
    }

    /// The rule that decided, as its checklist calls it.
    async fn rule_words(&self, tx: &mut Tx, defect: &DefectRow) -> Result<Text> {
        let book = match defect.checklist_id {
            Some(id) => Some(self.rulebook(tx, id).await?),
            None => None,
        };
        Ok(rule_in_words(book.as_ref().map(|b| &*b.checklist), &defect.rule))
    }

    async fn rulebook(&self, tx: &mut Tx, id: ChecklistId) -> Result<Rulebook> {
        if let Some(known) = lock(&self.known_checklists).get(&id) {
            return Ok(known.clone());
        }
        let row = tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
        let rulebook = Rulebook {
            version: row.version,
            since: row.created_at,
            checklist: Arc::new(from_json(&row.body)?),
        };
        lock(&self.known_checklists).insert(id, rulebook.clone());
        Ok(rulebook)
    }
}

impl Rulebook {
    /// "Daily check, utility vehicle, version 3".
    pub fn named(&self) -> Text {
        said!("checklist-and-version", checklist = self.checklist.title, version = self.version)
    }

    /// The name and version, where it is this checklist that has the rule; None where a person decided.
    pub fn that_decided(&self, rule: &str) -> Option<Text> {
        decides_by(&self.checklist, rule).then(|| self.named())
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// The machine, locked for this change, if the actor may do `act` in its yard. A machine in another yard does not exist
/// for the actor.
async fn machine_for(tx: &mut Tx, actor: &Actor, act: Act, id: MachineId) -> Result<MachineRow> {
    actor.must(act)?;
    let machine = tx.machine_for_change(id).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
    if !actor.in_yard(machine.yard_id) {
        return Err(Refusal::NotFound(Thing::Machine).into());
    }
    Ok(machine)
}

/// The machine, for looking at.
async fn machine_seen(tx: &mut Tx, actor: &Actor, act: Act, id: MachineId) -> Result<MachineRow> {
    actor.must(act)?;
    seen_by(actor, tx.machine(id).await?)
}

/// A machine of another yard is none.
fn seen_by(actor: &Actor, machine: Option<MachineRow>) -> Result<MachineRow> {
    let machine = machine.filter(|m| actor.in_yard(m.yard_id));
    Ok(machine.ok_or(Refusal::NotFound(Thing::Machine))?)
}

/// The work order with its machine locked for this change.
async fn order_for(tx: &mut Tx, actor: &Actor, id: WorkOrderId) -> Result<(OrderRow, MachineRow)> {
    let order = tx.order(id).await?.ok_or(Refusal::NotFound(Thing::WorkOrder))?;
    let machine = machine_for(tx, actor, Act::SeeMachines, order.machine_id).await.map_err(|e| {
        if matches!(e, WorkflowError::Refused(Refusal::NotFound(_))) { not_found_order() } else { e }
    })?;
    // Read again under the lock: it may have moved in between.
    let order = tx.order(id).await?.ok_or(Refusal::NotFound(Thing::WorkOrder))?;
    Ok((order, machine))
}

/// The yard that somebody sets up, or whose stock they work with.
async fn own_yard(tx: &mut Tx, actor: &Actor, id: crate::domain::ids::YardId) -> Result<YardRow> {
    let yard = tx.yard(id).await?.filter(|y| actor.in_yard(y.id));
    Ok(yard.ok_or(Refusal::NotFound(Thing::Yard))?)
}

fn not_found_order() -> WorkflowError {
    Refusal::NotFound(Thing::WorkOrder).into()
}

async fn yard_of(tx: &mut Tx, machine: &MachineRow) -> Result<YardRow> {
    Ok(tx.yard(machine.yard_id).await?.ok_or(Refusal::NotFound(Thing::Yard))?)
}

fn to_json<T: serde::Serialize>(value: &T) -> Result<String> {
    serde_json::to_string(value).map_err(|e| StorageError::Unreadable(e.to_string()).into())
}

fn from_json<T: serde::de::DeserializeOwned>(text: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|e| StorageError::Unreadable(e.to_string()).into())
}

impl WorkflowError {
    /// Somebody else changed the row in the meantime; doing it again may work.
    pub const fn is_changed(&self) -> bool {
        matches!(self, Self::Storage(StorageError::Changed | StorageError::Duplicate(_)))
    }

    /// There is no room left for what was to be kept. Reading goes on.
    pub const fn is_full(&self) -> bool {
        matches!(self, Self::Storage(StorageError::Full(_)))
    }

    /// A character in it that the database cannot keep.
    pub const fn is_no_text(&self) -> bool {
        matches!(self, Self::Storage(StorageError::NoText(_)))
    }

    /// The line broke in the middle: it may have been done.
    pub const fn is_unsure(&self) -> bool {
        matches!(self, Self::Storage(StorageError::Unsure(_)))
    }

    /// The database does not answer; trying again later may work.
    pub const fn is_unavailable(&self) -> bool {
        matches!(self, Self::Storage(StorageError::Unavailable(_)))
    }
}
