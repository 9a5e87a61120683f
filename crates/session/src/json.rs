//! Settings and shots as JSON objects, as they are read. The keys are a contract; see `docs/formats.md`.

use goldward_core::face::Face;
use goldward_core::plane::Point;
use goldward_core::shot::{Call, CallError, Felt, Place, Shot};
use goldward_core::units::{Distance, Length};
use goldward_core::usual::{Bow, Level, Start, argued};
use serde::{Deserialize, Serialize};

use crate::duel::{BY, MatchIn, NEARER};
use crate::keys::{self, Good, Key};
use crate::problem::{Problem, What, short};
use crate::settings::{Settings, Wishes};

/// Everything a reading needs beside the shots. Keys that are not known are ignored.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SettingsIn {
    /// Shooting distance, in metres.
    pub distance_m: Option<f64>,
    /// Name of the face.
    pub face: Option<String>,
    /// Shaft diameter, in millimetres.
    pub shaft_mm: Option<f64>,
    /// Spread of the archer, in milliradians.
    pub spread_mrad: Option<f64>,
    /// Arrows that the spread is worth.
    pub worth: Option<f64>,
    /// Arrows that the sight setting is worth.
    pub trust: Option<f64>,
    /// Distance from eye to pin, in millimetres.
    pub eye_to_pin_mm: Option<f64>,
    /// Millimetres a click at the pin: windage, elevation.
    pub click_mm: Option<[f64; 2]>,
    /// Error of a setting at the pin, in millimetres.
    pub setting_sd_mm: Option<f64>,
    /// Shots still to come.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shots_left: Option<u32>,
    /// Points that a touch must gain.
    pub touch_cost_points: Option<f64>,
    /// What the shots of an end share, windage and elevation, in spreads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_effect: Option<[f64; 2]>,
    /// Probabilities of clean, flyer and stray for an unmarked shot.
    pub unmarked: Option<[f64; 3]>,
    /// The same for a shot that felt bad.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub felt_bad: Option<[f64; 3]>,
    /// The same for a shot that felt good.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub felt_good: Option<[f64; 3]>,
    /// Where bad shots go from the centre, windage and elevation, in spreads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bad_mean: Option<[f64; 2]>,
    /// How widely they scatter about that, in spreads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bad_spread: Option<[f64; 2]>,
    /// How far a touch of windage and one of elevation move the arrows, over what click and eye-to-pin say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub touch_gives: Option<[f64; 2]>,
    /// How far the group goes from each end to the next, right and up, in spreads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_drift: Option<[f64; 2]>,
    /// How far the spread that is told may be off, less and more, in octaves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread_doubt: Option<[f64; 2]>,
    /// In which share of the strings the group is two, and has moved once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pattern_shares: Option<[f64; 2]>,
    /// What kind of bow it is: where an archer starts of whom no spread is told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow: Option<String>,
    /// How well it is shot, the same.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<String>,
    /// The match that it is.
    #[serde(rename = "match", skip_serializing_if = "Option::is_none")]
    pub duel: Option<MatchIn>,
}

/// What `told` names, of the kind that `find` knows.
fn named<T>(key: Key, told: Option<&String>, find: impl Fn(&str) -> Option<T>) -> Result<Option<T>, Problem> {
    let unknown = |name: &str| Problem::new(key.json(), What::Unusable(short(name))).good(good(key.json()));
    told.map(|name| find(name).ok_or_else(|| unknown(name))).transpose()
}

impl SettingsIn {
    fn bow(&self) -> Result<Option<Bow>, Problem> {
        named(Key::Bow, self.bow.as_ref(), Bow::named)
    }

    fn level(&self) -> Result<Option<Level>, Problem> {
        named(Key::Level, self.level.as_ref(), Level::named)
    }

