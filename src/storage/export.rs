//! Everything that is kept, as tables for a file. A column is named in its statement, with its kind behind a colon; without
//! one it is text. Passwords, PINs, links, sessions and tokens are in none of them.

mod workshop;
mod yards;

use chrono::{DateTime, SecondsFormat, Utc};
use sqlx::postgres::PgRow;
use sqlx::sqlite::SqliteRow;
use sqlx::{Column, FromRow, Row};
use uuid::Uuid;

use super::{AuditRow, Result, Tx};
use crate::domain::import::cell::harmless;
use crate::domain::money;
use crate::domain::store::Quantity;
use crate::domain::unit::Hours;
use crate::words::{Lang, Text};

/// One table of the export.
pub struct ExportTable {
    /// Of the file, without its end.
    pub name: &'static str,
    sql: &'static str,
}

/// A row as it is written: what a spreadsheet would run is text, figures of ours are figures.
pub struct Cells(pub Vec<String>);

/// In the order in which they are written; the first four have the columns that are taken in again.
pub fn tables() -> impl Iterator<Item = &'static ExportTable> {
    TABLES.iter().chain(workshop::TABLES).chain(yards::TABLES)
}

const TABLES: &[ExportTable] = &[
    ExportTable {
        name: "machines",
        sql: r#"SELECT m.unit_number AS "unit number", y.name AS "yard", m.class AS "class", m.description AS "description",
                m.serial AS "serial", m.engine_hours AS "engine hours:hours",
                CASE WHEN m.retired_at IS NOT NULL THEN 'retired'
                     WHEN EXISTS (SELECT 1 FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL) THEN 'out of service'
                     WHEN EXISTS (SELECT 1 FROM defect d WHERE d.machine_id = m.id AND d.closed_at IS NULL) THEN 'monitored'
                     ELSE 'fit for use' END AS "standing",
                m.retired_at AS "retired:at"
             FROM machine m JOIN yard y ON y.id = m.yard_id ORDER BY m.unit_key"#,
    },
    ExportTable {
        name: "people",
        sql: r#"SELECT p.name AS "name", p.email AS "mail address",
                (SELECT string_agg(r.role, ' | ' ORDER BY r.role) FROM person_role r WHERE r.person_id = p.id) AS "roles",
                (SELECT string_agg(y.name, ' | ' ORDER BY y.name) FROM person_yard t JOIN yard y ON y.id = t.yard_id
                   WHERE t.person_id = p.id) AS "yards",
                p.rate_minor AS "hourly rate:money", p.disabled_at IS NOT NULL AS "disabled:yes"
             FROM person p ORDER BY p.name, p.id"#,
    },
    ExportTable {
        name: "parts",
        sql: r#"SELECT p.number AS "part number", p.name AS "name", p.unit AS "unit", y.name AS "yard", k.bin AS "bin",
                k.on_hand AS "on hand:quantity", k.worth_minor AS "worth:money"
             FROM stock k JOIN part p ON p.id = k.part_id JOIN yard y ON y.id = k.yard_id ORDER BY p.number, y.name"#,
    },
    ExportTable {
        name: "readings",
        sql: r#"SELECT m.unit_number AS "unit number", r.engine_hours AS "engine hours:hours", r.at AS "read at:at",
                COALESCE(r.engine_hours < LAG(r.engine_hours) OVER (PARTITION BY r.machine_id ORDER BY r.at, r.engine_hours),
                    FALSE) AS "confirmed:yes"
             FROM (SELECT machine_id, read_at AS at, engine_hours FROM meter_reading
                   UNION SELECT machine_id, recorded_at AS at, engine_hours FROM pre_use_check
                   WHERE engine_hours IS NOT NULL) r
             JOIN machine m ON m.id = r.machine_id ORDER BY m.unit_key, r.at, r.engine_hours"#,
    },
    ExportTable {
        name: "yards",
        sql: r#"SELECT id AS "id:id", name AS "name", zone AS "time zone", one_person AS "one person:yes",
                altitude_m AS "metres above sea level:number", created_at AS "since:at" FROM yard ORDER BY name"#,
    },
    ExportTable {
        name: "checks",
        sql: r#"SELECT c.id AS "id:id", m.unit_number AS "unit number", p.name AS "operator", l.name AS "checklist",
                l.version AS "version:number", c.load AS "load", c.engine_hours AS "engine hours:hours",
                c.verdict AS "verdict", c.note AS "note", c.begun_at AS "begun at:at", c.recorded_at AS "recorded at:at",
                c.received_at AS "received at:at", c.answers AS "answers"
             FROM pre_use_check c JOIN machine m ON m.id = c.machine_id JOIN person p ON p.id = c.operator_id
             JOIN checklist l ON l.id = c.checklist_id ORDER BY c.recorded_at, c.id"#,
    },
    ExportTable {
        name: "answers",
        sql: r#"SELECT r.check_id AS "check:id", r.seq AS "place:number", m.unit_number AS "unit number", r.item AS "item",
                r.position AS "position", r.outcome AS "outcome", r.level AS "level", r.value_read AS "value as read",
                r.unit AS "unit", r.value_base AS "value in base unit:float", r.corrected_what AS "corrected",
                r.corrected_base AS "corrected amount in base unit:float", r.engine_hours AS "engine hours:hours",
                r.recorded_at AS "recorded at:at"
             FROM reading r JOIN machine m ON m.id = r.machine_id ORDER BY r.recorded_at, r.check_id, r.seq"#,
    },
    ExportTable {
        name: "defects",
        sql: r#"SELECT d.id AS "id:id", m.unit_number AS "unit number", d.what AS "what:said", d.system AS "system",
                d.item AS "item", d.position AS "position", d.severity AS "severity", d.state AS "state", d.rule AS "rule",
                d.why AS "why:said", d.good_until_at AS "good until:at", d.good_until_hours AS "good until hours:hours",
                p.name AS "reported by", d.check_id AS "check:id", w.number AS "work order:number",
                d.prior_defect_id AS "same as before:id", d.cause AS "cause", d.remedy AS "remedy", b.name AS "repaired by",
                d.no_fault_found AS "no fault found:yes", d.part_replaced AS "part replaced:yes",
                d.found_at AS "found at:at", d.raised_at AS "raised at:at", d.closed_at AS "closed at:at"
             FROM defect d JOIN machine m ON m.id = d.machine_id JOIN person p ON p.id = d.reported_by
             LEFT JOIN person b ON b.id = d.repaired_by LEFT JOIN work_order w ON w.id = d.work_order_id
             ORDER BY d.raised_at, d.id"#,
    },
    ExportTable {
        name: "sightings",
        sql: r#"SELECT s.defect_id AS "defect:id", s.seq AS "place:number", s.check_id AS "check:id", p.name AS "by",
                s.at AS "at:at", s.what AS "what:said", s.said AS "said"
             FROM sighting s JOIN person p ON p.id = s.by_id ORDER BY s.at, s.defect_id, s.seq"#,
    },
    ExportTable {
        name: "holds",
        sql: r#"SELECT h.id AS "id:id", m.unit_number AS "unit number", h.defect_id AS "defect:id", h.reason AS "reason:said",
                p.name AS "placed by", h.since AS "since:at", h.placed_at AS "placed at:at",
                h.hours_at AS "engine hours:hours", h.lifted_at AS "lifted at:at", l.name AS "lifted by",
                h.lift_reason AS "why lifted:said", h.release_id AS "release:id"
             FROM hold h JOIN machine m ON m.id = h.machine_id JOIN person p ON p.id = h.placed_by
             LEFT JOIN person l ON l.id = h.lifted_by ORDER BY h.placed_at, h.id"#,
    },
    ExportTable {
        name: "work-orders",
        sql: r#"SELECT w.number AS "number:number", m.unit_number AS "unit number", y.name AS "yard", w.state AS "state",
                p.name AS "mechanic", w.waiting_for AS "waiting for", w.waiting_until AS "waiting until:at",
                w.cancel_reason AS "why cancelled", w.cost_minor AS "cost:money", w.opened_at AS "opened at:at",
                w.done_at AS "work done at:at", w.closed_at AS "closed at:at"
             FROM work_order w JOIN machine m ON m.id = w.machine_id JOIN yard y ON y.id = w.yard_id
             LEFT JOIN person p ON p.id = w.mechanic_id ORDER BY w.number"#,
    },
    ExportTable {
        name: "labour",
        sql: r#"SELECT l.id AS "id:id", w.number AS "work order:number", p.name AS "mechanic", l.started_at AS "started at:at",
                l.ended_at AS "ended at:at", l.cost_minor AS "cost:money", l.overtime_seconds AS "overtime seconds:number"
             FROM labour l JOIN work_order w ON w.id = l.work_order_id JOIN person p ON p.id = l.mechanic_id
             ORDER BY l.started_at, l.id"#,
    },
    ExportTable {
        name: "stock-movements",
        sql: r#"SELECT s.id AS "id:id", p.number AS "part number", y.name AS "yard", s.kind AS "kind",
                s.quantity AS "quantity:quantity", s.value_minor AS "value:money", w.number AS "work order:number",
                o.name AS "other yard", s.reason AS "reason", b.name AS "by", s.at AS "at:at", s.note AS "note:said"
             FROM stock_movement s JOIN part p ON p.id = s.part_id JOIN yard y ON y.id = s.yard_id
             JOIN person b ON b.id = s.by_id LEFT JOIN yard o ON o.id = s.other_yard_id
             LEFT JOIN work_order w ON w.id = s.work_order_id ORDER BY s.at, s.id"#,
    },
    ExportTable {
        name: "retests",
        sql: r#"SELECT t.id AS "id:id", t.defect_id AS "defect:id", w.number AS "work order:number", p.name AS "by",
                t.at AS "at:at", t.load AS "load", t.passed AS "passed:yes", t.why AS "why:said", t.answers AS "answers"
             FROM retest t JOIN work_order w ON w.id = t.work_order_id JOIN person p ON p.id = t.by_id
             ORDER BY t.at, t.id"#,
    },
    ExportTable {
        name: "releases",
        sql: r#"SELECT r.id AS "id:id", m.unit_number AS "unit number", w.number AS "work order:number", p.name AS "by",
                r.at AS "at:at", r.note AS "note", r.released_by_repairer AS "released by the repairer:yes"
             FROM release r JOIN machine m ON m.id = r.machine_id JOIN work_order w ON w.id = r.work_order_id
             JOIN person p ON p.id = r.by_id ORDER BY r.at, r.id"#,
    },
    ExportTable {
        name: "outbox",
        sql: r#"SELECT o.id AS "id:id", o.kind AS "kind", COALESCE(m.unit_number, '') AS "unit number", p.name AS "to", p.email AS "mail address",
                o.state AS "state", o.attempts AS "attempts:number", o.last_answer AS "last answer",
                o.created_at AS "created at:at", o.delivered_at AS "delivered at:at"
             FROM outbox o LEFT JOIN machine m ON m.id = o.machine_id JOIN person p ON p.id = o.person_id
             ORDER BY o.created_at, o.id"#,
    },
];

