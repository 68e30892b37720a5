//! One cell of a file for a spreadsheet, on its way out and back.

/// What a spreadsheet would run as a formula.
const RUNS: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\n'];

/// With a mark before what would run, so that it is shown as text. [`as_meant`] takes it off again.
pub fn harmless(text: &str) -> String {
    if is_marked(text) || text.starts_with(RUNS) { format!("'{text}") } else { text.to_owned() }
}

/// As it was before [`harmless`].
pub fn as_meant(cell: &str) -> &str {
    if is_marked(cell) { &cell[1..] } else { cell }
}

/// Whether it looks as if [`harmless`] had written it.
fn is_marked(text: &str) -> bool {
    let rest = text.trim_start_matches('\'');
    rest.len() < text.len() && rest.starts_with(RUNS)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn what_would_run_is_text_and_comes_back() {
        // OWASP, "CSV Injection": the characters a cell must not begin with.
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "\nx", "'=1", "''-x"] {
            let out = harmless(text);
            assert!(out.starts_with('\''), "{text:?}");
            assert_eq!(as_meant(&out), text);
        }
        for text in ["", "'", "'quoted'", "U-07", "1=1", "O'Neil"] {
            assert_eq!((harmless(text).as_str(), as_meant(text)), (text, text));
        }
    }

    proptest! {
        #[test]
        fn every_text_comes_back(text in "['=+@\\-\t\r\na-c]{0,6}") {
            let out = harmless(&text);
            prop_assert!(!out.starts_with(RUNS));
            prop_assert_eq!(as_meant(&out), text);
        }
    }
}
