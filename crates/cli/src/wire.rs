//! The JSON of the batch: objects as they are read and written. The keys are a contract; see `docs/formats.md`.

use goldward_core::advice::{Action, Advice, Proposal};
use goldward_core::face::Face;
use goldward_core::group::Pattern;
use goldward_core::notice::{Notice, Weight};
use goldward_core::plane::{Point, Sym2};
use goldward_core::shot::{Call, Place, Shot};
use goldward_core::units::{Distance, Length};
use serde::{Deserialize, Serialize};

use crate::failure::{Problem, quote};
use crate::refined::{Refined, RefinedOut};
use crate::settings::{Key, Settings, Wishes};
use crate::solve::Answer;

/// Version of the JSON that is written.
pub const SCHEMA: u8 = 1;

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
    /// Probabilities of clean, flyer and stray for an unmarked shot.
    pub unmarked: Option<[f64; 3]>,
    /// The same for a shot that felt bad.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub felt_bad: Option<[f64; 3]>,
    /// The same for a shot that felt good.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub felt_good: Option<[f64; 3]>,
}

impl SettingsIn {
    /// Checks the settings and fills in the defaults.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn settings(&self) -> Result<Settings, Problem> {
        let at = |key: Key, problem: Problem| Problem { place: key.json().to_owned(), ..problem };
        let missing = |key: Key| at(key, Problem::new("", "missing", remedy(key.json())));
        let metres = self.distance_m.ok_or_else(|| missing(Key::Distance))?;
        let distance = Distance::from_metres(metres).map_err(|e| at(Key::Distance, Problem::from_core("", &e)))?;
        let name = self.face.as_deref().ok_or_else(|| missing(Key::Face))?;
        let face = Face::named(name).map_err(|mut e| {
            e.name = e.name.chars().take(40).collect();
            at(Key::Face, Problem::from_core("", &e))
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
            unmarked: self.unmarked,
            felt_bad: self.felt_bad,
            felt_good: self.felt_good,
        };
        Settings::new(distance, face, &wishes).map_err(|e| at(e.key, e.problem))
    }
}

/// The shots of a reading, oldest first.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct ShotsIn {
    /// The shots.
    pub shots: Option<Vec<ShotIn>>,
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
}

impl ShotsIn {
    /// Checks the shots against the face.
    ///
    /// # Errors
    /// A [`Problem`] whose place is the key.
    pub fn shots(&self, settings: &Settings) -> Result<Vec<Shot>, Problem> {
        let shots = self.shots.as_ref().ok_or_else(|| Problem::new("shots", "missing", remedy("shots")))?;
        if shots.is_empty() {
            return Err(Problem::new("shots", "the list is empty", "give at least one shot"));
        }
        let most = goldward_core::group::MOST_SHOTS;
        if shots.len() > most {
            let message = format!("{} shots are more than one reading takes", shots.len());
            return Err(Problem::new("shots", message, format!("keep the latest {most}")));
        }
        shots.iter().enumerate().map(|(i, shot)| shot.shot(&format!("shots[{i}]"), settings)).collect()
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
            (Some(_), _, Some(_)) | (_, Some(_), Some(_)) => {
                let message = "the shot has both a position and a call";
                return Err(Problem::new(place("call"), message, "keep x_mm and y_mm and leave out call"));
            }
            (Some(x_mm), Some(y_mm), None) => {
                for (key, value) in [("x_mm", x_mm), ("y_mm", y_mm)] {
                    Length::from_mm(value).map_err(|e| Problem::from_core(place(key), &e))?;
                }
                Shot::at(x_mm, y_mm)
            }
            (Some(_), None, None) => return Err(Problem::new(place("y_mm"), "missing", "x_mm and y_mm go together")),
            (None, Some(_), None) => return Err(Problem::new(place("x_mm"), "missing", "x_mm and y_mm go together")),
            (None, None, Some(call)) => {
                let call = parse_call(call, settings).map_err(|p| Problem { place: place("call"), ..p })?;
                Shot::called(call)
            }
            (None, None, None) => {
                let message = "the shot has no position";
                return Err(Problem::new(at, message, "give x_mm and y_mm, or call"));
            }
        };
        if let Some(felt) = &self.felt {
            let short: String = felt.chars().take(40).collect();
            shot.felt = short.parse().map_err(|e| Problem::from_core(place("felt"), &e))?;
        }
        debug_assert!(matches!(shot.place, Place::At(_) | Place::Called(_)));
        Ok(shot)
    }
}

/// Reads a call and checks that the face has it; the problem's place is empty.
///
/// # Errors
/// A [`Problem`] with the remedy.
pub fn parse_call(text: &str, settings: &Settings) -> Result<Call, Problem> {
    if text.chars().count() > 40 {
        return Err(Problem::new(
            "",
            format!("{} is not a call", quote(text)),
            "write ring and clock such as 9@4:30, or X, or M for a miss",
        ));
    }
    let call: Call = text.parse().map_err(|e| Problem::from_core("", &e))?;
    call.cell(settings.face, settings.shaft).map_err(|e| Problem::from_core("", &e))?;
    Ok(call)
}

