//! Operating hours of a fleet as ISO 15143-3 (AEMP 2.0) lays them out, in XML or in JSON: `Fleet`, `Equipment`,
//! `EquipmentHeader` with `EquipmentID`, `SerialNumber` and `PIN`, and `CumulativeOperatingHours` with `Hour` and `datetime`.
//! The names are those of the standard as makers publish their answers by it; the standard's own text was not at hand. Small
//! and capital letters are taken alike, for makers differ in them.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use quick_xml::Reader;
use quick_xml::events::Event;
use serde_json::Value;

use super::super::unit::Hours;
use super::sheet::moment;
use super::{Fault, MOST_BYTES, MOST_ROWS};

/// What the file says of one machine.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Equipment {
    /// The line its element begins on; in JSON, its place in the list.
    pub line: u64,
    pub id: String,
    pub serial: String,
    pub pin: String,
    pub model: String,
    pub hours: Vec<OperatingHours>,
}

/// Hours rounded down to tenths, as hour meters count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OperatingHours {
    pub hours: Hours,
    pub at: DateTime<Utc>,
}

impl Equipment {
    /// What it may be known by here, in the order it is looked for.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        [&self.serial, &self.pin, &self.id].into_iter().map(String::as_str).filter(|n| !n.is_empty())
    }
}

/// Whether these bytes are no table but XML or JSON.
pub fn is_hours_file(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    matches!(bytes.iter().find(|b| !b.is_ascii_whitespace()), Some(b'<' | b'{' | b'['))
}

pub fn read_hours(bytes: &[u8]) -> Result<Vec<Equipment>, Vec<Fault>> {
    let whole = |sentence| vec![Fault::new(0, "", sentence)];
    if bytes.len() > MOST_BYTES {
        return Err(whole(said!("import-too-large", most = MOST_BYTES / 1024 / 1024)));
    }
    let text = std::str::from_utf8(bytes).map_err(|_| whole(said!("import-not-utf8")))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut faults = Vec::new();
    let found = if text.trim_start().starts_with('<') {
        of_xml(text, &mut faults)
    } else {
        of_json(text, &mut faults)
    };
    if faults.is_empty() && found.iter().all(|e| e.hours.is_empty()) {
        faults.push(Fault::new(0, "", said!("hours-file-none")));
    }
    if found.len() > MOST_ROWS {
        faults.push(Fault::new(0, "", said!("import-too-many-rows", most = MOST_ROWS)));
    }
    if faults.is_empty() { Ok(found) } else { Err(faults) }
}

/// Only elements, attributes and text are read: an entity of the file's own is refused, so that nothing expands.
fn of_xml(text: &str, faults: &mut Vec<Fault>) -> Vec<Equipment> {
    let mut reader = Reader::from_str(text);
    let mut found: Vec<Equipment> = Vec::new();
    // Local names of the open elements, in small letters.
    let mut open: Vec<String> = Vec::new();
    let (mut hour, mut at, mut words) = (String::new(), String::new(), String::new());
    let (mut line, mut counted) = (1, 0);
    loop {
        let here = usize::try_from(reader.buffer_position()).unwrap_or(text.len()).min(text.len());
        line += text.as_bytes()[counted..here].iter().filter(|b| **b == b'\n').count() as u64;
        counted = here;
        let event = match reader.read_event() {
            Ok(event) => event,
            Err(e) => {
                faults.push(Fault::new(line, "", said!("hours-file-no-xml", fault = e.to_string())));
                return found;
            }
        };
        let (element, empty) = match &event {
            Event::Start(e) => (e, false),
            Event::Empty(e) => (e, true),
            Event::Text(t) => {
                words.push_str(&String::from_utf8_lossy(t));
                continue;
            }
            Event::CData(t) => {
                words.push_str(&String::from_utf8_lossy(t));
                continue;
            }
            Event::GeneralRef(r) => {
                let name = String::from_utf8_lossy(r).into_owned();
                match (name.as_str(), r.resolve_char_ref()) {
                    (_, Ok(Some(c))) => words.push(c),
                    ("amp", _) => words.push('&'),
                    ("lt", _) => words.push('<'),
                    ("gt", _) => words.push('>'),
                    ("quot", _) => words.push('"'),
                    ("apos", _) => words.push('\''),
                    _ => {
                        faults.push(Fault::new(line, "", said!("hours-file-entity", name = name)));
                        return found;
                    }
                }
                continue;
            }
            Event::DocType(_) => {
                faults.push(Fault::new(line, "", said!("hours-file-doctype")));
                return found;
            }
            Event::End(_) => {
                let name = open.pop().unwrap_or_default();
                let parent = open.last().map_or("", String::as_str);
                let said = std::mem::take(&mut words).trim().to_owned();
                if let Some(e) = found.last_mut() {
                    match (parent, name.as_str()) {
                        ("equipmentheader", "equipmentid") => e.id = said,
                        ("equipmentheader", "serialnumber") => e.serial = said,
                        ("equipmentheader", "pin") => e.pin = said,
                        ("equipmentheader", "model") => e.model = said,
                        ("cumulativeoperatinghours", "hour") => hour = said,
                        ("cumulativeoperatinghours", "datetime") => at = said,
                        ("equipment", "cumulativeoperatinghours") => take_hours(e, line, &hour, &at, faults),
                        _ => {}
                    }
                }
                continue;
            }
            Event::Eof => {
                if !open.is_empty() {
                    faults.push(Fault::new(line, "", said!("hours-file-cut-off")));
                }
                return found;
            }
            _ => continue,
        };
        let name = String::from_utf8_lossy(element.local_name().as_ref()).to_lowercase();
        words.clear();
        if name == "equipment" {
            found.push(Equipment { line: line, ..Equipment::default() });
        }
        if name == "cumulativeoperatinghours" {
            hour.clear();
            let datetime = element
                .attributes()
                .flatten()
                .find(|a| a.key.local_name().as_ref().eq_ignore_ascii_case(b"datetime"));
            at = datetime.map(|a| String::from_utf8_lossy(&a.value).into_owned()).unwrap_or_default();
        }
        if !empty {
            open.push(name);
        }
    }
}

