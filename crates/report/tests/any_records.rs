//! Any records that a log takes in, through every view of them and every page: nothing panics, and nothing takes for ever.
//!
//! Numbers stand at the edges of what [`Record::validate`] takes, texts are long and odd, parts are missing, calls are of other faces.

use std::time::Duration;

use goldward_core::face::Face;
use goldward_core::flight::{Gust, Wind};
use goldward_core::pace::Pace;
use goldward_journal::{
    Archer, Arrow, Body, End, Felt, Hand, Kit, Log, Mark, Note, Proven, Record, Score, Session, Shot, Stamp, Touch,
    Uuid, id,
};
use goldward_report::html::html;
use goldward_report::item::Item;
use goldward_report::pages::compare::Sides;
use goldward_report::pages::gather::{self, Gathered};
use goldward_report::pages::marks as marks_page;
use goldward_report::pages::{aids, arrows, compare, moves, progress, tune};
use goldward_report::teller::Teller;
use goldward_report::text::text as plain_text;
use goldward_report::words::Language;
use goldward_session::log::{self, MovesGave, MovesSum, SeasonGave, SessionView, Which};
use goldward_session::marks::answer::next;
use goldward_session::marks::numbers::Numbers;
use goldward_session::marks::quantity::Range;
use goldward_session::settings::Wishes;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

/// Latest time that a record may tell: the last millisecond of the year 9999.
const LAST_MS: u64 = 253_402_300_799_999;

fn archer() -> Uuid {
    id::new_id(1, [1; 10])
}

/// The record of that number.
fn numbered(n: u32) -> Uuid {
    let mut random = [9; 10];
    random[6..].copy_from_slice(&n.to_be_bytes());
    id::new_id(1_700_000_000_000, random)
}

/// Kits are 0 and 1, sessions 2 to 4, marks 5 to 7, and what is of one kind is now and then taken for another.
fn any_id() -> impl Strategy<Value = Uuid> {
    (0u32..9).prop_map(numbered)
}

fn session_id() -> impl Strategy<Value = Uuid> {
    prop_oneof![9 => (2u32..5).prop_map(numbered), 1 => any_id()]
}

fn kit_id() -> impl Strategy<Value = Uuid> {
    prop_oneof![9 => (0u32..2).prop_map(numbered), 1 => any_id()]
}

/// A number of a range, most often at one of its edges.
fn within(min: f64, max: f64) -> impl Strategy<Value = f64> {
    let edges = vec![min, max, min + 1e-9, max - 1e-9, 0.0, -0.0, 1.0, 5e-324, 0.5 * (min + max)];
    prop_oneof![select(edges), min..max].prop_map(move |v| v.clamp(min, max))
}

fn ms() -> impl Strategy<Value = u64> {
    prop_oneof![select(vec![0, 1, LAST_MS, LAST_MS - 1, 1_700_000_000_000]), 1_699_000_000_000..1_701_000_000_000u64]
}

fn text() -> impl Strategy<Value = String> {
    let odd = ["", " ", "\0", "\u{202e}", "<b>&\"'", "1", "12", "99999999999999999999999", "\r\n\t", "é", "🎯"];
    prop_oneof![
        6 => select(odd.map(str::to_owned).to_vec()),
        2 => (select(vec!["x", "é", "🎯", "W", "\u{7}", " "]), select(vec![31usize, 32, 33, 64, 1000])).prop_map(|(c, n)| c.repeat(n)),
        1 => any::<String>(),
    ]
    .prop_map(|t| if t.len() > 4000 { t.chars().take(1000).collect() } else { t })
}

fn face() -> impl Strategy<Value = String> {
    let known: Vec<String> = Face::all().iter().map(|f| f.name.to_owned()).collect();
    prop_oneof![9 => select(known), 1 => text()]
}

fn call() -> impl Strategy<Value = String> {
    let odd = ["X", "M", "10", "1", "9@4:30", "X@12", "6@1", "10@12:59", "5", "11", "0", "3@6"];
    select(odd.map(str::to_owned).to_vec())
}

