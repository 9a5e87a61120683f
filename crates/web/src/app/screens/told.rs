//! What a page says, put on the screen, and ways to the screens that have no tab.

use goldward_journal::Uuid;
use leptos::prelude::*;

use super::super::device;
use super::super::state::{App, Screen, app};
use crate::pages::gather::{self, Gathered};
use crate::pages::{Item, Teller, html};

/// Tells something in the language of the app.
pub(in crate::app) fn tell<T>(app: App, say: impl FnOnce(&Teller<'_>) -> T) -> T {
    let language = app.language();
    let date = |ms: u64| device::date(ms, language.code());
    say(&Teller { language, imperial: app.imperial(), date: &date })
}

/// The items of a page. Their text is escaped where they become HTML.
pub(super) fn items(items: &[Item]) -> impl IntoView + use<> {
    view! { <div class="told" inner_html=html(items)></div> }
}

/// Sessions of the archer shooting now, the latest first.
pub(super) fn sessions(app: App) -> Vec<Gathered> {
    let Some((archer, _)) = app.archer() else { return Vec::new() };
    app.log.with(|log| gather::sessions(log, archer))
}

/// Links to other screens, as large as buttons.
pub(super) fn links(screens: &'static [Screen]) -> impl IntoView {
    let app = app();
    view! {
        <nav class="links" aria-label=move || app.t(crate::words::Word::More)>
            {screens.iter().map(|s| view! { <a href=format!("#/{}", s.path())>{move || app.t(s.title())} <span aria-hidden="true">"›"</span></a> }).collect_view()}
        </nav>
    }
}

/// One of the archer's kits, or all; nothing to choose with fewer than two.
pub(super) fn kit_choice(app: App, chosen: RwSignal<Option<Uuid>>) -> impl IntoView {
    let kits = app.kits();
    (kits.len() > 1).then(|| view! {
        <div class="field"><label for="told-kit">{app.t(crate::words::Word::Kit)}</label>
            <select id="told-kit" on:change=move |e| chosen.set(event_target_value(&e).parse().ok())>
                <option value="" selected=chosen.get_untracked().is_none()>{app.t(crate::words::Word::AllKits)}</option>
                {kits.into_iter().map(|(k, kit)| view! { <option value=k.to_string() selected=chosen.get_untracked() == Some(k)>{kit.name}</option> }).collect_view()}
            </select></div>
    })
}
