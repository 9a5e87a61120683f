//! One version of one act, and how it is made and checked.

use std::cmp::Ordering;
use std::fmt;

use serde::de::{Error as _, MapAccess, Visitor};
use serde::ser::SerializeStruct as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::body::{Body, Deleted};
use crate::id::{RandomBytes, new_id};
use crate::stamp::{Hlc, LAST_MS, Stamp};

/// Number of the wire format written here. A record of a later schema is kept and passed on untouched.
pub const SCHEMA: u32 = 1;

/// Longest text of a record, in bytes.
pub const LONGEST_TEXT: usize = 4000;

/// Largest body of a later schema, in bytes of JSON.
const LARGEST_LATER: usize = 16_384;

/// One version of one act.
///
/// On the wire: `{"schema":1,"id":...,"archer":...,"stamp":{"ms":..,"counter":..,"device":...},"body":{"shot":{...}}}`.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Which act: the same for all its versions.
    pub id: Uuid,
    /// Whose log it belongs to.
    pub archer: Uuid,
    /// When this version was written.
    pub stamp: Stamp,
    /// What it says.
    pub body: Body,
}

/// Why a record is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RecordError {
    /// A number that is none, or absurd.
    #[error("{field} is {value}: it must lie between {min} and {max}")]
    OutOfRange {
        /// The field.
        field: &'static str,
        /// As given.
        value: f64,
        /// Smallest accepted.
        min: f64,
        /// Largest accepted.
        max: f64,
    },
    /// A text that is too long.
    #[error("{field} has {bytes} bytes: at most {LONGEST_TEXT} are kept")]
    TooLong {
        /// The field.
        field: &'static str,
        /// Its length.
        bytes: usize,
    },
    /// A shot with neither position nor call, with both, or with half a position.
    #[error("a shot has both x_mm and y_mm, or a call, and not both: write one of the two")]
    Place,
    /// A call that cannot be read.
    #[error("the call cannot be read: {0}")]
    Call(#[from] goldward_core::shot::CallError),
    /// An id of another version than 7.
    #[error("{0} is not an id: ids are UUIDs of version 7")]
    Id(Uuid),
}

impl Record {
    /// The schema it is written in.
    #[must_use]
    pub fn schema(&self) -> u32 {
        match self.body {
            Body::Later { schema, .. } => schema,
            _ => SCHEMA,
        }
    }

    /// Whether it is a tombstone.
    #[must_use]
    pub fn is_deleted(&self) -> bool {
        matches!(self.body, Body::Deleted(_))
    }

    /// The first 16 bytes of the SHA-256 of its wire form: tells versions apart.
    #[must_use]
    pub fn hash(&self) -> u128 {
        self.hash_of(&self.to_json())
    }

    /// [`Record::hash`] when its wire form is at hand.
    #[must_use]
    pub fn hash_of(&self, json: &str) -> u128 {
        let digest = Sha256::digest(json.as_bytes());
        let mut first = [0; 16];
        first.copy_from_slice(&digest[..16]);
        u128::from_be_bytes(first)
    }

    /// Its wire form: one line of JSON, always the same for the same version.
    #[must_use]
    pub fn to_json(&self) -> String {
        serde_json::to_string(self).unwrap_or_else(|_| unreachable!("a record has text keys and no map but JSON's"))
    }

    /// Which of two versions wins: the one with the later stamp, and of equal stamps the one with the greater hash.
    #[must_use]
    pub fn compare_versions(&self, other: &Self) -> Ordering {
        self.stamp
            .cmp(&other.stamp)
            .then_with(|| if self == other { Ordering::Equal } else { self.hash().cmp(&other.hash()) })
    }

    /// Refuses what no device of ours would write: numbers that are none, texts without end, shots without a place.
    ///
    /// # Errors
    /// [`RecordError`].
    pub fn validate(&self) -> Result<(), RecordError> {
        if self.id.get_version_num() != 7 {
            return Err(RecordError::Id(self.id));
        }
        range("stamp.ms", self.stamp.ms as f64, 0.0, LAST_MS as f64)?;
        validate_body(&self.body)
    }
}

fn range(field: &'static str, value: f64, min: f64, max: f64) -> Result<(), RecordError> {
    if value.is_finite() && (min..=max).contains(&value) {
        Ok(())
    } else {
        Err(RecordError::OutOfRange { field, value, min, max })
    }
}

fn maybe(field: &'static str, value: Option<f64>, min: f64, max: f64) -> Result<(), RecordError> {
    value.map_or(Ok(()), |v| range(field, v, min, max))
}

