//! The window and the document that every browser has.

pub(super) fn window() -> web_sys::Window {
    web_sys::window().unwrap_or_else(|| unreachable!("the app runs in a window"))
}

pub(super) fn document() -> web_sys::Document {
    window().document().unwrap_or_else(|| unreachable!("a window has a document"))
}
