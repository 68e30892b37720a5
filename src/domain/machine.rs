//! A machine's unit number, as people say it and as it is looked up.

use super::refusal::{Refusal, plain_text};
use crate::words::Text;

/// A unit number as painted on the machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitNumber {
    pub shown: String,
    pub key: String,
}

impl UnitNumber {
    pub fn parse(text: &str) -> Result<Self, Refusal> {
        let shown = plain_text("/unit_number", said!("what-unit-number"), text, 24)?;
        let key = Self::key_of(&shown);
        if key.is_empty() {
            return Err(Refusal::invalid("/unit_number", said!("machine-unit-number-empty")));
        }
        Ok(Self { shown, key })
    }

    /// `u7`, `U-07` and `U 07` are the same machine: letters and digits only, upper case, no leading zeros in a run of
    /// digits.
    pub fn key_of(text: &str) -> String {
        let mut key = String::new();
        let mut in_digits = false;
        let mut zeros = false;
        for c in text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase) {
            if c.is_ascii_digit() {
                if c == '0' && !in_digits {
                    zeros = true;
                    continue;
                }
                in_digits = true;
            } else {
                if zeros && !in_digits {
                    key.push('0');
                }
                in_digits = false;
                zeros = false;
            }
            key.push(c);
        }
        if zeros && !in_digits {
            key.push('0');
        }
        key
    }
}

/// The class as people read it: those of the shipped checklists have a word in each language, an owner's own stays as it
/// was typed.
pub fn class_said(class: &str) -> Text {
    match class {
        "utility vehicle" => said!("class-utility-vehicle"),
        "quad" => said!("class-quad"),
        "compact tractor" => said!("class-compact-tractor"),
        "tractor" => said!("class-tractor"),
        "tracked carrier" => said!("class-tracked-carrier"),
        "trailer" => said!("class-trailer"),
        "generator" => said!("class-generator"),
        "pump set" => said!("class-pump-set"),
        own => Text::typed(own),
    }
}

#[cfg(test)]
mod tests {
    use super::UnitNumber;

    #[test]
    fn the_same_machine_however_it_is_said() {
        for said in ["u7", "U-07", "U 07", "u.007", "U7"] {
            assert_eq!(UnitNumber::key_of(said), "U7", "{said}");
        }
        assert_eq!(UnitNumber::key_of("T-10"), "T10");
        assert_eq!(UnitNumber::key_of("0"), "0");
        assert_eq!(UnitNumber::key_of("A-00-B"), "A0B");
        assert_ne!(UnitNumber::key_of("U70"), UnitNumber::key_of("U7"));
    }
}