fn distance() -> impl Strategy<Value = f64> {
    prop_oneof![within(1.0, 400.0), select(vec![18.0, 30.0, 70.0])]
}

fn count(most: u32) -> impl Strategy<Value = u32> {
    prop_oneof![select(vec![0, 1, 2, most - 1, most]), 0..=most.min(20)]
}

fn proven() -> impl Strategy<Value = Proven> {
    select(vec![Proven::Guessed, Proven::Predicted, Proven::Shot])
}

fn kit() -> impl Strategy<Value = Body> {
    let few = |min, max| of(within(min, max));
    let first =
        (text(), of(select(vec![Hand::Left, Hand::Right])), few(0.0, 30.0), few(100.0, 3000.0), few(0.001, 20.0));
    let second =
        (few(0.001, 20.0), few(0.0, 20.0), of(any::<bool>()), few(-1e5, 1e5), few(0.001, 1000.0), few(0.01, 100.0));
    let third =
        (few(0.1, 1e4), few(1e-4, 1e4), few(0.0, 1e4), few(-1e3, 1e3), few(1.0, 500.0), few(10.0, 200.0), of(ms()));
    (first, second, third).prop_map(|(a, b, c)| {
        Body::Kit(Box::new(Kit {
            name: a.0,
            hand: a.1,
            shaft_mm: a.2,
            eye_to_pin_mm: a.3,
            click_windage_mm: a.4,
            click_elevation_mm: b.0,
            setting_sd_mm: b.1,
            windage_grows_right: b.2,
            elevation_grows_up: b.2,
            windage_reading: b.3,
            elevation_reading: b.3,
            windage_unit_mm: b.4,
            elevation_unit_mm: b.4,
            spread_mrad: b.5,
            worth: c.0,
            trust: c.1,
            touch_cost_points: c.2,
            eye_above_arrow_mm: c.3,
            arrow_mass_g: c.4,
            arrow_speed_m_s: c.5,
            verified_at_ms: c.6,
            habits: c.6.map(|at| at % 2 == 0),
            bow: c.6.map(|at| ["compound", "recurve", "slingshot"][(at % 3) as usize].to_owned()),
            level: c.6.map(|at| ["beginner", "strong", ""][(at % 3) as usize].to_owned()),
        }))
    })
}

fn shot() -> impl Strategy<Value = Body> {
    // Most are about where shots land; some lie at the edges.
    let near = (-900.0..900.0f64, -900.0..900.0f64);
    let place = prop_oneof![
        6 => near.prop_map(|(x, y)| (Some(x), Some(y), None)),
        2 => (within(-1e5, 1e5), within(-1e5, 1e5)).prop_map(|(x, y)| (Some(x), Some(y), None)),
        3 => call().prop_map(|c| (None, None, Some(c))),
    ];
    let felt = of(select(vec![Felt::Bad, Felt::Good]));
    let number = || prop_oneof![9 => 0..7u32, 1 => count(10_000)];
    (session_id(), number(), number(), place, felt, of(text()), of(count(100)), of(ms())).prop_map(
        |(session, end, index, (x_mm, y_mm, call), felt, arrow, spot, at_ms)| {
            Body::Shot(Shot { session, end, index, x_mm, y_mm, call, felt, arrow, spot, at_ms })
        },
    )
}

