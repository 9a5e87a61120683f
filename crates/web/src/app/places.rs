//! Places and the Back key: every place is a step in the browser's history, and so is what opens above one (the line of a session, a
//! form). Back closes what was opened last, then leads to the place before.

use leptos::prelude::*;
use wasm_bindgen::prelude::*;

use super::device::window;

/// Something open above a place, at its depth in the history.
struct Above {
    name: &'static str,
    depth: u32,
    close: Callback<()>,
}

/// The steps that lead here.
#[derive(Clone, Copy)]
pub(super) struct Places {
    depth: StoredValue<u32>,
    above: StoredValue<Vec<Above>>,
}

fn history() -> Option<web_sys::History> {
    window().history().ok()
}

/// The depth that the browser remembers of the entry it shows.
fn remembered() -> Option<u32> {
    history()?.state().ok()?.as_f64().map(|d| d as u32)
}

fn remember(depth: u32) {
    if let Some(history) = history() {
        let _ = history.replace_state_with_url(&depth.into(), "", None);
    }
}

impl Places {
    pub(super) fn new() -> Self {
        let depth = remembered().unwrap_or_else(|| {
            remember(0);
            0
        });
        if let Some(history) = history() {
            // Every place begins at its top.
            let _ = history.set_scroll_restoration(web_sys::ScrollRestoration::Manual);
        }
        Self { depth: StoredValue::new(depth), above: StoredValue::new(Vec::new()) }
    }

    fn step(self, url: Option<&str>) {
        let depth = self.depth.get_value() + 1;
        self.depth.set_value(depth);
        if let Some(history) = history() {
            let _ = history.push_state_with_url(&depth.into(), "", url);
        }
    }

    /// A step to the place `path`.
    pub(super) fn go(self, path: &str) {
        self.step(Some(&format!("#/{path}")));
    }

    /// This place is called `path` from now on, without a step.
    pub(super) fn settle(self, path: &str) {
        if let Some(history) = history() {
            let _ = history.replace_state_with_url(&self.depth.get_value().into(), "", Some(&format!("#/{path}")));
        }
    }

    /// Something has opened here: Back calls `close` first. Once for each name.
    pub(super) fn enter(self, name: &'static str, close: Callback<()>) {
        if self.above.with_value(|a| a.iter().any(|a| a.name == name)) {
            return;
        }
        self.step(None);
        self.adopt(name, close);
    }

    /// As [`Self::enter`] after a restart, when the browser has the step already.
    pub(super) fn adopt(self, name: &'static str, close: Callback<()>) {
        let depth = self.depth.get_value();
        self.above.update_value(|a| a.push(Above { name, depth, close }));
    }

    /// Whether the app was started with steps behind it.
    pub(super) fn has_steps(self) -> bool {
        self.depth.get_value() > 0
    }

    /// What had opened is closed without the Back key: its step is taken back when it was the last one.
    pub(super) fn leave(self, name: &'static str) {
        let there = self.above.try_update_value(|a| {
            let at = a.iter().position(|a| a.name == name)?;
            Some(a.remove(at).depth)
        });
        if there.flatten() == Some(self.depth.get_value()) {
            if let Some(history) = history() {
                let _ = history.back();
            }
        }
    }

    /// The browser shows another entry: closes what was opened since, and returns the address.
    pub(super) fn moved(self) -> String {
        let depth = remembered().unwrap_or_else(|| {
            // An address typed by hand is a step forward.
            let depth = self.depth.get_value() + 1;
            remember(depth);
            depth
        });
        self.depth.set_value(depth);
        let gone = self.above.try_update_value(|a| {
            let stay = a.iter().take_while(|a| a.depth <= depth).count();
            a.split_off(stay)
        });
        for above in gone.unwrap_or_default().into_iter().rev() {
            above.close.run(());
        }
        window().location().hash().unwrap_or_default()
    }
}

/// Calls `then` whenever the browser shows another entry of its history, and `link` for a link to a place of the app.
pub(super) fn watch(then: impl Fn() + 'static, link: impl Fn(&str) + 'static) {
    let moved = Closure::<dyn Fn()>::new(then);
    for event in ["popstate", "hashchange"] {
        let _ = window().add_event_listener_with_callback(event, moved.as_ref().unchecked_ref());
    }
    moved.forget();
    let clicked = Closure::<dyn Fn(web_sys::MouseEvent)>::new(move |e: web_sys::MouseEvent| {
        if e.default_prevented() || e.ctrl_key() || e.meta_key() || e.shift_key() || e.button() != 0 {
            return;
        }
        let target = e.target().and_then(|t| t.dyn_into::<web_sys::Element>().ok());
        let Some(to) = target.and_then(|t| t.closest("a[href^='#/']").ok().flatten()) else { return };
        e.prevent_default();
        link(&to.get_attribute("href").unwrap_or_default());
    });
    let _ = window().add_event_listener_with_callback("click", clicked.as_ref().unchecked_ref());
    clicked.forget();
}
