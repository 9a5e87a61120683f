//! What is written reads back identically, and no input makes the readers fall over.

mod common;

use common::{log, record};
use goldward_journal::*;
use proptest::prelude::*;

proptest! {
    #[test]
    fn json_lines_read_back_identically(log in log()) {
        let text = jsonl::write(&log);
        let back = jsonl::read(&text).map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
        prop_assert_eq!(&back, &log);
        prop_assert_eq!(jsonl::write(&back), text);
    }

    #[test]
    fn csv_reads_back_identically(log in log()) {
        let text = table::write(&log);
        let back = table::read(&text).map_err(|e| TestCaseError::fail(format!("{e:?}\n{text}")))?;
        prop_assert_eq!(jsonl::write(&back), jsonl::write(&log));
        prop_assert_eq!(table::write(&back), text);
    }

    #[test]
    fn a_record_reads_back_whatever_the_order_of_its_keys(r in record()) {
        let json = r.to_json();
        prop_assert_eq!(&serde_json::from_str::<Record>(&json).unwrap(), &r);
        // A map of serde_json sorts its keys, so that the body comes before the schema.
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        prop_assert_eq!(&serde_json::from_str::<Record>(&value.to_string()).unwrap(), &r);
        prop_assert_eq!(&serde_json::from_value::<Record>(value).unwrap(), &r);
    }

    #[test]
    fn no_text_makes_a_reader_fall_over(text in any::<String>(), cut in 0..2000usize, log in log()) {
        let _ = jsonl::read(&text);
        let _ = table::read(&text);
        let mut writer = Writer::new(Uuid::nil(), Uuid::nil());
        let _ = plain::read_scores(&text, &mut writer, 0);
        let _ = plain::read_scores(&format!("date,distance,face,shots,points\n{text}"), &mut writer, 0);
        for whole in [jsonl::write(&log), table::write(&log)] {
            let mut end = cut.min(whole.len());
            while !whole.is_char_boundary(end) {
                end -= 1;
            }
            let broken = format!("{}{text}{}", &whole[..end], &whole[end..]);
            let _ = jsonl::read(&broken);
            let _ = table::read(&broken);
        }
    }
}

