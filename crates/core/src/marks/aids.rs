//! Aids at the line: an elevation move through the flight, wind, and slopes of field rounds.

use super::MarksError;
use crate::flight::{Flight, Gust, WindEffect};
use crate::plane::Point;
use crate::range::within;
use crate::sight::Sight;
use crate::units::Distance;

/// The pin's move for a height on the face, through the flight and by similar triangles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ElevationMove {
    /// Up at the pin, in millimetres, through the flight.
    pub refined_mm: f64,
    /// Up at the pin, in millimetres, by the rule `o L / D`.
    pub similar_mm: f64,
    /// Millimetres on the face for one at the pin, through the flight, near the middle.
    pub face_per_pin: f64,
}

impl ElevationMove {
    /// Whether the two differ by a click of `click_mm` or more, so that both are worth showing.
    #[must_use]
    pub fn differ(&self, click_mm: f64) -> bool {
        (self.refined_mm - self.similar_mm).abs() >= click_mm
    }
}

/// The pin's move that brings a group `offset_mm` above the middle of the face back to it.
///
/// The group's launch angle is the one that meets that height; the pin is moved from there to the angle that meets the
/// middle:
/// `L (tan theta(offset) - tan theta(0))`, positive for up. Flight conditions (slope, wind, air) are those of `flight`.
///
/// # Errors
/// [`MarksError::Flight`] when either height is out of reach; [`MarksError::Unit`] for an offset beyond 50 m.
pub fn elevation_move(
    flight: &Flight,
    sight: &Sight,
    distance: Distance,
    offset_mm: f64,
) -> Result<ElevationMove, MarksError> {
    within("a height on the face", offset_mm, "mm", -5e4, 5e4)?;
    let tan = |height_mm: f64| flight.angle_for_height(distance.metres(), height_mm / 1000.0).map(f64::tan);
    let length = sight.eye_to_pin_mm();
    const NEAR_MM: f64 = 10.0;
    Ok(ElevationMove {
        refined_mm: length * (tan(offset_mm)? - tan(0.0)?),
        similar_mm: offset_mm / sight.face_per_pin(distance),
        face_per_pin: 2.0 * NEAR_MM / (length * (tan(NEAR_MM)? - tan(-NEAR_MM)?)),
    })
}

/// What a wind asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindAid {
    /// What the wind does on the face, with its spread over gusts.
    pub effect: WindEffect,
    /// Where to aim on the face instead of the middle, in millimetres: against the wind.
    pub aim_off: Point,
    /// The pin's move that does the same, in millimetres at the pin: the sight follows the arrows.
    pub pin_mm: Point,
    /// The same in whole clicks, right and up.
    pub clicks: [i32; 2],
    /// What the whole clicks leave over, in millimetres on the face: where the arrows land on average after them.
    pub left_over: Point,
}

/// Aim-off against moving the sight, for arrows aimed for still air at `distance`.
///
/// # Errors
/// [`MarksError::Flight`].
pub fn wind_aid(flight: &Flight, sight: &Sight, distance: Distance, gust: &Gust) -> Result<WindAid, MarksError> {
    let effect = flight.wind_effect(distance.metres(), gust)?;
    let pin_mm = effect.mean * (1.0 / sight.face_per_pin(distance));
    let click = sight.click_mm();
    let clicks = [(pin_mm.x_mm / click[0]).round() as i32, (pin_mm.y_mm / click[1]).round() as i32];
    Ok(WindAid {
        effect,
        aim_off: effect.mean * -1.0,
        pin_mm,
        clicks,
        left_over: effect.mean - sight.shift_mm(sight.pin_mm(clicks), distance),
    })
}

/// Which mark to use on a slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlopeMark {
    /// Distance along the line of sight, in metres.
    pub distance_m: f64,
    /// Angle of the line of sight above the horizon, in radians.
    pub slope_rad: f64,
    /// The distance whose level mark is the right one, through the flight; `None` when no level mark is (a short shot
    /// so steep that the pin belongs above every level mark): use `pin_down_mm` then.
    pub level_m: Option<f64>,
    /// The rule of thumb: the level distance `D cos slope`.
    pub cosine_m: f64,
    /// From the level mark of `distance_m` to the right one, in millimetres that the reading grows: mostly negative.
    pub pin_down_mm: f64,
    /// What the rule of thumb would cost: height on the face with the mark of the cosine rule, in millimetres, up.
    pub cosine_error_mm: f64,
}

