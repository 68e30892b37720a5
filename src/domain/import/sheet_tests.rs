use std::io::Write as _;

use proptest::prelude::*;

use super::super::cell::harmless;
use super::*;

fn rows(kind: ImportKind, file: &str) -> Vec<Vec<String>> {
    let sheet = Sheet::read(kind, file.as_bytes()).expect("a sound file");
    sheet.lines().map(|l| kind.columns().iter().map(|c| l.text(c.name).to_owned()).collect()).collect()
}

fn faults(file: &[u8]) -> Vec<(u64, String, String)> {
    let faults = Sheet::read(ImportKind::Readings, file).expect_err("a file with faults");
    faults.into_iter().map(|f| (f.line, f.column.clone(), f.sentence.to_string())).collect()
}

/// RFC 4180, section 2: quotes, commas and line breaks in cells (rules 5 to 7), the last line with or without a break (2).
#[test]
fn cells_are_read_as_rfc_4180_has_them() {
    let file = "\u{feff}Serial,unit_number,Class,YARD,description\r\n\
                \"A \"\"1\"\"\",U-07,quad,North yard,\"with winch,\r\nand trailer\"\r\n\
                ,U-08,quad,North yard,";
    let read = rows(ImportKind::Machines, file);
    assert_eq!(read[0][..5], ["U-07", "North yard", "quad", "with winch,\r\nand trailer", "A \"1\""]);
    assert_eq!(read[1][..5], ["U-08", "North yard", "quad", "", ""]);
}

#[test]
fn a_line_is_counted_as_an_editor_counts_it() {
    let file = "unit number,engine hours,read at\n\n\n\"U\n7\",1,2026-11-24\n\nU8,x,2026-11-24\n";
    let sheet = Sheet::read(ImportKind::Readings, file.as_bytes()).unwrap();
    let lines: Vec<_> = sheet.lines().map(|l| l.number()).collect();
    assert_eq!(lines, [4, 7]);
    let mut last = sheet.lines().nth(1).unwrap();
    assert_eq!(last.hours("engine hours"), None);
    assert_eq!((last.faults[0].line, last.faults[0].column.as_str()), (7, "engine hours"));
    assert!(last.faults[0].said().to_string().starts_with("Line 7, engine hours: "));
}

#[test]
fn semicolons_bring_the_decimal_comma() {
    let read = |file: &str| {
        let sheet = Sheet::read(ImportKind::Readings, file.as_bytes()).unwrap();
        let mut line = sheet.lines().next().unwrap();
        let hours = line.hours("engine hours");
        (hours, line.faults.len())
    };
    assert_eq!(read("unit number;engine hours;read at\nU7;812,4;2026-11-24\n"), (Some(Hours(8124)), 0));
    assert_eq!(read("unit number,engine hours,read at\nU7,812.4,2026-11-24\n"), (Some(Hours(8124)), 0));
    // 1.234 may be a thousand and more, or one and a bit: it is asked, never guessed.
    assert_eq!(read("unit number;engine hours;read at\nU7;1.234;2026-11-24\n"), (None, 1));
    assert_eq!(read("unit number,engine hours,read at\nU7,\"812,4\",2026-11-24\n"), (None, 1));
}

