//! What was remarked of a session, wind and light among it.

use goldward_journal::Note;

use super::{Language, Word};

/// Something that is told of the weather: its field, what it is called, and the words for it, by the name under which each is kept.
pub type Weather = (&'static str, Word, &'static [(&'static str, Word)]);

/// What can be told of the weather.
pub const WEATHER: [Weather; 3] = [
    (
        "wind",
        Word::WindTitle,
        &[
            ("calm", Word::WindCalm),
            ("light", Word::WindLight),
            ("moderate", Word::WindModerate),
            ("strong", Word::WindStrong),
            ("gusty", Word::WindGusty),
        ],
    ),
    (
        "wind_from",
        Word::RemarkWindFrom,
        &[
            ("left", Word::FromLeft),
            ("right", Word::FromRight),
            ("ahead", Word::FromAhead),
            ("behind", Word::FromBehind),
            ("changing", Word::Changing),
        ],
    ),
    (
        "light",
        Word::LightTitle,
        &[
            ("bright", Word::LightBright),
            ("overcast", Word::LightOvercast),
            ("changing", Word::Changing),
            ("dusk", Word::LightDusk),
            ("lamps", Word::LightLamps),
        ],
    ),
];

/// A note in a line: `Wind: light · Wind from: the left · Light: overcast · The string was new.` Empty where it says nothing.
#[must_use]
pub fn remark(l: Language, note: &Note) -> String {
    let told = WEATHER.iter().zip(note.weather()).filter_map(|((_, title, words), (_, kept))| {
        let kept = kept?;
        // A word of somebody's own stands as it is.
        let word = words.iter().find(|(name, _)| *name == kept).map_or(kept, |(_, word)| word.text(l));
        Some(format!("{}: {word}", title.text(l)))
    });
    let text = Some(note.text.trim().to_owned()).filter(|t| !t.is_empty());
    told.chain(text).collect::<Vec<_>>().join(" · ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_is_told_in_words_and_own_words_stand_as_they_are() {
        let mut note = Note { text: " A new string. ".to_owned(), ..Note::default() };
        assert_eq!(remark(Language::English, &note), "A new string.");
        note.wind = Some("light".to_owned());
        note.light = Some("snow in the air".to_owned());
        assert_eq!(remark(Language::English, &note), "Wind: light · Light: snow in the air · A new string.");
        assert_eq!(remark(Language::English, &Note::default()), "");
        // The fields of the table are those of a note, in the same order.
        assert!(WEATHER.iter().zip(note.weather()).all(|(w, (field, _))| w.0 == field));
    }
}
