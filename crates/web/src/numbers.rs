//! Numbers as people type them: `70`, `9,8`, `5 1/2`, `88cm`. One reader for every field.

use goldward_core::units::parse_decimal;

use crate::words::{Language, Word, fill};

/// Why a field cannot be taken as it stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Misread {
    /// Nothing was typed where something is needed.
    Missing,
    /// It is no number.
    NotANumber(String),
    /// Its unit is none that fits.
    Unit {
        /// What was typed behind the number.
        typed: String,
        /// What the field asks for; empty where a plain number is meant.
        wanted: &'static str,
    },
    /// It is outside what can be.
    Range {
        /// The least.
        min: f64,
        /// The most.
        max: f64,
        /// The unit of both.
        unit: &'static str,
    },
}

impl Misread {
    /// What is wrong and what to do, in words.
    #[must_use]
    pub fn text(&self, l: Language) -> String {
        match self {
            Self::Missing => Word::NumberMissing.text(l).to_owned(),
            Self::NotANumber(typed) => fill(Word::NumberNone.text(l), &[typed, &l.number("9.8")]),
            Self::Unit { typed, wanted: "" } => fill(Word::NumberNoUnit.text(l), &[typed]),
            Self::Unit { typed, wanted } => fill(Word::NumberUnit.text(l), &[typed, wanted]),
            Self::Range { min, max, unit } => {
                let shown = |v: f64| l.number(&goldward_core::units::trim_number(v)).replace('-', "−");
                let most = format!("{} {unit}", shown(*max));
                fill(Word::NumberRange.text(l), &[&shown(*min), most.trim_end()])
            }
        }
    }
}

/// Units that mean the same kind of thing, each with how many of the first it holds. Exact by definition of the yard, the grain
/// and the knot.
const KINDS: [&[(&str, f64)]; 6] = [
    &[
        ("mm", 1.0),
        ("cm", 10.0),
        ("m", 1000.0),
        ("in", 25.4),
        ("inch", 25.4),
        ("inches", 25.4),
        ("zoll", 25.4),
        ("po", 25.4),
        ("\"", 25.4),
        ("″", 25.4),
        ("”", 25.4),
        ("ft", 304.8),
        ("feet", 304.8),
        ("yd", 914.4),
        ("yds", 914.4),
        ("yard", 914.4),
        ("yards", 914.4),
        ("meter", 1000.0),
        ("metre", 1000.0),
        ("metres", 1000.0),
        ("meters", 1000.0),
        ("mètres", 1000.0),
    ],
    &[("g", 1.0), ("gr", 0.064_798_91), ("gn", 0.064_798_91), ("grain", 0.064_798_91), ("grains", 0.064_798_91)],
    &[
        ("m/s", 1.0),
        ("km/h", 1.0 / 3.6),
        ("fps", 0.3048),
        ("ft/s", 0.3048),
        ("mph", 0.447_04),
        ("kn", 1852.0 / 3600.0),
        ("kt", 1852.0 / 3600.0),
    ],
    &[("mrad", 1.0), ("mm/m", 1.0)],
    &[("°", 1.0), ("deg", 1.0)],
    &[("%", 1.0)],
];

/// What a number typed with `unit` is to be multiplied with for a field that asks for `wanted`; nothing when they do not fit.
fn factor(unit: &str, wanted: &str) -> Option<f64> {
    let kind = KINDS.iter().find(|k| k.iter().any(|(name, _)| *name == wanted))?;
    let size = |of: &str| kind.iter().find(|(name, _)| *name == of).map(|(_, size)| *size);
    Some(size(unit)? / size(wanted)?)
}

