//! The texts of a language that is not built in: the page fetches its file (`static/boot.js`, or the service worker has it), and here
//! they are taken in.

use std::sync::atomic::{AtomicBool, Ordering};

use wasm_bindgen::prelude::*;

use super::{device, offers};
use crate::prefs::Prefs;
use crate::words::{self, Language, NotTaken, Word};

/// The language that the archer has chosen, or that of the device.
pub(super) fn wanted(prefs: &Prefs) -> Language {
    if prefs.language.is_empty() { Language::of(&device::browser_language()) } else { Language::of(&prefs.language) }
}

/// Sees to it that the texts of `language` are here; whether they are.
pub(super) async fn have(language: Language) -> bool {
    if !words::is_here(language) {
        let code = JsValue::from(language.code());
        let asked = offers::promised(&device::window(), "goldwardTexts", &[&code]).await;
        let text = asked.and_then(|text| text.as_string()).unwrap_or_default();
        if let Err(why) = words::take_in(language, &text) {
            leptos::logging::warn!("{}: {why}", language.code());
            OTHER.store(why == NotTaken::OtherVersion, Ordering::Relaxed);
        }
    }
    words::is_here(language)
}

/// Whether the texts that came last were those of another version: the server was updated while the app was fetched.
static OTHER: AtomicBool = AtomicBool::new(false);

/// What to say of texts that are not here.
pub(super) fn missing() -> Word {
    if OTHER.load(Ordering::Relaxed) { Word::LanguageOther } else { Word::LanguageNotHere }
}
