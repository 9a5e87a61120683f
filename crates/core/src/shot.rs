//! One arrow: where it landed, exactly or as a call, and what the archer felt.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::shot::Call;
//! use goldward_core::units::Shaft;
//!
//! // Nine, at half past four: below, to the right.
//! let call: Call = "9@4:30".parse()?;
//! let cell = call.cell(Face::named("122")?, Shaft::default())?;
//! let middle = cell.middle().ok_or("a ring with a clock has a middle")?;
//! assert!(middle.x_mm > 0.0 && middle.y_mm < 0.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use std::fmt;
use std::str::FromStr;

use crate::face::{Face, Score};
use crate::plane::Point;
use crate::units::Shaft;

/// What the archer said of a shot before looking.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum Felt {
    /// Nothing was said.
    #[default]
    Unmarked,
    /// It felt like a bad shot.
    Bad,
    /// It felt like a good one.
    Good,
}

/// What is wrong with the word for how a shot felt.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not how a shot can feel: write good, bad or nothing")]
pub struct UnknownFelt(pub String);

impl FromStr for Felt {
    type Err = UnknownFelt;

    fn from_str(text: &str) -> Result<Self, UnknownFelt> {
        match text.trim().to_lowercase().as_str() {
            "" => Ok(Self::Unmarked),
            "bad" => Ok(Self::Bad),
            "good" => Ok(Self::Good),
            _ => Err(UnknownFelt(text.trim().to_owned())),
        }
    }
}

/// The ring of a call.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ring {
    /// The inner ten.
    InnerTen,
    /// The zone of that value.
    Value(u8),
    /// Off the face.
    Miss,
}

/// How far inside the lines of a ring [`Ring::nearest`] stays, in millimetres, where the ring is wide enough.
const INSIDE_MM: f64 = 0.5;

impl Ring {
    /// The place nearest to `place` where a shaft scores this ring and no better one; `place` itself where it does. Nothing when the face
    /// has no such ring.
    ///
    /// Where the ten is wider than the inner ten, a ten is one beside the inner ten. The way is along the radius; from the very centre,
    /// up.
    #[must_use]
    pub fn nearest(self, place: Point, face: &Face, shaft: Shaft) -> Option<Point> {
        let cell = Call { ring: self, clock: None }.cell(face, shaft).ok()?;
        let (mut from_mm, to_mm) = (cell.inner_mm, cell.outer_mm);
        if let (Self::Value(value), Some(inner)) = (self, face.inner_ten_mm) {
            let inner = inner + shaft.radius_mm();
            if value == face.highest_value() && inner < to_mm {
                from_mm = inner;
            }
        }
        let r_mm = place.radius_mm();
        let scored = face.score(place, shaft);
        let there = match self {
            Self::InnerTen => scored.inner_ten,
            Self::Value(v) => scored.value == v && (!scored.inner_ten || from_mm <= 0.0),
            Self::Miss => scored.value == 0,
        };
        if there {
            return Some(place);
        }
        let inside = INSIDE_MM.min(0.25 * (to_mm - from_mm));
        let wanted = r_mm.clamp(if from_mm > 0.0 { from_mm + inside } else { 0.0 }, (to_mm - inside).max(from_mm));
        Some(if r_mm > 0.0 { place * (wanted / r_mm) } else { Point::new(0.0, wanted) })
    }
}

/// A direction on the clock face, as seen by the archer, 12 at the top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Clock {
    /// Minutes of a twelve-hour clock, 0 to 719 (12:00 is 0).
    minutes: u16,
    /// How far to each side the call may reach, in minutes.
    half_width_minutes: u16,
}

impl Clock {
    /// The direction in radians from +x towards +y.
    #[must_use]
    pub fn angle_rad(self) -> f64 {
        std::f64::consts::FRAC_PI_2 - f64::from(self.minutes) / 720.0 * std::f64::consts::TAU
    }

    /// Half the width of the sector meant, in radians.
    #[must_use]
    pub fn half_width_rad(self) -> f64 {
        f64::from(self.half_width_minutes) / 720.0 * std::f64::consts::TAU
    }
}

/// A position told as ring and clock: `9@4:30`, `X`, `7`, `M`, `M@7`.
///
/// It names a cell of the face, not a point. A whole hour (`9@4`) reaches half an hour to each side, since who calls
/// whole hours rounds to them; with minutes (`9@4:30`, `9@4:00`) it reaches a quarter of an hour. Without a clock it is
/// the whole ring. `M` is a miss, somewhere outside the face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Call {
    /// The ring.
    pub ring: Ring,
    /// The direction, when one was called.
    pub clock: Option<Clock>,
}

