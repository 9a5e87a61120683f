//! What is said when all that was planned has been shot.

use leptos::prelude::*;

use super::sight::keep_mark;
use crate::app::state::{App, app};
use crate::finish::Finish;
use crate::words::Word;

/// The session in a few sentences.
pub(in crate::app) fn told(app: App) -> Vec<String> {
    let l = app.language();
    let Some(finish) = app.sheet.with(|s| {
        let id = s.as_ref()?.id;
        app.in_log(|log, archer| Finish::of(log, archer, id))
    }) else {
        return Vec::new();
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
    if let Some(before) = finish.best_before {
        let word = if total.points > before { Word::FinishNewBest } else { Word::FinishBest };
        out.push(app.f(word, &[&before.to_string()]));
    }
    out
}

/// The same at the line.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let told = Memo::new(move |_| told(app));
    view! {
        <div class="finish" id="finish">
            // The points are what the headline says.
            {move || told.get().into_iter().skip(1).map(|text| view! { <p>{text}</p> }).collect_view()}
            <div class="buttons">{keep_mark(app)}</div>
        </div>
    }
}
