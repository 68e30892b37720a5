//! Every page and form of the site: who gets in, and what a form sent empty is answered with.

use serde_json::{Value, json};
use uuid::Uuid;

use super::api::Names;
use super::{ANY, Route};

pub fn table(n: &Names) -> Vec<Route> {
    ROUTES
        .iter()
        .map(|&(method, path, who, status)| Route { method, path, who, status, body: form(method, path, n) })
        .collect()
}

/// A form is sent empty, but for what the page itself puts into it and what is needed to ask about a yard at all. An
/// object is sent as the form with photos is.
fn form(method: &str, path: &str, n: &Names) -> Option<Value> {
    let form = match (method, path) {
        ("POST", "/machines/{id}/check") => {
            json!(format!("check={}&checklist={}", Uuid::from_u128(8), n.checklist))
        }
        ("POST", "/machines/{id}/report") => json!({"id": Uuid::from_u128(9)}),
        ("POST", "/set-up/yards/{id}/need") => json!("class=quad&needed=1"),
        ("POST", "/set-up/yards/{id}/altitude") => json!("altitude_m=240"),
        ("POST", _) => json!(""),
        _ => return None,
    };
    Some(form)
}

/// Whether it is about something that belongs to a yard.
pub fn is_of_a_yard(path: &str) -> bool {
    let prefixes = [
        "/machines/{",
        "/u/{",
        "/checks/{",
        "/photos/{",
        "/work-orders/{",
        "/holds/{",
        "/outbox/{",
        "/defects/{",
    ];
    prefixes.iter().any(|p| path.starts_with(p))
        || path.starts_with("/set-up/machines/{")
        || path.starts_with("/set-up/devices/{")
        || path == "/set-up/yards/{id}/need"
        || path == "/set-up/yards/{id}/altitude"
        || path.starts_with("/set-up/yards/{id}/working-time")
}