/// What is written under that number, apart from shots and touches.
fn named() -> impl Strategy<Value = (u32, Body)> {
    let session = (
        ms(),
        distance(),
        face(),
        of(text()),
        of(kit_id()),
        of(any_id()),
        count(1000),
        count(1000),
        count(1000),
        of(proven()),
    );
    let session =
        session.prop_map(|(at_ms, distance_m, face, round, kit, mark, sighting_ends, ends, shots_per_end, proven)| {
            Body::Session(Session {
                at_ms,
                distance_m,
                face,
                round,
                kit,
                mark,
                sighting_ends,
                ends,
                shots_per_end,
                proven,
                // Now and then it is a match, or one of a kind that nobody knows.
                match_by: [None, Some("sets"), Some("total"), Some("luck")][at_ms as usize % 4].map(str::to_owned),
                opponent_arrow: (at_ms % 3 == 0).then_some((at_ms % 110) as f64 / 10.0),
            })
        });
    let mark = (
        kit_id(),
        distance(),
        within(-1e5, 1e5),
        of(within(0.0, 1e5)),
        proven(),
        ms(),
        of(within(-90.0, 90.0)),
        of(count(10_000)),
    );
    let mark = mark.prop_map(|(kit, distance_m, elevation_reading, reading_sd, proven, at_ms, slope_deg, arrows)| {
        let windage_reading = reading_sd.map(|sd| -sd);
        Body::Mark(Mark {
            kit,
            distance_m,
            elevation_reading,
            windage_reading,
            reading_sd,
            proven,
            at_ms,
            slope_deg,
            arrows,
        })
    });
    prop_oneof![
        3 => (0u32..2, kit()),
        4 => (2u32..5, session),
        4 => (5u32..9, mark),
    ]
}

fn small() -> impl Strategy<Value = Body> {
    let touch = |v: f64| within(-v, v);
    let at = || prop_oneof![9 => 0..7u32, 1 => count(10_000)];
    prop_oneof![
        12 => shot(),
        2 => (session_id(), at(), at(), touch(200.0), touch(2.0), of(ms())).prop_map(|(session, after_end, after_index, right_mm, up_mm, at_ms)| {
            let advised_right_mm = at_ms.map(|_| up_mm);
            Body::Touch(Touch { session, after_end, after_index, right_mm, up_mm, advised_right_mm, advised_up_mm: None, at_ms })
        }),
        2 => (session_id(), at(), of(ms()), of(any::<u32>())).prop_map(|(session, end, at_ms, card_points)| Body::End(End { session, end, at_ms, card_points, their_points: card_points.map(|p| p % 45), nearer: card_points.map(|p| p % 2 == 0) })),
        1 => (ms(), distance(), face(), count(100_000), count(10_000_000), of(text()), of(kit_id())).prop_map(|(at_ms, distance_m, face, shots, points, round, kit)| {
            Body::Score(Score { at_ms, distance_m, face, shots, points, round, kit })
        }),
        1 => (kit_id(), text(), any::<bool>()).prop_map(|(kit, name, retired)| Body::Arrow(Arrow { kit, name, retired })),
        1 => (of(any_id()), text(), of(text()), ms()).prop_map(|(about, text, wind, at_ms)| {
            Body::Note(Note { about, text, wind_from: wind.clone(), light: wind.clone(), wind, at_ms })
        }),
        1 => text().prop_map(|name| Body::Archer(Archer { name, hand: None, counted: None })),
    ]
}

/// The log of those records that it takes in.
fn book(bodies: impl IntoIterator<Item = (u32, Body)>) -> Log {
    let device = id::new_id(2, [2; 10]);
    let records = bodies.into_iter().map(|(n, body)| {
        let id = if matches!(body, Body::Archer(_)) { archer() } else { numbered(n) };
        Record::new(archer(), id, Stamp { ms: u64::from(n), counter: 0, device }, body)
    });
    Log::from_records(records.filter(|r| r.validate().is_ok()))
}

fn any_log(most: usize) -> impl Strategy<Value = Log> {
    (vec(named(), 1..12), vec(small(), 0..most))
        .prop_map(|(named, small)| book(named.into_iter().chain((100u32..).zip(small))))
}