fn of_json(text: &str, faults: &mut Vec<Fault>) -> Vec<Equipment> {
    let value: Value = match serde_json::from_str(text) {
        Ok(value) => value,
        Err(e) => {
            faults.push(Fault::new(e.line() as u64, "", said!("hours-file-no-json", fault = e.to_string())));
            return Vec::new();
        }
    };
    let mut found = Vec::new();
    for equipment in all_equipment(&value) {
        let header = member(equipment, "EquipmentHeader").unwrap_or(&Value::Null);
        let said = |name| member(header, name).map(plain).unwrap_or_default();
        let mut e = Equipment {
            line: found.len() as u64 + 1,
            id: said("EquipmentID"),
            serial: said("SerialNumber"),
            pin: said("PIN"),
            model: said("Model"),
            hours: Vec::new(),
        };
        let hours = member(equipment, "CumulativeOperatingHours").unwrap_or(&Value::Null);
        for h in hours.as_array().map_or(std::slice::from_ref(hours), Vec::as_slice) {
            if let Some(hour) = member(h, "Hour") {
                let at = member(h, "datetime").map(plain).unwrap_or_default();
                take_hours(&mut e, found.len() as u64 + 1, &plain(hour), &at, faults);
            }
        }
        found.push(e);
    }
    found
}

/// A fleet with its equipment, a list of such fleets (one a page), or a list of equipment.
fn all_equipment(value: &Value) -> Vec<&Value> {
    match value {
        Value::Array(list) => list.iter().flat_map(all_equipment).collect(),
        Value::Object(_) => match (member(value, "Equipment"), member(value, "Fleet")) {
            (Some(Value::Array(list)), _) => list.iter().collect(),
            (Some(one), _) => vec![one],
            (None, Some(fleet)) => all_equipment(fleet),
            (None, None) if member(value, "EquipmentHeader").is_some() => vec![value],
            (None, None) => Vec::new(),
        },
        _ => Vec::new(),
    }
}

/// Whatever its letters; `@datetime` is how an attribute is written where XML was turned into JSON.
fn member<'v>(value: &'v Value, name: &str) -> Option<&'v Value> {
    let members = value.as_object()?;
    let is = |key: &str| key.trim_start_matches(['@', '_']).eq_ignore_ascii_case(name);
    members.iter().find(|(key, v)| is(key) && !v.is_null()).map(|(_, v)| v)
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.trim().to_owned(),
        Value::Number(n) => n.to_string(),
        _ => String::new(),
    }
}

fn take_hours(e: &mut Equipment, line: u64, hour: &str, at: &str, faults: &mut Vec<Fault>) {
    let Some(hours) = whole_tenths(hour) else {
        faults.push(Fault::new(line, "Hour", said!("hours-file-hour")));
        return;
    };
    // The standard's times carry their zone; one without is UTC.
    match moment(at, Tz::UTC) {
        Some(at) => e.hours.push(OperatingHours { hours, at }),
        None => faults.push(Fault::new(line, "datetime", said!("hours-file-datetime"))),
    }
}

fn whole_tenths(hour: &str) -> Option<Hours> {
    let (whole, part) = hour.split_once('.').unwrap_or((hour, ""));
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 9 || !digits(whole) || !digits(part) {
        return None;
    }
    let tenth = part.get(..1).unwrap_or("0");
    format!("{whole}{tenth}").parse().ok().map(Hours)
}

#[cfg(test)]
#[path = "hours_file_tests.rs"]
mod tests;
