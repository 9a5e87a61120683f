//! The kit file: what an archer's equipment is, in TOML. The keys are described in `docs/kit.md`.

use std::collections::BTreeMap;

use goldward_core::group::{TRUST_PREDICTED, TRUST_UNKNOWN, TRUST_VERIFIED};
use goldward_core::units::{Length, Spread, parse_decimal};
use toml::{Spanned, Value};

use crate::failure::{Problem, quote};
use crate::settings::Wishes;

/// The keys of a kit file, each with what a good value looks like.
pub const KEYS: [(&str, &str); 18] = [
    ("hand", "write \"right\" or \"left\""),
    ("shaft", "write the diameter, such as \"5.5mm\""),
    ("eye_to_pin", "write the distance, such as \"88cm\""),
    ("click_windage", "write what a click moves the pin, such as \"0.1mm\""),
    ("click_elevation", "write what a click moves the pin, such as \"0.1mm\""),
    ("setting_sd", "write a length, such as \"0.05mm\""),
    ("windage_grows", "write \"right\" or \"left\": where the pin goes when the scale's number grows"),
    ("elevation_grows", "write \"up\" or \"down\": where the pin goes when the scale's number grows"),
    ("windage_reading", "write the number on the scale, such as 12.4"),
    ("elevation_reading", "write the number on the scale, such as 53.5"),
    ("windage_unit", "write how far the pin moves when the number grows by 1, such as \"1mm\""),
    ("elevation_unit", "write how far the pin moves when the number grows by 1, such as \"1mm\""),
    ("spread_mrad", "write a number of milliradians, such as 2.1"),
    ("worth", "write a number of arrows, such as 40"),
    ("trust", "write a number of arrows, or \"unknown\", \"predicted\" or \"verified\""),
    ("touch_cost_points", "write a number of points, such as 0.5"),
    ("felt_bad", "write the chances of clean, flyer and stray when it felt bad, such as [0.3, 0.6, 0.1]"),
    ("felt_good", "write the chances of clean, flyer and stray when it felt good, such as [0.985, 0.01, 0.005]"),
];

/// Which hand draws the bow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// The right hand draws.
    Right,
    /// The left hand draws.
    Left,
}

/// One scale of the sight.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Scale {
    /// Whether its number grows when the pin goes right (windage) or up (elevation).
    pub grows_positive: Option<bool>,
    /// What it reads now.
    pub reading: Option<f64>,
    /// Millimetres of the pin for 1 on the scale.
    pub unit_mm: Option<f64>,
}

impl Scale {
    /// What the scale will read after the pin has moved `pin_mm` (right or up), and what it reads now, when the kit tells
    /// enough.
    #[must_use]
    pub fn readings(&self, pin_mm: f64) -> Option<(f64, f64)> {
        let sign = if self.grows_positive? { 1.0 } else { -1.0 };
        let now = self.reading?;
        Some((now, now + sign * pin_mm / self.unit_mm?))
    }
}

/// A kit: settings, and what the page needs to speak of scales.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Kit {
    /// Which hand draws.
    pub hand: Option<Hand>,
    /// Settings for the reading.
    pub wishes: Wishes,
    /// The windage scale.
    pub windage: Scale,
    /// The elevation scale.
    pub elevation: Scale,
}

/// Reads a trust: a number of arrows, or one of the words unknown, predicted and verified.
///
/// # Errors
/// What is wrong and the remedy, in words.
pub fn parse_trust(text: &str) -> Result<f64, String> {
    match text.trim().to_lowercase().as_str() {
        "unknown" => Ok(TRUST_UNKNOWN),
        "predicted" => Ok(TRUST_PREDICTED),
        "verified" => Ok(TRUST_VERIFIED),
        number => parse_decimal(number)
            .ok_or_else(|| "it is no trust: write a number of arrows, or unknown, predicted or verified".to_owned()),
    }
}

/// Reads a kit file.
///
/// # Errors
/// Every [`Problem`] found, each with its line and key.
pub fn parse(text: &str) -> Result<Kit, Vec<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line_of = |at: usize| 1 + text.bytes().take(at).filter(|b| *b == b'\n').count();
    let table: BTreeMap<String, Spanned<Value>> = toml::from_str(text).map_err(|e| {
        let line = e.span().map_or_else(String::new, |s| format!("line {}", line_of(s.start)));
        vec![Problem::new(
            line,
            e.message().replace('\n', ", "),
            "write one key = value a line, text in quotes (docs/kit.md)",
        )]
    })?;
    let mut kit = Kit::default();
    let mut problems = Vec::new();
    for (key, value) in &table {
        let place = format!("line {}, key {key}", line_of(value.span().start));
        if let Err(problem) = set(&mut kit, key, value.get_ref()) {
            problems.push((value.span().start, Problem { place, ..problem }));
        }
    }
    problems.sort_by_key(|(at, _)| *at);
    let mut problems: Vec<Problem> = problems.into_iter().map(|(_, p)| p).collect();
    for (scale, name) in [(&kit.windage, "windage"), (&kit.elevation, "elevation")] {
        if problems.is_empty() && scale.reading.is_some() && scale.readings(0.0).is_none() {
            problems.push(Problem::new(
                format!("key {name}_reading"),
                "a reading alone does not say where the scale goes",
                format!("give {name}_grows and {name}_unit too, or leave it out"),
            ));
        }
    }
    if problems.is_empty() { Ok(kit) } else { Err(problems) }
}

