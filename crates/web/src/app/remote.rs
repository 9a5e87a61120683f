//! A request to the server that the app came from.

use leptos::wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;

use super::device;

/// What came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Reply {
    /// The status.
    pub(super) status: u16,
    /// Seconds to wait before the next try, when it says so.
    pub(super) wait: Option<String>,
    /// The body.
    pub(super) text: String,
}

impl Reply {
    /// Whether it is the answer hoped for.
    pub(super) fn is_fine(&self) -> bool {
        (200..300).contains(&self.status)
    }

    /// A field of an error's body: `error` is a word for programs, `message` is for people.
    pub(super) fn said(&self, field: &str) -> Option<String> {
        let body: serde_json::Value = serde_json::from_str(&self.text).ok()?;
        body[field].as_str().map(str::to_owned)
    }
}

/// Sends a request; nothing when no server is reached.
pub(super) async fn send(method: &str, path: &str, body: Option<String>) -> Option<Reply> {
    let options = web_sys::RequestInit::new();
    options.set_method(method);
    if let Some(body) = body {
        let headers = web_sys::Headers::new().ok()?;
        let _ = headers.set("content-type", "application/json");
        options.set_headers(&headers);
        options.set_body(&body.into());
    }
    let answer = JsFuture::from(device::window().fetch_with_str_and_init(path, &options)).await.ok()?;
    let answer: web_sys::Response = answer.dyn_into().ok()?;
    let text = JsFuture::from(answer.text().ok()?).await.ok()?.as_string().unwrap_or_default();
    let wait = answer.headers().get("retry-after").ok().flatten();
    Some(Reply { status: answer.status(), wait, text })
}
