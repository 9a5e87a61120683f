//! What every browser has: the clock, files, the screen kept awake, the service worker. What one may lack is asked for in `offers`.

use goldward_journal::Uuid;
use goldward_journal::id::new_id;
use leptos::prelude::*;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};

use super::offers;
pub(super) use super::page::{document, window};

/// Milliseconds since 1970 UTC.
pub(super) fn now_ms() -> u64 {
    js_sys::Date::now().max(0.0) as u64
}

/// Milliseconds of a clock that never jumps, for measuring.
pub(super) fn ticks_ms() -> f64 {
    window().performance().map_or(0.0, |p| p.now())
}

/// Ten random bytes.
pub(super) fn random() -> [u8; 10] {
    let mut bytes = [0; 10];
    offers::random(&mut bytes);
    bytes
}

pub(super) fn fresh_id() -> Uuid {
    new_id(now_ms(), random())
}

/// Languages of the browser, the first one first.
pub(super) fn browser_language() -> String {
    window().navigator().language().unwrap_or_default()
}

/// A day as people here write it.
pub(super) fn day(ms: u64, language: &str) -> String {
    let date = js_sys::Date::new(&JsValue::from_f64(ms as f64));
    date.to_locale_date_string(language, &JsValue::UNDEFINED).as_string().unwrap_or_default()
}

/// A day as computers write it.
pub(super) fn iso_day(ms: u64) -> String {
    let date = js_sys::Date::new(&JsValue::from_f64(ms as f64));
    format!("{}-{:02}-{:02}", date.get_full_year(), date.get_month() + 1, date.get_date())
}

/// A date and time as people here write it.
pub(super) fn date(ms: u64, language: &str) -> String {
    let date = js_sys::Date::new(&JsValue::from_f64(ms as f64));
    format!("{}, {:02}:{:02}", day(ms, language), date.get_hours(), date.get_minutes())
}

/// Calls `then` whenever the app comes to the front or goes to the back.
pub(super) fn when_seen_again(then: impl Fn() + 'static) {
    let changed = Closure::<dyn Fn()>::new(then);
    let _ = document().add_event_listener_with_callback("visibilitychange", changed.as_ref().unchecked_ref());
    changed.forget();
}

/// Keeps the screen awake while `wanted`; asks again whenever the app comes back to the front.
pub(super) fn keep_awake(wanted: Signal<bool>) {
    let held: StoredValue<Option<JsValue>, LocalStorage> = StoredValue::new_local(None);
    let visible = RwSignal::new(0_u32);
    when_seen_again(move || visible.update(|v| *v += 1));
    Effect::new(move || {
        visible.track();
        if wanted.get() {
            spawn_local(async move {
                let lock = offers::wake_lock().await;
                if lock.is_some() {
                    held.set_value(lock);
                }
            });
        } else if let Some(lock) = held.try_update_value(Option::take).flatten() {
            offers::release(&lock);
        }
    });
}

/// Whether the guide lies beside the app: its page says so where it does.
pub(super) fn has_guide() -> bool {
    document().query_selector("link[rel=help]").is_ok_and(|link| link.is_some())
}

/// Offers `text` as a file to keep.
pub(super) fn download(name: &str, kind: &str, text: &str) {
    let parts = js_sys::Array::of1(&text.into());
    let options = web_sys::BlobPropertyBag::new();
    options.set_type(kind);
    if let Ok(blob) = web_sys::Blob::new_with_str_sequence_and_options(&parts, &options) {
        download_blob(name, &blob);
    }
}

/// Offers a file to keep.
pub(super) fn download_blob(name: &str, blob: &web_sys::Blob) {
    let Ok(url) = web_sys::Url::create_object_url_with_blob(blob) else { return };
    let link = document().create_element("a").ok().and_then(|e| e.dyn_into::<web_sys::HtmlAnchorElement>().ok());
    if let Some(link) = link {
        link.set_href(&url);
        link.set_download(name);
        link.click();
    }
    // The browser needs the address for a moment.
    set_timeout(
        move || {
            let _ = web_sys::Url::revoke_object_url(&url);
        },
        std::time::Duration::from_secs(20),
    );
}

/// Lets the browser draw and answer touches before going on.
pub(super) async fn breathe() {
    let pause = js_sys::Promise::new(&mut |resolve, _| {
        let _ = window().set_timeout_with_callback_and_timeout_and_arguments_0(&resolve, 0);
    });
    let _ = JsFuture::from(pause).await;
}

/// Puts the focus on the element `id`, which is unfolded where it is folded away.
pub(super) fn focus(id: &str) {
    if let Some(e) = document().get_element_by_id(id).and_then(|e| e.dyn_into::<web_sys::HtmlElement>().ok()) {
        if let Ok(Some(fold)) = e.closest("details") {
            let _ = fold.set_attribute("open", "");
        }
        let _ = e.focus();
    }
}

thread_local! {
    /// Whether a new version waits.
    static WAITING: ArcRwSignal<bool> = ArcRwSignal::new(false);
}

/// Whether a new version of the app is ready to be used.
pub(super) fn update_waiting() -> ArcRwSignal<bool> {
    WAITING.with(Clone::clone)
}

/// Installs the service worker and watches for new versions, which wait until the archer asks for them.
pub(super) fn register_worker() {
    let Some(container) = offers::workers() else { return };
    spawn_local(async move {
        let Ok(registration) = JsFuture::from(container.register("./sw.js")).await else { return };
        let Ok(registration) = registration.dyn_into::<web_sys::ServiceWorkerRegistration>() else { return };
        let look = {
            let registration = registration.clone();
            move || {
                // At the first visit there is no older version that could be waited for.
                if registration.waiting().is_some() && registration.active().is_some() {
                    update_waiting().set(true);
                }
            }
        };
        look();
        let r = registration.clone();
        let found = Closure::<dyn Fn()>::new(move || {
            if let Some(worker) = r.installing() {
                let changed = Closure::<dyn Fn()>::new(look.clone());
                worker.set_onstatechange(Some(changed.as_ref().unchecked_ref()));
                changed.forget();
            }
        });
        registration.set_onupdatefound(Some(found.as_ref().unchecked_ref()));
        found.forget();
    });
}

/// Lets the waiting version take over and loads it.
pub(super) fn use_update() {
    let Some(container) = offers::workers() else { return };
    // It may be told more than once.
    let changed = Closure::<dyn Fn()>::new(|| {
        let _ = window().location().reload();
    });
    container.set_oncontrollerchange(Some(changed.as_ref().unchecked_ref()));
    changed.forget();
    spawn_local(async move {
        let Ok(registration) = JsFuture::from(container.get_registration()).await else { return };
        if let Ok(registration) = registration.dyn_into::<web_sys::ServiceWorkerRegistration>() {
            if let Some(worker) = registration.waiting() {
                let _ = worker.post_message(&"take-over".into());
            }
        }
    });
}

/// Begins anew, with what is on the disk.
pub(super) fn restart() {
    let _ = window().location().reload();
}
