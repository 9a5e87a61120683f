//! Aids at the line: wind, slope, the wrong mark.

use goldward_core::flight::{Gust, Wind};
use goldward_core::marks::MarksError;
use goldward_core::units::trim_number;
use goldward_session::marks::quantity::Range;
use leptos::prelude::*;

use super::super::shoot::sessions;
use super::super::state::{Screen, app};
use super::super::widgets::{Asked, NumberField};
use super::super::{fitted, told};
use crate::numbers::distances;
use crate::pages::{Item, aids, controls, html};
use crate::words::{Word, error};

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
        let range = |d: f64| if imperial { Range::yards(d) } else { Range::metres(d) };
        let Some(at) = distance.told().and_then(|d| range(d).ok()) else {
            return Vec::new();
        };
        kit.with_value(|kit| {
            let known = match kit {
                Some((.., Some(Ok(known)))) => known,
                Some((.., Some(Err(e)))) => {
                    return vec![Item::Note(app.f(Word::MarkFailed, &[&error::marks(app.language(), e)]))];
                }
                _ => return vec![Item::Note(app.t(Word::MarksNeedArrow).to_owned())],
            };
            told::tell(app, |t| {
                let title = |word| Item::Heading(app.t(word).to_owned());
                let or = |told: Result<Vec<Item>, MarksError>| told.unwrap_or_else(|e| aids::failed(t, &e));
                let mut items = vec![title(Word::WindTitle)];
                if let Some(v) = wind {
                    let gust = Wind::from_clock(v, f64::from(hour.get())).and_then(|w| Gust::new(w, 0.0, 0.0));
                    let aid = gust.map_err(MarksError::from).and_then(|g| aids::wind_at(known, at, &g));
                    items.extend(or(aid.map(|aid| aids::wind(t, at, &aid, false))));
                }
                items.push(title(Word::SlopeTitle));
                if let Some(v) = slope {
                    items.extend(or(aids::slope_at(known, at, v).map(|found| aids::slope(t, known, at, v, &found))));
                }
                items.push(title(Word::WrongTitle));
                if let Some(high) = high.map(|h| h * inch) {
                    // Without a group at hand its height is known to about half a milliradian.
                    let sd = group.map_or(0.5 * at.m(), |(_, sd)| sd).clamp(1.0, 1e4);
                    let found = aids::wrong_at(t, known, at, [high, sd], &[]);
                    items.extend(or(found.map(|found| aids::wrong(t, known, at, high, &[], &found))));
                }
                items
            })
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
