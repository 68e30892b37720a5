//! The tag as it comes out of a printer: one A5 sheet that can be read from where a driver stands, with a symbol that
//! leads to the machine. Printed by the browser, read back with poppler's and zbar's programs.
//!
//! 29 CFR 1910.145(f), from memory: (f)(4)(i) a signal word and a major message; (ii) the signal word is readable at five
//! feet (1.52 m) or more; (iv) both are understandable to everybody who may be exposed; appendix A: DANGER is
//! predominantly red with lettering in a contrasting colour.

use std::path::{Path, PathBuf};
use std::process::Command;

use chock::domain::checklist::System;
use chock::domain::ids::MachineId;
use chock::domain::risk::Answers;
use chock::workflow::{self, NewMachine, ReportDefect};
use image::RgbImage;

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_tag_can_be_read_by_whoever_stands_before_the_machine() {
    let b = Bench::new(Engine::Sqlite).await;
    b.ground(b.machine).await;
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let desk = Screen::open(&driver, Device::Desk, true, &served.url).await;
    desk.go(&format!("/machines/{}/tag", b.machine)).await;
    desk.sign_in("olga@yard.example", PASSWORD).await;
    let tag = Printed::new(&desk, "tag").await;

    for words in [
        "DANGER",
        "DO NOT USE",
        "U-07",
        "utility vehicle, North yard",
        "Fuel and injection lines, left side",
        "Otto Operator",
        // Six in the morning UTC, on the yard's clock.
        "25 November 2026, 07:00",
        "isolates no energy",
        "Do not remove this tag",
    ] {
        assert!(tag.text.contains(words), "{words:?} is not on the tag: {}", tag.text);
    }
    for words in ["Sign out", "Back to", "Print it on A5"] {
        assert!(!tag.text.contains(words), "{words:?} is for the screen: {}", tag.text);
    }
    tag.is_one_sheet_of_a5();
    for word in ["DANGER", "NOT", "USE", "U-07"] {
        tag.is_legible(word);
    }
    let [red, green, blue] = tag.ground_of("DANGER");
    assert!(red > 100 && red > 3 * green.max(blue), "DANGER stands on red, not on {red} {green} {blue}");
    assert_eq!(tag.symbol(), format!("{}/machines/{}", served.url, b.machine));
    desk.window.go(&tag.symbol()).await;
    desk.says("Out of service").await;
    desk.window.close().await;
    served.stop().await;
}

/// (f)(6) and appendix A, from memory: WARNING stands for less than DANGER, and is predominantly orange.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_lesser_hazard_is_a_warning() {
    let b = Bench::new(Engine::Sqlite).await;
    let reported = ReportDefect {
        id: b.workshop.ambient.id(),
        machine: b.machine,
        what: "Loses coolant at the hose".to_owned(),
        answers: Answers { affects: Some(System::Cooling), ..Answers::default() },
    };
    workflow::report_defect(&b.workshop, &b.operator, reported).await.unwrap();
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let desk = Screen::open(&driver, Device::Desk, true, &served.url).await;
    desk.go(&format!("/machines/{}/tag", b.machine)).await;
    desk.sign_in("olga@yard.example", PASSWORD).await;
    let tag = Printed::new(&desk, "warning").await;
    tag.is_one_sheet_of_a5();
    assert!(!tag.text.contains("DANGER"), "{}", tag.text);
    for word in ["WARNING", "NOT", "USE"] {
        tag.is_legible(word);
    }
    let [red, green, blue] = tag.ground_of("WARNING");
    assert!(red > 200 && green > 90 && green < 190 && blue < 90, "orange, not {red} {green} {blue}");
    desk.window.close().await;
    served.stop().await;
}

