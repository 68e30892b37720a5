//! Who may ask for what, as the document says it. The use cases decide; `tests/routes` asks each operation as everybody and
//! holds this against it.

use serde_json::{Value, json};
use utoipa::openapi::extensions::ExtensionsBuilder;
use utoipa::openapi::path::Operation;

use crate::domain::person::Role;

/// The member of an operation: the roles of which one is enough. Empty where nobody needs to be signed in.
pub const WHO_MAY: &str = "x-who-may";

/// Asked before somebody is signed in, or of whoever has the refresh token.
const NOBODY_SIGNED_IN: &[&str] = &["refresh", "sign_in", "sign_out"];

/// Of whoever does the work themselves.
const MECHANICS: &[&str] =
    &["claim_work_order", "enter_labour", "finish_work", "see_own_time", "start_labour", "wait_for"];

/// Of mechanics, supervisors and owners.
const WORKSHOP: &[&str] = &[
    "add_part",
    "adjust_stock",
    "ask_after_outside",
    "back_from_outside",
    "comes_earlier",
    "drop_on_order",
    "expect_part",
    "hand_back_work_order",
    "invoice_outside",
    "issue_part",
    "leave_note",
    "list_parts",
    "merge_work_orders",
    "one_more_mechanic",
    "open_work_order",
    "order_part",
    "place_part",
    "put_labour_right",
    "read_stock_ledger",
    "receive_part",
    "reserve_part",
    "retest_defect",
    "return_part",
    "see_away",
    "see_fitted",
    "see_forecasts",
    "see_part",
    "see_queue",
    "see_reorder",
    "see_reorder_rules",
    "send_outside",
    "set_supply",
    "split_work_order",
    "take_stock",
    "transfer_stock",
];

/// Of supervisors and owners.
const SUPERVISORS: &[&str] = &[
    "acknowledge_alert",
    "add_absence",
    "add_holiday",
    "add_machine",
    "add_yard",
    "cancel_work_order",
    "forget_device",
    "import_file",
    "lift_hold",
    "list_devices",
    "lower_defect",
    "pin_work_order",
    "raise_same",
    "read_audit",
    "release_machine",
    "remove_absence",
    "remove_holiday",
    "resend_alert",
    "retire_checklist",
    "retire_machine",
    "see_alert",
    "see_archive",
    "see_careless_checks",
    "see_defects_found",
    "see_downs",
    "see_heads",
    "see_holds_acknowledged",
    "see_import_columns",
    "see_numbers",
    "see_orders_ended",
    "see_outbox",
    "see_unchecked",
    "see_working_time",
    "set_reorder_rules",
    "set_week",
    "set_yard_altitude",
    "set_yard_need",
    "unpin_work_order",
    "upload_checklist",
];

/// Of owners.
const OWNERS: &[&str] = &[
    "add_person",
    "add_webhook",
    "change_person",
    "choose_head_readers",
    "disable_person",
    "export_everything",
    "invite_person",
    "list_people",
    "list_webhooks",
    "remove_second_step_of_person",
    "remove_webhook",
    "resend_webhook_message",
    "rotate_webhook",
    "see_labour_settings",
    "see_person",
    "see_retention",
    "see_second_step_rule",
    "see_webhook",
    "see_webhook_messages",
    "see_yard_alerts",
    "set_labour_of",
    "set_one_person_yard",
    "set_overtime",
    "set_rate",
    "set_retention",
    "set_second_step_rule",
    "set_skills_needed",
    "set_yard_alerts",
    "sign_head",
    "switch_webhook",
    "try_webhook",
];

/// The roles of which one is enough; what is named nowhere is for everybody who is signed in.
pub fn roles(operation: &str) -> &'static [Role] {
    use Role::{Mechanic, Owner, Supervisor};
    let is_in = |list: &[&str]| list.contains(&operation);
    match () {
        () if is_in(NOBODY_SIGNED_IN) => &[],
        () if is_in(MECHANICS) => &[Mechanic],
        () if is_in(WORKSHOP) => &[Mechanic, Supervisor, Owner],
        () if is_in(SUPERVISORS) => &[Supervisor, Owner],
        () if is_in(OWNERS) => &[Owner],
        () => Role::ALL,
    }
}

pub fn say(operation: &mut Operation) {
    let name = operation.operation_id.clone().unwrap_or_default();
    let words: Vec<Value> = roles(&name).iter().map(|r| json!(r.as_str())).collect();
    let said = ExtensionsBuilder::new().add(WHO_MAY, words).build();
    operation.extensions.get_or_insert_default().merge(said);
    if roles(&name).is_empty() {
        // Generators of clients understand none at all better than one that asks for nothing.
        operation.security = Some(Vec::new());
    }
}
