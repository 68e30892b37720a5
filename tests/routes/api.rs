//! Every operation of the API: who gets in, and what a body is answered with that is understood and refused, so that
//! asking changes as little as can be.

use serde_json::{Value, json};
use uuid::Uuid;

use super::Route;

/// What the paths and bodies name.
#[derive(Clone, Debug, Default)]
pub struct Names {
    pub yard: Uuid,
    pub machine: Uuid,
    pub check: Uuid,
    pub order: Uuid,
    pub defect: Uuid,
    /// Placed by hand, by the supervisor.
    pub hold: Uuid,
    pub part: Uuid,
    pub checklist: Uuid,
    /// Of the supervisor.
    pub draft: Uuid,
    /// Trusted by the supervisor.
    pub device: Uuid,
    pub released_order: Uuid,
    pub photo: Uuid,
    pub alert: Uuid,
    pub webhook: Uuid,
    pub webhook_message: Uuid,
    /// Of whom nothing else is asked.
    pub person: Uuid,
    /// Of a one-time link of somebody else again.
    pub secret: String,
}

impl Names {
    /// Ids that nothing has.
    pub fn nowhere() -> Self {
        let id = Uuid::from_u128(0x0193_8f1e_0000_7000_8000_0000_0000_0001);
        Self {
            yard: id,
            machine: id,
            check: id,
            order: id,
            defect: id,
            hold: id,
            part: id,
            checklist: id,
            draft: id,
            device: id,
            released_order: id,
            photo: id,
            alert: id,
            webhook: id,
            webhook_message: id,
            person: id,
            secret: "guessed".to_owned(),
        }
    }
}

/// Whether it is about something that belongs to a yard.
pub fn is_of_a_yard(path: &str) -> bool {
    [
        "machines/{",
        "checks/{",
        "holds/{id}/lift",
        "work-orders/{",
        "yards/{",
        "defects/{id}/raise",
        "defects/{id}/lower",
        "photos/{",
    ]
    .iter()
        .any(|p| path.starts_with(&format!("/api/v1/{p}")))
        && path != "/api/v1/checks/{id}"
        // What is no picture is refused before anything is looked up.
        && !path.ends_with("/photos")
        // The owner's alone, whose every yard is.
        && path != "/api/v1/yards/{id}/alerts"
        && path != "/api/v1/yards/{id}/one-person"
}

