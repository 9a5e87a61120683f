//! Target faces as data, and what an arrow scores on them.
//!
//! A face is a list of zones from the inside out. An arrow scores the higher of two zones when its shaft touches the
//! line between them, so a shot scores a zone when its distance from the centre is at most the zone's radius plus the
//! radius of the shaft.
//!
//! Dimensions: World Archery rule book, book 2 "Events" (target faces) and book 4 "Field"; [`EDITION`] names the edition
//! meant, `docs/sources.md` how it was written down. Rules change and clubs differ: the rules of the day and the judge decide.
//!
//! ```
//! use goldward_core::face::Face;
//! use goldward_core::plane::Point;
//! use goldward_core::units::Shaft;
//!
//! let face = Face::named("122")?;
//! assert_eq!(face.highest_value(), 10);
//! // The line between nine and eight lies at 122 mm: the shaft of 5.5 mm touches it from outside.
//! assert_eq!(face.score(Point::new(0.0, 124.0), Shaft::default()).value, 9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use crate::plane::Point;
use crate::units::Shaft;

/// The edition of the rules that the tables of this module write down (`docs/sources.md`).
pub const EDITION: &str = "World Archery 2024";

/// The print colour of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// Gold (yellow).
    Gold,
    /// Red.
    Red,
    /// Light blue.
    Blue,
    /// Black.
    Black,
    /// White.
    White,
}

impl Colour {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Gold => "gold",
            Self::Red => "red",
            Self::Blue => "blue",
            Self::Black => "black",
            Self::White => "white",
        }
    }
}

/// One scoring zone: everything inside `radius_mm` that no smaller zone claims.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Outer radius of the zone, in millimetres, to the outer edge of its line.
    pub radius_mm: f64,
    /// Points.
    pub value: u8,
    /// Print colour.
    pub colour: Colour,
}

/// A target face.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Short name, as typed.
    pub name: &'static str,
    /// What it is, in words.
    pub title: &'static str,
    /// Zones from the inside out, values falling.
    pub zones: &'static [Zone],
    /// Radius of the inner ten (the X), in millimetres, where the face has one.
    pub inner_ten_mm: Option<f64>,
    /// Centres of the spots relative to the middle of the sheet, in millimetres; one spot at (0, 0) for a plain face.
    /// Shots are always measured from the centre of the spot that was aimed at.
    pub spots: &'static [(f64, f64)],
}

/// What a shot scored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Score {
    /// Points; 0 is a miss.
    pub value: u8,
    /// Whether it touched the inner ten.
    pub inner_ten: bool,
}

/// There is no face of that name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("unknown face `{name}`: the faces are {known}")]
pub struct UnknownFace {
    /// The name that was asked for.
    pub name: String,
    /// All names, separated by commas.
    pub known: String,
}

use Colour::{Black, Blue, Gold, Red, White};

const fn zone(radius_mm: f64, value: u8, colour: Colour) -> Zone {
    Zone { radius_mm, value, colour }
}

/// Ten zones of equal width, `w` millimetres each.
const fn ten(w: f64) -> [Zone; 10] {
    [
        zone(w, 10, Gold),
        zone(2.0 * w, 9, Gold),
        zone(3.0 * w, 8, Red),
        zone(4.0 * w, 7, Red),
        zone(5.0 * w, 6, Blue),
        zone(6.0 * w, 5, Blue),
        zone(7.0 * w, 4, Black),
        zone(8.0 * w, 3, Black),
        zone(9.0 * w, 2, White),
        zone(10.0 * w, 1, White),
    ]
}

/// Ten zones of width `w`, of which only the inner ten counts ten.
const fn ten_compound(w: f64) -> [Zone; 10] {
    let mut zones = ten(w);
    zones[0].radius_mm = w / 2.0;
    zones
}

const fn five_of(w: f64) -> [Zone; 5] {
    let z = ten(w);
    [z[0], z[1], z[2], z[3], z[4]]
}

const fn five_compound(w: f64) -> [Zone; 5] {
    let z = ten_compound(w);
    [z[0], z[1], z[2], z[3], z[4]]
}

const fn six_of(w: f64) -> [Zone; 6] {
    let z = ten(w);
    [z[0], z[1], z[2], z[3], z[4], z[5]]
}