/// What is wrong with a call.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CallError {
    /// The ring is neither a number, `X` nor `M`.
    #[error("`{0}` is not a call: write ring and clock such as 9@4:30, or X, or M for a miss")]
    NotACall(String),
    /// The clock is not a time.
    #[error("`{0}` is not a clock direction: write 1 to 12, or hours and minutes such as 4:30")]
    NotAClock(String),
    /// The face has no such ring.
    #[error("the {face} face has no {ring}: its zones are {zones}")]
    NoSuchRing {
        /// The face.
        face: &'static str,
        /// The ring that was called.
        ring: String,
        /// The zones of the face.
        zones: String,
    },
}

impl FromStr for Call {
    type Err = CallError;

    fn from_str(text: &str) -> Result<Self, CallError> {
        let text = text.trim();
        let not_a_call = || CallError::NotACall(text.to_owned());
        let (ring, clock) = match text.split_once('@') {
            Some((ring, clock)) => (ring.trim(), Some(clock.trim())),
            None => (text, None),
        };
        let ring = match ring {
            "X" | "x" => Ring::InnerTen,
            "M" | "m" | "0" => Ring::Miss,
            // At most two digits and no sign, so that nothing odd slips through `parse`.
            digits if (1..=2).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit()) => {
                match digits.parse().map_err(|_| not_a_call())? {
                    0 => return Err(not_a_call()),
                    value => Ring::Value(value),
                }
            }
            _ => return Err(not_a_call()),
        };
        Ok(Self { ring, clock: clock.map(parse_clock).transpose()? })
    }
}

fn parse_clock(text: &str) -> Result<Clock, CallError> {
    let bad = || CallError::NotAClock(text.to_owned());
    let number = |t: &str| -> Result<u16, CallError> {
        if (1..=2).contains(&t.len()) && t.bytes().all(|b| b.is_ascii_digit()) {
            t.parse().map_err(|_| bad())
        } else {
            Err(bad())
        }
    };
    let (hour, minute) = match text.split_once(':') {
        Some((h, m)) => (number(h)?, Some(number(m)?)),
        None => (number(text)?, None),
    };
    if !(1..=12).contains(&hour) || minute.is_some_and(|m| m > 59) {
        return Err(bad());
    }
    Ok(Clock {
        minutes: hour % 12 * 60 + minute.unwrap_or(0),
        half_width_minutes: if minute.is_some() { 15 } else { 30 },
    })
}

impl fmt::Display for Call {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.ring {
            Ring::InnerTen => write!(f, "X")?,
            Ring::Value(v) => write!(f, "{v}")?,
            Ring::Miss => write!(f, "M")?,
        }
        if let Some(clock) = self.clock {
            let hour = match clock.minutes / 60 {
                0 => 12,
                h => h,
            };
            write!(f, "@{hour}")?;
            if clock.half_width_minutes < 30 {
                write!(f, ":{:02}", clock.minutes % 60)?;
            }
        }
        Ok(())
    }
}

/// A cell of the face plane in polar coordinates: what a call says of where the shaft's centre is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Smallest distance from the centre, in millimetres.
    pub inner_mm: f64,
    /// Largest distance from the centre, in millimetres; infinite for a miss.
    pub outer_mm: f64,
    /// Middle direction, in radians from +x towards +y.
    pub angle_rad: f64,
    /// Half the angle covered, in radians; pi is all round.
    pub half_width_rad: f64,
}

impl Call {
    /// The cell that the call names on `face` for an arrow of that `shaft`.
    ///
    /// # Errors
    /// [`CallError::NoSuchRing`] when the face has no such ring.
    pub fn cell(self, face: &Face, shaft: Shaft) -> Result<Cell, CallError> {
        let no_such_ring = || CallError::NoSuchRing {
            face: face.name,
            ring: Self { ring: self.ring, clock: None }.to_string(),
            zones: face.zones.iter().map(|z| z.value.to_string()).collect::<Vec<_>>().join(", ")
                + if face.inner_ten_mm.is_some() { ", X and M" } else { " and M" },
        };
        let (inner_mm, outer_mm) = match self.ring {
            Ring::InnerTen => (0.0, face.inner_ten_mm.ok_or_else(no_such_ring)? + shaft.radius_mm()),
            Ring::Value(v) => face.ring_mm(v, shaft).ok_or_else(no_such_ring)?,
            Ring::Miss => (face.outer_radius_mm() + shaft.radius_mm(), f64::INFINITY),
        };
        let (angle_rad, half_width_rad) =
            self.clock.map_or((0.0, std::f64::consts::PI), |c| (c.angle_rad(), c.half_width_rad()));
        Ok(Cell { inner_mm, outer_mm, angle_rad, half_width_rad })
    }

