//! A session: shots, oldest first, and the touches of the sight between them, wherever they were written down.

use goldward_core::plane::Point;
use goldward_core::shot::Shot;
use goldward_core::sight::Sight;
use goldward_core::units::Distance;

use crate::settings::Settings;

/// One shot as it was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// The shot, with its carry to the present setting.
    pub shot: Shot,
    /// The end it was shot in; empty when the file does not say.
    pub end: String,
    /// The arrow; empty when the file does not say.
    pub arrow: String,
    /// The line of the file, from 1; 0 where there is no file.
    pub line: usize,
}

/// One touch of the sight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    /// How the pin was moved, right and up as seen, in millimetres.
    pub pin_mm: Point,
    /// How many shots of the session had been shot before.
    pub after_shots: usize,
}

/// Something odd about a session that could be read all the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Oddity {
    /// An end that stands after a later one.
    EndGoesBack {
        /// The line of its first row.
        line: usize,
        /// Its number.
        end: u32,
    },
    /// So many shots have neither a place nor a call of the face.
    LeftOut(usize),
    /// In these ends two arrows hit one spot.
    SharedSpots(Vec<u32>),
}

/// A session: shots, oldest first, and the touches between them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Session {
    /// The shots.
    pub shots: Vec<Listed>,
    /// The touches.
    pub touches: Vec<Touch>,
    /// What the touches have moved the arrows by in all, in millimetres on the face, in the direction of the pin.
    pub moved_mm: Point,
    /// What is odd, though it could be read.
    pub odd: Vec<Oddity>,
}

impl Session {
    /// Keeps the latest `n` shots.
    pub fn keep_last(&mut self, n: usize) {
        let dropped = self.shots.len().saturating_sub(n);
        self.shots.drain(..dropped);
        for touch in &mut self.touches {
            touch.after_shots = touch.after_shots.saturating_sub(dropped);
        }
        self.touches.retain(|t| t.after_shots > 0);
    }

    /// The shots as the core takes them.
    #[must_use]
    pub fn core_shots(&self) -> Vec<Shot> {
        // The text of an end is only compared with that of other shots.
        let mut names: Vec<&str> = Vec::new();
        let told: Vec<Option<u32>> = self
            .shots
            .iter()
            .map(|l| {
                let end = l.end.as_str();
                if end.is_empty() {
                    return None;
                }
                let at = names.iter().position(|n| *n == end).unwrap_or_else(|| {
                    names.push(end);
                    names.len() - 1
                });
                Some(at as u32)
            })
            .collect();
        self.shots.iter().zip(goldward_core::shot::ends(&told)).map(|(l, end)| l.shot.in_end(end)).collect()
    }
}

/// Puts a session together act by act, oldest first, so that every shot is carried across the touches after it in one way,
/// whatever it was read from.
#[derive(Debug)]
pub struct Builder {
    session: Session,
    sight: Sight,
    distance: Distance,
    /// What the touches so far have moved the arrows by. Until the end a shot's carry holds what this was before it.
    total: Point,
    /// Touches since the last shot.
    touches: u32,
}

impl Builder {
    /// A session at the distance of `settings`, with their sight.
    #[must_use]
    pub fn new(settings: &Settings) -> Self {
        Self {
            session: Session::default(),
            sight: settings.sight,
            distance: settings.distance,
            total: Point::default(),
            touches: 0,
        }
    }

    /// Adds a shot; its carry is not looked at.
    pub fn shot(&mut self, mut listed: Listed) {
        listed.shot.carry = self.total;
        listed.shot.loosened_mm2 = f64::from(self.touches) * self.sight.setting_variance_on_face(self.distance);
        self.touches = 0;
        self.session.shots.push(listed);
    }

    /// Adds a touch: how the pin was moved, right and up as seen, in millimetres.
    pub fn touch(&mut self, pin_mm: Point) {
        self.total = self.total + self.sight.shift_mm(pin_mm, self.distance);
        self.touches += 1;
        self.session.touches.push(Touch { pin_mm, after_shots: self.session.shots.len() });
    }

    /// Adds something odd.
    pub fn odd(&mut self, oddity: Oddity) {
        self.session.odd.push(oddity);
    }

    /// Whether nothing odd was found so far.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        self.session.odd.is_empty()
    }

    /// The session.
    #[must_use]
    pub fn done(mut self) -> Session {
        for listed in &mut self.session.shots {
            listed.shot.carry = self.total - listed.shot.carry;
        }
        self.session.moved_mm = self.total;
        self.session
    }
}
