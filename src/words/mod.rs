//! Every word that people read, in each language: the catalogues, and how a sentence is taken from them.
//!
//! Two ways to say something. [`said!`] gives a [`Text`], the sentence in every language at once: for what is decided now
//! and read by others later, on their pages and in their mails. [`t!`] gives the sentence in the language of whoever is
//! being answered ([`speaking`]): for pages and mails. A key that a catalogue does not have is a fault of ours: debug
//! builds, and so the tests, stop at it.

/// `t_in!(lang, "key", name = value, …)`: the sentence in one language.
macro_rules! t_in {
    ($lang:expr, $key:expr $(, $name:ident = $value:expr)* $(,)?) => {
        $crate::words::say($lang, $key, &[$((stringify!($name), &$value as &dyn $crate::words::Spoken)),*])
    };
}

/// `t!("key", name = value, …)`: the sentence in the language of whoever is being answered.
macro_rules! t {
    ($key:expr $(, $name:ident = $value:expr)* $(,)?) => {
        t_in!($crate::words::here(), $key $(, $name = $value)*)
    };
}

/// `said!("key", name = value, …)`: the sentence in every language.
macro_rules! said {
    ($key:expr $(, $name:ident = $value:expr)* $(,)?) => {
        $crate::words::Text::each(|lang| t_in!(lang, $key $(, $name = $value)*))
    };
}

mod catalogue;
mod lang;
mod speaking;
mod spoken;
mod text;

pub use catalogue::{for_scripts, say};
pub use lang::Lang;
pub use speaking::{InLanguage, here, speaking};
pub use spoken::{Spoken, Value, key_of};
pub use text::Text;