    /// The call that is written so, where `face` has such a ring for an arrow of that `shaft`.
    ///
    /// # Errors
    /// [`CallError`].
    pub fn on_face(text: &str, face: &Face, shaft: Shaft) -> Result<Self, CallError> {
        let call: Self = text.parse()?;
        call.cell(face, shaft)?;
        Ok(call)
    }

    /// Points for the call on `face`.
    #[must_use]
    pub fn value(self, face: &Face) -> u8 {
        match self.ring {
            Ring::InnerTen => face.highest_value(),
            Ring::Value(v) => v,
            Ring::Miss => 0,
        }
    }
}

impl Cell {
    /// Whether a direction was called.
    #[must_use]
    pub fn is_directed(&self) -> bool {
        self.half_width_rad < std::f64::consts::PI
    }

    /// The middle of the cell, where it has one: half way between its rings in the direction called, or the centre of the
    /// face for a disc. A ring without a direction and a miss have none.
    #[must_use]
    pub fn middle(&self) -> Option<Point> {
        if !self.outer_mm.is_finite() {
            None
        } else if self.is_directed() {
            Some(self.toward(0.5 * (self.inner_mm + self.outer_mm)))
        } else {
            (self.inner_mm <= 0.0).then(Point::default)
        }
    }

    /// A place to start from where one is needed: the middle; for a miss with a direction just outside the face; the
    /// centre of the face where nothing tells a direction.
    #[must_use]
    pub fn start(&self) -> Point {
        let outside = || if self.is_directed() { self.toward(1.05 * self.inner_mm) } else { Point::default() };
        self.middle().unwrap_or_else(outside)
    }

    /// The place `r_mm` from the centre in the direction of the cell.
    fn toward(&self, r_mm: f64) -> Point {
        Point::new(r_mm * self.angle_rad.cos(), r_mm * self.angle_rad.sin())
    }
}

/// Where a shot landed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place {
    /// The centre of the shaft, measured.
    At(Point),
    /// Told as ring and clock.
    Called(Call),
}

impl Place {
    /// Where the shot is taken to be on `face` for an arrow of that `shaft`, in the frame it was shot in: as measured, or the
    /// middle of the cell that was called ([`Cell::middle`]). Nothing for a ring without a clock, a miss, and a ring that the
    /// face does not have: they name no place.
    #[must_use]
    pub fn middle(self, face: &Face, shaft: Shaft) -> Option<Point> {
        match self {
            Self::At(place) => Some(place),
            Self::Called(call) => call.cell(face, shaft).ok()?.middle(),
        }
    }

    /// What a shot there scores on `face`, in the frame it was shot in.
    #[must_use]
    pub fn score(self, face: &Face, shaft: Shaft) -> Score {
        match self {
            Self::At(place) => face.score(place, shaft),
            Self::Called(call) => Score { value: call.value(face), inner_ten: call.ring == Ring::InnerTen },
        }
    }
}

/// One shot, in the face frame of the setting it was shot with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shot {
    /// Where it landed.
    pub place: Place,
    /// What the archer felt.
    pub felt: Felt,
    /// What the touches since have moved the arrows by: this is subtracted from the place (see [`crate::sight`]).
    pub carry: Point,
    /// Which end it belongs to: shots with the same number in a row are of one end.
    pub end: u32,
    /// Variance an axis, in mm^2 on the face, by which touches since the shot before have loosened the centre.
    pub loosened_mm2: f64,
}

impl Shot {
    /// A measured shot without a mark.
    #[must_use]
    pub const fn at(x_mm: f64, y_mm: f64) -> Self {
        Self::new(Place::At(Point::new(x_mm, y_mm)))
    }

    /// A called shot without a mark.
    #[must_use]
    pub const fn called(call: Call) -> Self {
        Self::new(Place::Called(call))
    }

