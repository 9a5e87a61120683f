//! What the sight marks say of a reading: whether another distance's mark was set, and the elevation of an advised move
//! through the flight of the archer's own arrow, beside the rule of similar triangles.

use goldward_core::marks::{ElevationMove, MarksError, elevation_move};

use super::answer::{Known, wrong};
use crate::answer::Answer;
use crate::settings::Settings;

/// Another distance's mark, which seems to be set.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongSet {
    /// What it is called, such as `50 m`.
    pub name: String,
    /// Its distance, in metres.
    pub set_for_m: f64,
    /// Its probability.
    pub p: f64,
    /// What the scale shows when the mark of the distance shot is set.
    pub reading: String,
    /// The same as a number.
    pub reading_number: f64,
}

/// An advised elevation, through the flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Refined {
    /// The pin's move, both ways.
    pub elevation: ElevationMove,
    /// Whole clicks up through the flight.
    pub clicks: i32,
    /// Marks that the flight was fitted to.
    pub marks: usize,
    /// Whether the two differ by a click or more.
    pub differ: bool,
    /// The wrong mark, when one seems to be set.
    pub wrong: Option<WrongSet>,
}

/// Why the marks say nothing of a reading.
#[derive(Debug, Clone, PartialEq)]
pub enum NotRefined {
    /// The flight cannot be had from the marks.
    Flight(MarksError),
    /// The arrow does not reach this far.
    Reach(MarksError),
    /// The marks cannot be compared.
    Compare(MarksError),
}

impl Refined {
    /// The elevation of `answer`'s advised move through the flight fitted to the marks, and the mark that may be set.
    ///
    /// # Errors
    /// [`NotRefined`].
    pub fn of(known: &Known, settings: &Settings, answer: &Answer) -> Result<Self, NotRefined> {
        let flight = known.fitted.flight().map_err(NotRefined::Flight)?;
        let shift_mm = answer.advice.shift_mm.y_mm;
        let elevation =
            elevation_move(&flight, &settings.sight, settings.distance, shift_mm).map_err(NotRefined::Reach)?;
        let click_mm = settings.sight.click_mm()[1];
        // The advice keeps its clicks within 10 000; the flight changes them by a few in a hundred.
        let clicks = (elevation.refined_mm / click_mm).round() as i32;
        let ranges: Vec<(f64, String)> = known.book.marks.iter().map(|m| (m.range.m(), m.range.to_string())).collect();
        let centre = &answer.reading.centre;
        let sd_mm = answer.reading.centre_cov.yy.sqrt().clamp(1.0, 1e4);
        let wrong = wrong(&known.fitted, settings.distance.metres(), centre.y_mm, sd_mm, &ranges)
            .map_err(NotRefined::Compare)?;
        let wrong = wrong.filter(|_| answer.reading.shots > 0).map(|(found, reading_mm)| WrongSet {
            name: found.name,
            set_for_m: found.set_for_m,
            p: found.p,
            reading: known.numbers().at(reading_mm),
            reading_number: known.setup.scale.number_at(reading_mm),
        });
        let marks = known.setup.shot.len();
        Ok(Self { elevation, clicks, marks, differ: elevation.differ(click_mm), wrong })
    }
}