/// Five colours of two rings each, `w` millimetres a colour.
const fn five_colours(w: f64) -> [Zone; 5] {
    [zone(w, 9, Gold), zone(2.0 * w, 7, Red), zone(3.0 * w, 5, Blue), zone(4.0 * w, 3, Black), zone(5.0 * w, 1, White)]
}

/// The field face of `d` millimetres across.
const fn field(d: f64) -> [Zone; 6] {
    [
        zone(0.05 * d, 6, Gold),
        zone(0.1 * d, 5, Gold),
        zone(0.2 * d, 4, Black),
        zone(0.3 * d, 3, Black),
        zone(0.4 * d, 2, Black),
        zone(0.5 * d, 1, Black),
    ]
}

static TEN_122: [Zone; 10] = ten(61.0);
static TEN_80: [Zone; 10] = ten(40.0);
static TEN_60: [Zone; 10] = ten(30.0);
static TEN_40: [Zone; 10] = ten(20.0);
static SIX_80: [Zone; 6] = six_of(40.0);
static FIVE_40: [Zone; 5] = five_of(20.0);
static COMPOUND_60: [Zone; 10] = ten_compound(30.0);
static COMPOUND_40: [Zone; 10] = ten_compound(20.0);
static COMPOUND_FIVE_40: [Zone; 5] = five_compound(20.0);
static COLOURS_122: [Zone; 5] = five_colours(122.0);
static FIELD_80: [Zone; 6] = field(800.0);
static FIELD_60: [Zone; 6] = field(600.0);
static FIELD_40: [Zone; 6] = field(400.0);
static FIELD_20: [Zone; 6] = field(200.0);

static ONE: [(f64, f64); 1] = [(0.0, 0.0)];
static VERTICAL: [(f64, f64); 3] = [(0.0, 220.0), (0.0, 0.0), (0.0, -220.0)];
/// Corners of an equilateral triangle, 220 mm from spot to spot, one on top, its middle at the origin.
static TRIANGLE: [(f64, f64); 3] =
    [(0.0, 127.017_059_221_717_7), (-110.0, -63.508_529_610_858_85), (110.0, -63.508_529_610_858_85)];

static FACES: [Face; 15] = [
    Face { name: "122", title: "122 cm, ten zones", zones: &TEN_122, inner_ten_mm: Some(30.5), spots: &ONE },
    Face { name: "80", title: "80 cm, ten zones", zones: &TEN_80, inner_ten_mm: Some(20.0), spots: &ONE },
    Face { name: "60", title: "60 cm, ten zones", zones: &TEN_60, inner_ten_mm: Some(15.0), spots: &ONE },
    Face { name: "40", title: "40 cm, ten zones", zones: &TEN_40, inner_ten_mm: Some(10.0), spots: &ONE },
    Face { name: "80-6", title: "80 cm, six zones (10 to 5)", zones: &SIX_80, inner_ten_mm: Some(20.0), spots: &ONE },
    Face {
        name: "40-3v",
        title: "40 cm, three spots in a column (10 to 6)",
        zones: &FIVE_40,
        inner_ten_mm: Some(10.0),
        spots: &VERTICAL,
    },
    Face {
        name: "40-3t",
        title: "40 cm, three spots in a triangle (10 to 6)",
        zones: &FIVE_40,
        inner_ten_mm: Some(10.0),
        spots: &TRIANGLE,
    },
    Face {
        name: "60-c",
        title: "60 cm, only the inner ten counts 10 (compound)",
        zones: &COMPOUND_60,
        inner_ten_mm: Some(15.0),
        spots: &ONE,
    },
    Face {
        name: "40-c",
        title: "40 cm, only the inner ten counts 10 (compound)",
        zones: &COMPOUND_40,
        inner_ten_mm: Some(10.0),
        spots: &ONE,
    },
    Face {
        name: "40-3v-c",
        title: "40 cm, three spots in a column, only the inner ten counts 10 (compound)",
        zones: &COMPOUND_FIVE_40,
        inner_ten_mm: Some(10.0),
        spots: &VERTICAL,
    },
    Face {
        name: "122-5",
        title: "122 cm, five colours (9, 7, 5, 3, 1)",
        zones: &COLOURS_122,
        inner_ten_mm: None,
        spots: &ONE,
    },
    Face { name: "field-80", title: "field, 80 cm (6 to 1)", zones: &FIELD_80, inner_ten_mm: None, spots: &ONE },
    Face { name: "field-60", title: "field, 60 cm (6 to 1)", zones: &FIELD_60, inner_ten_mm: None, spots: &ONE },
    Face { name: "field-40", title: "field, 40 cm (6 to 1)", zones: &FIELD_40, inner_ten_mm: None, spots: &ONE },
    Face { name: "field-20", title: "field, 20 cm (6 to 1)", zones: &FIELD_20, inner_ten_mm: None, spots: &ONE },
];

