//! The fields of a form about one part of a draft: what is kept of it, or what was sent and not taken, and what is
//! wrong with each.

use crate::domain::checklist_draft::DraftFault;
use crate::http::pages::form::Form;
use crate::http::pages::typed::Shown;

/// One field as it is shown.
pub struct Field {
    pub kind: Shape,
    pub name: String,
    pub label: String,
    pub hint: String,
    pub value: String,
    pub options: Vec<Choice>,
    pub wrong: Vec<String>,
    /// Fields beside one another.
    pub row: Vec<Field>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    Heading,
    Line,
    /// One line, with the number pad.
    Figure,
    Lines,
    Select,
    Answers,
    Ticks,
    Row,
}

pub struct Choice {
    pub value: String,
    pub words: String,
    pub chosen: bool,
}

/// Makes fields of what is kept, or of what was sent.
pub struct Asking<'a> {
    pub sent: Option<&'a Form>,
    pub faults: Vec<&'a DraftFault>,
}

impl Field {
    pub fn is(&self, shape: &str) -> bool {
        shape
            == match self.kind {
                Shape::Heading => "heading",
                Shape::Line => "line",
                Shape::Figure => "figure",
                Shape::Lines => "lines",
                Shape::Select => "select",
                Shape::Answers => "answers",
                Shape::Ticks => "ticks",
                Shape::Row => "row",
            }
    }
}

impl Asking<'_> {
    pub fn heading(&self, name: &str, label: impl Into<String>, hint: impl Into<String>) -> Field {
        self.field(Shape::Heading, name, label, hint, "")
    }

    pub fn line(&self, name: &str, label: impl Into<String>, hint: impl Into<String>, kept: &str) -> Field {
        self.field(Shape::Line, name, label, hint, kept)
    }

    /// A plain figure: never below nought, and without a unit.
    pub fn figure(&self, name: &str, label: impl Into<String>, kept: &str) -> Field {
        self.field(Shape::Figure, name, label, "", kept)
    }

    pub fn lines(&self, name: &str, label: impl Into<String>, hint: impl Into<String>, kept: &str) -> Field {
        self.field(Shape::Lines, name, label, hint, kept)
    }

    /// Value and words of each option.
    pub fn select(
        &self,
        name: &str,
        label: impl Into<String>,
        hint: impl Into<String>,
        options: Vec<(String, String)>,
        kept: &str,
    ) -> Field {
        self.choose(Shape::Select, name, label, hint, options, kept)
    }

    /// As [`Asking::select`], as big answers.
    pub fn answers(
        &self,
        name: &str,
        label: impl Into<String>,
        options: Vec<(String, String)>,
        kept: &str,
    ) -> Field {
        self.choose(Shape::Answers, name, label, "", options, kept)
    }

    /// Boxes of which any number may be ticked.
    pub fn ticks(
        &self,
        name: &str,
        label: impl Into<String>,
        hint: impl Into<String>,
        options: Vec<(String, String)>,
        kept: &[&str],
    ) -> Field {
        let mut field = self.field(Shape::Ticks, name, label, hint, "");
        field.options = options
            .into_iter()
            .map(|(value, words)| Choice {
                chosen: match self.sent {
                    Some(sent) => sent.all(name).any(|v| v == value),
                    None => kept.contains(&value.as_str()),
                },
                value,
                words,
            })
            .collect();
        field
    }

    pub fn row(&self, name: &str, label: impl Into<String>, row: Vec<Field>) -> Field {
        Field { row, ..self.field(Shape::Row, name, label, "", "") }
    }

    /// What is wrong, for the summary; what has no field of its own leads to the form.
    pub fn problems(&self, form: &str) -> Vec<Shown> {
        let target = |field: &str| if field.is_empty() { form.to_owned() } else { format!("f-{field}") };
        self.faults.iter().map(|f| Shown::at(target(&f.field), f.sentence.to_string())).collect()
    }

    fn choose(
        &self,
        kind: Shape,
        name: &str,
        label: impl Into<String>,
        hint: impl Into<String>,
        options: Vec<(String, String)>,
        kept: &str,
    ) -> Field {
        let mut field = self.field(kind, name, label, hint, kept);
        let chosen = field.value.clone();
        field.options = options
            .into_iter()
            .map(|(value, words)| Choice { chosen: value == chosen, value, words })
            .collect();
        // A word that is no option any more is shown rather than lost.
        if !chosen.is_empty() && !field.options.iter().any(|o| o.chosen) {
            field.options.push(Choice { words: chosen.clone(), value: chosen, chosen: true });
        }
        field
    }

    fn field(
        &self,
        kind: Shape,
        name: &str,
        label: impl Into<String>,
        hint: impl Into<String>,
        kept: &str,
    ) -> Field {
        let value = self.sent.map_or(kept, |sent| sent.text(name)).to_owned();
        let wrong = self.faults.iter().filter(|f| f.field == name);
        Field {
            kind,
            name: name.to_owned(),
            label: label.into(),
            hint: hint.into(),
            value,
            options: Vec::new(),
            wrong: wrong.map(|f| f.sentence.to_string()).collect(),
            row: Vec::new(),
        }
    }
}

/// Options whose words are their values.
pub fn words<'w>(all: impl Iterator<Item = &'w str>) -> Vec<(String, String)> {
    all.map(|w| (w.to_owned(), w.to_owned())).collect()
}

/// Words of a closed vocabulary: as it is kept, and as it is read here.
pub fn spoken(all: impl Iterator<Item = (&'static str, String)>) -> Vec<(String, String)> {
    all.map(|(word, here)| (word.to_owned(), here)).collect()
}

/// The same, after one that says nothing.
pub fn words_or(nothing: String, all: Vec<(String, String)>) -> Vec<(String, String)> {
    std::iter::once((String::new(), nothing)).chain(all).collect()
}
