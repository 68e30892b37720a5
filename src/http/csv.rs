//! Lists as files for a spreadsheet: RFC 4180, UTF-8. Text that a spreadsheet would run as a formula is made harmless;
//! numbers stay numbers.

use actix_web::HttpResponse;
use actix_web::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};

use crate::domain::import::cell::harmless;

pub enum Cell {
    Text(String),
    /// Figures and dates that we wrote ourselves: taken as they are.
    Figure(String),
}

pub struct Sheet {
    body: String,
}

impl Sheet {
    pub fn new(head: &[&str]) -> Self {
        let mut sheet = Self { body: String::new() };
        sheet.row(head.iter().map(|h| Cell::Text((*h).to_owned())));
        sheet
    }

    pub fn row(&mut self, cells: impl IntoIterator<Item = Cell>) {
        let cells: Vec<String> = cells.into_iter().map(|c| written(&c)).collect();
        self.body.push_str(&cells.join(","));
        self.body.push_str("\r\n");
    }

    pub fn into_response(self, file_name: &str) -> HttpResponse {
        HttpResponse::Ok()
            .insert_header((CONTENT_TYPE, "text/csv; charset=utf-8; header=present"))
            .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"{file_name}\"")))
            .body(self.body)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

fn written(cell: &Cell) -> String {
    let text = match cell {
        Cell::Figure(text) => text.clone(),
        Cell::Text(text) => harmless(text),
    };
    if text.contains(['"', ',', '\r', '\n']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quoting as RFC 4180 section 2, rules 5 to 7, has it.
    #[test]
    fn quotes_commas_breaks_and_formulas() {
        let mut sheet = Sheet::new(&["a", "b"]);
        sheet.row([Cell::from("b \"b\" b"), Cell::from("1, 2\r\n3")]);
        sheet.row([Cell::from("=1+1"), Cell::Figure("-12.50".to_owned())]);
        sheet.row([Cell::from("@x,y"), Cell::from("")]);
        assert_eq!(sheet.body, "a,b\r\n\"b \"\"b\"\" b\",\"1, 2\r\n3\"\r\n'=1+1,-12.50\r\n\"'@x,y\",\r\n");
    }
}
