//! Aids at the line: the wrong mark, wind and slopes.

use goldward_core::flight::{Flight, Gust, Wind};
use goldward_core::marks::{Candidate, slope_mark, wind_aid};
use goldward_core::plane::Point;
use serde::Serialize;

use super::args::{SlopeArgs, WindArgs, WrongArgs};
use super::pages::suspect_lines;
use super::{CAUTION, json, open_fitted};
use crate::failure::Failure;
use crate::wire::SCHEMA;
use crate::words::{clicks, mm, percent, place, wrap};
use goldward_session::marks::numbers::Numbers;
use goldward_session::marks::quantity::Range;
use goldward_session::problem::Problem;

fn cannot(what: &str, key: &str, error: &dyn std::error::Error) -> Failure {
    Failure::data(what, Problem::from_core(key, error))
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
pub fn wrong(args: &WrongArgs, width: usize) -> Result<String, Failure> {
    let (book, setup, fitted) = open_fitted(&args.book)?;
    let mut ranges: Vec<Range> = Vec::new();
    for range in book.marks.iter().map(|m| m.range).chain(args.among.iter().copied()) {
        if !ranges.iter().any(|r| r.same_as(range)) {
            ranges.push(range);
        }
    }
    let candidates: Vec<Candidate> =
        ranges.iter().map(|r| Candidate { name: r.to_string(), distance_m: r.m() }).collect();
    let shot_at = args.distance;
    let found = fitted
        .wrong_mark(shot_at.m(), args.offset_mm, args.sd_mm, &candidates)
        .map_err(|e| cannot("the marks cannot be compared", "--distance, --offset-mm, --sd-mm, --among", &e))?;
    if args.book.json {
        return json(&WrongOut {
            schema: SCHEMA,
            wrong: found.is_some(),
            name: found.as_ref().map(|w| w.name.clone()),
            set_for_m: found.as_ref().map(|w| w.set_for_m),
            shot_at_m: shot_at.m(),
            p: found.as_ref().map(|w| w.p),
            expected_mm: found.as_ref().map(|w| w.expected_mm),
            sd_mm: found.as_ref().map(|w| w.sd_mm),
        });
    }
    let lies = match place(Point::new(0.0, args.offset_mm)).as_str() {
        "in the middle" => "A group in the middle".to_owned(),
        how => format!("A group {how}"),
    };
    let Some(w) = found else {
        let known: Vec<String> = ranges.iter().filter(|r| !r.same_as(shot_at)).map(ToString::to_string).collect();
        let known = if known.is_empty() {
            "There is no other mark to compare with: name some with --among.".to_owned()
        } else {
            format!("Compared with the marks for {}.", known.join(", "))
        };
        return Ok(wrap(&format!("{lies} at {shot_at} does not look like the wrong mark. {known}"), width, 0));
    };
    let numbers = Numbers::new(setup.scale);
    let mut page = wrap(&format!("This looks like the {} mark at {shot_at}.", w.name), width, 0);
    let right = fitted.predict(shot_at.m()).map_err(|e| cannot("the mark cannot be told", "--distance", &e))?;
    let mut lines = vec![format!(
        "{lies} at {shot_at}: the {} mark would put it {} (± {} mm). Chance: {}.",
        w.name,
        place(Point::new(0.0, w.expected_mm)),
        mm(w.sd_mm),
        percent(w.p),
    )];
    if let Some((name, p)) = &w.runner_up {
        if *p > 0.05 {
            lines.push(format!("The {name} mark is next, at {}.", percent(*p)));
        }
    }
    lines.push(format!(
        "The mark for {shot_at} is {}. Read the scale before you move the sight.",
        numbers.at(right.reading_mm)
    ));
    lines.extend(suspect_lines(&fitted, &numbers));
    for line in lines {
        page.push_str(&wrap(&line, width, 2));
    }
    Ok(page)
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

pub(crate) fn flight(fitted: &goldward_core::marks::Fitted) -> Result<Flight, Failure> {
    fitted.flight().map_err(|e| cannot("the arrow's flight cannot be told from the marks", "marks", &e))
}

/// `goldward marks wind`.
///
/// # Errors
/// [`Failure`].
pub fn wind(args: &WindArgs, width: usize) -> Result<String, Failure> {
    let (_, setup, fitted) = open_fitted(&args.book)?;
    let title = "the wind cannot be reckoned";
    let wind = Wind::new(args.along, args.cross).map_err(|e| cannot(title, "--cross, --along", &e))?;
    let gust = Gust::new(wind, 0.0, args.gust).map_err(|e| cannot(title, "--gust", &e))?;
    let aid = wind_aid(&flight(&fitted)?, &setup.sight, args.distance.distance(), &gust)
        .map_err(|e| cannot(title, "--distance", &e))?;
    let spread = [aid.effect.cov.xx.sqrt(), aid.effect.cov.yy.sqrt()];
    if args.book.json {
        return json(&WindOut {
            schema: SCHEMA,
            distance_m: args.distance.m(),
            drift_mm: pair(aid.effect.mean),
            spread_mm: spread,
            across_mm_per_m_s: aid.effect.across_mm_per_m_s,
            aim_off_mm: pair(aid.aim_off),
            pin_mm: pair(aid.pin_mm),
            clicks: aid.clicks,
            left_over_mm: pair(aid.left_over),
        });
    }
    let mut page = String::new();
    let mut lines = vec![
        format!("At {} this wind lands an arrow aimed for still air {}.", args.distance, place(aid.effect.mean)),
        format!(
            "Aim off: {}. Or move the sight: {}, which leaves {}.",
            aim(aid.aim_off),
            clicks(aid.clicks),
            left(aid.left_over)
        ),
        format!("Each m/s more across moves the arrow {} mm.", mm(aid.effect.across_mm_per_m_s.abs())),
    ];
    if args.gust > 0.0 {
        lines.push(format!("The gusts spread the arrows by {} mm across, one standard deviation.", mm(spread[0])));
    }
    lines.push(
        "A wind that comes and goes is aimed off; a steady one may be dialled in, and is dialled out again at the next distance. \
         The arrow is flown as a point: its turning into the wind is not."
            .to_owned(),
    );
    for line in lines {
        page.push_str(&wrap(&line, width, 0));
    }
    Ok(page)
}

/// Where to aim: `59 mm to the left`.
fn aim(p: Point) -> String {
    match place(p).as_str() {
        "in the middle" => "not at all".to_owned(),
        text => text.to_owned(),
    }
}

fn left(p: Point) -> String {
    match place(p).as_str() {
        "in the middle" => "nothing over".to_owned(),
        text => text.to_owned(),
    }
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
pub fn slope(args: &SlopeArgs, width: usize) -> Result<String, Failure> {
    let (_, setup, fitted) = open_fitted(&args.book)?;
    let title = "the slope cannot be reckoned";
    let radians = args.angle.to_radians();
    let here = args.distance;
    let aid = slope_mark(&flight(&fitted)?, &setup.sight, here.distance(), radians)
        .map_err(|e| cannot(title, "--distance, --angle", &e))?;
    let on = fitted.predict_on(here.m(), radians).map_err(|e| cannot(title, "--distance, --angle", &e))?;
    let level = fitted.predict(here.m()).map_err(|e| cannot(title, "--distance", &e))?;
    if args.book.json {
        return json(&SlopeOut {
            schema: SCHEMA,
            distance_m: here.m(),
            slope_deg: args.angle,
            reading: setup.scale.number_at(on.reading_mm),
            reading_mm: on.reading_mm,
            sd_mm: on.sd_mm,
            level_reading_mm: level.reading_mm,
            level_m: aid.level_m,
            cosine_m: aid.cosine_m,
            cosine_error_mm: aid.cosine_error_mm,
            extrapolated: on.extrapolated,
        });
    }
    let numbers = Numbers::new(setup.scale);
    let way = if args.angle < 0.0 { "downhill" } else { "uphill" };
    let [low, high] = numbers.interval(on.interval_mm);
    let unit = |metres: f64| {
        let (number, unit) = if here.is_yards() { (metres / 0.9144, "yd") } else { (metres, "m") };
        format!("{number:.1} {unit}")
    };
    let angle = goldward_core::units::trim_number(args.angle.abs());
    let mut lines = vec![
        format!("{here}, {angle} degrees {way}: {} (80 % between {low} and {high}).", numbers.at(on.reading_mm)),
        match aid.level_m {
            Some(metres) => format!(
                "That is the mark of {} on the level; on the level {here} would be {}.",
                unit(metres),
                numbers.at(level.reading_mm)
            ),
            None => format!(
                "No mark on the level is like it; on the level {here} would be {}.",
                numbers.at(level.reading_mm)
            ),
        },
        format!(
            "The rule of the cosine says {}: with its mark the arrow would land {}.",
            unit(aid.cosine_m),
            place(Point::new(0.0, aid.cosine_error_mm))
        ),
    ];
    if on.extrapolated {
        lines.push("The distance lies beyond your marks.".to_owned());
    }
    lines.push("A draw that changes with the slope changes the mark too: bend at the waist.".to_owned());
    lines.push(CAUTION.to_owned());
    let mut page = String::new();
    for line in lines {
        page.push_str(&wrap(&line, width, 0));
    }
    Ok(page)
}
