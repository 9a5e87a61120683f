//! From the finger to the face and back.

use goldward_core::plane::Point;

/// A square picture of the face, `side_px` wide, showing `reach_mm` from its middle to each edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Side of the picture, in pixels.
    pub side_px: f64,
    /// Half the side, in millimetres on the face.
    pub reach_mm: f64,
    /// What its middle shows.
    pub middle: Point,
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
        self.middle + Point::new((x_px - self.side_px / 2.0) * k, (self.side_px / 2.0 - y_px) * k)
    }

    /// The pixel over a place.
    #[must_use]
    pub fn pixel(self, place: Point) -> (f64, f64) {
        let (k, place) = (self.mm_per_px(), place - self.middle);
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

/// A finger that travels farther than this, in pixels, within [`SWIPE_MS`] is a swipe and no arrow.
pub const SWIPE_PX: f64 = 60.0;
/// See [`SWIPE_PX`].
pub const SWIPE_MS: f64 = 250.0;
/// A finger that stays within this, in pixels, and is up again within [`TAP_MS`] has tapped.
pub const TAP_PX: f64 = 4.0;
/// See [`TAP_PX`].
pub const TAP_MS: f64 = 350.0;
/// A tap this near to an arrow, in pixels, is a tap on it.
pub const ON_ARROW_PX: f64 = 8.0;
/// A finger that goes down this near to the arrow that is chosen, in pixels, drags it from where it is.
pub const NEAR_ARROW_PX: f64 = 26.0;

/// Two fingers that go down within this time, in milliseconds, belong together, also when one of them is beside the face; a thumb that
/// has rested on the edge for longer does not.
pub const TOGETHER_MS: f64 = 400.0;

/// What a finger has done that went down, travelled so far (at most, in pixels), and went up after so long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gesture {
    /// Down and up again at once.
    Tap,
    /// Pressed, perhaps slid to refine, let go.
    Press,
    /// Across the picture: meant for something else.
    Swipe,
}

impl Gesture {
    /// Which it was.
    #[must_use]
    pub fn of(farthest_px: f64, took_ms: f64) -> Self {
        if farthest_px <= TAP_PX && took_ms <= TAP_MS {
            Self::Tap
        } else if farthest_px > SWIPE_PX && took_ms < SWIPE_MS {
            Self::Swipe
        } else {
            Self::Press
        }
    }
}

/// Steps of the zoom: the face with a rim, nearer twice, and farther for arrows beside the face.
pub const ZOOMS: [f64; 4] = [1.0, 2.0, 4.0, 0.5];

/// How far from the middle the picture reaches at a step of [`ZOOMS`]. It does not depend on what was shot: one arrow that went far
/// does not shrink the face for the rest of the session.
#[must_use]
pub fn zoomed_mm(outer_mm: f64, zoom: u8) -> f64 {
    1.08 * outer_mm / ZOOMS[usize::from(zoom) % ZOOMS.len()]
}

/// How far from the middle a picture reaches so that every one of `places` shows: the whole face with a rim, and half as much again
/// for each step out.
#[must_use]
pub fn reach_mm(outer_mm: f64, places: &[Point]) -> f64 {
    let whole = 1.08 * outer_mm;
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
        let view = View { side_px: 360.0, reach_mm: 660.0, middle: Point::new(-40.0, 220.0) };
        for (x, y) in [(0.0, 0.0), (180.0, 180.0), (17.0, 301.5)] {
            let (a, b) = view.pixel(view.place(x, y));
            assert!((a - x).abs() < 1e-9 && (b - y).abs() < 1e-9);
        }
        assert!(view.place(200.0, 100.0).y_mm > view.middle.y_mm, "up is up");
    }

    #[test]
    fn three_millimetres_are_a_clear_move_of_the_finger() {
        // A 122 cm face on a phone 360 px wide: 3 mm are less than a pixel, but more than three of the finger's.
        let view = View { side_px: 344.0, reach_mm: zoomed_mm(610.0, 0), middle: Point::default() };
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
    fn the_picture_grows_for_a_wide_shot_where_all_are_to_show() {
        assert!(reach_mm(610.0, &[Point::new(900.0, 0.0)]) > 900.0);
        assert!(reach_mm(610.0, &[]) < 700.0 && zoomed_mm(610.0, 2) < 170.0 && zoomed_mm(610.0, 3) > 1300.0);
    }

    #[test]
    fn taps_presses_and_swipes_are_told_apart() {
        assert_eq!(Gesture::of(0.0, 80.0), Gesture::Tap);
        assert_eq!(Gesture::of(0.0, 900.0), Gesture::Press, "a long press sets an arrow wherever it is");
        assert_eq!(Gesture::of(12.0, 60.0), Gesture::Press, "slid to refine");
        assert_eq!(Gesture::of(150.0, 700.0), Gesture::Press, "slid far, slowly");
        assert_eq!(Gesture::of(150.0, 120.0), Gesture::Swipe);
    }
}
