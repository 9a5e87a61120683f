//! Any session, written as CSV, as JSON or into the log, gets the same answer to the last digit.

use goldward_core::face::Face;
use goldward_core::pace::Pace;
use goldward_core::plane::Point;
use goldward_core::score::Scorer;
use goldward_core::shot::{Felt, Place, Shot};
use goldward_core::units::Distance;
use goldward_core::usual::Level;
use goldward_journal::{self as journal, Archer, Body, Log, Writer};
use goldward_session::answer::{Answer, answer};
use goldward_session::json::{SettingsIn, ShotsIn, parse};
use goldward_session::log::{SessionView, Which, odds, read};
use goldward_session::session::{Builder, Listed, Session};
use goldward_session::settings::{Settings, Wishes};
use goldward_session::{csv, kit, toml};
use proptest::prelude::*;

/// What happened, in order.
#[derive(Debug, Clone)]
enum Act {
    Shot(Shot),
    Touch(f64, f64),
    EndOfEnd,
}

fn act() -> impl Strategy<Value = Act> {
    let felt = prop_oneof![4 => Just(Felt::Unmarked), 1 => Just(Felt::Bad), 1 => Just(Felt::Good)];
    let call = prop_oneof![Just("X"), Just("9@4:30"), Just("8"), Just("M"), Just("M@7"), Just("1@12")];
    prop_oneof![
        8 => (-900.0..900.0, -900.0..900.0, felt.clone()).prop_map(|(x, y, f)| Act::Shot(Shot::at(x, y).felt(f))),
        2 => (call, felt).prop_map(|(c, f)| Act::Shot(Shot::called(c.parse().unwrap()).felt(f))),
        1 => (-2.0..2.0, -2.0..2.0).prop_map(|(x, y)| Act::Touch(x, y)),
        2 => Just(Act::EndOfEnd),
    ]
}

#[derive(Debug, Clone)]
struct Told {
    distance_m: f64,
    kit: journal::Kit,
    acts: Vec<Act>,
}

fn told() -> impl Strategy<Value = Told> {
    use proptest::option::of;
    let numbers =
        (of(2.0..10.0), of(600.0..1000.0), of(0.05..0.3), of(0.5..4.0), of(1.0..60.0), of(0.1..8.0), of(0.0..2.0));
    let bow = of(proptest::sample::select(vec!["recurve", "compound", "barebow", "longbow"]));
    let level = of(0..Level::ALL.len());
    (prop_oneof![Just(70.0), Just(18.0), 10.0..90.0], numbers, (bow, level), proptest::collection::vec(act(), 1..9))
        .prop_map(|(distance_m, (shaft, eye, click, spread, worth, trust, cost), (bow, level), acts)| Told {
            distance_m,
            kit: journal::Kit {
                name: "Recurve".to_owned(),
                shaft_mm: shaft,
                eye_to_pin_mm: eye,
                click_windage_mm: click,
                click_elevation_mm: click.map(|c| 0.7 * c),
                spread_mrad: spread,
                worth: worth.filter(|_| spread.is_some()),
                trust,
                touch_cost_points: cost,
                bow: bow.map(str::to_owned),
                level: level.map(|l| Level::ALL[l].key().to_owned()),
                ..journal::Kit::default()
            },
            acts,
        })
}

impl Told {
    fn has_shot(&self) -> bool {
        self.acts.iter().any(|a| matches!(a, Act::Shot(_)))
    }

    /// The session put together directly.
    fn session(&self, settings: &Settings) -> Session {
        let (mut builder, mut end) = (Builder::new(settings), 1);
        for act in &self.acts {
            match act {
                Act::Shot(shot) => {
                    builder.shot(Listed { shot: *shot, end: end.to_string(), arrow: String::new(), line: 0 })
                }
                Act::Touch(x, y) => builder.touch(Point::new(*x, *y)),
                Act::EndOfEnd => end += 1,
            }
        }
        builder.done()
    }

