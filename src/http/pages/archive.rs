//! The whole record of a machine in one file, for an inspector: the record as it is shown, the data behind it, the photos,
//! and the audit chain with what was hashed, so that it can be checked without Chock.

use std::collections::{BTreeSet, VecDeque};
use std::io::{self, Write};
use std::sync::{Arc, Mutex, PoisonError};

use actix_web::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_ENCODING, CONTENT_TYPE};
use actix_web::{HttpRequest, HttpResponse, web};
use futures_util::stream;
use serde_json::{Value, json};
use zip::write::{SimpleFileOptions, StreamWriter};
use zip::{CompressionMethod, ZipWriter};

use super::figures::KeepTyped;
use super::local_time::{day_for_input, in_full};
use super::{Page, record};
use crate::domain::ids::MachineId;
use crate::http::photo_store::PhotoStore;
use crate::http::session::Signed;
use crate::http::{Site, assets};
use crate::words::here;
use crate::workflow::{self, ArchivedOrder, AuditRow, DefectRow, MachineArchive, PhotoRow};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/archive", web::get().to(archive));
}

/// Checks the chain without Chock.
const VERIFY: &str = include_str!("../../../web/archive/verify_chain.py");

async fn archive(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    let whole = workflow::machine_archive(&site.workshop, &actor, *id).await?;
    let shown = record::shown(&actor, &req, *id, KeepTyped::default(), &site).await?;
    let now = site.workshop.ambient.now();
    let unit: String = whole.machine.unit_number.chars().filter(char::is_ascii_alphanumeric).collect();
    let name = format!("record-{unit}-{}", day_for_input(now, &whole.yard.zone));
    let text = |file: &str, text: String| Piece::Bytes(format!("{name}/{file}"), text.into_bytes());
    let data = |file: &str, value: Value| text(file, format!("{value:#}\n"));
    let made = in_full(now, &whole.yard.zone).words;
    let read_me = t!("archive-read-me", unit = whole.machine.unit_number, made = made);
    let mut pieces = VecDeque::from([
        text("READ-ME.txt", read_me),
        text("record.html", alone(&shown.as_main_alone()?)),
        text("chock.css", assets::text("chock.css")),
        text("desk.css", assets::text("desk.css")),
        text("verify_chain.py", VERIFY.to_owned()),
        data("machine.json", machine(&whole)),
        data("checks.json", checks(&whole)),
        data("defects.json", whole.defects.iter().map(defect).collect()),
        data("holds.json", holds(&whole)),
        data("work-orders.json", whole.orders.iter().map(order).collect()),
        data("releases.json", releases(&whole)),
        data("photos.json", whole.photos.iter().map(photo).collect()),
        text("audit.jsonl", whole.chain.iter().map(chained).collect()),
        data("audit-head.json", head(&whole)),
    ]);
    let pictures: BTreeSet<&str> = whole.photos.iter().map(|p| p.sha256.as_str()).collect();
    pieces.extend(
        pictures.into_iter().map(|sha| Piece::Photo(format!("{name}/{}", file_of(sha)), sha.to_owned())),
    );
    let packing =
        Packing { photos: site.photos.clone(), pieces, written: Written::default(), zip: None, ended: false };
    let body = stream::unfold(Some(packing), |packing| async move {
        let packing = packing?;
        match packing.next().await {
            Ok((bytes, rest)) => Some((Ok(bytes), rest)),
            Err(e) => Some((Err(e), None)),
        }
    });
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "application/zip"))
        .insert_header((CONTENT_ENCODING, "identity"))
        .insert_header((CACHE_CONTROL, "no-store"))
        .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"{name}.zip\"")))
        .streaming(body))
}

enum Piece {
    Bytes(String, Vec<u8>),
    /// A picture under its name there, and its hash: read when its turn comes, so that they never are in memory together.
    Photo(String, String),
}

struct Packing {
    photos: PhotoStore,
    pieces: VecDeque<Piece>,
    written: Written,
    zip: Option<ZipWriter<StreamWriter<Written>>>,
    ended: bool,
}

/// What was packed and not sent yet.
#[derive(Clone, Default)]
struct Written(Arc<Mutex<Vec<u8>>>);

impl Packing {
    /// Packs the next piece; with the bytes of the last one there is nothing more to do.
    async fn next(mut self) -> io::Result<(web::Bytes, Option<Self>)> {
        let piece = match self.pieces.pop_front() {
            Some(Piece::Bytes(name, bytes)) => Some((name, bytes)),
            Some(Piece::Photo(name, sha)) => {
                // An archive without one of its pictures would not be whole: it breaks off instead.
                let bytes = self.photos.read(&sha).await.map_err(io::Error::other)?;
                Some((name, bytes.to_vec()))
            }
            None => None,
        };
        let written = self.written.clone();
        let zip = self.zip.take().unwrap_or_else(|| ZipWriter::new_stream(written));
        let zip = tokio::task::spawn_blocking(move || pack(zip, piece)).await.map_err(io::Error::other)??;
        self.ended = zip.is_none();
        self.zip = zip;
        let bytes = self.written.take();
        let rest = (!self.ended).then_some(self);
        Ok((bytes, rest))
    }
}

/// None once the end is written.
fn pack(
    mut zip: ZipWriter<StreamWriter<Written>>,
    piece: Option<(String, Vec<u8>)>,
) -> io::Result<Option<ZipWriter<StreamWriter<Written>>>> {
    let Some((name, bytes)) = piece else {
        zip.finish().map_err(io::Error::other)?;
        return Ok(None);
    };
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    zip.start_file(name, options).map_err(io::Error::other)?;
    zip.write_all(&bytes)?;
    zip.flush()?;
    Ok(Some(zip))
}

