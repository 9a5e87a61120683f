//! Aids at the line: wind, slope, the wrong mark.

use goldward_core::units::{Distance, trim_number};
use leptos::prelude::*;

use super::super::shoot::sessions;
use super::super::state::{Screen, app};
use super::super::widgets::{Asked, NumberField};
use super::super::{fitted, told};
use crate::numbers::{distances, metres};
use crate::pages::{Item, aids, controls, html};
use crate::words::Word;

/// Millimetres of an inch, metres of a yard.
const INCH: f64 = 25.4;
const YARD: f64 = 0.9144;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
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
    let (unit, range) = distances(imperial);
    let first = tenth(last.as_ref().map_or(50.0, |s| s.distance_m) / yard);
    let distance = Asked::new("aid-distance", Word::Distance, unit, range, first).needed().kept();
    let wind = Asked::new("wind", Word::WindSpeed, "m/s", (0.0, 30.0), tenth(3.0)).needed().kept();
    let slope = Asked::new("slope", Word::SlopeAngle, "°", (-60.0, 60.0), tenth(10.0)).needed().kept();
    let (unit, most) = if imperial { ("in", 200.0) } else { ("mm", 5000.0) };
    let first = group.map_or(String::new(), |(y, _)| tenth(y / inch));
    let high = Asked::new("high", Word::WrongHeight, unit, (-most, most), first).kept();
    let hour = RwSignal::new(3_u32);
    let kit = StoredValue::new(fitted::current(app, last.and_then(|s| s.kit)));
    let said = move || {
        // What is wrong is said at the field that it is wrong in.
        let (wind, slope, high) = (wind.told(), slope.told(), high.told());
        let Some(d) = distance.told().and_then(|d| Distance::from_metres(metres(d, imperial)).ok()) else {
            return Vec::new();
        };
        kit.with_value(|kit| {
            let (kit, fitted) = match kit {
                Some((_, kit, _, Some(Ok(fitted)))) => (kit, fitted),
                Some((_, _, _, Some(Err(e)))) => return vec![Item::Note(app.f(Word::MarkFailed, &[&e.to_string()]))],
                _ => return vec![Item::Note(app.t(Word::MarksNeedArrow).to_owned())],
            };
            let mut items = vec![Item::Heading(app.t(Word::WindTitle).to_owned())];
            told::tell(app, |teller| {
                if let Some(v) = wind {
                    items.extend(aids::wind(teller, kit, fitted, d, v, hour.get()));
                }
                items.push(Item::Heading(app.t(Word::SlopeTitle).to_owned()));
                if let Some(v) = slope {
                    items.extend(aids::slope(teller, kit, fitted, d, v));
                }
                items.push(Item::Heading(app.t(Word::WrongTitle).to_owned()));
                if let Some(high) = high {
                    // Without a group at hand its height is known to about half a milliradian.
                    let sd = group.map_or(0.5 * d.metres(), |(_, sd)| sd);
                    items.extend(aids::wrong(teller, kit, fitted, d, high * inch, sd));
                }
            });
            items
        })
    };
    let hours: Vec<(String, String)> = (1..=12).map(|h| (h.to_string(), h.to_string())).collect();
    let clock = controls::select("hour", app.t(Word::WindFrom), &hours, "3");
    view! {
        <div class="page">
            <NumberField of=distance/>
            <NumberField of=wind/>
            {told::region("spoken", Box::new(move || clock.clone()), Box::new(move |_, value| hour.set(value.parse().unwrap_or(3))))}
            <NumberField of=slope/>
            <NumberField of=high/>
            <div class="spoken" id="said" aria-live="polite" inner_html=move || html(&said())></div>
            <div inner_html=told::links(app, &[Screen::Marks])></div>
        </div>
    }
}
