//! One session with all that is said of it.

use goldward_journal::Note;
use goldward_session::answer::Answer;
use goldward_session::kit::{Hand, Kit};
use goldward_session::marks::refined::Refined;
use goldward_session::session::Session;
use goldward_session::settings::Settings;

use super::reading::Told;
use crate::teller::Teller;
use crate::words::Word;

/// Everything a page tells of.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// The session.
    pub session: &'a Session,
    /// The settings it was read with.
    pub settings: &'a Settings,
    /// The kit.
    pub kit: &'a Kit,
    /// The answer.
    pub answer: &'a Answer,
    /// The elevation through the flight, where there are marks.
    pub refined: Option<&'a Refined>,
    /// Whether the number of arrows left was assumed.
    pub left_assumed: bool,
    /// What was remarked of the session.
    pub notes: &'a [Note],
}

impl Page<'_> {
    /// What core said.
    #[must_use]
    pub fn told(&self) -> Told<'_> {
        Told {
            reading: &self.answer.reading,
            advice: &self.answer.advice,
            notices: &self.answer.notices,
            shots_left: self.settings.ahead.shots_left,
            touch_cost_points: self.settings.ahead.touch_cost_points,
            distance_m: self.settings.distance.metres(),
        }
    }

    pub(crate) fn group_title(&self, t: &Teller<'_>) -> String {
        let arrows = self.session.shots.len().to_string();
        let mut title = t.f(Word::ReadGroup, &[&arrows, &self.settings.distance.to_string(), self.settings.face.title]);
        if let Some(hand) = self.kit.hand {
            title.push_str(", ");
            title.push_str(&t.t(match hand {
                Hand::Right => Word::RightHanded,
                Hand::Left => Word::LeftHanded,
            }));
        }
        title
    }
}
