//! What a record says. All bodies are flat, with units in their names, so that one row of a table holds one record.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Which hand draws the bow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hand {
    /// The right hand draws.
    Right,
    /// The left hand draws.
    Left,
}

/// What the archer said of a shot before looking.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Felt {
    /// It felt like a bad shot.
    Bad,
    /// It felt like a good one.
    Good,
}

/// How the number of a mark is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Proven {
    /// A guess, or from another bow.
    Guessed,
    /// Predicted from other marks.
    Predicted,
    /// Shot and found right.
    Shot,
}

/// Who the log belongs to. Its record has the archer's id as its own.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Archer {
    /// Name, as the archer wants to be called.
    pub name: String,
    /// Which hand draws.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hand: Option<Hand>,
    /// Whether the club may count this archer where it makes out what is usual; nobody is counted who has not said so. Since schema 2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted: Option<bool>,
}

/// A kit: bow, sight and arrows as they are used together; the keys of the kit file and a name.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Kit {
    /// Its name.
    pub name: String,
    /// Which hand draws.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hand: Option<Hand>,
    /// Diameter of the shaft, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_mm: Option<f64>,
    /// From eye to pin at full draw, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eye_to_pin_mm: Option<f64>,
    /// How far a click of windage moves the pin, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub click_windage_mm: Option<f64>,
    /// How far a click of elevation moves the pin, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub click_elevation_mm: Option<f64>,
    /// How far off a setting usually is at the pin, one standard deviation an axis, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting_sd_mm: Option<f64>,
    /// Whether the number of the windage scale grows when the pin goes right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub windage_grows_right: Option<bool>,
    /// What the windage scale reads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub windage_reading: Option<f64>,
    /// Millimetres of the pin for 1 on the windage scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub windage_unit_mm: Option<f64>,
    /// Whether the number of the elevation scale grows when the pin goes up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_grows_up: Option<bool>,
    /// What the elevation scale reads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_reading: Option<f64>,
    /// Millimetres of the pin for 1 on the elevation scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_unit_mm: Option<f64>,
    /// Usual spread as the archer told it, in milliradians.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread_mrad: Option<f64>,
    /// How many arrows that spread is worth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worth: Option<f64>,
    /// How many arrows the present setting is worth, when the archer says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trust: Option<f64>,
    /// Points that a touch must gain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub touch_cost_points: Option<f64>,
    /// Height of the eye above the arrow at full draw, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eye_above_arrow_mm: Option<f64>,
    /// Mass of an arrow, in grams.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrow_mass_g: Option<f64>,
    /// Arrow speed, in metres a second.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrow_speed_m_s: Option<f64>,
    /// When it was last verified that this is how the sight stands, in milliseconds since 1970 UTC.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verified_at_ms: Option<u64>,
    /// Whether the archer's own habits, as the log tells them, are used; they are unless told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub habits: Option<bool>,
    /// What kind of bow it is: `recurve`, `compound`, `barebow` or `longbow`. Since schema 2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow: Option<String>,
    /// How well the archer shoots with it: `beginner`, `club` or `strong`. Since schema 2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<String>,
}

/// One arrow of a kit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Arrow {
    /// The kit it belongs to.
    pub kit: Uuid,
    /// Its number or name, as shots tell it.
    pub name: String,
    /// Whether it is no longer shot.
    #[serde(default)]
    pub retired: bool,
}

/// A sight mark: the scale reading for a distance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// The kit it belongs to.
    pub kit: Uuid,
    /// Distance, in metres.
    pub distance_m: f64,
    /// The number on the elevation scale.
    pub elevation_reading: f64,
    /// The number on the windage scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub windage_reading: Option<f64>,
    /// Standard deviation of the elevation reading, in units of the scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_sd: Option<f64>,
    /// How it is known.
    pub proven: Proven,
    /// When it was found, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// Slope it was found on, upwards positive, in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope_deg: Option<f64>,
    /// With how many arrows it was shot. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arrows: Option<u32>,
}