    /// Where an archer with this bow and level starts who tells no spread.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn start(&self) -> Result<Start, Problem> {
        Ok(argued(self.bow()?, self.level()?))
    }

    /// Checks the settings and fills in the defaults.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn settings(&self) -> Result<Settings, Problem> {
        let missing = |key: Key| Problem::new(key.json(), What::Missing).good(good(key.json()));
        let metres = self.distance_m.ok_or_else(|| missing(Key::Distance))?;
        let distance = Distance::from_metres(metres).map_err(|e| Problem::new(Key::Distance.json(), e))?;
        let name = self.face.as_deref().ok_or_else(|| missing(Key::Face))?;
        let face = Face::named(name).map_err(|mut e| {
            e.name = e.name.chars().take(40).collect();
            Problem::new(Key::Face.json(), e)
        })?;
        let wishes = Wishes {
            shaft_mm: self.shaft_mm,
            spread_mrad: self.spread_mrad,
            worth: self.worth,
            trust: self.trust,
            eye_to_pin_mm: self.eye_to_pin_mm,
            click_windage_mm: self.click_mm.map(|c| c[0]),
            click_elevation_mm: self.click_mm.map(|c| c[1]),
            setting_sd_mm: self.setting_sd_mm,
            shots_left: self.shots_left,
            touch_cost_points: self.touch_cost_points,
            end_effect: self.end_effect,
            unmarked: self.unmarked,
            felt_bad: self.felt_bad,
            felt_good: self.felt_good,
            bad_mean: self.bad_mean,
            bad_spread: self.bad_spread,
            touch_gives: self.touch_gives,
            end_drift: self.end_drift,
            spread_doubt: self.spread_doubt,
            pattern_shares: self.pattern_shares,
            habits: None,
            bow: self.bow()?,
            level: self.level()?,
            usual: None,
        };
        let settings = Settings::new(distance, face, &wishes).map_err(|e| Problem::new(e.key.json(), e.what))?;
        let duel = self.duel.as_ref().map(|told| told.duel(face).map_err(|p| p.under("match"))).transpose()?;
        Ok(Settings { duel, ..settings })
    }
}

/// The shots of a reading, oldest first.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct ShotsIn {
    /// The shots.
    pub shots: Option<Vec<ShotIn>>,
    /// What touches since the setting that `trust` speaks of have moved the arrows by on the face, right and up as the pin was
    /// moved. The shots are told as they would land now.
    pub moved_mm: Option<[f64; 2]>,
}

/// One shot: a position or a call, and how it felt.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct ShotIn {
    /// To the right, in millimetres.
    pub x_mm: Option<f64>,
    /// Up, in millimetres.
    pub y_mm: Option<f64>,
    /// Ring and clock.
    pub call: Option<String>,
    /// `good`, `bad` or nothing.
    pub felt: Option<String>,
    /// Number of the end.
    pub end: Option<u32>,
}

impl ShotsIn {
    /// What touches have moved the arrows by.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn moved(&self) -> Result<Point, Problem> {
        let [x, y] = self.moved_mm.unwrap_or_default();
        for value in [x, y] {
            Length::from_mm(value).map_err(|e| Problem::new("moved_mm", e))?;
        }
        Ok(Point::new(x, y))
    }

    /// Checks the shots against the face.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn shots(&self, settings: &Settings) -> Result<Vec<Shot>, Problem> {
        let shots = self.shots.as_ref().ok_or_else(|| Problem::new("shots", What::Missing).good(good("shots")))?;
        if shots.is_empty() {
            return Err(Problem::new("shots", What::EmptyList));
        }
        if shots.len() > goldward_core::group::MOST_SHOTS {
            return Err(Problem::new("shots", What::TooManyShots(shots.len())));
        }
        let told: Vec<Option<u32>> = shots.iter().map(|s| s.end).collect();
        let ends = goldward_core::shot::ends(&told);
        shots
            .iter()
            .zip(ends)
            .enumerate()
            .map(|(i, (shot, end))| Ok(shot.shot(&format!("shots[{i}]"), settings)?.in_end(end)))
            .collect()
    }
}

