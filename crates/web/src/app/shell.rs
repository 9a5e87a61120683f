//! The frame around the screens: who is shooting, whether it is saved, where to go.

use goldward_journal::Uuid;
use leptos::prelude::*;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::account::section::all;
use super::saved::Saved;
use super::state::{App, Screen, app};
use super::{broken, db, device, later, offers, places, screens, shoot, sync, sync_panel, whole};
use crate::prefs::Theme;
use crate::words::Word;

const TABS: [Screen; 5] = [Screen::Shoot, Screen::Marks, Screen::Progress, Screen::Pacing, Screen::Kit];

/// The whole app.
#[component]
pub(super) fn Shell(opened: db::Opened) -> impl IntoView {
    let first = opened.log.len();
    let app = App::new(opened);
    provide_context(app);
    device::keep_awake(Signal::derive(move || app.at_the_line()));
    spawn_local(async move {
        let kept = offers::persisted().await;
        app.persisted.set(kept);
    });
    sync::begin(app);
    sync_panel::tell_conflicts(app);
    app.windows.listen(move |records| app.hear(records));
    if !app.windows.there() {
        // Nobody tells what other windows write: looked up whenever this one is seen again.
        device::when_seen_again(move || {
            spawn_local(async move {
                let Some(db) = app.database() else { return };
                if let Ok(log) = db::all(&db).await {
                    app.hear(log.records().cloned().collect());
                }
            });
        });
    }
    shoot::clock::keep_going(app);
    app.keep_first();
    spawn_local(async move {
        app.read_rest(first).await;
        sync::whole(app);
    });
    spawn_local(async move {
        later::bring(app).await;
        // It fetches all of the app for itself, and is not to compete with what somebody may be waiting for.
        device::register_worker();
    });
    steps(app);
    Effect::new(move || {
        let root = device::document().document_element();
        let Some(root) = root else { return };
        let _ = root.set_attribute("lang", app.language().code());
        broken::speak(app.language());
        let (theme, left) = app.prefs.with(|p| (p.theme, p.left_handed));
        let theme = match theme {
            Theme::Auto => "auto",
            Theme::Light => "light",
            Theme::Dark => "dark",
        };
        let _ = root.set_attribute("data-theme", theme);
        let _ = root.set_attribute("data-hand", if left { "left" } else { "right" });
    });
    Effect::new(move || device::document().set_title(&format!("{} · Goldward", app.t(app.screen.get().title()))));
    let shooting = Memo::new(move |_| app.at_the_line());
    let shooting = move || shooting.get();
    let reads = Memo::new(move |_| app.reads());
    view! {
        <a class="skip" href="#main" on:click=|e| {
            e.prevent_default();
            if let Some(main) = device::document().get_element_by_id("main").and_then(|m| m.dyn_into::<web_sys::HtmlElement>().ok()) {
                let _ = main.focus();
            }
        }>{move || app.t(Word::SkipToMain)}</a>
        <Show when=move || !shooting()><Top/>{shoot::clock::view(false)}</Show>
        <Banner/>
        <main id="main" tabindex="-1" class:shooting=shooting data-reads=move || reads.get().to_string()>
            // Each screen is made anew, never turned into the next one.
            <For each=move || [app.screen.get()].map(|s| (s, s == Screen::Shoot && reads.get())) key=|s| *s children=move |(s, reads)| match s {
                Screen::Shoot if reads => (move || whole::once_whole(app, || screens::reading::view().into_any())).into_any(),
                Screen::Shoot => shoot::view().into_any(),
                other => (move || later::view(app, other)).into_any(),
            }/>
        </main>
        <Show when=move || !shooting()>
            <nav class="tabs" aria-label=move || app.t(Word::MainMenu)>
                {TABS.into_iter().map(|s| view! {
                    <a href=format!("#/{}", s.path()) aria-current=move || (app.screen.get() == s).then_some("page")>
                        {move || app.t(s.title())}
                    </a>
                }).collect_view()}
            </nav>
        </Show>
        <div class="toast" role="status" aria-live="polite">{move || app.toast.get().map(|t| view! {
            <span>{t.text}</span>
            {t.offer.map(|offer| view! {
                <button type="button" id="toast-undo" on:click=move |_| {
                    app.toast.set(None);
                    if offer == Word::Redo { app.redo() } else { app.undo() }
                }>{app.t(offer)}</button>
            })}
        })}</div>
    }
}

/// The Back key, the links, and the top of each place.
fn steps(app: App) {
    places::watch(
        move || {
            let screen = Screen::of(&app.places.moved());
            app.screen.set(screen);
        },
        move |link| app.go(Screen::of(link)),
    );
    let line = Memo::new(move |_| app.at_the_line());
    let open = Memo::new(move |_| app.sheet.with(Option::is_some));
    let leave = Callback::new(move |()| app.leave_session());
    Effect::new(move |before: Option<bool>| {
        let (line, open) = (line.get(), open.get());
        match (before, line) {
            // The app came back to the line: its step is there already.
            (None, true) if app.places.has_steps() => app.places.adopt("line", leave),
            (_, true) => app.places.enter("line", leave),
            (_, false) if !open => app.places.leave("line"),
            _ => {}
        }
        line
    });
    Effect::new(move || match app.editing.get() {
        Some(_) => app.places.enter("form", Callback::new(move |()| app.editing.set(None))),
        None => app.places.leave("form"),
    });
    let shown = Memo::new(move |_| (app.screen.get(), app.editing.get(), line.get()));
    Effect::new(move |before: Option<(Screen, Option<Uuid>, bool)>| {
        // Asked for, not only followed: a memo that nobody has asked follows nothing itself.
        let now = shown.get();
        if before.is_some_and(|b| b != now) {
            // At once: a slow device would do it with the next frame, when somebody has scrolled already.
            device::window().scroll_to_with_x_and_y(0.0, 0.0);
        }
        now
    });
}

#[component]
fn Top() -> impl IntoView {
    let app = app();
    let name = move || {
        let name = app.archer().map(|(_, a)| a.name).unwrap_or_default();
        if name.is_empty() { app.t(Word::Archers).to_owned() } else { name }
    };
    let news = move || app.peer.told.with(|t| all(&t["logs"]).filter_map(|l| l["unread"].as_u64()).sum::<u64>());
    view! {
        <header class="top">
            <a class="who" href="#/archers" class:news=move || news() != 0 aria-label=move || {
                let who = app.f(Word::CurrentArcher, &[&name()]);
                if news() == 0 { who } else { [who, app.f(Word::NewNotes, &[&news().to_string()])].join(", ") }
            }>{name}</a>
            <h1>{move || app.t(app.screen.get().title())}</h1>
            <Saved/>
            <a class="cog" href="#/settings" aria-label=move || app.t(Word::Settings)>
                <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M4 7h9M17 7h3M4 12h3M11 12h9M4 17h11M19 17h1"/><circle cx="15" cy="7" r="2"/><circle cx="9" cy="12" r="2"/><circle cx="17" cy="17" r="2"/></svg>
            </a>
        </header>
    }
}

/// A new version that waits.
#[component]
fn Banner() -> impl IntoView {
    let app = app();
    let waiting = device::update_waiting();
    view! {
        <Show when=move || waiting.get()>
            <div class="banner" role="status">
                <span>{move || app.t(Word::UpdateReady)}</span>
                <button type="button" on:click=|_| device::use_update()>{move || app.t(Word::UpdateNow)}</button>
            </div>
        </Show>
    }
}
