//! Sight marks as JSON: the question and the answers. The keys are a contract; see `docs/formats.md`.

use goldward_core::marks::{Fitted, MarksError};
use goldward_core::units::Distance;
use serde::{Deserialize, Serialize};

use goldward_session::keys::Good;
use goldward_session::marks::answer;
use goldward_session::marks::book::{AirIn, ArrowIn, Book, Entry};
use goldward_session::marks::quantity::{Range, Speed};
use goldward_session::problem::{Place, Problem, What, short, within};

use super::SCHEMA;

/// Largest question, in bytes.
pub const LARGEST: u64 = 4 << 20;
/// Most distances predicted at once.
pub const MOST_DISTANCES: usize = 1000;

/// The question. Keys that are not known are ignored.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Question {
    marks: Option<Vec<MarkIn>>,
    eye_to_pin_mm: Option<f64>,
    eye_above_arrow_mm: Option<f64>,
    eye_above_arrow_sd_mm: Option<f64>,
    spread_mrad: Option<f64>,
    arrow: Option<Arrow>,
    air: Option<AirQuestion>,
    predict_m: Option<Vec<f64>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct MarkIn {
    distance_m: Option<f64>,
    reading_mm: Option<f64>,
    sd_mm: Option<f64>,
    arrows: Option<u32>,
    slope_deg: Option<f64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Arrow {
    mass_g: Option<f64>,
    diameter_mm: Option<f64>,
    speed_m_s: Option<f64>,
    speed_sd_m_s: Option<f64>,
    draw_weight_n: Option<f64>,
    bow: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct AirQuestion {
    temperature_c: Option<f64>,
    pressure_pa: Option<f64>,
    humidity: Option<f64>,
}

/// What a good value of a key looks like.
fn good(key: &str) -> Good {
    match key {
        "marks" => Good::Such("[{\"distance_m\":18,\"reading_mm\":14.9,\"sd_mm\":0.3}]"),
        "distance_m" => Good::Quantity { unit: "m", such: "18" },
        "reading_mm" => Good::Quantity { unit: "mm", such: "14.9" },
        "sd_mm" => Good::Sd("0.3"),
        "arrows" => Good::Arrows("6"),
        "spread_mrad" => Good::Quantity { unit: "mrad", such: "2.1" },
        "eye_to_pin_mm" => Good::Quantity { unit: "mm", such: "880" },
        "eye_above_arrow_mm" => Good::Quantity { unit: "mm", such: "115" },
        "arrow" => Good::Such("{\"mass_g\":21,\"diameter_mm\":5.5}"),
        "mass_g" => Good::Quantity { unit: "g", such: "21" },
        "diameter_mm" => Good::Quantity { unit: "mm", such: "5.5" },
        "predict_m" => Good::Such("[20,25,40]"),
        "bow" => Good::OneOf(&["recurve", "compound", "longbow"]),
        "air" => Good::Such("{\"temperature_c\":24,\"pressure_pa\":101325,\"humidity\":0.5}"),
        _ => Good::Number("1"),
    }
}

fn parse(text: &str) -> Result<Question, Problem> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = serde_path_to_error::deserialize(&mut reader);
    let question: Question = read.map_err(|e| {
        let path = e.path().to_string();
        let key = path.rsplit('.').next().unwrap_or("").split('[').next().unwrap_or("").to_owned();
        let said = e.inner().to_string();
        if path.is_empty() || path == "." || e.inner().is_syntax() || e.inner().is_eof() {
            Problem::new("", What::NoQuestion(said))
        } else {
            Problem::new(path, What::Reader(said)).good(good(&key))
        }
    })?;
    reader.end().map_err(|e| Problem::new("", What::NoQuestion(e.to_string())))?;
    objects(text)?;
    Ok(question)
}

/// A list in an object's place would be taken for its values in order: only objects will do.
fn objects(text: &str) -> Result<(), Problem> {
    use serde_json::Value;
    // It has been read once, so this cannot fail.
    let value: Value = serde_json::from_str(text).unwrap_or_default();
    let wrong = |place: &str, key: &str| Err(Problem::new(place, What::ListForObject).good(good(key)));
    if !value.is_object() {
        return Err(Problem::new("", What::NoObject));
    }
    for key in ["arrow", "air"] {
        if value.get(key).is_some_and(Value::is_array) {
            return wrong(key, key);
        }
    }
    let marks = value.get("marks").and_then(Value::as_array);
    match marks.and_then(|m| m.iter().position(Value::is_array)) {
        Some(i) => wrong(&format!("marks[{i}]"), "marks"),
        None => Ok(()),
    }
}

fn missing(place: &str) -> Problem {
    Problem::new(place, What::Missing).good(good(place.rsplit('.').next().unwrap_or(place)))
}

fn wrong_bow(told: Option<&str>) -> Problem {
    Problem::new("arrow.bow", What::Unusable(short(told.unwrap_or_default()))).good(good("bow"))
}

/// The question as a book, with what is to be predicted.
fn book(question: Question) -> Result<(Book, Vec<f64>), Problem> {
    let marks = question.marks.ok_or_else(|| missing("marks"))?;
    if marks.is_empty() {
        return Err(Problem::new("marks", What::EmptyList));
    }
    let predict = question.predict_m.ok_or_else(|| missing("predict_m"))?;
    if predict.len() > MOST_DISTANCES {
        let many = What::TooManyDistances { given: predict.len(), most: MOST_DISTANCES };
        return Err(Problem::new("predict_m", many));
    }
    for (i, metres) in predict.iter().enumerate() {
        Distance::from_metres(*metres).map_err(|e| Problem::new(format!("predict_m[{i}]"), e))?;
    }
    let arrow = question.arrow.ok_or_else(|| missing("arrow"))?;
    let bow = arrow.bow.as_deref().map(goldward_session::marks::quantity::parse_bow).transpose();
    let m_s =
        |number: Option<f64>| number.map(|number| Speed { number, unit: goldward_core::marks::Unit::MetresPerSecond });
    let air = question.air.unwrap_or_default();
    let mut book = Book {
        eye_to_pin_mm: Some(question.eye_to_pin_mm.ok_or_else(|| missing("eye_to_pin_mm"))?),
        eye_above_arrow_mm: Some(question.eye_above_arrow_mm.ok_or_else(|| missing("eye_above_arrow_mm"))?),
        eye_above_arrow_sd_mm: question.eye_above_arrow_sd_mm,
        spread_mrad: question.spread_mrad,
        arrow: ArrowIn {
            mass_g: Some(arrow.mass_g.ok_or_else(|| missing("arrow.mass_g"))?),
            diameter_mm: Some(arrow.diameter_mm.ok_or_else(|| missing("arrow.diameter_mm"))?),
            speed: m_s(arrow.speed_m_s),
            speed_sd: m_s(arrow.speed_sd_m_s),
            draw_weight_n: arrow.draw_weight_n,
            bow: bow.map_err(|_| wrong_bow(arrow.bow.as_deref()))?,
        },
        air: AirIn { temperature_c: air.temperature_c, pressure_pa: air.pressure_pa, humidity: air.humidity },
        ..Book::default()
    };
    let scale = goldward_core::marks::Scale::default();
    for (i, mark) in marks.iter().enumerate() {
        let place = |key: &str| format!("marks[{i}].{key}");
        let metres = mark.distance_m.ok_or_else(|| missing(&place("distance_m")))?;
        let range = Range::metres(metres).map_err(|e| Problem::new(place("distance_m"), e))?;
        let reading = mark.reading_mm.ok_or_else(|| missing(&place("reading_mm")))?;
        if let Some(arrows) = mark.arrows {
            within(f64::from(arrows), "", [1.0, 10_000.0]).map_err(|what| Problem::new(place("arrows"), what))?;
        }
        let entry = Entry {
            sd: mark.sd_mm,
            arrows: mark.arrows,
            slope_deg: mark.slope_deg.unwrap_or(0.0),
            ..Entry::shot(range, reading)
        };
        // One at a time, so that the error knows its key.
        let plain = Entry { sd: None, slope_deg: 0.0, ..entry.clone() };
        book.mark(&plain, &scale).map_err(|e| Problem::new(place("reading_mm"), e))?;
        let flat = Entry { slope_deg: 0.0, ..entry.clone() };
        book.mark(&flat, &scale).map_err(|e| Problem::new(place("sd_mm"), e))?;
        book.mark(&entry, &scale).map_err(|e| Problem::new(place("slope_deg"), e))?;
        book.marks.push(entry);
    }
    Ok((book, predict))
}

/// The key of the JSON object for a key of the marks file.
fn json_key(place: Place) -> Place {
    match place {
        Place::Named(key) => Place::Named(match key.as_str() {
            "eye_to_pin" | "eye_above_arrow" | "eye_above_arrow_sd" => key + "_mm",
            "arrow.speed" | "arrow.speed_sd" => key + "_m_s",
            "arrow.draw_weight" => key + "_n",
            _ => key,
        }),
        other => other,
    }
}

/// Answers the question `text`; the answer is one line.
///
/// # Errors
/// A [`Problem`] whose place is the key.
pub fn answer(text: &[u8]) -> Result<String, Problem> {
    line(&reply(text)?)
}

/// Answers the question `text`.
///
/// # Errors
/// A [`Problem`] whose place is the key.
pub fn reply(text: &[u8]) -> Result<PredictOut, Problem> {
    let text = std::str::from_utf8(text).map_err(|_| Problem::new("", What::NotUtf8))?;
    let (book, predict) = book(parse(text)?)?;
    let setup = book.setup().map_err(|p| Problem { place: json_key(p.place), ..p })?;
    let fitted = answer::fit(&setup).map_err(|e| Problem::new("marks", e))?;
    let mut predicted = Vec::with_capacity(predict.len());
    for (i, metres) in predict.iter().enumerate() {
        let p = fitted.predict(*metres).map_err(|e| Problem::new(format!("predict_m[{i}]"), e))?;
        predicted.push(PredictedOut {
            distance_m: p.distance_m,
            reading_mm: p.reading_mm,
            sd_mm: p.sd_mm,
            extrapolated: p.extrapolated,
            interval_mm: None,
            reading: None,
        });
    }
    let next = answer::next(&fitted, &predict).map_err(|e| Problem::new("predict_m", e))?;
    Ok(PredictOut::new(&fitted, predicted, next.distance_m))
}

/// One object on one line.
///
/// # Errors
/// When it cannot be written as JSON, which would be our fault.
pub fn line<T: Serialize>(out: &T) -> Result<String, Problem> {
    serde_json::to_string(out).map(|text| text + "\n").map_err(|e| Problem::new("", What::Reader(e.to_string())))
}

/// What cannot be answered, as one line.
#[must_use]
pub fn error_line(problem: &str) -> String {
    line(&ErrorOut { schema: SCHEMA, error: problem }).unwrap_or_default()
}

#[derive(Serialize)]
struct ErrorOut<'a> {
    schema: u8,
    error: &'a str,
}

