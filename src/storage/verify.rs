//! The invariants, asked of the database. Each query finds the rows that break one; a sound database has none.

use sqlx::FromRow;

use super::{Result, Tx};

/// A row that breaks an invariant of `2-rules`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Breach {
    pub invariant: u8,
    pub what: String,
}

#[derive(FromRow)]
struct Found {
    what: String,
}

/// Number of the invariant, what a row found means, and the query. Invariants 8 and 9 are about answers and crashes and
/// are proved by tests; 7 is the hash chain, walked row by row.
const QUERIES: &[(u8, &str, &str)] = &[
    (
        2,
        "an open out-of-service defect without exactly one open hold",
        "SELECT (SELECT m.unit_number || ' ' || d.what FROM machine m WHERE m.id = d.machine_id) AS what FROM defect d WHERE d.closed_at IS NULL AND d.severity = 'out of service'
           AND (SELECT COUNT(*) FROM hold h WHERE h.defect_id = d.id AND h.lifted_at IS NULL) <> 1",
    ),
    (
        2,
        "an open hold of a defect that is closed or only monitored",
        "SELECT (SELECT m.unit_number || ' ' || h.reason FROM machine m WHERE m.id = h.machine_id) AS what FROM hold h JOIN defect d ON d.id = h.defect_id
         WHERE h.lifted_at IS NULL AND (d.closed_at IS NOT NULL OR d.severity <> 'out of service')",
    ),
    (
        2,
        "a hold of a defect lifted without a release",
        "SELECT (SELECT m.unit_number || ' ' || h.reason FROM machine m WHERE m.id = h.machine_id) AS what FROM hold h WHERE h.defect_id IS NOT NULL AND h.lifted_at IS NOT NULL
           AND NOT EXISTS (SELECT 1 FROM release r WHERE r.id = h.release_id)",
    ),
    (
        1,
        "a defect whose state does not fit its severity",
        "SELECT what FROM defect
         WHERE (state = 'monitored' AND severity <> 'monitor') OR (state = 'held' AND severity <> 'out of service')
            OR ((state = 'closed') <> (closed_at IS NOT NULL))",
    ),
    (
        2,
        "an open out-of-service defect that no open work order has, though none was cancelled",
        "SELECT (SELECT m.unit_number || ' ' || d.what FROM machine m WHERE m.id = d.machine_id) AS what FROM defect d LEFT JOIN work_order w ON w.id = d.work_order_id
         WHERE d.closed_at IS NULL AND d.severity = 'out of service'
           AND (w.id IS NULL OR w.state = 'closed')",
    ),
    (
        1,
        "a machine whose count of open holds is another",
        "SELECT m.unit_number AS what FROM machine m
         WHERE m.open_holds <> (SELECT COUNT(*) FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL)",
    ),
    (
        2,
        "an open work order that the queue places by other defects than its own",
        "SELECT CAST(w.number AS TEXT) AS what FROM work_order w
         WHERE w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')
           AND w.held <> EXISTS (SELECT 1 FROM defect d WHERE d.work_order_id = w.id AND d.closed_at IS NULL
              AND d.severity = 'out of service')",
    ),
    (
        3,
        "a machine with two work orders that take its defects",
        "SELECT (SELECT m.unit_number FROM machine m WHERE m.id = w.machine_id) AS what FROM work_order w
         WHERE NOT w.side AND w.state IN ('queued', 'claimed', 'in work', 'waiting')
         GROUP BY w.machine_id HAVING COUNT(*) > 1",
    ),
    (
        3,
        "labour entries of one mechanic that overlap",
        "SELECT (SELECT p.name FROM person p WHERE p.id = a.mechanic_id) AS what FROM labour a JOIN labour b ON a.mechanic_id = b.mechanic_id AND a.id < b.id
         WHERE (b.ended_at IS NULL OR a.started_at < b.ended_at) AND (a.ended_at IS NULL OR b.started_at < a.ended_at)",
    ),
    (
        4,
        "stock on hand that is not the sum of its ledger",
        "SELECT (SELECT p.number FROM part p WHERE p.id = k.part_id) AS what FROM stock k
         WHERE k.on_hand <> (SELECT COALESCE(SUM(s.quantity), 0) FROM stock_movement s WHERE s.part_id = k.part_id AND s.yard_id = k.yard_id)
            OR k.worth_minor <> (SELECT COALESCE(SUM(s.value_minor), 0) FROM stock_movement s WHERE s.part_id = k.part_id AND s.yard_id = k.yard_id)
            OR k.on_hand < 0 OR k.reserved < 0 OR k.reserved > k.on_hand",
    ),
    (
        4,
        "a ledger of which no yard has the stock",
        "SELECT DISTINCT (SELECT p.number FROM part p WHERE p.id = s.part_id) AS what FROM stock_movement s
         WHERE NOT EXISTS (SELECT 1 FROM stock k WHERE k.part_id = s.part_id AND k.yard_id = s.yard_id)",
    ),
    (
        4,
        "reserved stock that is not the sum of its reservations",
        "SELECT (SELECT p.number FROM part p WHERE p.id = k.part_id) AS what FROM stock k
         WHERE k.reserved <> (SELECT COALESCE(SUM(l.reserved), 0) FROM part_line l JOIN work_order w ON w.id = l.work_order_id
           WHERE l.part_id = k.part_id AND w.yard_id = k.yard_id)",
    ),
    (
        4,
        "parts lacking on a work order that takes none",
        "SELECT CAST(w.number AS TEXT) AS what FROM shortage h JOIN work_order w ON w.id = h.work_order_id
         WHERE w.state NOT IN ('queued', 'claimed', 'in work', 'waiting')",
    ),
    (
        4,
        "a work order that the queue places as if it lacked parts, or the other way round",
        "SELECT CAST(w.number AS TEXT) AS what FROM work_order w
         WHERE w.lacks_parts <> EXISTS (SELECT 1 FROM shortage h WHERE h.work_order_id = w.id)",
    ),
    (
        4,
        "a work order that waits for a part of which its yard has some that nobody reserved",
        "SELECT CAST(w.number AS TEXT) AS what FROM shortage h JOIN work_order w ON w.id = h.work_order_id
         JOIN stock k ON k.part_id = h.part_id AND k.yard_id = w.yard_id WHERE k.on_hand > k.reserved",
    ),
    (
        4,
        "parts fitted that were never issued",
        "SELECT CAST(w.number AS TEXT) AS what FROM work_order w WHERE EXISTS
           (SELECT 1 FROM part_fitted f WHERE f.work_order_id = w.id AND f.removed_at IS NULL GROUP BY f.part_id
             HAVING SUM(f.quantity) > (SELECT COALESCE(SUM(l.issued), 0) FROM part_line l WHERE l.work_order_id = w.id AND l.part_id = f.part_id))",
    ),
    (
        4,
        "a transfer of which one half is missing",
        "SELECT (SELECT p.number FROM part p WHERE p.id = s.part_id) AS what FROM stock_movement s WHERE s.kind = 'transfer'
         GROUP BY s.part_id HAVING SUM(s.quantity) <> 0 OR SUM(s.value_minor) <> 0",
    ),
    (
        5,
        "a work order whose cost is not the sum of its lines",
        "SELECT CAST(w.number AS TEXT) AS what FROM work_order w
         WHERE w.cost_minor <> (SELECT COALESCE(SUM(l.cost_minor), 0) FROM labour l WHERE l.work_order_id = w.id)
                             + (SELECT COALESCE(SUM(p.cost_minor), 0) FROM part_line p WHERE p.work_order_id = w.id)
                             + (SELECT COALESCE(SUM(o.invoice_minor), 0) FROM outside_repair o WHERE o.work_order_id = w.id)
            OR (SELECT COALESCE(SUM(p.cost_minor), 0) FROM part_line p WHERE p.work_order_id = w.id)
             <> (SELECT COALESCE(-SUM(s.value_minor), 0) FROM stock_movement s WHERE s.work_order_id = w.id)",
    ),
    (
        6,
        "a machine held by a defect, with somebody to tell, and no alert about it",
        "SELECT (SELECT m.unit_number || ' ' || h.reason FROM machine m WHERE m.id = h.machine_id) AS what FROM hold h WHERE NOT EXISTS
           (SELECT 1 FROM outbox o WHERE o.machine_id = h.machine_id AND o.kind = 'machine held' AND o.created_at <= h.placed_at
              AND o.created_at >= h.placed_at)
           AND EXISTS (SELECT 1 FROM person p JOIN person_role r ON r.person_id = p.id
              WHERE r.role = 'owner' AND p.disabled_at IS NULL AND p.created_at <= h.placed_at)",
    ),
    (
        6,
        "somebody asked to acknowledge what nobody keeps a look on",
        "SELECT o.event_key AS what FROM outbox o WHERE o.asks_for IS NOT NULL
           AND NOT EXISTS (SELECT 1 FROM acknowledgement k WHERE k.event_key = o.asks_for)",
    ),
    (
        6,
        "an acknowledgement that nobody was asked for, of a machine that is held",
        "SELECT k.event_key AS what FROM acknowledgement k WHERE k.acknowledged_at IS NULL
           AND NOT EXISTS (SELECT 1 FROM outbox o WHERE o.asks_for = k.event_key)
           AND EXISTS (SELECT 1 FROM hold h WHERE h.machine_id = k.machine_id AND h.lifted_at IS NULL)",
    ),
    (
        6,
        "an acknowledgement by nobody, or one after which the next in line is still told",
        "SELECT event_key AS what FROM acknowledgement
         WHERE (acknowledged_at IS NULL) <> (acknowledged_by IS NULL) OR (acknowledged_at IS NOT NULL AND next_at IS NOT NULL)",
    ),
    (
        7,
        "a work order whose spells do not begin when it was opened, or do not end as it stands",
        "SELECT CAST(w.number AS TEXT) AS what FROM work_order w
         LEFT JOIN order_spell f ON f.work_order_id = w.id
           AND f.from_at = (SELECT MIN(s.from_at) FROM order_spell s WHERE s.work_order_id = w.id)
         LEFT JOIN order_spell l ON l.work_order_id = w.id
           AND l.from_at = (SELECT MAX(s.from_at) FROM order_spell s WHERE s.work_order_id = w.id)
         WHERE f.from_at IS NULL OR f.from_at <> w.opened_at OR l.state <> w.state
            OR COALESCE(l.waiting_for, '') <> COALESCE(w.waiting_for, '')",
    ),
    (
        7,
        "a spell of a work order on another machine than its own",
        "SELECT CAST(w.number AS TEXT) AS what FROM work_order w JOIN order_spell s ON s.work_order_id = w.id
         WHERE s.machine_id <> w.machine_id",
    ),
    (
        7,
        "an open hold without its entry in the audit trail",
        "SELECT (SELECT m.unit_number || ' ' || h.reason FROM machine m WHERE m.id = h.machine_id) AS what FROM hold h WHERE h.lifted_at IS NULL AND NOT EXISTS
           (SELECT 1 FROM audit a WHERE a.at = h.placed_at AND a.act = 'hold placed')",
    ),
];

impl Tx {
    /// Every breach of invariants 1 to 7 that the tables show, except broken chains.
    pub async fn breaches(&mut self) -> Result<Vec<Breach>> {
        let mut breaches = Vec::new();
        for (invariant, meaning, sql) in QUERIES.iter().copied() {
            let found: Vec<Found> = self.all(sql, &[]).await?;
            breaches.extend(
                found.into_iter().map(|f| Breach { invariant, what: format!("{meaning}: {}", f.what) }),
            );
        }
        Ok(breaches)
    }
}
