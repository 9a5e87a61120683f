//! Numbers in the words of the shooting line.

pub mod angles;

pub use goldward_report::text::wrap;

use goldward_core::advice::{Advice, Reason};
use goldward_core::group::Pattern;
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

/// A move of the pin: `0.5 mm up, 0.2 mm left`.
#[must_use]
pub fn pin(p: Point) -> String {
    let one = |value: f64, positive: &str, negative: &str| {
        let text = trim_number((100.0 * value.abs()).round() / 100.0);
        (text != "0").then(|| format!("{text} mm {}", if value > 0.0 { positive } else { negative }))
    };
    let parts: Vec<String> = [one(p.y_mm, "up", "down"), one(p.x_mm, "right", "left")].into_iter().flatten().collect();
    if parts.is_empty() { "nothing".to_owned() } else { parts.join(", ") }
}

/// Points won or lost: `+12`, `-0.3`.
#[must_use]
pub fn points(value: f64) -> String {
    let text = if value.abs() >= 9.95 { format!("{value:+.0}") } else { format!("{value:+.1}") };
    if text == "-0.0" { "+0.0".to_owned() } else { text }
}

/// A probability: `93 %`, and never quite certain.
#[must_use]
pub fn percent(p: f64) -> String {
    match p {
        p if p > 0.99 => "over 99 %".to_owned(),
        p if p < 0.01 => "under 1 %".to_owned(),
        p => format!("{:.0} %", 100.0 * p),
    }
}

/// A count of arrows: `1 arrow`, `12 arrows`.
#[must_use]
pub fn arrows(n: usize) -> String {
    if n == 1 { "1 arrow".to_owned() } else { format!("{n} arrows") }
}

/// A pattern in plain words.
#[must_use]
pub fn pattern(pattern: Pattern) -> &'static str {
    match pattern {
        Pattern::Steady => "one steady group",
        Pattern::Split => "two groups that take turns",
        Pattern::Drifting => "a group that wanders as you shoot",
        Pattern::Jumped => "a group that moved once",
    }
}

/// Why the sight is to be touched, left or shot on with, in one plain sentence.
#[must_use]
pub fn why(reason: Reason) -> &'static str {
    match reason {
        Reason::NoShots => "No shots are left at this distance.",
        Reason::Within => "The sight is within half a click of the best that is known.",
        Reason::NoTime => "There is no time for a touch in this end: shoot on and touch after it.",
        Reason::MayShow => "More arrows may show a touch worth making.",
        Reason::TooLittle => "A touch would gain less than it costs, and waiting will not make it much better.",
        Reason::Now => "Waiting would cost more than the next arrows can teach.",
        Reason::Teach => "The next arrows teach more than they cost: one touch later serves better than two.",
        Reason::LessThanCost => "A touch would gain less than it costs.",
        Reason::OnlyMisses => {
            "Every arrow missed: find the arrows first, then shoot close, with a clear overshoot area behind the target, and \
             step out from there. No number of clicks follows from misses."
        }
        Reason::NoSide => {
            "Rings alone do not tell to which side the arrows went: call the clock as well (8@4), or mark where they are."
        }
        Reason::OnlyBad => "Every shot felt bad, so they speak of the shots and not of the sight.",
    }
}

/// When to look at the sight again.
#[must_use]
pub fn look(advice: &Advice) -> Option<String> {
    let arrows = |k: u32| if k == 1 { "the next arrow".to_owned() } else { format!("{k} more arrows") };
    advice.look_after.map(|k| format!("Look again after {}.", arrows(k)))
}

/// When the sight will be known well enough.
#[must_use]
pub fn more(advice: &Advice, touch_cost_points: f64) -> Option<String> {
    let cost = trim_number(touch_cost_points);
    match advice.more_shots {
        // Where no move promises anything there is nothing to settle.
        0 if advice.best.clicks == [0, 0] => None,
        0 => Some(format!("After that, four times in five, no further touch would gain the {cost} points it costs.")),
        144.. => Some(format!(
            "It would take a great many more arrows to know the centre so well that no further touch could gain {cost} points."
        )),
        k => Some(format!(
            "After about {k} more the centre is known so well that, four times in five, no further touch would gain the \
             {cost} points it costs."
        )),
    }
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
        assert_eq!(pin(Point::new(0.2, -0.55)), "0.55 mm down, 0.2 mm right");
        assert_eq!(points(-0.01), "+0.0");
        assert_eq!(points(12.4), "+12");
    }
}
