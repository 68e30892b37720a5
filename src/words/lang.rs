use serde::{Deserialize, Serialize};

/// A language with a complete catalogue. The first is what is said when nothing else is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Lang {
    #[default]
    En,
    Es,
}

impl Lang {
    pub const ALL: &'static [Lang] = &[Lang::En, Lang::Es];

    /// Its BCP 47 tag.
    pub const fn tag(self) -> &'static str {
        match self {
            Lang::En => "en",
            Lang::Es => "es",
        }
    }

    /// Its name in itself, for whoever looks for it.
    pub const fn own_name(self) -> &'static str {
        match self {
            Lang::En => "English",
            Lang::Es => "Español",
        }
    }

    /// By its tag, or by one that is more particular: `es-MX` is `es`.
    pub fn of_tag(tag: &str) -> Option<Self> {
        let primary = tag.split(['-', '_']).next().unwrap_or_default();
        Self::ALL.iter().copied().find(|l| l.tag().eq_ignore_ascii_case(primary.trim()))
    }

    /// The one a browser would rather have, after its `Accept-Language` (RFC 9110, 12.5.4).
    pub fn preferred(accept_language: &str) -> Option<Self> {
        let mut best: Option<(Lang, f32)> = None;
        for range in accept_language.split(',') {
            let mut parts = range.split(';');
            let Some(lang) = parts.next().and_then(Self::of_tag) else { continue };
            let q = parts.find_map(|p| p.trim().strip_prefix("q=")?.parse::<f32>().ok()).unwrap_or(1.0);
            if q > 0.0 && best.is_none_or(|(_, most)| q > most) {
                best = Some((lang, q));
            }
        }
        best.map(|(lang, _)| lang)
    }

    /// What stands between the whole and its tenths.
    pub const fn decimal_sign(self) -> char {
        match self {
            Lang::En => '.',
            Lang::Es => ',',
        }
    }

    /// A figure written with a point, the way this language writes it.
    pub fn figure(self, with_point: &str) -> String {
        with_point.replace('.', self.decimal_sign().encode_utf8(&mut [0; 4]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_browser_is_heard() {
        assert_eq!(Lang::preferred("es-MX,es;q=0.9,en;q=0.8"), Some(Lang::Es));
        assert_eq!(Lang::preferred("nb-NO, en;q=0.3, es;q=0.2"), Some(Lang::En));
        assert_eq!(Lang::preferred("en;q=0, es;q=0.1"), Some(Lang::Es));
        assert_eq!(Lang::preferred("fr, *"), None);
        assert_eq!(Lang::preferred(""), None);
    }

    #[test]
    fn figures_have_the_sign_of_the_language() {
        assert_eq!(
            (Lang::En.figure("14.5"), Lang::Es.figure("14.5")),
            ("14.5".to_owned(), "14,5".to_owned())
        );
    }
}
