use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Lang, Spoken, Value, here};

/// Something said in every language, or something a person typed, which is the same in all of them. Kept as it was said:
/// a catalogue that changes later does not change what stands in the records.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Text {
    /// In the first language.
    first: String,
    /// In those in which it reads otherwise.
    others: BTreeMap<Lang, String>,
}

impl Text {
    /// Said in each language by what is given.
    pub fn each(say: impl Fn(Lang) -> String) -> Self {
        let first = say(Lang::En);
        let others =
            Lang::ALL[1..].iter().map(|l| (*l, say(*l))).filter(|(_, said)| *said != first).collect();
        Self { first, others }
    }

    /// What a person typed, a name, a figure without words: the same in every language.
    pub fn typed(text: impl Into<String>) -> Self {
        Self { first: text.into(), others: BTreeMap::new() }
    }

    /// A word or figure in every language.
    pub fn of(value: &dyn Spoken) -> Self {
        Self::each(|lang| match value.spoken(lang) {
            Value::Words(words) => words.into_owned(),
            Value::Count(n) => n.to_string(),
        })
    }

    /// Whether it is so in any language.
    pub fn anywhere(&self, is: impl Fn(&str) -> bool) -> bool {
        is(&self.first) || self.others.values().any(|said| is(said))
    }

    /// In the language asked for, or in the first.
    pub fn in_lang(&self, lang: Lang) -> &str {
        self.others.get(&lang).unwrap_or(&self.first)
    }

    /// In the language of whoever is being answered.
    pub fn here(&self) -> &str {
        self.in_lang(here())
    }

    /// Whether this stands in it, in the language of whoever is being answered.
    pub fn contains(&self, part: &str) -> bool {
        self.here().contains(part)
    }

    pub fn is_empty(&self) -> bool {
        self.first.is_empty()
    }

    /// Says it otherwise in one language.
    #[must_use]
    pub fn and(mut self, lang: Lang, text: impl Into<String>) -> Self {
        let text = text.into();
        match lang {
            Lang::En => self.first = text,
            _ => drop(self.others.insert(lang, text)),
        }
        self
    }

    /// Whether it is said in this language in words of its own.
    pub fn has(&self, lang: Lang) -> bool {
        lang == Lang::En || self.others.contains_key(&lang)
    }

    /// Changed alike in each language.
    pub fn map(&self, change: impl Fn(&str) -> String) -> Self {
        Self::each(|lang| change(self.in_lang(lang)))
    }

    /// One after the other, with something between.
    pub fn joined<'a>(texts: impl IntoIterator<Item = &'a Text> + Clone, between: &str) -> Self {
        Self::each(|lang| {
            let parts: Vec<_> = texts.clone().into_iter().map(|t| t.in_lang(lang)).collect();
            parts.join(between)
        })
    }

    /// As it stands in a column: plain when it reads the same in every language, else an object of tags and texts.
    pub fn kept(&self) -> String {
        if self.others.is_empty() && !self.first.starts_with('{') {
            return self.first.clone();
        }
        serde_json::to_string(&Tagged::from(self)).expect("tags and texts are JSON")
    }

    /// The reverse of [`Text::kept`].
    pub fn from_kept(kept: &str) -> Self {
        match kept.starts_with('{').then(|| serde_json::from_str::<Tagged>(kept)) {
            Some(Ok(tagged)) => tagged.into(),
            _ => Self::typed(kept),
        }
    }
}

/// In the language of whoever is being answered.
impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.here())
    }
}

impl PartialEq<str> for Text {
    fn eq(&self, other: &str) -> bool {
        self.first == other
    }
}

impl PartialEq<String> for Text {
    fn eq(&self, other: &String) -> bool {
        self.first == *other
    }
}

impl PartialEq<&str> for Text {
    fn eq(&self, other: &&str) -> bool {
        self.first == *other
    }
}

type Tagged = BTreeMap<Lang, String>;

impl From<&Text> for Tagged {
    fn from(text: &Text) -> Self {
        let mut tagged = text.others.clone();
        tagged.insert(Lang::En, text.first.clone());
        tagged
    }
}

impl From<Tagged> for Text {
    fn from(mut tagged: Tagged) -> Self {
        let first = tagged.remove(&Lang::En).unwrap_or_default();
        tagged.retain(|_, said| *said != first);
        Self { first, others: tagged }
    }
}

impl Serialize for Text {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        if self.others.is_empty() { s.serialize_str(&self.first) } else { Tagged::from(self).serialize(s) }
    }
}

impl<'de> Deserialize<'de> for Text {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Either {
            Plain(String),
            Tagged(Tagged),
        }
        Ok(match Either::deserialize(d)? {
            Either::Plain(text) => Text::typed(text),
            Either::Tagged(tagged) => tagged.into(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_reads_back() {
        let said = Text::typed("Brake pad").and(Lang::Es, "Pastilla de freno");
        for text in
            [said.clone(), Text::typed("typed"), Text::typed("{\"en\":1"), Text::typed("{}"), Text::default()]
        {
            assert_eq!(Text::from_kept(&text.kept()), text);
            let json = serde_json::to_string(&text).unwrap();
            assert_eq!(serde_json::from_str::<Text>(&json).unwrap(), text);
        }
        assert_eq!(said.kept(), r#"{"en":"Brake pad","es":"Pastilla de freno"}"#);
        assert_eq!(Text::typed("typed").kept(), "typed");
    }

    #[test]
    fn each_reader_gets_their_own() {
        let said = Text::typed("Brake pad").and(Lang::Es, "Pastilla de freno");
        assert_eq!((said.in_lang(Lang::Es), said.to_string().as_str()), ("Pastilla de freno", "Brake pad"));
        assert_eq!(Text::typed("Maj Lind").in_lang(Lang::Es), "Maj Lind");
        let joined = Text::joined(&[said.clone(), Text::typed("x")], "; ");
        assert_eq!(joined.in_lang(Lang::Es), "Pastilla de freno; x");
    }
}
