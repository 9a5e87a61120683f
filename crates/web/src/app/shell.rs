//! The frame around the screens: who is shooting, whether it is saved, where to go.

use leptos::prelude::*;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::state::{App, Saving, Screen, app};
use super::{db, device, screens, shoot, sync};
use crate::prefs::Theme;
use crate::words::Word;

const TABS: [Screen; 5] = [Screen::Shoot, Screen::Marks, Screen::Progress, Screen::Pacing, Screen::Kit];

/// The whole app.
#[component]
pub(super) fn Shell(opened: db::Opened) -> impl IntoView {
    let app = App::new(opened);
    provide_context(app);
    device::keep_awake(Signal::derive(move || app.screen.get() == Screen::Shoot && app.sheet.with(Option::is_some)));
    spawn_local(async move {
        let kept = device::persist().await;
        app.persisted.set(kept);
    });
    sync::begin(app);
    let moved = Closure::<dyn Fn()>::new(move || {
        app.screen.set(Screen::of(&device::window().location().hash().unwrap_or_default()));
    });
    let _ = device::window().add_event_listener_with_callback("hashchange", moved.as_ref().unchecked_ref());
    moved.forget();
    Effect::new(move || {
        let root = device::document().document_element();
        let Some(root) = root else { return };
        let _ = root.set_attribute("lang", app.language().code());
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
    let shooting = move || app.screen.get() == Screen::Shoot && app.sheet.with(Option::is_some);
    view! {
        <a class="skip" href="#main" on:click=|e| {
            e.prevent_default();
            if let Some(main) = device::document().get_element_by_id("main").and_then(|m| m.dyn_into::<web_sys::HtmlElement>().ok()) {
                let _ = main.focus();
            }
        }>{move || app.t(Word::SkipToMain)}</a>
        <Show when=move || !shooting()><Top/></Show>
        <Banner/>
        <main id="main" tabindex="-1" class:shooting=shooting>
            // Each screen is made anew, never turned into the next one.
            <For each=move || [app.screen.get()] key=|s| *s children=move |s| match s {
                Screen::Shoot => shoot::view().into_any(),
                Screen::Explain => screens::explain::view().into_any(),
                Screen::Report => screens::report::view().into_any(),
                Screen::Marks => screens::marks::view().into_any(),
                Screen::Card => screens::card::view().into_any(),
                Screen::Progress => screens::progress::view().into_any(),
                Screen::Pacing => screens::pacing::view().into_any(),
                Screen::Kit => screens::kit::view().into_any(),
                Screen::Archers => screens::archers::view().into_any(),
                Screen::Settings => screens::settings::view().into_any(),
                Screen::Arrows => screens::arrows::view().into_any(),
                Screen::Compare => screens::compare::view().into_any(),
                Screen::Tune => screens::tune::view().into_any(),
                Screen::Aids => screens::aids::view().into_any(),
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
        <div class="toast" role="status" aria-live="polite">{move || app.toast.get()}</div>
    }
}

#[component]
fn Top() -> impl IntoView {
    let app = app();
    let name = move || {
        let name = app.archer().map(|(_, a)| a.name).unwrap_or_default();
        if name.is_empty() { app.t(Word::Archers).to_owned() } else { name }
    };
    view! {
        <header class="top">
            <a class="who" href="#/archers" aria-label=move || app.f(Word::CurrentArcher, &[&name()])>{name}</a>
            <h1>{move || app.t(app.screen.get().title())}</h1>
            <Saved/>
            <a class="cog" href="#/settings" aria-label=move || app.t(Word::Settings)>
                <svg viewBox="0 0 24 24" aria-hidden="true"><path d="M4 7h9M17 7h3M4 12h3M11 12h9M4 17h11M19 17h1"/><circle cx="15" cy="7" r="2"/><circle cx="9" cy="12" r="2"/><circle cx="17" cy="17" r="2"/></svg>
            </a>
        </header>
    }
}

/// Whether the log is on the disk.
#[component]
pub(super) fn Saved() -> impl IntoView {
    let app = app();
    let text = move || match app.saving.get() {
        Saving::Saved => app.t(Word::Saved).to_owned(),
        Saving::Saving => app.t(Word::Saving).to_owned(),
        Saving::Failed(why) => app.f(Word::NotSaved, &[&why]),
    };
    let state = move || match app.saving.get() {
        Saving::Saved => "saved",
        Saving::Saving => "saving",
        Saving::Failed(_) => "failed",
    };
    view! { <span class="saving" data-state=state>{text}</span> }
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
