//! Quantities as people write them, checked once and then trusted.
//!
//! Inside the crate a plain `f64` carries its unit in its name (`distance_m`, `offset_mm`, `spread_mrad`). At the
//! public edge these types do the checking: each holds one finite number in one fixed unit.
//!
//! ```
//! use goldward_core::units::{Distance, Spread};
//!
//! let distance: Distance = "60yd".parse()?;
//! assert!((distance.metres() - 54.864).abs() < 1e-9);
//! // A milliradian is a millimetre for each metre of distance.
//! assert!((Spread::from_mrad(2.0)?.at(distance) - 109.728).abs() < 1e-9);
//! assert!(Distance::from_metres(-70.0).is_err());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use std::fmt;
use std::str::FromStr;

use crate::range::{OutOfRange, within};

/// What is wrong with a quantity, and how to mend it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// The text does not start with a number.
    #[error("`{text}` is not a number: write {example}")]
    NotANumber {
        /// The text as it was given.
        text: String,
        /// What a good value looks like.
        example: &'static str,
    },
    /// The number is there, but its unit is not one of those accepted here.
    #[error("`{unit}` is not a unit known here: use {accepted}")]
    UnknownUnit {
        /// The unit as it was given.
        unit: String,
        /// The units that are accepted.
        accepted: &'static str,
    },
    /// The number is infinite, not a number, or outside what makes sense for the quantity.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// Parses a decimal number, with a full stop or a single comma as the decimal sign.
///
/// Returns `None` for anything that is not a finite number.
///
/// The nearest number is found for all that a length or an angle may be: up to nineteen digits, between 10⁻³⁸ and 10¹⁹. Outside of
/// that the last digit may be wrong. (The parser of the standard library has no such limits, and ten kilobytes of tables for them,
/// which a phone would wait for.)
#[must_use]
pub fn parse_decimal(text: &str) -> Option<f64> {
    let text = text.trim();
    let (negative, text) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, exponent.parse::<i32>().ok()?),
        None => (text, 0),
    };
    let (whole, part) = mantissa.split_once(['.', ',']).unwrap_or((mantissa, ""));
    if whole.len() + part.len() == 0 || !whole.bytes().chain(part.bytes()).all(|b| b.is_ascii_digit()) {
        return None;
    }
    let (mut digits, mut power) = (0_u64, exponent.saturating_sub(i32::try_from(part.len()).ok()?));
    let mut full = false;
    for digit in whole.bytes().chain(part.bytes()).map(|b| u64::from(b - b'0')) {
        match digits.checked_mul(10).and_then(|d| d.checked_add(digit)) {
            Some(more) if !full => digits = more,
            _ => (full, power) = (true, power.saturating_add(1)),
        }
    }
    let value = times_power_of_ten(digits, power);
    value.is_finite().then_some(if negative { -value } else { value })
}
/// `digits` times ten to the power of `power`.
fn times_power_of_ten(digits: u64, power: i32) -> f64 {
    match power {
        _ if digits == 0 => 0.0,
        0..=19 => (u128::from(digits) * 10_u128.pow(power.unsigned_abs())) as f64,
        -38..0 => divided(digits.into(), 10_u128.pow(power.unsigned_abs())),
        _ => digits as f64 * 10_f64.powi(power),
    }
}

/// The number nearest to `rest / divisor`, by long division in base two; `divisor` is below 2¹²⁷, `rest` is not 0 and below 2⁶⁴.
fn divided(mut rest: u128, mut divisor: u128) -> f64 {
    let mut scale = -63;
    while rest < divisor {
        (rest, scale) = (rest << 1, scale - 1);
    }
    while rest >> 1 >= divisor {
        (divisor, scale) = (divisor << 1, scale + 1);
    }
    let mut bits = 0_u64;
    for _ in 0..64 {
        bits <<= 1;
        if rest >= divisor {
            (bits, rest) = (bits | 1, rest - divisor);
        }
        rest <<= 1;
    }
    // Whatever is left decides only between two neighbours that are equally near.
    (bits | u64::from(rest != 0)) as f64 * 2_f64.powi(scale)
}

