//! What differs between two versions, as lines of a list.

use crate::domain::checklist_draft::{Difference, How};

pub struct Differs {
    pub how: String,
    pub what: String,
    pub lines: Vec<String>,
}

pub fn differs(d: &Difference) -> Differs {
    let how = match d.how {
        How::Added => t!("drafts-added"),
        How::Removed => t!("drafts-removed"),
        How::Changed => t!("drafts-changed"),
    };
    Differs { how, what: d.what.to_string(), lines: d.lines.iter().map(ToString::to_string).collect() }
}
