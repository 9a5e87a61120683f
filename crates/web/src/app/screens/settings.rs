//! How the device shows things, and where the log goes.

use goldward_journal::jsonl;
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::{JsFuture, spawn_local};

use super::super::state::{App, app};
use super::super::sync_panel;
use super::super::widgets::Choice;
use super::super::{device, offers};
use crate::prefs::Theme;
use crate::words::{Language, Word, error};

/// The page.
pub(in crate::app) fn view() -> impl IntoView {
    let app = app();
    let language = Signal::derive(move || app.language());
    // Drawn anew when the language changes, since the choices carry words.
    move || {
        let _ = language.get();
        page(app, language)
    }
}

fn page(app: App, language: Signal<Language>) -> impl IntoView {
    view! {
        <div class="page">
            <Choice label=Word::LanguageName name="language" value=language set=move |l: Language| app.speak(l)
                choices=Language::ALL.into_iter().map(|l| (l, l.name().to_owned())).collect()/>
            <Choice label=Word::Units name="units" value=Signal::derive(move || app.imperial()) set=move |v| app.prefer(|p| p.imperial = v)
                choices=vec![(false, app.t(Word::Metric).to_owned()), (true, app.t(Word::Imperial).to_owned())]/>
            <Choice label=Word::Theme name="theme" value=Signal::derive(move || app.prefs.with(|p| p.theme)) set=move |v| app.prefer(|p| p.theme = v)
                choices=vec![
                    (Theme::Auto, app.t(Word::ThemeAuto).to_owned()),
                    (Theme::Light, app.t(Word::ThemeLight).to_owned()),
                    (Theme::Dark, app.t(Word::ThemeDark).to_owned()),
                ]/>
            <Choice label=Word::HoldHand name="hold" value=Signal::derive(move || app.prefs.with(|p| p.left_handed)) set=move |v| app.prefer(|p| p.left_handed = v)
                choices=vec![(false, app.t(Word::Right).to_owned()), (true, app.t(Word::Left).to_owned())]/>
            <h2>{app.t(Word::Data)}</h2>
            <p>{move || app.f(Word::Records, &[&app.log.with(goldward_journal::Log::len).to_string()])}</p>
            <p class="notice note">{move || match app.persisted.get() {
                Some(true) => app.t(Word::StorageKept),
                _ if offers::forgets_in_a_week() => app.t(Word::ForgetsInAWeek),
                _ => app.t(Word::StorageNotKept),
            }}</p>
            <div class="buttons">
                <button type="button" class="main" id="export" on:click=move |_| export(app)>{app.t(Word::Export)}</button>
            </div>
            <div class="field sheet-import">
                <label for="import">{app.t(Word::Import)}</label>
                <input id="import" type="file" accept=".jsonl,application/x-ndjson,text/plain" on:change=move |e| import(app, &e)/>
            </div>
            {sync_panel::panel(app)}
            {move || device::has_guide().then(|| {
                let page = format!("guide/archer/{}.html", app.language().code());
                view! { <p><a id="guide" href=page target="_blank" rel="noopener">{app.t(Word::Guide)}</a></p> }
            })}
            <p class="hint">{app.t(Word::Made)} " " {env!("CARGO_PKG_VERSION")}</p>
        </div>
    }
}

fn export(app: App) {
    let text = app.log.with_untracked(jsonl::write);
    device::download("goldward-log.jsonl", "application/x-ndjson", &text);
}

fn import(app: App, event: &web_sys::Event) {
    let input = event.target().and_then(|t| t.dyn_into::<web_sys::HtmlInputElement>().ok());
    let Some(file) = input.and_then(|i| i.files()).and_then(|f| f.get(0)) else { return };
    spawn_local(async move {
        let text = JsFuture::from(file.text()).await.ok().and_then(|t| t.as_string()).unwrap_or_default();
        match jsonl::read(&text) {
            Ok(log) => app.take_in(log.records().cloned().collect()),
            Err(errors) => {
                let first = errors.first().map(|e| error::line(app.language(), e)).unwrap_or_default();
                app.say(app.f(Word::ImportFailed, &[&first]));
            }
        }
    });
}