/// A request of a sync with a hole, a doubled part or strange bytes in it.
fn broken_request() -> impl Strategy<Value = Vec<u8>> {
    let bytes = proptest::collection::vec(any::<u8>(), 0..12);
    (log(), any::<(u16, u16, u16)>(), bytes).prop_map(|(log, (from, to, at), bytes)| {
        let records = log.sorted().into_iter().cloned().collect();
        let archer = Uuid::from_u128(1);
        let request = sync::SyncRequest { schema: 1, archer, after: 7, limit: 9, records };
        let whole = serde_json::to_vec(&request).unwrap();
        let place = |n: u16| usize::from(n) * whole.len() / 65_536;
        let (from, to, at) = (place(from), place(to), place(at));
        let mut broken = whole[..from].to_vec();
        broken.extend(&bytes);
        broken.extend(&whole[if bytes.len() > 6 { from } else { to }..]);
        broken.truncate(at.max(broken.len() / 2));
        broken
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_bytes_make_the_wire_decoder_fall_over(bytes in proptest::collection::vec(any::<u8>(), 0..300), broken in broken_request()) {
        for body in [bytes, broken] {
            if let Ok(request) = sync::SyncRequest::read(&body) {
                let again = serde_json::to_vec(&request).unwrap();
                prop_assert_eq!(sync::SyncRequest::read(&again).unwrap(), request);
            }
        }
    }
}

#[test]
fn errors_name_the_line_and_nothing_is_taken_in() {
    let errors = jsonl::read("{\"format\":\"goldward-log\",\"schema\":1}\n{}\n\nnonsense\n").unwrap_err();
    assert_eq!(errors.iter().map(|e| e.line).collect::<Vec<_>>(), [2, 4]);
    assert!(jsonl::read("{\"format\":\"other\",\"schema\":1}\n").is_err());
    let error = table::read("schema,id\n").unwrap_err();
    assert!(error[0].what.to_string().contains("archer is missing"), "{error:?}");
    let unknown = r#"{"schema":1,"id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f","archer":"00000000-0000-0000-0000-000000000001","stamp":{"ms":1,"counter":0,"device":"00000000-0000-0000-0000-000000000001"},"body":{"note":{"text":"x","at_ms":1,"mood":2}}}"#;
    assert!(jsonl::read(unknown).unwrap_err()[0].what.to_string().contains("mood"));
    let later = unknown.replacen("\"schema\":1", "\"schema\":3", 1);
    let log = jsonl::read(&later).unwrap();
    assert!(jsonl::write(&log).contains("\"mood\":2"), "a later schema passes through untouched");
}

/// A record as a later app writes it: two fields that are not known here, one of them a spot.
const LATER_FIELDS: &str = r#"{"schema":2,"id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f","archer":"00000000-0000-0000-0000-000000000001","stamp":{"ms":1,"counter":0,"device":"00000000-0000-0000-0000-000000000001"},"body":{"shot":{"call":"X","end":1,"index":2,"session":"017f22e2-79b0-7cc3-98c4-dc0c0c07398e","spot":3,"wind_m_s":2.5}}}"#;

#[test]
fn a_record_is_written_in_the_lowest_schema_and_what_is_not_known_is_handed_on() {
    let record = jsonl::read_line(LATER_FIELDS).unwrap();
    let Body::Shot(shot) = &record.body else { panic!("{record:?}") };
    assert_eq!((shot.spot, shot.end, record.schema()), (Some(3), 1, 2));
    assert_eq!(record.to_json(), LATER_FIELDS, "handed on to the byte");
    // By way of CSV too.
    let log = Log::from_records([record.clone()]);
    let table = table::write(&log);
    assert!(table.lines().next().unwrap().ends_with(",spot,more_json"), "{table}");
    assert_eq!(table::read(&table).unwrap(), log);
    assert!(jsonl::write(&log).starts_with("{\"format\":\"goldward-log\",\"schema\":2}"));
    // An edit keeps it, a tombstone does not.
    let mut writer = Writer::new(record.archer, Uuid::from_u128(2));
    let edited = writer.edit(9, &record, Body::Shot(Shot { felt: Some(Felt::Bad), ..shot.clone() }));
    assert!(edited.to_json().contains("\"wind_m_s\":2.5"));
    assert_eq!(writer.delete(9, &record).more, None);
    // Without the two it is of schema 1, with the fields where they always stood, and without new columns.
    let plain = Record { more: None, ..edited.edited(edited.stamp, Body::Shot(Shot { spot: None, ..shot.clone() })) };
    assert!(plain.to_json().starts_with("{\"schema\":1,") && plain.to_json().contains("{\"shot\":{\"session\":"));
    assert!(!table::write(&Log::from_records([plain])).contains("spot"));
}

#[test]
fn what_two_apps_would_write_differently_is_refused() {
    for (from, to, what) in [
        // It says a higher schema than it needs.
        (",\"spot\":3,\"wind_m_s\":2.5", "", "schema 1"),
        ("\"spot\":3", "\"spot\":null", "as every device would write it"),
        ("\"schema\":2", "\"schema\":1", "spot"),
    ] {
        let error = jsonl::read_line(&LATER_FIELDS.replacen(from, to, 1)).unwrap_err().to_string();
        assert!(error.contains(what) || what == "spot", "{from}: {error}");
    }
    // A kind that is not known, and a schema that is not, are kept as they are.
    for (from, to) in [("\"shot\"", "\"breath\""), ("\"schema\":2", "\"schema\":9")] {
        let text = LATER_FIELDS.replacen(from, to, 1);
        let record = jsonl::read_line(&text).unwrap();
        assert_eq!((record.body.kind(), record.to_json()), (Kind::Later, text));
    }
}