    /// The log with this one session, and whose it is.
    fn log(&self) -> (Log, journal::Uuid) {
        let id = |n: u8| journal::id::new_id(u64::from(n), [n; 10]);
        let mut writer = Writer::new(id(1), id(2));
        let mut log = Log::new();
        log.insert(writer.write_archer(1, Archer { name: "A".to_owned(), hand: None, counted: None }));
        let mut n = 10_u64;
        let mut write = |body: Body| {
            n += 1;
            let mut noise = [0; 10];
            noise[..8].copy_from_slice(&n.to_be_bytes());
            let record = writer.write(n, noise, body);
            let id = record.id;
            log.insert(record);
            id
        };
        let kit = write(Body::Kit(Box::new(self.kit.clone())));
        let session = write(Body::Session(journal::Session {
            at_ms: 10,
            distance_m: self.distance_m,
            face: "122".to_owned(),
            round: None,
            kit: Some(kit),
            mark: None,
            sighting_ends: 0,
            ends: 12,
            shots_per_end: 6,
            proven: None,
            match_by: None,
            opponent_arrow: None,
        }));
        let (mut end, mut index) = (1, 0);
        for act in &self.acts {
            match act {
                Act::Shot(shot) => {
                    index += 1;
                    let (x_mm, y_mm, call) = match shot.place {
                        Place::At(p) => (Some(p.x_mm), Some(p.y_mm), None),
                        Place::Called(c) => (None, None, Some(c.to_string())),
                    };
                    let felt = match shot.felt {
                        Felt::Unmarked => None,
                        Felt::Bad => Some(journal::Felt::Bad),
                        Felt::Good => Some(journal::Felt::Good),
                    };
                    write(Body::Shot(journal::Shot {
                        session,
                        end,
                        index,
                        x_mm,
                        y_mm,
                        call,
                        felt,
                        arrow: None,
                        spot: None,
                        at_ms: None,
                    }));
                }
                Act::Touch(right_mm, up_mm) => {
                    write(Body::Touch(journal::Touch {
                        session,
                        after_end: end,
                        after_index: index,
                        right_mm: *right_mm,
                        up_mm: *up_mm,
                        advised_right_mm: None,
                        advised_up_mm: None,
                        at_ms: None,
                    }));
                }
                Act::EndOfEnd => {
                    write(Body::End(journal::End {
                        session,
                        end,
                        at_ms: None,
                        card_points: None,
                        their_points: None,
                        nearer: None,
                    }));
                    (end, index) = (end + 1, 0);
                }
            }
        }
        // As it would come from another device.
        let text = journal::jsonl::write(&log);
        (journal::jsonl::read(&text).unwrap(), id(1))
    }

    /// The kit as a file.
    fn kit_file(&self) -> String {
        let k = &self.kit;
        let lines = [
            ("shaft", k.shaft_mm),
            ("eye_to_pin", k.eye_to_pin_mm),
            ("click_windage", k.click_windage_mm),
            ("click_elevation", k.click_elevation_mm),
            ("spread_mrad", k.spread_mrad),
            ("worth", k.worth),
            ("trust", k.trust),
            ("touch_cost_points", k.touch_cost_points),
        ];
        let numbers = lines.iter().filter_map(|(key, v)| Some(format!("{key} = {:?}\n", (*v)?)));
        let names = [("bow", &k.bow), ("level", &k.level)].into_iter();
        let names = names.filter_map(|(key, v)| Some(format!("{key} = {:?}\n", v.as_ref()?)));
        numbers.chain(names).collect()
    }