/// A session at one distance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Session {
    /// When it began, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// Distance, in metres.
    pub distance_m: f64,
    /// Name of the face, as `core` knows it.
    pub face: String,
    /// Name of the round, or of the practice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<String>,
    /// The kit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kit: Option<Uuid>,
    /// The mark that was set at the beginning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<Uuid>,
    /// Sighting ends, before those that count.
    pub sighting_ends: u32,
    /// Ends that count.
    pub ends: u32,
    /// Shots an end.
    pub shots_per_end: u32,
    /// How the setting at the beginning was known; stands above what the mark says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proven: Option<Proven>,
    /// A match, and what decides it: `sets` or `total`. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub match_by: Option<String>,
    /// The average arrow of the other archer in a match. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opponent_arrow: Option<f64>,
}

/// An end that is over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct End {
    /// The session.
    pub session: Uuid,
    /// Number of the end, from 1, sighting ends included.
    pub end: u32,
    /// When it ended, in milliseconds since 1970 UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<u64>,
    /// Points as written on the card, when they were.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card_points: Option<u32>,
    /// Points of the other archer in this end of a match. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub their_points: Option<u32>,
    /// Of a single arrow each that decides a match, shot in an end of its own after the last: whether the archer's was nearer, as the judge said. Since
    /// schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nearer: Option<bool>,
}

/// One shot, in the face frame of the setting it was shot with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shot {
    /// The session.
    pub session: Uuid,
    /// Number of the end, from 1, sighting ends included.
    pub end: u32,
    /// Number of the shot within the end, from 1.
    pub index: u32,
    /// Right of the centre of the spot aimed at, in millimetres; together with `y_mm`, or else a `call`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub x_mm: Option<f64>,
    /// Above the centre, in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub y_mm: Option<f64>,
    /// Ring and clock, such as `9@4:30`, `X` or `M`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call: Option<String>,
    /// What the archer felt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub felt: Option<Felt>,
    /// Number or name of the arrow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arrow: Option<String>,
    /// Number of the spot aimed at on a face of several, from 1 in the order in which the face lists them. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<u32>,
    /// When, in milliseconds since 1970 UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<u64>,
}

/// One act of moving the sight, after the shot `after_index` of the end `after_end` (0 and 0: before the first).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Touch {
    /// The session.
    pub session: Uuid,
    /// End of the shot it came after.
    pub after_end: u32,
    /// Number within its end of the shot it came after; 0 is before the first shot of the end.
    pub after_index: u32,
    /// How far the pin was moved right as seen, in millimetres at the pin, as made.
    pub right_mm: f64,
    /// How far the pin was moved up, in millimetres at the pin, as made.
    pub up_mm: f64,
    /// What was advised, when it was: right.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub advised_right_mm: Option<f64>,
    /// What was advised, when it was: up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub advised_up_mm: Option<f64>,
    /// When, in milliseconds since 1970 UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<u64>,
}

/// A score of which the shots are not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Score {
    /// When it was shot, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// Distance, in metres.
    pub distance_m: f64,
    /// Name of the face.
    pub face: String,
    /// Arrows that counted.
    pub shots: u32,
    /// Points.
    pub points: u32,
    /// Name of the round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<String>,
    /// The kit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kit: Option<Uuid>,
}

/// A remark; of a session also what wind and light were like.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// The record it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<Uuid>,
    /// What is remarked.
    pub text: String,
    /// What the wind was like, in a word such as `calm`. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wind: Option<String>,
    /// Where it came from as the archer stands, such as `left`. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wind_from: Option<String>,
    /// What the light was like, such as `bright`. Since schema 2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<String>,
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
}

impl Note {
    /// What it says of the weather, by field.
    #[must_use]
    pub fn weather(&self) -> [(&'static str, Option<&str>); 3] {
        let Self { wind, wind_from, light, .. } = self;
        [("wind", wind), ("wind_from", wind_from), ("light", light)].map(|(field, word)| (field, word.as_deref()))
    }
}

/// What a tombstone says: only what kind of record it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Deleted {
    /// The kind.
    pub was: Kind,
}

/// What a record says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Body {
    /// Who the log belongs to.
    Archer(Archer),
    /// A kit.
    Kit(Box<Kit>),
    /// An arrow of a kit.
    Arrow(Arrow),
    /// A sight mark.
    Mark(Mark),
    /// A session.
    Session(Session),
    /// An end that is over.
    End(End),
    /// A shot.
    Shot(Shot),
    /// A touch.
    Touch(Touch),
    /// A score alone.
    Score(Score),
    /// A remark.
    Note(Note),
    /// The record was deleted.
    Deleted(Deleted),
    /// Written by a later Goldward: kept and passed on as it is, but not understood here.
    #[serde(skip)]
    Later {
        /// Its schema.
        schema: u32,
        /// Its body.
        body: serde_json::Value,
    },
}

