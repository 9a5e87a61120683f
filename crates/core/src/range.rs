//! Numbers and the domain they must lie in: one way to check them, one error.

use std::fmt;

/// A number that is none, or lies outside its domain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// Which number.
    pub what: &'static str,
    /// As given.
    pub value: f64,
    /// The unit of value and bounds; empty for a number without one.
    pub unit: &'static str,
    /// Smallest and largest accepted.
    pub bounds: [f64; 2],
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { what, value, unit, bounds: [min, max] } = self;
        match *unit {
            "" => write!(f, "{what} is {value}: it must lie between {min} and {max}"),
            unit => {
                write!(f, "{what} of {value} {unit} is out of range: it must lie between {min} and {max} {unit}")
            }
        }
    }
}

impl std::error::Error for OutOfRange {}

/// `value`, where it lies between the bounds; they belong to the domain.
///
/// # Errors
/// [`OutOfRange`], also for what is no number.
pub fn within(what: &'static str, value: f64, unit: &'static str, min: f64, max: f64) -> Result<f64, OutOfRange> {
    // No number lies between any bounds.
    if (min..=max).contains(&value) { Ok(value) } else { Err(OutOfRange { what, value, unit, bounds: [min, max] }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_belong_to_the_domain_and_what_is_no_number_does_not() {
        for value in [0.1, 5.0, 20.0] {
            assert_eq!(within("a click", value, "mm", 0.1, 20.0), Ok(value));
        }
        for value in [0.099, 20.001, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let e = within("a click", value, "mm", 0.1, 20.0).unwrap_err();
            assert_eq!((e.what, e.unit, e.bounds), ("a click", "mm", [0.1, 20.0]));
        }
    }

    #[test]
    fn the_unit_is_told_where_there_is_one() {
        let said = |unit| within("a number", 7.0, unit, 1.0, 6.0).unwrap_err().to_string();
        assert_eq!(said(""), "a number is 7: it must lie between 1 and 6");
        assert_eq!(said("m"), "a number of 7 m is out of range: it must lie between 1 and 6 m");
    }
}
