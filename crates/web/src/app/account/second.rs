//! The second factor: set up, shown to work, switched off.

use leptos::prelude::*;
use serde_json::{Value, json};
use wasm_bindgen_futures::spawn_local;

use super::ask::ask;
use super::picture::picture;
use super::section::{Deed, State, all, button, buttons, form, heading, input, say, section, text};
use crate::app::device;
use crate::app::state::App;
use crate::pages::escape;
use crate::words::Word;

/// What it is, and the next step.
pub(super) fn view(app: App, on: bool) -> AnyView {
    section(app, json!({ "on": on }), false, draw, act).1
}

fn draw(app: App, state: &Value) -> String {
    let password = input("second-password", app.t(Word::Password), "current-password", "");
    let code = |word: Word| input("second-code", app.t(word), "one-time-code", "");
    let inside = if state["recovery_codes"].is_array() {
        let codes: String = all(&state["recovery_codes"])
            .map(|c| format!("<li>{}</li>", escape(c.as_str().unwrap_or_default())))
            .collect();
        let ways = button("recovery-save", "", app.t(Word::SaveFile), "")
            + &button("recovery-kept", "", app.t(Word::Close), "");
        say("", "notice", app.t(Word::SecondKeep))
            + &format!("<ol class=\"code\" id=\"recovery\">{codes}</ol>")
            + &buttons(&ways)
    } else if state["secret"].is_string() {
        say("", "", app.t(Word::SecondScan))
            + &picture(text(state, "uri"), app.t(Word::SecondPicture))
            + &say("second-secret", "code", text(state, "secret"))
            + &form("second-confirm", &code(Word::SecondShown), "second-on", app.t(Word::SecondSwitchOn), "")
            + &buttons(&button("second-stop", "", app.t(Word::Cancel), ""))
    } else if state["on"] == true {
        say("", "", app.t(Word::SecondOn))
            + &form(
                "second-remove",
                &(password + &code(Word::SecondEither)),
                "second-off",
                app.t(Word::SecondSwitchOff),
                "",
            )
    } else {
        say("", "", app.t(Word::SecondOff))
            + &form("second-setup", &password, "second-begin", app.t(Word::SecondBegin), "")
    };
    format!("{}<div class=\"stack\" id=\"second\">{inside}</div>", heading(app, Word::Second))
}

fn act(app: App, state: State, deed: Deed) {
    let (password, code) = (deed.field("second-password"), deed.field("second-code"));
    let (path, body) = match deed.name.as_str() {
        "second-setup" => ("second-factor", json!({ "password": password })),
        "second-confirm" => ("second-factor/confirm", json!({ "code": code })),
        "second-remove" => ("second-factor/remove", json!({ "password": password, "code": code })),
        "recovery-save" => {
            let codes: Vec<String> = state
                .with_untracked(|s| all(&s["recovery_codes"]).filter_map(|c| c.as_str().map(str::to_owned)).collect());
            return device::download("goldward-recovery.txt", "text/plain", &(codes.join("\n") + "\n"));
        }
        name => return state.set(json!({ "on": name == "recovery-kept" })),
    };
    deed.wrong("");
    spawn_local(async move {
        match ask("POST", path, body).await {
            // A secret, then recovery codes, then nothing.
            Ok(next) => state.set(if next.is_null() { json!({}) } else { next }),
            Err(refusal) => {
                deed.empty("#second-code");
                deed.wrong(&refusal.text(app));
            }
        }
    });
}