/// The kinds of record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// [`Archer`].
    Archer,
    /// [`Kit`].
    Kit,
    /// [`Arrow`].
    Arrow,
    /// [`Mark`].
    Mark,
    /// [`Session`].
    Session,
    /// [`End`].
    End,
    /// [`Shot`].
    Shot,
    /// [`Touch`].
    Touch,
    /// [`Score`].
    Score,
    /// [`Note`].
    Note,
    /// [`Deleted`].
    Deleted,
    /// [`Body::Later`].
    Later,
}

impl Kind {
    /// The fields that a body of this kind has.
    #[must_use]
    pub fn fields(self) -> &'static [&'static str] {
        match self {
            Self::Archer => fields_of::<Archer>(),
            Self::Kit => fields_of::<Kit>(),
            Self::Arrow => fields_of::<Arrow>(),
            Self::Mark => fields_of::<Mark>(),
            Self::Session => fields_of::<Session>(),
            Self::End => fields_of::<End>(),
            Self::Shot => fields_of::<Shot>(),
            Self::Touch => fields_of::<Touch>(),
            Self::Score => fields_of::<Score>(),
            Self::Note => fields_of::<Note>(),
            Self::Deleted => fields_of::<Deleted>(),
            Self::Later => &[],
        }
    }

    /// All kinds of this schema.
    pub const ALL: [Self; 11] = [
        Self::Archer,
        Self::Kit,
        Self::Arrow,
        Self::Mark,
        Self::Session,
        Self::End,
        Self::Shot,
        Self::Touch,
        Self::Score,
        Self::Note,
        Self::Deleted,
    ];

    /// Its name, as in the wire format.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Archer => "archer",
            Self::Kit => "kit",
            Self::Arrow => "arrow",
            Self::Mark => "mark",
            Self::Session => "session",
            Self::End => "end",
            Self::Shot => "shot",
            Self::Touch => "touch",
            Self::Score => "score",
            Self::Note => "note",
            Self::Deleted => "deleted",
            Self::Later => "later",
        }
    }
}

impl Body {
    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> Kind {
        match self {
            Self::Archer(_) => Kind::Archer,
            Self::Kit(_) => Kind::Kit,
            Self::Arrow(_) => Kind::Arrow,
            Self::Mark(_) => Kind::Mark,
            Self::Session(_) => Kind::Session,
            Self::End(_) => Kind::End,
            Self::Shot(_) => Kind::Shot,
            Self::Touch(_) => Kind::Touch,
            Self::Score(_) => Kind::Score,
            Self::Note(_) => Kind::Note,
            Self::Deleted(_) => Kind::Deleted,
            Self::Later { .. } => Kind::Later,
        }
    }

    /// The session that it is a part of, for a shot, an end or a touch.
    #[must_use]
    pub fn session(&self) -> Option<Uuid> {
        match self {
            Self::End(b) => Some(b.session),
            Self::Shot(b) => Some(b.session),
            Self::Touch(b) => Some(b.session),
            _ => None,
        }
    }
}

/// The fields that a type reads, as it tells a reader that asks.
fn fields_of<'de, T: Deserialize<'de>>() -> &'static [&'static str] {
    let mut fields: &'static [&'static str] = &[];
    let _ = T::deserialize(AskFields(&mut fields));
    fields
}

/// A reader that has nothing to read, and only notes what it is asked for.
struct AskFields<'a>(&'a mut &'static [&'static str]);

impl<'de> serde::Deserializer<'de> for AskFields<'_> {
    type Error = serde::de::value::Error;

    fn deserialize_any<V: serde::de::Visitor<'de>>(self, _: V) -> Result<V::Value, Self::Error> {
        Err(serde::de::Error::custom("there is nothing to read"))
    }

    fn deserialize_struct<V: serde::de::Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        *self.0 = fields;
        self.deserialize_any(visitor)
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf option unit unit_struct newtype_struct seq
        tuple tuple_struct map enum identifier ignored_any
    }
}
