//! Quantities of a marks file: distances that remember their unit, speeds, draw weights and dates.

use goldward_core::marks::{Bow, Unit};
use goldward_core::units::{Distance, UnitError, parse_decimal, trim_number};

/// A distance with the unit in which it was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    distance: Distance,
    yards: bool,
}

impl Range {
    /// A distance in metres.
    ///
    /// # Errors
    /// As [`Distance::from_metres`].
    pub fn metres(metres: f64) -> Result<Self, UnitError> {
        Ok(Self { distance: Distance::from_metres(metres)?, yards: false })
    }

    /// A distance in yards.
    ///
    /// # Errors
    /// As [`Distance::from_yards`].
    pub fn yards(yards: f64) -> Result<Self, UnitError> {
        Ok(Self { distance: Distance::from_yards(yards)?, yards: true })
    }

    /// The distance.
    #[must_use]
    pub fn distance(self) -> Distance {
        self.distance
    }

    /// The distance in metres.
    #[must_use]
    pub fn m(self) -> f64 {
        self.distance.metres()
    }

    /// Whether it was written in yards.
    #[must_use]
    pub fn is_yards(self) -> bool {
        self.yards
    }

    /// The same distance, told in yards.
    #[must_use]
    pub fn in_yards(self) -> Self {
        Self { yards: true, ..self }
    }

    /// The number in its own unit.
    #[must_use]
    pub fn number(self) -> f64 {
        if self.yards { self.distance.yards() } else { self.distance.metres() }
    }

    /// Whether both are the same place to shoot from.
    #[must_use]
    pub fn same_as(self, other: Self) -> bool {
        (self.m() - other.m()).abs() < 0.05
    }
}

impl std::fmt::Display for Range {
    /// `50 m` or `60 yd`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", trim_number(self.number()), if self.yards { "yd" } else { "m" })
    }
}

impl std::str::FromStr for Range {
    type Err = UnitError;

    /// Reads what [`Distance`] reads.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        Ok(Self { distance: text.parse()?, yards: text.to_lowercase().contains('y') })
    }
}

/// Number and unit, the unit in lower case.
fn split(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    Some((parse_decimal(&text[..end])?, text[end..].trim().to_lowercase().replace(' ', "")))
}

/// A speed: the number and its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Speed {
    /// The number.
    pub number: f64,
    /// Its unit.
    pub unit: Unit,
}

impl Speed {
    /// A speed in metres a second.
    #[must_use]
    pub fn metres_per_second(number: f64) -> Self {
        Self { number, unit: Unit::MetresPerSecond }
    }
}

/// Reads `57`, `57m/s`, `187fps`: a bare number is metres a second.
///
/// # Errors
/// What a good value looks like.
pub fn parse_speed(text: &str) -> Result<Speed, String> {
    match split(text) {
        Some((number, unit)) => match unit.as_str() {
            "" | "m/s" | "mps" => Ok(Speed { number, unit: Unit::MetresPerSecond }),
            "fps" | "ft/s" => Ok(Speed { number, unit: Unit::FeetPerSecond }),
            _ => Err("its unit is not known: write it such as 57m/s or 187fps".to_owned()),
        },
        None => Err("it is not a speed: write it such as 57m/s or 187fps".to_owned()),
    }
}

/// Newtons of a pound and of a kilogram of draw weight.
const POUND_N: f64 = 4.448_222;
const KILOGRAM_N: f64 = 9.806_65;

/// Reads `40lb`, `18kg`, `178N` into newtons; a draw weight needs its unit.
///
/// # Errors
/// What a good value looks like.
pub fn parse_draw_weight(text: &str) -> Result<f64, String> {
    match split(text) {
        Some((number, unit)) => match unit.as_str() {
            "lb" | "lbs" => Ok(number * POUND_N),
            "kg" => Ok(number * KILOGRAM_N),
            "n" => Ok(number),
            _ => Err("it needs its unit: write it such as 40lb, 18kg or 178N".to_owned()),
        },
        None => Err("it is not a draw weight: write it such as 40lb, 18kg or 178N".to_owned()),
    }
}

/// Reads the kind of a bow.
///
/// # Errors
/// The kinds.
pub fn parse_bow(text: &str) -> Result<Bow, String> {
    match text.trim().to_lowercase().as_str() {
        "recurve" | "barebow" => Ok(Bow::Recurve),
        "compound" => Ok(Bow::Compound),
        "longbow" => Ok(Bow::Longbow),
        _ => Err("the bow is not known: write recurve, compound or longbow".to_owned()),
    }
}

/// Reads a date such as `2026-07-12`.
///
/// # Errors
/// What a good value looks like.
#[cfg(feature = "files")]
pub fn parse_date(text: &str) -> Result<String, String> {
    let text = text.trim();
    match text.parse::<toml::value::Datetime>() {
        Ok(d) if d.date.is_some() && d.time.is_none() => Ok(text.to_owned()),
        _ => Err("it is not a date: write it such as 2026-07-12".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_keep_their_unit() {
        let yards: Range = "60 yd".parse().unwrap();
        assert_eq!(yards.to_string(), "60 yd");
        assert!((yards.m() - 54.864).abs() < 1e-12 && yards.same_as(Range::metres(54.9).unwrap()));
        assert_eq!("18,5m".parse::<Range>().unwrap().to_string(), "18.5 m");
        assert!("seventy".parse::<Range>().is_err());
    }

    #[test]
    fn speeds_and_draw_weights() {
        assert_eq!(parse_speed("187 fps"), Ok(Speed { number: 187.0, unit: Unit::FeetPerSecond }));
        assert_eq!(parse_speed("57,5 m/s"), Ok(Speed { number: 57.5, unit: Unit::MetresPerSecond }));
        assert!(parse_speed("fast").is_err() && parse_speed("57 parsecs").is_err());
        assert!((parse_draw_weight("40lb").unwrap() - 177.93).abs() < 0.01);
        assert!(parse_draw_weight("40").unwrap_err().contains("unit"));
        assert!(parse_date("2026-07-12").is_ok() && parse_date("2026-13-12").is_err());
        assert!(parse_date("2026-07-12T10:00:00").is_err());
    }
}
