//! The card of sight marks to print and take along.

use leptos::prelude::*;

use super::super::state::{Screen, app};
use super::super::{device, fitted};
use super::marks;
use crate::words::{self, Word};

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    move || {
        let (l, imperial) = (app.language(), app.imperial());
        let Some((_, kit, shot, fitted)) = fitted::current(app, None) else {
            return view! { <div class="page"><p>{app.t(Word::MarksNone)}</p></div> }.into_any();
        };
        let expected = match &fitted {
            Some(Ok(f)) => marks::table(&kit, f, imperial),
            _ => Vec::new(),
        };
        let of_shot = shot.iter().map(|(_, m)| view! {
            <tr><th scope="row">{words::distance(l, imperial, m.distance_m)}</th><td><b>{words::reading(l, m.elevation_reading)}</b></td></tr>
        });
        let of_expected = expected.iter().map(|(p, r, [low, high])| view! {
            <tr><th scope="row">{words::distance(l, imperial, p.distance_m)}</th><td>{l.decimals(*r, 1)}</td><td>{format!("{} – {}", l.decimals(*low, 1), l.decimals(*high, 1))}</td></tr>
        });
        view! {
            <div class="page">
                <article class="card-sheet">
                    <h2>{kit.name.clone()}</h2>
                    <p>{app.archer().map(|(_, a)| a.name)} " · " {device::date(device::now_ms(), l.code())}</p>
                    <h2>{app.t(Word::MarkShot)}</h2>
                    <table><tbody>{of_shot.collect_view()}</tbody></table>
                    {(!expected.is_empty()).then(|| view! {
                        <h2>{app.t(Word::MarkPredicted)}</h2>
                        <table><tbody>{of_expected.collect_view()}</tbody></table>
                        <p>{app.t(Word::MarkUnproven)}</p>
                    })}
                </article>
                <div class="buttons">
                    <button type="button" on:click=move |_| app.go(Screen::Marks)>{app.t(Word::Back)}</button>
                    <button type="button" class="main" id="print" on:click=|_| { let _ = device::window().print(); }>{app.t(Word::Print)}</button>
                </div>
            </div>
        }
        .into_any()
    }
}