/// Splits `70m`, `5,5 mm` or `60 yd` into its number and its unit (lower case, possibly empty).
fn split_unit(text: &str, example: &'static str) -> Result<(f64, String), UnitError> {
    let text = text.trim();
    let not_a_number = || UnitError::NotANumber { text: text.to_owned(), example };
    let end = text
        .char_indices()
        .find(|&(i, c)| {
            let exponent =
                (c == 'e' || c == 'E') && text[i + 1..].starts_with(|d: char| d.is_ascii_digit() || d == '-');
            !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+') || exponent)
        })
        .map_or(text.len(), |(i, _)| i);
    let value = parse_decimal(&text[..end]).ok_or_else(not_a_number)?;
    Ok((value, text[end..].trim().to_lowercase()))
}

const YARD_M: f64 = 0.9144;
const INCH_MM: f64 = 25.4;
const FOOT_M: f64 = 0.3048;

/// Shooting distance, in metres; 1 m to 400 m.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Distance(f64);

impl Distance {
    /// A distance of `metres`.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] below 1 m, above 400 m or not finite.
    pub fn from_metres(metres: f64) -> Result<Self, UnitError> {
        Ok(Self(within("a distance", metres, "m", 1.0, 400.0)?))
    }

    /// A distance of `yards` (1 yd = 0.9144 m exactly).
    ///
    /// # Errors
    /// As [`Distance::from_metres`].
    pub fn from_yards(yards: f64) -> Result<Self, UnitError> {
        Self::from_metres(yards * YARD_M)
    }

    /// The distance in metres.
    #[must_use]
    pub fn metres(self) -> f64 {
        self.0
    }

    /// The distance in yards.
    #[must_use]
    pub fn yards(self) -> f64 {
        self.0 / YARD_M
    }
}

impl FromStr for Distance {
    type Err = UnitError;

    /// Reads `70`, `70m`, `60yd`: a bare number is metres.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let (value, unit) = split_unit(text, "a distance such as 70, 70m or 60yd")?;
        match unit.as_str() {
            "" | "m" | "metre" | "metres" | "meter" | "meters" => Self::from_metres(value),
            "yd" | "yds" | "yard" | "yards" => Self::from_yards(value),
            "ft" => Self::from_metres(value * FOOT_M),
            _ => Err(UnitError::UnknownUnit { unit, accepted: "m or yd" }),
        }
    }
}

impl fmt::Display for Distance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} m", trim_number(self.0))
    }
}

/// A length, in millimetres; any finite number up to 100 m either way.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Length(f64);

impl Length {
    /// A length of `mm` millimetres.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] beyond 100 000 mm either way, or not finite.
    pub fn from_mm(mm: f64) -> Result<Self, UnitError> {
        Ok(Self(within("a length", mm, "mm", -100_000.0, 100_000.0)?))
    }

    /// The length in millimetres.
    #[must_use]
    pub fn mm(self) -> f64 {
        self.0
    }
}

impl FromStr for Length {
    type Err = UnitError;

    /// Reads `5.5`, `5,5mm`, `2.5cm`, `1in`, `0.88m`: a bare number is millimetres.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let (value, unit) = split_unit(text, "a length such as 5.5, 5.5mm, 2.5cm or 1in")?;
        let scale = match unit.as_str() {
            "" | "mm" => 1.0,
            "cm" => 10.0,
            "in" | "inch" | "inches" | "\"" => INCH_MM,
            "m" => 1000.0,
            _ => return Err(UnitError::UnknownUnit { unit, accepted: "mm, cm, in or m" }),
        };
        Self::from_mm(value * scale)
    }
}

/// The spread of an archer: one standard deviation on one axis, seen from the shooting line, in milliradians.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Spread(f64);

impl Spread {
    /// A spread of `mrad` milliradians; 0.01 to 100.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`].
    pub fn from_mrad(mrad: f64) -> Result<Self, UnitError> {
        Ok(Self(within("a spread", mrad, "mrad", 0.01, 100.0)?))
    }

    /// The spread in milliradians.
    #[must_use]
    pub fn mrad(self) -> f64 {
        self.0
    }

    /// The spread on a face at `distance`, in millimetres: 1 mrad is 1 mm for each metre (small angles).
    #[must_use]
    pub fn at(self, distance: Distance) -> f64 {
        self.0 * distance.metres()
    }
}

impl FromStr for Spread {
    type Err = UnitError;

    /// Reads `2.1` or `2.1mrad`: a bare number is milliradians.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let (value, unit) = split_unit(text, "a spread such as 2.1mrad")?;
        match unit.as_str() {
            "" | "mrad" => Self::from_mrad(value),
            _ => Err(UnitError::UnknownUnit { unit, accepted: "mrad" }),
        }
    }
}

