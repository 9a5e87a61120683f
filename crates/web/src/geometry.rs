//! From the finger to the face and back.

use goldward_core::plane::Point;

/// A square picture of the face, `side_px` wide, showing `reach_mm` from its middle to each edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Side of the picture, in pixels.
    pub side_px: f64,
    /// Half the side, in millimetres on the face.
    pub reach_mm: f64,
}

impl View {
    /// Millimetres on the face for one pixel.
    #[must_use]
    pub fn mm_per_px(self) -> f64 {
        2.0 * self.reach_mm / self.side_px.max(1.0)
    }

    /// The place on the face (y up) under a pixel of the picture (y down from its upper left corner).
    #[must_use]
    pub fn place(self, x_px: f64, y_px: f64) -> Point {
        let k = self.mm_per_px();
        Point::new((x_px - self.side_px / 2.0) * k, (self.side_px / 2.0 - y_px) * k)
    }

    /// The pixel over a place.
    #[must_use]
    pub fn pixel(self, place: Point) -> (f64, f64) {
        let k = self.mm_per_px();
        (self.side_px / 2.0 + place.x_mm / k, self.side_px / 2.0 - place.y_mm / k)
    }
}

/// The finger may travel this far from where it went down before the shot follows at full speed, in pixels.
pub const FINE_PX: f64 = 48.0;
/// How much slower than the finger the shot moves within that distance.
pub const FINE_GAIN: f64 = 0.25;

/// How far the shot moves for a finger that has travelled `(dx, dy)` pixels since it went down.
///
/// Within [`FINE_PX`] a quarter as far, so that a tremor does not matter and the loupe (which enlarges four times) follows
/// the finger one to one; beyond, as far as the finger goes.
#[must_use]
pub fn travel(dx: f64, dy: f64) -> (f64, f64) {
    let d = dx.hypot(dy);
    if d <= FINE_PX {
        return (dx * FINE_GAIN, dy * FINE_GAIN);
    }
    let k = (FINE_PX * FINE_GAIN + (d - FINE_PX)) / d;
    (dx * k, dy * k)
}

/// Where the middle of the loupe goes: beside the finger, on the side where the hand is not, and inside the picture.
#[must_use]
pub fn loupe(finger_px: (f64, f64), side_px: f64, radius_px: f64, left_handed: bool) -> (f64, f64) {
    let away = radius_px + 44.0;
    let dx = if left_handed { away } else { -away };
    let inside = |v: f64| v.clamp(radius_px.min(side_px / 2.0), (side_px - radius_px).max(side_px / 2.0));
    let beside = finger_px.0 + dx;
    // Near the edge it changes sides rather than hide under the finger.
    let beside = if beside < radius_px || beside > side_px - radius_px { finger_px.0 - dx } else { beside };
    (inside(beside), inside(finger_px.1 - 0.6 * away))
}

/// How far from the middle the picture reaches so that every one of `places` shows, in steps that do not make it jump
/// about: the whole face with a rim, and half as much again for each step out.
#[must_use]
pub fn reach_mm(outer_mm: f64, zoom: u8, places: &[Point]) -> f64 {
    let whole = 1.08 * outer_mm;
    if zoom > 0 {
        return whole / f64::from(1_u32 << zoom.min(3));
    }
    let farthest = places.iter().map(|p| p.x_mm.abs().max(p.y_mm.abs())).fold(0.0, f64::max);
    let mut reach = whole;
    while reach < 1.04 * farthest && reach < 4.0 * whole {
        reach *= 1.5;
    }
    reach
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_and_places_are_inverse() {
        let view = View { side_px: 360.0, reach_mm: 660.0 };
        for (x, y) in [(0.0, 0.0), (180.0, 180.0), (17.0, 301.5)] {
            let (a, b) = view.pixel(view.place(x, y));
            assert!((a - x).abs() < 1e-9 && (b - y).abs() < 1e-9);
        }
        assert!(view.place(200.0, 100.0).y_mm > 0.0, "up is up");
    }

    #[test]
    fn three_millimetres_are_a_clear_move_of_the_finger() {
        // A 122 cm face on a phone 360 px wide: 3 mm are less than a pixel, but more than three of the finger's.
        let view = View { side_px: 344.0, reach_mm: reach_mm(610.0, 0, &[]) };
        assert!(view.mm_per_px() < 4.0);
        let (dx, _) = travel(3.2, 0.0);
        assert!((dx * view.mm_per_px() - 3.0).abs() < 0.2, "{}", dx * view.mm_per_px());
    }

    #[test]
    fn travel_is_continuous_and_catches_up() {
        let (a, _) = travel(FINE_PX - 1e-9, 0.0);
        let (b, _) = travel(FINE_PX + 1e-9, 0.0);
        assert!((a - b).abs() < 1e-6);
        assert!(travel(200.0, 0.0).0 > 150.0);
    }

    #[test]
    fn the_loupe_is_never_under_the_finger() {
        for hand in [false, true] {
            for x in 0..=36 {
                for y in 0..=36 {
                    let finger = (f64::from(x) * 10.0, f64::from(y) * 10.0);
                    let (lx, ly) = loupe(finger, 360.0, 56.0, hand);
                    assert!((lx - finger.0).hypot(ly - finger.1) > 70.0, "{finger:?} {lx} {ly}");
                }
            }
        }
    }

    #[test]
    fn the_picture_grows_for_a_wide_shot() {
        assert!(reach_mm(610.0, 0, &[Point::new(900.0, 0.0)]) > 900.0);
        assert!(reach_mm(610.0, 2, &[Point::new(900.0, 0.0)]) < 170.0);
    }
}
