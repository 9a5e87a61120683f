//! The shooting screen: plot or call a shot, read the advice, move the sight.

mod answer;
mod assumed;
mod board;
mod call;
mod chips;
pub(super) mod clock;
mod finish;
mod remarks;
mod sight;
mod start;

use goldward_core::plane::Point;
use goldward_core::shot::{Felt, Place};
use goldward_journal::{self as journal, Body, End, Uuid};
use goldward_session::marks::answer::Known;
use leptos::prelude::*;

use super::{device, fitted, offers};
pub(super) use answer::notices;
pub(super) use assumed::how;
pub(super) use board::{art, summary};
pub(super) use finish::{heading, share, shared, told as finish};
pub(super) use remarks::remarks;
pub(super) use sight::keep_mark;
pub(super) use start::sessions;

use super::state::{App, Screen, app};
use crate::sheet::Sheet;
use crate::words::{self, Word};

/// What the hand is doing on this screen.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    /// The shot being looked at, if any.
    pub(super) chosen: RwSignal<Option<Uuid>>,
    /// Where the finger was that chose the shot on the face.
    pub(super) here: RwSignal<Option<Point>>,
    /// Whether the next tap on the face moves the chosen shot; once something else was said of it, no more.
    pub(super) moving: RwSignal<bool>,
    /// How far the picture is zoomed in.
    pub(super) zoom: RwSignal<u8>,
    /// Whether the clicks really made are being told.
    pub(super) telling: RwSignal<bool>,
    /// What has been assumed and is being told.
    asking: RwSignal<Option<assumed::Assumed>>,
    /// The marks of the kit, fitted: worked out once, when the session is opened.
    pub(super) fitted: StoredValue<Option<Known>>,
}

impl Hand {
    /// Looks at a shot, found on the face at `here` if it was found there, or at none.
    fn choose(self, shot: Option<Uuid>, here: Option<Point>) {
        self.telling.set(false);
        self.asking.set(None);
        self.here.set(here);
        self.moving.set(shot.is_some());
        self.chosen.set(shot);
    }
}

/// Records a shot, of a place on the sheet of the face; when the end was full, that end is over first.
pub(super) fn record_shot(app: App, place: Place) {
    let Some(sheet) = app.sheet.get_untracked() else { return };
    if sheet.is_over() {
        app.say(app.t(Word::SessionOver).to_owned());
        return;
    }
    let (end, index) = sheet.next_place();
    let at = device::now_ms();
    let mut bodies = Vec::new();
    if end > sheet.end_now() {
        bodies.push(end_of(&sheet, at));
    }
    let (spot, x_mm, y_mm, call) = match place {
        Place::At(p) => {
            let (spot, p) = sheet.face.on_spot(p);
            (spot, Some(tenth(p.x_mm)), Some(tenth(p.y_mm)), None)
        }
        Place::Called(call) => (sheet.next_spot(), None, None, Some(call.to_string())),
    };
    let shot = journal::Shot {
        session: sheet.id,
        end,
        index,
        x_mm,
        y_mm,
        call,
        felt: None,
        arrow: None,
        spot,
        at_ms: Some(at),
    };
    bodies.push(Body::Shot(shot));
    if app.write(bodies).is_some() {
        offers::buzz();
    }
}

