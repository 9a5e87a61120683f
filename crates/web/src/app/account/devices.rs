//! Browsers that are signed in and devices that sync, with an end to each.

use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::{ask, look};
use super::section::{Deed, State, all, button, entry, heading, list, say, section, text, when};
use crate::app::state::App;
use crate::words::Word;

/// Both lists.
pub(super) fn view(app: App) -> AnyView {
    let (state, view) = section(app, json!({}), false, draw, act);
    refresh(app, state);
    view
}

fn refresh(app: App, state: State) {
    for kind in ["sessions", "devices"] {
        look(app, state, kind, kind.to_owned());
    }
}

fn draw(app: App, state: &Value) -> String {
    let of = |kind: &str| {
        let one = |e: &Value| {
            let this = e["this"] == true;
            let name = text(e, "label");
            let name = if this { format!("{name} ({})", app.t(Word::ThisOne)) } else { name.to_owned() };
            let used = app.f(Word::UsedSince, &[&when(app, &e["used_ms"]), &when(app, &e["made_ms"])]);
            let path = format!("{kind}/{}", text(e, "id"));
            let end =
                if this { String::new() } else { button("end-it", &path, app.t(Word::EndIt), app.t(Word::EndItSure)) };
            entry(&name, &used, &end)
        };
        list(app, kind, &all(&state[kind]).map(one).collect::<Vec<_>>())
    };
    heading(app, Word::Browsers)
        + &say("", "hint", app.t(Word::LostHint))
        + &of("sessions")
        + &heading(app, Word::Programs)
        + &of("devices")
}

fn act(app: App, state: State, deed: Deed) {
    spawn_local(async move {
        if let Err(refusal) = ask("DELETE", &deed.value, Value::Null).await {
            app.say(refusal.text(app));
        }
        refresh(app, state);
    });
}
