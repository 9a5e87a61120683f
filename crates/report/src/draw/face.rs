//! Target faces drawn.

use goldward_core::face::Face;
use goldward_core::units::trim_number;

use super::svg::{Anchor, Paint, Svg};
use crate::drawing::paint as zone_paint;

/// Draws the zones of `face` about the pixel `(x, y)`, at `scale` pixels a millimetre.
pub(crate) fn zones(svg: &mut Svg, face: &Face, (x, y): (f64, f64), scale: f64) {
    for zone in face.zones.iter().rev() {
        let (fill, line) = zone_paint(zone.colour);
        svg.circle(x, y, zone.radius_mm * scale, Paint { fill, stroke: line, width: 0.8 });
    }
    let Some(first) = face.zones.first() else { return };
    let (_, line) = zone_paint(first.colour);
    if let Some(inner) = face.inner_ten_mm.filter(|r| *r < first.radius_mm) {
        svg.circle(x, y, inner * scale, Paint::line(line, 0.6));
    }
    let arm = 0.12 * first.radius_mm * scale;
    svg.line((x - arm, y), (x + arm, y), line, 0.7);
    svg.line((x, y - arm), (x, y + arm), line, 0.7);
}

/// Values of the zones, written to the right of the pixel `(x, y)` where there is room.
pub(crate) fn values(svg: &mut Svg, face: &Face, (x, y): (f64, f64), scale: f64, reach_px: f64) {
    let mut inner = 0.0;
    for zone in face.zones {
        let room = (zone.radius_mm - inner) * scale;
        let at = (inner + zone.radius_mm) / 2.0 * scale;
        if room > 16.0 && inner > 0.0 && at < reach_px {
            let (_, ink) = zone_paint(zone.colour);
            svg.text((x + at, y + 4.0), 11.0_f64.min(0.6 * room), Anchor::Middle, ink, &zone.value.to_string());
        }
        inner = zone.radius_mm;
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
        zones(&mut svg, face, at, scale);
        values(&mut svg, face, at, scale, f64::INFINITY);
    }
    let (x, mut y) = (SIDE + 60.0, 100.0);
    svg.text((x, y), 14.0, Anchor::Start, "#1c1c22", "zone");
    svg.text((x + 200.0, y), 14.0, Anchor::End, "#1c1c22", "diameter");
    for zone in face.zones {
        y += 28.0;
        let (fill, line) = zone_paint(zone.colour);
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
