//! Aids at the line: wind, slope, the wrong mark.

use goldward_core::units::{Distance, parse_decimal, trim_number};
use leptos::prelude::*;

use super::super::shoot::sessions;
use super::super::state::{Screen, app};
use super::{marks, told};
use crate::pages::{Item, aids, controls};
use crate::words::Word;

/// Millimetres of an inch, metres of a yard.
const INCH: f64 = 25.4;
const YARD: f64 = 0.9144;

/// The page.
pub(in crate::app) fn view() -> AnyView {
    let app = app();
    let (l, imperial) = (app.language(), app.imperial());
    let (yard, inch) = if imperial { (YARD, INCH) } else { (1.0, 1.0) };
    let last = app.sheet.with_untracked(|s| s.as_ref().map(|s| s.session.clone()));
    let last = last.or_else(|| sessions(app).into_iter().next().map(|(_, s)| s));
    let tenth = |v: f64| l.number(&trim_number((10.0 * v).round() / 10.0));
    // The group being shot is the one asked about.
    let group = app.said.with_untracked(|s| {
        let reading = s.answer.as_ref().map(|a| &a.reading).filter(|r| r.shots > 0)?;
        Some((reading.centre.y_mm, reading.centre_cov.yy.sqrt()))
    });
    let first = [
        ("aid-distance", tenth(last.as_ref().map_or(50.0, |s| s.distance_m) / yard)),
        ("wind", tenth(3.0)),
        ("hour", "3".to_owned()),
        ("slope", tenth(10.0)),
        ("high", group.map_or(String::new(), |(y, _)| tenth(y / inch))),
    ];
    let typed = RwSignal::new(first.map(|(k, v)| (k.to_owned(), v)).to_vec());
    let value =
        move |t: &[(String, String)], of: &str| t.iter().find(|x| x.0 == of).map_or(String::new(), |x| x.1.clone());
    let kit = StoredValue::new(marks::current(app, last.and_then(|s| s.kit)));
    let number = move |of: &str| typed.with(|t| parse_decimal(&value(t, of).replace('−', "-")));
    let form = move || {
        typed.with_untracked(|t| {
            let of = |id: &str, label: Word, unit: &str| controls::field(id, app.t(label), &value(t, id), unit);
            let hours: Vec<(String, String)> = (1..=12).map(|h| (h.to_string(), h.to_string())).collect();
            [
                of("aid-distance", Word::Distance, if imperial { "yd" } else { "m" }),
                of("wind", Word::WindSpeed, "m/s"),
                controls::select("hour", app.t(Word::WindFrom), &hours, &value(t, "hour")),
                of("slope", Word::SlopeAngle, "°"),
                of("high", Word::WrongHeight, if imperial { "in" } else { "mm" }),
            ]
            .concat()
        })
    };
    let said = move || {
        let note = |word: Word, low: &str, high: &str| Item::Note(app.f(Word::BadNumber, &[app.t(word), low, high]));
        let Some(d) = number("aid-distance").and_then(|d| Distance::from_metres(d * yard).ok()) else {
            return vec![note(Word::Distance, "1", "400")];
        };
        kit.with_value(|kit| {
            let (kit, fitted) = match kit {
                Some((_, kit, _, Some(Ok(fitted)))) => (kit, fitted),
                Some((_, _, _, Some(Err(e)))) => return vec![Item::Note(app.f(Word::MarkFailed, &[&e.to_string()]))],
                _ => return vec![Item::Note(app.t(Word::MarksNeedArrow).to_owned())],
            };
            let mut items = vec![Item::Heading(app.t(Word::WindTitle).to_owned())];
            told::tell(app, |teller| {
                let hour = number("hour").map_or(3, |h| h as u32);
                match number("wind") {
                    Some(v) if (0.0..=30.0).contains(&v) => items.extend(aids::wind(teller, kit, fitted, d, v, hour)),
                    _ => items.push(note(Word::WindSpeed, "0", "30")),
                }
                items.push(Item::Heading(app.t(Word::SlopeTitle).to_owned()));
                match number("slope") {
                    Some(v) if v.abs() <= 60.0 => items.extend(aids::slope(teller, kit, fitted, d, v)),
                    _ => items.push(note(Word::SlopeAngle, "−60", "60")),
                }
                items.push(Item::Heading(app.t(Word::WrongTitle).to_owned()));
                if let Some(high) = number("high") {
                    // Without a group at hand its height is known to about half a milliradian.
                    let sd = group.map_or(0.5 * d.metres(), |(_, sd)| sd);
                    items.extend(aids::wrong(teller, kit, fitted, d, high * inch, sd));
                }
            });
            items
        })
    };
    let act = move |name: &str, value: &str| {
        typed.update(|t| {
            for x in t.iter_mut().filter(|x| x.0 == name) {
                x.1 = value.to_owned();
            }
        });
    };
    told::page(Box::new(form), None, Box::new(act), Box::new(said), &[Screen::Marks])
}
