//! What may be a password: long enough, not one that everybody tries first, and not made of what everybody knows of the person.

use super::refusal::Refusal;

/// OWASP ASVS 5.0, 6.2.1: at least 8.
pub const SHORTEST: usize = 10;
/// ASVS 5.0, 6.2.9: at least 64 must be possible.
pub const LONGEST: usize = 256;

/// Words of the site itself, in both languages, which guessers try first.
const OF_THE_SITE: &[&str] = &[
    "chock",
    "password",
    "contraseña",
    "contrasena",
    "machine",
    "maquina",
    "máquina",
    "yard",
    "patio",
    "admin",
    "owner",
    "supervisor",
    "mechanic",
    "mecanico",
    "mecánico",
    "operator",
    "operador",
    "propietario",
    "welcome",
    "bienvenido",
];

/// Of ten letters or more, in the order of their bytes, after the lines that say where they come from.
static COMMON: &str = include_str!("password/common.txt");

/// `about` is what others know of the person: name and mail address. The password is taken as it was typed.
pub fn checked(password: &str, about: &[&str]) -> Result<(), Refusal> {
    let no = |sentence| Err(Refusal::invalid("/password", sentence));
    if !(SHORTEST..=LONGEST).contains(&password.chars().count()) {
        return no(said!("password-length"));
    }
    if is_common(password) {
        return no(said!("password-common"));
    }
    if says_little(password, about) {
        return no(said!("password-known-words"));
    }
    Ok(())
}

/// Whatever its case.
fn is_common(password: &str) -> bool {
    let wanted = password.to_lowercase();
    let mut left = listed();
    while !left.is_empty() {
        let middle = left.len() / 2;
        let from = left[..middle].rfind('\n').map_or(0, |n| n + 1);
        let to = left[middle..].find('\n').map_or(left.len(), |n| middle + n);
        match left[from..to].cmp(wanted.as_str()) {
            std::cmp::Ordering::Equal => return true,
            std::cmp::Ordering::Less => left = left.get(to + 1..).unwrap_or_default(),
            std::cmp::Ordering::Greater => left = &left[..from.saturating_sub(1)],
        }
    }
    false
}

fn listed() -> &'static str {
    let (_, list) = COMMON.split_once("\n\n").unwrap_or(("", COMMON));
    list.trim_end()
}

/// Nothing but words that are known, figures and signs.
fn says_little(password: &str, about: &[&str]) -> bool {
    let mut rest = password.to_lowercase();
    let about = about.iter().flat_map(|a| a.split(|c: char| !c.is_alphanumeric())).map(str::to_lowercase);
    let known = OF_THE_SITE.iter().map(|w| (*w).to_owned()).chain(about);
    let mut known: Vec<String> = known.filter(|w| w.chars().count() >= 3).collect();
    known.sort_by_key(|w| std::cmp::Reverse(w.len()));
    for word in known {
        rest = rest.replace(&word, " ");
    }
    let left = rest.chars().filter(|c| c.is_alphabetic()).count();
    let figures = rest.chars().filter(char::is_ascii_digit).count();
    // A year or a run of figures beside a known word is what guessers add; a long number of one's own is not.
    left < 3 && figures <= 6 && rest != password.to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_long_enough_and_in_order() {
        let all: Vec<&str> = listed().lines().collect();
        // ASVS 5.0, 6.2.4: the 3,000 most common that are as long as we ask for.
        assert!(all.len() > 3_000, "{}", all.len());
        assert!(all.is_sorted());
        assert!(all.iter().all(|p| p.chars().count() >= SHORTEST && *p == p.to_lowercase()));
        for (n, password) in all.iter().enumerate() {
            assert!(is_common(password), "{n}: {password} is not found");
        }
        assert!(COMMON.starts_with('#') && COMMON.len() < 300_000);
    }

    #[test]
    fn what_everybody_tries_is_refused() {
        let about = ["Otto Operator", "otto@yard.example"];
        for bad in [
            "short",
            "123456789",
            "1234567890",
            "qwertyuiop",
            "QwertyUiop",
            "password123",
            "otto-otto-2026",
            "Chock2026!!",
            "OttoOperator1",
            "yard.example",
            &"a".repeat(257),
        ] {
            assert!(checked(bad, &about).is_err(), "{bad}");
        }
        for good in [
            "check before use",
            "Otto likes tyres",
            "四輪駆動車のブレーキ点検",
            "7305918264 7731",
            "  ten spaces  ",
            &"x1".repeat(128),
        ] {
            assert_eq!(checked(good, &about), Ok(()), "{good}");
        }
    }
}
