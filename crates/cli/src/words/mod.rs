//! Numbers in the words of the shooting line.

pub mod share;

pub use goldward_report::text::wrap;

use goldward_core::plane::Point;
use goldward_core::units::trim_number;

/// Millimetres: whole from 10 on, one decimal below.
#[must_use]
pub fn mm(value: f64) -> String {
    if value.abs() >= 9.95 { format!("{value:.0}") } else { trim_number((10.0 * value).round() / 10.0) }
}

fn one_side(value: f64, positive: &str, negative: &str) -> Option<String> {
    let text = mm(value.abs());
    (text != "0").then(|| format!("{text} mm {}", if value > 0.0 { positive } else { negative }))
}

/// A place on the face: `42 mm high, 15 mm left`, or `in the middle`.
#[must_use]
pub fn place(p: Point) -> String {
    let parts: Vec<String> =
        [one_side(p.y_mm, "high", "low"), one_side(p.x_mm, "right", "left")].into_iter().flatten().collect();
    if parts.is_empty() { "in the middle".to_owned() } else { parts.join(", ") }
}

/// A move of whole clicks: `5 clicks up, 1 click left`, or `no clicks`.
#[must_use]
pub fn clicks(clicks: [i32; 2]) -> String {
    let one = |n: i32, positive: &str, negative: &str| {
        let unit = if n.abs() == 1 { "click" } else { "clicks" };
        (n != 0).then(|| format!("{} {unit} {}", n.unsigned_abs(), if n > 0 { positive } else { negative }))
    };
    let parts: Vec<String> =
        [one(clicks[1], "up", "down"), one(clicks[0], "right", "left")].into_iter().flatten().collect();
    if parts.is_empty() { "no clicks".to_owned() } else { parts.join(", ") }
}

/// A probability: `93 %`, and never quite certain.
#[must_use]
pub fn percent(p: f64) -> String {
    goldward_report::words::percent(goldward_report::words::Language::English, p)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_follow_the_signs() {
        assert_eq!(place(Point::new(-15.2, 42.4)), "42 mm high, 15 mm left");
        assert_eq!(place(Point::new(0.01, -3.25)), "3.3 mm low");
        assert_eq!(place(Point::new(0.0, 0.04)), "in the middle");
        assert_eq!(clicks([-2, 5]), "5 clicks up, 2 clicks left");
        assert_eq!(clicks([1, 0]), "1 click right");
    }
}
