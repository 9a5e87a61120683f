//! What is usually shot at a distance: face, ends and arrows an end. Common practice, no source; the archer's own practice comes first.

use goldward_journal::{Session, Uuid};

/// What a session begins with until the archer says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Usual {
    /// Name of the face.
    pub face: String,
    /// Ends that count, in a round.
    pub ends: u32,
    /// Arrows an end.
    pub per_end: u32,
    /// Sighting ends, in a round.
    pub sighting_ends: u32,
    /// Whether a round is shot, and not free practice.
    pub round: bool,
}

/// Whether a face is one that compound bows shoot at.
#[must_use]
pub fn of_compound(face: &str) -> bool {
    face.ends_with("-c") || face == "80-6"
}

/// Common practice at a distance.
#[must_use]
pub fn common(distance_m: f64, compound: bool) -> Usual {
    // Indoors, up to 25 m: three arrows an end, twenty ends. Outdoors: six arrows, twelve ends.
    let face = match (distance_m, compound) {
        (d, true) if d <= 21.0 => "40-c",
        (d, true) if d <= 27.0 => "60-c",
        (_, true) => "80-6",
        (d, _) if d <= 21.0 => "40",
        (d, _) if d <= 27.0 => "60",
        (d, _) if d < 45.0 => "80",
        _ => "122",
    };
    let (ends, per_end) = if distance_m <= 27.0 { (20, 3) } else { (12, 6) };
    Usual { face: face.to_owned(), ends, per_end, sighting_ends: 2, round: false }
}

/// What a session at `distance_m` with `kit` begins with: as the archer shot there last, with this kit if possible; else by common
/// practice. `earlier` is the archer's sessions, the latest first.
#[must_use]
pub fn usual(earlier: &[(Uuid, Session)], distance_m: f64, kit: Option<Uuid>, compound: bool) -> Usual {
    // Half a metre: 20 yards are not 18 metres.
    let there = |s: &&Session| (s.distance_m - distance_m).abs() < 0.5 && of_compound(&s.face) == compound;
    let all = || earlier.iter().map(|(_, s)| s).filter(there);
    let common = common(distance_m, compound);
    match all().find(|s| s.kit == kit).or_else(|| all().next()) {
        Some(s) => Usual {
            face: s.face.clone(),
            ends: if s.ends > 0 { s.ends } else { common.ends },
            per_end: s.shots_per_end.max(1),
            sighting_ends: if s.ends > 0 { s.sighting_ends } else { common.sighting_ends },
            round: s.ends > 0,
        },
        None => {
            // Whether a round is shot is more of a habit than of the distance.
            let round = earlier.first().is_some_and(|(_, s)| s.ends > 0);
            Usual { round, ..common }
        }
    }
}

/// Whether `kit` is a compound bow, as far as the faces tell that it was shot at; of a kit not shot yet nothing is known.
#[must_use]
pub fn is_compound(earlier: &[(Uuid, Session)], kit: Option<Uuid>) -> bool {
    earlier.iter().find(|(_, s)| s.kit == kit).is_some_and(|(_, s)| of_compound(&s.face))
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_core::face::Face;

    fn session(distance_m: f64, face: &str, kit: u128, ends: u32) -> (Uuid, Session) {
        let session = Session {
            at_ms: 0,
            distance_m,
            face: face.to_owned(),
            round: None,
            kit: Some(Uuid::from_u128(kit)),
            mark: None,
            sighting_ends: 1,
            ends,
            shots_per_end: 5,
            proven: None,
            match_by: None,
            opponent_arrow: None,
        };
        (Uuid::from_u128(99), session)
    }

    #[test]
    fn every_distance_has_a_face_of_its_own() {
        for (d, face, compound) in [
            (18.0, "40", "40-c"),
            (18.288, "40", "40-c"),
            (25.0, "60", "60-c"),
            (30.0, "80", "80-6"),
            (50.0, "122", "80-6"),
            (70.0, "122", "80-6"),
            (90.0, "122", "80-6"),
        ] {
            assert_eq!((common(d, false).face.as_str(), common(d, true).face.as_str()), (face, compound), "{d}");
            assert!(Face::named(face).is_ok() && Face::named(compound).is_ok());
            assert_eq!([false, true].map(|c| of_compound(&common(d, c).face)), [false, true]);
        }
        assert_eq!((common(18.0, false).ends, common(18.0, false).per_end), (20, 3));
        assert_eq!((common(70.0, false).ends, common(70.0, false).per_end), (12, 6));
    }

    #[test]
    fn what_the_archer_shot_there_comes_first() {
        let (one, two) = (Some(Uuid::from_u128(1)), Some(Uuid::from_u128(2)));
        let earlier = [session(70.0, "80", 1, 0), session(70.0, "122-5", 2, 4), session(30.0, "field-60", 1, 0)];
        assert_eq!(usual(&earlier, 70.0, one, false).face, "80");
        let with_two = usual(&earlier, 70.2, two, false);
        assert_eq!((with_two.face.as_str(), with_two.ends, with_two.per_end, with_two.round), ("122-5", 4, 5, true));
        assert_eq!(usual(&earlier, 30.0, None, false).face, "field-60");
        assert_eq!(usual(&earlier, 50.0, one, false), common(50.0, false));
        assert_eq!(usual(&[], 70.0, None, false).face, "122");
    }

    #[test]
    fn a_compound_is_told_by_its_faces() {
        let earlier = [session(18.0, "40-3v-c", 1, 0), session(18.0, "40", 2, 0)];
        assert!(is_compound(&earlier, Some(Uuid::from_u128(1))));
        assert!(!is_compound(&earlier, Some(Uuid::from_u128(2))) && !is_compound(&earlier, None));
        assert_eq!(usual(&earlier, 18.0, Some(Uuid::from_u128(1)), true).face, "40-3v-c");
        assert_eq!(usual(&earlier, 50.0, Some(Uuid::from_u128(1)), true).face, "80-6");
    }
}
