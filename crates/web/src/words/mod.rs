//! The message catalogue: every word of the app in every language it speaks.
//!
//! A word cannot be left out of a language: the table has a column for each, and the compiler wants them all.

mod sentence;
mod table;

pub use sentence::{
    action, advice_line, causes, clicks, distance, length, mm, notice, pattern, place, points, reading, why, worth,
};
pub use table::Word;

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

/// `text` with `{0}`, `{1}`, ... replaced.
#[must_use]
pub fn fill(text: &str, values: &[&str]) -> String {
    let mut out = text.to_owned();
    for (i, value) in values.iter().enumerate() {
        out = out.replace(&format!("{{{i}}}"), value);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_there_in_every_language_with_the_same_gaps() {
        for word in Word::ALL {
            let gaps = |l| (0..6).filter(|i| word.text(l).contains(&format!("{{{i}}}"))).collect::<Vec<_>>();
            for language in Language::ALL {
                let text = word.text(language);
                assert!(!text.trim().is_empty(), "{word:?} in {language:?}");
                assert_eq!(gaps(language), gaps(Language::English), "{word:?} in {language:?}");
                assert_eq!(text.trim(), text, "{word:?} in {language:?}");
            }
        }
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