/// A line as text that is not empty.
///
/// # Errors
/// A [`Problem`] with the remedy.
pub fn text_of(line: &[u8]) -> Result<&str, Problem> {
    let text = std::str::from_utf8(line).map_err(|e| {
        Problem::new("", format!("byte {} is not UTF-8 text", e.valid_up_to() + 1), "write the line as UTF-8")
    })?;
    if text.trim().is_empty() {
        return Err(Problem::new("", "the line is empty", "write one JSON object a line"));
    }
    Ok(text)
}

/// Parses one JSON object; on failure a second, slower pass finds out which key is at fault.
///
/// # Errors
/// A [`Problem`] whose place is the key.
pub fn parse<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T, Problem> {
    if !text.trim_start().starts_with('{') {
        return Err(Problem::new("", "the line is not a JSON object", "write one object a line, in braces"));
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
            let message = format!("not valid JSON at column {}: {message}", error.column());
            return Problem::new("", message, "write one whole object a line");
        }
        let key = place.rsplit('.').next().unwrap_or(&place);
        let key = key.split('[').next().unwrap_or(key).to_owned();
        Problem::new(place, message, remedy(&key))
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
pub fn remedy(key: &str) -> &'static str {
    match key {
        "distance_m" => "give a number of metres such as 70",
        "face" => "give the name of a face in quotes such as \"122\"",
        "shots" => "give a list of shots such as [{\"x_mm\":12,\"y_mm\":-30},{\"call\":\"9@4:30\"}]",
        "x_mm" | "y_mm" | "shaft_mm" | "eye_to_pin_mm" | "setting_sd_mm" => "give a number of millimetres",
        "call" => "give ring and clock in quotes such as \"9@4:30\", \"X\" or \"M\"",
        "felt" => "give \"good\" or \"bad\", or leave it out",
        "click_mm" => "give two numbers of millimetres, windage and elevation, such as [0.1,0.1]",
        "spread_mrad" => "give a number of milliradians such as 2.1",
        "shots_left" => "give a whole number such as 36",
        "unmarked" => "give three probabilities such as [0.91,0.08,0.01]",
        "felt_bad" => "give three probabilities such as [0.3,0.6,0.1]",
        "felt_good" => "give three probabilities such as [0.985,0.01,0.005]",
        "ends" | "shots_per_end" | "sighting_ends" => "give a whole number such as 6",
        "drift_mrad_per_end" => "give a number of milliradians such as 0.1",
        "right_mm" | "up_mm" => "give a number of millimetres at the pin",
        "shot" => "give the shot as {\"x_mm\":12,\"y_mm\":-30}; in felt, its number such as 4",
        "touch" => "give the pin's move such as {\"right_mm\":0.2,\"up_mm\":-0.5}",
        "was" => "give \"good\", \"bad\" or \"\"",
        "end" | "undo" | "redo" => "give true",
        "distance" => "give the settings of the next distance as an object",
        _ => "give a number",
    }
}

fn pair(p: Point) -> [f64; 2] {
    // Adding nothing turns a negative zero into a plain one.
    [p.x_mm + 0.0, p.y_mm + 0.0]
}

/// To a picometre, so that three clicks of 0.1 mm are 0.3 mm.
fn rounded(p: Point) -> [f64; 2] {
    pair(p).map(|x| (x * 1e9).round() / 1e9 + 0.0)
}

fn matrix(m: Sym2) -> [[f64; 2]; 2] {
    [[m.xx, m.xy], [m.xy, m.yy]]
}

/// One line of the answer.
#[derive(Debug, Serialize)]
pub struct ReadingOut<'a> {
    /// [`SCHEMA`].
    pub schema: u8,
    /// How many shots were read.
    pub shots: usize,
    /// Centre of the next shot's process, in the frame of the present setting.
    pub centre_mm: [f64; 2],
    /// Its covariance.
    pub centre_cov_mm2: [[f64; 2]; 2],
    /// Covariance of a clean shot.
    pub spread_cov_mm2: [[f64; 2]; 2],
    /// For each shot the probabilities of clean, flyer and stray.
    pub p_class: &'a [[f64; 3]],
    /// Probabilities of the patterns.
    pub pattern: PatternOut,
    /// Probability of what the search dropped.
    pub dropped_mass: f64,
    /// What to do.
    pub advice: AdviceOut,
    /// Expected score of the next shot with the sight as it is.
    pub expected_score_now: f64,
    /// What to know beside it.
    pub notices: Vec<NoticeOut>,
    /// The rule of thumb, for comparison; only where asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean_rule: Option<ProposalOut>,
    /// The elevation through the flight; only where marks were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_refined: Option<RefinedOut>,
}

