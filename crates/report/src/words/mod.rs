//! The message catalogue: every word of the app in every language it speaks.
//!
//! A word cannot be left out of a language: the table has a column for each, and the compiler wants them all.
//!
//! English is always built in. The feature `languages` builds in the others too; a program without it takes them in from files
//! ([`file()`], [`take_in`]) when they are spoken.

/// A catalogue of the program alone: a column a language.
macro_rules! phrases {
    ($(#[$doc:meta])* $catalogue:ident: $($name:ident: $en:literal, $de:literal, $fr:literal;)*) => {
        use super::{Language, fill};

        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(missing_docs, reason = "each is documented by its English text")]
        pub enum $catalogue { $($name),* }

        impl $catalogue {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            const TEXTS: &'static [[&'static str; 3]] = &[$([$en, $de, $fr]),*];

            /// In `language`.
            #[must_use]
            pub fn text(self, language: Language) -> &'static str {
                Self::TEXTS[self as usize][language as usize]
            }

            /// In `language`, its gaps filled with `values`.
            #[must_use]
            pub fn with(self, language: Language, values: &[&str]) -> String {
                fill(self.text(language), values)
            }
        }
    };
}

mod catalogue;
mod done;
pub mod error;
mod phrases;
pub mod problem;
mod remark;
mod sentence;
mod table;
mod wrong;

pub use catalogue::{NotTaken, file, is_here, take_in};
pub use done::Done;
pub use phrases::Phrase;
pub use remark::{WEATHER, Weather, remark};
pub use sentence::{
    action, advice_line, causes, clicks, distance, face_in_full, face_title, headline, length, mm, notice, often,
    pattern, percent, place, place_mm, points, reading, turns, why, worth,
};
pub use table::Word;
pub use wrong::Wrong;

/// A language of the app.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
    /// French.
    French,
}

impl Language {
    /// All languages.
    pub const ALL: [Self; 3] = [Self::English, Self::German, Self::French];

    /// Its code (BCP 47).
    #[must_use]
    pub fn code(self) -> &'static str {
        ["en", "de", "fr"][self as usize]
    }

    /// Its own name.
    #[must_use]
    pub fn name(self) -> &'static str {
        ["English", "Deutsch", "Français"][self as usize]
    }

    /// The language of a code such as `de-AT`; English when it is none of ours.
    #[must_use]
    pub fn of(code: &str) -> Self {
        let code = code.to_lowercase();
        Self::ALL.into_iter().find(|l| code.starts_with(l.code())).unwrap_or_default()
    }

    /// A number as this language writes it.
    #[must_use]
    pub fn number(self, text: &str) -> String {
        // Nothing has no sign.
        let nothing = text.starts_with('-') && !text.chars().any(|c| matches!(c, '1'..='9'));
        let text = if nothing { &text[1..] } else { text };
        if self == Self::English { text.to_owned() } else { text.replace('.', ",") }
    }

    /// `value` with so many decimals, as this language writes it.
    #[must_use]
    pub fn decimals(self, value: f64, decimals: usize) -> String {
        self.number(&format!("{value:.decimals$}"))
    }
}

impl std::str::FromStr for Language {
    type Err = String;

    /// Reads a code such as `de`, or a name such as `Deutsch`.
    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim().to_lowercase();
        let meant = |l: &Self| text == l.code() || text == l.name().to_lowercase();
        Self::ALL.into_iter().find(meant).ok_or_else(|| {
            format!("the languages are {}", Self::ALL.map(|l| format!("{} ({})", l.code(), l.name())).join(", "))
        })
    }
}

/// `text` with `{0}`, `{1}`, ... replaced by the values, and `{1|arrow|arrows}` by the word that goes with the number of value 1:
/// the first for one, the second for all others. With slashes (`{1/flèche/flèches}`) the first goes with none too.
#[must_use]
pub fn fill(text: &str, values: &[&str]) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        out.push_str(&rest[..open]);
        let Some(close) = rest[open..].find('}').map(|c| open + c) else { break };
        match gap(&rest[open + 1..close], values) {
            Some(value) => out.push_str(value),
            None => out.push_str(&rest[open..=close]),
        }
        rest = &rest[close + 1..];
    }
    out.push_str(rest);
    out
}

/// What stands for the inside of a pair of braces; nothing when it is no gap.
fn gap<'a>(inside: &'a str, values: &[&'a str]) -> Option<&'a str> {
    let (none_too, mut parts) = (inside.contains('/'), inside.split(['|', '/']));
    let value = *values.get(parts.next()?.parse::<usize>().ok()?)?;
    match (parts.next(), parts.next()) {
        (Some(one), Some(_)) if value == "1" || (none_too && value == "0") => Some(one),
        (Some(_), Some(many)) => Some(many),
        _ => Some(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_there_in_every_language_with_the_same_gaps() {
        for word in Word::ALL {
            let named = |text: &str, i: usize| {
                [format!("{{{i}}}"), format!("{{{i}|"), format!("{{{i}/")].iter().any(|g| text.contains(g))
            };
            let gaps = |l| (0..8).filter(|i| named(word.text(l), *i)).collect::<Vec<_>>();
            for language in Language::ALL {
                let text = word.text(language);
                assert!(!text.trim().is_empty(), "{word:?} in {language:?}");
                assert_eq!(gaps(language), gaps(Language::English), "{word:?} in {language:?}");
                assert_eq!(text.trim(), text, "{word:?} in {language:?}");
            }
        }
    }

    #[test]
    fn words_go_with_their_number() {
        let text = "{0} {0|session|sessions}, {1} {1/flèche/flèches} {2} {x}";
        assert_eq!(fill(text, &["1", "0", "{0}"]), "1 session, 0 flèche {0} {x}");
        assert_eq!(fill(text, &["0", "1", "a"]), "0 sessions, 1 flèche a {x}");
        assert_eq!(fill(text, &["2", "12"]), "2 sessions, 12 flèches {2} {x}");
    }

    #[test]
    fn languages_are_told_by_their_code() {
        assert_eq!(Language::of("de-CH"), Language::German);
        assert_eq!(Language::of("fr"), Language::French);
        assert_eq!(Language::of("nl"), Language::English);
        assert_eq!(Language::German.number("0.5"), "0,5");
        assert_eq!(
            (Language::German.decimals(-0.04, 1), Language::English.decimals(-0.0, 2)),
            ("0,0".into(), "0.00".into())
        );
        assert_eq!(Language::English.decimals(-0.06, 1), "-0.1");
    }
}