/// To a tenth of a millimetre: nobody plots finer, and the log stays readable.
fn tenth(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

fn end_of(sheet: &Sheet, at: u64) -> Body {
    Body::End(End {
        session: sheet.id,
        end: sheet.end_now(),
        at_ms: Some(at),
        card_points: None,
        their_points: None,
        nearer: None,
    })
}

/// Changes the record of a shot.
pub(super) fn edit_shot(app: App, id: Uuid, change: impl FnOnce(&mut journal::Shot)) {
    let shot = untrack(|| {
        app.in_log(|l, archer| match l.get(archer, id).map(|r| &r.body) {
            Some(Body::Shot(s)) => Some(s.clone()),
            _ => None,
        })
    });
    if let Some(mut shot) = shot {
        change(&mut shot);
        app.edit(id, Body::Shot(shot));
    }
}

/// Moves a shot to a place on the sheet of the face.
pub(super) fn move_shot(app: App, id: Uuid, to: Point) {
    let Some((spot, p)) = app.sheet.with_untracked(|s| s.as_ref().map(|s| s.face.on_spot(to))) else { return };
    edit_shot(app, id, |s| {
        (s.x_mm, s.y_mm) = (Some(tenth(p.x_mm)), Some(tenth(p.y_mm)));
        s.call = None;
        s.spot = spot;
    });
}

/// Marks how a shot felt, or takes the mark off when it is there already.
pub(super) fn feel(app: App, id: Uuid, felt: Felt, now: Felt) {
    edit_shot(app, id, |s| {
        s.felt = match felt {
            f if f == now => None,
            Felt::Good => Some(journal::Felt::Good),
            Felt::Bad => Some(journal::Felt::Bad),
            Felt::Unmarked => None,
        };
    });
}

/// Shooting, or starting to.
pub(super) fn view() -> impl IntoView {
    let app = app();
    let open = Memo::new(move |_| app.sheet.with(|s| s.as_ref().map(|s| s.id)));
    // The form is made anew when another archer is at the line.
    let who = Memo::new(move |_| app.archer().map(|(id, _)| id));
    view! {
        <For each=move || [(app.editing.get(), open.get(), who.get())] key=|k| *k children=move |(edited, open, _)| match (edited, open) {
            (Some(id), _) => start::change(id),
            (None, Some(_)) => line().into_any(),
            (None, None) => start::view().into_any(),
        }/>
    }
}

/// The marks of the open session's kit, when they can be fitted.
fn fitted(app: App) -> Option<Known> {
    let kit = app.sheet.with_untracked(|s| s.as_ref()?.session.kit)?;
    untrack(|| fitted::current(app, Some(kit))).filter(|c| c.0 == kit)?.3?.ok()
}

fn line() -> impl IntoView {
    let app = app();
    let hand = Hand {
        chosen: RwSignal::new(None),
        here: RwSignal::new(None),
        moving: RwSignal::new(false),
        zoom: RwSignal::new(0),
        telling: RwSignal::new(false),
        asking: RwSignal::new(None),
        fitted: StoredValue::new(fitted(app)),
    };
    provide_context(hand);
    let calling = move || app.prefs.with(|p| p.call);
    view! {
        <div class="line">
            <Standing/>
            {clock::view(true)}
            <div class="target">
                <For each=move || [calling()] key=|c| *c children=move |c| {
                    if c { call::view().into_any() } else { board::view().into_any() }
                }/>
            </div>
            <div class="now">
                <For each=move || [(hand.chosen.get(), hand.telling.get(), hand.asking.get())] key=|k| *k children=move |(chosen, telling, asking)| match (chosen, asking) {
                    (Some(id), _) => chips::chosen(id).into_any(),
                    (None, _) if telling => sight::tell().into_any(),
                    (None, Some(what)) => assumed::ask(what).into_any(),
                    (None, None) => answer::headline().into_any(),
                }/>
            </div>
            <chips::Chips/>
            <section class="says" aria-label=move || app.t(Word::Explain)>{answer::says()}</section>
            <Actions/>
        </div>
    }
}

/// End, total and how far we are.
#[component]
fn Standing() -> impl IntoView {
    let app = app();
    let sheet = move || app.sheet.get();
    let end = move || {
        sheet().map(|s| {
            let over = s.end_full();
            let n = s.end_shown();
            if s.is_single(n) {
                return (app.t(Word::MatchSingle).to_owned(), s.of_end(n).0, s.shots_of(n), 1, over);
            }
            let word = if n <= s.session.sighting_ends { Word::SightingEndN } else { Word::EndN };
            let shown = if n > s.session.sighting_ends { n - s.session.sighting_ends } else { n };
            let (points, _) = s.of_end(n);
            (app.f(word, &[&shown.to_string()]), points, s.shots_of(n), s.session.shots_per_end, over)
        })
    };
    // How a match stands: the way to the other's points.
    let versus = move || {
        let sheet = sheet()?;
        let s = sheet.duel?.standing;
        // The other's points, or whose single arrow was nearer.
        let asked = sheet.is_level() && sheet.end_full();
        let missing = (asked || sheet.theirs.iter().any(Option::is_none)).to_string();
        let stands = format!("{}:{}", s.mine.points, s.theirs.points);
        let label = format!("{} {stands}", app.t(Word::MatchTitle));
        Some(view! { <a class="versus" id="versus" href="#/match" data-missing=missing aria-label=label>{stands}</a> })
    };
    view! {
        <div class="standing">
            <button type="button" class="leave" on:click=move |_| {
                app.leave_session();
            } aria-label=move || app.t(Word::Back)>"‹"</button>
            <h1 class="sr">{move || app.t(Word::Shoot)}</h1>
            {move || app.archer().map(|(_, a)| a.name).filter(|n| !n.is_empty()).map(|n| view! { <a class="who" href="#/archers">{n}</a> })}
            <span class="where">
                <span>{move || sheet().map(|s| words::distance(app.language(), app.imperial(), s.session.distance_m))}</span>
                " " <span>{move || end().map(|e| e.0)}</span>
            </span>
            {sight::now()}
            {versus}
            <span class="tally">
                <span class="count" data-full=move || end().is_some_and(|e| e.4).to_string()>
                    <span aria-hidden="true">{move || end().map(|e| format!("{}/{}", e.2, e.3))}</span>
                    <span class="sr">{move || end().map(|e| app.f(Word::ShotsOf, &[&e.2.to_string(), &e.3.to_string()]))}</span>
                </span>
                " " <span class="points"><b>{move || end().map(|e| e.1)}</b></span>
                <span class="points total">
                    <span aria-hidden="true">"Σ "</span><span class="sr">{move || app.t(Word::Total)}</span> <b id="total">{move || sheet().map(|s| s.total().0)}</b>
                </span>
            </span>
        </div>
    }
}

/// The bar under the thumb.
#[component]
fn Actions() -> impl IntoView {
    let app = app();
    let hand = expect_context::<Hand>();
    let calling = move || app.prefs.with(|p| p.call);
    let can_end = move || app.sheet.with(|s| s.as_ref().is_some_and(|s| s.shots_in_end() > 0));
    let over = Memo::new(move |_| app.sheet.with(|s| s.as_ref().is_some_and(Sheet::is_over)));
    let over = move || over.get();
    let end = move |_| {
        if let Some(sheet) = app.sheet.get_untracked() {
            hand.chosen.set(None);
            app.write(vec![end_of(&sheet, device::now_ms())]);
        }
    };
    view! {
        <div class="actions">
            <button type="button" id="undo" class="icon" on:click=move |_| app.undo() disabled=move || !app.can_undo() aria-label=move || app.t(Word::Undo)>
                <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M9 4L4 9l5 5M4.5 9H14a5.5 5.5 0 0 1 0 11H8"/></svg>
            </button>
            <button type="button" id="redo" class="icon" on:click=move |_| app.redo() disabled=move || !app.can_redo() aria-label=move || app.t(Word::Redo)>
                <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M15 4l5 5-5 5M19.500 9H10a5.500 5.500 0 0 0 0 11h6"/></svg>
            </button>
            <button type="button" id="mode" on:click=move |_| app.prefer(|p| p.call = !p.call)>
                {move || app.t(if calling() { Word::Plot } else { Word::Call })}
            </button>
            <For each=move || [over()] key=|o| *o children=move |over| if over {
                view! { <button type="button" id="report" class="main" on:click=move |_| app.go(Screen::Report)>{app.t(Word::Report)}</button> }.into_any()
            } else {
                view! { <button type="button" id="end" on:click=end disabled=move || !can_end()>{app.t(Word::EndOver)}</button> }.into_any()
            }/>
        </div>
    }
}
