//! The rehearsal: what a rule of touching costs, played out on this device.

use goldward_core::face::Face;
use goldward_core::pace::rehearsal::{Rehearsal, Rule};
use goldward_core::score::Scorer;
use goldward_core::units::{Distance, Shaft};
use goldward_journal::Log;
use goldward_session::asked;
use goldward_session::kit::Kit;
use goldward_session::log;
use goldward_session::pace::{Played, Rehearsed, parts};
use goldward_session::settings::Wishes;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::super::device;
use super::super::shoot::sessions;
use super::super::state::{App, app};
use super::super::told;
use super::super::widgets::{Asked, NumberField, read_all};
use crate::pages::{html, pace};
use crate::words::Word;

/// Rounds played.
const ROUNDS: u64 = 400;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let l = app.language();
    let last = sessions(app).into_iter().next().map(|(_, s)| s);
    let metres = last.as_ref().map_or(70.0, |s| s.distance_m);
    let face = last.as_ref().map_or_else(|| "122".to_owned(), |s| s.face.clone());
    let wishes = wishes(app);
    let mrad = wishes.spread_mrad.unwrap_or(wishes.start().spread_mrad);
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
    let said = RwSignal::new(String::new());
    let title = format!("{} · {face}", crate::words::distance(l, app.imperial(), metres));
    let run = move |_| {
        let Some(numbers) = read_all(&asked) else { return };
        let number = |i: usize| numbers[i].unwrap_or_default();
        let (Ok(distance), Ok(face)) = (Distance::from_metres(metres), Face::named(&face)) else { return };
        let wishes = Wishes { spread_mrad: Some(number(0)), ..wishes };
        let asked = asked::Asked {
            offset_mm: Some(number(1)),
            flyers: Some(number(2) / 100.0),
            drift_mrad: Some(number(3) / metres),
            ..asked::Asked::default()
        };
        // What is wrong is said at the field that it is wrong in.
        let Ok((settings, rehearsed)) = asked::rehearsed(distance, face, &wishes, &asked, 1) else { return };
        play(app, settings.shaft, rehearsed, progress, said);
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
                let said = said.get();
                (!said.is_empty()).then(|| view! { <div class="spoken" id="outcomes" inner_html=said></div> })
            }}
        </div>
    }
}

/// What is known of the archer and the sight: as the latest session is read with, else as the first kit says.
fn wishes(app: App) -> Wishes {
    let read = |log: &Log| {
        let (archer, _) = app.archer()?;
        log::read(log, archer, log::Which::Latest, &Wishes::default()).ok().map(|pick| pick.wishes)
    };
    let of_kit = || app.kits().first().map_or_else(Wishes::default, |(_, kit)| Kit::from(kit).wishes);
    app.log.with_untracked(read).unwrap_or_else(of_kit)
}

/// Plays in small pieces, so that the screen stays alive.
fn play(app: App, shaft: Shaft, rehearsed: Rehearsed, progress: RwSignal<Option<u64>>, said: RwSignal<String>) {
    progress.set(Some(0));
    spawn_local(async move {
        let scorer = Scorer::new(rehearsed.face, shaft);
        let rehearsal = Rehearsal::new(&rehearsed.scene, &scorer, rehearsed.seed);
        let mut tallies = Vec::new();
        let mut begun = device::ticks_ms();
        for part in parts(ROUNDS) {
            let done = part.end;
            tallies.push(rehearsal.play(&Rule::ALL, part));
            // About a thirtieth of a second at once.
            if device::ticks_ms() - begun < 33.0 && done < ROUNDS {
                continue;
            }
            if progress.try_set(Some(done)).is_some() {
                // The page has been left.
                return;
            }
            device::breathe().await;
            begun = device::ticks_ms();
        }
        let played = Played::of(ROUNDS, rehearsal.oracle_points(), tallies);
        let page = untrack(|| html(&told::tell(app, |t| pace::page(t, &rehearsed, &played))));
        let _ = (said.try_set(page), progress.try_set(None));
    });
}
