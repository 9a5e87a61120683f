//! The kit file, in TOML. The keys are described in `docs/kit.md`.

use std::collections::BTreeMap;

use goldward_core::units::{Length, Spread};
use goldward_core::usual::{Bow, Level};
use toml::{Spanned, Value};

use crate::keys::{self, Key};
use crate::kit::{Hand, Kit, parse_trust};
use crate::problem::{Place, Problem, What, nearest, short};

/// Reads a kit file.
///
/// # Errors
/// Every [`Problem`] found, each with its line and key.
pub fn parse(text: &str) -> Result<Kit, Vec<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line_of = |at: usize| 1 + text.bytes().take(at).filter(|b| *b == b'\n').count();
    let table: BTreeMap<String, Spanned<Value>> = toml::from_str(text).map_err(|e| {
        let place = e.span().map_or(Place::Nowhere, |s| Place::Line(line_of(s.start)));
        vec![Problem::new(place, What::NoToml { said: e.message().replace('\n', ", "), page: "docs/kit.md" })]
    })?;
    let mut kit = Kit::default();
    let mut problems = Vec::new();
    for (key, value) in &table {
        let place = Place::Key { line: Some(line_of(value.span().start)), key: key.clone() };
        if let Err(problem) = set(&mut kit, key, value.get_ref()) {
            problems.push((value.span().start, problem.at(place)));
        }
    }
    problems.sort_by_key(|(at, _)| *at);
    let mut problems: Vec<Problem> = problems.into_iter().map(|(_, p)| p).collect();
    for (scale, name) in [(&kit.windage, "windage"), (&kit.elevation, "elevation")] {
        if problems.is_empty() && scale.reading.is_some() && scale.readings(0.0).is_none() {
            let place = Place::Key { line: None, key: format!("{name}_reading") };
            problems.push(Problem::new(place, What::ReadingAlone(name)));
        }
    }
    if problems.is_empty() { Ok(kit) } else { Err(problems) }
}

