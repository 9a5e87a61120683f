//! Reading the body of a sync, record by record: what is wrong with one is told of it alone, and none is unfolded in memory before
//! its size is known.

use goldward_journal::jsonl::LONGEST_LINE;
use goldward_journal::stamp::AHEAD_MS;
use goldward_journal::sync::{MOST_PULLED, MOST_PUSHED, Refusal, Refused};
use goldward_journal::{Record, Uuid};
use goldward_store::ops::Version;
use serde::Deserialize;
use serde::de::{Error as _, IgnoredAny, SeqAccess, Visitor};
use serde_json::value::RawValue;

/// A request as it was read.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Intake {
    /// Whose log.
    pub(crate) archer: Uuid,
    /// The number up to which the device has everything.
    pub(crate) after: u64,
    /// Most records wanted in the answer.
    pub(crate) limit: u32,
    /// How many versions were sent.
    pub(crate) sent: u32,
    /// Those that may be taken in.
    pub(crate) versions: Vec<Version>,
    /// Those that may not.
    pub(crate) refused: Vec<Refused>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Envelope<'a> {
    #[serde(rename = "schema")]
    _schema: u32,
    archer: Uuid,
    #[serde(default)]
    after: u64,
    #[serde(default = "most_pulled")]
    limit: u32,
    #[serde(borrow, default)]
    records: Option<&'a RawValue>,
}

fn most_pulled() -> u32 {
    MOST_PULLED
}

/// Reads a request.
///
/// # Errors
/// What is wrong with it as a whole, in words; nothing of it is to be taken in then.
pub(crate) fn read(body: &[u8], now_ms: u64) -> Result<Intake, String> {
    let not_understood = |e: serde_json::Error| format!("the request is not understood: {e}");
    let envelope: Envelope<'_> = serde_json::from_slice(body).map_err(not_understood)?;
    let mut intake = Intake {
        archer: envelope.archer,
        after: envelope.after,
        limit: envelope.limit.min(MOST_PULLED),
        sent: 0,
        versions: Vec::new(),
        refused: Vec::new(),
    };
    if let Some(records) = envelope.records {
        let each = Each { intake: &mut intake, now_ms };
        let mut reader = serde_json::Deserializer::from_str(records.get());
        serde::Deserializer::deserialize_seq(&mut reader, each).map_err(not_understood)?;
    }
    Ok(intake)
}

struct Each<'a> {
    intake: &'a mut Intake,
    now_ms: u64,
}

impl<'de> Visitor<'de> for Each<'_> {
    type Value = ();

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("an array of records")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        let Self { intake, now_ms } = self;
        while let Some(raw) = seq.next_element::<&RawValue>()? {
            let index = intake.sent;
            intake.sent += 1;
            if intake.sent as usize > MOST_PUSHED {
                return Err(A::Error::custom(format!("more than {MOST_PUSHED} records at once: send them in parts")));
            }
            match one(raw.get(), intake.archer, now_ms) {
                Ok(version) => intake.versions.push(version),
                Err((id, reason, message)) => intake.refused.push(Refused { index, id, reason, message }),
            }
        }
        Ok(())
    }
}

fn one(raw: &str, archer: Uuid, now_ms: u64) -> Result<Version, (Option<Uuid>, Refusal, String)> {
    if raw.len() > LONGEST_LINE {
        let message = format!("{} bytes are more than a record has: at most {LONGEST_LINE}", raw.len());
        return Err((id_of(raw), Refusal::NotARecord, message));
    }
    let record: Record = serde_json::from_str(raw)
        .map_err(|e| (id_of(raw), Refusal::NotARecord, format!("it is no record: {}", within(&e.to_string()))))?;
    let refuse = |reason, message| Err((Some(record.id), reason, message));
    if record.archer != archer {
        return refuse(Refusal::OtherArcher, "it is of another archer: send it with that archer's log".to_owned());
    }
    if let Err(e) = record.validate() {
        return refuse(Refusal::Invalid, within(&e.to_string()));
    }
    if record.stamp.is_ahead(now_ms) {
        let days = (record.stamp.ms - now_ms) / AHEAD_MS;
        let message = format!(
            "its stamp is {days} days ahead of the server's clock: set the clock of the device right, then change the record once \
             more so that it is stamped anew"
        );
        return refuse(Refusal::Ahead, message);
    }
    Ok(Version::from(&record))
}

/// A message that quotes what was sent, cut.
fn within(message: &str) -> String {
    const MOST: usize = 300;
    match message.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}…", &message[..at]),
        None => message.to_owned(),
    }
}