/// A predicted mark.
#[derive(Debug, Serialize)]
pub struct PredictedOut {
    /// Distance.
    pub distance_m: f64,
    /// Reading, growing as the pin goes down.
    pub reading_mm: f64,
    /// Its standard deviation.
    pub sd_mm: f64,
    /// Whether the distance lies outside those shot.
    pub extrapolated: bool,
    /// 80 % interval; of a marks file only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_mm: Option<[f64; 2]>,
    /// The number on the scale; of a marks file only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reading: Option<f64>,
}

/// A mark that does not belong.
#[derive(Debug, Serialize)]
pub struct SuspectOut {
    /// Distance.
    pub distance_m: f64,
    /// Reading as given.
    pub reading_mm: f64,
    /// Probability that it is wrong.
    pub p: f64,
    /// What the other marks say.
    pub expected_mm: Option<f64>,
}

/// The suspects of a fit.
#[must_use]
pub fn suspects(fitted: &Fitted) -> Vec<SuspectOut> {
    let out = fitted.suspects().iter().map(|s| {
        let mark = &fitted.marks()[s.index];
        SuspectOut {
            distance_m: mark.distance_m(),
            reading_mm: mark.reading_mm(),
            p: s.p_wrong,
            expected_mm: s.expected_mm,
        }
    });
    out.collect()
}

/// The answer to a prediction.
#[derive(Debug, Serialize)]
pub struct PredictOut {
    schema: u8,
    speed_m_s: f64,
    speed_sd: f64,
    drag_per_m: f64,
    scale_zero_mm: f64,
    predicted: Vec<PredictedOut>,
    suspect: Vec<SuspectOut>,
    next_distance_m: f64,
}

impl PredictOut {
    /// The answer of a fit.
    #[must_use]
    pub fn new(fitted: &Fitted, predicted: Vec<PredictedOut>, next_distance_m: f64) -> Self {
        Self {
            schema: SCHEMA,
            speed_m_s: fitted.speed_m_s().0,
            speed_sd: fitted.speed_m_s().1,
            drag_per_m: fitted.drag_per_m().0,
            scale_zero_mm: fitted.scale_zero_mm().0,
            predicted,
            suspect: suspects(fitted),
            next_distance_m,
        }
    }
}

/// A fit that failed, told of its place.
#[must_use]
pub fn fit_problem(error: MarksError) -> Problem {
    Problem::new(if error == MarksError::NoMarks { "" } else { "marks" }, error)
}
