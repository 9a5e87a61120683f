//! What the screens of the account ask the server, and its refusals in the language of the app.

use std::pin::Pin;

use leptos::prelude::*;
use serde_json::Value;
use wasm_bindgen_futures::spawn_local;

use super::section::State;
use crate::app::device;
use crate::app::remote::{Reply, send};
use crate::app::state::App;
use crate::words::Word;

/// Why something could not be done; without what the server said where none was reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refusal(Option<Reply>);

impl Refusal {
    /// The status; 0 where no server was reached.
    pub(super) fn status(&self) -> u16 {
        self.0.as_ref().map_or(0, |r| r.status)
    }

    /// The server's word for it.
    pub(super) fn error(&self) -> String {
        self.0.as_ref().and_then(|r| r.said("error")).unwrap_or_default()
    }

    /// For people.
    pub(super) fn text(&self, app: App) -> String {
        let Some(reply) = &self.0 else { return app.t(Word::SyncOffline).to_owned() };
        let word = match (reply.status, self.error().as_str()) {
            (401, "wrong_password") => Word::PasswordWrong,
            (_, "wrong_password") => Word::PasswordIsWrong,
            (_, "code_needed") => Word::CodeNeeded,
            (_, "wrong_code") => Word::CodeWrong,
            (401, _) => Word::SyncLogIn,
            (404, _) => Word::GoneAlready,
            (429, _) => return app.f(Word::WaitSeconds, &[reply.wait.as_deref().unwrap_or("60")]),
            (503, _) => Word::ServerBusy,
            (507, _) => Word::ServerFull,
            (status, _) => {
                return app.f(Word::SyncRefused, &[&reply.said("message").unwrap_or_else(|| status.to_string())]);
            }
        };
        app.t(word).to_owned()
    }
}

/// Asks; null where the answer is empty.
pub(super) async fn ask(method: &str, path: &str, body: Value) -> Result<Value, Refusal> {
    let body = (!body.is_null()).then(|| body.to_string());
    let reply = send(method, &format!("./api/v1/{path}"), body).await.ok_or(Refusal(None))?;
    if !reply.is_fine() {
        return Err(Refusal(Some(reply)));
    }
    if reply.text.is_empty() {
        return Ok(Value::Null);
    }
    // A plain server of files answers with its own page.
    serde_json::from_str(&reply.text).map_err(|_| Refusal(Some(Reply { status: 404, ..reply })))
}

/// Does it, and counts it until what it has found is drawn.
pub(super) fn looking(app: App, find: Pin<Box<dyn Future<Output = ()>>>) {
    app.looking.update(|n| *n += 1);
    spawn_local(async move {
        find.await;
        device::breathe().await;
        app.looking.update(|n| *n -= 1);
    });
}

/// Looks something up and keeps it under `key`; what went wrong is said in passing.
pub(super) fn look(app: App, state: State, key: &'static str, path: String) {
    let find = async move {
        match ask("GET", &path, Value::Null).await {
            // The screen may have been left meanwhile.
            Ok(found) => _ = state.try_update(|s| s[key] = found),
            Err(refusal) => app.say(refusal.text(app)),
        }
    };
    looking(app, Box::pin(find));
}
