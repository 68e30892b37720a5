//! What was typed into a form that was not taken, and why, so that the form comes back with nothing lost.

use actix_web::http::StatusCode;

use super::error::PageError;
use super::form::Form;
use crate::domain::refusal::{Problem, Refusal};
use crate::http::status::status_of;
use crate::words::Text;
use crate::workflow::WorkflowError;

/// One line of the error summary; it leads to the field it speaks of.
#[derive(Clone, Debug)]
pub struct Shown {
    pub target: String,
    pub sentence: String,
    /// No answer is wrong: it was not done for another reason.
    pub of_all: bool,
}

impl Shown {
    /// Wrong with one field.
    pub fn at(target: impl Into<String>, sentence: String) -> Self {
        Self { target: target.into(), sentence, of_all: false }
    }

    /// Refused whatever the answers are.
    pub fn of_all(target: impl Into<String>, sentence: String) -> Self {
        Self { target: target.into(), sentence, of_all: true }
    }
}

/// A page has several forms. Each has a name; its fields have ids `<form>-<field>`.
#[derive(Clone, Debug)]
pub struct Typed {
    form: String,
    values: Form,
    pub problems: Vec<Shown>,
    pub status: StatusCode,
}

impl Typed {
    /// Nothing was sent yet.
    pub fn nothing() -> Self {
        Self { form: String::new(), values: Form::default(), problems: Vec::new(), status: StatusCode::OK }
    }

    /// What is known to be wrong with what is kept.
    pub fn told(problems: Vec<Shown>) -> Self {
        Self { problems, ..Self::nothing() }
    }

    /// What can be put right on the page itself comes back as the form; anything else is an error of its own.
    pub fn not_taken(form: &str, values: Form, error: WorkflowError) -> Result<Self, PageError> {
        let status = status_of(&error);
        let problems = match &error {
            WorkflowError::Refused(Refusal::Invalid { problems }) => {
                problems.iter().map(|p| Shown::at(target(form, &p.pointer), p.sentence.to_string())).collect()
            }
            WorkflowError::Refused(Refusal::Conflict(sentence) | Refusal::Forbidden(sentence)) => {
                vec![Shown::of_all(form, sentence.to_string())]
            }
            WorkflowError::Refused(soon @ Refusal::TooSoon { .. }) => {
                vec![Shown::of_all(form, soon.to_string())]
            }
            e if e.is_changed() => vec![Shown::of_all(form, t!("form-changed"))],
            _ => return Err(error.into()),
        };
        Ok(Self { form: form.to_owned(), values, problems, status })
    }

    /// As typed, if it was this form; else empty.
    pub fn value(&self, form: impl AsRef<str>, field: impl AsRef<str>) -> &str {
        self.value_or(form, field, "")
    }

    pub fn value_or<'a>(
        &'a self,
        form: impl AsRef<str>,
        field: impl AsRef<str>,
        otherwise: &'a str,
    ) -> &'a str {
        if self.is(form) && self.values.has(field.as_ref()) {
            self.values.text(field.as_ref())
        } else {
            otherwise
        }
    }

    /// Whether a box or radio with this value was ticked.
    pub fn ticked(&self, form: impl AsRef<str>, field: impl AsRef<str>, value: impl AsRef<str>) -> bool {
        self.is(form) && self.values.all(field.as_ref()).any(|v| v == value.as_ref())
    }

    /// For a box whose state is known from elsewhere until the form was sent.
    pub fn ticked_or(
        &self,
        form: impl AsRef<str>,
        field: impl AsRef<str>,
        value: impl AsRef<str>,
        otherwise: &bool,
    ) -> bool {
        if self.is(&form) { self.ticked(form, field, value) } else { *otherwise }
    }

    /// What is wrong with this field; empty when nothing is.
    pub fn error(&self, form: impl AsRef<str>, field: impl AsRef<str>) -> &str {
        let id = format!("{}-{}", form.as_ref(), field.as_ref());
        self.problems.iter().find(|p| p.target == id).map_or("", |p| p.sentence.as_str())
    }

    /// Whether this is the form that came back.
    pub fn is(&self, form: impl AsRef<str>) -> bool {
        !self.form.is_empty() && self.form == form.as_ref()
    }
}

/// A refusal of one field that the page itself finds.
pub fn refused(field: &str, sentence: impl Into<Text>) -> WorkflowError {
    WorkflowError::Refused(Refusal::Invalid {
        problems: vec![Problem { pointer: format!("/{field}"), sentence: sentence.into() }],
    })
}

fn target(form: &str, pointer: &str) -> String {
    format!("{form}-{}", pointer.trim_start_matches('/').replace('/', "-"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_comes_back_with_what_was_typed_and_only_that_form() {
        let form = Form::urlencoded(b"quantity=two&part=x").unwrap();
        let typed =
            Typed::not_taken("parts", form, refused("quantity", Text::typed("Give a figure."))).unwrap();
        assert_eq!(typed.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(typed.problems[0].target, "parts-quantity");
        assert_eq!(typed.value("parts", "quantity"), "two");
        assert_eq!(typed.error("parts", "quantity"), "Give a figure.");
        assert_eq!(typed.value("wait", "quantity"), "");
        assert_eq!(target("finish", "/defects/7/cause"), "finish-defects-7-cause");
    }
}
