//! How it goes, session by session.

use goldward_journal::Uuid;
use goldward_session::log::{DistanceHistory, MovesKept, Rests, SeasonGave, looked_back, point_of};
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::super::sift::{BREATH_MS, all_of, sift};
use super::super::state::{App, Screen, app};
use super::super::told;
use super::super::{db, device};
use crate::pages::{self, html};
use crate::words::{self, Word};

/// A session in a few numbers.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Summary {
    pub(super) id: Uuid,
    pub(super) at_ms: u64,
    pub(super) distance_m: f64,
    pub(super) points: u32,
    /// Arrows that count.
    pub(super) counted: u32,
    /// All arrows.
    pub(super) arrows: u32,
    /// The spread that it showed, when there are enough arrows: the one that the page tells of its distance.
    pub(super) mrad: Option<f64>,
}

/// Sessions of an archer, the earliest first.
pub(super) fn summaries(app: App, archer: Uuid) -> Vec<Summary> {
    let mut out: Vec<Summary> = app.log.with(|log| {
        let all = goldward_session::log::sessions(log, archer).into_iter();
        all.filter_map(|(r, s)| {
            let point = point_of(log, archer, r.id)?;
            Some(Summary {
                id: r.id,
                at_ms: s.at_ms,
                distance_m: s.distance_m,
                points: point.total.points,
                counted: point.total.shots,
                arrows: point.shots as u32,
                mrad: point.spread_mrad.map(|(mrad, ..)| mrad),
            })
        })
        .filter(|s| s.arrows > 0)
        .collect()
    });
    out.sort_by_key(|s| (s.at_ms, s.id));
    out
}

/// The spread over all sessions, weighted by their arrows.
pub(super) fn pooled_mrad(all: &[Summary]) -> Option<f64> {
    let (sum, n) = all
        .iter()
        .filter_map(|s| Some((s.mrad?.powi(2) * f64::from(s.arrows), f64::from(s.arrows))))
        .fold((0.0, 0.0), |(a, b), (x, n)| (a + x, b + n));
    (n > 0.0).then(|| (sum / n).sqrt())
}

/// What the moves of the sight gave in `sessions`, those of each distance, one by one so that the page answers meanwhile; what was worked
/// out before is kept on the device. The page may be gone at any time, also before this begins.
async fn look_back(
    app: App,
    archer: Uuid,
    sessions: Vec<Vec<Uuid>>,
    distances: RwSignal<Vec<(DistanceHistory, Option<SeasonGave>)>>,
) {
    let (db, key) = (app.database(), format!("moves-{archer}"));
    let text = match &db {
        Some(db) => db::recall(db, &key).await,
        None => None,
    };
    let mut kept = MovesKept::read(&text.unwrap_or_default());
    let rests = app.log.with_untracked(|log| Rests::of(log, archer));
    for (k, sessions) in sessions.into_iter().enumerate() {
        let mut gave = Vec::new();
        let mut since = device::ticks_ms();
        for id in sessions {
            if device::ticks_ms() - since > BREATH_MS {
                device::breathe().await;
                since = device::ticks_ms();
            }
            if distances.try_with_untracked(|_| ()).is_none() {
                break;
            }
            gave.extend(app.log.with_untracked(|log| kept.sum(log, archer, &rests, id)));
        }
        if let season @ Some(_) = SeasonGave::of(&gave) {
            distances.try_update(|d| d[k].1 = season);
        }
    }
    if let Some((db, text)) = db.zip(kept.text()) {
        db::remember(&db, &key, &text).await;
    }
}

/// So many sessions are listed at first.
const LISTED: usize = 50;

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    move || {
        let Some((archer, _)) = app.archer() else { return none(app) };
        // The page is drawn anew when the log changes, and each time all of it is asked again.
        let sessions = app.log.with(|log| goldward_session::log::sessions(log, archer).len());
        if sessions == 0 {
            return none(app);
        }
        let done = RwSignal::new(None::<usize>);
        spawn_local(async move {
            sift(app.log, archer, &all_of(app.log, archer), true, |n| done.try_set(Some(n)).is_none()).await;
            done.try_set(Some(usize::MAX));
        });
        let ready = Memo::new(move |_| done.get() == Some(usize::MAX));
        let far = move || {
            let done = done.get().unwrap_or(0).to_string();
            let told = app.f(Word::WorkedOut, &[&done, &sessions.to_string()]);
            view! { <p id="progress" role="status" data-looking>{told}</p> }
        };
        view! {
            <div class="page">
                <h2>{app.t(Word::ProgressTitle)}</h2>
                {move || if ready.get() { told_of(app, archer) } else { far.into_any() }}
            </div>
        }
        .into_any()
    }
}

fn none(app: App) -> AnyView {
    view! { <div class="page"><h2>{app.t(Word::ProgressTitle)}</h2><p>{app.t(Word::NoSessions)}</p></div> }.into_any()
}

/// All of it, which has been worked out.
fn told_of(app: App, archer: Uuid) -> AnyView {
    let all = untrack(|| summaries(app, archer));
    if all.is_empty() {
        return view! { <p>{app.t(Word::NoSessions)}</p> }.into_any();
    }
    let histories = app.log.with_untracked(|log| goldward_session::log::history(log, archer));
    let sessions = histories.iter().map(looked_back).collect();
    let distances = RwSignal::new(histories.into_iter().map(|h| (h, None)).collect::<Vec<_>>());
    let told = move || distances.with(|d| html(&told::tell(app, |teller| pages::progress::page(teller, d))));
    let looking = RwSignal::new(true);
    spawn_local(async move {
        look_back(app, archer, sessions, distances).await;
        looking.try_set(false);
    });
    let all_asked = RwSignal::new(false);
    let more = all.len() > LISTED;
    let rows = move || {
        let l = app.language();
        let listed = if all_asked.get() { all.len() } else { LISTED };
        let row = |s: &Summary| {
            let id = s.id;
            view! {
                <tr>
                    <td><button type="button" on:click=move |_| { app.open_session(id); app.go(Screen::Report); }>{device::date(s.at_ms, l.code())}</button></td>
                    <td>{words::distance(l, app.imperial(), s.distance_m)}</td>
                    <td>{s.arrows}</td>
                    <td>{s.points}</td>
                    <td>{s.mrad.map_or_else(|| "–".to_owned(), |m| words::length(l, app.imperial(), m * s.distance_m))}</td>
                </tr>
            }
        };
        all.iter().rev().take(listed).map(row).collect_view()
    };
    view! {
        <div class="told" id="progress" data-looking=move || looking.get().then_some("") inner_html=told></div>
        <h3>{app.t(Word::Sessions)}</h3>
        <div class="scroll" tabindex="0" role="region" aria-label=app.t(Word::Sessions)>
            <table>
                <thead><tr>
                    <th scope="col">{app.t(Word::Date)}</th><th scope="col">{app.t(Word::Distance)}</th><th scope="col">{app.t(Word::Arrows)}</th>
                    <th scope="col">{app.t(Word::Total)}</th><th scope="col">{app.t(Word::Spread)}</th>
                </tr></thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
        <Show when=move || more && !all_asked.get()>
            <div class="buttons"><button type="button" id="all-sessions" on:click=move |_| all_asked.set(true)>{move || app.t(Word::AllSessions)}</button></div>
        </Show>
        <div inner_html=told::links(app, &[Screen::Arrows, Screen::Compare, Screen::Tune])></div>
    }
    .into_any()
}