    const fn new(place: Place) -> Self {
        Self { place, felt: Felt::Unmarked, carry: Point::new(0.0, 0.0), end: 0, loosened_mm2: 0.0 }
    }

    /// The same shot, of the end numbered so.
    #[must_use]
    pub const fn in_end(mut self, end: u32) -> Self {
        self.end = end;
        self
    }

    /// The same shot, felt as `felt`.
    #[must_use]
    pub const fn felt(mut self, felt: Felt) -> Self {
        self.felt = felt;
        self
    }
}

/// Shots of an end where nobody tells of ends (common practice, no source: three indoors, six outdoors).
pub const USUAL_END: usize = 6;

/// A number for the end of each shot: as told; a shot of which nothing is told belongs to the end of the shot before it; where
/// nothing is told of any, [`USUAL_END`] shots in a row are an end.
#[must_use]
pub fn ends(told: &[Option<u32>]) -> Vec<u32> {
    if told.iter().all(Option::is_none) {
        return (0..told.len()).map(|i| (i / USUAL_END) as u32).collect();
    }
    let first = told.iter().flatten().next().copied().unwrap_or(0);
    told.iter()
        .scan(first, |now, end| {
            *now = end.unwrap_or(*now);
            Some(*now)
        })
        .collect()
}

/// How many shots of the present end have been shot, and how many an end has: `(in the end, an end)`. The size is that of the
/// first end where a later one has begun, and otherwise [`USUAL_END`]; an end that is full is over, `(0, size)`.
#[must_use]
pub fn in_end(shots: &[Shot]) -> (usize, usize) {
    let same = |end: u32, s: &&Shot| s.end == end;
    let Some((first, last)) = shots.first().zip(shots.last()) else { return (0, USUAL_END) };
    let size = if first.end == last.end { USUAL_END } else { shots.iter().take_while(|s| same(first.end, s)).count() };
    let done = shots.iter().rev().take_while(|s| same(last.end, s)).count();
    (done % size.max(1), size.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shot_goes_to_the_nearest_place_of_another_ring() {
        for face in Face::all() {
            for shaft in [Shaft::default(), Shaft::from_diameter_mm(9.3).unwrap()] {
                let zones = face.zones.iter().map(|z| Ring::Value(z.value));
                let rings = zones.chain([Ring::Miss]).chain(face.inner_ten_mm.map(|_| Ring::InnerTen));
                for ring in rings {
                    for (x, y) in [(0.0, 0.0), (3.0, -4.0), (-47.0, 31.0), (120.0, 250.0), (-900.0, 10.0)] {
                        let place = Point::new(x, y);
                        let there = ring.nearest(place, face, shaft).unwrap();
                        let score = face.score(there, shaft);
                        let told = format!("{} {ring:?} from {place:?} to {there:?}: {score:?}", face.name);
                        match ring {
                            Ring::InnerTen => assert!(score.inner_ten, "{told}"),
                            Ring::Value(v) => assert_eq!(score.value, v, "{told}"),
                            Ring::Miss => assert_eq!(score.value, 0, "{told}"),
                        }
                        // Once there it stays, and it went along the radius.
                        assert_eq!(ring.nearest(there, face, shaft), Some(there), "{told}");
                        assert!((there.x_mm * y - there.y_mm * x).abs() < 1e-6 * (1.0 + there.radius_mm()), "{told}");
                    }
                }
            }
        }
        // The judge calls the line: a hair outside the ten goes a hair inside, and is no X.
        let face = Face::named("122").unwrap();
        let shaft = Shaft::from_diameter_mm(5.0).unwrap();
        let ten = Ring::Value(10).nearest(Point::new(64.0, 0.0), face, shaft).unwrap();
        assert!((ten.x_mm - 63.0).abs() < 1e-9 && ten.y_mm.abs() < 1e-9, "{ten:?}");
        let plain = Ring::Value(10).nearest(Point::new(0.0, 10.0), face, shaft).unwrap();
        assert_eq!(face.score(plain, shaft), crate::face::Score { value: 10, inner_ten: false });
        assert_eq!(Ring::Value(4).nearest(Point::new(0.0, 10.0), Face::named("80-6").unwrap(), shaft), None);
    }

    #[test]
    fn calls_are_read_and_written_back() {
        for text in ["9@4:30", "X", "M", "10@12", "7", "M@7", "X@1:00", "1@12:45", "6@3"] {
            assert_eq!(text.parse::<Call>().unwrap().to_string(), text);
        }
        assert_eq!(" x ".parse::<Call>().unwrap().ring, Ring::InnerTen);
        assert_eq!("0".parse::<Call>().unwrap().ring, Ring::Miss);
    }

    #[test]
    fn ends_are_as_told_or_of_six() {
        assert_eq!(ends(&[None; 7]), [0, 0, 0, 0, 0, 0, 1]);
        assert_eq!(ends(&[None, Some(3), None, Some(5)]), [3, 3, 3, 5]);
        assert!(ends(&[]).is_empty());
        let of = |told: &[u32]| in_end(&told.iter().map(|e| Shot::at(0.0, 0.0).in_end(*e)).collect::<Vec<_>>());
        assert_eq!((of(&[]), of(&[0, 0]), of(&[0; 6])), ((0, 6), (2, 6), (0, 6)));
        assert_eq!((of(&[1, 1, 1, 2]), of(&[1, 1, 1, 2, 2, 2])), ((1, 3), (0, 3)));
    }

    #[test]
    fn impossible_calls_are_refused_with_a_remedy() {
        for text in ["12@13", "9@", "@4", "9@4:60", "9@0", "-1", "+9", "nine", "9@4:3:0", "", "009", "9@４"] {
            let error = text.parse::<Call>().unwrap_err().to_string();
            assert!(error.contains("write"), "{text}: {error}");
        }
        let face = Face::named("80-6").unwrap();
        let error = "4@3".parse::<Call>().unwrap().cell(face, Shaft::default()).unwrap_err().to_string();
        assert!(error.contains("10, 9, 8, 7, 6, 5, X and M"), "{error}");
    }

    #[test]
    fn a_cell_lies_where_the_clock_points() {
        let face = Face::named("122").unwrap();
        let shaft = Shaft::from_diameter_mm(0.0).unwrap();
        let cell = "9@3".parse::<Call>().unwrap().cell(face, shaft).unwrap();
        assert!((cell.inner_mm - 61.0).abs() < 1e-12 && (cell.outer_mm - 122.0).abs() < 1e-12);
        assert!(cell.angle_rad.abs() < 1e-12, "three o'clock is to the right");
        assert!((cell.half_width_rad.to_degrees() - 15.0).abs() < 1e-12);
        let cell = "8@6:30".parse::<Call>().unwrap().cell(face, shaft).unwrap();
        assert!(cell.angle_rad.sin() < -0.9 && cell.angle_rad.cos() < 0.0, "half past six is low and a little left");
        assert!((cell.half_width_rad.to_degrees() - 7.5).abs() < 1e-12);
        assert!("M".parse::<Call>().unwrap().cell(face, shaft).unwrap().outer_mm.is_infinite());
    }

    #[test]
    fn a_cell_has_a_middle_where_a_direction_or_the_centre_was_called() {
        let face = Face::named("122").unwrap();
        let shaft = Shaft::from_diameter_mm(0.0).unwrap();
        let cell = |text: &str| text.parse::<Call>().unwrap().cell(face, shaft).unwrap();
        let middle = cell("9@3").middle().unwrap();
        assert!((middle.x_mm - 91.5).abs() < 1e-9 && middle.y_mm.abs() < 1e-9);
        assert_eq!((cell("X").middle(), cell("10").middle()), (Some(Point::default()), Some(Point::default())));
        for nowhere in ["9", "1", "M", "M@6"] {
            assert_eq!(cell(nowhere).middle(), None, "{nowhere}");
        }
        // A shot is taken to be there, measured or called; what the face does not have is nowhere.
        let inner = Face::named("80-6").unwrap();
        let place = |text: &str, face: &Face| Place::Called(text.parse().unwrap()).middle(face, shaft);
        assert_eq!((place("9@3", face), place("X", face)), (Some(middle), Some(Point::default())));
        assert_eq!((place("9", face), place("M@6", face), place("4@3", inner)), (None, None, None));
        assert_eq!(Place::At(middle).middle(inner, shaft), Some(middle));
        assert_eq!(Call::on_face("9@3", face, shaft).unwrap().to_string(), "9@3");
        assert!(Call::on_face("4@3", inner, shaft).is_err() && Call::on_face("nine", face, shaft).is_err());
        // Calls that tell no direction start where none is favoured.
        assert_eq!((cell("9").start(), cell("M").start()), (Point::default(), Point::default()));
        assert!(cell("M@6").start().y_mm < -610.0);
    }
}