/// Everything that is ever made of a log. Fails when a page has a number in it that is none.
fn all_views(log: &Log) {
    let archer = archer();
    let date = |ms: u64| ms.to_string();
    let of_them = log.check();
    assert!(of_them.len() <= 4 * log.len() + 1);
    let _ = log::archer_named(log, None);
    let _ = log::read(log, archer, Which::Latest, &Wishes::default());
    let histories = log::history(log, archer);
    let _ = log::spreads_seen(log, archer);
    let sessions = log::sessions(log, archer);
    for (record, _) in &sessions {
        let id = record.id;
        let odds = log::odds(log, archer, id);
        let _ = log::read(log, archer, Which::Id(id), &Wishes::default());
        let Ok(view) = SessionView::of(log, archer, id) else {
            continue;
        };
        let _ = (view.total(), view.totals(), view.carried().len(), view.group().is_ok());
        let learnt = view.learnt(log).ok();
        if let Ok(settings) = view.pace(learnt.as_ref(), odds) {
            let mut pace = Pace::new(settings);
            for event in view.events() {
                // What cannot be is refused, and changes nothing.
                let _ = pace.take(event);
            }
            let since = busy();
            let answer = pace.answer();
            let took = busy() - since;
            assert!(took < Duration::from_secs(2), "an answer to {} shots took {took:?}", view.shots.len());
            if let Ok(answer) = &answer {
                assert!(answer.reading.centre.is_finite(), "{:?}", answer.reading.centre);
                assert!(answer.advice.pin_mm.is_finite(), "{:?}", answer.advice);
            }
        }
    }
    let gave: Vec<Vec<MovesGave>> = histories
        .iter()
        .map(|h| {
            // What is advised is answered above.
            let of = |id| log::moves_gave(log, archer, Which::Id(id), false).ok().flatten();
            log::looked_back(h).into_iter().filter_map(of).collect()
        })
        .collect();
    let looked: Vec<_> = histories
        .into_iter()
        .zip(gave.iter().map(|g| SeasonGave::of(&g.iter().map(MovesSum::from).collect::<Vec<_>>())))
        .collect();
    for language in [Language::English, Language::German] {
        let teller = Teller { language, imperial: language == Language::German, date: &date };
        let gathered = gather::sessions(log, archer);
        let latest: Vec<&Gathered> = gathered.iter().collect();
        let mut said = String::new();
        let mut say = |items: Vec<Item>| {
            said += &html(&items);
            said += &plain_text(&items, 40, false);
        };
        gave.iter().flatten().for_each(|g| say(moves::page(&teller, g)));
        say(progress::page(&teller, &looked));
        say(arrows::page(&teller, &latest));
        let sides = [Sides { a: true, b: false }, Sides { a: false, b: true }, Sides { a: true, b: true }];
        let chosen: Vec<(&Gathered, Sides)> =
            latest.iter().rev().zip(sides.into_iter().cycle()).map(|(g, s)| (*g, s)).collect();
        for in_turn in [false, true] {
            say(compare::page(&teller, &chosen, in_turn));
        }
        let question = tune::Question { bare: tune::mixed_arrows(&chosen), hand: Some(Hand::Left) };
        say(tune::page(&teller, &chosen, &question));
        for (id, kit) in log.of(|b| if let Body::Kit(kit) = b { Some(kit) } else { None }) {
            let marks = log::marks_of(log, archer, id.id, kit);
            let marks: Vec<Mark> = marks.into_iter().map(|(_, m)| m).collect();
            for yards in [false, true] {
                if let Ok(book) = log::book(kit, &marks).map(|b| b.told_in(yards)) {
                    let _ = book.scale().map(|scale| say(marks_page::list(&teller, &book, &Numbers::new(scale))));
                }
                let Some(Ok(known)) = log::known(kit, &marks, yards) else { continue };
                let ranges = [1.0, 18.0, 70.0, 400.0].map(|m| Range::metres(m).unwrap());
                for at in ranges {
                    let gust = Gust::new(Wind::from_clock(9.0, 3.0).unwrap(), 0.0, 1.0).unwrap();
                    let _ = aids::wind_at(&known, at, &gust).map(|aid| say(aids::wind(&teller, at, &aid, true)));
                    let found = aids::slope_at(&known, at, -30.0);
                    let _ = found.map(|found| say(aids::slope(&teller, &known, at, -30.0, &found)));
                    let found = aids::wrong_at(&teller, &known, at, [800.0, 30.0], &ranges);
                    let _ = found.map(|found| say(aids::wrong(&teller, &known, at, 800.0, &ranges, &found)));
                    let _ = aids::refined_clicks(&known, at.distance(), 40);
                    let expected: Vec<_> = known.expect(&[at]).into_iter().flatten().collect();
                    let next = next(&known.fitted, &[at.m()]).ok();
                    say(marks_page::predict(&teller, &known, &expected, next.as_ref()));
                }
                let _ = known.residuals().map(|rows| say(marks_page::fit(&teller, &known, &rows)));
            }
        }
        for absurd in ["NaN", "inf", "-inf"] {
            let at = said.find(absurd);
            assert!(at.is_none(), "a page says {absurd}: {}", around(&said, at.unwrap()));
        }
    }
}

