//! What the sight marks say of a reading: whether another distance's mark was set, and the elevation of an advised move
//! through the flight of the archer's own arrow, beside the rule of similar triangles.

use std::path::Path;

use goldward_core::marks::{ElevationMove, elevation_move};
use goldward_session::marks::answer as marks_answer;
use goldward_session::marks::numbers::Numbers;

use crate::failure::Failure;
use crate::marks;
use crate::wire::{RefinedOut, WrongSetOut};
use goldward_report::teller::Teller;
use goldward_report::words::{self, Word};
use goldward_session::answer::Answer;
use goldward_session::kit::Kit;
use goldward_session::problem::Problem;
use goldward_session::settings::Settings;

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

impl From<&Refined> for RefinedOut {
    fn from(refined: &Refined) -> Self {
        let &Refined { elevation, clicks, marks, .. } = refined;
        Self { pin_up_mm: elevation.refined_mm, clicks_up: clicks, similar_pin_up_mm: elevation.similar_mm, marks }
    }
}

impl From<&WrongSet> for WrongSetOut {
    fn from(wrong: &WrongSet) -> Self {
        Self { name: wrong.name.clone(), set_for_m: wrong.set_for_m, p: wrong.p, reading: wrong.reading_number }
    }
}

impl Refined {
    /// The elevation of `answer`'s advised move through the flight fitted to the marks file at `path`; what that file leaves
    /// out is taken from `kit`.
    ///
    /// # Errors
    /// [`Failure::Data`] when the file cannot be read, its marks cannot be fitted or the distance is out of the arrow's reach.
    pub fn of(path: &Path, kit: &Kit, settings: &Settings, answer: &Answer) -> Result<Self, Failure> {
        let (book, setup, fitted) = marks::fitted_of(path, kit)?;
        let (flight, marks) = (marks::aids::flight(&fitted)?, setup.shot.len());
        let shift_mm = answer.advice.shift_mm.y_mm;
        let elevation = elevation_move(&flight, &settings.sight, settings.distance, shift_mm).map_err(|e| {
            let remedy = "check --distance and the marks, or leave out --marks";
            Failure::data(
                format!("the arrow of {} does not reach this far", path.display()),
                Problem::new("--marks", e.to_string(), remedy),
            )
        })?;
        let click_mm = settings.sight.click_mm()[1];
        // The advice keeps its clicks within 10 000; the flight changes them by a few in a hundred.
        let clicks = (elevation.refined_mm / click_mm).round() as i32;
        let ranges: Vec<(f64, String)> = book.marks.iter().map(|m| (m.range.m(), m.range.to_string())).collect();
        let (high_mm, sd_mm) = (answer.reading.centre.y_mm, answer.reading.centre_cov.yy.sqrt());
        let wrong = marks_answer::wrong(&fitted, settings.distance.metres(), high_mm, sd_mm, &ranges).map_err(|e| {
            let remedy = "check --distance and the marks, or leave out --marks";
            Failure::data("the marks cannot be compared", Problem::new("--marks", e.to_string(), remedy))
        })?;
        let wrong = wrong.filter(|_| answer.reading.shots > 0).map(|(found, reading_mm)| WrongSet {
            name: found.name,
            set_for_m: found.set_for_m,
            p: found.p,
            reading: Numbers::new(setup.scale).at(reading_mm),
            reading_number: setup.scale.number_at(reading_mm),
        });
        Ok(Self { elevation, clicks, marks, differ: elevation.differ(click_mm), wrong })
    }

    /// What to tell a person; nothing when both ways agree within a click.
    #[must_use]
    pub fn line(&self, t: &Teller<'_>, similar_clicks: i32) -> Option<String> {
        let clicks = |n: i32| words::clicks(t.language, [0, n]);
        self.differ
            .then(|| t.f(Word::RefinedLine, &[&self.marks.to_string(), &clicks(self.clicks), &clicks(similar_clicks)]))
    }
}
