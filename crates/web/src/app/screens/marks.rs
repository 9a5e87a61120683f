//! Sight marks: those shot, those to expect, and which to shoot next.

use goldward_core::marks::MarksError;
use goldward_journal::{Body, Mark, Proven, Uuid};
use goldward_session::marks::answer::{Known, next};
use goldward_session::marks::quantity::Range;
use leptos::prelude::*;

use super::super::device;
use super::super::fitted::current;
use super::super::state::{App, Screen, app};
use super::super::told;
use super::super::widgets::{Asked, NumberField, read_all};
use crate::numbers::{distances, metres};
use crate::pages::{Item, html, marks};
use crate::words::{self, Word, error};

/// Where marks are expected.
const METRES: [f64; 10] = [10.0, 18.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 90.0];
const YARDS: [f64; 8] = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0];

/// The marks to expect at the usual distances that the arrow reaches.
pub(super) fn expected(app: App, known: &Known) -> Vec<Item> {
    let usual = if app.imperial() { YARDS.map(Range::yards).to_vec() } else { METRES.map(Range::metres).to_vec() };
    let all: Vec<_> = usual.into_iter().flatten().filter_map(|r| known.expect(&[r]).ok()?.pop()).collect();
    let wanted: Vec<f64> = all.iter().map(|e| e.range.m()).collect();
    let next = next(&known.fitted, &wanted).ok();
    told::tell(app, |t| marks::predict(t, known, &all, next.as_ref()))
}

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let chosen: RwSignal<Option<Uuid>> = RwSignal::new(None);
    let imperial = app.imperial();
    let (unit, range) = distances(imperial);
    let distance = Asked::new("mark-distance", Word::Distance, unit, range, String::new()).needed().kept();
    let reading = Asked::new("mark-reading", Word::Reading, "", (-1000.0, 1000.0), String::new()).needed().kept();
    let arrows = Asked::new("mark-arrows", Word::MarkArrows, "", (1.0, 10_000.0), String::new())
        .hint(Some(Word::MarkArrowsHint))
        .kept();
    let add = move |kit: Uuid| {
        let read = read_all(&[distance, reading, arrows]);
        let Some([Some(d), Some(r), n]) = read.as_deref().map(|v| [v[0], v[1], v[2]]) else { return };
        let mark = Mark {
            kit,
            distance_m: metres(d, imperial),
            elevation_reading: r,
            windage_reading: None,
            reading_sd: None,
            proven: Proven::Shot,
            at_ms: device::now_ms(),
            slope_deg: None,
            arrows: n.map(|n| n.round() as u32),
        };
        if app.write(vec![Body::Mark(mark)]).is_none() {
            return;
        }
        distance.text.set(String::new());
        reading.text.set(String::new());
        arrows.text.set(String::new());
    };
    let body = move || {
        let (l, imperial) = (app.language(), app.imperial());
        let Some((id, _, all, known)) = current(app, chosen.get()) else {
            return view! { <p>{app.t(Word::MarksNone)}</p><button type="button" class="main" on:click=move |_| app.go(Screen::Kit)>{app.t(Word::NewKit)}</button> }
                .into_any();
        };
        let shown = all.iter().map(|(mark, m)| {
            let mark = *mark;
            let name = words::distance(l, imperial, m.distance_m);
            let label = format!("{}: {name}", app.t(Word::Delete));
            view! {
                <tr><th scope="row">{name}</th><td>{words::reading(l, m.elevation_reading)}</td>
                    <td><button type="button" class="writes" aria-label=label on:click=move |_| app.delete(mark)>"×"</button></td></tr>
            }
        });
        let table = match &known {
            None => view! { <p class="notice note">{app.t(Word::MarksNeedArrow)}</p> }.into_any(),
            Some(Err(MarksError::NoMarks)) => view! { <p>{app.t(Word::MarksNone)}</p> }.into_any(),
            Some(Err(e)) => view! { <p class="notice">{app.f(Word::MarkFailed, &[&error::marks(app.language(), e)])}</p> }.into_any(),
            Some(Ok(known)) => view! {
                <h2>{app.t(Word::MarkPredicted)}</h2>
                <div class="spoken" id="predicted" inner_html=html(&expected(app, known))></div>
                <div class="buttons"><button type="button" id="to-card" on:click=move |_| app.go(Screen::Card)>{app.t(Word::Card)}</button></div>
            }
            .into_any(),
        };
        view! {
            {(app.kits().len() > 1).then(|| view! {
                <div class="field"><label for="mark-kit">{app.t(Word::Kit)}</label>
                    <select id="mark-kit" on:change=move |e| chosen.set(event_target_value(&e).parse().ok())>
                        {app.kits().into_iter().map(|(k, kit)| view! { <option value=k.to_string() selected=k == id>{kit.name}</option> }).collect_view()}
                    </select></div>
            })}
            <h2>{app.t(Word::MarkShot)}</h2>
            <div class="scroll" tabindex="0" role="region" aria-label=app.t(Word::MarkShot)>
                <table><thead><tr><th scope="col">{app.t(Word::Distance)}</th><th scope="col">{app.t(Word::Reading)}</th><th scope="col">{app.t(Word::Delete)}</th></tr></thead>
                    <tbody>{shown.collect_view()}</tbody></table>
            </div>
            <div class="stack writes">
            <h2>{app.t(Word::AddMark)}</h2>
            <NumberField of=distance/>
            <NumberField of=reading/>
            <NumberField of=arrows/>
            <button type="button" class="main" id="add-mark" on:click=move |_| add(id)>{app.t(Word::Add)}</button>
            </div>
            {table}
        }
        .into_any()
    };
    view! { <div class="page">{body}<div inner_html=told::links(app, &[Screen::Aids])></div></div> }
}
