//! What is said when all that was planned has been shot.

use leptos::prelude::*;

use wasm_bindgen_futures::spawn_local;

use super::remarks::{remarked, remarks};
use super::sight::keep_mark;
use crate::app::state::{App, app};
use crate::app::{device, offers};
use crate::finish::Finish;
use crate::sheet::Sheet;
use crate::words::{self, Word};

/// The session in a few sentences.
pub(in crate::app) fn told(app: App) -> Vec<String> {
    let l = app.language();
    let Some(id) = app.sheet.with(|s| s.as_ref().map(|s| s.id)) else { return Vec::new() };
    let Some(finish) = app.in_log(|log, archer| Finish::of(log, archer, id)) else {
        return Some(remarked(app, id)).filter(|r| !r.is_empty()).into_iter().collect();
    };
    let total = finish.total;
    let average = l.number(&format!("{:.2}", finish.average()));
    let mut out = vec![
        app.f(Word::FinishPoints, &[&total.points.to_string(), &finish.possible.to_string()]),
        app.f(Word::FinishAverage, &[&average, &total.inner_tens.to_string()]),
    ];
    if let Some(points) = finish.to_sight.filter(|p| *p >= 0.5) {
        out.push(app.f(Word::FinishSight, &[&l.number(&format!("{points:.0}"))]));
    }
    if let Some((before, at_ms)) = finish.best_before {
        let word = if total.points > before { Word::FinishNewBest } else { Word::FinishBest };
        let metres = app.sheet.with(|s| s.as_ref().map_or(0.0, |s| s.session.distance_m));
        let distance = words::distance(l, app.imperial(), metres);
        let day = device::day(at_ms, l.code());
        out.push(app.f(word, &[&before.to_string(), &total.shots.to_string(), &distance, &day]));
    }
    out.extend(Some(remarked(app, id)).filter(|r| !r.is_empty()));
    out
}

/// Two arrows on one spot are told, with who decides.
pub(in crate::app) fn shared(app: App) -> Option<AnyView> {
    let ends = app.sheet.with(|s| s.as_ref().map_or(0, Sheet::shared_spots));
    (ends > 0).then(|| {
        view! { <p class="notice" id="shared-spot">{app.f(Word::SharedSpot, &[&ends.to_string()])}</p> }.into_any()
    })
}

/// Who shot what, and when.
pub(in crate::app) fn heading(app: App, sheet: &Sheet) -> [String; 2] {
    let l = app.language();
    let name = app.archer().map(|(_, a)| a.name).filter(|n| !n.is_empty());
    let what = [words::distance(l, app.imperial(), sheet.session.distance_m), words::face_title(l, sheet.face)];
    let when = [device::date(sheet.session.at_ms, l.code()), sheet.kit.name.clone()];
    let joined = |parts: Vec<String>| parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(" · ");
    [joined(name.into_iter().chain(what).collect()), joined(when.to_vec())]
}

/// Hands the session on as a picture; where the browser cannot, the picture is a file to keep.
pub(in crate::app) fn share(app: App) -> AnyView {
    let press = move |_| {
        let Some(sheet) = app.sheet.get_untracked() else { return };
        let lines = untrack(|| {
            let mut lines = heading(app, &sheet).to_vec();
            lines.extend(told(app));
            lines
        });
        spawn_local(async move {
            let name = format!("goldward-{}.png", device::iso_day(sheet.session.at_ms));
            let Some(picture) = offers::picture(&lines, &name).await else {
                app.say(untrack(|| app.t(Word::PictureFailed).to_owned()));
                return;
            };
            if !offers::share(&picture).await {
                device::download_blob(&name, &picture);
                app.say(untrack(|| app.f(Word::PictureSaved, &[&name])));
            }
        });
    };
    view! { <button type="button" id="share" on:click=press>{move || app.t(Word::SharePicture)}</button> }.into_any()
}

/// The same at the line.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let told = Memo::new(move |_| told(app));
    let of = move || app.sheet.with(|s| s.as_ref().map(|s| s.id));
    view! {
        <div class="finish" id="finish">
            // The points are what the headline says.
            {move || told.get().into_iter().skip(1).map(|text| view! { <p>{text}</p> }).collect_view()}
            {untrack(of).map(remarks)}
            <div class="buttons">{keep_mark(app)}{share(app)}</div>
        </div>
    }
}