impl Face {
    /// Every face known, plain ones first.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &FACES
    }

    /// The face called `name`; upper case, spaces and a trailing `cm` are forgiven.
    ///
    /// # Errors
    /// [`UnknownFace`], which lists the names.
    pub fn named(name: &str) -> Result<&'static Self, UnknownFace> {
        let wanted: String = name.to_lowercase().chars().filter(|c| !c.is_whitespace() && *c != '_').collect();
        let wanted = wanted.strip_suffix("cm").unwrap_or(&wanted);
        FACES.iter().find(|f| f.name == wanted).ok_or_else(|| UnknownFace {
            name: name.to_owned(),
            known: FACES.iter().map(|f| f.name).collect::<Vec<_>>().join(", "),
        })
    }

    /// Radius of the outermost zone, in millimetres.
    #[must_use]
    pub fn outer_radius_mm(&self) -> f64 {
        self.zones.last().map_or(0.0, |z| z.radius_mm)
    }

    /// How far the zones reach from the middle of the sheet to a side, in millimetres, over all spots.
    #[must_use]
    pub fn sheet_reach_mm(&self) -> f64 {
        let far = self.spots.iter().map(|(x, y)| x.abs().max(y.abs())).fold(0.0, f64::max);
        far + self.outer_radius_mm()
    }

    /// Centre of spot `number` (from 1, as the face lists them) on the sheet. Where the spot is not told, or is none of this face, the
    /// spot in the middle of the sheet stands for it, and where there is none there, the first.
    #[must_use]
    pub fn spot_centre(&self, number: Option<u32>) -> Point {
        let told = number.and_then(|n| self.spots.get(usize::try_from(n).ok()?.checked_sub(1)?));
        let middle = || self.spots.iter().find(|s| **s == (0.0, 0.0)).or(self.spots.first());
        told.or_else(middle).map_or(Point::default(), |(x, y)| Point::new(*x, *y))
    }

    /// The spot that a place on the sheet belongs to, the nearest one, and the place measured from its centre; a plain face tells no
    /// spot.
    #[must_use]
    pub fn on_spot(&self, sheet: Point) -> (Option<u32>, Point) {
        if self.spots.len() < 2 {
            return (None, sheet - self.spot_centre(None));
        }
        let numbers = 1..=u32::try_from(self.spots.len()).unwrap_or(u32::MAX);
        let from = |n: u32| sheet - self.spot_centre(Some(n));
        let nearest = numbers.min_by(|a, b| from(*a).radius_mm().total_cmp(&from(*b).radius_mm()));
        (nearest, nearest.map_or(sheet, from))
    }

    /// Points for an arrow in the middle.
    #[must_use]
    pub fn highest_value(&self) -> u8 {
        self.zones.first().map_or(0, |z| z.value)
    }

    /// What a shot scores whose shaft centre is at `place`, measured from the centre of its spot.
    ///
    /// Exact on the line: a shaft whose edge just touches scores the higher zone.
    #[must_use]
    pub fn score(&self, place: Point, shaft: Shaft) -> Score {
        let (r_mm, a_mm) = (place.radius_mm(), shaft.radius_mm());
        let value = self.zones.iter().find(|z| r_mm <= z.radius_mm + a_mm).map_or(0, |z| z.value);
        Score { value, inner_ten: self.inner_ten_mm.is_some_and(|x| r_mm <= x + a_mm) }
    }

    /// The ring of distances from the centre, `(inner, outer)` in millimetres, in which a shaft's centre scores exactly
    /// `value`; the outer bound belongs to the ring. `None` when the face has no such zone.
    #[must_use]
    pub fn ring_mm(&self, value: u8, shaft: Shaft) -> Option<(f64, f64)> {
        let i = self.zones.iter().position(|z| z.value == value)?;
        let inner = if i == 0 { 0.0 } else { self.zones[i - 1].radius_mm + shaft.radius_mm() };
        Some((inner, self.zones[i].radius_mm + shaft.radius_mm()))
    }
}

