//! The texts of a language that is not built in: the page fetches its file (`static/boot.js`, or the service worker has it), and here
//! they are taken in.

use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

use super::device;
use crate::prefs::Prefs;
use crate::words::{self, Language};

/// The language that the archer has chosen, or that of the device.
pub(super) fn wanted(prefs: &Prefs) -> Language {
    if prefs.language.is_empty() { Language::of(&device::browser_language()) } else { Language::of(&prefs.language) }
}

/// Sees to it that the texts of `language` are here; whether they are.
pub(super) async fn have(language: Language) -> bool {
    if !words::is_here(language) {
        let text = fetch(language).await.ok().and_then(|text| text.as_string()).unwrap_or_default();
        if let Err(why) = words::take_in(language, &text) {
            leptos::logging::warn!("{}: {why}", language.code());
        }
    }
    words::is_here(language)
}

async fn fetch(language: Language) -> Result<JsValue, JsValue> {
    let texts: Function = Reflect::get(&device::window(), &"goldwardTexts".into())?.dyn_into()?;
    let asked: Promise = texts.call1(&JsValue::NULL, &language.code().into())?.dyn_into()?;
    JsFuture::from(asked).await
}
