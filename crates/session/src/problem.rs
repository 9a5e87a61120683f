//! What is wrong with an input: where, what, and the remedy apart from it.

use std::fmt::Write as _;

/// One thing that is wrong with the input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where: `line 4, column x_mm`, a key or an option; may be empty.
    pub place: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it; may be empty.
    pub remedy: String,
}

impl Problem {
    /// A problem at `place`.
    pub fn new(place: impl Into<String>, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { place: place.into(), message: message.into(), remedy: remedy.into() }
    }

    /// A problem from an error of the core, whose texts read `what is wrong: what to do`.
    pub fn from_core(place: impl Into<String>, error: &dyn std::error::Error) -> Self {
        let text = error.to_string();
        match text.rsplit_once(": ") {
            Some((message, remedy)) => Self::new(place, message, remedy),
            None => Self::new(place, text, ""),
        }
    }

    /// The problem in one line: place, what is wrong, and the remedy.
    #[must_use]
    pub fn one_line(&self) -> String {
        let mut text = String::new();
        if !self.place.is_empty() {
            let _ = write!(text, "{}: ", self.place);
        }
        text.push_str(&self.message);
        if !self.remedy.is_empty() {
            let _ = write!(text, ": {}", self.remedy);
        }
        plain(&text)
    }
}

/// Whether a terminal must not see it.
#[must_use]
pub fn is_wild(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
        || matches!(c, '\u{e0000}'..='\u{e007f}')
}

/// `text` without control characters, which a file may hold and a terminal would obey, and without those that turn the direction
/// of writing.
#[must_use]
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if is_wild(c) { '\u{fffd}' } else { c }).collect()
}

/// A quotation of at most 40 characters from the input.
#[must_use]
pub fn quote(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    format!("`{short}`")
}

/// The one of `known` that `name` may be meant for: so few letters differ that most of the name is right.
#[must_use]
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let name = name.to_lowercase();
    let known: Vec<&str> = known.into_iter().collect();
    // The first part of a name that has several (`x` of `x_mm`), where only one begins so.
    let mut begins = known.iter().filter(|k| k.split('_').next() == Some(&name));
    if let (Some(only), None) = (begins.next(), begins.next()) {
        return Some(only);
    }
    let near = known.into_iter().map(|k| (strsim::damerau_levenshtein(k, &name), k)).min()?;
    (near.0 <= 3 && 2 * near.0 < name.chars().count().max(near.1.chars().count())).then_some(near.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_name_is_one_that_is_mostly_right() {
        let columns = ["end", "arrow", "x_mm", "y_mm", "call", "felt"];
        let check = |name: &str, want: Option<&str>| assert_eq!(nearest(name, columns), want, "{name}");
        check("x", Some("x_mm"));
        check("y", Some("y_mm"));
        check("x_nm", Some("x_mm"));
        check("arow", Some("arrow"));
        check("Fell", Some("felt"));
        check("q", None);
        check("elevation", None);
    }
}
