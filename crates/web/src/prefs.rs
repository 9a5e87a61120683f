//! What this device prefers; not part of the log.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The look of the app.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// As the device has it.
    #[default]
    Auto,
    /// Dark on light, for sunlight.
    Light,
    /// Light on dark.
    Dark,
}

/// A round of the archer's own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnRound {
    /// Shooting distance, in metres.
    pub distance_m: f64,
    /// Name of the face.
    pub face: String,
    /// Ends that count.
    pub ends: u32,
    /// Arrows an end.
    pub shots_per_end: u32,
    /// Sighting ends before them.
    #[serde(default)]
    pub sighting_ends: u32,
}

/// Preferences; what is missing or unknown in an older or newer store takes its default.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Prefs {
    /// Code of the language; empty is the browser's.
    pub language: String,
    /// Yards and inches instead of metres and millimetres.
    pub imperial: bool,
    /// The look.
    pub theme: Theme,
    /// The phone is held in the left hand, so the controls are mirrored.
    pub left_handed: bool,
    /// Whether shots are called rather than plotted.
    pub call: bool,
    /// Sessions begin with the kit's number for the spread, whatever was shot before.
    pub kit_spread: bool,
    /// The archer shooting now.
    pub archer: Option<String>,
    /// The session being shot.
    pub session: Option<String>,
    /// Sessions that other archers have left open, by archer.
    pub left_open: BTreeMap<String, String>,
    /// Rounds of one's own.
    pub rounds: Vec<OwnRound>,
    /// Whether the archer has asked to be kept in step with the server.
    pub sync: bool,
}

impl Prefs {
    /// Reads what was stored; anything unreadable is as if nothing had been.
    #[must_use]
    pub fn read(text: &str) -> Self {
        serde_json::from_str(text).unwrap_or_default()
    }

    /// Lets `archer` shoot: what the one before was shooting stays open for the return.
    pub fn pick(&mut self, archer: &str) {
        let before = self.archer.replace(archer.to_owned());
        if before.as_deref() == Some(archer) {
            return;
        }
        if let (Some(before), Some(session)) = (before, self.session.take()) {
            self.left_open.insert(before, session);
        }
        self.session = self.left_open.remove(archer);
    }

    /// What is to be stored.
    #[must_use]
    pub fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_archer_comes_back_to_the_session_that_was_open() {
        let mut prefs = Prefs { archer: Some("a".into()), session: Some("of a".into()), ..Prefs::default() };
        prefs.pick("b");
        assert_eq!(prefs.session, None);
        prefs.session = Some("of b".into());
        prefs.pick("a");
        assert_eq!(prefs.session.as_deref(), Some("of a"));
        prefs.pick("a");
        assert_eq!(prefs.session.as_deref(), Some("of a"), "picked twice");
        prefs.session = None;
        prefs.pick("b");
        prefs.pick("a");
        assert_eq!(prefs.session, None, "what was closed stays closed");
    }

    #[test]
    fn preferences_survive_and_garbage_does_no_harm() {
        let prefs = Prefs { language: "de".into(), imperial: true, theme: Theme::Dark, ..Prefs::default() };
        assert_eq!(Prefs::read(&prefs.text()), prefs);
        assert_eq!(Prefs::read("{"), Prefs::default());
        assert_eq!(Prefs::read(r#"{"imperial":true,"later":1}"#), Prefs { imperial: true, ..Prefs::default() });
    }
}
