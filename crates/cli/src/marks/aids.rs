//! Aids at the line: the wrong mark, wind and slopes.

use goldward_core::flight::{Flight, Gust, Wind};
use goldward_core::marks::{Candidate, slope_mark, wind_aid};
use goldward_core::plane::Point;
use serde::Serialize;

use super::args::{SlopeArgs, WindArgs, WrongArgs};
use super::pages::suspect_lines;
use super::{Said, json, open_fitted};
use crate::failure::Failure;
use crate::wire::SCHEMA;
use crate::words::{mm, wrap};
use goldward_report::words::{self, Phrase};
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
pub fn wrong(args: &WrongArgs, said: Said) -> Result<String, Failure> {
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
    let l = said.language;
    let middle = said.height(0.0);
    let lies = match said.height(args.offset_mm) {
        how if how == middle => Phrase::GroupMiddle.text(l).to_owned(),
        how => said.with(Phrase::GroupLies, &[&how]),
    };
    let at = said.number(&shot_at.to_string());
    let Some(w) = found else {
        let known: Vec<String> = ranges.iter().filter(|r| !r.same_as(shot_at)).map(ToString::to_string).collect();
        let known = if known.is_empty() {
            Phrase::NoOtherMark.text(l).to_owned()
        } else {
            said.with(Phrase::ComparedWith, &[&known.iter().map(|k| said.number(k)).collect::<Vec<_>>().join(", ")])
        };
        return Ok(wrap(&said.with(Phrase::NotWrongMark, &[&lies, &at, &known]), said.width, 0));
    };
    let numbers = Numbers::new(setup.scale);
    let name = said.number(&w.name);
    let mut page = wrap(&said.with(Phrase::LooksLikeMark, &[&name, &at]), said.width, 0);
    let right = fitted.predict(shot_at.m()).map_err(|e| cannot("the mark cannot be told", "--distance", &e))?;
    let (expected, sd) = (said.height(w.expected_mm), said.number(&mm(w.sd_mm)));
    let mut lines = vec![said.with(Phrase::WouldPutIt, &[&lies, &at, &name, &expected, &sd, &said.percent(w.p)])];
    if let Some((name, p)) = &w.runner_up {
        if *p > 0.05 {
            lines.push(said.with(Phrase::NextMark, &[&said.number(name), &said.percent(*p)]));
        }
    }
    lines.push(said.with(Phrase::MarkForIs, &[&at, &said.number(&numbers.at(right.reading_mm))]));
    lines.extend(suspect_lines(said, &fitted, &numbers));
    for line in lines {
        page.push_str(&wrap(&line, said.width, 2));
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
pub fn wind(args: &WindArgs, said: Said) -> Result<String, Failure> {
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
    let l = said.language;
    let place = |p: Point| words::place_mm(l, p);
    // What is in the middle has another word here.
    let or = |p: Point, none: Phrase| {
        let text = place(p);
        if text == place(Point::default()) { none.text(l).to_owned() } else { text }
    };
    let mut lines = vec![
        said.with(Phrase::WindLands, &[&said.number(&args.distance.to_string()), &place(aid.effect.mean)]),
        said.with(
            Phrase::AimOff,
            &[
                &or(aid.aim_off, Phrase::NotAtAll),
                &words::clicks(l, aid.clicks),
                &or(aid.left_over, Phrase::NothingOver),
            ],
        ),
        said.with(Phrase::EachMetreASecond, &[&said.number(&mm(aid.effect.across_mm_per_m_s.abs()))]),
    ];
    if args.gust > 0.0 {
        lines.push(said.with(Phrase::GustsSpread, &[&said.number(&mm(spread[0]))]));
    }
    lines.push(Phrase::WindNote.text(l).to_owned());
    let mut page = String::new();
    for line in lines {
        said.put(&mut page, &line);
    }
    Ok(page)
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
pub fn slope(args: &SlopeArgs, said: Said) -> Result<String, Failure> {
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
    let l = said.language;
    let [low, high] = numbers.interval(on.interval_mm).map(|n| said.number(&n));
    let unit = |metres: f64| {
        let (number, unit) = if here.is_yards() { (metres / 0.9144, "yd") } else { (metres, "m") };
        format!("{} {unit}", l.decimals(number, 1))
    };
    let angle = said.number(&goldward_core::units::trim_number(args.angle.abs()));
    let at = |mm: f64| said.number(&numbers.at(mm));
    let (far, level) = (said.number(&here.to_string()), at(level.reading_mm));
    let way = if args.angle < 0.0 { Phrase::SlopeDown } else { Phrase::SlopeUp };
    let mut lines = vec![
        said.with(way, &[&far, &angle, &at(on.reading_mm), &low, &high]),
        match aid.level_m {
            Some(metres) => said.with(Phrase::LevelIs, &[&unit(metres), &far, &level]),
            None => said.with(Phrase::LevelNone, &[&far, &level]),
        },
        said.with(Phrase::CosineSays, &[&unit(aid.cosine_m), &said.height(aid.cosine_error_mm)]),
    ];
    if on.extrapolated {
        lines.push(Phrase::DistanceBeyond.text(l).to_owned());
    }
    lines.extend([Phrase::BendAtWaist, Phrase::MarksCaution].map(|p| p.text(l).to_owned()));
    let mut page = String::new();
    for line in lines {
        said.put(&mut page, &line);
    }
    Ok(page)
}
