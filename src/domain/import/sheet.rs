//! Reads a CSV file (RFC 4180) whose first line names its columns. Comma or semicolon; in a file with semicolons figures
//! have a decimal comma, else a point. UTF-8, with or without a byte order mark.

use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, Utc};
use chrono_tz::Tz;

use super::super::currency::Amount;
use super::super::store::Quantity;
use super::super::store::faults::typed_amount;
use super::super::unit::Hours;
use super::cell::as_meant;
use super::{Fault, ImportKind, MOST_BYTES, MOST_FAULTS, MOST_ROWS};
use crate::domain::refusal::Refusal;
use crate::words::Text;

/// A file understood as rows.
#[derive(Debug)]
pub struct Sheet {
    /// Where each known column stands.
    columns: Vec<(&'static str, usize)>,
    separator: u8,
    rows: Vec<Row>,
}

#[derive(Debug)]
struct Row {
    line: u64,
    cells: Vec<String>,
}

/// One line of a file, read cell by cell; what is wrong gathers in `faults`.
pub struct Line<'a> {
    sheet: &'a Sheet,
    row: &'a Row,
    pub faults: Vec<Fault>,
}

impl Sheet {
    pub fn read(kind: ImportKind, bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        let whole = |sentence| vec![Fault::new(0, "", sentence)];
        if bytes.len() > MOST_BYTES {
            return Err(whole(said!("import-too-large", most = MOST_BYTES / 1024 / 1024)));
        }
        let text = std::str::from_utf8(bytes).map_err(|e| {
            let line = 1 + bytes[..e.valid_up_to()].iter().filter(|b| **b == b'\n').count() as u64;
            vec![Fault::new(line, "", said!("import-not-utf8"))]
        })?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let first =
            text.lines().find(|l| !l.trim().is_empty()).ok_or_else(|| whole(said!("import-empty")))?;
        let separator = separator_of(first);
        if let Some(line) = open_quote(text, separator) {
            return Err(vec![Fault::new(line, "", said!("import-open-quote"))]);
        }
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let mut records = reader.records().map(|record| record.map(|r| (line_of(&r, text), r)));
        let unreadable = |e: csv::Error| whole(said!("import-unreadable", fault = e.to_string()));
        let (line, head) = records.next().ok_or_else(|| whole(said!("import-empty")))?.map_err(unreadable)?;
        let columns = columns_of(kind, line, &head)?;
        let (mut rows, mut faults) = (Vec::new(), Vec::new());
        for record in records {
            let (line, record) = record.map_err(unreadable)?;
            // What a spreadsheet leaves behind below its last row.
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if record.len() != head.len() {
                let sentence = said!("import-cells", has = record.len(), needs = head.len());
                faults.push(Fault::new(line, "", sentence));
                if faults.len() >= MOST_FAULTS {
                    break;
                }
            }
            if rows.len() == MOST_ROWS {
                return Err(whole(said!("import-too-many-rows", most = MOST_ROWS)));
            }
            rows.push(Row { line, cells: record.iter().map(|c| as_meant(c).trim().to_owned()).collect() });
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        if rows.is_empty() {
            return Err(whole(said!("import-no-rows")));
        }
        Ok(Self { columns, separator, rows })
    }

    pub fn lines(&self) -> impl Iterator<Item = Line<'_>> {
        self.rows.iter().map(|row| Line { sheet: self, row, faults: Vec::new() })
    }

    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|(name, _)| *name == column)
    }
}

