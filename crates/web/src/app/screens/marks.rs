//! Sight marks: those shot, those to expect, and which to shoot next.

use goldward_core::marks::{Fitted, MarksError, Prediction};
use goldward_journal::{Body, Kit, Mark, Proven, Uuid};
use goldward_session::marks::answer;
use leptos::prelude::*;

use super::super::device;
use super::super::fitted::current;
use super::super::state::{App, Screen, app};
use super::super::told;
use super::super::widgets::{Asked, NumberField, read_all};
use crate::numbers::{distances, metres};
use crate::pages::aids::scale;
use crate::words::{self, Word};

/// Predictions at the usual distances.
pub(super) fn table(kit: &Kit, fitted: &Fitted, imperial: bool) -> Vec<(Prediction, f64, [f64; 2])> {
    let Some(scale) = scale(kit) else { return Vec::new() };
    let distances: Vec<f64> = if imperial {
        (1..=8).map(|k| f64::from(k) * 10.0 * 0.9144).collect()
    } else {
        [10.0, 18.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 90.0].to_vec()
    };
    distances
        .into_iter()
        .filter_map(|d| {
            let p = fitted.predict(d).ok()?;
            let mut ends = p.interval_mm.map(|mm| scale.number_at(mm));
            ends.sort_by(f64::total_cmp);
            Some((p, scale.number_at(p.reading_mm), ends))
        })
        .collect()
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
        let Some((id, kit, all, fitted)) = current(app, chosen.get()) else {
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
        let table = match &fitted {
            None => view! { <p class="notice note">{app.t(Word::MarksNeedArrow)}</p> }.into_any(),
            Some(Err(MarksError::NoMarks)) => view! { <p>{app.t(Word::MarksNone)}</p> }.into_any(),
            Some(Err(e)) => view! { <p class="notice">{app.f(Word::MarkFailed, &[&e.to_string()])}</p> }.into_any(),
            Some(Ok(fitted)) => predictions(app, &kit, fitted).into_any(),
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

fn predictions(app: App, kit: &Kit, fitted: &Fitted) -> impl IntoView + use<> {
    let (l, imperial) = (app.language(), app.imperial());
    let all = table(kit, fitted, imperial);
    let rows = all.iter().map(|(p, reading, [low, high])| {
        view! {
            <tr class:far=p.extrapolated>
                <th scope="row">{words::distance(l, imperial, p.distance_m)}</th>
                <td><b>{l.decimals(*reading, 1)}</b></td>
                <td>{format!("{} – {}", l.decimals(*low, 1), l.decimals(*high, 1))}</td>
                <td>{p.extrapolated.then(|| app.t(Word::Extrapolated))}</td>
            </tr>
        }
    });
    let suspects = fitted.suspects().iter().map(|s| {
        let expected =
            scale(kit).zip(s.expected_mm).map_or("–".to_owned(), |(c, mm)| format!("{:.1}", c.number_at(mm)));
        let p = words::often(l, s.p_wrong);
        view! { <p class="notice">{app.f(Word::MarkSuspect, &[&s.name, &p, &l.number(&expected)])}</p> }
    });
    let wanted: Vec<f64> = all.iter().map(|(p, ..)| p.distance_m).collect();
    let next = answer::next(fitted, &wanted).ok();
    view! {
        <h2>{app.t(Word::MarkPredicted)}</h2>
        {suspects.collect_view()}
        <div class="scroll" tabindex="0" role="region" aria-label=app.t(Word::MarkPredicted)>
            <table id="predicted"><thead><tr><th scope="col">{app.t(Word::Distance)}</th><th scope="col">{app.t(Word::Reading)}</th>
                <th scope="col">{app.t(Word::FourInFive)}</th><th scope="col">"⚠"</th></tr></thead>
                <tbody>{rows.collect_view()}</tbody></table>
        </div>
        {next.map(|n| view! { <p>{app.f(Word::MarkNext, &[&words::distance(l, imperial, n.distance_m)])}</p> })}
        <p class="notice safety">{app.t(Word::MarkUnproven)}</p>
        <div class="buttons"><button type="button" id="to-card" on:click=move |_| app.go(Screen::Card)>{app.t(Word::Card)}</button></div>
    }
}