#[test]
fn what_is_wrong_with_a_file_is_said_with_its_line() {
    assert_eq!(faults(b"")[0].2, "The file is empty.");
    assert_eq!(faults(b"unit number,engine hours,read at\n")[0].2, "There is nothing below the first line.");
    let unknown = faults(b"unit number,engine hours,read at,colour\nU7,1,2026-11-24,red\n");
    assert_eq!((unknown.len(), unknown[0].0), (1, 1));
    assert!(unknown[0].2.contains("colour") && unknown[0].2.contains("confirmed"), "{unknown:?}");
    let missing = faults(b"unit number\nU7\n");
    assert_eq!(missing.iter().map(|f| f.1.as_str()).collect::<Vec<_>>(), ["engine hours", "read at"]);
    assert_eq!(faults(b"unit number,read at,engine hours,read at\n")[0].1, "read at");
    let short = faults(b"unit number,engine hours,read at\nU7,1,2026-11-24\nU8,1\n");
    assert_eq!((short.len(), short[0].0), (1, 3));
    let open =
        faults(b"unit number,engine hours,read at\nU7,1,2026-11-24\n\"U8,1,2026-11-24\nU9,1,2026-11-24\n");
    assert_eq!((open.len(), open[0].0), (1, 3));
    let latin = faults(b"unit number,engine hours,read at\nU7,1,2026-11-24\n\xe4,1,2026-11-24\n");
    assert_eq!((latin.len(), latin[0].0), (1, 3));
    let many = format!("unit number,engine hours,read at\n{}", "U7,1,2026-11-24\n".repeat(MOST_ROWS + 1));
    assert!(faults(many.as_bytes())[0].2.contains("5000"));
    let exactly = format!("unit number,engine hours,read at\n{}", "U7,1,2026-11-24\n".repeat(MOST_ROWS));
    assert_eq!(Sheet::read(ImportKind::Readings, exactly.as_bytes()).unwrap().rows.len(), MOST_ROWS);
    assert!(faults(&vec![b'a'; MOST_BYTES + 1])[0].2.contains("2 MB"));
}

#[test]
fn a_moment_is_the_yards_unless_it_says_otherwise() {
    let oslo = Tz::Europe__Oslo;
    let at = |text| moment(text, oslo).map(|t| t.to_rfc3339());
    // Oslo is one hour ahead of UTC in winter, two in summer (IANA time zone database).
    assert_eq!(at("2026-11-24").as_deref(), Some("2026-11-23T23:00:00+00:00"));
    assert_eq!(at("2026-07-01 08:30").as_deref(), Some("2026-07-01T06:30:00+00:00"));
    assert_eq!(at("2026-07-01T08:30:15Z").as_deref(), Some("2026-07-01T08:30:15+00:00"));
    assert_eq!(at("2026-07-01T08:30:15-05:00").as_deref(), Some("2026-07-01T13:30:15+00:00"));
    // The clocks go forward on 29 March 2026, from 02:00 to 03:00; back on 25 October.
    assert_eq!(at("2026-03-29 02:30"), None);
    assert_eq!(at("2026-10-25 02:30").as_deref(), Some("2026-10-25T00:30:00+00:00"));
    for none in ["24.11.2026", "11/24/2026", "2026-13-01", "yesterday", ""] {
        assert_eq!(at(none), None, "{none}");
    }
}

proptest! {
    /// Whatever stands in the cells, it is read back as it was, by either separator.
    #[test]
    fn a_written_file_reads_back(
        cells in proptest::collection::vec(("[ -~\n\"äñ;,'=+@-]{0,12}", "[ -~\"ß]{0,8}"), 1..8),
        semicolons: bool,
    ) {
        let separator = if semicolons { b';' } else { b',' };
        let mut writer = csv::WriterBuilder::new().delimiter(separator).from_writer(Vec::new());
        writer.write_record(["unit number", "engine hours", "read at"]).unwrap();
        for (first, last) in &cells {
            writer.write_record([harmless(first).as_str(), "1", harmless(last).as_str()]).unwrap();
        }
        writer.flush().unwrap();
        let file = writer.into_inner().unwrap();
        let sheet = Sheet::read(ImportKind::Readings, &file).unwrap();
        let read: Vec<_> =
            sheet.lines().map(|l| (l.text("unit number").to_owned(), l.text("read at").to_owned())).collect();
        let given: Vec<_> =
            cells.iter().map(|(a, b)| (a.trim().to_owned(), b.trim().to_owned())).collect();
        prop_assert_eq!(read, given);
    }

    /// No bytes bring it down, and a refused file says why.
    #[test]
    fn any_bytes_are_answered(bytes in proptest::collection::vec(any::<u8>(), 0..200), kind in 0..4_usize) {
        let mut file = ImportKind::ALL[kind].template().into_bytes();
        file.write_all(&bytes).unwrap();
        for file in [bytes, file] {
            if let Err(faults) = Sheet::read(ImportKind::ALL[kind], &file) {
                prop_assert!(!faults.is_empty());
                prop_assert!(faults.iter().all(|f| !f.said().is_empty()));
            }
        }
    }
}