/// The mark for a target `distance` away along a line of sight `slope_rad` above the horizon (positive uphill).
///
/// Method: the launch angle on the slope, then the level distance with the same angle above the line of sight, by
/// bisection of the branch on which `distance` lies (beyond or within the distance of the least reading). Conditions
/// of `flight` but its slope.
///
/// # Errors
/// [`MarksError::Flight`]; [`MarksError::Unit`] for a slope beyond 1.4 rad.
pub fn slope_mark(flight: &Flight, sight: &Sight, distance: Distance, slope_rad: f64) -> Result<SlopeMark, MarksError> {
    let distance_m = distance.metres();
    let level = flight.with_conditions(flight.conditions().with_slope(0.0)?);
    let sloped = flight.with_conditions(flight.conditions().with_slope(slope_rad)?);
    let wanted = sloped.angle_for(distance_m)?;
    let here = level.angle_for(distance_m)?;
    let cosine_m = distance_m * slope_rad.cos();
    let angle_at = |d: f64| level.angle_for(d);
    let turn = least_reading_m(&level, distance_m)?;
    // The branch of the distance itself, up to where its angle has certainly passed the one wanted.
    let (mut a, mut b) = if distance_m >= turn { (turn, distance_m * 1.05 + 1.0) } else { (turn, distance_m * 0.9) };
    let level_m = if wanted < angle_at(a)? || wanted > angle_at(b)? {
        None
    } else {
        for _ in 0..60 {
            let middle = 0.5 * (a + b);
            if angle_at(middle)? < wanted {
                a = middle;
            } else {
                b = middle;
            }
            if (b - a).abs() < 1e-7 {
                break;
            }
        }
        Some(0.5 * (a + b))
    };
    let by_cosine = sloped.fly(angle_at(cosine_m.max(1.0))?, distance_m)?;
    Ok(SlopeMark {
        distance_m,
        slope_rad,
        level_m,
        cosine_m,
        pin_down_mm: sight.eye_to_pin_mm() * (wanted.tan() - here.tan()),
        cosine_error_mm: 1000.0 * by_cosine.height_m,
    })
}

/// The distance of the least reading, at most `limit_m` or 30 m: golden section, to a millimetre.
fn least_reading_m(level: &Flight, limit_m: f64) -> Result<f64, MarksError> {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    let (mut a, mut b) = (0.8, limit_m.max(30.0));
    for _ in 0..60 {
        if b - a < 1e-3 {
            break;
        }
        let (c, d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
        if level.angle_for(c)? < level.angle_for(d)? {
            b = d;
        } else {
            a = c;
        }
    }
    Ok(0.5 * (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::{Arrow, Conditions, Drag, Wind};

    fn flight() -> Flight {
        Flight::new(Arrow::new(21.0, 5.5, Drag::default()).unwrap(), Conditions::default(), 57.0, 115.0).unwrap()
    }

    fn metres(m: f64) -> Distance {
        Distance::from_metres(m).unwrap()
    }

    #[test]
    fn the_refined_move_is_near_the_rule_and_its_inverse_on_the_face() {
        let sight = Sight::default();
        let got = elevation_move(&flight(), &sight, metres(70.0), 200.0).unwrap();
        assert!((got.refined_mm / got.similar_mm - 1.0).abs() < 0.04 && !got.differ(0.1), "{got:?}");
        assert!((got.face_per_pin * got.refined_mm / 200.0 - 1.0).abs() < 0.01);
        let high = elevation_move(&flight(), &sight, metres(70.0), -800.0).unwrap();
        assert!(high.refined_mm < 0.0, "a low group asks for the pin to go down");
    }

    #[test]
    fn the_sight_follows_the_arrows_in_wind() {
        let gust = Gust::new(Wind::new(0.0, 3.0).unwrap(), 0.0, 1.0).unwrap();
        let aid = wind_aid(&flight(), &Sight::default(), metres(70.0), &gust).unwrap();
        assert!(aid.effect.mean.x_mm > 50.0 && aid.aim_off.x_mm < 0.0 && aid.clicks[0] > 0, "{aid:?}");
        assert!(aid.left_over.x_mm.abs() <= 0.5 * Sight::default().click_on_face_mm(metres(70.0))[0] + 1e-9);
    }

    #[test]
    fn slopes_shorten_the_mark_about_as_the_cosine_does() {
        let sight = Sight::default();
        for slope in [-0.5, -0.2, 0.2, 0.5] {
            let mark = slope_mark(&flight(), &sight, metres(45.0), slope).unwrap();
            let level = mark.level_m.unwrap();
            // Besides the cosine: the parallax does not shrink, and downhill the arrow gains speed.
            assert!((level - mark.cosine_m).abs() < 1.6 && mark.pin_down_mm < 0.0, "{mark:?}");
        }
        let flat = slope_mark(&flight(), &sight, metres(45.0), 0.0).unwrap();
        assert!((flat.level_m.unwrap() - 45.0).abs() < 1e-5 && flat.cosine_error_mm.abs() < 1e-4);
        let steep = slope_mark(&flight(), &sight, metres(10.0), 1.2).unwrap();
        assert!(steep.level_m.is_none() && steep.pin_down_mm < 0.0, "{steep:?}");
        let near = slope_mark(&flight(), &sight, metres(4.0), 0.3).unwrap();
        assert!(near.level_m.is_some_and(|d| d > 4.0 && d < 5.0), "{near:?}");
    }
}
