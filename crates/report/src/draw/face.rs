//! Target faces drawn.

use goldward_core::face::Face;
use goldward_core::units::trim_number;

use super::svg::{Anchor, Paint, Svg};
use crate::drawing::{Piece, VALUE_DROP, paint, pieces};

/// Values smaller than this, in pixels, are left out, and none is written larger than that.
const LEAST_PX: f64 = 6.0;
const MOST_PX: f64 = 12.0;

/// Draws one spot of `face` about the pixel `(x, y)`, at `scale` pixels a millimetre; its values are written
/// as far as `reach_px` from there.
pub(crate) fn spot(svg: &mut Svg, face: &Face, (x, y): (f64, f64), scale: f64, reach_px: f64) {
    for piece in pieces(face) {
        match piece {
            Piece::Zone { radius_mm, paint: (fill, stroke) } => {
                svg.circle(x, y, radius_mm * scale, Paint { fill, stroke, width: 0.8 });
            }
            Piece::Inner { radius_mm, line } => svg.circle(x, y, radius_mm * scale, Paint::line(line, 0.6)),
            Piece::Value { away_mm, size_mm, value, ink } => {
                let (at, size) = (away_mm * scale, (size_mm * scale).min(MOST_PX));
                if size >= LEAST_PX && at + size < reach_px {
                    svg.text((x + at, y + VALUE_DROP * size), size, Anchor::Middle, ink, &value.to_string());
                }
            }
        }
    }
}

/// A drawing of the whole sheet, with a table of its zones.
#[must_use]
pub fn face_svg(face: &Face) -> String {
    const SIDE: f64 = 620.0;
    let scale = SIDE / 2.0 / face.sheet_reach_mm() / 1.03;
    let mut svg = Svg::new(SIDE + 320.0, SIDE + 80.0);
    svg.rect([0.0, 0.0, SIDE + 320.0, SIDE + 80.0], Paint::fill("#ffffff"));
    let title = format!("{}: {}", face.name, face.title);
    svg.text((30.0, 42.0), 20.0, Anchor::Start, "#1c1c22", &title);
    for (sx, sy) in face.spots {
        let at = (20.0 + SIDE / 2.0 + sx * scale, 65.0 + SIDE / 2.0 - sy * scale);
        spot(&mut svg, face, at, scale, f64::INFINITY);
    }
    let (x, mut y) = (SIDE + 60.0, 100.0);
    svg.text((x, y), 14.0, Anchor::Start, "#1c1c22", "zone");
    svg.text((x + 200.0, y), 14.0, Anchor::End, "#1c1c22", "diameter");
    for zone in face.zones {
        y += 28.0;
        let (fill, line) = paint(zone.colour);
        svg.circle(x + 8.0, y - 5.0, 8.0, Paint { fill, stroke: line, width: 1.0 });
        svg.text((x + 28.0, y), 14.0, Anchor::Start, "#1c1c22", &zone.value.to_string());
        let diameter = format!("{} mm", trim_number(2.0 * zone.radius_mm));
        svg.text((x + 200.0, y), 14.0, Anchor::End, "#1c1c22", &diameter);
    }
    if let Some(inner) = face.inner_ten_mm {
        y += 28.0;
        svg.text((x + 28.0, y), 14.0, Anchor::Start, "#1c1c22", "X");
        svg.text((x + 200.0, y), 14.0, Anchor::End, "#1c1c22", &format!("{} mm", trim_number(2.0 * inner)));
    }
    svg.finish(&title, "A target face with the values and diameters of its zones.")
}
