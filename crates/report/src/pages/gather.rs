//! Sessions of the log with their placed shots, as core's questions about many sessions take them.

use std::ops::Deref;

use goldward_core::group::ClassOdds;
use goldward_journal::{Log, Uuid};
pub use goldward_session::group::{Group, Placed};
pub use goldward_session::log::odds;
use goldward_session::log::{self, SessionView};

/// What a session has to say.
#[derive(Debug, Clone, PartialEq)]
pub struct Gathered {
    /// The session.
    pub id: Uuid,
    /// When it began.
    pub at_ms: u64,
    /// The kit.
    pub kit: Option<Uuid>,
    /// Its shots.
    pub group: Group,
}

impl Deref for Gathered {
    type Target = Group;

    fn deref(&self) -> &Group {
        &self.group
    }
}

impl Gathered {
    /// The session `id` of that archer; nothing when it cannot be read.
    #[must_use]
    pub fn of(log: &Log, archer: Uuid, id: Uuid) -> Option<Self> {
        let view = SessionView::of(log, archer, id).ok()?;
        Some(Self { id, at_ms: view.session.at_ms, kit: view.session.kit, group: view.group().ok()? })
    }
}

/// The sessions of an archer that have shots with a place, the latest first.
#[must_use]
pub fn sessions(log: &Log, archer: Uuid) -> Vec<Gathered> {
    // What every session showed, once: what was learnt before each is found from it.
    let seen = log::spreads_seen(log, archer);
    let one = |id: Uuid| {
        let view = SessionView::of(log, archer, id).ok()?;
        let learnt = log::learn(&seen, view.distance, view.kit, view.session.at_ms).ok();
        let settings = view.settings(learnt.as_ref(), ClassOdds::default()).ok()?;
        let group = Group::of(&view.session(&settings), &settings);
        Some(Gathered { id, at_ms: view.session.at_ms, kit: view.session.kit, group })
    };
    let all = log::sessions(log, archer).into_iter().filter_map(|(r, _)| one(r.id));
    all.filter(|g| !g.shots.is_empty()).collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use goldward_core::plane::Point;
    use goldward_core::random::Random;
    use goldward_core::shot::Felt;
    use goldward_journal::{self as journal, Archer, Body, Session, Touch, Writer};

    /// A log to put sessions into.
    pub struct Book {
        pub log: Log,
        pub archer: Uuid,
        writer: Writer,
        random: Random,
        n: u64,
        /// Whether shots that are moved by their shift feel bad.
        pub feels: bool,
    }

    impl Book {
        pub fn new(seed: u64) -> Self {
            let id = |n: u8| goldward_journal::id::new_id(u64::from(n), [n; 10]);
            let mut writer = Writer::new(id(1), id(2));
            let mut log = Log::new();
            log.insert(writer.write_archer(1, Archer { name: "A".into(), hand: None, counted: None }));
            Self { log, archer: id(1), writer, random: Random::stream(seed, 1), n: 10, feels: false }
        }

        fn write(&mut self, body: Body) -> Uuid {
            self.n += 1;
            let bytes = self.n.to_be_bytes();
            let mut noise = [0; 10];
            noise[..8].copy_from_slice(&bytes);
            let record = self.writer.write(self.n, noise, body);
            let id = record.id;
            self.log.insert(record);
            id
        }

        /// A session of `ends` ends of six arrows named 1 to 6, scattering by `mrad`, each shot moved by `shift(end, arrow)` mrad.
        pub fn session(&mut self, metres: f64, ends: u32, mrad: f64, shift: impl Fn(u32, u32) -> (f64, f64)) -> Uuid {
            let session = self.write(Body::Session(Session {
                at_ms: self.n,
                distance_m: metres,
                face: "122".into(),
                round: None,
                kit: None,
                mark: None,
                sighting_ends: 0,
                ends,
                shots_per_end: 6,
                proven: None,
                match_by: None,
                opponent_arrow: None,
            }));
            for end in 1..=ends {
                for index in 1..=6 {
                    let (a, b) = self.random.normal_pair();
                    let (x, y) = shift(end, index);
                    self.write(Body::Shot(journal::Shot {
                        session,
                        end,
                        index,
                        x_mm: Some(metres * (mrad * a + x)),
                        y_mm: Some(metres * (mrad * b + y)),
                        call: None,
                        felt: (self.feels && x.hypot(y) > 0.0).then_some(journal::Felt::Bad),
                        arrow: Some(index.to_string()),
                        spot: None,
                        at_ms: None,
                    }));
                }
            }
            session
        }

        pub fn touch(&mut self, session: Uuid, after_end: u32, right_mm: f64) {
            self.write(Body::Touch(Touch {
                session,
                after_end,
                after_index: 6,
                right_mm,
                up_mm: 0.0,
                advised_right_mm: None,
                advised_up_mm: None,
                at_ms: None,
            }));
        }
    }

    #[test]
    fn shots_are_carried_across_touches() {
        let mut book = Book::new(1);
        // After the third end the pin goes 2.2 mm right, so at 70 m and 880 mm the arrows go 175 mm (2.5 mrad) left.
        let id = book.session(70.0, 6, 0.01, |end, _| if end > 3 { (-2.5, 0.0) } else { (0.0, 0.0) });
        book.touch(id, 3, 2.2);
        let g = Gathered::of(&book.log, book.archer, id).unwrap();
        assert!(g.windage_touched && g.shots.len() == 36);
        let reach = goldward_core::sight::Sight::default().shift_mm(Point::new(2.2, 0.0), g.distance).x_mm;
        assert!((reach - 175.0).abs() < 5.0, "{reach}");
        assert!(g.shots.iter().all(|s| (s.at.x_mm + 175.0).abs() < 5.0), "all as after the touch");
    }

    #[test]
    fn felt_marks_earn_their_weight_from_earlier_sessions() {
        let odds_of = |feels: bool| {
            let mut book = Book::new(3);
            book.feels = feels;
            for _ in 0..8 {
                book.session(70.0, 6, 1.0, |end, arrow| if (end + arrow) % 9 == 0 { (6.0, 0.0) } else { (0.0, 0.0) });
            }
            let now = book.session(70.0, 1, 1.0, |_, _| (0.0, 0.0));
            odds(&book.log, book.archer, now)
        };
        assert_eq!(odds_of(false), ClassOdds::default(), "no marks, nothing learnt");
        let [clean, ..] = odds_of(true).felt(Felt::Bad).get();
        assert!(clean < 0.15, "who always knows a flyer is believed: {clean}");
        let unmarked = odds_of(true).felt(Felt::Unmarked);
        assert_eq!(unmarked, odds_of(true), "a shot without a mark is as before");
    }
}