impl Line<'_> {
    pub fn number(&self) -> u64 {
        self.row.line
    }

    pub fn fault(&mut self, column: &str, sentence: Text) {
        self.faults.push(Fault::new(self.row.line, column, sentence));
    }

    /// What a rule refused, at the columns it speaks of: `/unit_number` is the column `unit number`. `named` are those that
    /// are called otherwise here.
    pub fn refused(&mut self, refusal: &Refusal, named: &[(&str, &str)]) {
        let Refusal::Invalid { problems } = refusal else {
            return self.fault("", refusal.said());
        };
        for p in problems {
            let field = p.pointer.trim_start_matches('/');
            let other = named.iter().find(|(from, _)| *from == field).map(|(_, to)| (*to).to_owned());
            let column = other.unwrap_or_else(|| field.replace('_', " "));
            self.fault(&column, p.sentence.clone());
        }
    }

    /// The cell; None where the file has no such column. A column that is needed is in every file.
    pub fn given(&self, column: &str) -> Option<&str> {
        let (_, at) = self.sheet.columns.iter().find(|(name, _)| *name == column)?;
        self.row.cells.get(*at).map(String::as_str)
    }

    /// The cell, empty where there is none.
    pub fn text(&self, column: &str) -> &str {
        self.given(column).unwrap_or_default()
    }

    /// Its parts, with `|` between them.
    pub fn list(&self, column: &str) -> Vec<&str> {
        self.text(column).split('|').map(str::trim).filter(|part| !part.is_empty()).collect()
    }

    /// Yes or no, in any language; empty is no.
    pub fn yes(&mut self, column: &str) -> bool {
        match self.text(column).to_lowercase().as_str() {
            "" | "no" | "n" | "false" | "0" => false,
            "yes" | "y" | "true" | "1" | "sí" | "si" => true,
            _ => {
                self.fault(column, said!("import-yes-or-no"));
                false
            }
        }
    }

    pub fn hours(&mut self, column: &str) -> Option<Hours> {
        let figure = self.figure(column)?;
        figure.parse().map_err(|e: super::super::unit::MeasureError| self.fault(column, e.said())).ok()
    }

    /// None also where the cell is empty.
    pub fn quantity(&mut self, column: &str) -> Option<Quantity> {
        let figure = self.figure(column)?;
        Quantity::parse("", &figure).map_err(|e| self.fault(column, e.said())).ok()
    }

    pub fn amount(&mut self, column: &str, books: &str) -> Option<Amount> {
        let figure = self.figure(column)?;
        typed_amount("", &figure, books).map_err(|e| self.fault(column, e.said())).ok()
    }

    /// A moment: RFC 3339, or a day with or without a time of day by the yard's clock.
    pub fn moment(&mut self, column: &str, zone: Tz) -> Option<DateTime<Utc>> {
        let text = self.text(column).to_owned();
        if text.is_empty() {
            return None;
        }
        let read = moment(&text, zone);
        if read.is_none() {
            self.fault(column, said!("import-date"));
        }
        read
    }

    /// The figure with a decimal point, whatever the file writes; None where the cell is empty or has the other sign.
    fn figure(&mut self, column: &str) -> Option<String> {
        let text = self.text(column).to_owned();
        if text.is_empty() {
            return None;
        }
        let with_comma = self.sheet.separator == b';';
        if with_comma && text.contains('.') {
            self.fault(column, said!("import-decimal-comma"));
            return None;
        }
        if !with_comma && text.contains(',') {
            self.fault(column, said!("import-decimal-point"));
            return None;
        }
        Some(text.replace(',', "."))
    }
}

/// A time that the yard's clock leaves out is none; one that it shows twice is the first of the two.
pub fn moment(text: &str, zone: Tz) -> Option<DateTime<Utc>> {
    let text = text.trim();
    if let Ok(at) = DateTime::parse_from_rfc3339(text) {
        return micros(at.to_utc());
    }
    let local = ["%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
        .or_else(|| {
            let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok()?;
            Some(day.and_time(NaiveTime::MIN))
        })?;
    micros(local.and_local_timezone(zone).earliest()?.to_utc())
}

/// As finely as the tables keep it.
fn micros(at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    DateTime::from_timestamp_micros(at.timestamp_micros())
}

/// What stands between the names of the first line.
fn separator_of(first: &str) -> u8 {
    let count = |sign| first.matches(sign).count();
    if count(';') > count(',') { b';' } else { b',' }
}

/// The line of a quote that is never closed: it would swallow the rest of the file.
fn open_quote(text: &str, separator: u8) -> Option<u64> {
    let (mut line, mut opened, mut at_start) = (1, None, true);
    let mut bytes = text.bytes().peekable();
    while let Some(b) = bytes.next() {
        match (opened, b) {
            (Some(_), b'"') => {
                if bytes.peek() == Some(&b'"') {
                    bytes.next();
                } else {
                    opened = None;
                }
            }
            (None, b'"') if at_start => opened = Some(line),
            _ => {}
        }
        at_start = opened.is_none() && (b == separator || b == b'\n' || b == b'\r');
        line += u64::from(b == b'\n');
    }
    opened
}

/// The line a record begins on; the reader counts blank lines before it as part of it.
fn line_of(record: &csv::StringRecord, text: &str) -> u64 {
    let Some(position) = record.position() else { return 0 };
    let from = usize::try_from(position.byte()).unwrap_or(text.len()).min(text.len());
    let blank = text.as_bytes()[from..].iter().take_while(|b| matches!(b, b'\r' | b'\n'));
    position.line() + blank.filter(|b| **b == b'\n').count() as u64
}

fn columns_of(
    kind: ImportKind,
    line: u64,
    head: &csv::StringRecord,
) -> Result<Vec<(&'static str, usize)>, Vec<Fault>> {
    let (mut columns, mut faults) = (Vec::new(), Vec::new());
    let known = kind.columns();
    for (at, given) in head.iter().enumerate() {
        let name = given.trim().to_lowercase().replace('_', " ");
        match known.iter().find(|c| c.name == name) {
            Some(c) if columns.iter().any(|(n, _)| *n == c.name) => {
                faults.push(Fault::new(line, c.name, said!("import-column-twice")));
            }
            Some(c) => columns.push((c.name, at)),
            None => {
                let names: Vec<_> = known.iter().map(|c| c.name).collect();
                let given = given.trim().chars().take(40).collect::<String>();
                let sentence = said!("import-column-unknown", given = given, known = names.join(", "));
                faults.push(Fault::new(line, "", sentence));
            }
        }
    }
    for c in known.iter().filter(|c| c.needed && !columns.iter().any(|(n, _)| n == &c.name)) {
        faults.push(Fault::new(line, c.name, said!("import-column-missing")));
    }
    if faults.is_empty() { Ok(columns) } else { Err(faults) }
}

#[cfg(test)]
#[path = "sheet_tests.rs"]
mod tests;