    /// The same as one object of a batch; the shots as they are carried, since it knows no touches.
    fn json(&self, session: &Session) -> String {
        let k = &self.kit;
        let shots: Vec<serde_json::Value> = session
            .shots
            .iter()
            .map(|l| {
                let felt = match l.shot.felt {
                    Felt::Unmarked => "",
                    Felt::Bad => "bad",
                    Felt::Good => "good",
                };
                match l.shot.place {
                    Place::At(p) => {
                        let p = p - l.shot.carry;
                        serde_json::json!({ "x_mm": p.x_mm, "y_mm": p.y_mm, "felt": felt, "end": l.end.parse::<u32>().ok() })
                    }
                    Place::Called(c) => serde_json::json!({ "call": c.to_string(), "felt": felt, "end": l.end.parse::<u32>().ok() }),
                }
            })
            .collect();
        let both = k.click_windage_mm.zip(k.click_elevation_mm).map(|(a, b)| [a, b]);
        let moved = [session.moved_mm.x_mm, session.moved_mm.y_mm];
        serde_json::json!({
            "moved_mm": moved,
            "distance_m": self.distance_m, "face": "122", "shots_left": 36, "shots": shots, "shaft_mm": k.shaft_mm,
            "eye_to_pin_mm": k.eye_to_pin_mm, "click_mm": both, "spread_mrad": k.spread_mrad, "worth": k.worth,
            "trust": k.trust, "touch_cost_points": k.touch_cost_points,
            "bow": k.bow, "level": k.level,
        })
        .to_string()
    }
}

fn answered(settings: &Settings, session: &Session) -> Answer {
    answer(settings, &session.core_shots(), session.moved_mm, &Scorer::new(settings.face, settings.shaft)).unwrap()
}

fn same(a: &Answer, b: &Answer, how: &str) {
    assert_eq!(a.reading, b.reading, "{how}");
    assert_eq!(a.advice, b.advice, "{how}");
    assert_eq!(a.notices, b.notices, "{how}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn csv_json_and_log_get_the_same_answer(told in told().prop_filter("no shot", Told::has_shot)) {
        let (distance, face) = (Distance::from_metres(told.distance_m).unwrap(), Face::named("122").unwrap());
        let left = Wishes { shots_left: Some(36), ..Wishes::default() };
        let wishes = left.or(kit::Kit::from(&told.kit).wishes);
        let settings = Settings::new(distance, face, &wishes).unwrap();
        let session = told.session(&settings);
        let direct = answered(&settings, &session);

        let of_file = toml::parse(&told.kit_file()).unwrap();
        let settings_of_file = Settings::new(distance, face, &left.or(of_file.wishes)).unwrap();
        let read_back = csv::read(csv::write(&session).as_bytes(), &settings_of_file).unwrap();
        prop_assert_eq!(read_back.core_shots(), session.core_shots());
        same(&answered(&settings_of_file, &read_back), &direct, "csv");

        let (log, archer) = told.log();
        let pick = read(&log, archer, Which::Latest, &left).unwrap();
        prop_assert_eq!(pick.session.core_shots(), session.core_shots());
        same(&answered(&pick.settings, &pick.session), &direct, "log");

        // The shooting line follows the same session event by event.
        let pick = read(&log, archer, Which::Latest, &Wishes::default()).unwrap();
        let view = SessionView::of(&log, archer, pick.id).unwrap();
        let learnt = view.learnt(&log).unwrap();
        let mut pace = Pace::new(view.pace(Some(&learnt), odds(&log, archer, pick.id)).unwrap());
        for event in view.events() {
            pace.take(event).unwrap();
        }
        let line = pace.answer().unwrap();
        let read = pick.line.as_ref().unwrap().answer().unwrap();
        prop_assert_eq!(&line.reading, &read.reading);
        prop_assert_eq!(&line.advice, &read.advice);
        prop_assert_eq!(line.shots_left, pick.settings.ahead.shots_left as usize);

        // A call is carried by its touches, which a batch does not know.
        let touched = session.shots.iter().any(|l| l.shot.carry != Point::default() && matches!(l.shot.place, Place::Called(_)));
        if !touched {
            let text = told.json(&session);
            let settings = parse::<SettingsIn>(&text).unwrap().settings().unwrap();
            let told = parse::<ShotsIn>(&text).unwrap();
            let (shots, moved) = (told.shots(&settings).unwrap(), told.moved().unwrap());
            let batch = answer(&settings, &shots, moved, &Scorer::new(face, settings.shaft)).unwrap();
            prop_assert_eq!(&batch.reading, &direct.reading);
            prop_assert_eq!(&batch.advice, &direct.advice);
        }
    }
}
