//! What the group says, in plain words.

use goldward_core::group::Pattern;
use goldward_core::notice::{Notice, Weight};
use leptos::prelude::*;

use super::super::shoot::notices;
use super::super::state::{Screen, app};
use crate::drawing::{self, Mark};
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
        let imperial = app.imperial();
        let reading = &answer.reading;
        let left = match sheet.kit.hand.or(app.archer().and_then(|(_, a)| a.hand)) {
            Some(hand) => hand == goldward_journal::Hand::Left,
            None => false,
        };
        let percent = |p: f64| format!("{:.0} %", (100.0 * p).clamp(1.0, 99.0));
        let likeliest = reading.likeliest();
        let patterns = Pattern::ALL
            .into_iter()
            .filter(|p| *p != likeliest && reading.probability(*p) > 0.01)
            .map(|p| view! { <li>{words::pattern(l, p)} " (" {percent(reading.probability(p))} ")"</li> })
            .collect_view();
        let causes = words::causes(&answer, sheet.face.outer_radius_mm(), left);
        let sd = reading.spread.mean_sd();
        let mut found = notices(&sheet, &answer);
        // More arrows than are left would be no help.
        found.retain(|n| !matches!(n, Notice::TooFewShots { more, .. } if *more as usize > answer.shots_left));
        let marks = [
            (Mark::Clean, Word::Clean),
            (Mark::Other, Word::OtherGroup),
            (Mark::Flyer, Word::Flyer),
            (Mark::Stray, Word::Stray),
        ];
        view! {
            <div class="page">
                <h2>{app.f(Word::PatternIs, &[words::pattern(l, likeliest), &percent(reading.probability(likeliest))])}</h2>
                {Pattern::ALL.into_iter().any(|p| p != likeliest && reading.probability(p) > 0.01).then(|| view! { <h3>{app.t(Word::PatternOthers)}</h3><ul class="causes">{patterns}</ul> })}
                <h2>{app.t(Word::CausesTitle)}</h2>
                <ul class="causes">{causes.into_iter().map(|c| view! { <li>{app.t(c)}</li> }).collect_view()}</ul>
                <p class="notice note">{app.t(Word::CausesNote)}</p>
                {found.iter().map(|n| {
                    let class = match n.weight() { Weight::Safety => "notice safety", Weight::Warning => "notice", Weight::Note => "notice note" };
                    view! { <p class=class>{words::notice(l, imperial, n)}</p> }
                }).collect_view()}
                <h2>{app.t(Word::ReadingTitle)}</h2>
                <p>{app.f(Word::CentreIs, &[&words::place(l, imperial, reading.centre), &words::length(l, imperial, reading.centre_cov.mean_sd())])}</p>
                // 68 % of a round normal lie within 1.51 standard deviations of its centre.
                <p>{app.f(Word::SpreadIs, &[&words::length(l, imperial, sd), "7", &words::length(l, imperial, 1.55 * sd)])}</p>
                <p>{app.f(Word::ExpectedNow, &[&l.number(&format!("{:.2}", answer.advice.expected_score_now))])}</p>
                <p>{app.f(Word::MeanRule, &[&words::clicks(l, answer.advice.mean_rule.clicks)])}</p>
                <ul class="legend">
                    {marks.into_iter().map(|(m, w)| view! {
                        <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><path class=format!("shot now {}", m.name()) d=drawing::outline(m, 0.0, 0.0, 5.0)/></svg>{app.t(w)}</li>
                    }).collect_view()}
                    <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><path class="cross" d="M-7 0H7M0 -7V7"/></svg>{app.t(Word::CentreMark)}</li>
                    <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><ellipse class="centre" rx="8" ry="5"/></svg>{app.t(Word::EllipseMark)}</li>
                    <li><svg viewBox="-10 -10 20 20" aria-hidden="true"><path class="move" d="M-7 7L6 -6M0 -6H6V0"/></svg>{app.t(Word::MoveMark)}</li>
                </ul>
                {back}
            </div>
        }
        .into_any()
    }
}
