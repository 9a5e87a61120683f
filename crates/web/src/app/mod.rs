//! The app in the browser.
#![allow(clippy::must_use_candidate, reason = "components are functions that the view macro calls")]

mod account;
mod broken;
mod db;
mod device;
mod drafts;
mod fitted;
mod judge;
mod later;
mod offers;
mod page;
mod peer;
mod places;
mod quiver;
mod remote;
mod saved;
mod screens;
mod shell;
mod shoot;
mod sift;
mod state;
mod sync;
mod sync_panel;
mod texts;
mod told;
mod whole;
mod widgets;
mod windows;

use leptos::prelude::*;
use wasm_bindgen::prelude::*;

/// Starts the app in the page.
#[wasm_bindgen(start)]
pub fn start() {
    broken::prepare();
    wasm_bindgen_futures::spawn_local(async {
        let opened = db::open().await;
        // Before anything is drawn: nobody is to read one language first and then another.
        let wanted = texts::wanted(&crate::prefs::Prefs::read(&opened.prefs));
        let _ = texts::have(wanted).await;
        broken::speak(wanted);
        if let Some(starting) = device::document().get_element_by_id("starting") {
            starting.remove();
        }
        // Once: a long log is not to be copied.
        let opened = std::cell::Cell::new(Some(opened));
        leptos::mount::mount_to_body(move || opened.take().map(|opened| view! { <shell::Shell opened=opened/> }));
    });
}