/// Of the audit trail: what was hashed stands beside its hash.
pub const AUDIT_COLUMNS: [&str; 13] = [
    "stream",
    "place",
    "at",
    "by id",
    "by",
    "act",
    "subject",
    "before",
    "after",
    "why",
    "previous hash",
    "hash",
    "hashed",
];

impl ExportTable {
    /// The names of its columns, in their order.
    pub fn columns(&self) -> Vec<&'static str> {
        let named = self.sql.split("AS \"").skip(1);
        named
            .filter_map(|rest| rest.split('"').next())
            .map(|alias| alias.split_once(':').map_or(alias, |(name, _)| name))
            .collect()
    }
}

macro_rules! cells_of {
    ($row:ty) => {
        impl<'r> FromRow<'r, $row> for Cells {
            fn from_row(row: &'r $row) -> sqlx::Result<Self> {
                let cell = |(at, column): (usize, &<<$row as Row>::Database as sqlx::Database>::Column)| -> sqlx::Result<String> {
                    let kind = column.name().split_once(':').map_or("", |(_, kind)| kind);
                    let number = || row.try_get::<Option<i64>, _>(at);
                    let said = match kind {
                        "id" => row.try_get::<Option<Uuid>, _>(at)?.map(|id| id.to_string()),
                        "at" => row.try_get::<Option<DateTime<Utc>>, _>(at)?.map(moment),
                        "yes" => row.try_get::<Option<bool>, _>(at)?.map(|b| if b { "yes" } else { "no" }.to_owned()),
                        "float" => row.try_get::<Option<f64>, _>(at)?.map(|f| f.to_string()),
                        "number" => number()?.map(|n| n.to_string()),
                        "hours" => number()?.map(|n| Hours(n).to_string()),
                        "money" => number()?.map(|n| money::shown(n, "").trim().to_owned()),
                        "quantity" => number()?.map(Quantity::signed),
                        "said" => row.try_get::<Option<String>, _>(at)?.map(|kept| {
                            harmless(Text::from_kept(&kept).in_lang(Lang::En))
                        }),
                        _ => row.try_get::<Option<String>, _>(at)?.map(|text| harmless(&text)),
                    };
                    Ok(said.unwrap_or_default())
                };
                row.columns().iter().enumerate().map(cell).collect::<sqlx::Result<_>>().map(Self)
            }
        }
    };
}
cells_of!(SqliteRow);
cells_of!(PgRow);

