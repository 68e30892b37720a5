//! Why something was not done, in a sentence that can be shown as it is.

use super::person::{Act, Actor};
use crate::words::Text;

/// Nothing was changed. `http` has the one table from these to a status.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The person came in by PIN, and this asks for the password.
    #[error("You came in by PIN. To {} takes your password: sign in with it first.", .0.in_words())]
    PasswordFirst(Act),
    /// The person's roles or yards do not allow it.
    #[error("{0}")]
    Forbidden(Text),
    #[error("there is no such {0}, or it is not in one of your yards")]
    NotFound(&'static str),
    /// It clashes with what is already so.
    #[error("{0}")]
    Conflict(Text),
    #[error("{}", problems.iter().map(|p| p.sentence.here()).collect::<Vec<_>>().join(" "))]
    Invalid { problems: Vec<Problem> },
}

/// One thing wrong with what was sent: where (an RFC 6901 pointer into it), what, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Problem {
    pub pointer: String,
    pub sentence: Text,
}

impl Refusal {
    pub fn not_allowed(act: Act) -> Self {
        let roles: Vec<_> = act.roles().iter().map(|r| r.as_str()).collect();
        Refusal::Forbidden(
            format!("To {} takes one of these roles: {}.", act.in_words(), roles.join(", ")).into(),
        )
    }

    pub fn invalid(pointer: impl Into<String>, sentence: impl Into<Text>) -> Self {
        Refusal::Invalid { problems: vec![Problem { pointer: pointer.into(), sentence: sentence.into() }] }
    }

    pub fn conflict(sentence: impl Into<Text>) -> Self {
        Refusal::Conflict(sentence.into())
    }
}

impl Actor {
    /// Refuses when the actor's roles do not allow the act, or a PIN is not enough for it.
    pub fn must(&self, act: Act) -> Result<(), Refusal> {
        self.must_have_role_for(act)?;
        if self.by_pin && act.asks_for_password() { Err(Refusal::PasswordFirst(act)) } else { Ok(()) }
    }

    /// For what then asks for the password itself.
    pub fn must_have_role_for(&self, act: Act) -> Result<(), Refusal> {
        if self.may(act) { Ok(()) } else { Err(Refusal::not_allowed(act)) }
    }
}

/// Text a person typed: trimmed, not empty, of a sane length, without control characters that could break a line.
pub fn plain_text(pointer: &str, what: impl Into<Text>, text: &str, most: usize) -> Result<String, Refusal> {
    let what = what.into();
    let text = optional_text(pointer, what.clone(), text, most)?;
    if text.is_empty() {
        return Err(Refusal::invalid(pointer, format!("Give {what}.")));
    }
    Ok(text)
}

/// As [`plain_text`], but may be empty.
pub fn optional_text(
    pointer: &str,
    what: impl Into<Text>,
    text: &str,
    most: usize,
) -> Result<String, Refusal> {
    let (what, text) = (what.into(), text.trim());
    if text.chars().count() > most {
        return Err(Refusal::invalid(pointer, format!("Shorten {what} to {most} characters.")));
    }
    if text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
        return Err(Refusal::invalid(pointer, format!("Take the control characters out of {what}.")));
    }
    Ok(text.replace("\r\n", "\n"))
}
