//! What the group says, in plain words.

use leptos::prelude::*;

use super::super::shoot::notices;
use super::super::state::{Screen, app};
use super::super::told;
use crate::drawing::{self, Mark};
use crate::pages::html;
use crate::words::{self, Word};

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    move || {
        let l = app.language();
        let back = view! { <div class="buttons"><button type="button" id="back" on:click=move |_| app.go(Screen::Shoot)>{app.t(Word::Back)}</button></div> };
        let (Some(sheet), Some(answer)) = (app.sheet.get(), app.said.get().answer.filter(|a| a.reading.shots > 0))
        else {
            return view! { <div class="page"><p>{app.t(Word::NoShotsYet)}</p>{back}</div> }.into_any();
        };
        let left = match sheet.kit.hand.or(app.archer().and_then(|(_, a)| a.hand)) {
            Some(hand) => hand == goldward_journal::Hand::Left,
            None => false,
        };
        let causes = words::causes(&answer, sheet.face.outer_radius_mm(), left);
        let found = notices(&sheet, &answer);
        let told = told::of(&sheet, &answer, &found);
        let (beside, group) = told::tell(app, |t| (html(&told.notices(t)), html(&told.page(t))));
        let marks = [
            (Mark::Clean, Word::Clean),
            (Mark::Other, Word::OtherGroup),
            (Mark::Flyer, Word::Flyer),
            (Mark::Stray, Word::Stray),
        ];
        view! {
            <div class="page">
                <h2>{words::action(l, &answer.advice)}</h2>
                <div inner_html=beside></div>
                <p class="why">{words::why(l, answer.advice.why)} " " {words::worth(l, &answer)}</p>
                <h2>{app.t(Word::CausesTitle)}</h2>
                <ul class="causes">{causes.into_iter().map(|c| view! { <li>{app.t(c)}</li> }).collect_view()}</ul>
                <p class="notice note">{app.t(Word::CausesNote)}</p>
                <ul class="legend">
                    {marks.into_iter().map(|(m, w)| view! {
                        <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><path class=format!("shot now {}", m.name()) d=drawing::outline(m, 0.0, 0.0, 5.0)/></svg>{app.t(w)}</li>
                    }).collect_view()}
                    <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><path class="cross" d="M-7 0H7M0 -7V7"/></svg>{app.t(Word::CentreMark)}</li>
                    <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><ellipse class="centre" rx="8" ry="5"/></svg>{app.t(Word::EllipseMark)}</li>
                    <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><path class="move" d="M-7 7L6 -6M0 -6H6V0"/></svg>{app.t(Word::MoveMark)}</li>
                </ul>
                <details class="rest" id="numbers">
                    <summary><b>{app.t(Word::TheNumbers)}</b></summary>
                    <div inner_html=group></div>
                </details>
                {back}
            </div>
        }
        .into_any()
    }
}
