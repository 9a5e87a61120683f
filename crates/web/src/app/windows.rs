//! The other windows of the app on this device: what one has written, the others see at once.

use goldward_journal::{Record, Uuid, jsonl};
use leptos::prelude::*;
use wasm_bindgen::prelude::*;

use super::offers;

/// The way to them, where the browser has one.
#[derive(Clone, Copy)]
pub(super) struct Windows {
    channel: StoredValue<Option<JsValue>, LocalStorage>,
}

impl Windows {
    /// To those that show the logs of the same account.
    pub(super) fn new(account: Option<Uuid>) -> Self {
        let name = account.map_or_else(|| "goldward".to_owned(), |id| format!("goldward-{id}"));
        Self { channel: StoredValue::new_local(offers::channel(&name)) }
    }

    /// Whether they can be told.
    pub(super) fn there(self) -> bool {
        self.channel.with_value(Option::is_some)
    }

    /// Tells them what is on the disk now.
    pub(super) fn tell(self, records: &[Record]) {
        self.channel.with_value(|channel| {
            if let Some(channel) = channel {
                let lines: js_sys::Array = records.iter().map(|r| JsValue::from(r.to_json())).collect();
                offers::tell(channel, &lines);
            }
        });
    }

    /// Hands what they tell to `heard`.
    pub(super) fn listen(self, heard: impl Fn(Vec<Record>) + 'static) {
        let told = Closure::<dyn Fn(JsValue)>::new(move |event: JsValue| {
            let lines =
                js_sys::Reflect::get(&event, &"data".into()).map(|d| js_sys::Array::from(&d)).unwrap_or_default();
            heard(lines.iter().filter_map(|l| jsonl::read_line(&l.as_string()?).ok()).collect());
        });
        self.channel.with_value(|channel| {
            if let Some(channel) = channel {
                let _ = js_sys::Reflect::set(channel, &"onmessage".into(), told.as_ref());
            }
        });
        told.forget();
    }
}
