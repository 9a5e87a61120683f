//! The report of a session: the picture, the score, the touches; to print or keep as PDF.

use goldward_core::pace::Event;
use goldward_core::shot::Felt;
use goldward_journal::Uuid;
use goldward_session::log::{Which, moves_gave};
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::super::device;
use super::super::shoot::{art, finish, heading, keep_mark, remarks, share, shared, summary};
use super::super::state::{App, Screen, app};
use super::super::told;
use crate::drawing;
use crate::geometry::reach_mm;
use crate::pages::{self, html};
use crate::sheet::score_word;
use crate::words::{self, Word};

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let open = Memo::new(move |_| app.sheet.with(|s| s.as_ref().map(|s| s.id)));
    view! {
        <div class="page">
            {move || article(app).unwrap_or_else(|| view! { <p>{app.t(Word::NoSessions)}</p> }.into_any())}
            // Not drawn anew with the article: somebody may be typing.
            {move || open.get().map(|id| [remarks(id), share(app)])}
            <div class="buttons">
                <button type="button" id="back" on:click=move |_| app.go(Screen::Shoot)>{move || app.t(Word::Back)}</button>
                {move || (!app.reads()).then(|| keep_mark(app))}
                <button type="button" class="main" id="print" disabled=move || open.get().is_none()
                    on:click=|_| { let _ = device::window().print(); }>{move || app.t(Word::Print)}</button>
            </div>
            {move || open.get().map(|id| moves(app, id))}
        </div>
    }
}

/// More shots than this are not put to Goldward again: it would take a slow phone longer than a moment.
const ASKED_AGAIN: usize = 40;

/// What the moves of the sight gave. It comes last, when it is worked out, so that nothing moves away under a finger.
fn moves(app: App, id: Uuid) -> impl IntoView {
    let said = RwSignal::new(String::new());
    spawn_local(async move {
        for advised in [false, true] {
            device::breathe().await;
            let few = untrack(|| app.sheet.with(|s| s.as_ref().is_some_and(|s| s.rows.len() <= ASKED_AGAIN)));
            let (Some((archer, _)), false) = (untrack(|| app.archer()), advised && !few) else { return };
            let gave = app.log.with_untracked(|log| moves_gave(log, archer, Which::Id(id), advised)).ok().flatten();
            let Some(gave) = gave else { return };
            let page = untrack(|| html(&told::tell(app, |t| pages::moves::page(t, &gave))));
            if said.try_set(page).is_some() {
                return;
            }
        }
    });
    view! { <div class="told" id="moves" inner_html=move || said.get()></div> }
}

/// The session that is open, with nothing to press.
pub(in crate::app) fn article(app: App) -> Option<AnyView> {
    let l = app.language();
    let sheet = app.sheet.get()?;
    let answer = app.said.get().answer.filter(|a| a.reading.shots > 0);
    let places: Vec<_> = (0..sheet.rows.len()).map(|i| sheet.on_sheet(i, answer.as_ref())).collect();
    let reach = reach_mm(sheet.face.sheet_reach_mm(), &places);
    let of_group = sheet.face.spot_centre(None);
    let px = reach / 172.0;
    let shots = answer.as_ref().map(|a| {
        (0..places.len())
            .map(|i| {
                let mark = drawing::mark(a, i);
                let d = drawing::outline(mark, places[i].x_mm, -places[i].y_mm, 5.0 * px);
                view! { <path class=format!("shot now {}", mark.name()) d=d/> }
            })
            .collect_view()
    });
    let ends = sheet.rows.iter().map(|r| r.end).max().unwrap_or(0);
    let sighting = sheet.session.sighting_ends;
    let mut running = 0;
    let rows = (1..=ends)
            .map(|e| {
                let (points, _) = sheet.of_end(e);
                let counts = e > sighting;
                running += if counts { points } else { 0 };
                let shots: Vec<String> = sheet
                    .rows
                    .iter()
                    .filter(|r| r.end == e)
                    .map(|r| format!("{}{}", score_word(r.score), match r.felt { Felt::Good => "+", Felt::Bad => "−", Felt::Unmarked => "" }))
                    .collect();
                let name = if counts { app.f(Word::EndN, &[&(e - sighting).to_string()]) } else { app.f(Word::SightingEndN, &[&e.to_string()]) };
                view! { <tr><th scope="row">{name}</th><td>{shots.join("  ")}</td><td>{points}</td><td><b>{if counts { running.to_string() } else { "–".to_owned() }}</b></td></tr> }
            })
            .collect_view();
    let sight = crate::sheet::sight(&sheet.kit);
    let [cw, ce] = sight.click_mm();
    let touches = sheet
        .events
        .iter()
        .filter_map(|e| {
            if let Event::Touch(p) = e {
                Some([(p.x_mm / cw).round() as i32, (p.y_mm / ce).round() as i32])
            } else {
                None
            }
        })
        .map(|c| view! { <li>{app.f(Word::Touched, &[&words::clicks(l, c)])}</li> })
        .collect_view();
    let [title, when] = heading(app, &sheet);
    let article = view! {
            <article class="card-sheet">
                <h2>{title}</h2>
                <p>{when}</p>
                {finish(app).into_iter().enumerate().map(|(i, text)| {
                    if i == 0 { view! { <p><b>{text}</b></p> }.into_any() } else { view! { <p>{text}</p> }.into_any() }
                }).collect_view()}
                {shared(app)}
                <svg class="face" viewBox=format!("{} {} {} {}", -reach, -reach, 2.0 * reach, 2.0 * reach) role="img" aria-label=app.t(Word::Face) style="width:min(100%,420px);display:block;margin:8px auto">
                    {art(sheet.face)}
                    {answer.as_ref().map(|a| view! {
                        <g transform=format!("translate({} {})", of_group.x_mm, -of_group.y_mm)>{summary(a, reach)}</g>
                    })}
                    {shots}
                </svg>
                {answer.as_ref().map(|a| view! {
                    <p><b>{words::advice_line(l, a)}</b></p>
                    {told::tell(app, |t| told::of(&sheet, a, &[]).group(t)).into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}
                })}
                <div class="scroll" tabindex="0" role="region" aria-label=app.t(Word::Score)>
                    <table><thead><tr><th scope="col">{app.t(Word::Ends)}</th><th scope="col">{app.t(Word::Score)}</th><th scope="col">"Σ"</th><th scope="col">{app.t(Word::Total)}</th></tr></thead>
                        <tbody>{rows}</tbody></table>
                </div>
                <ul class="causes">{touches}</ul>
            </article>
    };
    Some(article.into_any())
}
