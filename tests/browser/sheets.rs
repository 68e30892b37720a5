//! The sheets for an ordinary printer, on both papers of the world: the work sheet, the return-to-service note and the
//! record of a machine. Printed by the browser, read back with poppler's and zbar's programs.
//!
//! ISO 216: A4 is 210 mm by 297 mm. ANSI/ASME Y14.1, from memory: Letter is 8.5 in by 11 in.

use std::path::{Path, PathBuf};

use chock::domain::ids::WorkOrderId;
use chock::workflow;
use image::RgbImage;
use serde_json::json;

use super::driver::{Device, Driver};
use super::on_paper::{Word, said};
use super::screen::Screen;
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD, at};

const PAPERS: [(&str, [f64; 2]); 2] = [("a4", [210.0 / 25.4, 297.0 / 25.4]), ("letter", [8.5, 11.0])];
/// Dots to the inch.
const DOTS: f64 = 150.0;
/// Many printers leave a quarter of an inch white, whatever they are sent.
const WHITE: f64 = 0.25;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_work_sheet_says_what_failed_and_leaves_room() {
    let b = Bench::new(Engine::Sqlite).await;
    let order = worn_pad(&b).await;
    let part = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap().parts[0].name.clone();
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let desk = signed_in(&driver, &served).await;
    desk.go(&format!("/work-orders/{order}")).await;
    desk.press("Work sheet to print").await;
    for (paper, size) in PAPERS {
        let sheet = Sheets::new(&desk, &format!("work-sheet-{paper}"), size).await;
        for words in [
            "U-07",
            "Work order 1",
            "North yard",
            "CAUTION",
            "isolates no energy",
            "Brake pad, front left",
            "1.2 mm",
            "at least 1.5 mm",
            "Grinds downhill",
            "At the retest",
            "Cause",
            "Remedy",
            "Repaired by",
            "Retested by",
            "Signature",
            "No signature on this sheet releases U-07",
            &part,
        ] {
            assert!(sheet.text.contains(words), "{words:?} is not on the sheet: {}", sheet.text);
        }
        for words in ["Sign out", "Back to", "For A4 or Letter"] {
            assert!(!sheet.text.contains(words), "{words:?} is for the screen: {}", sheet.text);
        }
        sheet.keeps_its_margins();
        sheet.is_black_on_white();
        assert_eq!(sheet.symbol(), format!("{}/machines/{}", served.url, b.machine));
    }
    // What is counted stands in a form, and is printed all the same.
    desk.go("/store/count").await;
    Sheets::new(&desk, "stock-take", PAPERS[0].1).await.says(&["Brake pad set", "BP-1", "Counted"]);
    desk.window.close().await;
    served.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_note_and_the_record_are_whole_on_both_papers() {
    let b = Bench::new(Engine::Sqlite).await;
    let order = worn_pad(&b).await;
    b.repair(order).await;
    b.wait(1);
    b.pass_retests(order).await;
    let braked = "Braked twice from 20 km/h on the level and once on the ramp, and it holds on the slope";
    workflow::release(&b.workshop, &b.supervisor, order, braked).await.unwrap();
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let desk = signed_in(&driver, &served).await;
    for (paper, size) in PAPERS {
        desk.go(&format!("/work-orders/{order}/note")).await;
        let note = Sheets::new(&desk, &format!("note-{paper}"), size).await;
        note.says(&["U-07", "Return to service", "Sara Supervisor", "Mats Mechanic", braked]);
        note.keeps_its_margins();
        desk.go(&format!("/machines/{}/record", b.machine)).await;
        let record = Sheets::new(&desk, &format!("record-{paper}"), size).await;
        record.says(&["U-07", "Record", "Newest first", "Otto", "Sara", "it holds on the slope"]);
        record.keeps_its_margins();
    }
    // What is too wide for the sheet is seen to be.
    let wide = "for (const t of document.querySelectorAll('main table')) t.style.width = '300mm'";
    desk.window.run(wide, &json!([])).await.expect("a style");
    let spoilt = Sheets::new(&desk, "record-too-wide", PAPERS[0].1).await;
    assert!(spoilt.ink_in_the_margins() > 0 || spoilt.is_shrunk(), "nobody would see it");
    desk.window.close().await;
    served.stop().await;
}

/// Grounded by a brake pad below its limit, with a part set aside for it.
async fn worn_pad(b: &Bench) -> WorkOrderId {
    let mut check = b.check(b.machine, 12_010);
    let pad = at(&mut check.answers, "brake-pad", "front-left");
    (pad.value, pad.unit) = (Some("1.2".into()), Some("mm".into()));
    pad.note = Some("Grinds downhill".into());
    let order = b.submit(check).await.work_order.expect("a work order");
    workflow::reserve_part(&b.workshop, &b.supervisor, order, b.part, "2").await.unwrap();
    order
}

async fn signed_in(driver: &Driver, served: &Served) -> Screen {
    let desk = Screen::open(driver, Device::Desk, true, &served.url).await;
    desk.go("/machines").await;
    desk.sign_in("olga@yard.example", PASSWORD).await;
    desk
}

/// All the sheets of one page.
struct Sheets {
    text: String,
    images: Vec<RgbImage>,
    first: PathBuf,
    /// Points from the top to the bottom of the smallest word.
    lowest: f64,
    size: [f64; 2],
}

impl Sheets {
    async fn new(screen: &Screen, name: &str, size: [f64; 2]) -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
        let pdf = folder.join(format!("{name}.pdf"));
        std::fs::write(&pdf, screen.window.printed_on(size).await).expect("a file");
        let pdf = pdf.to_str().expect("a path in letters");
        let text = said("pdftotext", &["-layout", pdf, "-"]).split_whitespace().collect::<Vec<_>>().join(" ");
        let facts = said("pdfinfo", &[pdf]);
        let pages: u32 = facts
            .lines()
            .find_map(|l| l.strip_prefix("Pages:")?.trim().parse().ok())
            .expect("pdfinfo counts them");
        let mut images = Vec::new();
        let mut first = None;
        for page in 1..=pages {
            let stem = folder.join(format!("{name}-{page}"));
            let (stem, page) = (stem.to_str().expect("a path in letters"), page.to_string());
            let dots = format!("{DOTS}");
            said("pdftoppm", &["-r", &dots, "-png", "-singlefile", "-f", &page, "-l", &page, pdf, stem]);
            let png = PathBuf::from(format!("{stem}.png"));
            images.push(image::open(&png).expect("a picture").to_rgb8());
            first.get_or_insert(png);
        }
        let words = said("pdftotext", &["-bbox", pdf, "-"]);
        let heights = words.lines().filter_map(Word::read).map(|w| w.bottom - w.top);
        let lowest = heights.fold(f64::INFINITY, f64::min);
        Self { text, images, first: first.expect("a page"), lowest, size }
    }

    fn says(&self, all: &[&str]) {
        for words in all {
            assert!(self.text.contains(words), "{words:?} is not on the sheet: {}", self.text);
        }
    }

    /// On every sheet, of this size; and something is on each.
    fn keeps_its_margins(&self) {
        for image in &self.images {
            for (dots, inches) in [image.width(), image.height()].into_iter().zip(self.size) {
                assert!((f64::from(dots) - inches * DOTS).abs() <= 2.0, "{dots} dots are not {inches} in");
            }
            assert!(image.pixels().filter(|p| is_ink(p.0)).count() > 500, "an empty sheet");
        }
        assert_eq!(self.ink_in_the_margins(), 0, "see {}", self.first.display());
        assert!(!self.is_shrunk(), "see {}", self.first.display());
    }

    fn ink_in_the_margins(&self) -> usize {
        let inked = |image: &RgbImage| {
            let (right, bottom) = (f64::from(image.width()), f64::from(image.height()));
            let near = WHITE * DOTS;
            let beside = |x: f64, y: f64| x < near || y < near || x > right - near || y > bottom - near;
            image
                .enumerate_pixels()
                .filter(|(x, y, p)| beside(f64::from(*x), f64::from(*y)) && is_ink(p.0))
                .count()
        };
        self.images.iter().map(inked).sum()
    }

    /// A browser makes everything smaller when something does not fit the width. Eight points are small print; a line of
    /// type is a good seventh higher than its size.
    fn is_shrunk(&self) -> bool {
        self.lowest < 8.0 * 1.16
    }

    fn is_black_on_white(&self) {
        for p in self.images.iter().flat_map(|i| i.pixels()) {
            let [red, green, blue] = p.0;
            let apart = red.max(green).max(blue) - red.min(green).min(blue);
            assert!(apart < 16, "a colour: {:?}, see {}", p.0, self.first.display());
        }
    }

    /// What a phone reads off the first sheet.
    fn symbol(&self) -> String {
        said("zbarimg", &["--quiet", "--raw", self.first.to_str().expect("a path in letters")])
            .trim()
            .to_owned()
    }
}

fn is_ink(colour: [u8; 3]) -> bool {
    colour.iter().any(|c| *c < 200)
}
