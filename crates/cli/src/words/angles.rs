//! Angles and offsets in the words of the shooting line.

use goldward_core::fleet::Offset;
use goldward_core::plane::Point;
use goldward_core::units::{Distance, trim_number};

/// A length on the face: centimetres from 1 cm on, millimetres below.
#[must_use]
pub fn length(mm: f64) -> String {
    let cm = mm.abs() / 10.0;
    if cm >= 9.95 {
        format!("{cm:.0} cm")
    } else if cm >= 0.995 {
        format!("{} cm", trim_number((10.0 * cm).round() / 10.0))
    } else {
        format!("{:.0} mm", mm.abs())
    }
}

/// A direction as the archer sees it: `low-right`, `high`, `left`.
#[must_use]
pub fn direction(p: Point) -> &'static str {
    const NAMES: [&str; 8] = ["right", "high-right", "high", "high-left", "left", "low-left", "low", "low-right"];
    let eighth = (p.y_mm.atan2(p.x_mm) / std::f64::consts::FRAC_PI_4).round() as i64;
    NAMES[eighth.rem_euclid(8) as usize]
}

/// An offset at a distance: `4.1 cm low-right`.
#[must_use]
pub fn offset(o: Offset, distance: Distance) -> String {
    let p = o.at(distance);
    format!("{} {}", length(p.radius_mm()), direction(p))
}

/// An angle: `1.52 mrad`.
#[must_use]
pub fn mrad(value: f64) -> String {
    format!("{value:.2} mrad")
}

/// Reads a share between 0 and 1: `10%` or `0.1`.
///
/// # Errors
/// What is wrong and the remedy, in words.
pub fn parse_share(text: &str) -> Result<f64, String> {
    let bare = text.trim().trim_end_matches('%').trim_end();
    let scale = if text.contains('%') { 0.01 } else { 1.0 };
    match goldward_core::units::parse_decimal(bare) {
        Some(v) if v * scale > 0.0 && v * scale < 1.0 => Ok(v * scale),
        Some(_) => Err("it is out of range: write a share between 0% and 100%, such as 10%".to_owned()),
        None => Err("it is not a share: write one such as 10%".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_eight() {
        for (x, y, want) in
            [(1.0, 0.1, "right"), (1.0, -1.0, "low-right"), (-1.0, 0.9, "high-left"), (0.0, -2.0, "low")]
        {
            assert_eq!(direction(Point::new(x, y)), want);
        }
        assert_eq!((length(41.2), length(-4.2), length(183.0)), ("4.1 cm".into(), "4 mm".into(), "18 cm".into()));
        assert!((parse_share("10 %").unwrap() - 0.1).abs() < 1e-12 && parse_share("10").is_err());
    }
}