const ROUTES: &[(&str, &str, &str, u16)] = &[
    ("GET", "/livez", "nomsw", 200),
    ("GET", "/readyz", "nomsw", 200),
    ("GET", "/metrics", "nomsw", 404),
    ("GET", "/assets/{build}/{name}", "nomsw", 200),
    ("GET", "/", "omsw", 303),
    ("GET", "/sign-in", "nomsw", 200),
    ("POST", "/sign-in", "nomsw", 403),
    ("POST", "/sign-out", "nomsw", 303),
    ("POST", "/language", "nomsw", 303),
    ("GET", "/me", "omsw", 200),
    ("POST", "/me", "omsw", 422),
    ("GET", "/welcome/{secret}", "nomsw", 200),
    ("POST", "/welcome/{secret}", "nomsw", 422),
    ("GET", "/machines", "omsw", 200),
    ("GET", "/machines.csv", "omsw", 200),
    ("GET", "/machines/labels", "omsw", 200),
    ("GET", "/phone", "omsw", 200),
    ("GET", "/sw.js", "nomsw", 200),
    ("GET", "/pin", "omsw", 200),
    ("POST", "/pin", "omsw", 422),
    ("POST", "/pin/remove", "omsw", 303),
    ("POST", "/pin/forget", "omsw", 303),
    // Whoever holds the tablet; it lets nobody in without a PIN that was set on it.
    ("GET", "/change-person", "nomsw", 200),
    ("POST", "/change-person", "nomsw", 403),
    ("GET", "/machines/{id}", "omsw", 200),
    ("GET", "/u/{unit}", "omsw", 303),
    ("GET", "/machines/{id}/check", "omsw", 200),
    ("POST", "/machines/{id}/check", "omsw", 422),
    ("GET", "/checks/careless", "sw", 200),
    ("GET", "/checks/{id}", "omsw", 200),
    ("GET", "/machines/{id}/record", "omsw", 200),
    ("GET", "/machines/{id}/archive", "sw", 200),
    ("GET", "/machines/{id}/report", "omsw", 200),
    ("POST", "/machines/{id}/report", "omsw", 422),
    ("POST", "/machines/{id}/engine-hours", "omsw", 422),
    ("GET", "/my-reports", "omsw", 200),
    ("GET", "/machines/{id}/hold", "omsw", 200),
    ("POST", "/machines/{id}/hold", "omsw", 422),
    // Of a hold that the supervisor placed: others lift it only with the right to.
    ("POST", "/holds/{id}/lift", "sw", 422),
    ("GET", "/defects/{id}", "omsw", 200),
    ("POST", "/defects/{id}/raise", "omsw", 422),
    ("POST", "/defects/{id}/lower", "sw", 422),
    ("GET", "/machines/{id}/tag", "omsw", 200),
    ("GET", "/photos/{id}", "omsw", 200),
    ("GET", "/queue", "msw", 200),
    ("GET", "/work-orders/{id}", "omsw", 200),
    ("POST", "/work-orders/{id}/claim", "m", 303),
    ("POST", "/work-orders/{id}/hand-back", "msw", 303),
    ("POST", "/work-orders/{id}/start", "m", 303),
    // One's own clock: also of somebody who is no mechanic any more.
    ("POST", "/work-orders/{id}/stop", "omsw", 303),
    ("POST", "/work-orders/{id}/labour", "m", 422),
    ("POST", "/work-orders/{id}/parts", "msw", 422),
    ("POST", "/work-orders/{id}/wait", "m", 422),
    ("POST", "/work-orders/{id}/finish", "m", 422),
    ("POST", "/work-orders/{id}/defects/{defect}/retest", "msw", 409),
    ("POST", "/work-orders/{id}/release", "sw", 422),
    ("POST", "/work-orders/{id}/cancel", "sw", 422),
    ("POST", "/work-orders/{id}/pin", "sw", 303),
    ("POST", "/work-orders/{id}/unpin", "sw", 303),
    ("POST", "/work-orders/{id}/notes", "msw", 422),
    ("POST", "/work-orders/{id}/photos", "msw", 422),
    ("POST", "/work-orders/{id}/split", "msw", 422),
    ("POST", "/work-orders/{id}/merge", "msw", 422),
    ("GET", "/work-orders/{id}/outside", "msw", 200),
    ("POST", "/work-orders/{id}/outside", "msw", 422),
    ("POST", "/work-orders/{id}/outside/{outside}/asked", "msw", 404),
    ("POST", "/work-orders/{id}/outside/{outside}/back", "msw", 404),
    ("POST", "/work-orders/{id}/outside/{outside}/invoice", "msw", 404),
    ("GET", "/forecasts", "msw", 200),
    ("POST", "/machines/{id}/work-order", "msw", 303),
    ("GET", "/work-orders/{id}/sheet", "omsw", 200),
    ("GET", "/work-orders/{id}/note", "omsw", 200),
    ("GET", "/board", "omsw", 200),
    ("GET", "/board.csv", "omsw", 200),
    ("GET", "/numbers", "sw", 200),
    ("GET", "/numbers/rows", "sw", 200),
    ("GET", "/numbers/rows.csv", "sw", 200),
    ("GET", "/live", "omsw", 200),
    ("GET", "/store", "msw", 200),
    ("GET", "/store/new", "msw", 200),
    ("POST", "/store/new", "msw", 422),
    ("GET", "/store/{id}", "msw", 200),
    ("POST", "/store/{id}/receive", "msw", 422),
    ("POST", "/store/{id}/ordered", "msw", 422),
    ("POST", "/store/{id}/on-order", "msw", 422),
    ("POST", "/store/{id}/adjust", "msw", 422),
    ("POST", "/store/{id}/transfer", "msw", 422),
    ("POST", "/store/{id}/place", "msw", 303),
    ("POST", "/store/{id}/supply", "msw", 422),
    ("GET", "/store/count", "msw", 200),
    ("POST", "/store/count", "msw", 422),
    ("GET", "/store/reorder", "msw", 200),
    ("GET", "/store/reorder.csv", "msw", 200),
    ("POST", "/store/reorder/rules", "sw", 422),
    ("GET", "/store/ledger.csv", "msw", 200),
    ("GET", "/parts/{id}/fitted", "msw", 200),
    ("GET", "/defects/{id}/same", "sw", 200),
    ("POST", "/defects/{id}/same", "sw", 422),
    ("GET", "/outbox", "sw", 200),
    ("GET", "/outbox/{id}", "sw", 200),
    // 409 while it is on its way already.
    // About the supervisor's own hold: somebody else is asked.
    ("POST", "/outbox/{id}/acknowledge", "sw", 409),
    // By a link that was guessed.
    ("GET", "/told/{id}/{mark}", "nomsw", 404),
    ("POST", "/told/{id}/{mark}", "nomsw", 404),
    ("GET", "/me/calendar", "omsw", 200),
    ("POST", "/me/calendar", "omsw", 200),
    ("POST", "/me/calendar/end", "omsw", 303),
    ("GET", "/calendar/{secret}.ics", "nomsw", 404),
    ("GET", "/set-up/webhooks", "w", 200),
    ("POST", "/set-up/webhooks", "w", 422),
    ("GET", "/set-up/webhooks/{id}", "w", 200),
    ("POST", "/set-up/webhooks/{id}/try", "w", 303),
    ("POST", "/set-up/webhooks/{id}/secret", "w", 200),
    ("POST", "/set-up/webhooks/{id}/switch", "w", 303),
    ("POST", "/set-up/webhooks/{id}/messages/{message}/resend", "w", ANY),
    ("GET", "/me/alerts", "omsw", 200),
    ("POST", "/me/alerts", "omsw", 303),
    ("GET", "/set-up/yards/{id}/alerts", "w", 200),
    ("POST", "/set-up/yards/{id}/alerts/rules", "w", 303),
    ("POST", "/set-up/yards/{id}/alerts/chain", "w", 303),
    ("POST", "/set-up/yards/{id}/alerts/digest", "w", 303),
    ("POST", "/outbox/{id}/resend", "sw", ANY),
    ("GET", "/audit", "sw", 200),
    ("GET", "/audit.csv", "sw", 200),
    ("GET", "/set-up", "sw", 200),
    ("GET", "/set-up/yards", "sw", 200),
    ("POST", "/set-up/yards", "sw", 422),
    ("POST", "/set-up/yards/{id}/need", "sw", 303),
    ("POST", "/set-up/yards/{id}/altitude", "sw", 303),
    ("GET", "/set-up/yards/{id}/working-time", "sw", 200),
    ("POST", "/set-up/yards/{id}/working-time/week", "sw", 303),
    ("POST", "/set-up/yards/{id}/working-time/holidays", "sw", 422),
    ("POST", "/set-up/yards/{id}/working-time/holidays/remove", "sw", 422),
    ("POST", "/set-up/yards/{id}/working-time/absences", "sw", 422),
    ("POST", "/set-up/yards/{id}/working-time/absences/{absence}/remove", "sw", 404),
    ("GET", "/set-up/labour", "w", 200),
    ("POST", "/set-up/labour/rates", "w", 422),
    ("POST", "/set-up/labour/grades", "w", 303),
    ("POST", "/set-up/labour/overtime/{id}", "w", 404),
    ("POST", "/set-up/labour/skills", "w", 303),
    ("GET", "/my-time", "m", 200),
    ("POST", "/my-time/{entry}", "m", 404),
    ("POST", "/set-up/yards/{id}/one-person", "w", 303),
    ("GET", "/set-up/machines", "sw", 200),
    ("POST", "/set-up/machines", "sw", 422),
    ("GET", "/set-up/machines/{id}/retire", "sw", 200),
    ("POST", "/set-up/machines/{id}/retire", "sw", 422),
    ("GET", "/set-up/devices", "sw", 200),
    ("POST", "/set-up/devices/{id}/forget", "sw", 303),
    ("GET", "/set-up/import", "sw", 200),
    ("GET", "/set-up/import/{kind}", "sw", 200),
    ("POST", "/set-up/import/{kind}", "sw", 422),
    ("GET", "/set-up/import/{kind}/empty.csv", "sw", 200),
    ("GET", "/set-up/records", "w", 200),
    ("POST", "/set-up/records", "w", 303),
    ("POST", "/set-up/records/export", "w", 200),
    ("GET", "/set-up/people", "w", 200),
    ("POST", "/set-up/people", "w", 422),
    ("GET", "/set-up/people/{id}", "w", 200),
    ("POST", "/set-up/people/{id}", "w", 422),
    ("POST", "/set-up/people/{id}/disable", "w", 303),
    ("POST", "/set-up/people/{id}/invite", "w", 200),
    // What one is asked at a check is no secret.
    ("GET", "/set-up/checklists", "omsw", 200),
    ("POST", "/set-up/checklists", "sw", 422),
    ("GET", "/set-up/checklists/{id}", "omsw", 200),
    ("GET", "/set-up/checklists/{id}/file", "omsw", 200),
    ("GET", "/set-up/checklists/{id}/compare", "omsw", 200),
    ("POST", "/set-up/checklists/{id}/edit", "sw", 303),
    ("GET", "/set-up/checklists/{id}/copy", "sw", 200),
    ("POST", "/set-up/checklists/{id}/copy", "sw", 422),
    ("GET", "/set-up/checklists/{id}/retire", "sw", 200),
    ("POST", "/set-up/checklists/{id}/retire", "sw", 422),
    ("GET", "/set-up/checklists/{id}/try", "sw", 200),
    ("POST", "/set-up/checklists/{id}/try", "sw", 200),
    ("GET", "/set-up/new-checklist", "sw", 200),
    ("POST", "/set-up/new-checklist", "sw", 422),
    // The supervisor's own draft: the owner begins another. A form without the draft's version is never taken.
    ("GET", "/set-up/drafts/{id}", "s", 200),
    ("POST", "/set-up/drafts/{id}", "s", 409),
    ("POST", "/set-up/drafts/{id}/save", "s", 409),
    ("POST", "/set-up/drafts/{id}/discard", "s", 409),
    ("POST", "/set-up/drafts/{id}/move", "s", 409),
    ("POST", "/set-up/drafts/{id}/remove", "s", 409),
    ("GET", "/set-up/drafts/{id}/{kind}/{part}", "s", 200),
    ("POST", "/set-up/drafts/{id}/{kind}/{part}", "s", 409),
    ("GET", "/set-up/drafts/{id}/try", "s", 200),
    ("POST", "/set-up/drafts/{id}/try", "s", 200),
    // Near the last, for afterwards it is gone.
    ("POST", "/set-up/webhooks/{id}/remove", "w", 303),
];
