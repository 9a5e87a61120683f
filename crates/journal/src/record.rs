//! One version of one act, and how it is made and checked.

use std::cmp::Ordering;
use std::fmt;

use goldward_core::range::{OutOfRange, within};
use serde::de::{Error as _, MapAccess, Visitor};
use serde::ser::SerializeStruct as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::body::{Body, Deleted, Kind};
use crate::id::{RandomBytes, new_id};
use crate::stamp::{Hlc, LAST_MS, Stamp};

/// The schema of a record that needs no later one. Each record is written in the lowest schema that can express it, so that one
/// new field does not hide all new records from older apps.
pub const SCHEMA: u32 = 1;

/// The latest schema understood here; a record of a later one is kept and passed on untouched.
///
/// Schema 2 brought the `spot` of a shot, the weather of a note, and that fields which are not known are kept and handed on: a field that may be left
/// out needs no schema of its own any more.
pub const LATEST_SCHEMA: u32 = 2;

/// Fields of a body that are not known here, by name.
pub type More = serde_json::Map<String, serde_json::Value>;

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
    /// What it says besides, in fields of a later app: kept, handed on, and kept by an edit.
    pub more: Option<Box<More>>,
}

/// Why a record is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RecordError {
    /// A number that is none, or absurd.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
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
    /// A version.
    #[must_use]
    pub fn new(archer: Uuid, id: Uuid, stamp: Stamp, body: Body) -> Self {
        Self { id, archer, stamp, body, more: None }
    }

    /// A new version of this one that says `body`; what is not known here goes along, unless it is deleted or becomes another kind.
    #[must_use]
    pub fn edited(&self, stamp: Stamp, body: Body) -> Self {
        let more = self.more.clone().filter(|_| body.kind() == self.body.kind());
        Self { id: self.id, archer: self.archer, stamp, body, more }
    }

    /// The schema it is written in.
    #[must_use]
    pub fn schema(&self) -> u32 {
        match self.body {
            Body::Later { schema, .. } => schema,
            Body::Shot(ref shot) if shot.spot.is_some() => 2,
            Body::Mark(ref mark) if mark.arrows.is_some() => 2,
            Body::Note(ref note) if note.weather().iter().any(|(_, w)| w.is_some()) => 2,
            Body::Archer(ref a) if a.counted.is_some() => 2,
            Body::Kit(ref k) if k.habits.is_some() || k.bow.is_some() || k.level.is_some() => 2,
            Body::Session(ref s) if s.match_by.is_some() || s.opponent_arrow.is_some() => 2,
            Body::End(ref end) if end.their_points.is_some() || end.nearer.is_some() => 2,
            _ if self.more.is_some() => 2,
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
        if let Some(more) = &self.more {
            let bytes = serde_json::to_string(more).map_or(usize::MAX, |t| t.len());
            if bytes > LARGEST_LATER {
                return Err(RecordError::TooLong { field: "body", bytes });
            }
        }
        validate_body(&self.body)
    }
}