/// Limits of the rules that may change, with the edition they were taken from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleLimits {
    /// Which rules.
    pub edition: &'static str,
    /// Widest shaft allowed in target rounds, in millimetres.
    pub shaft_max_mm: f64,
}

/// The limits used for warnings when nothing else is said.
pub static DEFAULT_LIMITS: RuleLimits = RuleLimits { edition: EDITION, shaft_max_mm: 9.3 };

#[cfg(test)]
mod tests {
    use super::*;

    fn check(face: &str, r_mm: f64, shaft_mm: f64, value: u8, inner: bool) {
        let shaft = Shaft::from_diameter_mm(shaft_mm).unwrap();
        for place in [Point::new(r_mm, 0.0), Point::new(0.0, -r_mm)] {
            let got = Face::named(face).unwrap().score(place, shaft);
            assert_eq!(got, Score { value, inner_ten: inner }, "{face} at {r_mm} with {shaft_mm}");
        }
    }

    #[test]
    fn the_line_scores_the_higher_zone() {
        check("122", 61.0, 0.0, 10, false);
        check("122", 61.01, 0.0, 9, false);
        check("122", 63.75, 5.5, 10, false);
        check("122", 63.76, 5.5, 9, false);
        check("122", 30.5, 0.0, 10, true);
        check("122", 612.75, 5.5, 1, false);
        check("122", 612.76, 5.5, 0, false);
        check("80-6", 240.0, 0.0, 5, false);
        check("80-6", 240.1, 0.0, 0, false);
        check("40-3v", 100.1, 0.0, 0, false);
        check("40-c", 10.0, 0.0, 10, true);
        check("40-c", 10.1, 0.0, 9, false);
        check("40-c", 40.1, 0.0, 8, false);
        check("field-80", 40.0, 0.0, 6, false);
        check("field-80", 40.1, 0.0, 5, false);
        check("field-80", 400.1, 0.0, 0, false);
    }

    #[test]
    fn every_face_is_well_formed() {
        for face in Face::all() {
            assert!(
                face.zones.windows(2).all(|w| w[0].radius_mm < w[1].radius_mm && w[0].value > w[1].value),
                "{}",
                face.name
            );
            assert_eq!(Face::named(face.name).unwrap(), face);
        }
        assert_eq!(Face::named("122 CM").unwrap().name, "122");
        assert!(Face::named("123").unwrap_err().to_string().contains("field-20"));
    }

    #[test]
    fn a_place_belongs_to_the_nearest_spot() {
        let column = Face::named("40-3v").unwrap();
        assert_eq!(column.on_spot(Point::new(3.0, 225.0)), (Some(1), Point::new(3.0, 5.0)));
        assert_eq!(column.on_spot(Point::new(3.0, -90.0)), (Some(2), Point::new(3.0, -90.0)));
        assert_eq!(
            column.on_spot(Point::new(0.0, -500.0)),
            (Some(3), Point::new(0.0, -280.0)),
            "a miss below the lowest"
        );
        assert_eq!(column.spot_centre(None), Point::default(), "the one in the middle");
        assert!((column.sheet_reach_mm() - 320.0).abs() < 1e-9);
        let triangle = Face::named("40-3t").unwrap();
        assert!(triangle.spot_centre(None).y_mm > 120.0, "the first, where none is in the middle");
        for face in Face::all() {
            for n in 0..=4 {
                let centre = face.spot_centre(Some(n));
                let (spot, place) = face.on_spot(centre);
                assert!(place.radius_mm() < 1e-9, "{} {n}", face.name);
                let known = (1..=face.spots.len() as u32).contains(&n) && face.spots.len() > 1;
                assert!(!known || spot == Some(n), "{} {n}: {spot:?}", face.name);
                assert!(face.spots.len() > 1 || spot.is_none(), "{}", face.name);
            }
        }
    }

    #[test]
    fn rings_meet_without_gap() {
        let shaft = Shaft::default();
        for face in Face::all() {
            let mut from = 0.0;
            for zone in face.zones {
                let (inner, outer) = face.ring_mm(zone.value, shaft).unwrap();
                assert!((inner - from).abs() < 1e-12);
                from = outer;
            }
        }
    }
}