fn set(kit: &mut Kit, key: &str, value: &Value) -> Result<(), Problem> {
    let Some(field) = keys::of_kit_file().find(|f| f.file == key) else {
        let known: Vec<&str> = keys::of_kit_file().map(|f| f.file).collect();
        return Err(Problem::new("", What::UnknownKey { near: nearest(key, known.iter().copied()), known }));
    };
    let wrong = || Problem::new("", What::Unusable(short(&value.to_string()))).good(field.in_file);
    let unit = |e: goldward_core::units::UnitError| Problem::new("", e).good(field.in_file);
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
        Value::String(text) => text.parse::<Length>().map_err(unit),
        _ => Length::from_mm(number()?).map_err(unit),
    };
    let numbers = |of: &mut [f64]| {
        let list = value.as_array().filter(|l| l.len() == of.len()).ok_or_else(wrong)?;
        for (into, from) in of.iter_mut().zip(list) {
            *into = from.as_float().or_else(|| from.as_integer().map(|n| n as f64)).ok_or_else(wrong)?;
        }
        Ok::<_, Problem>(())
    };
    let odds = || {
        let mut odds = [0.0; 3];
        numbers(&mut odds)?;
        goldward_core::group::ClassOdds::new(odds).map_err(|_| wrong())?;
        Ok::<_, Problem>(odds)
    };
    let positive = || length().and_then(|l| if l.mm() > 0.0 { Ok(l.mm()) } else { Err(wrong()) });
    let wishes = &mut kit.wishes;
    match field.key {
        Key::Hand => kit.hand = Some(if one_of("right", "left")? { Hand::Right } else { Hand::Left }),
        Key::Shaft => wishes.shaft_mm = Some(length()?.mm()),
        Key::EyeToPin => wishes.eye_to_pin_mm = Some(length()?.mm()),
        Key::ClickWindage => wishes.click_windage_mm = Some(length()?.mm()),
        Key::ClickElevation => wishes.click_elevation_mm = Some(length()?.mm()),
        Key::SettingSd => wishes.setting_sd_mm = Some(length()?.mm()),
        Key::WindageGrows => kit.windage.grows_positive = Some(one_of("right", "left")?),
        Key::ElevationGrows => kit.elevation.grows_positive = Some(one_of("up", "down")?),
        Key::WindageReading => kit.windage.reading = Some(number()?),
        Key::ElevationReading => kit.elevation.reading = Some(number()?),
        Key::WindageUnit => kit.windage.unit_mm = Some(positive()?),
        Key::ElevationUnit => kit.elevation.unit_mm = Some(positive()?),
        Key::Spread => {
            let spread = match value {
                Value::String(text) => text.parse::<Spread>(),
                _ => Spread::from_mrad(number()?),
            };
            wishes.spread_mrad = Some(spread.map_err(unit)?.mrad());
        }
        Key::Worth => wishes.worth = Some(number()?),
        Key::Trust => {
            wishes.trust = Some(match value {
                Value::String(text) => parse_trust(text).map_err(|_| wrong())?,
                _ => number()?,
            });
        }
        Key::EndEffect
        | Key::BadMean
        | Key::BadSpread
        | Key::TouchGives
        | Key::EndDrift
        | Key::SpreadDoubt
        | Key::PatternShares => {
            let mut told = [0.0; 2];
            numbers(&mut told)?;
            if !told.iter().all(|x| field.takes(*x)) {
                return Err(wrong());
            }
            let into = match field.key {
                Key::EndEffect => &mut wishes.end_effect,
                Key::BadMean => &mut wishes.bad_mean,
                Key::BadSpread => &mut wishes.bad_spread,
                Key::TouchGives => &mut wishes.touch_gives,
                Key::EndDrift => &mut wishes.end_drift,
                Key::SpreadDoubt => &mut wishes.spread_doubt,
                _ => &mut wishes.pattern_shares,
            };
            *into = Some(told);
        }
        Key::Bow => wishes.bow = Some(value.as_str().and_then(Bow::named).ok_or_else(wrong)?),
        Key::Level => wishes.level = Some(value.as_str().and_then(Level::named).ok_or_else(wrong)?),
        Key::Habits => wishes.habits = Some(one_of("on", "off")?),
        Key::Unmarked => wishes.unmarked = Some(odds()?),
        Key::FeltBad => wishes.felt_bad = Some(odds()?),
        Key::FeltGood => wishes.felt_good = Some(odds()?),
        Key::TouchCost => wishes.touch_cost_points = Some(number()?),
        _ => return Err(wrong()),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_core::group::TRUST_VERIFIED;

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
    fn pairs_are_two_numbers_within_their_range() {
        let kit = parse("touch_gives = [1.1, 1]\nend_drift = [0, -0.1]\nspread_doubt = [0.4, 0.3]\n").unwrap();
        assert_eq!(kit.wishes.touch_gives, Some([1.1, 1.0]));
        assert_eq!((kit.wishes.end_drift, kit.wishes.spread_doubt), (Some([0.0, -0.1]), Some([0.4, 0.3])));
        for key in
            ["touch_gives", "end_drift", "spread_doubt", "pattern_shares", "end_effect", "bad_mean", "bad_spread"]
        {
            for odd in ["1", "\"down\"", "[]", "[1]", "[1, 1, 1]", "[1, 1e9]", "[nan, 1]", "[1, \"2\"]", "{}", "-inf"] {
                let problems = parse(&format!("{key} = {odd}\n")).unwrap_err();
                let at = Place::Key { line: Some(1), key: key.to_owned() };
                assert!(problems.len() == 1 && problems[0].place == at, "{key} = {odd}: {problems:?}");
                assert!(problems[0].good.is_some(), "{key} = {odd}: {problems:?}");
            }
        }
    }

    #[test]
    fn every_bad_key_is_named_with_its_line() {
        let problems =
            parse("hand = \"up\"\nshafft = 5\ntrust = \"some\"\nworth = nan\nshaft = \"5 parsecs\"\n").unwrap_err();
        let at = |line, key: &str| Place::Key { line: Some(line), key: key.to_owned() };
        let places: Vec<&Place> = problems.iter().map(|p| &p.place).collect();
        assert_eq!(
            places,
            [&at(1, "hand"), &at(2, "shafft"), &at(3, "trust"), &at(4, "worth"), &at(5, "shaft")],
            "{problems:?}"
        );
        let What::UnknownKey { near: Some("shaft"), known } = &*problems[1].what else { panic!("{problems:?}") };
        assert!(known.contains(&"eye_to_pin"));
        assert!(matches!(*problems[4].what, What::Unit(_)) && problems[4].good == Some(keys::Good::Length("5.5mm")));
        assert_eq!(*parse("windage_reading = 3\n").unwrap_err()[0].what, What::ReadingAlone("windage"));
        assert_eq!(parse("hand = right\n").unwrap_err()[0].place, Place::Line(1));
    }
}