fn range(field: &'static str, value: f64, min: f64, max: f64) -> Result<(), RecordError> {
    within(field, value, "", min, max)?;
    Ok(())
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

/// Views go through the ends one by one, so their numbers have a limit.
fn place_in(field: &'static str, number: u32) -> Result<(), RecordError> {
    range(field, f64::from(number), 0.0, 10_000.0)
}

fn validate_body(body: &Body) -> Result<(), RecordError> {
    match body {
        Body::Archer(b) => text("name", &b.name),
        Body::Kit(b) => {
            text("name", &b.name)?;
            text("bow", b.bow.as_deref().unwrap_or_default())?;
            text("level", b.level.as_deref().unwrap_or_default())?;
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
            maybe("arrows", b.arrows.map(f64::from), 1.0, 10_000.0)?;
            time(Some(b.at_ms))
        }
        Body::Session(b) => {
            range("distance_m", b.distance_m, 1.0, 400.0)?;
            text("face", &b.face)?;
            text("round", b.round.as_deref().unwrap_or_default())?;
            range("sighting_ends", f64::from(b.sighting_ends), 0.0, 1000.0)?;
            range("ends", f64::from(b.ends), 0.0, 1000.0)?;
            range("shots_per_end", f64::from(b.shots_per_end), 1.0, 1000.0)?;
            text("match_by", b.match_by.as_deref().unwrap_or_default())?;
            maybe("opponent_arrow", b.opponent_arrow, 0.0, 100.0)?;
            time(Some(b.at_ms))
        }
        Body::End(b) => {
            place_in("end", b.end)?;
            maybe("their_points", b.their_points.map(f64::from), 0.0, 10_000.0)?;
            time(b.at_ms)
        }
        Body::Shot(b) => {
            place_in("end", b.end)?;
            place_in("index", b.index)?;
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
            maybe("spot", b.spot.map(f64::from), 1.0, 100.0)?;
            time(b.at_ms)
        }
        Body::Touch(b) => {
            place_in("after_end", b.after_end)?;
            place_in("after_index", b.after_index)?;
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
            b.weather().into_iter().try_for_each(|(field, word)| text(field, word.unwrap_or_default()))?;
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
            // From schema 2 on the fields stand in the order of their names: an app that knows fewer of them writes the same.
            body if self.schema() > SCHEMA => {
                out.serialize_field("body", &joined(body, self.more.as_deref()).map_err(serde::ser::Error::custom)?)?;
            }
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
                    Some(SCHEMA) => body = Some(map.next_value()?),
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
        let (body, more) = match (body, unread) {
            (Some(body), _) => (body, None),
            (None, Some(value)) if schema == SCHEMA => (read_body(&value).map_err(A::Error::custom)?, None),
            (None, Some(value)) if schema <= LATEST_SCHEMA => parted(schema, value).map_err(A::Error::custom)?,
            (None, Some(value)) => (Body::Later { schema, body: value }, None),
            (None, None) => return Err(A::Error::missing_field("body")),
        };
        let record = Record {
            more,
            id: id.ok_or_else(|| A::Error::missing_field("id"))?,
            archer: archer.ok_or_else(|| A::Error::missing_field("archer"))?,
            stamp: stamp.ok_or_else(|| A::Error::missing_field("stamp"))?,
            body,
        };
        if record.schema() != schema {
            let lower = record.schema();
            return Err(A::Error::custom(format!(
                "it says schema {schema}: write it in schema {lower}, which can express it"
            )));
        }
        Ok(record)
    }
}

/// Reads a body that lies there as JSON. By way of its text: a second reader for each kind of body would be a part of the app that
/// counts.
fn read_body(value: &serde_json::Value) -> serde_json::Result<Body> {
    serde_json::from_str(&serde_json::to_string(value)?)
}

/// A body with the fields that are not known here, all in the order of their names.
fn joined(body: &Body, more: Option<&More>) -> serde_json::Result<serde_json::Value> {
    let mut value: serde_json::Value = serde_json::from_str(&serde_json::to_string(body)?)?;
    if let Some(fields) = value.get_mut(body.kind().name()).and_then(serde_json::Value::as_object_mut) {
        fields.extend(more.into_iter().flatten().map(|(k, v)| (k.clone(), v.clone())));
    }
    Ok(value)
}

/// A body of a schema in which fields may stand that are not known here: those apart from the others.
fn parted(schema: u32, value: serde_json::Value) -> serde_json::Result<(Body, Option<Box<More>>)> {
    let mut known = value.clone();
    let kind = known.as_object().filter(|o| o.len() == 1).and_then(|o| o.keys().next().cloned());
    let kind = Kind::ALL.into_iter().find(|k| Some(k.name()) == kind.as_deref());
    // A kind that is not known here is kept as it is, too.
    let Some(kind) = kind else { return Ok((Body::Later { schema, body: value }, None)) };
    let mut more = More::new();
    if let Some(fields) = known.get_mut(kind.name()).and_then(serde_json::Value::as_object_mut) {
        for (name, field) in std::mem::take(fields) {
            if kind.fields().contains(&name.as_str()) {
                fields.insert(name, field);
            } else {
                more.insert(name, field);
            }
        }
    }
    let body = read_body(&known)?;
    let more = (!more.is_empty()).then(|| Box::new(more));
    if joined(&body, more.as_deref())? == value {
        Ok((body, more))
    } else {
        // Every device has to write the same, or their digests would differ for ever.
        Err(serde::de::Error::custom(
            "it is not written as every device would write it: no nulls, lengths with a full stop",
        ))
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

    /// Takes notice of the archer's own records in a log, so that what is written next is later than they.
    pub fn observe(&mut self, log: &crate::Log, now_ms: u64) {
        if let Some(stamp) = log.latest(self.archer) {
            self.clock.observe(stamp, now_ms);
        }
    }

    /// A new record. `random` is ten fresh random bytes.
    pub fn write(&mut self, now_ms: u64, random: RandomBytes, body: Body) -> Record {
        Record::new(self.archer, new_id(now_ms, random), self.clock.next(now_ms), body)
    }

    /// The record that says who the archer is: its id is the archer's.
    pub fn write_archer(&mut self, now_ms: u64, archer: crate::Archer) -> Record {
        Record::new(self.archer, self.archer, self.clock.next(now_ms), Body::Archer(archer))
    }

    /// A new version of `old` that says `body`.
    pub fn edit(&mut self, now_ms: u64, old: &Record, body: Body) -> Record {
        old.edited(self.clock.next_after(old.stamp, now_ms), body)
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