/// The id of what may be no record otherwise.
fn id_of(raw: &str) -> Option<Uuid> {
    struct Id;
    impl<'de> Visitor<'de> for Id {
        type Value = Option<Uuid>;

        fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            f.write_str("an object")
        }

        fn visit_map<A: serde::de::MapAccess<'de>>(self, mut map: A) -> Result<Option<Uuid>, A::Error> {
            let mut id = None;
            while let Some(key) = map.next_key::<std::borrow::Cow<'_, str>>()? {
                if key == "id" {
                    id = map.next_value::<&RawValue>()?.get().trim_matches('"').parse().ok();
                } else {
                    map.next_value::<IgnoredAny>()?;
                }
            }
            Ok(id)
        }
    }
    let mut reader = serde_json::Deserializer::from_str(raw);
    serde::Deserializer::deserialize_map(&mut reader, Id).ok().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_journal::{Body, Note, Stamp, id::new_id};

    const NOW: u64 = 1_760_000_000_000;

    fn note(n: u8, ms: u64, text: &str) -> Record {
        let body = Body::Note(Note { about: None, text: text.to_owned(), at_ms: NOW, ..Note::default() });
        let stamp = Stamp { ms, counter: 0, device: Uuid::from_u128(7) };
        Record::new(Uuid::from_u128(1), new_id(NOW, [n; 10]), stamp, body)
    }

    fn request(records: &[String]) -> Vec<u8> {
        let archer = Uuid::from_u128(1);
        format!("{{\"schema\":1,\"archer\":\"{archer}\",\"after\":3,\"records\":[{}]}}", records.join(",")).into_bytes()
    }

    #[test]
    fn what_is_wrong_with_one_record_is_told_of_it_alone() {
        let good = [note(1, NOW, "first"), note(2, NOW + AHEAD_MS, "a day ahead")];
        let ahead = note(3, NOW + AHEAD_MS + 1, "more than a day ahead");
        let far = note(4, 253_402_300_799_999, "the year 9999");
        let long = note(5, NOW, &"x".repeat(5000));
        let other = Record { archer: Uuid::from_u128(2), ..note(6, NOW, "another's") };
        let large = format!("{{\"id\":\"{}\",\"x\":\"{}\"}}", long.id, "y".repeat(LONGEST_LINE));
        let mut records: Vec<String> = [&good[0], &ahead, &far, &long, &other].map(Record::to_json).to_vec();
        records.extend([large, "7".to_owned(), "{\"id\":\"no\"}".to_owned(), good[1].to_json()]);
        let intake = read(&request(&records), NOW).unwrap();
        assert_eq!((intake.after, intake.limit, intake.sent), (3, MOST_PULLED, 9));
        assert_eq!(intake.versions, good.iter().map(Version::from).collect::<Vec<_>>());
        let told: Vec<_> = intake.refused.iter().map(|r| (r.index, r.id, r.reason)).collect();
        let expected = [
            (1, Some(ahead.id), Refusal::Ahead),
            (2, Some(far.id), Refusal::Ahead),
            (3, Some(long.id), Refusal::Invalid),
            (4, Some(other.id), Refusal::OtherArcher),
            (5, Some(long.id), Refusal::NotARecord),
            (6, None, Refusal::NotARecord),
            (7, None, Refusal::NotARecord),
        ];
        assert_eq!(told, expected);
        assert!(intake.refused.iter().all(|r| r.message.len() < 400), "{:?}", intake.refused);
    }

    #[test]
    fn too_many_and_nonsense_are_refused_as_a_whole() {
        let many = vec!["0".to_owned(); MOST_PUSHED + 1];
        assert!(read(&request(&many), NOW).unwrap_err().contains("at once"));
        for nonsense in [b"".as_slice(), b"{", b"[]", b"{\"schema\":1}", b"\xff\xfe"] {
            assert!(read(nonsense, NOW).is_err());
        }
        // Deep nesting ends no thread.
        let deep = "[".repeat(1_000_000);
        assert!(read(&request(&[deep]), NOW).is_err());
        let deep = format!("{}{}", "[".repeat(30_000), "]".repeat(30_000));
        assert_eq!(read(&request(&[deep]), NOW).unwrap().refused.len(), 1);
    }

    #[test]
    fn a_record_of_a_later_schema_is_kept_as_it_is() {
        let record = r#"{"schema":9,"id":"01890a5d-ac96-774b-bcce-b302099a8057","archer":"00000000-0000-0000-0000-000000000001","stamp":{"ms":5,"counter":0,"device":"00000000-0000-0000-0000-000000000007"},"body":{"hologram":{"depth":[1,2,3]}}}"#;
        let intake = read(&request(&[record.to_owned()]), NOW).unwrap();
        assert_eq!(intake.versions[0].json, record);
    }
}
