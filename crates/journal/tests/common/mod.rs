//! Records made up for tests.
#![allow(dead_code, reason = "each test binary uses its own part")]

use goldward_journal::*;
use proptest::prelude::*;

/// A text with everything that tables and JSON stumble over.
pub fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z]{0,8}",
        Just(String::new()),
        Just("=1+1".to_owned()),
        Just("\\x".to_owned()),
        Just("12".to_owned()),
        Just("true".to_owned()),
        Just("a,b;\"c\"\n\r\u{1f3af} é\t".to_owned()),
        Just("\r\n".to_owned()),
        any::<String>().prop_map(|s| s.chars().take(60).collect()),
    ]
}

fn number(limit: f64) -> impl Strategy<Value = f64> {
    prop_oneof![(-limit..limit), Just(0.0), Just(-0.0), Just(0.1 + 0.2), Just(1e-300), Just(70.0)]
}

fn id(choices: u64) -> impl Strategy<Value = Uuid> {
    (0..choices).prop_map(|n| id::new_id(1_700_000_000_000 + n, [7; 10]))
}

/// A body of any kind.
pub fn body() -> impl Strategy<Value = Body> {
    use proptest::option::of;
    let place = prop_oneof![
        (number(9e4), number(9e4)).prop_map(|(x, y)| (Some(x), Some(y), None)),
        prop_oneof![Just("X"), Just("9@4:30"), Just("M")].prop_map(|c| (None, None, Some(c.to_owned()))),
    ];
    let felt = of(prop_oneof![Just(Felt::Bad), Just(Felt::Good)]);
    prop_oneof![
        text().prop_map(|name| Body::Archer(Archer { name, hand: Some(Hand::Left), counted: Some(true) })),
        (text(), of(1.0..20.0), of(any::<bool>()), of(number(1e4)), of(0..1u64 << 40)).prop_map(
            |(name, shaft, grows, reading, at)| {
                Body::Kit(Box::new(Kit {
                    name,
                    shaft_mm: shaft,
                    windage_grows_right: grows,
                    elevation_grows_up: grows,
                    elevation_reading: reading,
                    verified_at_ms: at,
                    habits: grows.filter(|g| !g),
                    bow: grows.map(|_| "compound".to_owned()),
                    level: grows.map(|_| "club".to_owned()),
                    ..Kit::default()
                }))
            }
        ),
        (id(4), text(), any::<bool>()).prop_map(|(kit, name, retired)| Body::Arrow(Arrow { kit, name, retired })),
        (id(4), 1.0..400.0, number(9e4), of(0.0..9.0)).prop_map(|(kit, distance_m, elevation_reading, reading_sd)| {
            Body::Mark(Mark {
                kit,
                distance_m,
                elevation_reading,
                windage_reading: None,
                reading_sd,
                proven: Proven::Predicted,
                at_ms: 3,
                slope_deg: Some(-4.5),
                arrows: Some(24),
            })
        }),
        (0..1u64 << 41, of(text()), of(id(4)), 1..9u32).prop_map(|(at_ms, round, kit, shots_per_end)| {
            Body::Session(Session {
                at_ms,
                distance_m: 70.0,
                face: "122".to_owned(),
                round,
                kit,
                mark: kit,
                sighting_ends: 1,
                ends: 12,
                shots_per_end,
                proven: Some(Proven::Guessed),
                match_by: Some("sets".to_owned()),
                opponent_arrow: Some(9.1),
            })
        }),
        (id(4), 1..9u32, of(0..60u32)).prop_map(|(session, end, card_points)| {
            Body::End(End {
                session,
                end,
                at_ms: None,
                card_points,
                their_points: None,
                nearer: card_points.map(|p| p % 2 == 0),
            })
        }),
        (id(4), 1..4u32, 1..4u32, place, felt, of(text())).prop_map(
            |(session, end, index, (x_mm, y_mm, call), felt, arrow)| {
                Body::Shot(Shot {
                    session,
                    end,
                    index,
                    x_mm,
                    y_mm,
                    call,
                    felt,
                    arrow,
                    spot: (index == 3).then_some(end),
                    at_ms: Some(9),
                })
            }
        ),
        (id(4), 0..4u32, 0..4u32, number(9.0), number(9.0), of(number(9.0))).prop_map(
            |(session, after_end, after_index, right_mm, up_mm, advised)| {
                Body::Touch(Touch {
                    session,
                    after_end,
                    after_index,
                    right_mm: right_mm.clamp(-9.0, 9.0),
                    up_mm: up_mm.clamp(-9.0, 9.0),
                    advised_right_mm: advised.map(|a| a.clamp(-9.0, 9.0)),
                    advised_up_mm: None,
                    at_ms: None,
                })
            }
        ),
        (1..99u32, 0..999u32, of(text())).prop_map(|(shots, points, round)| {
            Body::Score(Score { at_ms: 1, distance_m: 18.0, face: "40".to_owned(), shots, points, round, kit: None })
        }),
        (text(), of(id(4)), of(text()), of(text())).prop_map(|(text, about, wind, light)| {
            Body::Note(Note {
                about,
                text,
                wind_from: wind.clone().filter(|_| light.is_some()),
                wind,
                light,
                at_ms: 77,
            })
        }),
        Just(Body::Deleted(body::Deleted { was: Kind::Shot })),
        (text(), number(1e9)).prop_map(|(t, x)| Body::Later {
            schema: SCHEMA + 3,
            body: serde_json::json!({ "wind": { "b": t, "a": [x, null, true] } }),
        }),
    ]
}

/// Records of few ids, devices and times, so that versions meet and tie.
pub fn record() -> impl Strategy<Value = Record> {
    (id(6), 0..4u64, 0..3u32, 0..3u128, body(), 0..4u8).prop_map(|(id, ms, counter, device, body, more)| {
        let stamp = Stamp { ms, counter, device: Uuid::from_u128(device) };
        let later = matches!(body, Body::Later { .. });
        let mut record = Record::new(Uuid::from_u128(1), id, stamp, body);
        if more == 0 && !later {
            let fields = serde_json::json!({ "wind_m_s": 1.5, "aaa": [null, "=x"], "zzz": { "b": 1, "a": ms } });
            record.more = fields.as_object().cloned().map(Box::new);
        }
        record
    })
}

/// A log of such records.
pub fn log() -> impl Strategy<Value = Log> {
    proptest::collection::vec(record(), 0..30).prop_map(Log::from_records)
}
