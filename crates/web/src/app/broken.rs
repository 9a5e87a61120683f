//! Should the app break: the page says so, keeps what was not on the disk yet, and offers the log as a file. The page does that
//! without us (`static/boot.js`); here it is told what it needs.

use goldward_journal::Record;
use js_sys::{Array, Object, Reflect};
use wasm_bindgen::prelude::*;

use super::{db, device};
use crate::words::{Language, Word};

/// What the page shows, in this order.
const WORDS: [Word; 5] = [Word::BrokeTitle, Word::BrokeKept, Word::BrokeAgain, Word::BrokeExport, Word::BrokeTold];

thread_local! {
    /// Keys and lines of records that are on their way to the disk.
    static WAITING: Array = Array::new();
}

/// Tells the page how to help, and hands every panic to it.
pub(super) fn prepare() {
    let help = Object::new();
    WAITING.with(|w| Reflect::set(&help, &"waiting".into(), w)).unwrap_or_default();
    let header = goldward_journal::jsonl::write(&goldward_journal::Log::new());
    let _ = Reflect::set(&help, &"header".into(), &header.trim_end().into());
    let _ = Reflect::set(&device::window(), &"goldwardHelp".into(), &help);
    std::panic::set_hook(Box::new(|info| {
        console_error_panic_hook::hook(info);
        let broke = Reflect::get(&device::window(), &"goldwardBroke".into());
        if let Some(broke) = broke.ok().and_then(|b| b.dyn_into::<js_sys::Function>().ok()) {
            let _ = broke.call1(&JsValue::NULL, &info.to_string().into());
        }
    }));
}

/// The words of the page in `language`.
pub(super) fn speak(language: Language) {
    let words: Array = WORDS.iter().map(|w| JsValue::from(w.text(language))).collect();
    if let Ok(help) = Reflect::get(&device::window(), &"goldwardHelp".into()) {
        let _ = Reflect::set(&help, &"words".into(), &words);
    }
}

/// These are on their way.
pub(super) fn waiting(records: &[Record]) {
    WAITING.with(|w| {
        for record in records {
            w.push(&Array::of2(&db::key(record), &record.to_json().into()));
        }
    });
}

/// The first `n` of them have arrived.
pub(super) fn kept(n: usize) {
    // One by one: taking out several at once always puts something in.
    WAITING.with(|w| {
        for _ in 0..n {
            w.shift();
        }
    });
}