/// The longest unit number, and more reasons than there is room for: printed from a phone.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_crowded_tag_is_still_one_sheet() {
    let b = Bench::new(Engine::Sqlite).await;
    let unit_number = "MW-WOODLAND-LOADER 12-07";
    let new = NewMachine {
        yard: b.yard,
        unit_number: unit_number.to_owned(),
        class: "compact tractor with front loader".to_owned(),
        description: String::new(),
        serial: String::new(),
        engine_hours: None,
    };
    let machine: MachineId = workflow::add_machine(&b.workshop, &b.owner, new).await.unwrap();
    for n in 1..=5 {
        b.wait(1);
        let reason = format!("Reason {n}: {}", "wide words make woefully many lines, ".repeat(7));
        let id = b.workshop.ambient.id();
        workflow::place_hold(&b.workshop, &b.operator, id, machine, &reason).await.unwrap();
    }
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let phone = Screen::open(&driver, Device::Phone, true, &served.url).await;
    phone.go(&format!("/machines/{machine}/tag")).await;
    phone.sign_in("olga@yard.example", PASSWORD).await;
    let tag = Printed::new(&phone, "crowded-tag").await;
    tag.is_one_sheet_of_a5();
    // It may be broken at a hyphen.
    let text = tag.text.replace("- ", "-");
    for words in [unit_number, "Reason 1", "Reason 3", "and 2 more", "Otto Operator", "isolates no energy"] {
        assert!(text.contains(words), "{words:?} is not on the tag: {text}");
    }
    assert!(!tag.text.contains("Reason 4"), "{}", tag.text);
    for word in ["DANGER", "NOT", "USE", "12-07"] {
        tag.is_legible(word);
    }
    assert_eq!(tag.symbol(), format!("{}/machines/{machine}", served.url));
    phone.window.close().await;
    served.stop().await;
}

/// The labels of both machines on one sheet, each with a symbol that opens its own machine.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn labels_lead_to_their_machines() {
    let b = Bench::new(Engine::Sqlite).await;
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let desk = Screen::open(&driver, Device::Desk, true, &served.url).await;
    desk.go("/machines/labels").await;
    desk.sign_in("olga@yard.example", PASSWORD).await;
    let sheet = Printed::new(&desk, "labels").await;
    for words in ["U-07", "U-08", "utility vehicle", "Check before use"] {
        assert!(sheet.text.contains(words), "{words:?} is not on the sheet: {}", sheet.text);
    }
    assert!(!sheet.text.contains("Stick one"), "that is for the screen: {}", sheet.text);
    let mut read: Vec<String> = sheet.symbol().lines().map(str::to_owned).collect();
    let mut machines = [b.machine, b.second_machine].map(|m| format!("{}/machines/{m}", served.url));
    read.sort();
    machines.sort();
    assert_eq!(read, machines);
    desk.window.close().await;
    served.stop().await;
}

/// Dots of the rendered sheet to the inch, and points of PDF.
const DOTS: f64 = 300.0;
const POINTS: f64 = 72.0;
const MILLIMETRES: f64 = 25.4;

struct Printed {
    text: String,
    /// Of `pdfinfo`.
    facts: String,
    words: Vec<Word>,
    image: RgbImage,
    png: PathBuf,
}

/// In points from the top left corner.
#[derive(Debug)]
pub struct Word {
    text: String,
    left: f64,
    pub top: f64,
    right: f64,
    pub bottom: f64,
}

