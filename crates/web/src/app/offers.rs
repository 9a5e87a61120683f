//! What a browser may lack. Each of these is looked for before it is used, here and nowhere else: what is not there does nothing
//! and says so by an empty answer.

use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

use super::page::window;

/// What `of` has under `name`; nothing where it has none, or where asking is forbidden.
fn member(of: &JsValue, name: &str) -> Option<JsValue> {
    if of.is_undefined() || of.is_null() {
        return None;
    }
    js_sys::Reflect::get(of, &name.into()).ok().filter(|v| !v.is_undefined() && !v.is_null())
}

/// Calls the function `name` of `of` where there is one; nothing when there is none or when it throws.
pub(super) fn call(of: &JsValue, name: &str, with: &[&JsValue]) -> Option<JsValue> {
    let function: js_sys::Function = member(of, name)?.dyn_into().ok()?;
    let list = js_sys::Array::new();
    for value in with {
        list.push(value);
    }
    js_sys::Reflect::apply(&function, of, &list).ok()
}

/// As [`call`], for a function that promises its answer.
pub(super) async fn promised(of: &JsValue, name: &str, with: &[&JsValue]) -> Option<JsValue> {
    let promise: js_sys::Promise = call(of, name, with)?.dyn_into().ok()?;
    JsFuture::from(promise).await.ok()
}

fn navigator() -> JsValue {
    window().navigator().into()
}

/// A gentle tap that the hand feels. Neither WebKit nor Firefox has it.
pub(super) fn buzz() {
    let _ = call(&navigator(), "vibrate", &[&12.into()]);
}

/// So many long tremors that the hand feels.
pub(super) fn tremble(times: u32) {
    let pattern = js_sys::Array::new();
    for _ in 0..times {
        pattern.push(&400.into());
        pattern.push(&250.into());
    }
    let _ = call(&navigator(), "vibrate", &[&pattern]);
}

/// What makes sounds; nothing where the browser has none. To be made by a tap: a browser lets no page sound of its own accord.
pub(super) fn sounder() -> Option<JsValue> {
    let maker = member(&window(), "AudioContext").or_else(|| member(&window(), "webkitAudioContext"))?;
    let maker: js_sys::Function = maker.dyn_into().ok()?;
    js_sys::Reflect::construct(&maker, &js_sys::Array::new()).ok()
}

/// So many blasts of a [`sounder`], one after the other.
pub(super) fn sound(by: &JsValue, times: u32) {
    let _ = call(by, "resume", &[]);
    let now = member(by, "currentTime").and_then(|t| t.as_f64()).unwrap_or_default();
    for i in 0..times {
        let from = now + f64::from(i) * 0.65;
        let made = call(by, "createOscillator", &[]).zip(member(by, "destination"));
        let Some((blast, out)) = made else { return };
        if let Some(pitch) = member(&blast, "frequency") {
            let _ = js_sys::Reflect::set(&pitch, &"value".into(), &660.into());
        }
        let _ = call(&blast, "connect", &[&out]);
        let _ = call(&blast, "start", &[&from.into()]);
        let _ = call(&blast, "stop", &[&(from + 0.4).into()]);
    }
}

/// Lets go of a [`sounder`].
pub(super) fn quiet(by: &JsValue) {
    let _ = call(by, "close", &[]);
}

/// Asks that the screen stay on; the lock, or nothing where the browser has none or refuses.
pub(super) async fn wake_lock() -> Option<JsValue> {
    promised(&member(&navigator(), "wakeLock")?, "request", &[&"screen".into()]).await
}

/// Lets the screen go dark again.
pub(super) fn release(lock: &JsValue) {
    let _ = call(lock, "release", &[]);
}

/// A file with the picture of the session on the page and `lines` about it; nothing where the browser cannot make one.
pub(super) async fn picture(lines: &[String], name: &str) -> Option<web_sys::Blob> {
    let told: js_sys::Array = lines.iter().map(|line| JsValue::from(line.as_str())).collect();
    promised(&window(), "goldwardPicture", &[&told, &name.into()]).await.map(JsCast::unchecked_into)
}

/// Hands a file on to another app; tells whether it was, or the archer thought better of it. Where the browser cannot, it is to be
/// offered as a download.
pub(super) async fn share(file: &JsValue) -> bool {
    let what = js_sys::Object::new();
    let _ = js_sys::Reflect::set(&what, &"files".into(), &js_sys::Array::of1(file));
    if call(&navigator(), "canShare", &[&what]).and_then(|can| can.as_bool()) != Some(true) {
        return false;
    }
    let shared = call(&navigator(), "share", &[&what]).and_then(|p| p.dyn_into::<js_sys::Promise>().ok());
    let Some(shared) = shared else { return false };
    match JsFuture::from(shared).await {
        Ok(_) => true,
        Err(why) => member(&why, "name").and_then(|n| n.as_string()).as_deref() == Some("AbortError"),
    }
}