impl ShotIn {
    /// Checks the shot, which stands at `at`, against the face.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn shot(&self, at: &str, settings: &Settings) -> Result<Shot, Problem> {
        let place = |key: &str| format!("{at}.{key}");
        let mut shot = match (self.x_mm, self.y_mm, &self.call) {
            (Some(_), _, Some(_)) | (_, Some(_), Some(_)) => return Err(Problem::new(place("call"), What::Both)),
            (Some(x_mm), Some(y_mm), None) => {
                for (key, value) in [("x_mm", x_mm), ("y_mm", y_mm)] {
                    Length::from_mm(value).map_err(|e| Problem::new(place(key), e))?;
                }
                Shot::at(x_mm, y_mm)
            }
            (Some(_), None, None) => return Err(Problem::new(place("y_mm"), What::OneCoordinate)),
            (None, Some(_), None) => return Err(Problem::new(place("x_mm"), What::OneCoordinate)),
            (None, None, Some(call)) => {
                let call = parse_call(call, settings).map_err(|e| Problem::new(place("call"), e))?;
                Shot::called(call)
            }
            (None, None, None) => return Err(Problem::new(at, What::NoPosition)),
        };
        if let Some(felt) = &self.felt {
            shot.felt = short(felt).parse::<Felt>().map_err(|e| Problem::new(place("felt"), e))?;
        }
        debug_assert!(matches!(shot.place, Place::At(_) | Place::Called(_)));
        Ok(shot)
    }
}

/// Reads a call and checks that the face has it.
///
/// # Errors
/// [`CallError`].
pub fn parse_call(text: &str, settings: &Settings) -> Result<Call, CallError> {
    if text.chars().count() > 40 {
        return Err(CallError::NotACall(short(text)));
    }
    Call::on_face(text, settings.face, settings.shaft)
}

/// A line as text that is not empty.
///
/// # Errors
/// A [`Problem`] with the remedy.
pub fn text_of(line: &[u8]) -> Result<&str, Problem> {
    let text = std::str::from_utf8(line).map_err(|e| Problem::new("", What::LineNotUtf8(e.valid_up_to() + 1)))?;
    if text.trim().is_empty() {
        return Err(Problem::new("", What::EmptyLine));
    }
    Ok(text)
}

/// Parses one JSON object; on failure a second, slower pass finds out which key is at fault.
///
/// # Errors
/// A [`Problem`] whose place is the key.
pub fn parse<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T, Problem> {
    if !text.trim_start().starts_with('{') {
        return Err(Problem::new("", What::NoObject));
    }
    serde_json::from_str(text).map_err(|error| {
        let mut reader = serde_json::Deserializer::from_str(text);
        let place = match serde_path_to_error::deserialize::<_, T>(&mut reader) {
            Err(e) if e.inner().is_data() || e.inner().to_string().starts_with("number out of range") => {
                e.path().to_string()
            }
            _ => String::new(),
        };
        let full = error.to_string();
        let message = full.split(" at line ").next().unwrap_or(&full);
        let message = in_plain_words(message);
        if place.is_empty() || place == "." {
            return Problem::new("", What::NoJson { column: error.column(), said: message });
        }
        let key = place.rsplit('.').next().unwrap_or(&place);
        let key = key.split('[').next().unwrap_or(key).to_owned();
        // The end of a shot is a number; by itself it is an event.
        let of_shot = key == "end" && place.starts_with("shot");
        let good = if of_shot { Good::Whole("1") } else { good(&key) };
        Problem::new(place, What::Reader(message)).good(good)
    })
}

/// The parser's message without the names of our types.
fn in_plain_words(message: &str) -> String {
    let message =
        message.replace("expected f64", "expected a number").replace("expected u32", "expected a whole number");
    match message.split_once("expected struct ") {
        Some((before, _)) => format!("{before}expected an object"),
        None => message,
    }
}

/// What a good value of a JSON key looks like.
#[must_use]
pub fn good(key: &str) -> Good {
    keys::on_wire(key).unwrap_or(match key {
        "ends" | "shots_per_end" | "sighting_ends" => Good::Whole("6"),
        "drift_mrad_per_end" => Good::Quantity { unit: "mrad", such: "0.1" },
        "right_mm" | "up_mm" => Good::Quantity { unit: "mm", such: "0.2" },
        "shot" => Good::Such("{\"x_mm\":12,\"y_mm\":-30}"),
        "touch" => Good::Such("{\"right_mm\":0.2,\"up_mm\":-0.5}"),
        "was" => Good::OneOf(&["good", "bad", ""]),
        "end" | "undo" | "redo" => Good::True,
        "distance" => Good::Distance,
        "match" => Good::Such("{\"by\":\"sets\",\"mine\":[28],\"theirs\":[27]}"),
        "by" => Good::OneOf(&BY),
        "nearer" => Good::OneOf(&NEARER),
        "mine" | "theirs" => Good::Such("28, or \"19/2\""),
        _ => Good::Number("1"),
    })
}