/// A fraction written as one character.
fn vulgar(c: char) -> Option<f64> {
    Some(match c {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

/// Digits with at most one decimal point or comma.
fn plain(text: &str) -> Option<f64> {
    let digits = text.chars().filter(char::is_ascii_digit).count();
    let marks = text.chars().filter(|c| matches!(c, '.' | ',')).count();
    if digits == 0 || marks > 1 || digits + marks != text.chars().count() {
        return None;
    }
    parse_decimal(text)
}

/// `1/2`.
fn fraction(text: &str) -> Option<f64> {
    let (above, below) = text.split_once(['/', '⁄'])?;
    let whole = |t: &str| t.trim().parse::<u32>().ok();
    let (above, below) = (whole(above)?, whole(below)?);
    (below > 0).then(|| f64::from(above) / f64::from(below))
}

/// A number without sign and unit: `9,8`, `5 1/2`, `5-1/2`, `5½`, `3/8`.
fn amount(text: &str) -> Option<f64> {
    if let Some(c) = text.chars().last().filter(|c| vulgar(*c).is_some()) {
        let before = text[..text.len() - c.len_utf8()].trim();
        let whole = if before.is_empty() { 0.0 } else { f64::from(before.parse::<u32>().ok()?) };
        return Some(whole + vulgar(c)?);
    }
    if text.contains(['/', '⁄']) {
        return match text.split_once([' ', '-', '\u{a0}']) {
            Some((whole, part)) => Some(f64::from(whole.trim().parse::<u32>().ok()?) + fraction(part.trim())?),
            None => fraction(text),
        };
    }
    plain(text)
}

/// Reads what was typed into a field that asks for `unit` (empty: a plain number). Nothing typed is nothing.
///
/// # Errors
/// [`Misread`], which says what is wrong.
pub fn read(text: &str, unit: &'static str) -> Result<Option<f64>, Misread> {
    let typed = text.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let no = || Misread::NotANumber(typed.to_owned());
    let (sign, rest) = match typed.strip_prefix(['-', '−', '–']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, typed.strip_prefix('+').unwrap_or(typed).trim_start()),
    };
    // The number reaches to its last digit; what follows is a unit.
    let last = rest.char_indices().rev().find(|(_, c)| c.is_ascii_digit() || vulgar(*c).is_some()).ok_or_else(no)?;
    let (number, behind) = rest.split_at(last.0 + last.1.len_utf8());
    let behind = behind.trim();
    // `18.` is a number too.
    let behind =
        if unit.is_empty() || behind == "." || behind == "," { behind.trim_matches(['.', ',']) } else { behind };
    let value = amount(number.trim()).ok_or_else(no)?;
    let by = if behind.is_empty() || behind == unit {
        1.0
    } else {
        let wrong = || Misread::Unit { typed: behind.to_owned(), wanted: unit };
        factor(&behind.to_lowercase(), unit).ok_or_else(wrong)?
    };
    let value = sign * value * by;
    // No minus in front of nothing.
    Ok(Some(if value == 0.0 { 0.0 } else { value }))
}

/// Reads a field as [`read`] does and holds it to its range.
///
/// # Errors
/// [`Misread`]; nothing typed is one of them where something is `needed`.
pub fn within(text: &str, unit: &'static str, min: f64, max: f64, needed: bool) -> Result<Option<f64>, Misread> {
    match read(text, unit)? {
        None if needed => Err(Misread::Missing),
        Some(v) if !(min..=max).contains(&v) => Err(Misread::Range { min, max, unit }),
        value => Ok(value),
    }
}

/// The unit that shooting distances are asked for in, and what they may be: 1 m to 400 m.
#[must_use]
pub fn distances(imperial: bool) -> (&'static str, (f64, f64)) {
    if imperial { ("yd", (1.1, 437.0)) } else { ("m", (1.0, 400.0)) }
}

/// A distance in metres as it is asked for with [`distances`], to a thousandth: yards kept as metres do not come back as
/// 20.000000000000004.
#[must_use]
pub fn shown(metres: f64, imperial: bool) -> f64 {
    let shown = if imperial { metres / 0.9144 } else { metres };
    (shown * 1000.0).round() / 1000.0
}

/// Metres of a distance that was asked for with [`distances`].
#[must_use]
pub fn metres(shown: f64, imperial: bool) -> f64 {
    if imperial { shown * 0.9144 } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, unit: &'static str) -> f64 {
        read(text, unit).unwrap().unwrap()
    }

    #[test]
    fn numbers_are_read_as_people_write_them() {
        for (text, unit, wanted) in [
            ("70", "m", 70.0),
            (" 9,8 ", "", 9.8),
            ("9.8", "", 9.8),
            ("18.", "m", 18.0),
            ("88cm", "mm", 880.0),
            ("88 CM", "mm", 880.0),
            ("0,88 m", "mm", 880.0),
            ("5 1/2", "mm", 5.5),
            ("5-1/2", "mm", 5.5),
            ("5½", "mm", 5.5),
            ("½", "", 0.5),
            ("3/8", "in", 0.375),
            ("1/4 in", "mm", 6.35),
            ("1/4\"", "mm", 6.35),
            ("60yd", "m", 54.864),
            ("70 m", "yd", 70.0 / 0.9144),
            ("350 gr", "g", 350.0 * 0.064_798_91),
            ("200 fps", "m/s", 60.96),
            ("−3", "", -3.0),
            ("-3,5", "", -3.5),
            ("+4", "", 4.0),
            ("8 %", "%", 8.0),
            ("3 mm/m", "mrad", 3.0),
        ] {
            let got = value(text, unit);
            assert!((got - wanted).abs() < 1e-9, "{text}: {got}");
        }
        assert_eq!(read("  ", "m"), Ok(None));
        assert!(value("-0", "").is_sign_positive());
    }

    #[test]
    fn what_is_no_number_is_told_as_such() {
        for text in
            ["abc", "9l.8", "1,234.5", "5 1/0", "1/2/3", "5 6", "--3", "1e3", "NaN", "inf", "½½", "5.5 1/2", "∞"]
        {
            let error = read(text, "m").unwrap_err();
            assert!(matches!(error, Misread::NotANumber(_)), "{text}: {error:?}");
        }
        assert!(matches!(read("70 kg", "m"), Err(Misread::Unit { .. })));
        assert!(matches!(read("88cm", ""), Err(Misread::Unit { wanted: "", .. })));
        assert_eq!(within("0", "m", 1.0, 400.0, true), Err(Misread::Range { min: 1.0, max: 400.0, unit: "m" }));
        assert_eq!(within("", "m", 1.0, 400.0, true), Err(Misread::Missing));
        assert_eq!(within("", "m", 1.0, 400.0, false), Ok(None));
    }

    #[test]
    fn what_is_wrong_is_said_in_every_language() {
        for l in Language::ALL {
            for text in ["", "abc", "70 kg", "9999"] {
                let told = within(text, "m", 1.0, 400.0, true).unwrap_err().text(l);
                assert!(!told.contains('{') && told.chars().count() > 8, "{told}");
            }
        }
        let plain = within("2000", "", -1000.0, 1000.0, false).unwrap_err().text(Language::English);
        assert_eq!(plain, "From −1000 to 1000, please.");
    }

    #[test]
    fn nothing_that_is_typed_breaks_it() {
        for text in ["é1", "1é", "٣", "1\u{301}", "½é", "🏹1🏹", "-", "+", ".", ",", "/", "1/", "/2", "- 1 / 2 cm", "″"]
        {
            for unit in ["", "m", "mm", "%"] {
                let _ = within(text, unit, 0.0, 1.0, false);
            }
        }
    }
}
