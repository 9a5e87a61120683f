//! The rehearsal: what a rule of touching costs, played out on this device.

use goldward_core::pace::rehearsal::{Outcome, Rehearsal, Rule, Scene, Tally};
use goldward_core::score::Scorer;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::super::device;
use super::super::shoot::sessions;
use super::super::state::{App, app};
use super::super::widgets::{Asked, NumberField, read_all};
use crate::words::Word;

/// Rounds played.
const ROUNDS: u64 = 400;

fn name(rule: Rule) -> Word {
    match rule {
        Rule::Never => Word::RuleNever,
        Rule::EveryArrow => Word::RuleEvery,
        Rule::EveryThree => Word::RuleThree,
        Rule::EverySix => Word::RuleSix,
        Rule::ThreeThenSix => Word::RuleThreeThenSix,
        Rule::OnceAfterThree => Word::RuleOnceThree,
        Rule::OnceAfterSix => Word::RuleOnceSix,
        Rule::Harmonic => Word::RuleHarmonic,
        Rule::Goldward => Word::RuleGoldward,
        Rule::GoldwardCalm => Word::RuleCalm,
        Rule::PerfectLearner => Word::RuleLearner,
        Rule::Oracle => Word::RuleOracle,
    }
}

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let l = app.language();
    let last = sessions(app).into_iter().next().map(|(_, s)| s);
    let metres = last.as_ref().map_or(70.0, |s| s.distance_m);
    let face = last.as_ref().map_or_else(|| "122".to_owned(), |s| s.face.clone());
    let mrad = app.kits().first().and_then(|(_, k)| k.spread_mrad).unwrap_or(3.0);
    let ask = |id, label, unit, most: f64, first| Asked::new(id, label, unit, (0.0, most), first).needed().kept();
    let of_spread = l.number(&goldward_core::units::trim_number(mrad));
    let asked = [
        Asked::new("p-spread", Word::SpreadExpected, "mrad", (0.1, 30.0), of_spread)
            .needed()
            .hint(Some(Word::SpreadHelp))
            .kept(),
        ask("p-first", Word::FirstOff, "mm", 1000.0, format!("{:.0}", mrad * metres)),
        ask("p-flyers", Word::Flyers, "", 50.0, "8".to_owned()),
        ask("p-drift", Word::DriftBetween, "mm", 200.0, format!("{:.0}", 0.1 * metres)),
    ];
    let progress: RwSignal<Option<u64>> = RwSignal::new(None);
    let outcomes: RwSignal<Vec<Outcome>> = RwSignal::new(Vec::new());
    let title = format!("{} · {face}", crate::words::distance(l, app.imperial(), metres));
    let run = move |_| {
        let Some(numbers) = read_all(&asked) else { return };
        let number = |i: usize| numbers[i].unwrap_or_default();
        let mut scene = Scene::ranking_round(number(0) * metres, number(1), number(2) / 100.0);
        scene.drift_mm = number(3);
        let click = metres * 1000.0 / 880.0 * 0.1;
        scene.click_mm = [click, click];
        play(app, scene, face.clone(), progress, outcomes);
    };
    view! {
        <div class="page">
            <h2>{app.t(Word::PacingTitle)}</h2>
            <p>{app.t(Word::PacingHelp)}</p>
            <p><b>{title}</b></p>
            <details class="rest">
                <summary><b>{app.t(Word::TheNumbers)}</b></summary>
                {asked.into_iter().map(|of| view! { <NumberField of=of/> }).collect_view()}
            </details>
            <button type="button" class="main" id="rehearse" on:click=run disabled=move || progress.get().is_some()>
                {app.f(Word::RunRehearsal, &[&ROUNDS.to_string()])}
            </button>
            {move || progress.get().map(|n| view! {
                <p role="status">{app.f(Word::Playing, &[&n.to_string(), &ROUNDS.to_string()])}</p>
                <progress max=ROUNDS.to_string() value=n.to_string() aria-label=app.t(Word::PacingTitle)></progress>
            })}
            {move || {
                let all = outcomes.get();
                (!all.is_empty()).then(|| table(app, &all))
            }}
        </div>
    }
}

fn table(app: App, all: &[Outcome]) -> impl IntoView + use<> {
    let l = app.language();
    let most = all.iter().map(|o| o.given_away).fold(1.0, f64::max);
    let rows = all.iter().map(|o| {
        let width = format!("width:{:.0}px", 90.0 * (o.given_away / most).clamp(0.0, 1.0));
        view! {
            <tr><th scope="row">{app.t(name(o.rule))}</th>
                <td>{l.number(&format!("{:.1}", o.given_away))} " " <span class="bar" style=width></span></td>
                <td>{l.number(&format!("{:.1}", o.touches))}</td>
                <td>{format!("{:.0} %", 100.0 * o.worse)}</td></tr>
        }
    });
    view! {
        <div class="scroll" tabindex="0" role="region" aria-label=app.t(Word::PacingTitle)>
            <table id="outcomes"><thead><tr><th scope="col">{app.t(Word::Rule)}</th><th scope="col">{app.t(Word::GivenAway)}</th>
                <th scope="col">{app.t(Word::Touches)}</th><th scope="col">{app.t(Word::Worse)}</th></tr></thead>
                <tbody>{rows.collect_view()}</tbody></table>
        </div>
    }
}

/// Plays in small pieces, so that the screen stays alive.
fn play(app: App, scene: Scene, face: String, progress: RwSignal<Option<u64>>, outcomes: RwSignal<Vec<Outcome>>) {
    progress.set(Some(0));
    spawn_local(async move {
        let Ok(face) = goldward_core::face::Face::named(&face) else {
            progress.set(None);
            return;
        };
        let scorer =
            Scorer::new(face, app.kits().first().map_or_else(Default::default, |(_, k)| crate::sheet::shaft(k)));
        let rehearsal = Rehearsal::new(&scene, &scorer, 1);
        let mut tally: Option<Tally> = None;
        let mut done = 0;
        let mut piece = 1;
        while done < ROUNDS {
            let begun = device::ticks_ms();
            let next = (done + piece).min(ROUNDS);
            let part = rehearsal.play(&Rule::ALL, done..next);
            match &mut tally {
                Some(t) => t.add(&part),
                None => tally = Some(part),
            }
            done = next;
            // About a thirtieth of a second a piece.
            piece = if device::ticks_ms() - begun < 20.0 { piece * 2 } else { (piece / 2).max(1) };
            if progress.try_set(Some(done)).is_some() {
                // The page has been left.
                return;
            }
            device::breathe().await;
        }
        if let Some(tally) = tally {
            let mut all = tally.outcomes(rehearsal.oracle_points());
            all.sort_by(|a, b| b.points.total_cmp(&a.points));
            let _ = outcomes.try_set(all);
        }
        let _ = progress.try_set(None);
    });
}