fn moment(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Micros, true)
}

/// What stands under [`AUDIT_COLUMNS`].
pub fn audit_cells(row: &AuditRow) -> Vec<String> {
    vec![
        harmless(&row.stream),
        row.seq.to_string(),
        moment(row.at),
        row.by_id.map(|id| id.to_string()).unwrap_or_default(),
        harmless(&row.by_name),
        harmless(&row.act),
        harmless(&row.subject),
        harmless(&row.before),
        harmless(&row.after),
        harmless(&row.why),
        row.prev_hash.clone(),
        row.hash.clone(),
        row.hashed(),
    ]
}

impl Tx {
    /// Hands over row after row, without ever holding them all; `more` answers whether to go on.
    pub async fn export(&mut self, table: &ExportTable, more: impl FnMut(Cells) -> bool) -> Result<()> {
        self.each(table.sql, &[], more).await
    }

    pub async fn export_audit(&mut self, more: impl FnMut(AuditRow) -> bool) -> Result<()> {
        self.each(
            "SELECT stream, seq, at, by_id, by_name, act, subject, before, after, why, prev_hash, hash FROM audit
             ORDER BY stream, seq",
            &[],
            more,
        )
        .await
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::import::ImportKind;

    #[test]
    fn what_goes_out_has_the_columns_that_come_in() {
        for kind in ImportKind::ALL {
            let table = tables().find(|t| t.name == kind.as_str()).expect("a table of its name");
            let taken: Vec<_> = kind.columns().iter().map(|c| c.name).collect();
            assert_eq!(table.columns(), taken);
        }
    }

    /// Whoever makes a table decides whether it is taken out, or says why not.
    #[test]
    fn every_table_goes_out_or_says_why_not() {
        let read: Vec<&str> = tables()
            .flat_map(|t| {
                t.sql
                    .split_whitespace()
                    .collect::<Vec<_>>()
                    .windows(2)
                    .map(|w| (w[0], w[1]))
                    .collect::<Vec<_>>()
            })
            .filter(|(before, _)| ["FROM", "JOIN"].contains(before))
            .map(|(_, name)| name.trim_end_matches([',', ')']))
            .collect();
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/migrations");
        let mut seen = 0;
        for file in std::fs::read_dir(folder).unwrap() {
            let text = std::fs::read_to_string(file.unwrap().path()).unwrap();
            for made in text.split("CREATE TABLE ").skip(1) {
                let name = made.split_whitespace().next().unwrap();
                // The audit trail has a file of its own.
                let out = name == "audit" || read.contains(&name);
                let why_not = yards::NOT_TAKEN_OUT.iter().any(|(table, _)| *table == name);
                assert!(out != why_not, "{name}: goes out: {out}, says why not: {why_not}");
                seen += 1;
            }
        }
        assert!(seen > 50, "{seen}");
        let names: std::collections::BTreeSet<&str> = tables().map(|t| t.name).collect();
        assert_eq!(names.len(), tables().count(), "two tables of one name");
    }
}
