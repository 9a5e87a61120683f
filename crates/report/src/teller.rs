//! How things are told: in which language, units and dates.

use goldward_core::plane::Point;
use goldward_core::units::trim_number;

use crate::words::{self, Language, Word, fill};
use goldward_session::marks::quantity::Range;

/// How things are told: language, units, dates.
#[derive(Clone, Copy)]
pub struct Teller<'a> {
    /// The language.
    pub language: Language,
    /// Inches and yards.
    pub imperial: bool,
    /// A date from milliseconds since 1970 UTC.
    pub date: &'a dyn Fn(u64) -> String,
}

impl Teller<'_> {
    /// A word.
    #[must_use]
    pub fn t(&self, word: Word) -> String {
        word.text(self.language).to_owned()
    }

    /// A sentence with its gaps filled.
    #[must_use]
    pub fn f(&self, word: Word, values: &[&str]) -> String {
        fill(word.text(self.language), values)
    }

    /// A number with at most `decimals` decimals.
    #[must_use]
    pub fn number(&self, value: f64, decimals: i32) -> String {
        let k = 10_f64.powi(decimals);
        self.language.number(&trim_number((value * k).round() / k))
    }

    /// A length on the face.
    #[must_use]
    pub fn length(&self, mm: f64) -> String {
        words::length(self.language, self.imperial, mm.abs())
    }

    /// A shooting distance.
    #[must_use]
    pub fn distance(&self, metres: f64) -> String {
        words::distance(self.language, self.imperial, metres)
    }

    /// A shooting distance in the unit in which it was told.
    #[must_use]
    pub fn range(&self, range: Range) -> String {
        if range.is_yards() {
            return words::distance(self.language, true, range.m());
        }
        format!("{} m", self.number(range.m(), 2))
    }

    /// A probability, never quite none or all.
    #[must_use]
    pub fn percent(&self, p: f64) -> String {
        words::percent(self.language, p)
    }

    /// How often something is so: `8 times in 10`.
    #[must_use]
    pub fn often(&self, p: f64) -> String {
        words::often(self.language, p)
    }

    /// An angle.
    #[must_use]
    pub fn mrad(&self, value: f64) -> String {
        format!("{} mrad", self.number(value, 2))
    }

    /// How far and which way, in one of eight directions: `41 mm low-right`.
    #[must_use]
    pub fn toward(&self, p: Point) -> String {
        let (x, y) = (p.x_mm, p.y_mm);
        // A direction within an eighth of a turn of an axis is that axis.
        let (mut ways, steep) = (Vec::new(), 0.414_213_562);
        if y.abs() > steep * x.abs() {
            ways.push(self.t(if y > 0.0 { Word::High } else { Word::Low }));
        }
        if x.abs() > steep * y.abs() {
            ways.push(self.t(if x > 0.0 { Word::Right } else { Word::Left }));
        }
        format!("{} {}", self.length(p.radius_mm()), ways.join("-")).trim_end().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_eight_and_in_the_language() {
        let date = |_| String::new();
        let mut t = Teller { language: Language::English, imperial: false, date: &date };
        assert_eq!(t.toward(Point::new(30.0, -28.0)), "41 mm low-right");
        assert_eq!(t.toward(Point::new(0.0, 12.0)), "12 mm high");
        assert_eq!(t.toward(Point::new(-500.0, 20.0)), "50 cm left");
        t.language = Language::German;
        assert_eq!(t.toward(Point::new(-3.0, -3.2)), "4,4 mm tief-links");
    }
}
