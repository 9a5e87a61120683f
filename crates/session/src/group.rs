//! The shots of a session that have a place, as core's questions about many sessions take them.

use goldward_core::face::Face;
use goldward_core::fleet::tuning::Centre;
use goldward_core::fleet::{ArrowShot, Offset};
use goldward_core::group::{self, ClassOdds, GroupError, MOST_SHOTS, Prior, TRUST_UNKNOWN};
use goldward_core::plane::Point;
use goldward_core::shot::{Felt, Place, Shot};
use goldward_core::units::{Distance, Shaft, Spread};

use crate::session::Session;
use crate::settings::Settings;

/// One shot.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Its end; where a shot names none, that of the shot before.
    pub end: u32,
    /// Where it landed in millimetres, as if the sight had stood all the time as it does after the last touch.
    pub at: Point,
    /// How it felt.
    pub felt: Felt,
    /// Which arrow; empty when nobody said.
    pub arrow: String,
}

/// The shots of a session that have a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The distance.
    pub distance: Distance,
    /// Class odds of its shots.
    pub odds: ClassOdds,
    /// Spread expected of the archer, and how many arrows that is worth.
    pub expected: (Spread, f64),
    /// Shots with a place, in order.
    pub shots: Vec<Placed>,
    /// Shots left out: a miss or a ring without a clock has no place.
    pub placeless: usize,
    /// Shots that were called, taken at the middle of their cells.
    pub called: usize,
    /// Whether the pin was moved sideways during the session.
    pub windage_touched: bool,
}

impl Group {
    /// The shots of `session`, read with `settings`.
    #[must_use]
    pub fn of(session: &Session, settings: &Settings) -> Self {
        let mut group = Self {
            distance: settings.distance,
            odds: settings.unmarked,
            expected: (settings.spread, settings.prior.worth()),
            shots: Vec::with_capacity(session.shots.len()),
            placeless: 0,
            called: 0,
            windage_touched: session.touches.iter().any(|t| t.pin_mm.x_mm.abs() > 1e-9),
        };
        let mut end = 0;
        for listed in &session.shots {
            if let Ok(number) = listed.end.parse() {
                end = number;
            }
            // A call that the face does not have was refused where it was read.
            let Some(at) = listed.shot.place.middle(settings.face, settings.shaft) else {
                group.placeless += 1;
                continue;
            };
            group.called += usize::from(matches!(listed.shot.place, Place::Called(_)));
            group.shots.push(Placed {
                end,
                at: at - listed.shot.carry,
                felt: listed.shot.felt,
                arrow: listed.arrow.trim().to_owned(),
            });
        }
        group
    }

    /// The centre of `shots`, of this session or of others at its distance, by the model of a group: the latest of them, with
    /// the spread expected here and a setting that nobody vouches for.
    ///
    /// # Errors
    /// [`GroupError`], for numbers that no session has.
    pub fn centre<'a>(&self, shots: impl IntoIterator<Item = &'a Placed>) -> Result<Centre, GroupError> {
        let all: Vec<Shot> = shots.into_iter().map(|s| Shot::at(s.at.x_mm, s.at.y_mm).felt(s.felt)).collect();
        let latest = &all[all.len().saturating_sub(MOST_SHOTS)..];
        let prior = Prior::new(self.expected.0, self.distance, self.expected.1, TRUST_UNKNOWN)?;
        // Every place is known, so that the face does not matter.
        let reading = group::read(latest, &prior, self.odds, &Face::all()[0], Shaft::default())?;
        Ok(Centre { distance: self.distance, at: reading.centre, cov_mm2: reading.centre_cov })
    }

    /// Shot `shot` as an angle, as a part of session `session`.
    #[must_use]
    pub fn angle(&self, shot: &Placed, session: usize) -> ArrowShot {
        let at = Offset::from_mm(shot.at, self.distance);
        ArrowShot { session, end: shot.end as usize, arrow: 0, at, felt: shot.felt }
    }
}
