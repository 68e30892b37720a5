//! What a file may bring in: machines, people, parts and meter readings. Here a file becomes rows, or faults that each say
//! where and how to mend it; what the rows mean beside what is known already, `workflow` says.

pub mod cell;
pub mod hours_file;
pub mod sheet;

use super::words::words;
use crate::words::Text;

words! {
    ImportKind {
        Machines = "machines",
        People = "people",
        Parts = "parts",
        /// Of the hour meter.
        Readings = "readings",
    }
}

words! {
    /// What taking a row changes.
    ImportOutcome {
        Added = "added",
        Changed = "changed",
        AlreadySo = "already so",
    }
}

/// A column a file may have. Its name stands in the first line, in any order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    pub name: &'static str,
    pub needed: bool,
    /// The key of what belongs into it.
    pub about: &'static str,
    pub example: &'static str,
}

/// Something wrong in a file, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// From 1, as an editor counts; 0 for the file as a whole.
    pub line: u64,
    /// Empty where it is the whole line.
    pub column: String,
    pub sentence: Text,
}

pub const MOST_BYTES: usize = 2 * 1024 * 1024;
pub const MOST_ROWS: usize = 5_000;
/// Nobody reads more of them at once.
pub const MOST_FAULTS: usize = 200;

const fn column(name: &'static str, needed: bool, about: &'static str, example: &'static str) -> Column {
    Column { name, needed, about, example }
}

const MACHINES: &[Column] = &[
    column("unit number", true, "import-about-unit-number", "U-07"),
    column("yard", true, "import-about-yard", "North yard"),
    column("class", true, "import-about-class", "utility vehicle"),
    column("description", false, "import-about-description", "Two-seat, with winch"),
    column("serial", false, "import-about-serial", "TF-2201-884"),
    column("engine hours", false, "import-about-hours", "812.4"),
    column("standing", false, "import-about-standing", "fit for use"),
    column("retired", false, "import-about-retired", "2026-03-31"),
];
const PEOPLE: &[Column] = &[
    column("name", true, "import-about-name", "Maj Lind"),
    column("mail address", true, "import-about-mail", "maj@ternfield.example"),
    column("roles", true, "import-about-roles", "operator | mechanic"),
    column("yards", false, "import-about-yards", "North yard | South yard"),
    column("hourly rate", false, "import-about-rate", "45.00"),
    column("disabled", false, "import-about-disabled", "no"),
];
const PARTS: &[Column] = &[
    column("part number", true, "import-about-part-number", "BP-210"),
    column("name", true, "import-about-part-name", "Brake pad set, one axle"),
    column("unit", true, "import-about-part-unit", "set"),
    column("yard", true, "import-about-part-yard", "North yard"),
    column("bin", false, "import-about-bin", "A1"),
    column("on hand", false, "import-about-on-hand", "14"),
    column("worth", false, "import-about-worth", "518.00"),
];
const READINGS: &[Column] = &[
    column("unit number", true, "import-about-reading-unit", "U-07"),
    column("engine hours", true, "import-about-reading-hours", "815.0"),
    column("read at", true, "import-about-read-at", "2026-11-24 16:30"),
    column("confirmed", false, "import-about-confirmed", "no"),
];

impl ImportKind {
    pub const fn columns(self) -> &'static [Column] {
        match self {
            Self::Machines => MACHINES,
            Self::People => PEOPLE,
            Self::Parts => PARTS,
            Self::Readings => READINGS,
        }
    }

    /// A file with nothing but its first line, for filling in.
    pub fn template(self) -> String {
        let names: Vec<_> = self.columns().iter().map(|c| c.name).collect();
        format!("{}\r\n", names.join(","))
    }
}

impl Fault {
    pub fn new(line: u64, column: impl Into<String>, sentence: Text) -> Self {
        Self { line, column: column.into(), sentence }
    }

    /// "Line 12, engine hours: …"
    pub fn said(&self) -> Text {
        match (self.line, self.column.is_empty()) {
            (0, _) => self.sentence.clone(),
            (line, true) => said!("import-at-line", line = line.to_string(), sentence = self.sentence),
            (line, false) => said!(
                "import-at-cell",
                line = line.to_string(),
                column = self.column,
                sentence = self.sentence
            ),
        }
    }
}
