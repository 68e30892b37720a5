//! The tables of the yards: who works when, who may what, who hears of what, and what leaves Chock.

use super::ExportTable;

pub const TABLES: &[ExportTable] = &[
    ExportTable {
        name: "needs",
        sql: r#"SELECT y.name AS "yard", n.class AS "class", n.needed AS "needed:number"
             FROM yard_need n JOIN yard y ON y.id = n.yard_id ORDER BY y.name, n.class"#,
    },
    ExportTable {
        name: "shifts",
        sql: r#"SELECT y.name AS "yard", s.weekday AS "weekday:number", s.from_minute AS "from minute:number",
                s.to_minute AS "to minute:number"
             FROM shift s JOIN yard y ON y.id = s.yard_id ORDER BY y.name, s.weekday, s.from_minute"#,
    },
    ExportTable {
        name: "holidays",
        sql: r#"SELECT y.name AS "yard", h.day AS "day", h.name AS "name" FROM holiday h JOIN yard y ON y.id = h.yard_id
             ORDER BY y.name, h.day"#,
    },
    ExportTable {
        name: "absences",
        sql: r#"SELECT a.id AS "id:id", p.name AS "person", a.from_at AS "from:at", a.to_at AS "to:at", a.note AS "note",
                b.name AS "entered by", a.created_at AS "entered at:at"
             FROM absence a JOIN person p ON p.id = a.person_id JOIN person b ON b.id = a.by_id ORDER BY a.from_at, a.id"#,
    },
    ExportTable {
        name: "skills",
        sql: r#"SELECT s.system AS "system", COALESCE(p.name, '') AS "person", n.system IS NOT NULL AS "needed:yes"
             FROM (SELECT system FROM person_skill UNION SELECT system FROM skill_needed) s
             LEFT JOIN person_skill t ON t.system = s.system LEFT JOIN person p ON p.id = t.person_id
             LEFT JOIN skill_needed n ON n.system = s.system ORDER BY s.system, p.name"#,
    },
    ExportTable {
        name: "labour-rates",
        sql: r#"SELECT grade AS "grade", from_day AS "from", rate_minor AS "hourly rate:money" FROM labour_rate
             ORDER BY grade, from_day"#,
    },
    ExportTable {
        name: "overtime",
        sql: r#"SELECT y.name AS "yard", o.per AS "per", o.after_minutes AS "after minutes:number", o.percent AS "percent:number"
             FROM overtime o JOIN yard y ON y.id = o.yard_id ORDER BY y.name, o.per, o.after_minutes"#,
    },
    ExportTable {
        name: "checklists",
        sql: r#"SELECT l.id AS "id:id", l.name AS "name", l.version AS "version:number", l.title AS "title",
                (SELECT string_agg(c.class, ' | ' ORDER BY c.class) FROM checklist_class c WHERE c.checklist_id = l.id) AS "classes",
                l.created_at AS "since:at", b.name AS "by", l.retired_at AS "retired at:at", l.source AS "file"
             FROM checklist l LEFT JOIN person b ON b.id = l.created_by ORDER BY l.name, l.version"#,
    },
    ExportTable {
        name: "photos",
        sql: r#"SELECT f.id AS "id:id", m.unit_number AS "unit number", f.check_id AS "check:id", f.defect_id AS "defect:id",
                w.number AS "work order:number", f.item AS "item", f.position AS "position", f.sha256 AS "sha256",
                f.bytes AS "bytes:number", p.name AS "by", f.at AS "at:at"
             FROM photo f JOIN machine m ON m.id = f.machine_id JOIN person p ON p.id = f.by_id
             LEFT JOIN work_order w ON w.id = f.work_order_id ORDER BY f.at, f.id"#,
    },
    ExportTable {
        name: "checked-days",
        sql: r#"SELECT y.name AS "yard", c.class AS "class", c.day AS "day", c.checked AS "checked:number",
                c.unchecked AS "ran unchecked:number"
             FROM checked_day c JOIN yard y ON y.id = c.yard_id ORDER BY c.day, y.name, c.class"#,
    },
    ExportTable {
        name: "acknowledgements",
        sql: r#"SELECT m.unit_number AS "unit number", y.name AS "yard", a.asked_at AS "asked at:at",
                a.step AS "passed on to:number", a.acknowledged_at AS "acknowledged at:at", p.name AS "by"
             FROM acknowledgement a JOIN machine m ON m.id = a.machine_id JOIN yard y ON y.id = a.yard_id
             LEFT JOIN person p ON p.id = a.acknowledged_by ORDER BY a.asked_at, a.event_key"#,
    },
    ExportTable {
        name: "who-hears",
        sql: r#"SELECT y.name AS "yard", h.kind AS "alert", h.role AS "role", h.wanted AS "wanted"
             FROM hearing_rule h JOIN yard y ON y.id = h.yard_id ORDER BY y.name, h.kind, h.role"#,
    },
    ExportTable {
        name: "own-choices",
        sql: r#"SELECT p.name AS "person", y.name AS "yard", o.kind AS "alert", o.heard AS "heard:yes", '' AS "class"
             FROM own_hearing o JOIN person p ON p.id = o.person_id JOIN yard y ON y.id = o.yard_id
             UNION ALL
             SELECT p.name, y.name, '', TRUE, o.class FROM own_class o JOIN person p ON p.id = o.person_id
             JOIN yard y ON y.id = o.yard_id ORDER BY 1, 2, 3, 5"#,
    },
    ExportTable {
        name: "quiet-hours",
        sql: r#"SELECT p.name AS "person", q.from_minute AS "from minute:number", q.to_minute AS "to minute:number"
             FROM quiet_hours q JOIN person p ON p.id = q.person_id ORDER BY p.name, p.id"#,
    },
    ExportTable {
        name: "next-in-line",
        sql: r#"SELECT y.name AS "yard", e.step AS "place:number", p.name AS "person", e.wait_minutes AS "after minutes:number"
             FROM escalation e JOIN yard y ON y.id = e.yard_id JOIN person p ON p.id = e.person_id ORDER BY y.name, e.step"#,
    },
    ExportTable {
        name: "calendar-links",
        sql: r#"SELECT p.name AS "person", l.created_at AS "since:at" FROM calendar_link l JOIN person p ON p.id = l.person_id
             ORDER BY p.name, p.id"#,
    },
    ExportTable {
        name: "webhooks",
        sql: r#"SELECT w.id AS "id:id", y.name AS "yard", w.url AS "address", w.about AS "about", w.kinds AS "kinds",
                w.failing_since AS "failing since:at", w.disabled_at AS "switched off at:at", w.disabled_why AS "why",
                w.removed_at AS "removed at:at", p.name AS "by", w.created_at AS "since:at"
             FROM webhook w LEFT JOIN yard y ON y.id = w.yard_id JOIN person p ON p.id = w.created_by
             ORDER BY w.created_at, w.id"#,
    },
    ExportTable {
        name: "webhook-messages",
        sql: r#"SELECT m.id AS "id:id", m.webhook_id AS "webhook:id", m.kind AS "kind", m.body AS "body", m.state AS "state",
                m.attempts AS "attempts:number", m.last_answer AS "last answer", m.created_at AS "created at:at",
                m.delivered_at AS "delivered at:at"
             FROM webhook_message m ORDER BY m.created_at, m.id"#,
    },
    ExportTable {
        name: "signed-heads",
        sql: r#"SELECT h.number AS "number:number", h.at AS "signed at:at", h.chains AS "chains:number", h.entries AS "entries:number",
                h.digest AS "digest", h.prev_hash AS "hash before", h.hash AS "hash", h.signature AS "signature",
                h.public_key AS "public key"
             FROM trail_head h ORDER BY h.number"#,
    },
    ExportTable {
        name: "signed-head-ends",
        sql: r#"SELECT e.number AS "head:number", e.stream AS "chain", e.seq AS "entry:number", e.hash AS "hash"
             FROM trail_head_end e ORDER BY e.number, e.stream"#,
    },
    ExportTable {
        name: "signed-head-readers",
        sql: r#"SELECT p.name AS "person" FROM trail_head_reader t JOIN person p ON p.id = t.person_id ORDER BY p.name, p.id"#,
    },
];