impl Written {
    fn take(&self) -> web::Bytes {
        std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner)).into()
    }
}

impl Write for Written {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The page by itself: its links lead nowhere without the site.
fn alone(main: &str) -> String {
    let main = main.replace(" href=\"/", " data-was=\"/");
    format!(
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n<title>Chock</title>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <link rel=\"stylesheet\" href=\"chock.css\">\n<link rel=\"stylesheet\" href=\"desk.css\">\n</head>\n<body>\n<main>\n{main}\n</main>\n</body>\n</html>\n",
        here().tag()
    )
}

/// As text in the reader's language; as data, what is kept in every language stays so.
fn machine(a: &MachineArchive) -> Value {
    let m = &a.machine;
    json!({
        "id": m.id, "unit_number": m.unit_number, "class": m.class, "description": m.description, "serial": m.serial,
        "engine_hours": m.engine_hours, "retired_at": m.retired_at, "yard": a.yard.name, "zone": a.yard.zone,
    })
}

fn checks(a: &MachineArchive) -> Value {
    let one = |c: &workflow::CheckRow| {
        json!({
            "id": c.id, "checklist": c.checklist_id, "operator": c.operator_name, "recorded_at": c.recorded_at,
            "received_at": c.received_at, "engine_hours": c.engine_hours, "load": c.load, "warmth": c.warmth,
            "air": c.air, "altitude_m": c.altitude_m, "note": c.note, "verdict": c.verdict,
            "answers": kept(&c.answers), "answered": kept(&c.answered), "fingerprint": c.fingerprint,
        })
    };
    a.checks.iter().map(one).collect()
}

fn defect(d: &DefectRow) -> Value {
    json!({
        "id": d.id, "what": d.what, "system": d.system, "item": d.item, "position": d.position, "severity": d.severity,
        "state": d.state, "rule": d.rule, "checklist": d.checklist_id, "why": d.why, "instruction": d.instruction,
        "failed": kept(&d.failed), "risk": d.risk.as_deref().map(kept), "good_until_at": d.good_until_at,
        "good_until_hours": d.good_until_hours, "check": d.check_id, "work_order": d.work_order_id,
        "earlier": d.prior_defect_id, "cause": d.cause, "remedy": d.remedy, "no_fault_found": d.no_fault_found,
        "part_replaced": d.part_replaced, "found_at": d.found_at, "raised_at": d.raised_at, "closed_at": d.closed_at,
    })
}

fn holds(a: &MachineArchive) -> Value {
    let one = |h: &workflow::HoldRow| {
        json!({
            "id": h.id, "defect": h.defect_id, "reason": h.reason, "placed_by": h.placed_by_name, "since": h.since,
            "placed_at": h.placed_at, "engine_hours": h.hours_at, "lifted_at": h.lifted_at, "lifted_because": h.lift_reason,
        })
    };
    a.holds.iter().map(one).collect()
}

fn order(o: &ArchivedOrder) -> Value {
    let w = &o.order;
    let labour = |l: &workflow::LabourRow| {
        json!({
            "mechanic": l.mechanic_name, "started_at": l.started_at, "ended_at": l.ended_at, "cost_minor": l.cost_minor,
            "closed_because": l.closed_because,
        })
    };
    let part = |l: &workflow::LineRow| {
        json!({
            "number": l.number, "name": l.name, "unit": l.unit, "issued_thousandths": l.issued, "cost_minor": l.cost_minor,
        })
    };
    let outside = |r: &workflow::OutsideRow| {
        json!({
            "vendor": r.vendor, "what": r.what, "licensed": r.licensed, "licence": r.licence, "sent_at": r.sent_at,
            "promised_at": r.promised_at, "returned_at": r.returned_at, "called_off_at": r.called_off_at,
        })
    };
    let retest = |r: &workflow::RetestRow| {
        json!({
            "defect": r.defect_id, "by": r.by_name, "at": r.at, "load": r.load, "air": r.air, "passed": r.passed,
            "why": r.why, "answers": kept(&r.answers),
        })
    };
    json!({
        "id": w.id, "number": w.number, "state": w.word(), "mechanic": w.mechanic_name, "opened_at": w.opened_at,
        "done_at": w.done_at, "closed_at": w.closed_at, "cost_minor": w.cost_minor,
        "labour": o.labour.iter().map(labour).collect::<Value>(), "parts": o.parts.iter().map(part).collect::<Value>(),
        "outside": o.outside.iter().map(outside).collect::<Value>(),
        "retests": o.retests.iter().map(retest).collect::<Value>(),
    })
}

fn releases(a: &MachineArchive) -> Value {
    let one = |r: &workflow::ReleaseRow| {
        json!({
            "id": r.id, "work_order": r.work_order_id, "by": r.by_name, "at": r.at, "note": r.note,
            "released_by_repairer": r.released_by_repairer,
        })
    };
    a.releases.iter().map(one).collect()
}

fn photo(p: &PhotoRow) -> Value {
    json!({
        "id": p.id, "file": file_of(&p.sha256), "sha256": p.sha256, "at": p.at, "check": p.check_id, "defect": p.defect_id,
        "work_order": p.work_order_id, "item": p.item, "position": p.position,
    })
}

fn file_of(sha256: &str) -> String {
    format!("photos/{sha256}.jpg")
}

fn chained(r: &AuditRow) -> String {
    format!("{}\n", json!({ "hashed": r.hashed(), "hash": r.hash }))
}

fn head(a: &MachineArchive) -> Value {
    let (number, hash) = a.head.clone().unwrap_or_default();
    json!({ "chain": format!("machine {}", a.machine.id), "number": number, "hash": hash })
}

/// JSON as it is kept.
fn kept(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|_| Value::from(text))
}