/// Puts a text where it can be pasted from; tells whether it could.
pub(super) async fn copy(text: &str) -> bool {
    let Some(clipboard) = member(&navigator(), "clipboard") else { return false };
    promised(&clipboard, "writeText", &[&text.into()]).await.is_some()
}

/// Whether the browser has promised to keep what is stored; nothing where it cannot be asked.
pub(super) async fn persisted() -> Option<bool> {
    promised(&member(&navigator(), "storage")?, "persisted", &[]).await?.as_bool()
}

/// Asks that what is stored may stay; a browser may ask the archer in turn. Tells whether it may.
pub(super) async fn persist() -> Option<bool> {
    promised(&member(&navigator(), "storage")?, "persist", &[]).await?.as_bool()
}

/// Service workers, which keep the app for the times without a network; a private window may have none.
pub(super) fn workers() -> Option<web_sys::ServiceWorkerContainer> {
    // Not by `instanceof`: a browser that hides them also hides their names.
    member(&navigator(), "serviceWorker").map(JsCast::unchecked_into)
}

/// Databases, which a private window may not have.
pub(super) fn databases() -> Option<web_sys::IdbFactory> {
    member(&window(), "indexedDB").map(JsCast::unchecked_into)
}

/// A way to the other windows of this app; nothing where the browser has none.
pub(super) fn channel(name: &str) -> Option<JsValue> {
    let maker: js_sys::Function = member(&window(), "BroadcastChannel")?.dyn_into().ok()?;
    js_sys::Reflect::construct(&maker, &js_sys::Array::of1(&name.into())).ok()
}

/// Sends `message` through a [`channel`].
pub(super) fn tell(channel: &JsValue, message: &JsValue) {
    let _ = call(channel, "postMessage", &[message]);
}

/// What is kept under `name` when the page goes: with `lasting` also when the window does. Nothing where the browser keeps nothing.
pub(super) fn kept(name: &str, lasting: bool) -> Option<String> {
    call(&small_storage(lasting)?, "getItem", &[&name.into()])?.as_string()
}

/// Keeps a small text for [`kept`]; an empty one is as none.
pub(super) fn keep(name: &str, lasting: bool, text: &str) {
    let Some(storage) = small_storage(lasting) else { return };
    let _ = if text.is_empty() {
        call(&storage, "removeItem", &[&name.into()])
    } else {
        call(&storage, "setItem", &[&name.into(), &text.into()])
    };
}

fn small_storage(lasting: bool) -> Option<JsValue> {
    member(&window(), if lasting { "localStorage" } else { "sessionStorage" })
}

/// Fills `bytes` with chance. Where there is no source for secrets, an ordinary one: ids must differ, nobody must guess them.
pub(super) fn random(bytes: &mut [u8]) {
    let array = js_sys::Uint8Array::new_with_length(bytes.len() as u32);
    let filled = member(&window(), "crypto").and_then(|c| call(&c, "getRandomValues", &[&array]));
    if filled.is_some() {
        array.copy_to(bytes);
        return;
    }
    for byte in bytes {
        *byte = (js_sys::Math::random() * 256.0) as u8;
    }
}

/// Whether the app stands on the home screen and not in a tab.
pub(super) fn on_home_screen() -> bool {
    let asked = call(&window(), "matchMedia", &[&"(display-mode: standalone)".into()]);
    let standalone = asked.and_then(|m| member(&m, "matches")).and_then(|m| m.as_bool());
    // WebKit's own name for it, older than the question.
    let own = member(&navigator(), "standalone").and_then(|s| s.as_bool());
    standalone == Some(true) || own == Some(true)
}

/// Whether this is a browser that drops what a site has stored when it was not visited for a week: WebKit, unless the app stands on
/// the home screen (source: webkit.org, "Full Third-Party Cookie Blocking and More", 2020, 7-day cap on script-writable storage).
pub(super) fn forgets_in_a_week() -> bool {
    let agent = member(&navigator(), "userAgent").and_then(|a| a.as_string()).unwrap_or_default();
    let webkit =
        agent.contains("AppleWebKit") && !["Chrome", "Chromium", "Edg", "Android"].iter().any(|n| agent.contains(n));
    webkit && !on_home_screen()
}
