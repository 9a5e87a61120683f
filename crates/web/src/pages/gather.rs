//! Shots of the log as core's questions about many sessions take them: places in the frame of the last setting.

use goldward_core::fleet::session::{FeltMarks, felt_marks};
use goldward_core::fleet::{ArrowShot, Offset};
use goldward_core::group::ClassOdds;
use goldward_core::plane::Point;
use goldward_core::shot::{Felt, Place};
use goldward_core::units::Distance;
use goldward_journal::view::SessionView;
use goldward_journal::{Body, Log, Uuid};

/// One shot.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Its end, from 1.
    pub end: u32,
    /// Where it landed in millimetres, as if the sight had stood all the time as it does after the last touch.
    pub at: Point,
    /// How it felt.
    pub felt: Felt,
    /// Which arrow; empty when nobody said.
    pub arrow: String,
}

/// What a session has to say.
#[derive(Debug, Clone, PartialEq)]
pub struct Gathered {
    /// The session.
    pub id: Uuid,
    /// When it began.
    pub at_ms: u64,
    /// The distance.
    pub distance: Distance,
    /// The kit.
    pub kit: Option<Uuid>,
    /// Shots with a place, in order.
    pub shots: Vec<Placed>,
    /// Shots left out: a miss or a ring without a clock has no place.
    pub placeless: usize,
    /// Shots that were called, taken at the middle of their cells.
    pub called: usize,
    /// Whether the pin was moved sideways during the session.
    pub windage_touched: bool,
}

impl Gathered {
    /// The session `id`; nothing when it cannot be read.
    #[must_use]
    pub fn of(log: &Log, id: Uuid) -> Option<Self> {
        let view = SessionView::of(log, id).ok()?;
        let mut gathered = Self {
            id,
            at_ms: view.session.at_ms,
            distance: view.distance,
            kit: view.session.kit,
            shots: Vec::new(),
            placeless: 0,
            called: 0,
            windage_touched: view.touches.iter().any(|(_, t)| t.right_mm.abs() > 1e-9),
        };
        for ((_, record), shot) in view.shots.iter().zip(view.shots().ok()?) {
            let at = match shot.place {
                Place::At(p) => p,
                Place::Called(call) => {
                    let cell = call.cell(view.face, view.shaft).ok()?;
                    let Some(middle) = cell.middle() else {
                        gathered.placeless += 1;
                        continue;
                    };
                    gathered.called += 1;
                    middle
                }
            };
            gathered.shots.push(Placed {
                end: record.end,
                at: at - shot.carry,
                felt: shot.felt,
                arrow: record.arrow.as_deref().unwrap_or("").trim().to_owned(),
            });
        }
        Some(gathered)
    }

    /// Shot `shot` as an angle, as a part of session `session`.
    #[must_use]
    pub fn angle(&self, shot: &Placed, session: usize) -> ArrowShot {
        ArrowShot {
            session,
            end: shot.end as usize,
            arrow: 0,
            at: Offset::from_mm(shot.at, self.distance),
            felt: shot.felt,
        }
    }
}

/// Sessions that are looked at to learn what felt marks are worth: the latest before the one that is shot.
const MARKS_FROM: usize = 30;

/// The class odds for session `id`: what shots that felt bad or good turned out to be in the archer's earlier sessions, or the
/// usual odds where their marks have not been shown to tell anything.
#[must_use]
pub fn odds(log: &Log, id: Uuid) -> ClassOdds {
    let usual = ClassOdds::default();
    let Some(record) = log.get(id) else { return usual };
    let Body::Session(now) = &record.body else { return usual };
    let before = sessions(log, record.archer).into_iter().filter(|g| g.at_ms < now.at_ms).take(MARKS_FROM);
    let shots: Vec<ArrowShot> =
        before.enumerate().flat_map(|(i, g)| g.shots.iter().map(|s| g.angle(s, i)).collect::<Vec<_>>()).collect();
    let marks = felt_marks(&shots, usual).ok().filter(FeltMarks::tell);
    marks.map_or(usual, |m| usual.with_marks(m.bad_odds, m.good_odds))
}

/// The sessions of an archer that have shots with a place, the latest first.
#[must_use]
pub fn sessions(log: &Log, archer: Uuid) -> Vec<Gathered> {
    let mut all: Vec<Gathered> = log
        .of(|b| if let Body::Session(s) = b { Some(s) } else { None })
        .into_iter()
        .filter(|(r, _)| r.archer == archer)
        .filter_map(|(r, _)| Gathered::of(log, r.id))
        .filter(|g| !g.shots.is_empty())
        .collect();
    all.sort_by_key(|g| std::cmp::Reverse((g.at_ms, g.id)));
    all
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use goldward_core::random::Random;
    use goldward_journal::{self as journal, Archer, Session, Touch, Writer};

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
            log.insert(writer.write_archer(1, Archer { name: "A".into(), hand: None }));
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
        let g = Gathered::of(&book.log, id).unwrap();
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
            odds(&book.log, now)
        };
        assert_eq!(odds_of(false), ClassOdds::default(), "no marks, nothing learnt");
        let [clean, ..] = odds_of(true).felt(Felt::Bad).get();
        assert!(clean < 0.15, "who always knows a flyer is believed: {clean}");
        let unmarked = odds_of(true).felt(Felt::Unmarked);
        assert_eq!(unmarked, odds_of(true), "a shot without a mark is as before");
    }
}
