//! The tables of the workshop and its store.

use super::ExportTable;

pub const TABLES: &[ExportTable] = &[
    ExportTable {
        name: "work-order-states",
        sql: r#"SELECT w.number AS "work order:number", s.from_at AS "from:at", s.state AS "state", s.waiting_for AS "waiting for"
             FROM order_spell s JOIN work_order w ON w.id = s.work_order_id ORDER BY w.number, s.from_at"#,
    },
    ExportTable {
        name: "work-order-notes",
        sql: r#"SELECT n.id AS "id:id", w.number AS "work order:number", p.name AS "by", n.at AS "at:at", n.note AS "note"
             FROM order_note n JOIN work_order w ON w.id = n.work_order_id JOIN person p ON p.id = n.by_id
             ORDER BY n.at, n.id"#,
    },
    ExportTable {
        name: "outside-repairs",
        sql: r#"SELECT o.id AS "id:id", w.number AS "work order:number", o.vendor AS "vendor", o.what AS "what",
                o.licensed AS "licence asked for", o.licence AS "licence", o.sent_at AS "sent at:at", p.name AS "sent by",
                o.promised_at AS "promised for:at", o.returned_at AS "returned at:at", o.called_off_at AS "called off at:at",
                o.invoice_number AS "invoice", o.invoice_minor AS "invoiced:money", o.invoiced_at AS "invoiced at:at"
             FROM outside_repair o JOIN work_order w ON w.id = o.work_order_id JOIN person p ON p.id = o.sent_by
             ORDER BY o.sent_at, o.id"#,
    },
    ExportTable {
        name: "outside-repair-words",
        sql: r#"SELECT o.outside_repair_id AS "outside repair:id", o.seq AS "place:number", o.at AS "at:at", p.name AS "by",
                o.note AS "note", o.back_by AS "promised for:at"
             FROM outside_word o JOIN person p ON p.id = o.by_id ORDER BY o.outside_repair_id, o.seq"#,
    },
    ExportTable {
        name: "forecasts",
        sql: r#"SELECT w.number AS "work order:number", f.made_at AS "made at:at", f.likely_by AS "likely by:at",
                f.almost_surely_by AS "almost surely by:at", f.same_as_last_time AS "as long as last time:at",
                f.driver AS "driver", f.spread AS "spread", w.done_at AS "work done at:at"
             FROM forecast f JOIN work_order w ON w.id = f.work_order_id ORDER BY f.made_at, w.number"#,
    },
    ExportTable {
        name: "part-lines",
        sql: r#"SELECT w.number AS "work order:number", p.number AS "part number", l.reserved AS "reserved:quantity",
                l.issued AS "issued:quantity", l.cost_minor AS "cost:money"
             FROM part_line l JOIN work_order w ON w.id = l.work_order_id JOIN part p ON p.id = l.part_id
             ORDER BY w.number, p.number"#,
    },
    ExportTable {
        name: "reservations",
        sql: r#"SELECT r.id AS "id:id", w.number AS "work order:number", p.number AS "part number",
                r.quantity AS "asked for:quantity", r.reserved AS "reserved:quantity", b.name AS "by", r.at AS "at:at"
             FROM reservation r JOIN work_order w ON w.id = r.work_order_id JOIN part p ON p.id = r.part_id
             JOIN person b ON b.id = r.by_id ORDER BY r.at, r.id"#,
    },
    ExportTable {
        name: "shortages",
        sql: r#"SELECT w.number AS "work order:number", p.number AS "part number", s.quantity AS "lacking:quantity",
                s.since AS "since:at"
             FROM shortage s JOIN work_order w ON w.id = s.work_order_id JOIN part p ON p.id = s.part_id
             ORDER BY s.since, w.number, p.number"#,
    },
    ExportTable {
        name: "parts-on-order",
        sql: r#"SELECT o.id AS "id:id", p.number AS "part number", y.name AS "yard", o.quantity AS "ordered:quantity",
                o.came AS "came:quantity", b.name AS "by", o.ordered_at AS "ordered at:at", o.expected_at AS "expected:at",
                o.came_at AS "came at:at", o.dropped_at AS "called off at:at"
             FROM part_on_order o JOIN part p ON p.id = o.part_id JOIN yard y ON y.id = o.yard_id
             JOIN person b ON b.id = o.by_id ORDER BY o.ordered_at, o.id"#,
    },
    ExportTable {
        name: "supplies",
        sql: r#"SELECT p.number AS "part number", s.supplier AS "supplier", s.price_minor AS "price:money",
                s.minimum_order AS "minimum order:quantity", s.pack AS "pack:quantity", s.lead_days AS "lead time in days:number"
             FROM supply s JOIN part p ON p.id = s.part_id ORDER BY p.number"#,
    },
    ExportTable {
        name: "stock-counts",
        sql: r#"SELECT c.id AS "id:id", p.number AS "part number", y.name AS "yard", c.booked AS "booked:quantity",
                c.counted AS "counted:quantity", b.name AS "by", c.at AS "at:at"
             FROM stock_count c JOIN part p ON p.id = c.part_id JOIN yard y ON y.id = c.yard_id
             JOIN person b ON b.id = c.by_id ORDER BY c.at, c.id, p.number"#,
    },
    ExportTable {
        name: "parts-fitted",
        sql: r#"SELECT f.id AS "id:id", m.unit_number AS "unit number", p.number AS "part number",
                w.number AS "work order:number", f.defect_id AS "defect:id", f.item AS "item", f.position AS "position",
                f.quantity AS "quantity:quantity", f.serial AS "serial number", f.batch AS "batch",
                f.fitted_at AS "fitted at:at", b.name AS "by", f.removed_at AS "removed at:at"
             FROM part_fitted f JOIN machine m ON m.id = f.machine_id JOIN part p ON p.id = f.part_id
             JOIN work_order w ON w.id = f.work_order_id JOIN person b ON b.id = f.by_id ORDER BY f.fitted_at, f.id"#,
    },
    ExportTable {
        name: "defect-rounds",
        sql: r#"SELECT r.id AS "id:id", m.unit_number AS "unit number", r.defect_id AS "defect:id",
                r.found_first AS "found first:id", r.at AS "at:at"
             FROM defect_round r JOIN machine m ON m.id = r.machine_id ORDER BY r.at, r.id, m.unit_key"#,
    },
];
