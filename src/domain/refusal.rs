//! Why something was not done, in a sentence that can be shown as it is.

use std::fmt;

use super::person::{Act, Actor};
use super::words::words;
use crate::words::Text;

/// Nothing was changed. `http` has the one table from these to a status.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// The person came in by PIN, and this asks for the password.
    PasswordFirst(Act),
    /// The password was given too long ago to sign with.
    PasswordAgain(Act),
    /// The password was right; the code of the second step is needed as well.
    CodeFirst,
    /// The owner asks for a second step, which this person has to set up first.
    SecondStepFirst,
    /// The person's roles or yards do not allow it.
    Forbidden(Text),
    NotFound(Thing),
    /// Tried too often: not before so many seconds.
    TooSoon {
        seconds: i64,
    },
    /// It clashes with what is already so.
    Conflict(Text),
    Invalid {
        problems: Vec<Problem>,
    },
}

words! {
    /// What was looked for in vain.
    Thing {
        Absence = "absence",
        Alert = "alert",
        Calendar = "calendar",
        Check = "check",
        Checklist = "checklist",
        Defect = "defect",
        Device = "device",
        Draft = "draft",
        Hold = "hold",
        Item = "item of the check",
        Labour = "time entry",
        Machine = "machine",
        Part = "part",
        PartOfDraft = "part of the draft",
        Passkey = "passkey",
        Person = "person",
        Photo = "photo",
        SignIn = "sign-in",
        Webhook = "webhook",
        WorkOrder = "work order",
        Yard = "yard",
    }
}

/// One thing wrong with what was sent: where (an RFC 6901 pointer into it), what, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Problem {
    pub pointer: String,
    pub sentence: Text,
}

impl Refusal {
    pub fn not_allowed(act: Act) -> Self {
        let roles = Text::each(|lang| {
            let roles = act.roles().iter().map(|r| t_in!(lang, &r.key()));
            roles.collect::<Vec<_>>().join(", ")
        });
        Refusal::Forbidden(said!("refusal-takes-a-role", act = act, roles = roles, count = act.roles().len()))
    }

    pub fn invalid(pointer: impl Into<String>, sentence: impl Into<Text>) -> Self {
        Refusal::Invalid { problems: vec![Problem::new(pointer, sentence)] }
    }

    pub fn conflict(sentence: impl Into<Text>) -> Self {
        Refusal::Conflict(sentence.into())
    }

    /// In every language.
    pub fn said(&self) -> Text {
        match self {
            Refusal::PasswordFirst(act) => said!("refusal-password-first", act = act),
            Refusal::PasswordAgain(act) => said!("refusal-password-again", act = act),
            Refusal::CodeFirst => said!("second-step-code-first"),
            Refusal::SecondStepFirst => said!("second-step-set-up-first"),
            Refusal::TooSoon { seconds } => said!("refusal-too-soon", seconds = *seconds),
            Refusal::NotFound(thing) => said!("refusal-not-found", thing = thing),
            Refusal::Forbidden(sentence) | Refusal::Conflict(sentence) => sentence.clone(),
            Refusal::Invalid { problems } => Text::joined(problems.iter().map(|p| &p.sentence), " "),
        }
    }
}

/// In the language of whoever is being answered.
impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.said().fmt(f)
    }
}

impl std::error::Error for Refusal {}

impl Problem {
    pub fn new(pointer: impl Into<String>, sentence: impl Into<Text>) -> Self {
        Self { pointer: pointer.into(), sentence: sentence.into() }
    }
}

impl Actor {
    /// Refuses when the actor's roles do not allow the act, a PIN is not enough for it, or it is a signature and the
    /// password was given long ago.
    pub fn must(&self, act: Act) -> Result<(), Refusal> {
        self.must_have_role_for(act)?;
        if self.by_pin && act.asks_for_password() {
            return Err(Refusal::PasswordFirst(act));
        }
        if act == Act::Release { self.must_be_fresh(act) } else { Ok(()) }
    }

    /// Also refuses when the password was given long ago: before what gives rights to many at once.
    pub fn must_be_fresh(&self, act: Act) -> Result<(), Refusal> {
        if self.long_ago { Err(Refusal::PasswordAgain(act)) } else { Ok(()) }
    }

    /// For what then asks for the password itself.
    pub fn must_have_role_for(&self, act: Act) -> Result<(), Refusal> {
        if self.may(act) { Ok(()) } else { Err(Refusal::not_allowed(act)) }
    }
}

/// Text a person typed: trimmed, not empty, of a sane length, without control characters that could break a line.
/// `what` names it for a sentence.
pub fn plain_text(pointer: &str, what: impl Into<Text>, text: &str, most: usize) -> Result<String, Refusal> {
    let what = what.into();
    let text = optional_text(pointer, what.clone(), text, most)?;
    if text.is_empty() {
        return Err(Refusal::invalid(pointer, said!("refusal-give", what = what)));
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
    let no = |sentence| Err(Refusal::invalid(pointer, sentence));
    if text.chars().count() > most {
        return no(said!("refusal-shorten", what = what, most = most));
    }
    if text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t')) {
        return no(said!("refusal-control-characters", what = what));
    }
    Ok(text.replace("\r\n", "\n"))
}
