//! Who asks, as far as it can be told: guesses are slowed down by it, and people see by it where they are signed in.

use std::net::IpAddr;

use super::throttle::place_of;
use super::words::words;

words! {
    /// By what somebody is signed in.
    SignInKind {
        Pages = "pages",
        Pin = "pages by PIN",
        Api = "API",
        /// A device on which the person's PIN works.
        Device = "PIN on a device",
    }
}

#[derive(Clone, Debug, Default)]
pub struct Caller {
    pub address: Option<IpAddr>,
    /// As [`program_named`] says it; empty when it is not known.
    pub program: String,
}

impl Caller {
    /// The network, never the one address.
    pub fn place(&self) -> Option<String> {
        self.address.map(place_of)
    }
}

impl From<Option<IpAddr>> for Caller {
    fn from(address: Option<IpAddr>) -> Self {
        Self { address, program: String::new() }
    }
}

/// Browsers name one another, so the first that fits counts. From memory.
const BROWSERS: &[(&str, &str)] = &[
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
];

const SYSTEMS: &[(&str, &str)] = &[
    ("Android", "Android"),
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Windows", "Windows"),
    ("Mac OS X", "macOS"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
];

/// `Firefox, Android` of what a browser says about itself; of any other program the first word.
pub fn program_named(user_agent: &str) -> String {
    let of = |known: &[(&'static str, &'static str)]| {
        known.iter().find(|(sign, _)| user_agent.contains(sign)).map(|(_, name)| *name)
    };
    match (user_agent.starts_with("Mozilla/"), of(BROWSERS), of(SYSTEMS)) {
        (true, Some(browser), Some(system)) => format!("{browser}, {system}"),
        (true, Some(name), None) | (true, None, Some(name)) => name.to_owned(),
        (true, None, None) => String::new(),
        (false, ..) => {
            let first = user_agent.split(['/', ' ']).next().unwrap_or_default();
            first.chars().filter(|c| c.is_ascii_alphanumeric() || "-_.".contains(*c)).take(40).collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What browsers send, from memory.
    #[test]
    fn a_program_is_known_by_what_it_says() {
        let linux = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36";
        let phone = "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0";
        let pad = "Mozilla/5.0 (iPad; CPU OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Safari/604.1";
        let edge = "Mozilla/5.0 (Windows NT 10.0) AppleWebKit/537.36 Chrome/140.0 Safari/537.36 Edg/140.0";
        assert_eq!(program_named(linux), "Chrome, Linux");
        assert_eq!(program_named(phone), "Firefox, Android");
        assert_eq!(program_named(pad), "Safari, iPad");
        assert_eq!(program_named(edge), "Edge, Windows");
        assert_eq!(program_named("curl/8.14.1"), "curl");
        assert_eq!(program_named("<script>alert(1)</script>"), "scriptalert1");
        assert_eq!(program_named(""), "");
    }
}
