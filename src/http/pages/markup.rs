//! Sentences with something marked in them: a link, a time, a name in bold. The sentence comes from the catalogue as plain
//! text; what is marked is put in as it is, everything else is escaped.

use askama::FastWritable;
use askama::filters::HtmlSafe;

use super::shown::When;
use crate::words::{Lang, Spoken, Value, here, say};

/// HTML that is right as it stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Markup(pub String);

impl std::fmt::Display for Markup {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl FastWritable for Markup {
    fn write_into(&self, dest: &mut dyn std::fmt::Write, _: &dyn askama::Values) -> askama::Result<()> {
        Ok(dest.write_str(&self.0)?)
    }
}

impl HtmlSafe for Markup {}

pub fn link(href: &str, text: impl AsRef<str>) -> Markup {
    Markup(format!("<a href=\"{}\">{}</a>", escaped(href), escaped(text.as_ref())))
}

pub fn strong_link(href: &str, text: impl AsRef<str>) -> Markup {
    Markup(format!("<a href=\"{}\"><strong>{}</strong></a>", escaped(href), escaped(text.as_ref())))
}

pub fn strong(text: impl AsRef<str>) -> Markup {
    Markup(format!("<strong>{}</strong>", escaped(text.as_ref())))
}

/// Not to be broken at its hyphens.
pub fn unbroken(text: impl AsRef<str>) -> Markup {
    Markup(format!("<span class=\"unbroken\">{}</span>", escaped(text.as_ref())))
}

/// A command or a key, set as one types it.
pub fn code(text: impl AsRef<str>) -> Markup {
    Markup(format!("<code>{}</code>", escaped(text.as_ref())))
}

/// A moment, also for machines.
pub fn time(when: &When) -> Markup {
    Markup(format!("<time datetime=\"{}\">{}</time>", escaped(&when.machine), escaped(&when.words)))
}

/// As [`time`], for what a script keeps up to date until the page is printed.
pub fn time_on_paper(when: &When) -> Markup {
    let (machine, words) = (escaped(&when.machine), escaped(&when.words));
    Markup(format!("<time id=\"on-paper\" datetime=\"{machine}\">{words}</time>"))
}

/// What may be put into such a sentence.
pub trait Marked {
    fn marked(&self, lang: Lang) -> Markup;

    /// A number is filled in as one: it may decide between one and many.
    fn count(&self) -> Option<i64> {
        None
    }
}

impl Marked for Markup {
    fn marked(&self, _: Lang) -> Markup {
        self.clone()
    }
}

impl<T: Spoken> Marked for T {
    fn marked(&self, lang: Lang) -> Markup {
        match self.spoken(lang) {
            Value::Words(words) => Markup(escaped(&words)),
            Value::Count(n) => Markup(n.to_string()),
        }
    }

    fn count(&self) -> Option<i64> {
        match self.spoken(Lang::En) {
            Value::Words(_) => None,
            Value::Count(n) => Some(n),
        }
    }
}

/// The sentence is put together with a mark for each piece, escaped, and then each mark gives way to its piece.
pub fn say_marked(key: &str, given: &[(&'static str, &dyn Marked)]) -> Markup {
    let lang = here();
    let filled: Vec<(&'static str, Filled)> = given
        .iter()
        .enumerate()
        .map(|(i, (name, value))| (*name, value.count().map_or_else(|| Filled::Mark(mark(i)), Filled::Count)))
        .collect();
    let filled: Vec<(&'static str, &dyn Spoken)> =
        filled.iter().map(|(n, f)| (*n, f as &dyn Spoken)).collect();
    let mut html = escaped(&say(lang, key, &filled));
    for (i, (_, value)) in given.iter().enumerate() {
        html = html.replace(&mark(i), &value.marked(lang).0);
    }
    Markup(html)
}

enum Filled {
    Mark(String),
    Count(i64),
}

impl Spoken for Filled {
    fn spoken(&self, _: Lang) -> Value<'_> {
        match self {
            Filled::Mark(mark) => Value::words(mark.as_str()),
            Filled::Count(n) => Value::Count(*n),
        }
    }
}

/// From the private use area, so in no text.
fn mark(i: usize) -> String {
    format!("\u{E000}{i}\u{E001}")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&#34;")
        .replace('\'', "&#39;")
}

/// `marked!("key", name = link(…), …)`: the sentence with what is marked in it.
macro_rules! marked {
    ($key:expr, $($name:ident = $value:expr),+ $(,)?) => {
        $crate::http::pages::markup::say_marked($key, &[$((stringify!($name), &$value as &dyn $crate::http::pages::markup::Marked)),+])
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_marked_stands_as_it_is_and_everything_else_is_escaped() {
        let html = marked!("markup-test", who = strong("A & B"), count = 2, what = "<script>");
        assert_eq!(html.0, "<strong>A &amp; B</strong> has 2 machines in &lt;script&gt;.");
        let html = marked!("markup-test", who = link("/a\"b", "A"), count = 1, what = "x");
        assert_eq!(html.0, "<a href=\"/a&#34;b\">A</a> has 1 machine in x.");
    }
}
