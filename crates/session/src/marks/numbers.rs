//! Numbers as they stand on the scale, and lists of distances.

use goldward_core::marks::Scale;
use goldward_core::units::UnitError;

use super::quantity::Range;

/// Writes numbers of a scale with as many decimals as a tenth of a millimetre needs.
#[derive(Debug, Clone, Copy)]
pub struct Numbers {
    scale: Scale,
    decimals: usize,
}

impl Numbers {
    /// For a scale.
    #[must_use]
    pub fn new(scale: Scale) -> Self {
        Self { scale, decimals: (scale.unit_mm() / 0.1001).log10().ceil().clamp(0.0, 4.0) as usize }
    }

    /// The number on the scale at `reading_mm`.
    #[must_use]
    pub fn at(&self, reading_mm: f64) -> String {
        fixed(self.scale.number_at(reading_mm), self.decimals)
    }

    /// A length on the scale, without a sign.
    #[must_use]
    pub fn length(&self, length_mm: f64) -> String {
        fixed(self.scale.units(length_mm.abs()), self.decimals)
    }

    /// How the number changes when the reading grows by `by_mm`, with its sign.
    #[must_use]
    pub fn change(&self, by_mm: f64) -> String {
        let text = format!("{:+.*}", self.decimals, self.scale.number_at(by_mm));
        if text.trim_start_matches(['+', '-']).chars().all(|c| matches!(c, '0' | '.')) {
            text.replace('-', "+")
        } else {
            text
        }
    }

    /// Both ends of an interval, the lesser number first.
    #[must_use]
    pub fn interval(&self, interval_mm: [f64; 2]) -> [String; 2] {
        let [a, b] = interval_mm.map(|mm| self.scale.number_at(mm));
        [a.min(b), a.max(b)].map(|x| fixed(x, self.decimals))
    }

    /// What one unit of the scale is, when it is not a millimetre.
    #[must_use]
    pub fn unit(&self) -> Option<f64> {
        let unit = self.scale.unit_mm();
        ((unit - 1.0).abs() > 1e-9).then_some(unit)
    }

    /// The scale.
    #[must_use]
    pub fn scale(&self) -> Scale {
        self.scale
    }
}

/// A number with so many decimals and never `-0`.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// Both ends and every whole multiple of `every` between them, in yards or metres.
///
/// # Errors
/// As [`Range::metres`].
pub fn ladder(from: f64, to: f64, every: f64, yards: bool) -> Result<Vec<Range>, UnitError> {
    let make = if yards { Range::yards } else { Range::metres };
    let (first, last) = (make(from)?, make(to)?);
    if to < from {
        return Ok(Vec::new());
    }
    // Steps of at least half a metre within 400 m: bounded.
    let (low, high) = ((from / every).ceil() as usize, (to / every).floor() as usize);
    let mut rungs = vec![first];
    for rung in (low..=high).map(|i| make(every * i as f64)).chain([Ok(last)]) {
        let rung = rung?;
        if rungs.iter().all(|r| !r.same_as(rung)) {
            rungs.push(rung);
        }
    }
    Ok(rungs)
}

/// A tenth beyond the longest distance shot, in whole fives, and at least `from` and 20 more.
#[must_use]
pub fn usual_end(longest_m: f64, from: f64, yards: bool) -> f64 {
    let longest = if yards { longest_m / 0.9144 } else { longest_m };
    (5.0 * (1.1 * longest / 5.0 - 1e-9).ceil()).max(from + 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_core::marks::PinDown;

    #[test]
    fn decimals_follow_the_unit() {
        let check = |unit: f64, down, mm: f64, want: &str| {
            assert_eq!(Numbers::new(Scale::new(unit, down).unwrap()).at(mm), want);
        };
        check(1.0, PinDown::Grows, 42.34, "42.3");
        check(10.0, PinDown::Falls, 42.34, "-4.23");
        check(3.2, PinDown::Grows, 32.0, "10.00");
        check(0.1, PinDown::Grows, 42.34, "423");
        check(1.0, PinDown::Falls, 0.01, "0.0");
    }

    #[test]
    fn ladders_end_where_they_should() {
        let names = |from, to, every| -> Vec<String> {
            ladder(from, to, every, false).unwrap().iter().map(ToString::to_string).collect()
        };
        assert_eq!(names(10.0, 20.0, 5.0), ["10 m", "15 m", "20 m"]);
        assert_eq!(names(18.0, 31.0, 5.0), ["18 m", "20 m", "25 m", "30 m", "31 m"]);
        assert_eq!((names(10.0, 12.0, 0.5).len(), names(10.0, 10.0, 1.0).len()), (5, 1));
        assert!(names(20.0, 10.0, 5.0).is_empty());
        assert!(ladder(0.0, 10.0, 5.0, false).is_err());
        assert!((usual_end(50.0, 10.0, false) - 55.0).abs() < 1e-9);
        assert!((usual_end(18.0, 10.0, false) - 30.0).abs() < 1e-9);
    }
}
