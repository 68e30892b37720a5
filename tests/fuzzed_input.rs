//! What comes in as a file: good ones, with bytes turned, cut out, doubled and strewn in. The same targets run under a
//! coverage-guided fuzzer (`tests/fuzz`); here each gets some thousands of mutations, the same in every run.
//! `CHOCK_TEST_SEED` makes others, `CHOCK_TEST_MUTATIONS` more.

#[path = "fuzz/targets.rs"]
mod targets;

use std::io::Cursor;

use chock::domain::import::ImportKind;
use chock::domain::shipped::SHIPPED;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

/// What files are broken with.
const STREWN: &[&[u8]] = &[
    b"\"",
    b"'",
    b",",
    b";",
    b"\t",
    b"\r\n",
    b"\n",
    b"\0",
    b"[[",
    b"]]",
    b"{",
    b"}",
    b"=",
    b"=cmd|' /C calc'!A0",
    b"<",
    b"/>",
    b"<![CDATA[",
    b"&amp;",
    b"<!DOCTYPE a [<!ENTITY b \"c\">]>",
    b"-1",
    b"1e308",
    b"NaN",
    b"99999999999999999999",
    b"0.1",
    b"\xff",
    b"\xef\xbb\xbf",
    b"\xc3\x28",
    "\u{202e}".as_bytes(),
    "\u{0}\u{7f}".as_bytes(),
    b" kPa",
    b" bar",
    b"2026-02-30",
    b"T25:61:00Z",
    b"\xff\xd8\xff\xe1",
    b"IHDR",
];

const FLEET: &str = r#"<?xml version="1.0"?><Fleet version="1" snapshotTime="2026-11-25T12:05:00Z"><Equipment><EquipmentHeader>
<OEMName>Ternmaker</OEMName><Model>UV2</Model><EquipmentID>U-07</EquipmentID><SerialNumber>TF-7</SerialNumber></EquipmentHeader>
<CumulativeOperatingHours datetime="2026-11-25T12:00:00Z"><Hour>1203.45</Hour></CumulativeOperatingHours></Equipment></Fleet>"#;
const FLEET_JSON: &str = r#"{"version":"1","Equipment":[{"EquipmentHeader":{"EquipmentID":"U-08","SerialNumber":"TF-8"},
"CumulativeOperatingHours":{"Hour":310.2,"datetime":"2026-11-25T12:00:00+01:00"}}]}"#;

fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

/// Runs a target over what is good, and over so many mutations of it.
fn mutated(target: fn(&[u8]), good: &[Vec<u8>], usual: u64) {
    let seed = number("CHOCK_TEST_SEED", 1);
    let mut random = StdRng::seed_from_u64(seed);
    good.iter().for_each(|file| target(file));
    for n in 0..number("CHOCK_TEST_MUTATIONS", usual) {
        let mut file = good[random.random_range(0..good.len())].clone();
        for _ in 0..random.random_range(1..6) {
            mutate(&mut random, &mut file);
        }
        let ran = std::panic::catch_unwind(|| target(&file));
        assert!(ran.is_ok(), "seed {seed}, mutation {n}: {:?}", String::from_utf8_lossy(&file));
    }
}

fn mutate(random: &mut StdRng, file: &mut Vec<u8>) {
    let at = random.random_range(0..=file.len());
    let to = (at + random.random_range(1..40)).min(file.len());
    match random.random_range(0..5) {
        0 if at < file.len() => file[at] ^= 1 << random.random_range(0..8),
        1 => drop(file.drain(at..to)),
        2 => {
            let twice = file[at..to].to_vec();
            file.splice(at..at, twice);
        }
        3 => file.truncate(at),
        _ => {
            let strewn = STREWN[random.random_range(0..STREWN.len())];
            file.splice(at..at, strewn.iter().copied());
        }
    }
}

#[test]
fn checklists() {
    let good: Vec<Vec<u8>> = SHIPPED.iter().map(|(_, source)| source.as_bytes().to_vec()).collect();
    mutated(targets::checklist_toml, &good, 400);
}

#[test]
fn tables() {
    let rows = "T-10,North yard,tractor,\"Blue, with loader\",TF-10,4512.5,,\r\nQ-4;x;y\n\"=1+1\",\"\"\"\",2026-11-25 06:30,12 EUR\n";
    let good = ImportKind::ALL.iter().map(|kind| format!("{}{rows}", kind.template()).into_bytes());
    mutated(targets::table_csv, &good.collect::<Vec<_>>(), 2_000);
}

#[test]
fn fleets() {
    mutated(targets::fleet_hours, &[FLEET.into(), FLEET_JSON.into()], 4_000);
}

#[test]
fn figures() {
    let good = ["100 kPa", "14,5 psi", "-3.5 °C", "1.2 mm", "0.35 L", "20 US qt", "1 h"]
        .map(|f| f.as_bytes().to_vec());
    mutated(targets::figure_with_unit, &good, 20_000);
}

#[test]
fn photos() {
    let picture = image::DynamicImage::ImageRgb8(image::RgbImage::from_fn(40, 30, |x, y| {
        image::Rgb([u8::try_from(x * 6).unwrap_or(0), u8::try_from(y * 8).unwrap_or(0), 90])
    }));
    let written = |format| {
        let mut file = Vec::new();
        picture.write_to(&mut Cursor::new(&mut file), format).unwrap();
        file
    };
    let jpeg = written(image::ImageFormat::Jpeg);
    let exif = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    let turned = [&jpeg[..2], &[0xff, 0xe1], &length, exif, &jpeg[2..]].concat();
    mutated(targets::photo, &[jpeg, turned, written(image::ImageFormat::Png)], 600);
}

/// A few bytes that promise a picture of 65,000 by 65,000: refused before anything is laid out for it.
#[test]
fn a_picture_that_swells_is_refused_at_once() {
    let mut file = Vec::new();
    image::RgbImage::new(2, 2).write_to(&mut Cursor::new(&mut file), image::ImageFormat::Png).unwrap();
    let header = file.windows(4).position(|w| w == b"IHDR").unwrap();
    file.splice(header + 4..header + 12, [0, 0, 0xfd, 0xe8, 0, 0, 0xfd, 0xe8]);
    let checksum = crc32(&file[header..header + 17]).to_be_bytes();
    file.splice(header + 17..header + 21, checksum);
    let refused = chock::http::picture::made_safe(&file);
    assert!(matches!(refused, Err(chock::http::photo_store::PhotoError::TooLarge)), "{refused:?}");
}

/// As PNG asks for (ISO/IEC 15948, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    })
}
