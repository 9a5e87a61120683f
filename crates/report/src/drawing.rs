//! Shapes of the picture: what core says, as SVG attributes in millimetres with y down.

use goldward_core::face::{Colour, Face};
pub use goldward_core::group::Class as Mark;
use goldward_core::pace::Answer;
use goldward_core::plane::{Point, Sym2};
use goldward_core::stats::ELLIPSE_80;

/// How shot `i` (from 0) is shown.
#[must_use]
pub fn mark(answer: &Answer, i: usize) -> Mark {
    answer.reading.class(i)
}

/// The outline of a shot of class `mark` about `(x, y)` (y down), `r` in size: an SVG path.
#[must_use]
pub fn outline(mark: Mark, x: f64, y: f64, r: f64) -> String {
    match mark {
        Mark::Clean => {
            format!("M{:.2} {y:.2}a{r:.2} {r:.2} 0 1 0 {:.2} 0a{r:.2} {r:.2} 0 1 0 {:.2} 0Z", x - r, 2.0 * r, -2.0 * r)
        }
        Mark::Other => {
            let s = 0.92 * r;
            format!("M{:.2} {:.2}h{:.2}v{:.2}h{:.2}Z", x - s, y - s, 2.0 * s, 2.0 * s, -2.0 * s)
        }
        Mark::Flyer => {
            let s = 1.3 * r;
            format!("M{x:.2} {:.2}l{s:.2} {s:.2}l{:.2} {s:.2}l{:.2} {:.2}Z", y - s, -s, -s, -s)
        }
        Mark::Stray => {
            let s = 1.3 * r;
            format!("M{x:.2} {:.2}L{:.2} {:.2}H{:.2}Z", y - s, x + s, y + 0.8 * s, x - s)
        }
    }
}

/// An ellipse that holds four fifths: `(rx, ry, turn in degrees)` for a picture with y down.
#[must_use]
pub fn ellipse(cov: Sym2) -> (f64, f64, f64) {
    let p = cov.principal();
    let axis = |v: f64| ELLIPSE_80 * v.max(0.0).sqrt();
    (axis(p.major), axis(p.minor), -p.angle_rad.to_degrees())
}

/// The arrow of a move from `from` to `to` (y up) as an SVG path with a head of `head` mm; empty when it is too short.
#[must_use]
pub fn arrow(from: Point, to: Point, head: f64) -> String {
    let (dx, dy) = (to.x_mm - from.x_mm, from.y_mm - to.y_mm);
    let d = dx.hypot(dy);
    if d < 0.3 * head {
        return String::new();
    }
    let (x, y) = (to.x_mm, -to.y_mm);
    let (ux, uy) = (dx / d * head, dy / d * head);
    format!(
        "M{:.2} {:.2}L{x:.2} {y:.2}M{:.2} {:.2}L{x:.2} {y:.2}L{:.2} {:.2}",
        from.x_mm,
        -from.y_mm,
        x - ux - 0.55 * uy,
        y - uy + 0.55 * ux,
        x - ux + 0.55 * uy,
        y - uy - 0.55 * ux
    )
}

/// Fill and line colour of a zone.
#[must_use]
pub fn paint(colour: Colour) -> (&'static str, &'static str) {
    match colour {
        Colour::Gold => ("#ffdf4d", "#6b5600"),
        Colour::Red => ("#e8584f", "#5c120d"),
        Colour::Blue => ("#6db9e3", "#0d3a54"),
        Colour::Black => ("#3b3b40", "#b9b9c0"),
        Colour::White => ("#fdfdfb", "#8a8a90"),
    }
}

/// How far below the middle of a digit its line stands, in its size.
pub const VALUE_DROP: f64 = 0.35;

/// A piece of a face about its centre, in millimetres with y down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Piece {
    /// A zone, over those outside it.
    Zone {
        /// How far it reaches.
        radius_mm: f64,
        /// Its colour, and that of its line.
        paint: (&'static str, &'static str),
    },
    /// The line of the inner ten.
    Inner {
        /// How far it reaches.
        radius_mm: f64,
        /// Its colour.
        line: &'static str,
    },
    /// A value, in the middle of its zone.
    Value {
        /// How far its middle is from the centre, to any side.
        away_mm: f64,
        /// How large it may be written; its line stands [`VALUE_DROP`] of that below its middle.
        size_mm: f64,
        /// What is written.
        value: u8,
        /// Its colour.
        ink: &'static str,
    },
}

/// The pieces of one spot of `face`, in the order in which they are painted.
pub fn pieces(face: &Face) -> impl Iterator<Item = Piece> {
    let zones = face.zones.iter().rev();
    let zones = zones.map(|z| Piece::Zone { radius_mm: z.radius_mm, paint: paint(z.colour) });
    let first = face.zones.first();
    let inner = face.inner_ten_mm.zip(first).filter(|(r, first)| *r < first.radius_mm);
    let outer = face.outer_radius_mm();
    let values = face.zones.iter().enumerate().map(move |(i, z)| {
        let inside =
            if i == 0 { face.inner_ten_mm.unwrap_or(0.0).min(z.radius_mm) } else { face.zones[i - 1].radius_mm };
        let size_mm = (0.6 * (z.radius_mm - inside)).min(0.05 * outer);
        let away_mm = 0.5 * (inside + z.radius_mm);
        Piece::Value { away_mm, size_mm, value: z.value, ink: paint(z.colour).1 }
    });
    zones.chain(inner.map(|(radius_mm, z)| Piece::Inner { radius_mm, line: paint(z.colour).1 })).chain(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrows_point_where_they_should() {
        assert!(arrow(Point::new(0.0, 0.0), Point::new(0.0, 100.0), 10.0).starts_with("M0.00 -0.00L0.00 -100.00"));
        assert_eq!(arrow(Point::default(), Point::new(1.0, 0.0), 10.0), "");
    }

    #[test]
    fn an_ellipse_turns_against_y_down() {
        let (a, b, turn) = ellipse(Sym2::new(100.0, 40.0, 50.0));
        assert!(a > b && turn < 0.0, "leaning right in y up is a negative turn in y down");
    }
}