impl Printed {
    async fn new(screen: &Screen, name: &str) -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
        let (pdf, stem) = (folder.join(format!("{name}.pdf")), folder.join(name));
        std::fs::write(&pdf, screen.window.printed().await).expect("a file");
        let pdf = pdf.to_str().expect("a path in letters");
        let stem = stem.to_str().expect("a path in letters");
        let text = said("pdftotext", &["-layout", pdf, "-"]).split_whitespace().collect::<Vec<_>>().join(" ");
        said("pdftoppm", &["-r", &format!("{DOTS}"), "-png", "-singlefile", pdf, stem]);
        let png = PathBuf::from(format!("{stem}.png"));
        let image = image::open(&png).expect("a picture").to_rgb8();
        let words = said("pdftotext", &["-bbox", pdf, "-"]).lines().filter_map(Word::read).collect();
        Self { text, facts: said("pdfinfo", &[pdf]), words, image, png }
    }

    /// ISO 216: A5 is 148 mm by 210 mm.
    fn is_one_sheet_of_a5(&self) {
        let fact = |name: &str| {
            let line = self.facts.lines().find_map(|l| l.strip_prefix(name)).expect("pdfinfo says so");
            line.split_whitespace().filter_map(|w| w.parse::<f64>().ok()).collect::<Vec<_>>()
        };
        assert_eq!(fact("Pages:"), [1.0], "{}", self.facts);
        let size: Vec<f64> = fact("Page size:").iter().map(|p| (p / POINTS * MILLIMETRES).round()).collect();
        assert_eq!(size, [148.0, 210.0]);
    }

    /// Letters at least a two-hundredth of the distance: a rule of thumb for signs in poor light, from memory. At five feet
    /// that is 7.6 mm.
    fn is_legible(&self, word: &str) {
        let least = 5.0 * 12.0 * MILLIMETRES / 200.0;
        let height = self.height_of(word);
        assert!(height >= least, "{word} is {height:.1} mm high, less than {least:.1} mm");
    }

    /// Height of the word's capitals or figures in mm, measured on the ink: the longest upright stroke in its box.
    fn height_of(&self, word: &str) -> f64 {
        let w = self.word(word);
        let [left, top, right, bottom] = self.dots(w);
        let ground = luminance(self.ground_of(word));
        let differs = |x: u32, y: u32| (luminance(self.image.get_pixel(x, y).0) - ground).abs() > 0.3;
        let strokes = (left..right).map(|x| {
            let column: Vec<bool> = (top..bottom).map(|y| differs(x, y)).collect();
            // What touches the edge of the box lies beyond the panel that the word stands on.
            let inner = column.iter().position(|ink| !ink).map_or(&[][..], |first| &column[first..]);
            let inner = inner.iter().rposition(|ink| !ink).map_or(&[][..], |last| &inner[..last]);
            inner.split(|ink| !ink).map(<[bool]>::len).max().unwrap_or_default()
        });
        let longest = strokes.max().unwrap_or_default();
        f64::from(u32::try_from(longest).expect("a sheet is small")) / DOTS * MILLIMETRES
    }

    /// The colour beside the word's first letter, inside its box.
    fn ground_of(&self, word: &str) -> [u8; 3] {
        let [left, top, _, bottom] = self.dots(self.word(word));
        self.image.get_pixel(left.saturating_sub(4), u32::midpoint(top, bottom)).0
    }

    fn word(&self, text: &str) -> &Word {
        self.words.iter().find(|w| w.text == text).unwrap_or_else(|| panic!("no {text} in {:?}", self.words))
    }

    fn dots(&self, w: &Word) -> [u32; 4] {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a place on a small sheet"
        )]
        [w.left, w.top, w.right, w.bottom].map(|points| (points.max(0.0) / POINTS * DOTS) as u32)
    }

    /// What a phone reads off it.
    fn symbol(&self) -> String {
        said("zbarimg", &["--quiet", "--raw", self.png.to_str().expect("a path in letters")])
            .trim()
            .to_owned()
    }
}

impl Word {
    /// `<word xMin="…" yMin="…" xMax="…" yMax="…">DANGER</word>`
    pub fn read(line: &str) -> Option<Self> {
        let mut parts = line.trim().strip_prefix("<word ")?.split('"');
        let mut figure = || parts.nth(1)?.parse::<f64>().ok();
        let (left, top, right, bottom) = (figure()?, figure()?, figure()?, figure()?);
        let text = parts.next()?.strip_prefix('>')?.strip_suffix("</word>")?.to_owned();
        Some(Self { text, left, top, right, bottom })
    }
}

/// Roughly, from 0 to 1: enough to tell ink from ground.
fn luminance([red, green, blue]: [u8; 3]) -> f64 {
    (0.2126 * f64::from(red) + 0.7152 * f64::from(green) + 0.0722 * f64::from(blue)) / 255.0
}

/// What a program says when it is content.
pub fn said(program: &str, arguments: &[&str]) -> String {
    let done = Command::new(program).args(arguments).output();
    let done = done.unwrap_or_else(|e| panic!("{program}: {e}: tests/run --set-up installs it"));
    assert!(done.status.success(), "{program} {arguments:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8_lossy(&done.stdout).into_owned()
}