fn text(field: &'static str, value: &str) -> Result<(), RecordError> {
    if value.len() <= LONGEST_TEXT { Ok(()) } else { Err(RecordError::TooLong { field, bytes: value.len() }) }
}

fn time(at_ms: Option<u64>) -> Result<(), RecordError> {
    at_ms.map_or(Ok(()), |t| range("at_ms", t as f64, 0.0, LAST_MS as f64))
}

const ANY: f64 = 100_000.0;

fn validate_body(body: &Body) -> Result<(), RecordError> {
    match body {
        Body::Archer(b) => text("name", &b.name),
        Body::Kit(b) => {
            text("name", &b.name)?;
            time(b.verified_at_ms)?;
            for (field, value, min, max) in [
                ("shaft_mm", b.shaft_mm, 0.0, 30.0),
                ("eye_to_pin_mm", b.eye_to_pin_mm, 100.0, 3000.0),
                ("click_windage_mm", b.click_windage_mm, 0.001, 20.0),
                ("click_elevation_mm", b.click_elevation_mm, 0.001, 20.0),
                ("setting_sd_mm", b.setting_sd_mm, 0.0, 20.0),
                ("windage_reading", b.windage_reading, -ANY, ANY),
                ("windage_unit_mm", b.windage_unit_mm, 0.001, 1000.0),
                ("elevation_reading", b.elevation_reading, -ANY, ANY),
                ("elevation_unit_mm", b.elevation_unit_mm, 0.001, 1000.0),
                ("spread_mrad", b.spread_mrad, 0.01, 100.0),
                ("worth", b.worth, 0.1, 10_000.0),
                ("trust", b.trust, 0.0001, 10_000.0),
                ("touch_cost_points", b.touch_cost_points, 0.0, 10_000.0),
                ("eye_above_arrow_mm", b.eye_above_arrow_mm, -1000.0, 1000.0),
                ("arrow_mass_g", b.arrow_mass_g, 1.0, 500.0),
                ("arrow_speed_m_s", b.arrow_speed_m_s, 10.0, 200.0),
            ] {
                maybe(field, value, min, max)?;
            }
            Ok(())
        }
        Body::Arrow(b) => text("name", &b.name),
        Body::Mark(b) => {
            range("distance_m", b.distance_m, 1.0, 400.0)?;
            range("elevation_reading", b.elevation_reading, -ANY, ANY)?;
            maybe("windage_reading", b.windage_reading, -ANY, ANY)?;
            maybe("reading_sd", b.reading_sd, 0.0, ANY)?;
            maybe("slope_deg", b.slope_deg, -90.0, 90.0)?;
            time(Some(b.at_ms))
        }
        Body::Session(b) => {
            range("distance_m", b.distance_m, 1.0, 400.0)?;
            text("face", &b.face)?;
            text("round", b.round.as_deref().unwrap_or_default())?;
            range("sighting_ends", f64::from(b.sighting_ends), 0.0, 1000.0)?;
            range("ends", f64::from(b.ends), 0.0, 1000.0)?;
            range("shots_per_end", f64::from(b.shots_per_end), 1.0, 1000.0)?;
            time(Some(b.at_ms))
        }
        Body::End(b) => time(b.at_ms),
        Body::Shot(b) => {
            match (b.x_mm, b.y_mm, &b.call) {
                (Some(x), Some(y), None) => {
                    range("x_mm", x, -ANY, ANY)?;
                    range("y_mm", y, -ANY, ANY)?;
                }
                (None, None, Some(call)) => {
                    call.parse::<goldward_core::shot::Call>()?;
                }
                _ => return Err(RecordError::Place),
            }
            text("arrow", b.arrow.as_deref().unwrap_or_default())?;
            time(b.at_ms)
        }
        Body::Touch(b) => {
            range("right_mm", b.right_mm, -200.0, 200.0)?;
            range("up_mm", b.up_mm, -200.0, 200.0)?;
            maybe("advised_right_mm", b.advised_right_mm, -200.0, 200.0)?;
            maybe("advised_up_mm", b.advised_up_mm, -200.0, 200.0)?;
            time(b.at_ms)
        }
        Body::Score(b) => {
            range("distance_m", b.distance_m, 1.0, 400.0)?;
            text("face", &b.face)?;
            text("round", b.round.as_deref().unwrap_or_default())?;
            range("shots", f64::from(b.shots), 1.0, ANY)?;
            range("points", f64::from(b.points), 0.0, 100.0 * ANY)?;
            time(Some(b.at_ms))
        }
        Body::Note(b) => {
            text("text", &b.text)?;
            time(Some(b.at_ms))
        }
        Body::Deleted(_) => Ok(()),
        Body::Later { body, .. } => {
            let bytes = body.to_string().len();
            if bytes <= LARGEST_LATER { Ok(()) } else { Err(RecordError::TooLong { field: "body", bytes }) }
        }
    }
}