fn set(kit: &mut Kit, key: &str, value: &Value) -> Result<(), Problem> {
    let Some((_, remedy)) = KEYS.iter().find(|(k, _)| *k == key) else {
        let known = KEYS.map(|(k, _)| k).join(", ");
        let near = KEYS.iter().map(|(k, _)| (strsim::damerau_levenshtein(k, key), *k)).min();
        let hint = match near {
            Some((d, k)) if d <= 3 => format!("did you mean {k}? The keys are {known}"),
            _ => format!("the keys are {known}"),
        };
        return Err(Problem::new("", "unknown key", hint));
    };
    let wrong = || Problem::new("", format!("{} cannot be used", quote(&value.to_string())), *remedy);
    let one_of = |yes: &str, no: &str| match value.as_str().map(str::to_lowercase).as_deref() {
        Some(word) if word == yes => Ok(true),
        Some(word) if word == no => Ok(false),
        _ => Err(wrong()),
    };
    let number = || match value {
        Value::Integer(n) => Ok(*n as f64),
        Value::Float(x) if x.is_finite() => Ok(*x),
        _ => Err(wrong()),
    };
    let length = || match value {
        Value::String(text) => text.parse::<Length>().map_err(|e| Problem::from_core("", &e)),
        _ => Length::from_mm(number()?).map_err(|e| Problem::from_core("", &e)),
    };
    let odds = || {
        let list = value.as_array().filter(|l| l.len() == 3).ok_or_else(wrong)?;
        let mut odds = [0.0; 3];
        for (into, from) in odds.iter_mut().zip(list) {
            *into = from.as_float().or_else(|| from.as_integer().map(|n| n as f64)).ok_or_else(wrong)?;
        }
        goldward_core::group::ClassOdds::new(odds).map_err(|_| wrong())?;
        Ok(odds)
    };
    let positive = || length().and_then(|l| if l.mm() > 0.0 { Ok(l.mm()) } else { Err(wrong()) });
    let wishes = &mut kit.wishes;
    match key {
        "hand" => kit.hand = Some(if one_of("right", "left")? { Hand::Right } else { Hand::Left }),
        "shaft" => wishes.shaft_mm = Some(length()?.mm()),
        "eye_to_pin" => wishes.eye_to_pin_mm = Some(length()?.mm()),
        "click_windage" => wishes.click_windage_mm = Some(length()?.mm()),
        "click_elevation" => wishes.click_elevation_mm = Some(length()?.mm()),
        "setting_sd" => wishes.setting_sd_mm = Some(length()?.mm()),
        "windage_grows" => kit.windage.grows_positive = Some(one_of("right", "left")?),
        "elevation_grows" => kit.elevation.grows_positive = Some(one_of("up", "down")?),
        "windage_reading" => kit.windage.reading = Some(number()?),
        "elevation_reading" => kit.elevation.reading = Some(number()?),
        "windage_unit" => kit.windage.unit_mm = Some(positive()?),
        "elevation_unit" => kit.elevation.unit_mm = Some(positive()?),
        "spread_mrad" => {
            let spread = match value {
                Value::String(text) => text.parse::<Spread>(),
                _ => Spread::from_mrad(number()?),
            };
            wishes.spread_mrad = Some(spread.map_err(|e| Problem::from_core("", &e))?.mrad());
        }
        "worth" => wishes.worth = Some(number()?),
        "trust" => {
            wishes.trust = Some(match value {
                Value::String(text) => parse_trust(text).map_err(|_| wrong())?,
                _ => number()?,
            });
        }
        "felt_bad" => wishes.felt_bad = Some(odds()?),
        "felt_good" => wishes.felt_good = Some(odds()?),
        "touch_cost_points" => wishes.touch_cost_points = Some(number()?),
        _ => return Err(wrong()),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_kit_is_read() {
        let kit = parse(
            "hand = \"left\"\nshaft = \"5.5mm\"\neye_to_pin = \"88cm\"\nclick_windage = 0.1\nclick_elevation = \"0.01in\"\n\
             setting_sd = 0\nwindage_grows = \"left\"\nelevation_grows = \"down\"\nwindage_reading = 12.4\nwindage_unit = 1\n\
             spread_mrad = 2.1\nworth = 40\ntrust = \"verified\"\ntouch_cost_points = 1\n",
        )
        .unwrap();
        assert_eq!(kit.hand, Some(Hand::Left));
        assert_eq!(kit.wishes.eye_to_pin_mm, Some(880.0));
        assert_eq!(kit.wishes.trust, Some(TRUST_VERIFIED));
        assert!((kit.wishes.click_elevation_mm.unwrap() - 0.254).abs() < 1e-12);
        let (now, then) = kit.windage.readings(-0.2).unwrap();
        assert!((now - 12.4).abs() < 1e-12 && (then - 12.6).abs() < 1e-12, "the pin goes left, the number grows");
    }

    #[test]
    fn every_bad_key_is_named_with_its_line() {
        let problems =
            parse("hand = \"up\"\nshafft = 5\ntrust = \"some\"\nworth = nan\nshaft = \"5 parsecs\"\n").unwrap_err();
        let lines: Vec<String> = problems.iter().map(Problem::one_line).collect();
        assert_eq!(lines.len(), 5, "{lines:?}");
        assert!(lines[0].starts_with("line 1, key hand"), "{lines:?}");
        assert!(lines[1].contains("did you mean shaft") && lines[1].contains("eye_to_pin"), "{lines:?}");
        assert!(lines[4].contains("mm, cm, in or m"), "{lines:?}");
        assert!(parse("windage_reading = 3\n").unwrap_err()[0].remedy.contains("windage_grows"));
        assert!(parse("hand = right\n").unwrap_err()[0].one_line().starts_with("line 1"));
    }
}