pub fn table(n: &Names) -> Vec<Route> {
    let get = |path, who| Route { method: "GET", path, who, status: 200, body: None };
    let post = |path, who, status, body| Route { method: "POST", path, who, status, body: Some(body) };
    let put = |path, who| Route { method: "PUT", path, who, status: 422, body: Some(json!({})) };
    let set = |path, who, status, body| Route { method: "PUT", path, who, status, body: Some(body) };
    let token = json!({"refresh_token": "guessed"});
    let proof = json!({"password": ""});
    let no_proof = proof.clone();
    let once = Uuid::from_u128(11);
    let none = json!({"id": once, "quantity": "0"});
    let noon = "2026-11-25T12:00:00Z";
    vec![
        post(
            "/api/v1/sessions",
            "nomsw",
            401,
            json!({"email": "nobody@yard.example", "password": "guessed"}),
        ),
        post("/api/v1/sessions/refresh", "nomsw", 401, token.clone()),
        Route { method: "DELETE", path: "/api/v1/sessions", who: "nomsw", status: 204, body: Some(token) },
        get("/api/v1/import/{kind}", "sw"),
        post("/api/v1/import/{kind}", "sw", 422, Value::from("colour\n")),
        post("/api/v1/export", "w", 422, proof.clone()),
        get("/api/v1/machines", "omsw"),
        get("/api/v1/machines/{id}", "omsw"),
        post("/api/v1/machines/{id}/engine-hours", "omsw", 422, json!({"engine_hours": "0.1"})),
        get("/api/v1/machines/{id}/record", "omsw"),
        get("/api/v1/machines/{id}/archive", "sw"),
        post("/api/v1/machines/{id}/retire", "sw", 422, json!({"reason": ""})),
        get("/api/v1/machines/{id}/checklist", "omsw"),
        post("/api/v1/machines", "sw", 422, json!({"yard": n.yard, "unit_number": "", "class": ""})),
        get("/api/v1/checklists", "omsw"),
        get("/api/v1/checklists/{id}", "omsw"),
        post("/api/v1/checklists", "sw", 422, Value::from("name = 1\n")),
        post("/api/v1/checklists/{id}/retire", "sw", 422, json!({"reason": ""})),
        get("/api/v1/checks/careless", "sw"),
        get("/api/v1/machines/{id}/check-data", "omsw"),
        get("/api/v1/check-data", "omsw"),
        get("/api/v1/checks/{id}", "omsw"),
        put("/api/v1/checks/{id}", "omsw"),
        // Its body is a picture, and JSON is none.
        Route {
            method: "PUT",
            path: "/api/v1/checks/{id}/photos",
            who: "omsw",
            status: 400,
            body: Some(json!({})),
        },
        Route {
            method: "PUT",
            path: "/api/v1/defects/{id}/photos",
            who: "omsw",
            status: 415,
            body: Some(json!({})),
        },
        put("/api/v1/defects/{id}", "omsw"),
        get("/api/v1/defects/{id}", "omsw"),
        post("/api/v1/defects/{id}/raise", "omsw", 422, json!({"reason": ""})),
        post("/api/v1/defects/{id}/lower", "sw", 422, json!({"reason": "", "good_until": noon})),
        get("/api/v1/photos/{id}", "omsw"),
        put("/api/v1/holds/{id}", "omsw"),
        post("/api/v1/holds/{id}/lift", "sw", 422, json!({"reason": ""})),
        get("/api/v1/work-orders", "msw"),
        get("/api/v1/work-orders/away", "msw"),
        post("/api/v1/work-orders", "msw", 200, json!({"machine": n.machine})),
        get("/api/v1/work-orders/{id}", "omsw"),
        post("/api/v1/work-orders/{id}/claim", "m", 200, json!({})),
        post("/api/v1/work-orders/{id}/hand-back", "msw", 200, json!({})),
        post("/api/v1/work-orders/{id}/labour/start", "m", 200, json!({})),
        // One's own clock: also of somebody who is no mechanic any more.
        post("/api/v1/work-orders/{id}/labour/stop", "omsw", 200, json!({})),
        post("/api/v1/work-orders/{id}/labour", "m", 422, json!({"from": noon, "to": noon})),
        post("/api/v1/work-orders/{id}/parts/{part}/reserve", "msw", 422, none.clone()),
        post("/api/v1/work-orders/{id}/parts/{part}/issue", "msw", 422, none.clone()),
        post("/api/v1/work-orders/{id}/parts/{part}/return", "msw", 422, none),
        post("/api/v1/work-orders/{id}/wait", "m", 422, json!({"waiting_for": "parts", "note": ""})),
        post("/api/v1/work-orders/{id}/finish", "m", 422, json!({"defects": {}})),
        post("/api/v1/work-orders/{id}/defects/{defect}/retest", "msw", 409, json!({})),
        post("/api/v1/work-orders/{id}/release", "sw", 409, json!({})),
        post("/api/v1/work-orders/{id}/cancel", "sw", 422, json!({"reason": ""})),
        post("/api/v1/work-orders/{id}/pin", "sw", 200, json!({})),
        post("/api/v1/work-orders/{id}/unpin", "sw", 200, json!({})),
        post("/api/v1/work-orders/{id}/notes", "msw", 422, json!({"id": n.order, "note": ""})),
        post("/api/v1/work-orders/{id}/split", "msw", 404, json!({"defect": n.order})),
        post("/api/v1/work-orders/{id}/merge", "msw", 404, json!({"work_order": n.defect})),
        post("/api/v1/work-orders/{id}/outside", "msw", 422, json!({"vendor": "", "what": ""})),
        post("/api/v1/work-orders/{id}/outside/{outside}/asked", "msw", 404, json!({"note": "x"})),
        post("/api/v1/work-orders/{id}/outside/{outside}/back", "msw", 404, json!({})),
        post(
            "/api/v1/work-orders/{id}/outside/{outside}/invoice",
            "msw",
            404,
            json!({"number": "1", "amount": "1"}),
        ),
        get("/api/v1/forecasts", "msw"),
        // Without a yard.
        Route {
            method: "GET",
            path: "/api/v1/forecasts/one-more-mechanic",
            who: "msw",
            status: 422,
            body: None,
        },
        // Without a number.
        Route { method: "GET", path: "/api/v1/forecasts/earlier", who: "msw", status: 422, body: None },
        Route {
            method: "PUT",
            path: "/api/v1/work-orders/{id}/photos",
            who: "omsw",
            status: 415,
            body: Some(json!({})),
        },
        get("/api/v1/labour", "w"),
        post("/api/v1/labour/rates", "w", 422, json!({"grade": "", "from": "", "rate": "1"})),
        Route { status: 200, ..put("/api/v1/labour/overtime/{id}", "w") },
        Route { status: 200, body: Some(json!({"systems": []})), ..put("/api/v1/labour/skills-needed", "w") },
        // Of somebody who is no mechanic.
        Route {
            status: 404,
            body: Some(json!({"grade": null, "skills": []})),
            ..put("/api/v1/labour/people/{id}", "w")
        },
        Route {
            body: Some(json!({"from": noon, "to": noon, "reason": ""})),
            ..put("/api/v1/labour/{entry}", "msw")
        },
        get("/api/v1/yards/{id}/working-time", "sw"),
        Route {
            status: 200,
            body: Some(json!({"week": ["", "", "", "", "", "", ""]})),
            ..put("/api/v1/yards/{id}/working-time/week", "sw")
        },
        post(
            "/api/v1/yards/{id}/working-time/holidays",
            "sw",
            200,
            json!({"day": "2026-12-25", "name": "Christmas"}),
        ),
        Route {
            method: "DELETE",
            path: "/api/v1/yards/{id}/working-time/holidays/{day}",
            who: "sw",
            status: 200,
            body: None,
        },
        post(
            "/api/v1/yards/{id}/working-time/absences",
            "sw",
            200,
            json!({"person": n.person, "from": noon, "to": "2026-11-27T12:00:00Z"}),
        ),
        Route {
            method: "DELETE",
            path: "/api/v1/yards/{id}/working-time/absences/{absence}",
            who: "sw",
            status: 404,
            body: None,
        },
        get("/api/v1/board", "omsw"),
        get("/api/v1/numbers", "sw"),
        get("/api/v1/numbers/down", "sw"),
        get("/api/v1/numbers/defects", "sw"),
        get("/api/v1/numbers/work-orders", "sw"),
        get("/api/v1/numbers/holds-acknowledged", "sw"),
        get("/api/v1/numbers/unchecked", "sw"),
        get("/api/v1/machines/{id}/figures", "omsw"),
        get("/api/v1/machines/{id}/wear", "omsw"),
        get("/api/v1/parts", "msw"),
        get("/api/v1/parts/{id}", "msw"),
        post("/api/v1/parts", "msw", 422, json!({"number": "", "name": "", "unit": ""})),
        post(
            "/api/v1/parts/{id}/receive",
            "msw",
            super::ANY,
            json!({"id": Uuid::from_u128(12), "quantity": "1", "value": "1"}),
        ),
        post("/api/v1/parts/{id}/adjust", "msw", 422, json!({"id": once, "change": "0", "reason": "found"})),
        post(
            "/api/v1/parts/{id}/transfer",
            "msw",
            422,
            json!({"id": once, "from": n.yard, "to": n.yard, "quantity": "1"}),
        ),
        post("/api/v1/parts/{id}/order", "msw", 422, json!({"id": once, "quantity": "0"})),
        post("/api/v1/stock-takes", "msw", 422, json!({"id": once, "yard": n.yard, "counts": []})),
        get("/api/v1/reorder", "msw"),
        get("/api/v1/reorder/rules", "msw"),
        set("/api/v1/reorder/rules", "sw", 422, json!({"service_level": "1"})),
        get("/api/v1/stock-ledger", "msw"),
        set("/api/v1/parts/{id}/place", "msw", 200, json!({"bin": "A1"})),
        set("/api/v1/parts/{id}/supply", "msw", 422, json!({"price": "much"})),
        // Of something that is not on order.
        set("/api/v1/parts/{id}/on-order/{on_order}", "msw", 404, json!({"expected_at": noon})),
        Route {
            method: "DELETE",
            path: "/api/v1/parts/{id}/on-order/{on_order}",
            who: "msw",
            status: 404,
            body: None,
        },
        get("/api/v1/parts/{id}/fitted", "msw"),
        // Of the class: no other machine has this defect's class but one, which gets it once.
        post("/api/v1/defects/{id}/same", "sw", 200, json!({"id": once})),
        get("/api/v1/yards", "omsw"),
        get("/api/v1/yards/{id}", "omsw"),
        post("/api/v1/yards", "sw", 422, json!({"name": "", "zone": "Europe/Oslo"})),
        set("/api/v1/yards/{id}/need", "sw", 200, json!({"class": "quad", "needed": 1})),
        set("/api/v1/yards/{id}/altitude", "sw", 200, json!({"altitude_m": 240})),
        set("/api/v1/yards/{id}/one-person", "w", 200, json!({"one_person": false})),
        get("/api/v1/people", "w"),
        post("/api/v1/people", "w", 422, json!({"name": "", "email": "", "roles": [], "password": ""})),
        get("/api/v1/people/{id}", "w"),
        set("/api/v1/people/{id}", "w", 422, json!({"name": "", "email": "", "roles": [], "password": ""})),
        post("/api/v1/people/{id}/disable", "w", 422, json!({"disabled": false})),
        post("/api/v1/people/{id}/invite", "w", 422, proof.clone()),
        post("/api/v1/people/{id}/second-step/remove", "w", 422, proof.clone()),
        get("/api/v1/devices", "sw"),
        post("/api/v1/devices/{id}/forget", "sw", 204, json!({})),
        get("/api/v1/retention", "w"),
        set("/api/v1/retention", "w", 200, json!({})),
        get("/api/v1/outbox", "sw"),
        get("/api/v1/outbox/{id}", "sw"),
        // About the supervisor's own hold: somebody else is asked.
        post("/api/v1/outbox/{id}/acknowledge", "sw", 409, json!({})),
        post("/api/v1/outbox/{id}/resend", "sw", super::ANY, json!({})),
        get("/api/v1/me/passkeys", "omsw"),
        // Nobody has this one.
        post("/api/v1/me/passkeys/{id}/remove", "omsw", 404, proof.clone()),
        get("/api/v1/me/calendar", "omsw"),
        post("/api/v1/me/calendar", "omsw", 422, proof.clone()),
        Route { method: "DELETE", path: "/api/v1/me/calendar", who: "omsw", status: 204, body: None },
        get("/api/v1/webhooks", "w"),
        post("/api/v1/webhooks", "w", 422, json!({"url": "", "password": ""})),
        get("/api/v1/webhooks/{id}", "w"),
        get("/api/v1/webhooks/{id}/messages", "w"),
        post("/api/v1/webhooks/{id}/secret", "w", 422, proof),
        post("/api/v1/webhooks/{id}/try", "w", 204, json!({})),
        post("/api/v1/webhooks/{id}/switch", "w", 204, json!({"on": false})),
        post("/api/v1/webhooks/{id}/messages/{message}/resend", "w", super::ANY, json!({})),
        get("/api/v1/me", "omsw"),
        set("/api/v1/me", "omsw", 422, json!({"language": "xx"})),
        get("/api/v1/me/reports", "omsw"),
        get("/api/v1/me/time", "m"),
        get("/api/v1/me/second-step", "omsw"),
        post("/api/v1/me/second-step/begin", "omsw", 422, no_proof.clone()),
        // None was begun.
        post("/api/v1/me/second-step/confirm", "omsw", 409, json!({"code": "123456"})),
        post("/api/v1/me/second-step/codes", "omsw", 422, no_proof.clone()),
        post("/api/v1/me/second-step/remove", "omsw", 422, no_proof),
        get("/api/v1/second-step", "w"),
        set("/api/v1/second-step", "w", 422, json!({"asked_for": true, "password": ""})),
        get("/api/v1/me/sessions", "omsw"),
        post("/api/v1/me/sessions/end", "omsw", 422, json!({"password": ""})),
        Route {
            body: Some(json!({"password": "", "new": "a yard of gravel"})),
            ..put("/api/v1/me/password", "omsw")
        },
        get("/api/v1/me/alerts", "omsw"),
        Route {
            method: "PUT",
            path: "/api/v1/me/alerts",
            who: "omsw",
            status: 204,
            body: Some(json!({"yards": []})),
        },
        get("/api/v1/yards/{id}/alerts", "w"),
        Route {
            method: "PUT",
            path: "/api/v1/yards/{id}/alerts",
            who: "w",
            status: 204,
            body: Some(json!({"rules": [], "chain": []})),
        },
        get("/api/v1/audit", "sw"),
        get("/api/v1/audit/heads", "sw"),
        post("/api/v1/audit/heads", "w", 201, json!({})),
        set("/api/v1/audit/heads/readers", "w", 200, json!({"people": []})),
        // The last, for afterwards it is gone.
        Route { method: "DELETE", path: "/api/v1/webhooks/{id}", who: "w", status: 204, body: None },
    ]
}
