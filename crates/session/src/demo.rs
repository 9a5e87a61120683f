//! An invented archer's log, to look around in.

use goldward_core::random::Random;
use goldward_journal::{
    Archer, Body, End, Hand, Kit, Log, Mark, Proven, Record, Session, Shot, Touch, Uuid, Writer, plain,
};

const DAY_MS: u64 = 86_400_000;

/// The invented archer: always the same id, so that starting the demo twice does not make two.
#[must_use]
pub fn archer() -> Uuid {
    plain::steady_id(Uuid::nil(), 1_735_732_800_000, "ilse of the demo")
}

/// Where the one bad arrow lands against the others, in millimetres at 70 m.
const BAD_ARROW: (&str, f64, f64) = ("4", 70.0, -80.0);

/// Ten evenings of the ten weeks before `now_ms`: the spread falls from 2.1 to 1.6 mrad, each evening begins with the sight a
/// little off and one touch, and one of the six arrows lands low right of the others.
#[must_use]
pub fn log(now_ms: u64) -> Log {
    let archer = archer();
    let mut writer = Writer::new(archer, plain::steady_id(archer, 1_735_732_800_000, "device"));
    let mut random = Random::stream(2025, 7);
    let mut records: Vec<Record> =
        vec![writer.write_archer(now_ms, Archer { name: "Ilse".to_owned(), hand: Some(Hand::Right), counted: None })];
    let mut add = |what: &str, at_ms: u64, body: Body| {
        let id = plain::steady_id(archer, at_ms, what);
        records.push(Record::new(archer, id, writer.clock.next(now_ms), body));
        id
    };
    let begin = now_ms.saturating_sub(70 * DAY_MS);
    let kit = Kit {
        name: "recurve, outdoors".to_owned(),
        shaft_mm: Some(5.5),
        eye_to_pin_mm: Some(880.0),
        click_windage_mm: Some(0.1),
        click_elevation_mm: Some(0.1),
        elevation_grows_up: Some(false),
        elevation_reading: Some(121.6),
        elevation_unit_mm: Some(1.0),
        windage_grows_right: Some(true),
        windage_reading: Some(12.4),
        windage_unit_mm: Some(1.0),
        eye_above_arrow_mm: Some(115.0),
        arrow_mass_g: Some(21.0),
        ..Kit::default()
    };
    let kit = add("kit", begin, Body::Kit(Box::new(kit)));
    // An arrow of 57 m/s whose zero is at 20 mm: what a flight by the midpoint rule gives, to a tenth.
    for (distance_m, reading) in [(18.0, 49.9), (30.0, 64.4), (50.0, 91.8), (70.0, 121.6)] {
        let mark = Mark {
            kit,
            distance_m,
            elevation_reading: reading,
            windage_reading: Some(12.4),
            reading_sd: Some(0.2),
            proven: Proven::Shot,
            at_ms: begin,
            slope_deg: None,
            arrows: None,
        };
        add(&format!("mark {distance_m}"), begin, Body::Mark(mark));
    }
    for evening in 0..10u64 {
        let at_ms = begin + (7 * evening + 1) * DAY_MS;
        let spread = 70.0 * (2.1 - 0.05 * evening as f64);
        let session = add(
            &format!("session {evening}"),
            at_ms,
            Body::Session(Session {
                at_ms,
                distance_m: 70.0,
                face: "122".to_owned(),
                round: Some("practice".to_owned()),
                kit: Some(kit),
                mark: None,
                sighting_ends: 1,
                ends: 6,
                shots_per_end: 6,
                proven: Some(Proven::Predicted),
                match_by: None,
                opponent_arrow: None,
            }),
        );
        let (a, b) = random.normal_pair();
        let mut off = (90.0 * a, 90.0 * b);
        for end in 1..=7u32 {
            for index in 1..=6u32 {
                let (a, b) = random.normal_pair();
                let wide = if random.uniform() < 0.06 { 3.0 } else { 1.0 };
                let arrow = index.to_string();
                let (right, up) = if arrow == BAD_ARROW.0 { (BAD_ARROW.1, BAD_ARROW.2) } else { (0.0, 0.0) };
                let place = |off: f64, own: f64, z: f64| Some((off + own + wide * spread * z).round());
                let shot = Shot {
                    session,
                    end,
                    index,
                    x_mm: place(off.0, right, a),
                    y_mm: place(off.1, up, b),
                    call: None,
                    felt: (wide > 1.0).then_some(goldward_journal::Felt::Bad),
                    arrow: Some(arrow),
                    spot: None,
                    at_ms: None,
                };
                add(&format!("shot {evening} {end} {index}"), at_ms, Body::Shot(shot));
            }
            add(
                &format!("end {evening} {end}"),
                at_ms,
                Body::End(End { session, end, at_ms: None, card_points: None, their_points: None, nearer: None }),
            );
            if end == 2 {
                // Whole clicks of 0.1 mm towards the group; the shift on the face is the pin's times 70 000 / 880.
                let k = 70_000.0 / 880.0;
                let (right_mm, up_mm) = ((off.0 / k * 10.0).round() / 10.0, (off.1 / k * 10.0).round() / 10.0);
                off = (off.0 - right_mm * k, off.1 - up_mm * k);
                let touch = Touch {
                    session,
                    after_end: 2,
                    after_index: 6,
                    right_mm,
                    up_mm,
                    advised_right_mm: Some(right_mm),
                    advised_up_mm: Some(up_mm),
                    at_ms: None,
                };
                add(&format!("touch {evening}"), at_ms, Body::Touch(touch));
            }
        }
    }
    Log::from_records(records)
}