/// Tables of which nothing is taken out, and why.
#[cfg(test)]
pub const NOT_TAKEN_OUT: &[(&str, &str)] = &[
    ("setting", "holds the keys that sign tokens and heads"),
    ("counter", "the next number of a work order"),
    ("invitation", "a link that lets somebody in"),
    ("device", "a tablet's secret, hashed"),
    ("device_pin", "PINs, hashed"),
    ("second_step", "what codes are reckoned from"),
    ("recovery_code", "codes that let somebody in, hashed"),
    ("begun_sign_in", "who is about to sign in"),
    ("passkey", "what somebody signs in with"),
    ("passkey_begun", "a challenge that waits for its answer"),
    ("page_session", "who is signed in"),
    ("refresh_token", "who is signed in"),
    ("wrong_try", "who guessed at a password"),
    ("signed_in_from", "from where people sign in"),
    ("checklist_draft", "not yet anything"),
    ("check_answer", "what was answered to a phone; all of it stands in the other tables"),
    ("audit_head", "the end of each chain, which the audit trail has"),
    ("forecast_now", "the newest of the forecasts"),
    ("sent_before", "what programs sent under a key, kept for a day"),
    ("removing", "a removal under way"),
    ("task_turn", "which server does what"),
    ("meter_moved", "a use while held, which the audit trail has"),
];