/// Probabilities of the patterns.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct PatternOut {
    /// One process that stays.
    pub steady: f64,
    /// Two that take turns.
    pub split: f64,
    /// One that moves slowly.
    pub drifting: f64,
    /// One that moved once.
    pub jumped: f64,
}

/// The advice. `clicks`, `pin_mm` and `shift_mm` are what is to be done now (zeros when the sight is left); the gain, its
/// interval and its chance are those of the best move, made or not.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct AdviceOut {
    /// `move` or `leave`.
    pub action: &'static str,
    /// Whole clicks, right and up.
    pub clicks: [i32; 2],
    /// The same at the pin, in millimetres.
    pub pin_mm: [f64; 2],
    /// The same on the face, in millimetres.
    pub shift_mm: [f64; 2],
    /// Points gained over the shots left.
    pub gain_points: f64,
    /// 80 % interval of the gain.
    pub gain_interval_points: [f64; 2],
    /// Probability that the move makes things better.
    pub p_better: f64,
    /// Shots that would settle the question.
    pub more_shots: u32,
}

impl From<&Advice> for AdviceOut {
    fn from(advice: &Advice) -> Self {
        Self {
            action: match advice.action {
                Action::Move => "move",
                Action::Leave => "leave",
            },
            clicks: advice.clicks,
            pin_mm: rounded(advice.pin_mm),
            shift_mm: rounded(advice.shift_mm),
            gain_points: advice.best.gain_points + 0.0,
            gain_interval_points: advice.gain_interval_points.map(|g| g + 0.0),
            p_better: advice.p_better,
            more_shots: advice.more_shots,
        }
    }
}

/// A move and its worth.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct ProposalOut {
    /// Whole clicks, right and up.
    pub clicks: [i32; 2],
    /// Points gained over the shots left.
    pub gain_points: f64,
}

impl From<Proposal> for ProposalOut {
    fn from(proposal: Proposal) -> Self {
        Self { clicks: proposal.clicks, gain_points: proposal.gain_points + 0.0 }
    }
}

/// A notice.
#[derive(Debug, Clone, Serialize)]
pub struct NoticeOut {
    /// Stable name.
    pub kind: &'static str,
    /// `note`, `warning` or `safety`.
    pub weight: &'static str,
    /// Plain English.
    pub text: String,
}

impl From<&Notice> for NoticeOut {
    fn from(notice: &Notice) -> Self {
        let weight = match notice.weight() {
            Weight::Note => "note",
            Weight::Warning => "warning",
            Weight::Safety => "safety",
        };
        Self { kind: notice.kind(), weight, text: notice.text() }
    }
}

impl<'a> ReadingOut<'a> {
    /// The line for `answer`, with the rule of thumb when `mean_rule` asks for it.
    #[must_use]
    pub fn new(answer: &'a Answer, mean_rule: bool) -> Self {
        let Answer { reading, advice, notices } = answer;
        let p = |pattern| reading.probability(pattern);
        Self {
            schema: SCHEMA,
            shots: reading.shots,
            centre_mm: pair(reading.centre),
            centre_cov_mm2: matrix(reading.centre_cov),
            spread_cov_mm2: matrix(reading.spread),
            p_class: &reading.p_class,
            pattern: PatternOut {
                steady: p(Pattern::Steady),
                split: p(Pattern::Split),
                drifting: p(Pattern::Drifting),
                jumped: p(Pattern::Jumped),
            },
            dropped_mass: reading.dropped_mass,
            advice: AdviceOut::from(advice),
            expected_score_now: advice.expected_score_now,
            notices: notices.iter().map(NoticeOut::from).collect(),
            mean_rule: mean_rule.then(|| ProposalOut::from(advice.mean_rule)),
            elevation_refined: None,
        }
    }

    /// The same with the elevation through the flight.
    #[must_use]
    pub fn with_refined(self, refined: Option<Refined>) -> Self {
        Self { elevation_refined: refined.map(RefinedOut::from), ..self }
    }

    /// Whether every number is one, as JSON demands.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        let p = self.pattern;
        let a = &self.advice;
        let plain = [
            self.dropped_mass,
            self.expected_score_now,
            p.steady,
            p.split,
            p.drifting,
            p.jumped,
            a.gain_points,
            a.p_better,
        ];
        let pairs = [self.centre_mm, a.pin_mm, a.shift_mm, a.gain_interval_points];
        plain.iter().chain(pairs.iter().flatten()).all(|x| x.is_finite())
            && self.centre_cov_mm2.iter().chain(&self.spread_cov_mm2).flatten().all(|x| x.is_finite())
            && self.p_class.iter().flatten().all(|x| x.is_finite())
    }
}

/// What stands in place of an answer to a bad line.
#[derive(Debug, Clone, Serialize)]
pub struct ErrorOut<'a> {
    /// [`SCHEMA`].
    pub schema: u8,
    /// The line, from 1.
    pub line: u64,
    /// What is wrong and what to do.
    pub error: &'a str,
}