fn around(text: &str, at: usize) -> String {
    let from = text[..at].char_indices().rev().nth(200).map_or(0, |(i, _)| i);
    text[from..].chars().take(400).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_records_have_views_and_pages(log in any_log(60)) {
        all_views(&log);
    }
}

fn session(ends: u32, shots_per_end: u32) -> Body {
    Body::Session(Session {
        at_ms: 1_700_000_000_000,
        distance_m: 70.0,
        face: "122".to_owned(),
        round: None,
        kit: None,
        mark: None,
        sighting_ends: 1000,
        ends,
        shots_per_end,
        proven: None,
        match_by: None,
        opponent_arrow: None,
    })
}

fn placed(end: u32, index: u32, arrow: &str) -> Body {
    let at = |k: u32| f64::from((end * 37 + index * k) % 401) - 200.0;
    let (x_mm, y_mm) = (Some(at(101)), Some(at(211)));
    let arrow = Some(arrow.to_owned());
    Body::Shot(Shot {
        session: numbered(2),
        end,
        index,
        x_mm,
        y_mm,
        call: None,
        felt: None,
        arrow,
        spot: None,
        at_ms: None,
    })
}

/// How long this thread has been at work; on a machine that is busy with other things the clock says little.
fn busy() -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let worked = told.as_ref().and_then(|t| t.split(' ').next()?.parse().ok()).map(Duration::from_nanos);
    // Where nothing tells, it is not looked at.
    worked.unwrap_or_default()
}

/// All of it, within a few seconds of work.
fn soon(what: &str, log: &Log) {
    let since = busy();
    all_views(log);
    let took = busy() - since;
    assert!(took < Duration::from_secs(10), "{what} took {took:?}");
}

#[test]
fn a_thousand_ends_are_read_soon() {
    let shots = (1..=1000).flat_map(|end| (1..=6).map(move |i| placed(end, i, &i.to_string())));
    soon("1000 ends", &book([(2, session(1000, 6))].into_iter().chain((100..).zip(shots))));
}

#[test]
fn one_end_of_ten_thousand_shots_is_read_soon() {
    let shots = (1..=10_000).map(|i| placed(1, i, &(i % 300).to_string()));
    soon("10,000 shots", &book([(2, session(1000, 1000))].into_iter().chain((100..).zip(shots))));
}

#[test]
fn a_thousand_touches_are_read_soon() {
    let touch = |i: u32| {
        let (right_mm, up_mm) = (0.01 * f64::from(i % 7), -0.01 * f64::from(i % 5));
        Body::Touch(Touch {
            session: numbered(2),
            after_end: i,
            after_index: 1,
            right_mm,
            up_mm,
            advised_right_mm: None,
            advised_up_mm: None,
            at_ms: None,
        })
    };
    let acts = (1..=1000).flat_map(|i| [placed(i, 1, "x"), placed(i, 2, "é"), touch(i)]);
    soon("1000 touches", &book([(2, session(0, 2))].into_iter().chain((100..).zip(acts))));
}

#[test]
fn names_of_four_thousand_bytes_are_read_soon() {
    let name = |c: &str, n: u32| format!("{}{n}", c.repeat(3990 / c.len()));
    let shots = (1..=12).flat_map(|end| {
        (1..=6).map(move |i| placed(end, i, &name(["W", "é", "🎯", "\u{7}", "<", "\u{202e}"][i as usize - 1], i)))
    });
    soon("long names", &book([(2, session(12, 6))].into_iter().chain((100..).zip(shots))));
}
