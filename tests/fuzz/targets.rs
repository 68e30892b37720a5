//! What must hold whatever bytes come in: nothing panics, and what is taken makes sense.

#![allow(dead_code, reason = "each program of the fuzzer uses one")]

use chock::domain::checklist_file;
use chock::domain::import::hours_file::{is_hours_file, read_hours};
use chock::domain::import::sheet::Sheet;
use chock::domain::import::{Fault, ImportKind};
use chock::domain::unit::Measured;
use chock::http::picture::made_safe;
use chock::words::Lang;

pub fn checklist_toml(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match checklist_file::parse(text) {
        Ok(list) => {
            let walk = list.walk();
            assert!(!walk.is_empty(), "a checklist without a stop was taken");
            // What is kept is read again whenever it is used.
            let kept = serde_json::to_string(&list).expect("it is kept as JSON");
            let again = serde_json::from_str(&kept).expect("and read again");
            assert!(list == again, "it is another after it was kept");
        }
        Err(faults) => {
            assert!(!faults.is_empty(), "refused without a reason");
            let lines = text.lines().count() + 1;
            for fault in faults {
                assert!(fault.line <= lines, "line {} of {lines}", fault.line);
                let _ = fault.sentence.to_string();
            }
        }
    }
}

pub fn table_csv(bytes: &[u8]) {
    for kind in ImportKind::ALL.iter().copied() {
        match Sheet::read(kind, bytes) {
            Ok(sheet) => {
                for mut line in sheet.lines() {
                    for column in kind.columns() {
                        let _ = (line.text(column.name).len(), line.list(column.name).len());
                        let _ = (line.hours(column.name), line.quantity(column.name), line.yes(column.name));
                        let _ = (
                            line.amount(column.name, "EUR"),
                            line.moment(column.name, chrono_tz::Europe::Oslo),
                        );
                    }
                    said(&line.faults);
                }
            }
            Err(faults) => said(&faults),
        }
    }
}

pub fn fleet_hours(bytes: &[u8]) {
    let _ = is_hours_file(bytes);
    match read_hours(bytes) {
        Ok(fleet) => {
            for machine in fleet {
                assert!(machine.hours.iter().all(|h| h.hours.0 >= 0), "{machine:?}");
                let _ = machine.names().count();
            }
        }
        Err(faults) => said(&faults),
    }
}

pub fn figure_with_unit(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Ok(read) = Measured::parse_with_unit(text) {
        assert!(read.base.is_finite(), "{read:?}");
        let again = Measured::parse_with_unit(&read.to_string()).expect("what is shown can be typed");
        assert_eq!(again.base.to_bits(), read.base.to_bits());
    }
}

pub fn photo(bytes: &[u8]) {
    if let Ok(made) = made_safe(bytes) {
        let picture = image::load_from_memory_with_format(&made, image::ImageFormat::Jpeg).expect("a JPEG");
        assert!(picture.width().max(picture.height()) <= 1600);
        assert!(!made.windows(6).any(|w| w == b"Exif\0\0"), "what the camera wrote travels on");
    }
}

/// In every language, with its place.
fn said(faults: &[Fault]) {
    for fault in faults {
        for lang in Lang::ALL {
            assert!(!fault.said().in_lang(*lang).is_empty(), "{fault:?}");
        }
    }
}