/// The outer diameter of a shaft, in millimetres; 0 (a point) to 30.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Shaft(f64);

impl Shaft {
    /// A shaft `mm` millimetres across.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`].
    pub fn from_diameter_mm(mm: f64) -> Result<Self, UnitError> {
        Ok(Self(within("a shaft diameter", mm, "mm", 0.0, 30.0)?))
    }

    /// The diameter in millimetres.
    #[must_use]
    pub fn diameter_mm(self) -> f64 {
        self.0
    }

    /// Half the diameter: how far outside a line the centre of the shaft may be while still touching it.
    #[must_use]
    pub fn radius_mm(self) -> f64 {
        self.0 / 2.0
    }
}

impl Default for Shaft {
    /// 5.5 mm, a common outdoor carbon shaft (common practice, no source).
    fn default() -> Self {
        Self(5.5)
    }
}

/// A number with at most three decimals and no trailing zeros.
#[must_use]
pub fn trim_number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_read_in_metres_and_yards() {
        assert!((("70").parse::<Distance>().unwrap().metres() - 70.0).abs() < 1e-12);
        assert!((("60 yd").parse::<Distance>().unwrap().metres() - 54.864).abs() < 1e-12);
        assert!((("18,5m").parse::<Distance>().unwrap().metres() - 18.5).abs() < 1e-12);
    }

    /// Against the parser of the standard library.
    #[test]
    fn numbers_are_the_nearest_ones() {
        let mut seed = 7_u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            seed >> 11
        };
        for _ in 0..20_000 {
            let any = next() as f64 / (1_u64 << 53) as f64;
            let digits = next() % 10_u64.pow((next() % 19 + 1) as u32);
            let power = (next() % 20) as i32;
            let text = [
                format!("{}", (any - 0.5) * 10_f64.powi(power - 12)),
                format!("{digits}e{}", power - 19),
                format!("-{digits}E+{}", power % 10),
                format!("{}.{digits}", next() % 1000),
                format!(".{:019}", digits),
            ];
            for text in text {
                let (ours, theirs) = (parse_decimal(&text).unwrap(), text.parse::<f64>().unwrap());
                assert_eq!(ours.to_bits(), theirs.to_bits(), "{text}: {ours} for {theirs}");
            }
        }
        for text in
            ["0", "-0", "+7", "5.", ".5", "007.50", "1e5", "9007199254740993", "0.1", "1e22", "18446744073709551615"]
        {
            let theirs: f64 = text.parse().unwrap();
            assert_eq!(parse_decimal(text).map(f64::to_bits), Some(theirs.to_bits()), "{text}");
        }
        for text in ["1e-300", "123456789012345678901234567890", "1.7e308", "1e-400"] {
            let (ours, theirs) = (parse_decimal(text).unwrap(), text.parse::<f64>().unwrap());
            assert!((ours - theirs).abs() <= theirs.abs() * 1e-14, "{text}: {ours}");
        }
        assert_eq!(parse_decimal("2,5"), Some(2.5));
        for text in [
            "",
            ".",
            "-",
            "+-1",
            "1,2,3",
            "1.234,5",
            "1e",
            "e5",
            "1e5.0",
            "0x10",
            "1_000",
            "inf",
            "nan",
            "1e999",
            "1e99999999999",
        ] {
            assert_eq!(parse_decimal(text), None, "{text}");
        }
    }

    #[test]
    fn lengths_are_read_in_four_units() {
        for (text, mm) in
            [("5.5", 5.5), ("5,5mm", 5.5), ("2.5cm", 25.0), ("1 in", 25.4), ("0.88m", 880.0), ("-3", -3.0)]
        {
            assert!((text.parse::<Length>().unwrap().mm() - mm).abs() < 1e-12, "{text}");
        }
    }

    #[test]
    fn errors_name_the_remedy() {
        assert!("seventy".parse::<Distance>().unwrap_err().to_string().contains("70m"));
        assert!("70 parsecs".parse::<Distance>().unwrap_err().to_string().contains("m or yd"));
        assert!("0".parse::<Distance>().unwrap_err().to_string().contains("between 1 and 400 m"));
        for text in ["inf", "NaN", "1e999", "", "--3", "1.2.3", "é"] {
            assert!(text.parse::<Length>().is_err(), "{text}");
        }
    }
}
