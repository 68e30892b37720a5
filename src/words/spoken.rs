use std::borrow::Cow;

use super::{Lang, Text};

/// What may be filled into a sentence.
pub trait Spoken {
    fn spoken(&self, lang: Lang) -> Value<'_>;
}

/// A word, or a number that also decides between one and many.
pub enum Value<'a> {
    Words(Cow<'a, str>),
    Count(i64),
}

impl<'a> Value<'a> {
    pub fn words(words: impl Into<Cow<'a, str>>) -> Self {
        Value::Words(words.into())
    }
}

/// The key of one word of a closed vocabulary: `standing-out-of-service`.
pub fn key_of(vocabulary: &str, word: &str) -> String {
    let mut key = String::with_capacity(vocabulary.len() + word.len() + 4);
    for (i, c) in vocabulary.char_indices() {
        if c.is_ascii_uppercase() && i > 0 {
            key.push('-');
        }
        key.push(c.to_ascii_lowercase());
    }
    key.push('-');
    key.extend(word.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }));
    key
}

impl Spoken for str {
    fn spoken(&self, _: Lang) -> Value<'_> {
        Value::words(self)
    }
}

impl Spoken for String {
    fn spoken(&self, _: Lang) -> Value<'_> {
        Value::words(self.as_str())
    }
}

impl Spoken for Cow<'_, str> {
    fn spoken(&self, _: Lang) -> Value<'_> {
        Value::words(self.as_ref())
    }
}

impl Spoken for Text {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(self.in_lang(lang))
    }
}

impl<T: Spoken + ?Sized> Spoken for &T {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        (**self).spoken(lang)
    }
}

macro_rules! counts {
    ($($kind:ty),*) => {$(
        impl Spoken for $kind {
            fn spoken(&self, _: Lang) -> Value<'_> {
                Value::Count(i64::try_from(*self).unwrap_or(i64::MAX))
            }
        }
    )*};
}
counts!(u8, u16, u32, u64, usize, i32, i64);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_key_of_a_word_is_in_small_letters_and_dashes() {
        assert_eq!(key_of("Standing", "out of service"), "standing-out-of-service");
        assert_eq!(key_of("OrderWord", "in work"), "order-word-in-work");
    }
}
