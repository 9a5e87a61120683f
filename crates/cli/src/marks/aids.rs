//! Aids at the line: the wrong mark, wind and slopes.

use goldward_core::flight::{Gust, Wind};
use goldward_core::marks::MarksError;
use goldward_core::plane::Point;
use goldward_report::pages::aids as page;
use goldward_report::teller::Teller;
use goldward_report::words::{Language, Wrong};
use serde::Serialize;

use super::args::{SlopeArgs, WindArgs, WrongArgs};
use super::{answer, json, open};
use crate::failure::{Failure, Fault};
use crate::terminal::Terminal;
use crate::wire::SCHEMA;
use goldward_session::problem::What;

fn cannot(title: Wrong, key: &str, error: impl Into<What>) -> Failure {
    Failure::data(title, Fault::of(key, error))
}

#[derive(Debug, Serialize)]
struct WrongOut {
    schema: u8,
    wrong: bool,
    name: Option<String>,
    set_for_m: Option<f64>,
    shot_at_m: f64,
    p: Option<f64>,
    expected_mm: Option<f64>,
    sd_mm: Option<f64>,
}

/// `goldward marks wrong`.
///
/// # Errors
/// [`Failure`].
pub fn wrong(args: &WrongArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let known = open(&args.book)?;
    let (shot_at, lies) = (args.distance, [args.offset_mm, args.sd_mm]);
    let language = if args.book.shown.json { Language::English } else { terminal.language() };
    let teller = Teller { language, imperial: false, date: &|_| String::new() };
    let found = page::wrong_at(&teller, &known, shot_at, lies, &args.among)
        .map_err(|e| cannot(Wrong::MarksNotCompared, "--distance, --offset-mm, --sd-mm, --among", e))?;
    let object = || {
        let found = found.as_ref().map(|f| &f.0);
        json(&WrongOut {
            schema: SCHEMA,
            wrong: found.is_some(),
            name: found.map(|w| w.name.clone()),
            set_for_m: found.map(|w| w.set_for_m),
            shot_at_m: shot_at.m(),
            p: found.map(|w| w.p),
            expected_mm: found.map(|w| w.expected_mm),
            sd_mm: found.map(|w| w.sd_mm),
        })
    };
    let say = |t: &Teller<'_>| page::wrong(t, &known, shot_at, args.offset_mm, &args.among, &found);
    answer(&args.book, terminal, say, object)
}

#[derive(Debug, Serialize)]
struct WindOut {
    schema: u8,
    distance_m: f64,
    drift_mm: [f64; 2],
    spread_mm: [f64; 2],
    across_mm_per_m_s: f64,
    aim_off_mm: [f64; 2],
    pin_mm: [f64; 2],
    clicks: [i32; 2],
    left_over_mm: [f64; 2],
}

fn pair(p: Point) -> [f64; 2] {
    [p.x_mm + 0.0, p.y_mm + 0.0]
}

/// The arrow's flight cannot be had.
pub(crate) fn no_flight(error: MarksError) -> Failure {
    cannot(Wrong::NoFlightOfMarks, "marks", error)
}

/// `goldward marks wind`.
///
/// # Errors
/// [`Failure`].
pub fn wind(args: &WindArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let known = open(&args.book)?;
    let title = Wrong::NoWind;
    let wind = Wind::new(args.along, args.cross).map_err(|e| cannot(title, "--cross, --along", e))?;
    let gust = Gust::new(wind, 0.0, args.gust).map_err(|e| cannot(title, "--gust", e))?;
    known.fitted.flight().map_err(no_flight)?;
    let aid = page::wind_at(&known, args.distance, &gust).map_err(|e| cannot(title, "--distance", e))?;
    let object = || {
        json(&WindOut {
            schema: SCHEMA,
            distance_m: args.distance.m(),
            drift_mm: pair(aid.effect.mean),
            spread_mm: [aid.effect.cov.xx.sqrt(), aid.effect.cov.yy.sqrt()],
            across_mm_per_m_s: aid.effect.across_mm_per_m_s,
            aim_off_mm: pair(aid.aim_off),
            pin_mm: pair(aid.pin_mm),
            clicks: aid.clicks,
            left_over_mm: pair(aid.left_over),
        })
    };
    answer(&args.book, terminal, |t| page::wind(t, args.distance, &aid, args.gust > 0.0), object)
}

#[derive(Debug, Serialize)]
struct SlopeOut {
    schema: u8,
    distance_m: f64,
    slope_deg: f64,
    reading: f64,
    reading_mm: f64,
    sd_mm: f64,
    level_reading_mm: f64,
    level_m: Option<f64>,
    cosine_m: f64,
    cosine_error_mm: f64,
    extrapolated: bool,
}

/// `goldward marks slope`.
///
/// # Errors
/// [`Failure`].
pub fn slope(args: &SlopeArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let known = open(&args.book)?;
    known.fitted.flight().map_err(no_flight)?;
    let here = args.distance;
    let found =
        page::slope_at(&known, here, args.angle).map_err(|e| cannot(Wrong::NoSlope, "--distance, --angle", e))?;
    let object = || {
        let page::OnSlope { aid, on, level } = &found;
        json(&SlopeOut {
            schema: SCHEMA,
            distance_m: here.m(),
            slope_deg: args.angle,
            reading: known.setup.scale.number_at(on.reading_mm),
            reading_mm: on.reading_mm,
            sd_mm: on.sd_mm,
            level_reading_mm: level.reading_mm,
            level_m: aid.level_m,
            cosine_m: aid.cosine_m,
            cosine_error_mm: aid.cosine_error_mm,
            extrapolated: on.extrapolated,
        })
    };
    answer(&args.book, terminal, |t| page::slope(t, &known, here, args.angle, &found), object)
}
