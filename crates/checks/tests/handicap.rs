//! Handicaps against published club results.
//!
//! Source: results of club shoots published at orionsarchers.org.uk in November 2024, read as 60 arrows at 20 yd on the
//! 60 cm face with the 9.3 mm shaft of the tables. A handicap is a whole number, so the agreement is exact or none.

use goldward_core::face::Face;
use goldward_core::handicap::{expected_arrow, of_score};
use goldward_core::units::{Distance, Shaft};

const PUBLISHED: [(u32, u32); 12] = [
    (504, 54),
    (470, 61),
    (455, 63),
    (394, 72),
    (380, 73),
    (360, 75),
    (350, 76),
    (295, 82),
    (248, 87),
    (215, 90),
    (165, 95),
    (66, 111),
];

#[test]
fn published_scores_have_their_handicaps() {
    let face = Face::named("60").unwrap();
    let distance = Distance::from_yards(20.0).unwrap();
    let shaft = Shaft::from_diameter_mm(9.3).unwrap();
    for (score, handicap) in PUBLISHED {
        assert_eq!(of_score(face, distance, shaft, 60, score), Some(handicap), "{score}");
    }
}

#[test]
fn a_handicap_falls_as_the_score_rises_and_the_ends_are_bounded() {
    let face = Face::named("122").unwrap();
    let distance = Distance::from_metres(70.0).unwrap();
    let shaft = Shaft::default();
    let mut last = u32::MAX;
    for score in (1..=720).rev().step_by(7).collect::<Vec<_>>().into_iter().rev() {
        if let Some(h) = of_score(face, distance, shaft, 72, score) {
            assert!(h <= last, "{score}");
            last = h;
        }
    }
    assert_eq!(of_score(face, distance, shaft, 72, 721), None);
    assert_eq!(of_score(face, distance, shaft, 0, 0), None);
    assert!(expected_arrow(0.0, face, distance, shaft) > expected_arrow(100.0, face, distance, shaft));
}