impl Serialize for Record {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut out = serializer.serialize_struct("Record", 5)?;
        out.serialize_field("schema", &self.schema())?;
        out.serialize_field("id", &self.id)?;
        out.serialize_field("archer", &self.archer)?;
        out.serialize_field("stamp", &self.stamp)?;
        match &self.body {
            Body::Later { body, .. } => out.serialize_field("body", body)?,
            body => out.serialize_field("body", body)?,
        }
        out.end()
    }
}

impl<'de> Deserialize<'de> for Record {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_struct("Record", &["schema", "id", "archer", "stamp", "body"], RecordVisitor)
    }
}

struct RecordVisitor;

impl<'de> Visitor<'de> for RecordVisitor {
    type Value = Record;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a record: an object with schema, id, archer, stamp and body")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Record, A::Error> {
        let (mut schema, mut id, mut archer, mut stamp) = (None::<u32>, None, None, None);
        let (mut body, mut unread) = (None::<Body>, None::<serde_json::Value>);
        while let Some(key) = map.next_key::<std::borrow::Cow<'_, str>>()? {
            match key.as_ref() {
                "schema" if schema.is_none() => schema = Some(map.next_value()?),
                "id" if id.is_none() => id = Some(map.next_value()?),
                "archer" if archer.is_none() => archer = Some(map.next_value()?),
                "stamp" if stamp.is_none() => stamp = Some(map.next_value()?),
                // We write the schema first, so the body is usually read straight into its type.
                "body" if body.is_none() && unread.is_none() => match schema {
                    Some(s) if s <= SCHEMA => body = Some(map.next_value()?),
                    _ => unread = Some(map.next_value()?),
                },
                other => {
                    return Err(A::Error::custom(format!(
                        "unexpected or repeated key `{other}`: a record has schema, id, archer, stamp and body, once each"
                    )));
                }
            }
        }
        let schema = schema.ok_or_else(|| A::Error::missing_field("schema"))?;
        if schema == 0 {
            return Err(A::Error::custom("schema 0 is none: schemas count from 1"));
        }
        let body = match (body, unread) {
            (Some(body), _) => body,
            (None, Some(value)) if schema <= SCHEMA => serde_json::from_value(value).map_err(A::Error::custom)?,
            (None, Some(value)) => Body::Later { schema, body: value },
            (None, None) => return Err(A::Error::missing_field("body")),
        };
        Ok(Record {
            id: id.ok_or_else(|| A::Error::missing_field("id"))?,
            archer: archer.ok_or_else(|| A::Error::missing_field("archer"))?,
            stamp: stamp.ok_or_else(|| A::Error::missing_field("stamp"))?,
            body,
        })
    }
}

/// Makes the records of one archer on one device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Writer {
    /// The archer.
    pub archer: Uuid,
    /// The device's clock.
    pub clock: Hlc,
}

impl Writer {
    /// A writer on `device` for `archer` that has seen nothing; see [`Writer::observe`].
    #[must_use]
    pub fn new(archer: Uuid, device: Uuid) -> Self {
        Self { archer, clock: Hlc::new(device) }
    }

    /// Takes notice of all records of a log, so that what is written next is later than they.
    pub fn observe(&mut self, log: &crate::Log) {
        if let Some(stamp) = log.latest() {
            self.clock.observe(stamp);
        }
    }

    /// A new record. `random` is ten fresh random bytes.
    pub fn write(&mut self, now_ms: u64, random: RandomBytes, body: Body) -> Record {
        Record { id: new_id(now_ms, random), archer: self.archer, stamp: self.clock.next(now_ms), body }
    }

    /// The record that says who the archer is: its id is the archer's.
    pub fn write_archer(&mut self, now_ms: u64, archer: crate::Archer) -> Record {
        Record { id: self.archer, archer: self.archer, stamp: self.clock.next(now_ms), body: Body::Archer(archer) }
    }

    /// A new version of `old` that says `body`.
    pub fn edit(&mut self, now_ms: u64, old: &Record, body: Body) -> Record {
        self.clock.observe(old.stamp);
        Record { id: old.id, archer: old.archer, stamp: self.clock.next(now_ms), body }
    }

    /// A tombstone for `old`.
    pub fn delete(&mut self, now_ms: u64, old: &Record) -> Record {
        let was = match &old.body {
            Body::Deleted(d) => d.was,
            body => body.kind(),
        };
        self.edit(now_ms, old, Body::Deleted(Deleted { was }))
    }
}
