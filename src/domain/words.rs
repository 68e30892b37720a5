//! The macro behind every closed vocabulary: an enum whose members have one spelling, the same in the table,
//! the API and the log.

/// Declares an enum of plain members with `as_str`, `ALL`, `FromStr`, `TryFrom<String>`, `Display` and serde by that spelling.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$mdoc:meta])* $member:ident = $text:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$mdoc])* $member),* }

        impl $name {
            pub const ALL: &'static [$name] = &[$($name::$member),*];

            pub const fn as_str(self) -> &'static str {
                match self { $($name::$member => $text),* }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::domain::words::UnknownWord;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                match text {
                    $($text => Ok($name::$member),)*
                    _ => Err($crate::domain::words::UnknownWord {
                        kind: stringify!($name),
                        given: text.to_owned(),
                        known: &[$($text),*],
                    }),
                }
            }
        }

        impl $name {
            /// Its key in the catalogues.
            pub fn key(self) -> String {
                $crate::words::key_of(stringify!($name), self.as_str())
            }

            /// In the language of whoever is being answered.
            pub fn here(self) -> String {
                t!(&self.key())
            }
        }

        impl $crate::words::Spoken for $name {
            fn spoken(&self, lang: $crate::words::Lang) -> $crate::words::Value<'_> {
                $crate::words::Value::words(t_in!(lang, &self.key()))
            }
        }

        impl TryFrom<String> for $name {
            type Error = $crate::domain::words::UnknownWord;
            fn try_from(text: String) -> Result<Self, Self::Error> {
                text.parse()
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.serialize_str(self.as_str())
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let text = String::deserialize(d)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}
pub(crate) use words;

/// A word outside a closed vocabulary, with the words that would have been understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{given:?} is not one of: {}", known.join(", "))]
pub struct UnknownWord {
    pub kind: &'static str,
    pub given: String,
    pub known: &'static [&'static str],
}
