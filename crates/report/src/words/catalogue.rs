//! The columns of the table at run time: built in, or taken in from a file.

use std::fmt;
use std::sync::OnceLock;

use super::Language;
use super::table::{BUILT_IN, Word};

/// The first word of a file.
const MAGIC: &str = "goldward-words";

/// Each language's texts, in the order of the words.
static COLUMNS: [OnceLock<Vec<&'static str>>; 3] = [const { OnceLock::new() }; 3];

/// Tells one table from another by its English texts (FNV-1a, 64 bits): a file belongs to the app that it was built with.
const TABLE: u64 = {
    let Some(english) = BUILT_IN[0] else { panic!("English is always built in") };
    let (bytes, mut hash, mut i) = (english.as_bytes(), 0xcbf2_9ce4_8422_2325_u64, 0);
    while i < bytes.len() {
        hash = (hash ^ bytes[i] as u64).wrapping_mul(0x0100_0000_01b3);
        i += 1;
    }
    hash
};

/// Why the texts of a file are not taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum NotTaken {
    /// It is no file of texts, or of another language.
    Other,
    /// It belongs to another version of the app.
    OtherVersion,
}

impl fmt::Display for NotTaken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Other => "these are no texts of that language",
            Self::OtherVersion => "these texts belong to another version",
        })
    }
}

impl std::error::Error for NotTaken {}

impl Word {
    /// The text in `language`; the English one where that language is neither built in nor taken in ([`take_in`]).
    #[must_use]
    pub fn text(self, language: Language) -> &'static str {
        column(language)[self as usize]
    }
}

/// The texts of a language, or the English ones where it has none here.
fn column(language: Language) -> &'static [&'static str] {
    let built_in = |l: Language| BUILT_IN[l as usize].map(|text| COLUMNS[l as usize].get_or_init(|| lines(text)));
    COLUMNS[language as usize]
        .get()
        .or_else(|| built_in(language))
        .or_else(|| built_in(Language::English))
        .map_or(&[], Vec::as_slice)
}

fn lines(text: &'static str) -> Vec<&'static str> {
    text.lines().collect()
}

/// Whether the texts of `language` are here.
#[must_use]
pub fn is_here(language: Language) -> bool {
    BUILT_IN[language as usize].is_some() || COLUMNS[language as usize].get().is_some()
}

/// The file from which an app without this language takes it in: a line that says what it is, and one for each word. Nothing when
/// this program does not have the language itself.
#[must_use]
pub fn file(language: Language) -> Option<String> {
    BUILT_IN[language as usize].map(|texts| format!("{}\n{texts}", header(language)))
}

fn header(language: Language) -> String {
    format!("{MAGIC} {} {TABLE:016x}", language.code())
}

/// Takes in the texts of `language` from its file, for good; a second time changes nothing.
///
/// # Errors
/// [`NotTaken`], and nothing has changed.
pub fn take_in(language: Language, file: &str) -> Result<(), NotTaken> {
    let texts = read(language, file)?;
    if !is_here(language) {
        // Texts are asked for from everywhere and live as long as the program.
        let _ = COLUMNS[language as usize].set(lines(Box::leak(Box::from(texts))));
    }
    Ok(())
}

/// The texts in a file of `language`, all of them.
fn read(language: Language, file: &str) -> Result<&str, NotTaken> {
    let (first, texts) = file.split_once('\n').ok_or(NotTaken::Other)?;
    let mut head = first.split(' ');
    if (head.next(), head.next()) != (Some(MAGIC), Some(language.code())) {
        return Err(NotTaken::Other);
    }
    if first != header(language) || texts.lines().count() != Word::ALL.len() {
        return Err(NotTaken::OtherVersion);
    }
    Ok(texts)
}

#[cfg(all(test, feature = "languages"))]
mod tests {
    use super::*;

    #[test]
    fn a_file_says_what_is_built_in_and_nothing_else_is_taken_for_one() {
        for language in Language::ALL {
            let file = file(language).unwrap();
            let texts: Vec<&str> = read(language, &file).unwrap().lines().collect();
            let built_in: Vec<&str> = Word::ALL.iter().map(|w| w.text(language)).collect();
            assert_eq!(texts, built_in, "no text has a line of its own in it");
            assert_eq!(take_in(language, &file), Ok(()));
        }
        let german = file(Language::German).unwrap();
        assert_eq!(take_in(Language::French, &german), Err(NotTaken::Other));
        for text in ["", "goldward-words", "<!doctype html>\n<html>", "goldward-words\n"] {
            assert_eq!(take_in(Language::German, text), Err(NotTaken::Other), "{text}");
        }
        let (head, texts) = german.split_once('\n').unwrap();
        let short = texts.rsplitn(3, '\n').last().unwrap();
        for text in
            [format!("{head}\n{short}\n"), format!("{head}\n"), format!("{head}0\n{texts}"), german[..200].into()]
        {
            assert_eq!(take_in(Language::German, &text), Err(NotTaken::OtherVersion));
        }
    }
}
