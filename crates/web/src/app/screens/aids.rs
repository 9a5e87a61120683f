//! Aids at the line: wind, slope, the wrong mark.

use goldward_core::units::{Distance, parse_decimal};
use leptos::prelude::*;

use super::super::shoot::sessions;
use super::super::state::{Screen, app};
use super::super::widgets::{NumberField, Stepper};
use super::{marks, told};
use crate::pages::{Item, aids};
use crate::words::Word;

/// Millimetres of an inch, metres of a yard.
const INCH: f64 = 25.4;
const YARD: f64 = 0.9144;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let (l, imperial) = (app.language(), app.imperial());
    let last = app.sheet.with_untracked(|s| s.as_ref().map(|s| s.session.clone()));
    let last = last.or_else(|| sessions(app).into_iter().next().map(|(_, s)| s));
    let text = |v: f64| l.number(&goldward_core::units::trim_number(v));
    let metres = last.as_ref().map_or(50.0, |s| s.distance_m);
    let distance = RwSignal::new(text(if imperial { (10.0 * metres / YARD).round() / 10.0 } else { metres }));
    // The group being shot is the one asked about.
    let group = app.said.with_untracked(|s| {
        let reading = s.answer.as_ref().map(|a| &a.reading).filter(|r| r.shots > 0)?;
        Some((reading.centre.y_mm, reading.centre_cov.yy.sqrt()))
    });
    let high =
        group.map_or(String::new(), |(y, _)| text(if imperial { (10.0 * y / INCH).round() / 10.0 } else { y.round() }));
    let high = RwSignal::new(high);
    let speed = RwSignal::new(text(3.0));
    let hour = RwSignal::new(3_u32);
    let angle = RwSignal::new(text(10.0));
    let kit = StoredValue::new(marks::current(app, last.and_then(|s| s.kit)));
    let told = move |say: &dyn Fn(
        &crate::pages::Teller<'_>,
        &goldward_journal::Kit,
        &goldward_core::marks::Fitted,
        Distance,
    ) -> Vec<Item>| {
        let metres = parse_decimal(&distance.get()).map(|d| if imperial { d * YARD } else { d });
        let note = |text: String| vec![Item::Note(text)];
        let said = kit.with_value(|kit| match (kit, metres.and_then(|m| Distance::from_metres(m).ok())) {
            (_, None) => note(app.f(Word::BadNumber, &[app.t(Word::Distance), "1", "400"])),
            (Some((_, kit, _, Some(Ok(fitted)))), Some(d)) => told::tell(app, |teller| say(teller, kit, fitted, d)),
            (Some((_, _, _, Some(Err(e)))), _) => note(app.f(Word::MarkFailed, &[&e.to_string()])),
            _ => note(app.t(Word::MarksNeedArrow).to_owned()),
        });
        told::items(&said)
    };
    let bad =
        move |word: Word, low: &str, high: &str| vec![Item::Note(app.f(Word::BadNumber, &[app.t(word), low, high]))];
    let wind = move || {
        let (speed, hour) = (parse_decimal(&speed.get()), hour.get());
        told(&|teller, kit, fitted, d| match speed {
            Some(v) if (0.0..=30.0).contains(&v) => aids::wind(teller, kit, fitted, d, v, hour),
            _ => bad(Word::WindSpeed, "0", "30"),
        })
    };
    let slope = move || {
        let angle = parse_decimal(&angle.get());
        told(&|teller, kit, fitted, d| match angle {
            Some(v) if v.abs() <= 60.0 => aids::slope(teller, kit, fitted, d, v),
            _ => bad(Word::SlopeAngle, "−60", "60"),
        })
    };
    let wrong = move || {
        let high = parse_decimal(&high.get()).map(|v| if imperial { v * INCH } else { v });
        told(&|teller, kit, fitted, d| match high {
            // Without a group at hand its height is known to about half a milliradian.
            Some(v) => aids::wrong(teller, kit, fitted, d, v, group.map_or(0.5 * d.metres(), |(_, sd)| sd)),
            None => Vec::new(),
        })
    };
    view! {
        <div class="page">
            <NumberField id="aid-distance" label=Word::Distance value=distance unit=if imperial { "yd" } else { "m" }/>
            <h2>{app.t(Word::WindTitle)}</h2>
            <NumberField id="wind" label=Word::WindSpeed value=speed unit="m/s"/>
            <Stepper id="hour" label=Word::WindFrom value=hour min=1 max=12/>
            <div aria-live="polite" id="aid-wind">{wind}</div>
            <h2>{app.t(Word::SlopeTitle)}</h2>
            <NumberField id="slope" label=Word::SlopeAngle value=angle unit="°"/>
            <div aria-live="polite" id="aid-slope">{slope}</div>
            <h2>{app.t(Word::WrongTitle)}</h2>
            <NumberField id="high" label=Word::WrongHeight value=high unit=if imperial { "in" } else { "mm" }/>
            <div aria-live="polite" id="aid-wrong">{wrong}</div>
            {told::links(&[Screen::Marks])}
        </div>
    }
}
